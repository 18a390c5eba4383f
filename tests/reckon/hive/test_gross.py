"""The gross by each method, and what each method costs in certainty."""

import numpy as np
import pytest

from apiarybook.reckon.hive.gross import (
    hanging_handling,
    one_side_factor,
    stores_from_frames,
    two_sides_factor,
)

# Figures of this file are common practice, no source, unless a line says otherwise.


def test_handling_of_a_heavy_hanging_hive_is_worse() -> None:
    assert hanging_handling([25.0, 25.1], [0.2, 0.2]).tolist() == [0.2, 0.5]


@pytest.mark.parametrize(
    ("stand", "inset", "factor", "relative"),
    [
        ("solid", np.nan, 1.0, 0.0),
        ("flush rails", 0.2, 1.0, 0.0),
        ("inset rails", 0.0, 1.0, 0.0),
        ("inset rails", 0.1, 1.125, 0.0),
        ("inset rails", np.nan, 1.06, 0.04),
        ("unknown", 0.1, 1.06, 0.04),
        (None, np.nan, 1.06, 0.04),
        ("inset rails", 0.5, np.nan, np.nan),
        ("inset rails", -0.1, np.nan, np.nan),
        ("tree", 0.1, np.nan, np.nan),
    ],
)
def test_the_stand_gives_the_factor(stand: str | None, inset: float, factor: float, relative: float) -> None:
    assert two_sides_factor(stand, inset, 1.06, 0.04) == pytest.approx((factor, relative), nan_ok=True)


def test_a_stand_that_was_tried_beats_the_usual_factor() -> None:
    factor, relative = one_side_factor([2.5, np.nan], 2.2, 0.12)
    assert factor.tolist() == [2.5, 2.2]
    assert relative[0] < relative[1]


def test_frames_of_food_carry_a_share_and_a_quarter_frame() -> None:
    stores, u = stores_from_frames([0.0, 6.0], 2.0)
    assert stores.tolist() == [0.0, 12.0]
    assert u == pytest.approx([0.5, (1.8**2 + 0.5**2) ** 0.5])
