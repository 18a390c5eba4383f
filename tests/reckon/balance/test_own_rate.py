"""What a colony ate in its other intervals, against the general formulas that numpy's inverse gives."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from apiarybook.reckon.balance.mass_balance import Evidence, by_others, evidence, off_the_line
from apiarybook.reckon.core.arrays import Floats, figure
from apiarybook.reckon.core.consumption import whole_spread

DAYS = np.array([20.0, 30.0, 60.0, 45.0])
EATEN = np.array([1.5, 2.0, 4.0, 3.0])
ALONE = np.array([0.8, 1.1, 0.6, 0.9])
"""Standard uncertainty of each interval but for the rate [kg]."""
ALL = np.ones(4, dtype=np.bool_)
TOLERANCE = 1e-9
"""Relative: the same sums in another order."""


def intervals(residual: Floats) -> pd.DataFrame:
    """Four intervals of one colony, one after the other."""
    ends = np.cumsum(DAYS)
    u = np.hypot(ALONE, whole_spread() * EATEN)
    return pd.DataFrame(
        {"colony_row": 1, "day_1": ends - DAYS, "day_2": ends, "eaten": EATEN, "residual": residual, "residual_u": u}
    )


def covariance(seen: Evidence) -> Floats:
    """Of the four residuals: what each has alone, and the one rate that all share."""
    return np.diag(seen.alone) + whole_spread() ** 2 * np.outer(seen.eaten, seen.eaten)


small = st.lists(st.floats(-1.0, 1.0), min_size=4, max_size=4).map(np.array)


@given(small)
def test_each_interval_is_foretold_as_by_leaving_it_out_of_the_whole(residual: Floats) -> None:
    """Rasmussen and Williams, Gaussian Processes for Machine Learning, 2006, 5.10 to 5.12, by numpy.linalg."""
    seen = evidence(intervals(residual), ALL)
    inverse = np.linalg.inv(covariance(seen))
    rate, spread = by_others(seen)
    left = residual + (rate - 1) * EATEN
    assert left == pytest.approx(inverse @ residual / np.diag(inverse), rel=TOLERANCE, abs=TOLERANCE)
    u = np.sqrt(seen.alone - seen.wander * EATEN**2 + (spread * EATEN) ** 2)
    capped = spread < whole_spread()
    assert u[capped] == pytest.approx(1 / np.sqrt(np.diag(inverse))[capped], rel=TOLERANCE)


@given(small)
def test_a_weighing_is_off_as_generalised_least_squares_says(residual: Floats) -> None:
    """Aitken 1935, On least squares and linear combination of observations, by numpy.linalg."""
    seen, scatter = evidence(intervals(residual), ALL), np.array([0.2, 0.3, 0.1, 0.0])
    off, off_u = off_the_line(seen, scatter)
    for at in range(3):
        whole = covariance(seen)
        whole[at, at + 1] -= scatter[at]
        whole[at + 1, at] -= scatter[at]
        inverse, design = np.linalg.inv(whole), np.zeros(4)
        design[[at, at + 1]] = 1.0, -1.0
        precision = design @ inverse @ design
        assert off[at] == pytest.approx(design @ inverse @ residual / precision, rel=TOLERANCE, abs=TOLERANCE)
        assert off_u[at] == pytest.approx(1 / np.sqrt(precision), rel=TOLERANCE)
    assert np.isnan([off[3], off_u[3]]).all()


def test_nothing_is_learnt_from_intervals_that_do_not_tell_or_of_other_colonies() -> None:
    residual = np.array([-1.0, -2.0, -3.0, -2.0])
    rate, spread = by_others(evidence(intervals(residual), ~ALL))
    assert rate.tolist() == [1.0] * 4
    assert spread == pytest.approx(whole_spread())
    alone = intervals(residual).assign(colony_row=[1, 2, 3, 4])
    assert by_others(evidence(alone, ALL))[0].tolist() == [1.0] * 4
    assert np.isnan(off_the_line(evidence(alone, ALL), np.zeros(4))[0]).all()


def test_a_slip_of_thirty_kilograms_makes_no_other_rate_than_one_of_two_standard_uncertainties() -> None:
    usual = np.array([-0.3, 0.2, -0.4, 0.1])
    least = figure("balance_note") * np.hypot(ALONE, whole_spread() * EATEN)[1]
    rates = [by_others(evidence(intervals(np.where(DAYS == 30.0, slip, usual)), ALL))[0] for slip in (30.0, least)]
    assert rates[0] == pytest.approx(rates[1])
