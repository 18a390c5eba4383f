"""What each hand's hefting is worth."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from apiarybook.reckon.core.arrays import figure, words
from apiarybook.reckon.hefting.calibration import calibrate, half_width, hefting, sound_pairs, sums
from apiarybook.reckon.hefting.trust import WIDEST, lifts_needed

if TYPE_CHECKING:
    import pandas as pd

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
