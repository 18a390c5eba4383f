"""Residuals tell: nine large events in ten are named with their cause among the first two readings.

The bounds are the club's own demand on its arithmetic, not a published figure.
"""

from importlib.resources import files

import pytest

from tests.studies.balance_readings import CLUBS, ODD, USUAL, measure, page
from tests.studies.simulated_seasons import CAUSES, Habits


@pytest.mark.speed
@pytest.mark.parametrize("habits", [USUAL, ODD], ids=["usual", "odd"])
def test_large_events_are_named(habits: Habits) -> None:
    measured = measure(habits)
    assert CLUBS >= 20
    assert len(measured.large) > 500
    assert set(measured.large["cause"]) == set(CAUSES)
    assert measured.large["named"].mean() >= 0.90
    assert measured.large["found"].mean() >= 0.97


@pytest.mark.speed
@pytest.mark.parametrize("cause", CAUSES)
def test_no_cause_is_left_behind(cause: str) -> None:
    """Slips are the hardest: a change of a few kilograms by one digit looks like a feed or a thing left on."""
    large = measure().large
    assert large.loc[large["cause"] == cause, "named"].mean() >= (0.80 if cause == "slip" else 0.90)


@pytest.mark.speed
def test_clean_intervals_are_left_alone() -> None:
    for habits in (USUAL, ODD):
        clean = measure(habits).clean
        assert len(clean) > 10_000
        assert (clean["standing"] == "ask").mean() < 0.02
        assert (clean["residual"] / clean["residual_u"]).std() == pytest.approx(1.0, abs=0.1)


@pytest.mark.speed
def test_the_page_shows_the_table_as_measured() -> None:
    kept = files("apiarybook.guide").joinpath("balance-readings.md").read_text(encoding="utf-8")
    assert kept == page()
