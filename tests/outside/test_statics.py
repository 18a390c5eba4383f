"""What a hive weighs at its edges, against moments worked out here and factors in print."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from apiarybook.reckon.hive.gross import one_side_factor, two_sides_factor

SPANS = st.floats(0.3, 0.7)
SHARES = st.floats(0.0, 1.0)
WEIGHTS = st.floats(5.0, 80.0)


def at_the_edges(weight: float, span: float, centre: float, inset: float) -> tuple[float, float]:
    """Readings at either edge, each from the moments about the far rail that the hive tips over."""
    right = weight * (centre - inset) / (span - inset)
    left = weight * (span - inset - centre) / (span - inset)
    return left, right


@given(weight=WEIGHTS, span=SPANS, share=SHARES)
def test_two_edges_add_up_for_any_centre_of_mass(weight: float, span: float, share: float) -> None:
    left, right = at_the_edges(weight, span, share * span, 0.0)
    factor, _ = two_sides_factor("solid", np.nan, 1.06, 0.04)
    assert factor * (left + right) == pytest.approx(weight)


@given(weight=WEIGHTS, span=SPANS, share=SHARES, inset=st.floats(0.0, 0.3))
def test_inset_rails_are_made_good_for_any_centre_of_mass(
    weight: float, span: float, share: float, inset: float
) -> None:
    rail = inset * span
    left, right = at_the_edges(weight, span, rail + share * (span - 2 * rail), rail)
    factor, _ = two_sides_factor("inset rails", inset, 1.06, 0.04)
    assert factor * (left + right) == pytest.approx(weight)


@given(share=SHARES)
def test_rails_a_tenth_in_take_a_ninth(share: float) -> None:
    """Statics: the sum of both sides is 0.889 of the weight, whatever the centre of mass."""
    left, right = at_the_edges(1.0, 1.0, 0.1 + share * 0.8, 0.1)
    factor, _ = two_sides_factor("inset rails", 0.1, 1.06, 0.04)
    assert left + right == pytest.approx(0.889, abs=0.0005)
    assert 1 / factor == pytest.approx(0.889, abs=0.0005)


@pytest.mark.parametrize("off", [-0.05, 0.05])
def test_doubling_errs_by_a_tenth_when_the_centre_is_a_twentieth_off(off: float) -> None:
    """Statics: 4 kg on 40 kg; within what the usual factor's uncertainty covers."""
    _, right = at_the_edges(40.0, 0.46, (0.5 + off) * 0.46, 0.0)
    doubled = 2.0 * right
    _, relative = one_side_factor(None, 2.0, 0.12)
    assert doubled - 40.0 == pytest.approx(np.sign(off) * 4.0)
    assert abs(doubled - 40.0) < relative * doubled


def test_front_lift_of_a_hive_of_130_pounds() -> None:
    """East Central Wisconsin beekeepers, 2018: about 59 lb at the front of 130 lb, a factor of 2.20."""
    factor, relative = one_side_factor(None, 2.2, 0.12)
    assert factor * 59.0 == pytest.approx(130.0, abs=0.5)
    assert relative == 0.12
    assert one_side_factor(130 / 59, 2.2, 0.12)[0] == pytest.approx(2.20, abs=0.005)


def test_rear_lift_of_a_dadant_on_its_own_stand() -> None:
    """French members' forum: 10.95 kg at the rear x 2.5 = 27.4 kg; less 18.5 kg of hive = 8.9 kg."""
    gross = 10.95 * one_side_factor(2.5, 2.2, 0.12)[0]
    assert gross == pytest.approx(27.4, abs=0.05)
    assert gross - 18.5 == pytest.approx(8.9, abs=0.05)
