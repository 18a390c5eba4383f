"""Hefting all and weighing some against published examples of double sampling, and against draws.

Lohr, Sampling: Design and Analysis, dead trees: counts on photographs of all 100 plots, in the field on 25 (the mean
count 11.3 and the published 11.99, 0.408 and 1199 from memory, reproduced). Hill and Massey, Journal of Statistical
Software 97(4) (2021), forest inventory of Grisons.
"""

from itertools import combinations

import numpy as np
import pytest
import statsmodels.api
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from apiarybook.reckon.hefting.worth_weighing import (
    TwoPhase,
    change_of_feed,
    feed_spread,
    loss,
    set_to_weigh,
    two_phase,
    two_phase_variance,
)

PHOTO = [10, 12, 7, 13, 13, 6, 17, 16, 15, 10, 14, 12, 10, 5, 12, 10, 10, 9, 6, 11, 7, 9, 11, 10, 10]
FIELD = [15, 14, 9, 14, 8, 5, 18, 15, 13, 15, 11, 15, 12, 8, 13, 9, 11, 12, 9, 12, 13, 11, 10, 9, 8]
PLOTS = 100
MEAN_PHOTO = 11.3
REST = (PLOTS * MEAN_PHOTO - sum(PHOTO)) / (PLOTS - len(PHOTO))


def dead_trees() -> TwoPhase:
    """The plots not visited stand at their mean count, which is all that the estimate takes of them."""
    blank = [np.nan] * (PLOTS - len(FIELD))
    return two_phase([*FIELD, *blank], [*PHOTO, *[REST] * len(blank)])


def test_dead_trees() -> None:
    found = dead_trees()
    assert found.slope == pytest.approx(0.6132743363, rel=1e-9)
    assert found.mean == pytest.approx(11.9892920354, rel=1e-9)
    assert [found.mean, PLOTS * found.mean] == pytest.approx([11.99, 1199], abs=0.1)
    # The published 0.408 has the divisor n - 1; with n - 2, as a line's residuals have it, 0.417.
    assert found.error == pytest.approx(0.4167579482, rel=1e-9)
    assert found.error * np.sqrt(23 / 24) == pytest.approx(0.4079831139, rel=1e-9)


def test_dead_trees_as_statsmodels_fits_them() -> None:
    fit = statsmodels.api.OLS(FIELD, statsmodels.api.add_constant(np.array(PHOTO, dtype=float))).fit()
    assert dead_trees().mean == pytest.approx(float(fit.predict([[1.0, MEAN_PHOTO]])[0]), rel=1e-12)
    assert dead_trees().residual == pytest.approx(np.sqrt(fit.mse_resid), rel=1e-12)


def test_grisons() -> None:
    """Simple form on the published summaries: 306 hefted, 67 weighed."""
    spread, residual = np.sqrt(38002.40502826458), np.sqrt(13571.530838420724)
    assert float(two_phase_variance(spread, residual, 67, 306, np.inf)) == pytest.approx(282.3996199042, rel=1e-9)


def test_two_phase_is_right_on_average() -> None:
    """In 500 clubs of 60 colonies, 15 weighed: no bias, and nine-in-ten intervals hold the truth 86 to 94 times."""
    rng = np.random.default_rng(3)
    away, held = [], []
    for _ in range(500):
        truth = rng.normal(12, 4, 60)
        guess = 0.8 * truth + rng.normal(1, 2.5, 60)
        found = two_phase(np.where(np.arange(60) < 15, truth, np.nan), guess)
        away.append(found.mean - truth.mean())
        held.append(abs(away[-1]) <= stats.t(13).ppf(0.95) * found.error)
    assert abs(np.mean(away)) < 4 * np.std(away) / np.sqrt(500)
    assert 0.86 <= np.mean(held) <= 0.94


@given(
    st.lists(st.tuples(st.one_of(st.none(), st.floats(-5, 40)), st.one_of(st.none(), st.floats(-5, 40))), max_size=12)
)
def test_any_club_gives_figures_or_blanks(rows: list[tuple[float | None, float | None]]) -> None:
    found = two_phase([a for a, _ in rows], [b for _, b in rows])
    both = [a for a, b in rows if a is not None and b is not None]
    assert np.isnan(found.mean) == (not both)
    assert not found.error < 0
    if 0 < len(both) < min(2, found.hefted):
        assert np.isnan(found.error)


def test_equal_hefts_tell_nothing() -> None:
    found = two_phase([10.0, 14.0, 12.0, None], [20.0, 20.0, 20.0, 20.0])
    assert (found.mean, found.slope) == (12.0, 0.0)
    assert found.error == pytest.approx(2.0 * np.sqrt(1 / 3 - 1 / 4))


def fed(short: np.ndarray, least: float, room: float) -> np.ndarray:
    """What is fed when so much is short."""
    return np.where((short <= least) | (room <= least), 0.0, np.minimum(short, room))


NORMAL = stats.norm.ppf((np.arange(400_000) + 0.5) / 400_000)


@pytest.mark.parametrize(
    ("short", "uncertainty", "left", "room"),
    [
        (0.0, 3.0, 0.5, 60.0),
        (1.0, 3.0, 0.5, 8.0),
        (1.5, 2.0, 1.0, 8.0),
        (4.0, 3.0, 1.0, 60.0),
        (9.0, 4.0, 1.0, 8.0),
        (5.0, 3.0, 1.0, 0.5),
        (-6.0, 3.0, 1.0, 8.0),
        (4.0, 1.0, 1.5, 8.0),
    ],
)
def test_change_of_feed_by_draws(short: float, uncertainty: float, left: float, room: float) -> None:
    moved = short + np.sqrt(max(uncertainty**2 - left**2, 0.0)) * NORMAL
    change = np.abs(fed(moved, 1.0, room) - fed(np.array(short), 1.0, room)).mean()
    assert float(change_of_feed(short, uncertainty, left, 1.0, room)) == pytest.approx(change, abs=2e-4)
    needed = fed(short + uncertainty * NORMAL, 1.0, room)
    assert float(feed_spread(short, uncertainty, 1.0, room)) == pytest.approx(needed.std(), abs=5e-4)


def test_loss_of_the_unit_normal() -> None:
    """Raiffa and Schlaifer's table of the unit normal loss integral: 0.3989 at 0, 0.0833 at 1, 0.0085 at 2."""
    assert loss([0.0, 1.0, 2.0], 0.0, 1.0).tolist() == pytest.approx([0.3989, 0.0833, 0.0085], abs=5e-5)


@given(st.floats(-20, 30), st.floats(0, 8), st.floats(0, 8), st.floats(-5, 30))
def test_a_better_reading_is_never_worth_less(short: float, uncertainty: float, left: float, room: float) -> None:
    worth = change_of_feed([short] * 2, uncertainty, [left, left / 2], 1.0, room)
    assert (worth >= 0).all()
    assert worth[1] >= worth[0] - 1e-9
    assert 0 <= float(feed_spread(short, uncertainty, 1.0, room)) <= uncertainty + 1.0


def test_blanks_are_worth_nothing_that_can_be_said() -> None:
    assert np.isnan(change_of_feed([np.nan, 2.0], [1.0, np.nan], 0.5, 1.0, 60.0)).all()
    assert np.isnan(feed_spread([np.nan, 2.0], [1.0, np.nan], 1.0, 60.0)).all()


@settings(max_examples=40)
@given(st.lists(st.floats(0, 6), min_size=1, max_size=7), st.floats(0, 3), st.floats(0.5, 20))
def test_the_set_is_the_smallest(spread: list[float], left: float, wish: float) -> None:
    """All sets tried, with nothing shared between colonies."""
    plan = set_to_weigh(spread, left, wish)
    z = stats.norm.ppf(0.95)

    def width(chosen: tuple[int, ...]) -> float:
        return float(z * np.sqrt(sum(min(s, left) ** 2 if i in chosen else s**2 for i, s in enumerate(spread))))

    assert plan.before == pytest.approx(width(()))
    assert plan.after == pytest.approx(width(tuple(plan.colonies.tolist())), abs=1e-6)
    fewer = combinations(range(len(spread)), max(len(plan.colonies) - 1, 0))
    if plan.reached and len(plan.colonies):
        assert all(width(chosen) > wish - 1e-9 for chosen in fewer)
    if not plan.reached:
        assert width(tuple(range(len(spread)))) > wish - 1e-9


def test_a_shared_hand_adds_linearly() -> None:
    """JCGM 100:2008, 5.2.2: nine colonies of one hand, wholly shared, and nine of nine hands."""
    z = stats.norm.ppf(0.95)
    one = set_to_weigh([1.0] * 9, 0.0, 0.1, shared=1.0)
    nine = set_to_weigh([1.0] * 9, 0.0, 0.1, shared=1.0, hand=range(9))
    assert [one.before, nine.before] == pytest.approx([9 * z, 3 * z])
    assert one.after == pytest.approx(0.0, abs=1e-6)


def test_colonies_without_evidence_are_not_chosen() -> None:
    plan = set_to_weigh([np.nan, 2.0, 1.0], 0.1, 0.5)
    assert plan.colonies.tolist() == [1, 2]
