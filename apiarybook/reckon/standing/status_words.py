"""The status word beside every row of Weighings and Feedings: the first thing that is amiss, or ok."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.handbook.status import COLD, FEEDER, MANY_AT_ONCE, MORE_THAN_FEEDER, ORDER, OUTSIDE, not_used
from apiarybook.reckon.core.arrays import figure, numbers, rounded, words
from apiarybook.reckon.core.lookup import number_or, pick, pick_words
from apiarybook.reckon.core.winter import serials

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from apiarybook.reckon.core.arrays import Floats
    from apiarybook.reckon.hive.weighings import Lists

    Step = tuple[NDArray[np.bool_] | pd.Series[bool], str | NDArray[np.object_]]
    Mask = NDArray[np.bool_]


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
    over, high, low = _against_the_hive(rows, found, lists)
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


def leeway(found: pd.DataFrame) -> Floats:
    """By how many times a hive may seem heavier than full, or lighter than empty, so coarse is a heft or one side.

    Args:
        found: heft_u and factor_u of weighings, relative [1].
    """
    return 1 + figure("slip_distant") * (numbers(found["heft_u"]) + numbers(found["factor_u"]))


def _against_the_hive(rows: pd.DataFrame, found: pd.DataFrame, lists: Lists) -> tuple[Mask, Mask, Mask]:
    """Which rows weigh far more than their hive can, more than it can, and less than it does when empty."""
    hefted = words(rows["how"]) == "heft"
    judged = ~np.isnan(numbers(found["gross"])) & (words(rows["occasion"]) != "practice")
    judged &= ~hefted | np.array([isinstance(one, (int, float)) for one in rows["heft"]], dtype=bool)
    others = found["extras"] + found["feeder_left"] + np.nan_to_num(numbers(found["unripe_then"]))
    alone = number_or(found["said"], found["gross"]) - numbers(others)
    high = pick(lists.types["believable"], found["type_row"].to_numpy()) * leeway(found)
    over, low = alone > high + figure("over_comb_full"), alone < numbers(found["tare"]) / leeway(found)
    return judged & over, judged & (alone > high), judged & low


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
