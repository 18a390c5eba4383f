"""Lifts that were both hefted and weighed: what every hand is calibrated from."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.core.arrays import figure, numbers, words
from apiarybook.reckon.core.winter import serials
from apiarybook.reckon.hefting.calibration import log_error
from apiarybook.reckon.hive.weighings import HEFT_WORDS, OCCASIONS, ROUTINE, hefts

if TYPE_CHECKING:
    from numpy.typing import NDArray

FINE = 0.5
"""A scale judges a hand if its standard uncertainty is at most this share of the usual spread of one hand's guesses:
it then adds no more than an eighth to the spread that is found."""
SAME_KIT = ["colony_row", "day", "type_row", "extras", "order"]
KEYS = ["place", "by", "day", "colony", "word", "judged", "gross", "error", "off", "practice"]


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
        day [kg]; gross by scale [kg]; error, ln(gross / judged) [1]; off, by how much the heft was too high [1];
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
            "practice": np.where(occasion == "practice", "practice", "").astype(object),
            "colony_row": found["colony_row"].to_numpy(),
            "type_row": found["type_row"].to_numpy(),
            "extras": numbers(found["extras"]),
            "order": [OCCASIONS.get(one, ROUTINE) for one in occasion],
        }
    )
    own = every[said & fine]
    apart = _apart(every, said & (how == "heft"), fine)
    both = pd.concat([own, apart])
    both["hand"] = np.char.lower(words(both["by"])).astype(object)
    both = both.sort_values(["word", "hand", "day", "place"], kind="stable")
    both["error"] = log_error(both["gross"], both["judged"])
    both["off"] = np.expm1(-both["error"])
    sound = (both["by"] != "") & np.isfinite(both["error"])
    kept: pd.DataFrame = both.loc[sound, KEYS].reset_index(drop=True)
    return kept


def with_earlier(now: pd.DataFrame, earlier: pd.DataFrame | None) -> pd.DataFrame:
    """Put the lifts of earlier winters before this winter's, so that hands go on where they left off.

    Args:
        now: the frame of `pairs`.
        earlier: by, word (blank for a guess) and error [1]; None where there were none.

    Returns:
        by, word and error of all.
    """
    keys = ["by", "word", "error"]
    if earlier is None or earlier.empty:
        return now[keys]
    before = earlier[keys].assign(word=words(earlier["word"]).astype(object))
    return before if now.empty else pd.concat([before, now[keys]], ignore_index=True)


def _apart(every: pd.DataFrame, hefted: NDArray[np.bool_], fine: NDArray[np.bool_]) -> pd.DataFrame:
    """Rows of hefting, with the gross of the weighing that goes with each."""
    scale = every[fine].drop_duplicates(SAME_KIT, keep="last")
    judged = every[hefted].drop(columns="gross").merge(scale[[*SAME_KIT, "gross"]], on=SAME_KIT)
    return judged.reindex(columns=every.columns)
