"""What no such hive can weigh does not count in the season, though nobody held it, as the book's formulas have it."""

from __future__ import annotations

import numpy as np
import pytest

from apiarybook.book.si_frames import si
from apiarybook.reckon.core.winter import serial
from apiarybook.reckon.season import reckon_season
from tests.checks.small import book
from tests.reckon.small_season import OCTOBER, weighed

EMPTY, FULL = 16.0, 45.16
"""What the small hive weighs when empty, and the most that is believed of it [kg]."""


@pytest.mark.parametrize(
    ("row", "beyond", "counts"),
    [
        pytest.param({"reading_1": FULL - 1.0}, np.nan, True, id="heavy"),
        pytest.param({"reading_1": FULL + 30.0}, np.nan, False, id="more than it can"),
        pytest.param({"reading_1": FULL + 30.0}, 30.0, True, id="more than it can, and right"),
        pytest.param({"reading_1": EMPTY + 1.0}, np.nan, True, id="light"),
        pytest.param({"reading_1": EMPTY - 5.0}, np.nan, False, id="less than empty"),
        pytest.param({"reading_1": EMPTY - 5.0, "occasion": "practice"}, np.nan, False, id="practice never counts"),
        pytest.param({"how": "heft", "heft": 30.0}, np.nan, True, id="a heft"),
        pytest.param({"how": "heft", "heft": 3.0}, np.nan, False, id="a heft of next to nothing"),
        pytest.param({"how": "heft", "heft": "light"}, np.nan, True, id="a word"),
    ],
)
def test_only_what_its_hive_can_weigh_counts(row: dict[str, object], beyond: float, counts: bool) -> None:  # noqa: FBT001 a column of the table
    frames = si(book(Weighings=[weighed(**row)]))
    frames = {name: frame.assign(held="") for name, frame in frames.items()}
    settings, day = book().settings, serial(OCTOBER)
    frames["Weighings"] = frames["Weighings"].assign(beyond=[beyond])
    season = reckon_season(frames, settings, day)
    assert (season.standing["evidence_row"].iloc[0] > 0) == counts
    assert (season.weighings[["rank_scale", "rank_heft"]].to_numpy().sum() > 0) == counts
    unchecked = reckon_season(frames | {"Weighings": frames["Weighings"].drop(columns="beyond")}, settings, day)
    assert (unchecked.standing["evidence_row"].iloc[0] > 0) == (row.get("occasion") != "practice")
