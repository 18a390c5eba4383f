"""What a colony itself eats, told from its weighings: laws, and the conjugate update where it holds."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apiarybook.reckon.outlook.rate import learn, own_rate, prior_spread

NOTHING = pd.DataFrame({"colony": pd.Series(dtype=np.int64), "day": pd.Series(dtype=np.float64)})


def points(stores: list[float], eaten: list[float], u: float = 0.4) -> pd.DataFrame:
    days = 46300.0 + 20.0 * np.arange(len(stores))
    return pd.DataFrame(
        {"colony": 1, "day": days, "order": 1, "kit": 2, "hand": "", "stores": stores, "u": u, "eaten": eaten}
    )


def test_with_no_evidence_the_handbook_holds() -> None:
    assert [float(one[0]) for one in own_rate([0.0], [np.nan])] == [1.0, 0.4]


@pytest.mark.parametrize(("rate", "weight"), [(1.3, 400.0), (0.8, 900.0), (1.6, 400.0)])
def test_good_evidence_gives_the_conjugate_update_in_the_logarithm(rate: float, weight: float) -> None:
    """Two Normal pieces of evidence in the logarithm add their weights (Gelman et al., Bayesian Data Analysis, 2.5)."""
    prior, seen = prior_spread() ** 2, 1 / (weight * rate**2)
    middle = (-prior / 2 / prior + np.log(rate) / seen) / (1 / prior + 1 / seen)
    mean, _ = own_rate([weight], [rate])
    assert mean[0] == pytest.approx(np.exp(middle + 1 / (1 / prior + 1 / seen) / 2), rel=0.01)


@settings(deadline=None)
@given(weight=st.floats(0.3, 1000.0), rate=st.floats(-0.5, 2.0))
def test_the_answer_lies_between_prior_and_evidence_or_past_nought(weight: float, rate: float) -> None:
    mean, spread = own_rate([weight], [rate])
    assert mean[0] > 0
    assert min(1.0, rate) - 0.08 <= mean[0] <= max(1.0, rate) + 0.08
    assert 0.1 <= spread[0] <= 0.401


@settings(deadline=None)
@given(weight=st.floats(0.3, 200.0), rate=st.floats(0.0, 2.0), more=st.floats(0.01, 1.0))
def test_a_colony_that_ate_more_will_eat_more(weight: float, rate: float, more: float) -> None:
    mean, _ = own_rate([weight, weight], [rate, rate + more])
    assert mean[1] > mean[0]


def test_the_slope_of_a_stretch_is_the_rate() -> None:
    found = learn(points([20.0, 18.5, 17.0], [0.0, 1.0, 2.0]), NOTHING, 1)
    assert found.rate == pytest.approx([1.5])
    assert found.weight == pytest.approx([2.0 / 0.4**2])


def test_feed_between_ends_a_stretch() -> None:
    """Nothing is told of what was eaten while feed was given; the points on either side tell on their own."""
    fed = pd.DataFrame({"colony": [1], "day": [46330.0]})
    assert learn(points([20.0, 18.5, 22.0], [0.0, 1.0, 2.0]), fed, 1).rate == pytest.approx([1.5])
    assert learn(points([20.0, 22.0], [0.0, 1.0]), fed.assign(day=46310.0), 1).weight.tolist() == [0.0]


def test_something_else_than_eating_is_not_learnt() -> None:
    assert learn(points([20.0, 12.0], [0.0, 1.5]), NOTHING, 1).weight.tolist() == [0.0]


@given(shift=st.floats(-5.0, 5.0))
def test_what_all_points_share_changes_nothing(shift: float) -> None:
    """A wrong tare moves all stores alike."""
    straight = points([20.0, 18.9, 17.2], [0.0, 1.0, 2.0])
    assert learn(straight.assign(stores=straight["stores"] + shift), NOTHING, 1).rate == pytest.approx(
        learn(straight, NOTHING, 1).rate
    )


def test_the_order_of_rows_does_not_enter() -> None:
    straight = points([20.0, 18.9, 17.2, 15.0], [0.0, 1.0, 2.0, 3.5])
    assert learn(straight[::-1], NOTHING, 1).rate == pytest.approx(learn(straight, NOTHING, 1).rate)
