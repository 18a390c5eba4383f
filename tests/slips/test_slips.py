"""Slips are caught, named and mended: the bounds of the benchmark, and laws of what it is made from.

The bounds are the club's own demand on its checks, not a published figure.
"""

from __future__ import annotations

import pytest

from apiarybook.handbook import handbook
from tests.slips import kinds_of_rows  # noqa: F401 importing it registers its kinds
from tests.slips.benchmark import SURE, measure, table
from tests.slips.clean_seasons import AS_AT, REGIONS, clean_season
from tests.slips.kinds import KINDS
from tests.studies.worlds import book_world

MANY = 30
"""Slips of a kind from which its share caught is compared with the observer's."""
MISREAD = [
    f"{what}{when}"
    for what in ("other unit", "ten times", "a tenth", "tens and ones swapped")
    for when in ("", " at first")
]
"""Kinds of unit, decimal point and swapped digits; those at first have no earlier weighing."""


def test_there_are_kinds_enough_and_each_names_what_it_should_be_called() -> None:
    assert len(KINDS) >= 60
    assert all(kind.causes for kind in KINDS.values())


@pytest.mark.parametrize("place", REGIONS, ids=[region for region, _ in REGIONS])
def test_a_clean_season_is_the_same_for_the_same_seed(place: tuple[str, str]) -> None:
    one, other = (clean_season(3, 2, book_world(), place) for _ in range(2))
    assert one.rows == other.rows
    assert {row["hive_type"] for row in one.rows["Colonies"]} <= set(handbook().hive_types)
    assert max(row["date"] for row in one.rows["Weighings"]) < AS_AT  # type: ignore[type-var]


@pytest.mark.speed
def test_slips_are_caught_and_named() -> None:
    measured = measure()
    slips, clean = measured.slips, measured.clean
    large = slips[slips["effect_u"] > SURE]
    assert large["caught"].mean() >= 0.99
    single = slips[(slips["group"] == "one value") & slips["caught"]]
    assert single["first"].mean() >= 0.70
    assert single["two"].mean() >= 0.85
    misread = slips[slips["kind"].isin(MISREAD) & slips["caught"]]
    assert misread[misread["earlier"]]["value"].mean() >= 0.90
    assert misread[~misread["earlier"]]["value"].mean() >= 0.75
    assert slips[slips["group"] == "a date"]["caught"].mean() >= 0.95
    by_kind = table(measured).dropna(subset=["observer"])
    ideal = by_kind[by_kind["n"] >= MANY]
    assert (ideal["caught"] >= 0.9 * ideal["observer"]).all()
    whole, usual = clean[~clean["missing"]], clean[clean["missing"]]
    assert 1000 * whole["held"].sum() / whole["rows"].sum() < 0.5
    assert 1000 * whole["asked"].sum() / whole["rows"].sum() < 4
    assert 1000 * usual["asked"].sum() / usual["rows"].sum() < 15
