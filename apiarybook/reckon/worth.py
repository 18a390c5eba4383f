"""What each hand's hefting is worth, and which colonies are most worth weighing next."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.arrays import Floats, figure, numbers, words
from apiarybook.reckon.hefting import calibrate, half_width, hefting, sound_pairs, sums
from apiarybook.reckon.lookup import match, pick, pick_words
from apiarybook.reckon.sampling import change_of_feed
from apiarybook.reckon.trust import WIDEST, lifts_needed

if TYPE_CHECKING:
    from apiarybook.reckon.weighings import Lists

TELLING = 10.0
"""Lifts from which a hand's own spread is believed: as many as a practice sheet holds."""


def worth_of_hands(pairs: pd.DataFrame) -> pd.DataFrame:
    """Tell what the hefting of each hand is worth.

    Args:
        pairs: hefts of colonies weighed the same day with the same kit: by, error [1], word (blank for a guess).

    Returns:
        the frame of `hefting` and beside it: guesses, how many pairs are guesses; bias, what the hand reads too much,
        as the book takes it [1]; within, half-width of the nine-in-ten interval on a usual hive [kg]; hive_of, that
        hive's gross [kg]; lifts_needed, further lifts to be weighed until it is within the wish, NaN where more lifts
        would not do it, if it goes on as so far; wish [kg]; says, what follows.

    >>> pairs = pd.DataFrame({"by": ["Ann"] * 4, "error": [0.1, 0.14, 0.06, 0.1], "word": ""})
    >>> worth_of_hands(pairs)[["by", "bias", "within"]].round(3).to_numpy().tolist()
    [['any other hand', -0.044, 10.689], ['Ann', -0.069, 8.102]]
    """
    found, sound = hefting(pairs), sound_pairs(pairs)
    usual, wish = figure("usual_gross"), figure("heft_wish")
    names = np.char.lower(words(found["by"])[1:])
    guess = sound[sound["word"] == ""]
    known = calibrate(sound, names.astype(object))
    own = sums(guess["error"], np.searchsorted(names, guess["hand"].to_numpy(dtype=np.str_)), len(names))
    found["guesses"] = np.concatenate(([0.0], own.pairs))
    found["bias"] = np.expm1(-known.mean)
    found["within"] = usual * np.sinh(np.minimum(half_width(known), np.log(WIDEST)))
    found["hive_of"], found["wish"] = usual, wish
    so_far = np.where(own.pairs >= TELLING, own.squares / np.maximum(own.pairs - 1, 1.0), np.nan)
    coming = np.concatenate(([np.nan], so_far))
    more, until_alone = (lifts_needed(known, usual, aim, variance=coming) for aim in (wish, figure("heft_alone")))
    found["lifts_needed"] = np.where(np.isfinite(more), more, np.nan)
    found["says"] = [_says(*row) for row in zip(found["pairs"], found["guesses"], until_alone, strict=True)]
    return found


ALONE = "may heft alone"


def _says(pairs: float, guesses: float, more: float) -> str:
    if not pairs:
        return "before any lift of a hand was weighed"
    if not guesses:
        return "words only so far: guess a weight before weighing"
    if more == 0:
        return ALONE
    if np.isfinite(more):
        return f"weigh {more:.0f} more of its lifts, then it may heft alone"
    return "go on weighing too" if guesses < TELLING else "spread too wide to heft alone"


def worth_weighing(stood: pd.DataFrame, weighed: pd.DataFrame, lists: Lists, apiaries: pd.DataFrame) -> pd.DataFrame:
    """Find the colonies for which a scale reading would most change what is done.

    These are the ones whose verdict is to weigh, and the ones of which a reading is expected to change the feed by
    more than the least worth giving.

    Args:
        stood: the frame of all colonies after `verdict.advise`.
        weighed: the frame of all weighings.
        lists: the book's lists.
        apiaries: the sheet Apiaries.

    Returns:
        one row a colony, apiary after apiary as the sheet Apiaries lists them, within one the most feed first and
        before these the ones of which nothing is known: apiary, colony, verdict, how, last_on (number of the day),
        short_by, stores_u, feed_hanging: the feed that a reading is expected to change [kg].
    """
    change = change_of_feed(
        stood["short_by"], stood["stores_u"], left_by_scale(stood, weighed, lists), figure("least_worth_giving"),
        stood["room"],
    )  # fmt: skip
    share = pick(lists.kinds["stores_share"], stood["feed_row"].to_numpy(dtype=np.int64), np.nan)
    place = match(lists.colonies["apiary"], apiaries["apiary"])
    found = pd.DataFrame(
        {
            "apiary": pick_words(apiaries["apiary"], place),
            "colony": stood["colony"].to_numpy(dtype=object),
            "verdict": stood["verdict"].to_numpy(dtype=object),
            "how": stood["how"].to_numpy(dtype=object),
            "last_on": np.fmax(numbers(stood["weighed_on"]), numbers(stood["hefted_on"])),
            "short_by": numbers(stood["short_by"]),
            "stores_u": numbers(stood["stores_u"]),
            "feed_hanging": change / np.where(share > 0, share, np.nan),
            "place": place,
            "first": -np.where(np.isnan(change), np.inf, change),
        }
    )
    asked = (stood["active"] == 1).to_numpy() & (
        (found["verdict"] == "weigh") | (np.nan_to_num(change) > figure("least_worth_giving"))
    )
    order = found[asked].sort_values(["place", "first"], kind="stable")
    return order.drop(columns=["place", "first"]).reset_index(drop=True)


def left_by_scale(stood: pd.DataFrame, weighed: pd.DataFrame, lists: Lists) -> Floats:
    """Give the standard uncertainty of stores that a full lift today would leave [kg], shape (colonies,)."""
    row, hive = (stood[key].to_numpy(dtype=np.int64) for key in ("evidence_row", "type_row"))
    tare = np.where(row > 0, pick(weighed["tare_u"], row), pick(lists.types["tare_spread"], hive))
    bees = figure("bees_spread") * pick(lists.types["bees"], hive)
    pollen = figure("pollen_spread") * pick(lists.types["pollen"], hive)
    return np.asarray(np.sqrt(figure("hanging_heavy_u") ** 2 + tare**2 + bees**2 + pollen**2))
