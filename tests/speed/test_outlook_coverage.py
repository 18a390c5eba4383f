"""The outlook is honest: its 80 % band holds about eight times in ten, its 10 % day is seldom too late.

The bounds are the club's own demand on its arithmetic, not a published figure.
"""

from importlib.resources import files

import numpy as np
import pytest

from tests.studies.outlook_coverage import JANUARY, PLANS, WORLDS, coverage, page

LOW, HIGH, LATE, LATE_HARD = 0.76, 0.86, 0.15, 0.25
CHANCE = 0.015
"""Standard error of one row: its half-months are those of the same 2000 colonies in 100 winters."""


@pytest.mark.speed
def test_every_world_plan_and_day() -> None:
    found = coverage(WORLDS)
    found["share"] = found["held"] * found["told"]
    of = found.groupby(["world", "plan"])[["share", "told"]].sum()
    assert (of["share"] / of["told"]).between(LOW, HIGH).all()
    assert found["held"].between(LOW - CHANCE, HIGH + CHANCE).all()
    assert (found["late"] <= LATE + CHANCE).all()
    weighed = found[(found["plan"] == PLANS[1].name) & (found["as_at"] >= JANUARY)]
    assert (weighed["late_hard"] <= LATE_HARD).all()


@pytest.mark.speed
def test_the_page_shows_the_table_as_measured() -> None:
    kept = files("apiarybook.guide").joinpath("outlook-coverage.md").read_text(encoding="utf-8")
    assert kept == page()


def test_coverage_in_short() -> None:
    found = coverage(WORLDS[:2], seed=3, clubs=12, colonies=10)
    for _, of in found.groupby("world"):
        assert LOW - 0.06 <= np.average(of["held"], weights=of["told"]) <= HIGH + 0.06
    widths = found.groupby("plan")["width"].last()
    assert widths[PLANS[3].name] < widths[PLANS[1].name] < widths[PLANS[0].name]


def test_the_same_seed_gives_the_same_table() -> None:
    first, again = (coverage(WORLDS[1:2], seed=1, clubs=2, colonies=5, plans=PLANS[:1]) for _ in range(2))
    assert first.equals(again)
