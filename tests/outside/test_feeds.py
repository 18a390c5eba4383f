"""Feeds against printed tables and recipes.

Sucrose densities: Nicolaus Copernicus University, Torun, physics tables (to 30 %), and the handbook table in
M. T. Flanagan's library, University College London (above). Recipes and yields as named beside each.
"""

import numpy as np
import pytest

from apiarybook.handbook import handbook
from apiarybook.reckon.feeding.feeds import (
    UNITS,
    amount_to_mass,
    density,
    pace,
    saturated_solids,
    solids_of_mix,
    stores_from_feed,
    unripe_share,
    water_to_drive_off,
)
from apiarybook.reckon.hive.kit import bees_mass, brood_mass

NOTHING = {"block": np.nan, "feeder_litres": np.nan, "full_comb": np.nan}
RIPE = handbook()["ripe_solids"].value
WATER = 0.99823
"""Density of water at 20 degC [kg/l], Torun tables."""


def at_water(stores: float, water: float) -> float:
    """The same solids in stores of another water content."""
    return stores * RIPE / (1 - water)


@pytest.mark.parametrize(
    ("percent", "printed", "grams"),
    [
        (10, 1038.13, 103.813),
        (20, 1080.94, 216.188),
        (30, 1126.98, 338.094),
        (40, 1176.5, 470.6),
        (50, 1229.5, 614.8),
        (60, 1286.4, 771.9),
        (66, 1322.4, 872.8),
        (68, 1334.8, 907.6),
        (70, 1347.2, 943.1),
        (80, 1411.7, 1129.4),
    ],
)
def test_sucrose_tables(percent: int, printed: float, grams: float) -> None:
    """Density in kg/m3 and sucrose in g/l at 20 degC, which the table prints on its own."""
    assert density(percent / 100) == pytest.approx(printed, abs=0.05)
    assert density(percent / 100) * percent / 100 == pytest.approx(grams, abs=0.07)


@pytest.mark.parametrize(("percent", "printed"), [(40, 1.17645), (50, 1.22957), (60, 1.28646), (70, 1.34717)])
def test_sucrose_tables_agree_with_nbs_circular_c440(percent: int, printed: float) -> None:
    """NBS Circular C440, 1942, g/ml at 20 degC, from memory."""
    assert density(percent / 100) / 1000 == pytest.approx(printed, abs=1.5e-4)


@pytest.mark.parametrize(
    ("sugar", "water", "percent"),
    [
        (1.0, 0.630, 61.35),
        (1.0, 0.630 * WATER, 61.39),
        (2 * UNITS["lb"].factor, UNITS["imp pint"].factor * WATER, 61.53),
        (2 * UNITS["lb"].factor, UNITS["US quart"].factor / 2 * WATER, 65.76),
        (UNITS["lb"].factor, UNITS["imp pint"].factor * WATER, 44.4),
        (2.0, 1.0, 66.67),
        (3.0, 2.0, 60.0),
        (1.0, 1.0, 50.0),
    ],
)
def test_the_many_meanings_of_two_to_one(sugar: float, water: float, percent: float) -> None:
    """National Bee Unit, Feeding Bees: 1 kg to 630 ml, or 2 lb to a pint; the rest is arithmetic on units in law."""
    assert 100 * solids_of_mix(sugar, water) == pytest.approx(percent, abs=0.05)


@pytest.mark.parametrize(("water", "litres"), [(1.0, 1.63), (0.63, 1.26), (0.5, 1.13)])
def test_syrup_from_a_kilogram_of_sugar(water: float, litres: float) -> None:
    """Arithmetic on the density table."""
    assert 1000 * (1 + water) / density(solids_of_mix(1.0, water)) == pytest.approx(litres, abs=0.005)


def test_a_gallon_of_syrup() -> None:
    """Coweta Beekeepers print 10 lb for a US gallon of 1 to 1; the heavier two are arithmetic on the density table."""
    found = amount_to_mass(1.0, ["US gal", "US gal", "imp gal"], density=density([0.5, 2 / 3, 2 / 3]), **NOTHING)
    pounds = found / UNITS["lb"].factor
    assert pounds == pytest.approx([10.3, 11.1, 13.3], abs=0.05)
    assert np.round(pounds[0]) == 10


def test_units_in_law() -> None:
    """Weights and Measures Act 1985, schedule 1; the US gallon is 231 cubic inches of 25.4 mm, from memory."""
    assert UNITS["lb"].factor == 0.45359237
    assert UNITS["oz"].factor * 16 == pytest.approx(UNITS["lb"].factor)
    assert UNITS["imp gal"].factor == 4.54609
    assert UNITS["imp pint"].factor == pytest.approx(0.56826125)
    assert UNITS["US gal"].factor == pytest.approx(231 * 0.254**3)


def test_a_kilogram_of_sugar_makes_a_kilogram_and_a_quarter_of_honey() -> None:
    """British Beekeepers Association, August in the apiary: 1.25 kg, counted at 20 % water and no losses."""
    assert at_water(float(stores_from_feed(1.0, 1.0, 1.0)), 0.20) == pytest.approx(1.25)


def test_a_block_of_fondant() -> None:
    """British Beekeepers Association, August in the apiary: 12.5 kg block = 9.75 kg sugar = 12 kg honey."""
    fondant = handbook().feeds["Fondant"]
    block = amount_to_mass(
        1.0, "block", density=np.nan, block=fondant.pack.value, feeder_litres=np.nan, full_comb=np.nan
    )
    assert block * fondant.solids.value == pytest.approx(9.75)
    assert at_water(float(stores_from_feed(block, fondant.solids.value, 1.0)), 0.20) == pytest.approx(12.0, rel=0.02)


@pytest.mark.parametrize(
    ("solids", "yield_at_20"), [(0.5, 0.625), (0.6, 0.75), (0.6135, 0.767), (2 / 3, 0.833), (0.72, 0.9)]
)
def test_stores_from_a_kilogram_of_syrup(solids: float, yield_at_20: float) -> None:
    """Arithmetic: no losses, stores at 20 % water."""
    assert at_water(float(stores_from_feed(1.0, solids, 1.0)), 0.20) == pytest.approx(yield_at_20, abs=0.0005)


def test_fourteen_litres_replace_ten_kilograms() -> None:
    """Swiss beekeepers' advice: 14 l of 3 to 2 for 10 kg of stores, the lowest yield in print."""
    syrup = 14 * float(density(0.6)) / 1000
    eta = handbook()["eta"]
    assert at_water(float(stores_from_feed(syrup, 0.6, eta.low)), 0.20) == pytest.approx(10.0, abs=0.05)
    assert eta.low < eta.value < eta.high


@pytest.mark.parametrize(("celsius", "percent"), [(0, 64.18), (10, 65.58), (20, 67.09), (25, 67.89), (40, 70.42)])
def test_saturation(celsius: float, percent: float) -> None:
    """Handbook table in M. T. Flanagan's library, University College London."""
    assert 100 * saturated_solids(celsius) == pytest.approx(percent, abs=0.005)


@pytest.mark.parametrize(("celsius", "percent"), [(0, 64.44), (20, 66.74), (40, 70.22)])
def test_saturation_by_a_second_table(celsius: float, percent: float) -> None:
    """Table of the sugar industry (Russian): the two differ by up to 0.4 %."""
    assert 100 * saturated_solids(celsius) == pytest.approx(percent, abs=0.4)


def test_ripening_follows_a_scale_record() -> None:
    """Hive on a scale at Flakkebjerg, Denmark: 14.7 kg of feed on 11 August 2019 at 19:00, then nine mornings at 05:00.

    Data: MUST-B, EFSA, Zenodo record 4953762, CC BY 4.0, reduced. Only the level is fitted. The strength of the feed is
    not in the record; thick syrup is taken, and the same hive's loss in September for what was eaten.
    """
    gross = np.array([29.1, 28.5, 27.3, 25.7, 24.8, 24.0, 24.0, 23.9, 23.4])
    days = np.arange(gross.size) + 10 / 24
    unripe = water_to_drive_off(14.7, 0.6135, 0.9) * unripe_share(days, handbook()["ripening_half_time_warm"].value)
    left = gross + 0.07 * days - unripe
    assert np.std(left) < 0.2
    assert np.std(left) < 0.1 * np.std(gross)


def test_pace_of_a_strong_colony() -> None:
    """German wikibook on beekeeping: 7 l in two to three days."""
    assert 7 / 3 <= pace(2.0) <= 7 / 2


def test_bees_on_a_comb() -> None:
    """Burgett and Burikam 1985, 2430 bees on a deep Langstroth frame (from memory), 90 mg each (Morse and Hooper).

    Area of a side 8.83 dm2, as printed for that comb; the two sources differ by about 8 %.
    """
    assert bees_mass(1, 8.83) == pytest.approx(2430 * 90e-6, rel=0.1)


def test_brood_on_a_comb() -> None:
    """Sealed brood 0.14 to 0.16 g a cell, 55 to 65 g on a dm2 of comb side, from memory; on 0.6 of the frame."""
    assert 0.6 * 2 * 6.94 * 0.055 <= brood_mass(1, 6.94) <= 0.6 * 2 * 6.94 * 0.065
