"""Normal-inverse-gamma posterior and Student t prediction against published examples and against integration.

Hoff, A First Course in Bayesian Statistical Methods (2009), chapter 5: wing length of midges. Clyde et al., An
Introduction to Bayesian Thinking, normal-gamma chapter: total trihalomethanes in tap water; its predictive figures are
Monte Carlo, so the exact quantiles are compared, and the printed ones only loosely.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from apiarybook.reckon.hefting.calibration import (
    Calibration,
    Sums,
    half_width,
    predicted_scale,
    predicted_spread,
    sums,
    update,
)

MIDGES = [1.64, 1.70, 1.72, 1.74, 1.82, 1.82, 1.82, 1.90, 2.08]


def calibration(mean: float, weight: float, variance: float, freedom: float) -> Calibration:
    """A prior as the books write it: mean m0 worth k0 values, variance s0^2 worth v0 degrees of freedom."""
    return Calibration(*(np.array([v]) for v in (mean, weight, freedom / 2, freedom * variance / 2)))


def of_one(values: list[float]) -> Sums:
    return sums(values, np.zeros(len(values), dtype=np.int64), 1)


MIDGE_POSTERIOR = update(calibration(1.9, 1.0, 0.010, 1.0), of_one(MIDGES))


def test_midges_as_printed() -> None:
    """Printed: posterior mean 1.814, k 10, precision ~ gamma(5, 10 x 0.015/2)."""
    own = of_one(MIDGES)
    assert [own.mean[0], own.squares[0] / 8] == pytest.approx([1.8044444444, 0.0168777778], rel=1e-8)
    assert [own.mean[0], own.squares[0] / 8] == pytest.approx([1.804, 0.0169], abs=5e-4)
    found = [part[0] for part in (MIDGE_POSTERIOR.mean, MIDGE_POSTERIOR.weight, MIDGE_POSTERIOR.shape)]
    assert found == pytest.approx([1.814, 10.0, 5.0])
    assert MIDGE_POSTERIOR.rate[0] == pytest.approx(0.07662)
    assert MIDGE_POSTERIOR.rate[0] * 2 / 10 == pytest.approx(0.015, abs=5e-4)


def test_the_next_midge() -> None:
    scale, reach = predicted_scale(MIDGE_POSTERIOR)[0], half_width(MIDGE_POSTERIOR, 0.95)[0]
    assert scale == pytest.approx(0.1298321994, rel=1e-9)
    assert [1.814 - reach, 1.814 + reach] == pytest.approx([1.5247158323, 2.1032841677], rel=1e-9)
    assert stats.t(10, 1.814, scale).cdf(1.70) == pytest.approx(0.2002588629, rel=1e-9)


def test_the_next_midge_by_integration() -> None:
    """Normal errors averaged over the posterior of precision, without the closed form of their mixture."""
    shape, rate = MIDGE_POSTERIOR.shape[0], MIDGE_POSTERIOR.rate[0]

    def below(precision: float) -> float:
        spread = np.sqrt((1 + 1 / MIDGE_POSTERIOR.weight[0]) / precision)
        return float(stats.norm.cdf(1.70, 1.814, spread) * stats.gamma.pdf(precision, shape, scale=1 / rate))

    share, _ = integrate.quad(below, 0, 400)
    assert share == pytest.approx(0.2002588629, rel=1e-7)
    assert predicted_spread(MIDGE_POSTERIOR)[0] == pytest.approx(
        stats.t(10, scale=predicted_scale(MIDGE_POSTERIOR)[0]).std(), rel=1e-12
    )


def test_tap_water() -> None:
    """Prior m0 35, n0 25, s0^2 156.25, v0 24; data n 28, mean 55.5239, s 23.254."""
    own = Sums(*(np.array([v]) for v in (28.0, 55.5239, 27 * 23.254**2)))
    found = update(calibration(35.0, 25.0, 156.25, 24.0), own)
    assert [found.weight[0], 2 * found.shape[0]] == [53.0, 52.0]
    assert found.mean[0] == pytest.approx(45.8428150943, rel=1e-9)
    variance = found.rate[0] / found.shape[0]
    assert variance == pytest.approx(459.8775240359, rel=1e-9)
    assert variance == pytest.approx(459.9, abs=0.05)
    of_mean = np.sqrt(variance / found.weight[0])
    assert of_mean == pytest.approx(2.9457, abs=5e-5)
    assert stats.t(52, found.mean[0], of_mean).interval(0.95) == pytest.approx((39.9319, 51.7537), abs=5e-5)
    assert predicted_scale(found)[0] == pytest.approx(21.6461187849, rel=1e-9)
    reach = half_width(found, 0.95)[0]
    assert [found.mean[0] - reach, found.mean[0] + reach] == pytest.approx([2.4066999926, 89.2789301961], rel=1e-8)
    # Printed from 10,000 draws: 3.28 and 89.83; over 80 in 0.0619.
    assert [found.mean[0] - reach, found.mean[0] + reach] == pytest.approx([3.280216, 89.830212], abs=1.0)
    over = stats.t(52, found.mean[0], predicted_scale(found)[0]).sf(80)
    assert over == pytest.approx(0.0603172212, rel=1e-8)
    assert over == pytest.approx(0.0619, abs=0.005)


def test_tap_water_before_the_data() -> None:
    prior = calibration(35.0, 25.0, 156.25, 24.0)
    reach = half_width(prior, 0.95)[0]
    assert [35 - reach, 35 + reach] == pytest.approx([8.6903524005, 61.3096475995], rel=1e-9)


@given(
    st.lists(st.floats(-2, 2), min_size=1, max_size=12),
    st.integers(0, 12),
    st.floats(-0.5, 0.5),
    st.floats(0.5, 10),
)
def test_pairs_all_at_once_or_in_two_parts_tell_the_same(
    errors: list[float], cut: int, mean: float, weight: float
) -> None:
    prior = calibration(mean, weight, 0.0225, 6.0)
    whole = update(prior, of_one(errors))
    parts = update(update(prior, of_one(errors[:cut])), of_one(errors[cut:]))
    for name in Calibration.__slots__:
        assert getattr(parts, name)[0] == pytest.approx(getattr(whole, name)[0], rel=1e-9, abs=1e-12)
