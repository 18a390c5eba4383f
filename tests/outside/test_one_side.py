"""How far a one-side reading can be off, against a published comparison.

42 hives tilted at one side and weighed whole: difference 5.9 kg on average, standard deviation 5.7 kg. The comparison
is known at second hand only: neither its authors nor the masses of its hives were seen. A usual hive is taken as
40 kg, common practice, no source; and a hive tilted is taken to have been read doubled, as most do.
"""

import numpy as np
import pytest
from scipy import stats

from apiarybook.handbook import handbook
from apiarybook.reckon.core.arrays import figure
from apiarybook.reckon.hive.gross import one_side_factor

PAIRS, MEAN, DEVIATION = 42, 5.9, 5.7
WAY = handbook().methods["one side"]


def test_the_handbooks_spread_is_that_of_the_comparison() -> None:
    """Within the nineteen-in-twenty interval of a standard deviation, and not under it."""
    held = WAY.multiplier_u.value * figure("usual_gross")
    freedom = PAIRS - 1
    low, high = DEVIATION * np.sqrt(freedom / stats.chi2.ppf([0.975, 0.025], freedom))
    assert low == pytest.approx(4.69, abs=0.01)
    assert high == pytest.approx(7.27, abs=0.01)
    assert DEVIATION <= held <= high


def test_the_handbooks_factor_takes_off_part_of_the_difference_and_its_spread_holds_the_rest() -> None:
    usual = figure("usual_gross")
    doubled = usual - MEAN
    factor, relative = one_side_factor(None, WAY.multiplier.value, WAY.multiplier_u.value)
    gross = factor * doubled / 2
    assert abs(usual - gross) < MEAN
    assert abs(usual - gross) < relative * gross
    assert WAY.multiplier.low <= 2 * usual / doubled <= WAY.multiplier.high


def test_spread_and_what_is_left_of_the_difference_lie_within_what_nine_in_ten_are_given() -> None:
    usual, scale = figure("usual_gross"), WAY.multiplier.value / 2
    left = usual - scale * (usual - MEAN)
    within = stats.norm.ppf(0.95) * WAY.multiplier_u.value * scale * (usual - MEAN)
    errors = stats.norm(left, scale * DEVIATION)
    assert errors.cdf(within) - errors.cdf(-within) > 0.8
