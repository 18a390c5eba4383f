"""Feed to stores and back: balances that close, units, ripening."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from apiarybook.reckon.core.winter import serials
from apiarybook.reckon.feeding.feeds import (
    UNITS,
    amount_to_mass,
    density,
    half_time_of,
    saturated_solids,
    solids_of_mix,
    stores_from_feed,
    sugar_water_for,
    unripe_share,
    water_to_drive_off,
)

MASSES = st.floats(0.1, 100.0)
SOLIDS = st.floats(0.3, 0.8)
ETAS = st.floats(0.5, 1.0)
USUAL = {"density": 1300.0, "block": 2.5, "feeder_litres": 4.0, "full_comb": 2.3}


@given(mass=MASSES, solids=SOLIDS, eta=ETAS)
def test_feed_goes_to_stores_and_to_the_air_and_nowhere_else(mass: float, solids: float, eta: float) -> None:
    assert stores_from_feed(mass, solids, eta) + water_to_drive_off(mass, solids, eta) == pytest.approx(mass)


@given(mass=MASSES, solids=SOLIDS)
def test_a_recipe_makes_the_syrup_it_was_asked_for(mass: float, solids: float) -> None:
    sugar, water = sugar_water_for(mass, solids)
    assert sugar + water == pytest.approx(mass)
    assert solids_of_mix(sugar, water) == pytest.approx(solids)


@given(age=st.floats(0.0, 60.0), later=st.floats(0.01, 30.0), half=st.sampled_from([3.0, 6.0]))
def test_ripening_never_goes_back(age: float, later: float, half: float) -> None:
    assert unripe_share(age + later, half) <= unripe_share(age, half) <= 1.0


def test_ripening_begins_whole_and_is_half_done_at_its_half_time() -> None:
    assert unripe_share([-4.0, 0.0, 3.0, np.nan], 3.0) == pytest.approx([1.0, 1.0, 0.5, np.nan], nan_ok=True)


def test_sound_stores_given_as_frames_lose_nothing() -> None:
    assert stores_from_feed(2.3, 0.82, 1.0) == pytest.approx(2.3)
    assert water_to_drive_off(2.3, 0.82, 1.0) == pytest.approx(0.0)


def test_feed_richer_than_stores_drives_no_water_off() -> None:
    assert water_to_drive_off(10.0, 0.95, 1.0) == 0.0


def test_a_feed_without_solids_gives_no_stores_however_much() -> None:
    assert stores_from_feed(5.0, 0.0, 0.9) == 0.0
    assert np.isnan(solids_of_mix(0.0, 0.0))


@pytest.mark.parametrize(
    ("amount", "unit", "kilograms"),
    [
        (3.0, "kg", 3.0),
        (500.0, "g", 0.5),
        (16.0, "oz", 0.45359237),
        (1.0, "lb", 0.45359237),
        (2.0, "l", 2.6),
        (4.0, "US quart", 3.785411784 * 1.3),
        (1.0, "US gal", 3.785411784 * 1.3),
        (8.0, "imp pint", 4.54609 * 1.3),
        (1.0, "imp gal", 4.54609 * 1.3),
        (1.5, "feeder fill", 1.5 * 4.0 * 1.3),
        (2.0, "block", 5.0),
        (2.0, "frame of food", 4.6),
        (2.0, "bucket", np.nan),
        (2.0, None, np.nan),
        (None, "kg", np.nan),
    ],
)
def test_every_unit_comes_to_kilograms(amount: float | None, unit: str | None, kilograms: float) -> None:
    assert amount_to_mass(amount, unit, **USUAL) == pytest.approx(kilograms, nan_ok=True)


@pytest.mark.parametrize("unit", UNITS)
def test_only_what_a_unit_needs_must_be_known(unit: str) -> None:
    needs = {
        "l": ["density"],
        "feeder": ["density", "feeder_litres"],
        "block": ["block"],
        "comb": ["full_comb"],
        "kg": [],
    }
    for name in USUAL:
        mass = amount_to_mass(1.0, unit, **(USUAL | {name: np.nan}))
        assert np.isnan(mass) == (name in needs[UNITS[unit].stands_for])


def test_beyond_the_tables_there_is_no_figure() -> None:
    assert np.isnan(density([-0.01, 0.99, np.nan])).all()
    assert np.isnan(saturated_solids([-30.0, 200.0])).all()


@given(solids=st.floats(0.0, 0.79))
def test_stronger_syrup_is_heavier(solids: float) -> None:
    assert density(solids + 0.01) > density(solids)


def test_late_feed_ripens_slowly() -> None:
    days = np.array(
        ["2026-04-01", "2026-03-31", "2026-09-15", "2026-09-16", "2028-02-29", "NaT"], dtype="datetime64[D]"
    )
    assert half_time_of(serials(days)) == pytest.approx([3.0, 6.0, 3.0, 6.0, 6.0, np.nan], nan_ok=True)
