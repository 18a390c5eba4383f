"""What a colony itself eats, told from its weighings: laws, and the conjugate update where it holds."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apiarybook.reckon.core.arrays import figure
from apiarybook.reckon.core.consumption import whole_spread
from apiarybook.reckon.outlook.rate import Learnt, Rates, learn, pooled

NOTHING = pd.DataFrame({"colony": pd.Series(dtype=np.int64), "day": pd.Series(dtype=np.float64)})


def points(stores: list[float], eaten: list[float], u: float = 0.4) -> pd.DataFrame:
    days = 46300.0 + 20.0 * np.arange(len(stores))
    return pd.DataFrame(
        {"colony": 1, "day": days, "order": 1, "kit": 2, "hand": "", "stores": stores, "u": u, "eaten": eaten}
    )


def seen(weight: list[float], rate: list[float], eaten: float = 400.0) -> Learnt:
    """Evidence over so long a time and so much eaten that neither months nor damp wood matter, unless said."""
    count = np.ones(len(weight))
    return Learnt(np.array(weight), np.array(rate), eaten * count, eaten * count)


def rates(found: Learnt, winter: list[int] | None = None, place: list[int] | None = None) -> Rates:
    alone = list(range(len(found.weight)))
    return pooled(found, np.array(winter or alone), np.array(place or alone), 1e6)


def test_with_no_evidence_the_handbook_holds() -> None:
    found = rates(seen([0.0], [np.nan]))
    assert (found.mean[0], found.spread[0], found.told[0]) == (1.0, whole_spread(), False)


@pytest.mark.parametrize(("rate", "weight"), [(1.3, 400.0), (0.8, 900.0), (1.6, 400.0)])
def test_good_evidence_of_one_colony_gives_the_conjugate_update(rate: float, weight: float) -> None:
    """Two Normal pieces of evidence in the logarithm add their weights (Gelman et al., Bayesian Data Analysis, 2.5)."""
    prior, variance = np.log1p(whole_spread() ** 2), 1 / (weight * rate**2)
    middle = (-1 / 2 + np.log(rate) / variance) / (1 / prior + 1 / variance)
    mean = rates(seen([weight], [rate])).mean
    assert mean[0] == pytest.approx(np.exp(middle + 1 / (1 / prior + 1 / variance) / 2), rel=0.01)


def test_one_winter_of_well_seen_colonies_is_pooled_in_closed_form() -> None:
    """Rates seen closely: the winter's factor is Normal in the logarithm, as in the eight schools with known spreads
    (Gelman et al., Bayesian Data Analysis, 3rd edition, 5.5); worked by hand in another way than the product's."""
    told = np.array([1.6, 1.2, 1.9, 1.4, 1.5])
    found = rates(seen([600.0] * 5 + [0.0], [*told, 1.0]), [1] * 6, list(range(6)))
    winter, place, colony = (np.log1p(figure(f"{level}_spread") ** 2) for level in ("winter", "place", "colony"))
    below = place + colony + 1 / (600.0 * 1.5**2)
    precision = 1 / winter + 5 / below
    middle = ((-winter / 2) / winter + (np.log(told) + (place + colony) / 2).sum() / below) / precision
    assert np.log(found.winter[5]) == pytest.approx(middle + 1 / precision / 2, abs=0.01)
    unseen = np.exp(middle + 1 / precision / 2)
    assert found.mean[5] == pytest.approx(unseen, rel=0.01)
    assert found.spread[5] == pytest.approx(np.sqrt(np.exp(1 / precision + place + colony) - 1), rel=0.02)


def test_three_levels_as_drawn_by_chance() -> None:
    """Every factor drawn from what is believed of it, each draw weighed by what was seen: no grid and no closed form
    (importance sampling; Gelman et al., Bayesian Data Analysis, 3rd edition, 10.4)."""
    weight, rate = np.array([25.0, 16.0, 30.0, 9.0, 0.0]), np.array([1.7, 1.3, 0.9, -0.1, 1.0])
    place, many = np.array([0, 0, 1, 2, 1]), 400_000
    found = rates(seen(list(weight), list(rate)), [1] * 5, list(place))
    rng = np.random.default_rng(5)

    def factors(level: str, count: int) -> np.ndarray:
        wide = np.sqrt(np.log1p(figure(f"{level}_spread") ** 2))
        return np.exp(rng.normal(-(wide**2) / 2, wide, (many, count)))

    winter = factors("winter", 1)
    eats = winter * factors("place", 3)[:, place] * factors("colony", 5)
    variance = 1 / np.where(weight > 0, weight, 1e-12) + figure("month_wander") ** 2 / 400.0
    likely = np.exp(-((eats - rate) ** 2 / variance * (weight > 0)).sum(axis=1) / 2)
    likely /= likely.sum()
    mean = likely @ eats
    assert found.mean == pytest.approx(mean, rel=0.015)
    assert found.spread == pytest.approx(np.sqrt(likely @ eats**2 - mean**2) / mean, rel=0.02)
    assert found.winter[0] == pytest.approx(float(likely @ winter[:, 0]), rel=0.015)


def test_neighbours_tell_more_than_other_apiaries_and_other_winters_tell_nothing() -> None:
    found = rates(seen([400.0, 400.0, 0.0, 0.0, 0.0], [1.9, 1.8, 1, 1, 1]), [1, 1, 1, 1, 2], [1, 1, 1, 2, 3])
    assert found.mean[2] > found.mean[3] > found.mean[4] == 1.0
    assert found.told.tolist() == [True, True, True, True, False]


def test_what_damp_wood_may_do_to_all_hives_is_not_averaged_away() -> None:
    many = rates(seen([1e4] * 200, [1.3] * 200, eaten=3.0), [1] * 200, list(range(200)))
    assert many.winter_spread[0] * many.winter[0] > np.sqrt(2) * figure("wood_moisture") / 3.0 / 2


def test_a_month_seen_says_less_than_five() -> None:
    short, long = (rates(seen([1e4], [1.8], eaten=months)) for months in (1.0, 5.0))
    assert short.mean[0] < long.mean[0] < 1.8
    assert short.spread[0] > long.spread[0]


@settings(deadline=None, max_examples=40)
@given(weight=st.floats(0.3, 1000.0), rate=st.floats(-0.5, 2.0))
def test_the_answer_lies_between_prior_and_evidence_or_past_nought(weight: float, rate: float) -> None:
    found = rates(seen([weight], [rate]))
    assert found.mean[0] > 0
    assert min(1.0, rate) - 0.12 <= found.mean[0] <= max(1.0, rate) + 0.12
    assert found.spread[0] <= whole_spread() + 0.01


@settings(deadline=None, max_examples=40)
@given(weight=st.floats(0.3, 200.0), rate=st.floats(0.0, 2.0), more=st.floats(0.01, 1.0))
def test_a_colony_that_ate_more_will_eat_more(weight: float, rate: float, more: float) -> None:
    mean = rates(seen([weight, weight], [rate, rate + more])).mean
    assert mean[1] > mean[0]


def test_the_order_of_colonies_does_not_enter() -> None:
    found = rates(seen([9.0, 0.0, 25.0], [1.5, 1.0, 0.7], 4.0), [1, 1, 1], [1, 1, 2])
    turned = rates(seen([25.0, 0.0, 9.0], [0.7, 1.0, 1.5], 4.0), [1, 1, 1], [2, 1, 1])
    assert turned.mean[::-1] == pytest.approx(found.mean)


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
