"""What is not stores: the laws it keeps, and what it does with words and blanks."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from apiarybook.reckon.hive.kit import (
    bees_mass,
    brood_default,
    brood_frames_used,
    brood_mass,
    tare,
    wetness,
)

# Figures of this file are common practice, no source, unless a line says otherwise.


@given(frames=st.floats(0.0, 20.0), side=st.floats(4.0, 12.0))
def test_bees_and_brood_go_by_area(frames: float, side: float) -> None:
    for of_frames in (bees_mass, brood_mass):
        here, double = of_frames(frames, side), of_frames(frames / 2, side * 2)
        assert np.array(here) == pytest.approx(np.array(double))


@given(frames=st.floats(0.0, 12.0), bees=st.floats(0.3, 4.0), side=st.floats(4.0, 12.0))
def test_brood_by_default_weighs_the_same_on_any_comb(frames: float, bees: float, side: float) -> None:
    used = brood_frames_used(frames, bees, side)
    assert brood_mass(used, side) == pytest.approx(brood_default(frames, bees))


def test_own_tare_stands_before_that_of_the_type() -> None:
    found, u = tare([np.nan, 14.0], [16.0, 16.0], [1.2, 1.2])
    assert found.tolist() == [16.0, 14.0]
    assert u.tolist() == [1.2, 0.2]


@pytest.mark.parametrize(
    ("state", "material", "water"),
    [
        ("dry", "wood", 0.0),
        (None, "wood", 0.0),
        ("damp", "wood", 0.6),
        ("soaked", "wood", 1.6),
        ("damp", "polystyrene", 0.3),
        ("snow", "wood", np.nan),
        ("wet", "wood", np.nan),
    ],
)
def test_wet_boxes_weigh_more(state: str | None, material: str, water: float) -> None:
    assert wetness(state, 2, material) == pytest.approx(water, nan_ok=True)
