"""The outlook is honest: its 80 % band holds about eight times in ten, its 10 % day is seldom too late.

The bounds are the club's own demand on its arithmetic, not a published figure.
"""

from importlib.resources import files

import numpy as np
import pytest

from tests.studies.outlook_coverage import REGIONS, coverage, page

LOW, HIGH, LATE = 0.75, 0.85, 0.12
CHANCE = 0.01
"""Standard error of one row: its half-months are those of the same 1500 colonies."""


@pytest.mark.speed
def test_every_winter_plan_and_day() -> None:
    found = coverage()
    found["share"] = found["held"] * found["told"]
    of = found.groupby(["region", "plan"])[["share", "told"]].sum()
    assert (of["share"] / of["told"]).between(LOW, HIGH).all()
    assert found["held"].between(LOW - CHANCE, HIGH + CHANCE).all()
    assert (found["late"] <= LATE).all()


@pytest.mark.speed
def test_the_page_shows_the_table_as_measured() -> None:
    kept = files("apiarybook.guide").joinpath("outlook-coverage.md").read_text(encoding="utf-8")
    assert kept == page()


def test_coverage_in_short() -> None:
    found = coverage(seed=3, colonies=60, regions=("british-isles",))
    assert LOW <= np.average(found["held"], weights=found["told"]) <= HIGH
    assert found["late"].mean() <= LATE
    widths = found.groupby("plan")["width"].last()
    assert widths["weighed again in December and February"] < widths["weighed once, in October"]


def test_the_same_seed_gives_the_same_table() -> None:
    region = next(iter(REGIONS))
    first, again = (coverage(seed=1, colonies=5, regions=(region,)) for _ in range(2))
    assert first.equals(again)
