"""What to do with each colony: one verdict, the feed to give and by when, and what the hive should weigh then."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from apiarybook.handbook.figures import SHORT_MONTHS
from apiarybook.reckon.core.arrays import Floats, figure, numbers, rounded
from apiarybook.reckon.core.lookup import match, pick, pick_words
from apiarybook.reckon.core.winter import day_of, turning
from apiarybook.reckon.feeding import feeds
from apiarybook.reckon.hive import kit
from apiarybook.reckon.hive.weighings import comb_on
from apiarybook.reckon.standing.standing import BEFORE_WINTER, IN_WINTER, OUT_OF_SEASON
from apiarybook.reckon.standing.status_words import because, poured, short_day

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import ArrayLike, NDArray

    from apiarybook.reckon.hive.weighings import Lists
    from apiarybook.reckon.standing.standing import Rules


FEED, SOME, LATER, NOW, FULL = "feed", "feed, then weigh", "fondant later", "feed now", "comb full"
ENOUGH = ("enough", "enough, if right")
"""Enough; and enough by a weighing that is asked about."""
LACKS = (FEED, SOME, LATER, FULL)
"""Verdicts of autumn beside which something is lacking."""
IN_FRAMES = "comb"
"""Form of the feed for a colony that takes no fondant on top and is out of reach of liquid: food in the comb."""


def day_words(number: float) -> str:
    """A day in words.

    >>> day_words(46312.0)
    '17 Oct 2026'
    """
    day = day_of(number)
    return f"{day.day} {SHORT_MONTHS[day.month - 1]} {day.year}"


def verdicts(found: pd.DataFrame, rules: Rules) -> NDArray[np.object_]:
    """Give each colony its one verdict.

    Args:
        found: the frame of `standing.stores`.
        rules: the club's rules.

    Returns:
        words, shape (colonies,): before winter enough, weigh, comb full, fondant later, feed or feed, then weigh; in
        winter weigh, feed now or lasts to a day; out of season, not reckoned, or nothing for a colony that is gone.
    """
    short, out, lacking = (rounded(found[key]) for key in ("short_by", "chance_out", "chance_short"))
    risk, cover = rounded(1 - rules.sure), rounded(rules.sure)
    worth, coarse = rounded(figure("least_worth_giving")), found["coarse"] == 1
    told = ~coarse | ((lacking <= rounded(figure("coarse_short"))) & (found["untried"] == 0))
    late = rules.as_at >= found["last_liquid_day"] - figure("fondant_lead")
    little = (short <= rounded(figure("fondant_later_short_by"))) & (out <= risk)
    autumn = np.select(
        [
            (short <= worth) & (out <= risk) & told,
            coarse & (lacking < cover),
            (rounded(found["room"]) < worth) & (out > risk),
            (found["takes"] == 1) & little & late,
            coarse,
        ],
        [ENOUGH[0], "weigh", FULL, LATER, SOME],
        FEED,
    )
    lasting = [f"lasts to {short_day(day)}" if day > 0 else "" for day in np.nan_to_num(found["lasts_to"])]
    wintry = np.select(
        [coarse & (out > risk) & (out < cover), out > risk], ["weigh", NOW], np.array(lasting, dtype=np.str_)
    )
    if "asked" in found:
        autumn = np.where((autumn == ENOUGH[0]) & (found["asked"] != ""), ENOUGH[1], autumn)
    return np.select(
        [found["active"] == 0, found["ready"] == 0, found["phase"] == OUT_OF_SEASON, found["known"] == 0],
        ["", "not reckoned", "out of season", "weigh"],
        np.where(found["phase"] == BEFORE_WINTER, autumn, wintry),
    ).astype(object)


def advise(found: pd.DataFrame, lists: Lists, rules: Rules) -> None:
    """Add the verdict, the feed to give in mass, volume and fills, by when, and what the hive should weigh then.

    Args:
        found: the frame of `standing.stores`; gains the columns.
        lists: the book's lists.
        rules: the club's rules.
    """
    found["verdict"] = verdicts(found, rules)
    _kinds(found, lists, rules)
    _hive_today(found, lists, rules.as_at)
    _portions(found, lists)
    _pace(found, lists, rules)
    _room(found, lists, rules)
    full = found["feed_full"] = _full_feed(found, rules)
    liquid = np.maximum(0.0, np.minimum(full, found["most"]))
    given = np.where(found["liquid"] == 1, liquid, found["portion"])
    found["feed_stores"] = np.where((full == 0) | (found["verdict"] == FULL), 0.0, given)
    found["stays_short"] = np.where(full == 0, np.nan, np.maximum(0.0, full - found["feed_stores"]))
    share = pick(lists.kinds["stores_share"], found["feed_row"].to_numpy())
    none = (rounded(found["feed_stores"]) == 0) | (share == 0)
    found["feed_mass"] = np.where(none, np.nan, found["feed_stores"] / np.where(none, 1.0, share))
    found["feed_kind"] = np.where(none, "", pick_words(lists.kinds["name"], found["feed_row"].to_numpy()))
    _volumes(found, lists, rules)
    _orders(found, lists)
    _by_when(found, rules)
    _weighs(found, lists, rules.as_at)
    found["poured"] = poured(found, rules)
    found["because"] = because(found, rules)


def _kinds(found: pd.DataFrame, lists: Lists, rules: Rules) -> None:
    """Which feed each colony gets: liquid while it can be given, else fondant on top, else a frame of food."""
    takes = found["takes"] == 1
    warm = (found["phase"] == BEFORE_WINTER) & ((rules.as_at <= found["last_liquid_day"]) | ~takes)
    found["liquid"] = np.where(warm & (found["verdict"] != LATER), 1, 0)
    named = match([rules.autumn_feed, rules.solid_feed], lists.kinds["name"])
    frames = match([IN_FRAMES], lists.kinds["form"])[0]
    found["feed_row"] = np.select([found["liquid"] == 1, takes], [named[0], named[1]], frames)


def _portions(found: pd.DataFrame, lists: Lists) -> None:
    """One portion as stores: of liquid by volume, of fondant by mass, of food in the comb a frame."""
    hive, kind = found["type_row"].to_numpy(), found["feed_row"].to_numpy()
    form = pick_words(lists.kinds["form"], kind)
    mass = np.select(
        [found["liquid"] == 1, form == IN_FRAMES],
        [
            pick(lists.types["portion_liquid"], hive) * pick(lists.kinds["density"], kind),
            pick(lists.types["full_comb"], hive),
        ],
        pick(lists.types["portion_fondant"], hive),
    )
    known = (found["known"] == 1) & (kind > 0)
    found["portion_mass"] = np.where(known, mass, 0.0)
    found["portion"] = found["portion_mass"] * pick(lists.kinds["stores_share"], kind)


def _pace(found: pd.DataFrame, lists: Lists, rules: Rules) -> None:
    """How long liquid feed may still be given, and what is taken until then, as stores.

    A colony that no fondant reaches may be fed to the eve of winter, once what it takes by the usual last day is less
    than a portion.
    """
    liquid = found["liquid"] == 1
    warm = max(0.0, turning("pace_after", lists.winter.year) - rules.as_at + 1)
    found["litres_a_day"] = np.where(liquid, feeds.pace(found["bees_now"]), 0.0)
    usual, last = found["last_liquid_day"], found["winter_starts"] - 1
    enough = rounded(_litres(found, usual, warm, rules)) >= rounded(
        pick(lists.types["portion_liquid"], found["type_row"].to_numpy())
    )
    until = np.where((found["takes"] == 1) | enough, usual, np.maximum(usual, last))
    found["liquid_until"] = np.where(liquid, until, np.nan)
    kind = found["feed_row"].to_numpy()
    worth = pick(lists.kinds["density"], kind) * pick(lists.kinds["stores_share"], kind)
    found["can_take"] = np.where(liquid, _litres(found, until, warm, rules) * worth, 0.0)


def _litres(found: pd.DataFrame, until: ArrayLike, warm_days: float, rules: Rules) -> Floats:
    """What is taken from today up to and with a day [l]: warm days at the full pace, later ones at the slow one."""
    days = np.maximum(0.0, numbers(until) - rules.as_at + 1)
    warm = np.minimum(days, warm_days)
    return np.asarray(found["litres_a_day"] * (warm + figure("pace_after") * (days - warm)))


def _room(found: pd.DataFrame, lists: Lists, rules: Rules) -> None:
    """The day on which feed given now is ripe, and the most liquid that may be given, as stores.

    That is what the combs will hold then and as winter starts, and what is taken in time; on coarse evidence, and past
    the usual last day, a portion.
    """
    liquid, profile = found["liquid"] == 1, found["profile_row"].to_numpy()
    ripe = found["ripe_on"] = np.where(liquid, found["liquid_until"] + figure("ripe_after"), np.nan)
    hive = np.where(liquid, found["type_row"], 0).astype(np.int64)
    eaten = lists.winter.eaten_between(np.full(len(found), rules.as_at), ripe, profile)
    comb = comb_on(lists, hive, profile, ripe) + found["appetite"] * eaten - found["stores_today"]
    most = np.minimum(np.minimum(found["room"], comb), found["can_take"])
    by_portion = (found["coarse"] == 1) | (found["liquid_until"] > found["last_liquid_day"])
    most = np.where(by_portion, np.minimum(most, found["portion"]), most)
    found["most"] = np.where(liquid & (found["known"] == 1), np.maximum(0.0, most), 0.0)


def _full_feed(found: pd.DataFrame, rules: Rules) -> Floats:
    """Stores after which want is met and the chance of running out is as asked, the feed's own spread included."""
    gap = numbers(found["least"] - found["stores_today"])
    shrink = 1 - (figure("feed_spread") * rules.z) ** 2
    root = gap**2 - shrink * (gap**2 - (rules.z * figure("fed_wider") * numbers(found["chance_u"])) ** 2)
    safe = (gap + np.sqrt(np.maximum(root, 0.0))) / shrink
    sure = rounded(found["chance_out"]) <= rounded(1 - rules.sure)
    needed = np.maximum(numbers(found["short_by"]), np.where(sure, 0.0, safe))
    unknown = (found["known"] == 0) | (found["feed_row"] == 0)
    full = np.select(
        [unknown, found["verdict"] == NOW, np.isin(found["verdict"], LACKS)],
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
    daily, warm = found["litres_a_day"], max(0.0, turning("pace_after", lists.winter.year) - rules.as_at + 1)
    pace = np.where(poured, daily, np.nan)
    beyond = warm + (volume - pace * warm) / (pace * figure("pace_after"))
    found["days"] = np.ceil(rounded(np.where(volume > pace * warm, beyond, volume / pace)))


def _orders(found: pd.DataFrame, lists: Lists) -> None:
    """What to have ready in all: liquid as far as the combs hold it, anything else in whole portions."""
    full, portion = found["feed_full"], found["portion"]
    some = (full > 0) & (portion > 0) & (found["feed_stores"] > 0)
    whole = np.ceil(rounded(full / np.where(some, portion, 1.0))) * portion
    liquid = np.maximum(0.0, np.minimum(full, found["room"]))
    ordered = np.where(some, np.where(found["liquid"] == 1, liquid, whole), 0.0)
    share = pick(lists.kinds["stores_share"], found["feed_row"].to_numpy())
    found["order_stores"] = ordered
    found["order_mass"] = np.where(share > 0, ordered / np.where(share > 0, share, 1.0), 0.0)
    litres = pick(lists.kinds["density"], found["feed_row"].to_numpy(), 1.0) * found["feeder_litres"]
    fills = np.ceil(rounded(found["order_mass"] / np.where(litres > 0, litres, 1.0)))
    found["order_fills"] = np.where(found["liquid"] == 1, fills, 0.0)
    lasting = found["verdict"].str.startswith("lasts to") & found["fondant_by"].notna() & (found["feed_row"] > 0)
    hive = found["type_row"].to_numpy()
    found["laid_on"] = np.where(lasting, pick(lists.types["portion_fondant"], hive), 0.0)


def _by_when(found: pd.DataFrame, rules: Rules) -> None:
    """The day by which to have it given; in winter beside no feed that by which fondant has to lie ready on top."""
    later = found["lasts_to"] - figure("fondant_lead")
    found["by_date"] = np.select(
        [found["feed_mass"].isna(), found["verdict"] == LATER, found["verdict"] == NOW, found["liquid"] == 1],
        [
            found["fondant_by"].where(found["phase"] == IN_WINTER),
            np.maximum(rules.as_at, later),
            rules.as_at,
            found["liquid_until"],
        ],
        np.maximum(rules.as_at, np.minimum(found["winter_starts"], later)),
    )


def _hive_today(found: pd.DataFrame, lists: Lists, as_at: float) -> None:
    """Add what the hive in which a colony stands now weighs empty (tare_now), and its bees today (bees_now), in kg."""
    hive, known = found["type_row"].to_numpy(), found["known"] == 1
    tare = np.where(found["evidence_type"] == hive, found["tare"], pick(lists.types["tare"], hive))
    found["tare_now"] = np.where(known, tare, 0.0)
    found["bees_now"] = np.where(known, _bees(found, lists, np.full(len(found), as_at)), 0.0)


def _weighs(found: pd.DataFrame, lists: Lists, as_at: float) -> None:
    """Add what each hive should weigh (should_weigh, kg) and the day (should_on).

    Straight after its feed where that goes into one fill and the combs have room for it that day; else once the feed
    has been taken and is ripe. The feeder is empty, the kit as it was last weighed. Only beside liquid feed on evidence
    that is not coarse: of anything else no such figure would be worth reading.
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
    return feeds.unripe_share(age, feeds.half_time_of(day))


def _bees(found: pd.DataFrame, lists: Lists, day: Floats) -> Floats:
    hive, profile = (found[key].to_numpy() for key in ("type_row", "profile_row"))
    usual = pick(lists.types["bees"], hive) * lists.winter.on(lists.winter.bees, day, profile)
    return np.asarray(usual * found["bees_share"])


def _brood(found: pd.DataFrame, lists: Lists, day: Floats) -> Floats:
    """Brood as it was counted on the day of the evidence, as expected on any other."""
    hive, profile = (found[key].to_numpy() for key in ("type_row", "profile_row"))
    frames = lists.winter.on(lists.winter.brood, day, profile)
    usual = kit.brood_default(frames, pick(lists.types["bees"], hive))
    return np.where(day == found["evidence_day"], found["brood"], usual)
