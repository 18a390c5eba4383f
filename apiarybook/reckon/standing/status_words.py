"""Words beside figures: of each row what is amiss first, or ok; of each colony on what its verdict rests."""

from __future__ import annotations

from math import floor
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from apiarybook.handbook.figures import SHORT_MONTHS
from apiarybook.handbook.status import COLD, FEEDER, MANY_AT_ONCE, MORE_THAN_FEEDER, ORDER, OUTSIDE, not_used
from apiarybook.reckon.core.arrays import figure, numbers, rounded, words
from apiarybook.reckon.core.lookup import number_or, pick, pick_words
from apiarybook.reckon.core.winter import day_of, serials
from apiarybook.reckon.feeding.feeds import UNITS, VOLUMES
from apiarybook.reckon.hive.weighings import against_the_hive
from apiarybook.reckon.standing.standing import BEFORE_WINTER, OUT_OF_SEASON

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from apiarybook.reckon.hive.weighings import Lists
    from apiarybook.reckon.standing.standing import Rules

    Step = tuple[NDArray[np.bool_] | pd.Series[bool], str | NDArray[np.object_]]
    Mask = NDArray[np.bool_]


UNPLACED = "its apiary or hive type is not known"
UNSEEN = "not weighed or hefted yet"
CHANGED = "weigh again: the hive was changed on "
UNLOOKED = "what was left in the feeder on {day}? 0 if empty"
LACKING = "; then {mass} short"
SEEN = {"heft": "hefted", "frames of food counted": "counted"}
WEIGHED = "weighed"
TIE = 1e-9
"""Values are rounded to 6 decimals first; the next rounding takes a half so near as a half."""


def _blank(rows: pd.DataFrame, keys: str) -> NDArray[np.bool_]:
    return np.asarray(rows[keys.split()].isna().all(axis=1))


def _held(rows: pd.DataFrame) -> NDArray[np.object_]:
    return np.array([f"not used before the next run: {reason}" for reason in words(rows["held"])], dtype=object)


def _asked(rows: pd.DataFrame) -> list[Step]:
    """What the last run asks of a row, and that it is answered since."""
    if "asked" not in rows:
        return []
    asked = words(rows["asked"])
    told = np.array([f"look again: {what}" for what in asked], dtype=object)
    return [
        ((asked != "") & _answered(rows), "answered: counts from the next run"),
        (asked != "", told),
    ]


def _answered(rows: pd.DataFrame) -> Mask:
    """Rows of which somebody said that they are right as they stand."""
    return words(rows["is_it_right"]) != "" if "is_it_right" in rows else np.zeros(len(rows), dtype=np.bool_)


def _beyond(rows: pd.DataFrame) -> NDArray[np.bool_]:
    """Rows that somebody found right beyond their bounds."""
    return ~np.isnan(numbers(rows["beyond"])) if "beyond" in rows else np.zeros(len(rows), dtype=np.bool_)


def weighing_words(
    rows: pd.DataFrame, found: pd.DataFrame, fed: pd.DataFrame, lists: Lists, standing: pd.DataFrame, as_at: float
) -> NDArray[np.object_]:
    """Status words of weighings, but for what only the book sees: text where a number belongs is blank here.

    Args:
        rows: the sheet Weighings; blank cells are missing values.
        found: what `weighings` found.
        fed: colony_row of each feed and its day.
        lists: the book's lists.
        standing: evidence_row and unlooked of each colony.
        as_at: number of the day for which to reckon.

    Returns:
        words, shape (rows,); the empty word for a blank row.
    """
    day = np.floor(serials(rows["date"]))
    colony = found["colony_row"].to_numpy()
    is_evidence = pick(standing["evidence_row"], colony) == np.arange(1, len(rows) + 1)
    untimed = is_evidence & ~_answered(rows) & np.isin(words(rows["occasion"]), ["", "routine"])
    days_fed = pd.MultiIndex.from_frame(fed)
    untimed &= pd.MultiIndex.from_arrays([colony, day]).isin(days_fed)
    over, high, low = against_the_hive(rows, found, lists)
    steps: list[Step] = [
        (words(rows["held"]) != "", _held(rows)),
        (_blank(rows, "date colony how reading_1 reading_2 heft"), ""),
        (np.isnan(day), "date?"),
        (found["colony_row"] == 0, "colony?"),
        (found["type_row"] == 0, "hive type?"),
        (found["profile_row"] == 0, "winter profile of its apiary?"),
        (found["way_row"] == 0, "how?"),
        (words(rows["hive_is"]) == "snow", "brush off the snow and weigh again"),
        ((words(rows["scale"]) != "") & (found["scale_row"] == 0), "scale?"),
        (found["usable"] == 0, "date or reading?"),
        (words(rows["occasion"]) == "practice", "practice: not counted"),
        (day > as_at, "later than as at: not counted yet"),
        (_beyond(rows), "ok: looked at"),
        (over | low, not_used("reading 1", OUTSIDE)),
        (high, "look again: more than it can hold"),
        (is_evidence & (pick(standing["unlooked"], colony) == 1), FEEDER),
        (untimed, ORDER),
        *_asked(rows),
    ]
    return _first(steps)


def feeding_words(
    rows: pd.DataFrame, found: pd.DataFrame, lists: Lists, standing: pd.DataFrame, as_at: float
) -> NDArray[np.object_]:
    """Status words of feeds.

    Args:
        rows: the sheet Feedings; blank cells are missing values.
        found: what `feedings` found.
        lists: the book's lists.
        standing: last_liquid_day, winter_starts, type_row and feeder_litres of each colony.
        as_at: number of the day for which to reckon.

    Returns:
        words, shape (rows,); the empty word for a blank row.
    """
    day = np.floor(serials(rows["date"]))
    amount = numbers(rows["amount"])
    mixed = ~np.isnan(numbers(rows["sugar"])) & ~np.isnan(numbers(rows["water"]))
    written = np.where(np.isnan(amount), mixed, found["unit_row"] > 0)
    colony = found["colony_row"].to_numpy()
    liquid = pick_words(lists.kinds["form"], found["feed_row"].to_numpy()) == "liquid"
    hive = pick(standing["type_row"], found["own_row"].to_numpy()).astype(np.int64)
    solid = pick_words(lists.kinds["form"], found["feed_row"].to_numpy()) == "solid"
    mass = numbers(found["mass"])
    poured = rounded(mass / np.where(found["density"] > 0, found["density"], 1.0))
    feeder = pick(standing["feeder_litres"], found["own_row"].to_numpy())
    fills, portion = figure("fills_at_once"), pick(lists.types["portion_fondant"], hive)
    late = (day > pick(standing["last_liquid_day"], colony)) & (pick(standing["winter_starts"], colony) > 0)
    cold = number_or(rows["warmest"], -99.0) < figure("liquid_warmest")
    steps: list[Step] = [
        (words(rows["held"]) != "", _held(rows)),
        (_blank(rows, "date colony feed_kind amount unit sugar"), ""),
        (np.isnan(day), "date?"),
        (found["colony_row"] == 0, "colony?"),
        (found["feed_row"] == 0, "feed kind?"),
        (~written.astype(bool), "amount or unit?"),
        (found["usable"] == 0, "apiary or hive type of its colony?"),
        (day > as_at, "later than as at: not counted yet"),
        *_asked(rows),
        (_answered(rows), "ok"),
        (liquid & late & cold, COLD),
        (liquid & (mass > 0) & (poured > rounded(fills * feeder)), MORE_THAN_FEEDER),
        (solid & (rounded(mass) > rounded(figure("portions_at_once") * portion)), MANY_AT_ONCE),
    ]
    return _first(steps)


def _first(
    steps: list[Step],
) -> NDArray[np.object_]:
    found = np.full(len(steps[0][0]), "ok", dtype=object)
    for condition, word in reversed(steps):
        found = np.where(np.asarray(condition), word, found)
    return found


def because(found: pd.DataFrame, rules: Rules) -> list[str]:
    """Say of each colony in one sentence on what its verdict rests, or what is missing for one.

    Args:
        found: the frame of all colonies with verdict and feed to give.
        rules: the club's rules; masses are told in the book's unit.

    Returns:
        a sentence a colony, without a full stop; the empty one for a colony that is gone and out of season.
    """
    keys = ["active", "ready", "phase", "evidence_row", "changed_on", "unlooked", "evidence_day", "stores_today"]
    keys += ["want_today", "comb", "stores_u", "way", "heft_share", "heft_day", "verdict", "stays_short", "feed_full"]
    return [_sentence(row, rules.unit) for row in found[keys].to_dict("records")]


def _sentence(row: dict[Any, Any], unit: str) -> str:
    if row["active"] == 0:
        return ""
    if row["ready"] == 0:
        return UNPLACED
    if row["phase"] == OUT_OF_SEASON:
        return ""
    if row["evidence_row"] == 0:
        return f"{CHANGED}{short_day(row['changed_on'])}" if row["changed_on"] > 0 else UNSEEN
    if row["unlooked"] == 1:
        return UNLOOKED.format(day=short_day(row["evidence_day"]))
    return f"{_stores(row, unit)}; {_seen(row)}{_ends(row, unit)}"


def poured(found: pd.DataFrame, rules: Rules) -> list[str]:
    """Say of each liquid feed how much that is by volume and in how many fills of the feeder.

    Args:
        found: the frame of all colonies with feed_volume [l] and fills.
        rules: the club's rules; volumes are told in the book's unit.

    Returns:
        words a colony, the empty one where nothing liquid is given.
    """
    unit = VOLUMES[rules.unit]
    return [
        _poured(litres, fills, unit) if fills > 0 else ""
        for litres, fills in zip(found["feed_volume"], found["fills"], strict=True)
    ]


def _poured(litres: float, fills: float, unit: str) -> str:
    """In words.

    >>> _poured(10.57, 3.0, "l"), _poured(0.94635, 1.0, "US quart")
    ('10.6, 3 fills', '1, 1 fill')
    """
    return f"{told(litres, unit)}, {fills:g} fill{'s' if fills != 1 else ''}"


def short_day(number: float) -> str:
    """A day without its year.

    >>> short_day(46312.0)
    '17 Oct'
    """
    day = day_of(number)
    return f"{day.day} {SHORT_MONTHS[day.month - 1]}"


def told(amount: float, unit: str) -> str:
    """A mass or volume in the book's unit to a tenth, never below nought.

    >>> told(17.849, "kg"), told(5.0, "lb")
    ('17.8', '11')
    """
    mass = float(rounded(max(0.0, amount) / UNITS[unit].factor))
    return f"{floor(mass * 10 + 0.5 + TIE) / 10:g}"


def _stores(row: dict[Any, Any], unit: str) -> str:
    wanted = f" of {told(_wanted(row), unit)}" if row["phase"] == BEFORE_WINTER else ""
    return f"{told(row['stores_today'], unit)}{wanted} {unit}, give or take {told(row['stores_u'], unit)}"


def _wanted(row: dict[Any, Any]) -> float:
    """The want as far as the combs hold it or, where it is fed beyond that so as not to run out, up to what."""
    want = float(min(row["want_today"], row["comb"]))
    return max(want, row["stores_today"] + row["feed_full"]) if row["feed_full"] > 0 else want


def _seen(row: dict[Any, Any]) -> str:
    share = rounded(row["heft_share"])
    first = "" if share == 1 else f"{SEEN.get(row['way'], WEIGHED)} {short_day(row['evidence_day'])}"
    later = "" if share == 0 else f"hefted {short_day(row['heft_day'])}"
    return ", ".join(filter(None, (first, later)))


def _ends(row: dict[Any, Any], unit: str) -> str:
    """What stays lacking; `weigh` and `comb full` say in the verdict beside it why nothing is given."""
    if row["verdict"] in {"weigh", "comb full"}:
        return ""
    lacking = rounded(row["stays_short"]) >= rounded(figure("least_worth_giving"))
    return LACKING.format(mass=f"{told(row['stays_short'], unit)} {unit}") if lacking else ""
