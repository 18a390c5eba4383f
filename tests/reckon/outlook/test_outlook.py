"""Chances and days: what they are at their ends, and that they solve what they say they solve."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import brentq

from apiarybook.reckon.outlook.outlook import chance_below, day_when_eaten, quantile, ten_percent_eaten

ABOVE = st.floats(0.5, 40.0)
UNCERTAINTIES = st.floats(0.0, 6.0)
SPREADS = st.floats(0.0, 1.2)


@given(above=ABOVE, u=UNCERTAINTIES, spread=SPREADS, assurance=st.floats(0.6, 0.99))
def test_what_may_be_eaten_solves_its_own_equation(above: float, u: float, spread: float, assurance: float) -> None:
    z = float(quantile(assurance))
    assume(above > z * u + 1e-6)

    def left(e: float) -> float:
        return above - e - z * float(np.hypot(u, spread * e))

    assert ten_percent_eaten(above, u, z, spread) == pytest.approx(brentq(left, 0.0, above), abs=1e-6)


def test_a_spread_that_makes_the_equation_straight_is_no_trouble() -> None:
    assert ten_percent_eaten(10.0, 1.0, 2.0, 0.5) == pytest.approx((100 - 4) / 20)


def test_the_worked_figure_of_the_book() -> None:
    """Own arithmetic: with a = 10 and u = 1.2 nine in ten colonies may eat 6.384 kg."""
    assert ten_percent_eaten(10.0, 1.2, quantile(0.90), 0.4) == pytest.approx(6.384, abs=0.0005)


def test_whoever_may_be_at_the_floor_already_may_eat_nothing() -> None:
    found = ten_percent_eaten([1.0, -3.0, np.nan], [2.0, 0.1, 1.0], quantile(0.9), 0.4)
    assert found == pytest.approx([0.0, 0.0, np.nan], nan_ok=True)


@given(value=st.floats(-20.0, 60.0), u=st.floats(0.01, 8.0), more=st.floats(0.0, 10.0))
def test_more_stores_never_make_it_likelier_to_run_out(value: float, u: float, more: float) -> None:
    assert 0.0 <= chance_below(5.0, value + more, u) <= chance_below(5.0, value, u) <= 1.0


def test_without_uncertainty_it_is_yes_or_no() -> None:
    found = chance_below(5.0, [4.9, 5.0, 5.1, np.nan, 4.0], [0.0, 0.0, 0.0, 0.0, np.nan])
    assert found == pytest.approx([1.0, 0.0, 0.0, np.nan, np.nan], nan_ok=True)


def test_the_day_is_the_first_by_which_it_is_eaten() -> None:
    cumulative = [0.0, 0.1, 0.2, 0.2, 0.2, 0.5]
    assert day_when_eaten(cumulative, 0, [0.0, 0.1, 0.15, 0.5, 0.51]).tolist() == [0, 1, 2, 5, 6]
    assert day_when_eaten(cumulative, [3, 4], [0.0, 0.1]).tolist() == [3, 5]
    assert day_when_eaten(cumulative, 3, -1.0) == 3
    assert np.isnan(day_when_eaten(cumulative, [np.nan, 1], [0.1, np.nan])).all()


def test_a_hair_of_rounding_does_not_cost_a_day() -> None:
    cumulative = np.cumsum(np.full(11, 0.1)) - 0.1
    assert day_when_eaten(cumulative, 0, 0.1 * np.arange(11)).tolist() == list(range(11))


def test_a_start_outside_the_calendar_is_named() -> None:
    with pytest.raises(ValueError, match="Day 9 lies outside"):
        day_when_eaten([0.0, 0.1], 9, 0.1)
