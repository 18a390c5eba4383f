"""What was told twice of a hive on one day, hefted or counted and weighed, and what it says each hand is worth."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.core.arrays import figure, numbers, words
from apiarybook.reckon.core.winter import serials
from apiarybook.reckon.hefting.calibration import calibrate, half_width, hefting, log_error, sound_pairs, sums
from apiarybook.reckon.hefting.trust import WIDEST, lifts_needed
from apiarybook.reckon.hive.weighings import HEFT_WORDS, hefts, occasions

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from apiarybook.reckon.core.arrays import Floats
    from apiarybook.reckon.hive.weighings import Lists


FINE = 0.5
"""A scale judges a hand if its standard uncertainty is at most this share of the usual spread of one hand's guesses:
it then adds no more than an eighth to the spread that is found."""
SAME_KIT = ["colony_row", "day", "type_row", "extras", "order"]
KEYS = ["place", "by", "day", "colony", "word", "judged", "gross", "error", "off", "practice"]
FRAMES = "frames of food counted"
SAME = ["colony_row", "day", "type_row"]


def pairs(rows: pd.DataFrame, found: pd.DataFrame, as_at: float) -> pd.DataFrame:
    """Find the lifts that tell something of a hand.

    A pair is a guess or a heft word beside a reading, or a row of hefting and a row of weighing of one colony on one
    day with the same hive, extras and occasion (the last such weighing). Practice counts, rows held or later than
    as-at do not, nor does a weighing that is itself too rough to judge a hand.

    Args:
        rows: the sheet Weighings.
        found: the frame of `weighings.lifts`.
        as_at: number of the day for which to reckon.

    Returns:
        one row a pair, guesses before words, hand after hand, in the order of days: place, position of the row that
        holds the heft, from 0; by; day; colony; word, blank for a guess; judged, the guess or the target gross of that
        day [kg]; gross by scale [kg]; error, ln(gross / judged) as it would be had chance chosen the lifts that were
        weighed (`as_if_by_chance`) [1]; off, by how much the heft was too high [1];
        practice, that word or blank.
    """
    guess, word = hefts(rows)
    day, how = np.floor(serials(rows["date"])), words(rows["how"])
    counts = (found["usable"] == 1).to_numpy() & (day <= as_at)
    said = counts & ((guess > 0) | np.isin(word, HEFT_WORDS))
    gross, spread = found["by_scale"].to_numpy(), found["by_scale_u"].to_numpy()
    by_scale = counts & ~np.isin(how, ["heft", "frames of food counted"]) & (gross > 0)
    fine = by_scale & (spread <= FINE * figure("hand_spread") * gross)
    occasion = words(rows["occasion"])
    every = pd.DataFrame(
        {
            "place": np.arange(len(rows)),
            "by": words(rows["by"]).astype(object),
            "day": day,
            "colony": rows["colony"].to_numpy(dtype=object),
            "word": np.where(said & np.isnan(guess), word, "").astype(object),
            "judged": np.where(np.isnan(guess), found["target"], guess),
            "gross": gross,
            "light": _light(guess, found, occasion == "practice"),
            "practice": np.where(occasion == "practice", "practice", "").astype(object),
            "colony_row": found["colony_row"].to_numpy(),
            "type_row": found["type_row"].to_numpy(),
            "extras": numbers(found["extras"]),
            "order": occasions(rows),
        }
    )
    own = every[said & fine]
    apart = _apart(every, said & (how == "heft"), fine)
    both = pd.concat([own, apart])
    both["hand"] = np.char.lower(words(both["by"])).astype(object)
    both = both.sort_values(["word", "hand", "day", "place"], kind="stable")
    both["error"] = log_error(both["gross"], both["judged"])
    both["off"] = np.expm1(-both["error"])
    both["error"] = as_if_by_chance(both, every[said])
    sound = (both["by"] != "") & np.isfinite(both["error"])
    kept: pd.DataFrame = both.loc[sound, KEYS].reset_index(drop=True)
    return kept


def as_if_by_chance(both: pd.DataFrame, hefted: pd.DataFrame) -> Floats:
    """Set the errors of hands right for which of their lifts were weighed.

    Who weighs what felt light weighs what was guessed too low: gross over guess is then too high by chance alone. What
    a hive weighs against its target is told from the guess against the target by a straight line, whichever were
    chosen by their guess; the hand's mean error is read off it at the mean guess of all that it hefted (two-phase
    regression), and what scatters about the line is widened to what guesses scatter about the gross. The slope comes
    from all hands together and from the handbook's spreads. A hand whose every heft was weighed has chosen nothing.

    Args:
        both: pairs with hand, error ln(gross / guess) and light, ln(guess / target) [1], blank for words and practice.
        hefted: all hefts, weighed or not, with by and light.

    Returns:
        errors [1], shape (pairs,).

    Source: Cochran, Sampling Techniques, 3rd edition, 12.6; regression from x to y stands when x decides what is
    observed (Little and Rubin, Statistical Analysis with Missing Data, 3rd edition, 1.3 and 7.2).

    >>> light = np.array([-0.3, -0.2, -0.1, 0.0, 0.1, 0.2, 0.3])
    >>> every = pd.DataFrame({"by": "Ann", "light": light})
    >>> some = every[:3].assign(hand="ann", error=0.1 - 0.59 * light[:3])
    >>> as_if_by_chance(some, every).round(2).tolist()
    [0.1, 0.1, 0.1]
    """
    error, light = numbers(both["error"]), numbers(both["light"])
    guessed = hefted[np.isfinite(numbers(hefted["light"]))]
    of = guessed["light"].groupby(np.char.lower(words(guessed["by"]))).agg(["mean", "size"])
    hand = both["hand"].to_numpy(dtype=object)
    told = np.isfinite(light) & np.isfinite(error)
    every, size = (numbers(of[key].reindex(hand)) for key in ("mean", "size"))
    own = both[told].assign(gross=error[told] + light[told]).groupby("hand")
    chosen = told & (size > numbers(own.size().reindex(hand)))
    if not chosen.any():
        return error
    slope = _slope(numbers(own["light"].transform(_away)), numbers(own["gross"].transform(_away)))
    fair = error + (1 - slope) * (light - every)
    middle = numbers(pd.Series(np.where(chosen, fair, np.nan)).groupby(hand).transform("mean"))
    return np.where(chosen, middle + (fair - middle) / np.sqrt(slope), error)


def _light(guess: Floats, found: pd.DataFrame, practised: NDArray[np.bool_]) -> Floats:
    """How heavy each hive was guessed against its target, in the logarithm; blank for words and practice."""
    target = numbers(found["target"])
    return np.where(practised, np.nan, log_error(guess, np.where(target > 0, target, np.nan)))


def _away(values: pd.Series[float]) -> pd.Series[float]:
    return values - values.mean()


def _slope(light: Floats, gross: Floats) -> float:
    """Slope of gross on guess, both against the target in logarithms: what the pairs say, with the handbook's."""
    unlike, within = figure("colonies_spread") / figure("usual_gross"), figure("hand_spread")
    believed = unlike**2 / (unlike**2 + within**2)
    weight = believed * within**2 / SLOPE_SPREAD**2
    # An absurd guess lies so far out that it alone would lay the line flat.
    sound = np.abs(light) <= figure("balance_note") * np.hypot(unlike, within)
    light, gross = light[sound], gross[sound]
    slope = (weight * believed + light @ gross) / (weight + light @ light)
    return float(np.clip(slope, LEAST_SLOPE, 1.0))


SLOPE_SPREAD = 0.2
"""How far the slope by the handbook's spreads may be off, as a standard deviation."""
LEAST_SLOPE = 0.1


def with_earlier(now: pd.DataFrame, earlier: pd.DataFrame | None) -> pd.DataFrame:
    """Put the lifts of earlier winters before this winter's, so that hands go on where they left off.

    Args:
        now: the frame of `pairs`.
        earlier: by, word (blank for a guess) and error [1]; None where there were none.

    Returns:
        by, word and error of all; day of this winter's, blank for the others: each counts as a day of its own.
    """
    keys = ["by", "word", "error", "day"]
    if earlier is None or earlier.empty:
        return now[keys]
    before = earlier.reindex(columns=keys).assign(word=words(earlier["word"]).astype(object), day=np.nan)
    return before if now.empty else pd.concat([before, now[keys]], ignore_index=True)


def _apart(every: pd.DataFrame, hefted: NDArray[np.bool_], fine: NDArray[np.bool_]) -> pd.DataFrame:
    """Rows of hefting, with the gross of the weighing that goes with each."""
    scale = every[fine].drop_duplicates(SAME_KIT, keep="last")
    judged = every[hefted].drop(columns="gross").merge(scale[[*SAME_KIT, "gross"]], on=SAME_KIT)
    return judged.reindex(columns=every.columns)


def counted_and_weighed(rows: pd.DataFrame, found: pd.DataFrame, lists: Lists, as_at: float) -> pd.DataFrame:
    """Set stores counted in frames against stores weighed the same day.

    Args:
        rows: the sheet Weighings.
        found: the frame of all weighings, stores and all.
        lists: the book's lists.
        as_at: number of the day for which to reckon.

    Returns:
        one row a count that has a weighing beside it, in the order of the sheet: place, position of the count from 0;
        colony; day; counted and weighed [kg]; apart, counted less weighed [kg]; apart_u, standard uncertainty of that
        [kg]. Coarse weighings and hefts do not judge a count.
    """
    day, how = np.floor(serials(rows["date"])), words(rows["how"])
    counts = (found["usable"] == 1).to_numpy() & (day <= as_at) & (found["colony_row"] > 0).to_numpy()
    frame = pd.DataFrame(
        {
            "place": np.arange(len(rows)),
            "colony_row": found["colony_row"].to_numpy(),
            "type_row": found["type_row"].to_numpy(),
            "day": day,
            "stores": numbers(found["stores"]),
            "u": numbers(found["dry_u"]),
        }
    )
    scale = frame[counts & (how != FRAMES) & (how != "heft") & (found["coarse"] == 0).to_numpy()]
    scale = scale.drop_duplicates(SAME, keep="last").drop(columns="place")
    both = frame[counts & (how == FRAMES)].merge(scale, on=SAME, suffixes=("_counted", "_weighed"))
    both = both.sort_values("place", kind="stable").reset_index(drop=True)
    names = lists.colonies["colony"].to_numpy(dtype=object)
    return pd.DataFrame(
        {
            "place": both["place"],
            "colony": names[both["colony_row"].to_numpy(dtype=np.int64) - 1],
            "day": both["day"],
            "counted": both["stores_counted"],
            "weighed": both["stores_weighed"],
            "apart": both["stores_counted"] - both["stores_weighed"],
            "apart_u": np.hypot(both["u_counted"], both["u_weighed"]),
        }
    )


TELLING = 10.0
"""Lifts from which a hand's own spread is believed: as many as a practice sheet holds."""


def worth_of_hands(pairs: pd.DataFrame) -> pd.DataFrame:
    """Tell what the hefting of each hand is worth.

    Args:
        pairs: hefts of colonies weighed the same day with the same kit: by, error [1], word (blank for a guess).

    Returns:
        the frame of `hefting` and beside it: guesses, how many pairs are guesses; bias, what the hand reads too much,
        as the book takes it [1]; bias_u, its standard uncertainty, which all its hefts share [1]; within, half-width
        of the nine-in-ten interval on a usual hive [kg]; hive_of, that
        hive's gross [kg]; says, what follows.

    >>> import pandas as pd
    >>> pairs = pd.DataFrame({"by": ["Ann"] * 4, "error": [0.1, 0.14, 0.06, 0.1], "word": ""})
    >>> worth_of_hands(pairs)[["by", "bias", "within"]].round(3).to_numpy().tolist()
    [['any other hand', -0.044, 10.689], ['Ann', -0.069, 8.102]]
    """
    found, sound = hefting(pairs), sound_pairs(pairs)
    usual = figure("usual_gross")
    names = np.char.lower(words(found["by"])[1:])
    guess = sound[sound["word"] == ""]
    known = calibrate(sound, names.astype(object))
    own = sums(guess["error"], np.searchsorted(names, guess["hand"].to_numpy(dtype=np.str_)), len(names))
    found["guesses"] = np.concatenate(([0.0], own.pairs))
    found["bias"] = np.expm1(-known.mean)
    found["bias_u"] = np.sqrt(known.rate / ((known.shape - 1) * known.weight))
    found["within"] = usual * np.sinh(np.minimum(half_width(known), np.log(WIDEST)))
    found["hive_of"] = usual
    so_far = np.where(own.pairs >= TELLING, own.squares / np.maximum(own.pairs - 1, 1.0), np.nan)
    coming = np.concatenate(([np.nan], so_far))
    until_alone = lifts_needed(known, usual, figure("heft_alone"), variance=coming)
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
        return f"weigh {more:.0f} more, then it may heft alone"
    return "go on weighing too" if guesses < TELLING else "spread too wide to heft alone"
