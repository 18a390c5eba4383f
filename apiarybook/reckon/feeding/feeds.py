"""From feed to stores and back: recipes, units, ripening, pace."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from apiarybook.handbook import handbook
from apiarybook.reckon.core.arrays import Floats, figure, numbers, words
from apiarybook.reckon.core.winter import month_day, year_day


class Unit(NamedTuple):
    """One unit a feed may be written in: how many of what it stands for, and who says so."""

    stands_for: str
    factor: float
    source: str


UNITS: dict[str, Unit] = {
    "kg": Unit("kg", 1.0, "SI"),
    "g": Unit("kg", 0.001, "SI"),
    "lb": Unit("kg", 0.45359237, "Weights and Measures Act 1985, schedule 1, part V"),
    "oz": Unit("kg", 0.45359237 / 16, "Weights and Measures Act 1985, schedule 1, part V"),
    "l": Unit("l", 1.0, "Weights and Measures Act 1985, schedule 1: one cubic decimetre"),
    "US gal": Unit("l", 3.785411784, "United States customary, 231 cubic inches, from memory"),
    "US quart": Unit("l", 3.785411784 / 4, "United States customary, a quarter gallon, from memory"),
    "imp gal": Unit("l", 4.54609, "Weights and Measures Act 1985, schedule 1, from memory"),
    "imp pint": Unit("l", 4.54609 / 8, "Weights and Measures Act 1985, schedule 1, from memory"),
    "feeder fill": Unit("feeder", 1.0, "the colony's own feeder"),
    "block": Unit("block", 1.0, "one portion of fondant for the hive type"),
    "frame of food": Unit("comb", 1.0, "the hive type's own comb"),
}
"""Units of a feeding, in the order they are offered."""

VOLUMES = {"kg": "l", "lb": "US quart"}
"""The unit in which a book writes volumes, by its unit of mass."""
LITRES_PER_CUBIC_METRE = 1000.0


def solids_of_mix(sugar: ArrayLike, water: ArrayLike) -> Floats:
    """Give the solids of a home-mixed feed.

    Args:
        sugar: mass of sugar [kg], any shape.
        water: mass of water [kg]; broadcasts.

    Returns:
        solids [1], mass of sugar over the whole; NaN where nothing was mixed.

    >>> round(float(solids_of_mix(1.0, 0.63)), 4)
    0.6135
    """
    dry = numbers(sugar)
    whole = dry + numbers(water)
    return np.asarray(dry / np.where(whole > 0, whole, np.nan))


def density(solids: ArrayLike) -> Floats:
    """Give the density of sucrose syrup at 20 degC.

    Args:
        solids: mass share of sucrose [1], any shape.

    Returns:
        density [kg/m3], straight between the rows of the handbook's table; NaN beyond its ends.

    Source: the handbook's table ``syrup_density``.

    >>> [round(float(row), 1) for row in density([0.5, 0.6, 0.667])]
    [1229.5, 1286.4, 1326.7]
    """
    table = handbook().syrup_density
    return _looked_up(solids, table.solids, table.density)


def strongest() -> float:
    """Give the solids at which the table of densities ends [1]; what is stronger counts with that density.

    >>> strongest()
    0.8
    """
    return float(handbook().syrup_density.solids[-1])


def saturated_solids(temperature: ArrayLike) -> Floats:
    """Give the strongest sucrose syrup that stays liquid at a temperature.

    Args:
        temperature: temperature of the syrup [degC], any shape.

    Returns:
        solids [1], straight between the rows of the handbook's table; NaN beyond its ends.

    Source: the handbook's table ``saturation``.

    >>> round(float(saturated_solids(20.0)), 3)
    0.671
    """
    table = handbook().saturation
    return _looked_up(temperature, table.temperature, table.solids)


def _looked_up(values: ArrayLike, given: tuple[float, ...], found: tuple[float, ...]) -> Floats:
    return np.interp(numbers(values), given, found, left=np.nan, right=np.nan)


def amount_to_mass(
    amount: ArrayLike,
    unit: ArrayLike,
    *,
    density: ArrayLike,
    block: ArrayLike,
    feeder_litres: ArrayLike,
    full_comb: ArrayLike,
) -> Floats:
    """Turn a feed as it was written down into mass.

    Args:
        amount: how much [the unit], any shape.
        unit: one of `UNITS`; broadcasts, like all that follows.
        density: density of the feed [kg/m3], for what is written by volume.
        block: portion of fondant for the hive type [kg], for blocks.
        feeder_litres: what the colony's feeder holds [l], for feeder fills.
        full_comb: stores in a full comb of its frame [kg], for frames of food.

    Returns:
        mass of feed [kg]; NaN where the unit is blank or unknown or what it needs is blank.

    Source: the sources beside each unit in `UNITS`.

    >>> usual = {"density": 1229.5, "block": 2.5, "feeder_litres": 4.5, "full_comb": 2.3}
    >>> amount_to_mass([1, 1, 2, 1], ["US gal", "lb", "block", "frame of food"], **usual).round(2).tolist()
    [4.65, 0.45, 5.0, 2.3]
    """
    written, factor = words(unit), numbers(amount)
    litre = numbers(density) / LITRES_PER_CUBIC_METRE
    worth = {"kg": np.ones(()), "l": litre, "feeder": numbers(feeder_litres) * litre}
    worth |= {"block": numbers(block), "comb": numbers(full_comb)}
    mass = np.full((), np.nan)
    for name, one in UNITS.items():
        mass = np.where(written == name, factor * one.factor * worth[one.stands_for], mass)
    return mass


def stores_from_feed(mass: ArrayLike, solids: ArrayLike, eta: ArrayLike) -> Floats:
    """Give the stores that come of feed taken.

    Args:
        mass: mass of feed taken [kg], any shape.
        solids: its solids [1]; broadcasts.
        eta: share of the solids that reaches the comb [1].

    Returns:
        ripe stores [kg], mass x solids x eta over the handbook's ``ripe_solids``.

    Source: the balance of solids; eta from printed yields, as the handbook gives them.

    >>> round(float(stores_from_feed(10.0, 0.615, 0.9)), 2)
    6.75
    """
    return np.asarray(numbers(mass) * numbers(solids) * numbers(eta) / figure("ripe_solids"))


def water_to_drive_off(mass: ArrayLike, solids: ArrayLike, eta: ArrayLike) -> Floats:
    """Give what feed taken loses until it is stores.

    Args:
        mass: mass of feed taken [kg], any shape.
        solids: its solids [1]; broadcasts.
        eta: share of the solids that reaches the comb [1].

    Returns:
        mass that leaves [kg], never below nought.

    >>> round(float(water_to_drive_off(10.0, 0.615, 0.9)), 2)
    3.25
    """
    kept = numbers(solids) * numbers(eta) / figure("ripe_solids")
    return np.asarray(numbers(mass) * np.maximum(0.0, 1 - kept))


def unripe_share(age: ArrayLike, half_time: ArrayLike) -> Floats:
    """Give the share of that water still in the hive.

    Args:
        age: days since the feed was given [d], any shape; below nought counts as nought.
        half_time: days until half of it is gone [d], from `half_time_of`; broadcasts.

    Returns:
        share [1], 1/(1 + (age/half time)^power): little goes in the first two days, most within the week.

    Source: the form fits an open hive-scale record of a 14.7 kg feed to 0.11 kg.

    >>> unripe_share([0, 3, 7], 3.0).round(3).tolist()
    [1.0, 0.5, 0.049]
    """
    passed = np.maximum(numbers(age), 0.0) / numbers(half_time)
    return np.asarray(1 / (1 + passed ** figure("ripening_power")))


def taken(given: ArrayLike, left: ArrayLike) -> Floats:
    """Give the share of feed given lately that is out of the feeder.

    Args:
        given: mass of that feed [kg], any shape.
        left: what was left of it in the feeder [kg]; broadcasts.

    >>> taken([5.0, 5.0, 1.0], [0.0, 2.0, 2.0]).tolist()
    [1.0, 0.6, 0.0]
    """
    mass, rest = numbers(given), numbers(left)
    return np.where(rest == 0, 1.0, np.where(mass > rest, 1 - rest / np.where(mass > rest, mass, 1.0), 0.0))


def half_time_of(day: ArrayLike) -> Floats:
    """Give the half time of ripening for feed given on a day.

    Args:
        day: numbers of days, any shape; NaN for a blank.

    Returns:
        half time [d]: quick from 1 April to 15 September, slow in the rest of the year; NaN for a blank.

    Source: common practice, no source (the slow one from memory).

    >>> half_time_of([46280.0, 46281.0, np.nan]).tolist()  # 15 and 16 September 2026
    [3.0, 6.0, nan]
    """
    turn = year_day(day)
    warm = (turn >= month_day("ripening_warm_from")) & (turn <= month_day("ripening_warm_until"))
    half = np.where(warm, figure("ripening_half_time_warm"), figure("ripening_half_time_cool"))
    return np.where(turn == 0, np.nan, half)


def sugar_water_for(mass: ArrayLike, solids: ArrayLike) -> tuple[Floats, Floats]:
    """Give the sugar and the water for a mass of syrup.

    Args:
        mass: mass of syrup [kg], any shape.
        solids: its solids [1]; broadcasts.

    Returns:
        sugar [kg] and water [kg].

    >>> [round(float(part), 2) for part in sugar_water_for(10.0, 0.6)]
    [6.0, 4.0]
    """
    whole, share = numbers(mass), numbers(solids)
    return np.asarray(whole * share), np.asarray(whole * (1 - share))


def pace(bees: ArrayLike) -> Floats:
    """Give how fast a colony takes liquid feed before days are short [l/d], in proportion to its bees.

    Args:
        bees: mass of its bees [kg], any shape.

    Source: 7 l in two to three days for a strong colony (German wikibook on beekeeping).

    >>> pace([2.0, 1.0]).tolist()
    [2.8, 1.4]
    """
    return np.asarray(figure("pace_litres") * numbers(bees) / figure("reference_bees"))
