"""Chances and days: what they are at their ends, and that they solve what they say they solve."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import brentq

from apiarybook.reckon.outlook.outlook import chance_below, quantile, ten_percent_eaten

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
