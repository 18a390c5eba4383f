"""What a hive should weigh once it is fed as advised, and on which day."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from apiarybook.reckon.core.arrays import Floats, numbers, rounded
from apiarybook.reckon.core.lookup import pick
from apiarybook.reckon.core.winter import DAY_ZERO
from apiarybook.reckon.feeding import feeds
from apiarybook.reckon.hive import kit
from apiarybook.reckon.hive.weighings import comb_on

if TYPE_CHECKING:
    import pandas as pd

    from apiarybook.reckon.hive.weighings import Lists


def hive_today(found: pd.DataFrame, lists: Lists, as_at: float) -> None:
    """Add what the hive in which the colony stands now weighs empty (tare_now), and its bees today (bees_now), in kg.

    Args:
        found: the frame of `standing.stores`.
        lists: the book's lists.
        as_at: number of the day for which to reckon.
    """
    hive, known = found["type_row"].to_numpy(), found["known"] == 1
    tare = np.where(found["evidence_type"] == hive, found["tare"], pick(lists.types["tare"], hive))
    found["tare_now"] = np.where(known, tare, 0.0)
    found["bees_now"] = np.where(known, _bees(found, lists, np.full(len(found), as_at)), 0.0)


def weighs(found: pd.DataFrame, lists: Lists, as_at: float) -> None:
    """Add what each hive should weigh (should_weigh, kg) and the day (should_on).

    Straight after its feed where that goes into one fill and the combs have room for it that day; else once the feed
    has been taken and is ripe. The feeder is empty, the kit as it was last weighed. Only beside liquid feed on evidence
    that is not coarse: of anything else no such figure would be worth reading.

    Args:
        found: the frame of all colonies with the feed to give; gains the columns.
        lists: the book's lists.
        as_at: number of the day for which to reckon.
    """
    today, mass = np.full(len(found), as_at), numbers(found["feed_mass"])
    shown = (found["liquid"] == 1) & ~np.isnan(mass) & (found["coarse"] == 0)
    profile = found["profile_row"].to_numpy()
    hive = np.where(shown, found["type_row"], 0).astype(np.int64)
    stores, fed = numbers(found["stores_today"]), numbers(found["feed_stores"])
    holds = rounded(stores + mass) <= rounded(comb_on(lists, hive, profile, today))
    at_once = (numbers(found["fills"]) <= 1) & holds
    on = found["should_on"] = np.where(shown, np.where(at_once, today, found["ripe_on"]), np.nan)
    ripe = stores + fed - found["appetite"] * lists.winter.eaten_between(today, on, profile)
    wet = np.maximum(0.0, mass - fed) * _unripe(on - as_at, today)
    food = np.where(at_once, stores + found["unripe_now"] + mass, ripe + wet)
    hive_then = found["tare_now"] + numbers(found["extras"]) + pick(lists.types["pollen"], hive)
    living = _bees(found, lists, on) + _brood(found, lists, on)
    found["should_weigh"] = np.where(shown, food + hive_then + living, np.nan)


def _unripe(age: Floats, day: Floats) -> Floats:
    return feeds.unripe_share(age, feeds.half_time_of(np.datetime64(DAY_ZERO) + day.astype(np.int64)))


def _bees(found: pd.DataFrame, lists: Lists, day: Floats) -> Floats:
    hive, profile = (found[key].to_numpy() for key in ("type_row", "profile_row"))
    usual, _ = kit.bees_default(pick(lists.types["bees"], hive), lists.winter.on(lists.winter.bees, day, profile))
    return np.asarray(usual * found["bees_share"])


def _brood(found: pd.DataFrame, lists: Lists, day: Floats) -> Floats:
    """Brood as it was counted on the day of the evidence, as expected on any other."""
    hive, profile = (found[key].to_numpy() for key in ("type_row", "profile_row"))
    frames = lists.winter.on(lists.winter.brood, day, profile)
    usual, _ = kit.brood_default(frames, pick(lists.types["bees"], hive))
    return np.where(day == found["evidence_day"], found["brood"], usual)
