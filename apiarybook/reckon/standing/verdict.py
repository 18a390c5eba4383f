"""What to do with each colony: one verdict, the feed to give, and the gross at which to stop."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from apiarybook.reckon.core.arrays import Floats, figure, numbers, rounded
from apiarybook.reckon.core.lookup import match, pick, pick_words
from apiarybook.reckon.core.winter import day_of
from apiarybook.reckon.feeding import feeds
from apiarybook.reckon.standing.standing import BEFORE_WINTER, IN_WINTER, OUT_OF_SEASON

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from apiarybook.reckon.hive.weighings import Lists
    from apiarybook.reckon.standing.standing import Rules

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
ADVISED = ("feed", "comb full", "fondant later")


def day_words(number: float) -> str:
    """A day as verdicts write it.

    >>> day_words(46312.0)
    '17 Oct 2026'
    """
    day = day_of(number)
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def verdicts(found: pd.DataFrame, rules: Rules) -> NDArray[np.object_]:
    """Give each colony its one verdict.

    Args:
        found: the frame of `standing.stores`.
        rules: the club's rules.

    Returns:
        words, shape (colonies,): before winter enough, weigh, comb full, fondant later or feed; in winter weigh,
        feed now or lasts to a day; out of season, not reckoned, or nothing for a colony that is gone.
    """
    short, out = rounded(found["short_by"]), rounded(found["chance_out"])
    risk, cover = rounded(1 - rules.sure), rounded(rules.sure)
    worth = rounded(figure("least_worth_giving"))
    coarse = found["coarse"] == 1
    late = rules.as_at >= found["last_liquid_day"] - figure("fondant_lead")
    little = (short <= rounded(figure("fondant_later_short_by"))) & (out <= risk)
    autumn = np.select(
        [
            (short <= worth) & (out <= risk),
            coarse & (rounded(found["chance_short"]) < cover),
            rounded(found["room"]) < worth,
            (found["takes"] == 1) & little & late,
        ],
        ["enough", "weigh", "comb full", "fondant later"],
        "feed",
    )
    lasting = [f"lasts to {day_words(day)}" if day > 0 else "" for day in np.nan_to_num(found["lasts_to"])]
    wintry = np.select(
        [coarse & (out > risk) & (out < cover), out > risk], ["weigh", "feed now"], np.array(lasting, dtype=np.str_)
    )
    if "asked" in found:
        autumn = np.where((autumn == "enough") & (found["asked"] != ""), "enough, if right", autumn)
    return np.select(
        [found["active"] == 0, found["ready"] == 0, found["phase"] == OUT_OF_SEASON, found["known"] == 0],
        ["", "not reckoned", "out of season", "weigh"],
        np.where(found["phase"] == BEFORE_WINTER, autumn, wintry),
    ).astype(object)


def advise(found: pd.DataFrame, lists: Lists, rules: Rules) -> None:
    """Add the verdict, the feed to give in mass, volume and fills, by when, and stop at.

    Args:
        found: the frame of `standing.stores`; gains the columns.
        lists: the book's lists.
        rules: the club's rules.
    """
    found["verdict"] = verdicts(found, rules)
    warm = (found["phase"] == BEFORE_WINTER) & (rules.as_at <= found["last_liquid_day"])
    liquid = warm & (found["verdict"] != "fondant later")
    found["liquid"] = np.where(liquid, 1, 0)
    names = np.where(liquid, rules.autumn_feed, rules.solid_feed)
    kind = found["feed_row"] = match(names, lists.kinds["name"])
    _portions(found, lists)
    full = _full_feed(found, rules)
    limit = np.where(found["coarse"] == 1, found["portion"], full)
    found["feed_full"] = full
    none = (full == 0) | (found["verdict"] == "comb full").to_numpy()
    found["feed_stores"] = np.where(none, 0.0, np.maximum(0.0, np.minimum(np.minimum(full, found["room"]), limit)))
    found["stays_short"] = np.where(full == 0, np.nan, full - found["feed_stores"])
    share = pick(lists.kinds["stores_share"], kind)
    none = (found["feed_stores"] == 0).to_numpy()
    found["feed_mass"] = np.where(none, np.nan, found["feed_stores"] / np.where(none, 1.0, share))
    found["feed_kind"] = np.where(none, "", pick_words(lists.kinds["name"], kind))
    _volumes(found, lists, rules)
    _dates(found, rules)
    _laid_on(found, lists)
    held = found[["tare", "extras", "feeder_left", "bees", "brood", "pollen", "unripe_now", "feed_mass"]]
    found["stop_at"] = found["stores_today"] + held.sum(axis=1, skipna=False)


def _portions(found: pd.DataFrame, lists: Lists) -> None:
    hive, kind = found["type_row"].to_numpy(), found["feed_row"].to_numpy()
    poured = pick(lists.types["portion_liquid"], hive) * pick(lists.kinds["density"], kind)
    portion = np.where(found["liquid"] == 1, poured, pick(lists.types["portion_fondant"], hive))
    known = (found["known"] == 1) & (kind > 0)
    found["portion"] = np.where(known, portion * pick(lists.kinds["stores_share"], kind), 0.0)


def _laid_on(found: pd.DataFrame, lists: Lists) -> None:
    """Fondant to have ready for a colony that lasts to a day before the flow: nothing to be given today."""
    lasting = found["verdict"].str.startswith("lasts to") & found["fondant_by"].notna()
    ready = lasting & (found["feed_row"] > 0)
    found["laid_on"] = np.where(ready, pick(lists.types["portion_fondant"], found["type_row"].to_numpy()), 0.0)


def _full_feed(found: pd.DataFrame, rules: Rules) -> Floats:
    """Stores after which want is met and the chance of running out is as asked, the feed's own spread included."""
    gap = numbers(found["least"] - found["stores_today"])
    shrink = 1 - (figure("feed_spread") * rules.z) ** 2
    root = gap**2 - shrink * (gap**2 - (rules.z * numbers(found["chance_u"])) ** 2)
    safe = (gap + np.sqrt(np.maximum(root, 0.0))) / shrink
    sure = rounded(found["chance_out"]) <= rounded(1 - rules.sure)
    needed = np.maximum(numbers(found["short_by"]), np.where(sure, 0.0, safe))
    unknown = (found["known"] == 0) | (found["feed_row"] == 0)
    full = np.select(
        [unknown, found["verdict"] == "feed now", np.isin(found["verdict"], ADVISED)],
        [np.zeros(len(found)), found["portion"], needed],
        0.0,
    )
    return np.asarray(full, dtype=np.float64)


def _volumes(found: pd.DataFrame, lists: Lists, rules: Rules) -> None:
    kind, poured = found["feed_row"].to_numpy(), found["liquid"] == 1
    density = np.where(poured, pick(lists.kinds["density"], kind, np.nan), np.nan)
    volume = numbers(found["feed_mass"]) / density
    found["feed_volume"] = volume
    feeder = np.where(found["feeder_litres"] > 0, found["feeder_litres"], np.nan)
    found["fills"] = np.ceil(rounded(volume / feeder))
    mixed = pick_words(lists.kinds["mixed"], kind) == "yes"
    sugar, water = feeds.sugar_water_for(found["feed_mass"], pick(lists.kinds["solids"], kind))
    found["sugar"] = np.where(mixed & ~np.isnan(volume), sugar, np.nan)
    found["water"] = np.where(np.isnan(found["sugar"]), np.nan, water)
    late = feeds.is_late(np.array([np.datetime64(day_of(rules.as_at))]))
    found["days"] = np.ceil(rounded(volume / feeds.pace(found["bees"], late, np.nan)))


def _dates(found: pd.DataFrame, rules: Rules) -> None:
    later = np.maximum(rules.as_at, found["lasts_to"] - figure("fondant_lead"))
    found["by_date"] = np.select(
        [
            found["feed_mass"].isna(),
            found["verdict"] == "fondant later",
            found["verdict"] == "feed now",
            found["liquid"] == 1,
        ],
        [found["fondant_by"].where(found["phase"] == IN_WINTER), later, rules.as_at, found["last_liquid_day"]],
        found["winter_starts"],
    )
