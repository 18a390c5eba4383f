"""What follows from the lists alone: comb full and targets of hive types, density and stores of feeds."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.core.arrays import figure, numbers, words
from apiarybook.reckon.core.lookup import match
from apiarybook.reckon.core.winter import serial
from apiarybook.reckon.feeding import feeds
from apiarybook.reckon.hive import kit

if TYPE_CHECKING:
    from apiarybook.reckon.core.winter import Winter

CARD_DAY = (10, 15)
"""Month and day for which a hive type's target gross is stated: the middle of October, common practice, no source."""


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
    profile = np.maximum(match([region], winter.profiles), 1)
    frames = winter.on(winter.brood, np.array([serial(date(winter.year, *CARD_DAY))]), profile)
    brood, _ = kit.brood_default(frames, numbers(types["bees"]))
    whole = numbers(types["tare"]) + numbers(types["bees"]) + numbers(types["pollen"])
    full = numbers(types["full_comb"]) * (numbers(types["frames"]) - numbers(types["pollen_frames"]) - 1)
    over = figure("over_comb_full")
    target = whole + numbers(types["want"]) + brood
    found = pd.DataFrame(
        {"comb_full": full, "target": target, "feed_to": target + over, "believable": whole + full + over},
        index=types.index,
    )
    found.loc[~named] = np.nan
    return found


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
