"""Slips are caught, named and mended: the bounds of the benchmark, and laws of what it is made from.

The bounds are the club's own demand on its checks, not a published figure.
"""

from __future__ import annotations

import pytest

from apiarybook.handbook import handbook
from tests.slips import kinds_of_rows  # noqa: F401 importing it registers its kinds
from tests.slips.benchmark import SURE, measure
from tests.slips.clean_seasons import AS_AT, REGIONS, clean_season
from tests.slips.kinds import KINDS
from tests.studies.worlds import book_world


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
    assert large["caught"].mean() >= 0.97
    single = slips[(slips["group"] == "one value") & slips["caught"]]
    assert single["first"].mean() >= 0.70
    assert single["two"].mean() >= 0.80
    whole = clean[~clean["missing"]]
    assert 1000 * whole["held"].sum() / whole["rows"].sum() < 0.5
    assert 1000 * whole["asked"].sum() / whole["rows"].sum() < 4
