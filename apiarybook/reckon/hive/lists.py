"""What follows from the lists alone: comb full and targets of hive types, density and stores of feeds."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.core.arrays import Floats, figure, numbers, words
from apiarybook.reckon.core.consumption import size
from apiarybook.reckon.core.lookup import match
from apiarybook.reckon.core.winter import serial
from apiarybook.reckon.feeding import feeds
from apiarybook.reckon.hive import kit

if TYPE_CHECKING:
    from apiarybook.reckon.core.winter import Winter

CARD_DAY = (10, 15)
"""Month and day for which a hive type's target gross is stated: the middle of October, common practice, no source."""
CARD_DAYS = ((9, 1), (9, 15), (10, 1), CARD_DAY, (11, 1))
"""Months and days for which the target card tells what hives should weigh."""


def hive_types(types: pd.DataFrame, region: str, winter: Winter) -> pd.DataFrame:
    """Work out comb full, target gross, most worth feeding to and highest believable gross of hive types.

    Args:
        types: the list of hive types, masses in kg; a row without a name is blank.
        region: name of the club's winter profile.
        winter: the winter.

    Returns:
        frame with the same index: comb_full, target, feed_to, believable in kg, NaN for blank rows.
    """
    named = words(types["name"]) != ""
    profile = int(np.maximum(match([region], winter.profiles), 1)[0])
    full = numbers(types["full_comb"]) * (numbers(types["frames"]) - numbers(types["pollen_frames"]) - 1)
    over = figure("over_comb_full")
    listed = types.assign(comb_full=full)
    day, starts = serial(date(winter.year, *CARD_DAY)), float(winter.dates["winter_starts"][profile - 1])
    target = not_stores(listed, profile, winter, day) + stores_wanted(listed, profile, winter, day, starts)
    whole = numbers(types["tare"]) + numbers(types["bees"]) + numbers(types["pollen"])
    found = pd.DataFrame(
        {"comb_full": full, "target": target, "feed_to": target + over, "believable": whole + full + over},
        index=types.index,
    )
    found.loc[~named] = np.nan
    return found


def not_stores(types: pd.DataFrame, profile: int, winter: Winter, day: float) -> Floats:
    """Give what a usual hive of each type weighs on a day but for its stores: tare, bees, brood and pollen.

    Args:
        types: the list of hive types, masses in kg.
        profile: row of the winter profile, counted from 1.
        winter: the winter.
        day: number of the day.

    Returns:
        mass [kg], shape (types,).
    """
    october = numbers(types["bees"])
    bees, frames = (winter.on(block, np.array([day]), np.array([profile])) for block in (winter.bees, winter.brood))
    brood = kit.brood_default(frames, october)
    return numbers(types["tare"]) + october * bees + brood + numbers(types["pollen"])


def stores_wanted(types: pd.DataFrame, profile: int, winter: Winter, day: float, starts: float) -> Floats:
    """Give the stores a usual colony of each type should have on a day to have its want as winter starts.

    Args:
        types: the list of hive types with comb_full, masses in kg.
        profile: row of the winter profile, counted from 1.
        winter: the winter.
        day: number of the day.
        starts: number of the day winter starts.

    Returns:
        stores [kg], shape (types,), never more than the combs hold on the day winter starts.
    """
    until = winter.eaten_between(np.array([day]), np.array([starts]), np.array([profile]))
    wanted = numbers(types["want"]) + size(numbers(types["bees"])) * until
    return np.minimum(wanted, comb_holds(types, profile, winter, starts))


def comb_holds(types: pd.DataFrame, profile: int, winter: Winter, day: float) -> Floats:
    """Give the stores that the combs of each type hold with the brood of a day [kg], shape (types,).

    Args:
        types: the list of hive types with comb_full, masses in kg.
        profile: row of the winter profile, counted from 1.
        winter: the winter.
        day: number of the day.
    """
    frames = winter.on(winter.brood, np.array([day]), np.array([profile]))
    brood = kit.brood_frames_used(frames, numbers(types["bees"]), numbers(types["comb_side"]))
    return numbers(types["comb_full"]) - numbers(types["full_comb"]) * brood


def lifted_u(types: pd.DataFrame, profile: int, winter: Winter, day: float) -> Floats:
    """Give the standard uncertainty of stores by a full lift of a usual hive of each type [kg], shape (types,).

    Args:
        types: the list of hive types, masses in kg.
        profile: row of the winter profile, counted from 1.
        winter: the winter.
        day: number of the day.
    """
    bees, frames = (winter.on(block, np.array([day]), np.array([profile])) for block in (winter.bees, winter.brood))
    october = numbers(types["bees"])
    masses = {"bees": october * bees, "brood": kit.brood_default(frames, october), "pollen": numbers(types["pollen"])}
    spreads = [numbers(types["tare_spread"]), *(figure(f"{part}_spread") * mass for part, mass in masses.items())]
    return np.asarray(np.sqrt(figure("hanging_heavy_u") ** 2 + sum(np.square(part) for part in spreads)))


def feed_kinds(kinds: pd.DataFrame) -> pd.DataFrame:
    """Work out the density of feeds and the stores that one part of them gives.

    Args:
        kinds: the list of feed kinds; a row without a name is blank.

    Returns:
        frame with the same index: density in kg/l, stores_share (kg stores for each kg of feed), NaN for blank rows.
    """
    named = words(kinds["name"]) != ""
    solids, yields = numbers(kinds["solids"]), numbers(kinds["yields"])
    found = pd.DataFrame(
        {
            "density": feeds.density(np.minimum(solids, feeds.strongest())) / feeds.LITRES_PER_CUBIC_METRE,
            "stores_share": feeds.stores_from_feed(1.0, solids, yields),
        },
        index=kinds.index,
    )
    found.loc[~named] = np.nan
    return found
