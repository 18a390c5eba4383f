"""What a club may expect of each hand: limits, how often it was right so far, lifts still needed, drift."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.core.arrays import Floats, numbers
from apiarybook.reckon.hefting.agreement import LEAST_FOR_SPREAD, kappa, limits, line
from apiarybook.reckon.hefting.calibration import (
    Calibration,
    Sums,
    belief,
    half_width,
    held_to_belief,
    priors,
    sound_pairs,
    sums,
    update,
)

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

WORDS = ("light", "about right", "heavy")
MOST_LIFTS = 40
"""Lifts up to which is looked; a hand that needs more is better served by the scale."""
WIDEST = 100.0
"""Ratio of the interval's end to its middle beyond which no width is told apart any more."""
PER_CENT = 100.0
DAYS_A_YEAR = 365.25


def lifts_needed(
    known: Calibration,
    gross: ArrayLike,
    wish: ArrayLike,
    variance: ArrayLike | None = None,
) -> Floats:
    """Give how many more lifts must be weighed until a heft is as close as the club wishes.

    The interval is that of a hive of the gross given.

    Args:
        known: what is known of the hands, shape (hands,).
        gross: gross of a usual hive [kg], scalar or shape (hands,).
        wish: half-width of the interval that is wished [kg], scalar or shape (hands,).
        variance: that of the further lifts [1], shape (hands,); as it is now expected when left out or blank.

    Returns:
        fewest further lifts [count]: 0 where it is close enough now, infinity where the hand's own spread is too
        wide or over 40 lifts are needed, NaN where the gross or the wish is no mass.

    >>> nobody = priors(sums([], np.array([], dtype=np.int64), 0), belief())
    >>> [lifts_needed(nobody, 30.0, wish).tolist() for wish in (10.0, 8.5, 8.0, 5.0)]
    [[0.0], [2.0], [5.0], [inf]]
    """
    usual, close = (np.broadcast_to(numbers(v), known.mean.shape) for v in (gross, wish))
    further = np.arange(MOST_LIFTS + 1, dtype=np.float64)
    expected = known.rate / np.maximum(known.shape - 1, np.finfo(np.float64).tiny)
    coming = expected if variance is None else np.where(np.isnan(numbers(variance)), expected, numbers(variance))
    shape, weight = known.shape[:, None] + further / 2, known.weight[:, None] + further
    then = Calibration(np.zeros_like(shape), weight, shape, known.rate[:, None] + further / 2 * coming[:, None])
    # A half-width h in the logarithm is sinh(h) of the gross to either side on the mean.
    enough = usual[:, None] * np.sinh(np.minimum(half_width(then), np.log(WIDEST))) <= close[:, None]
    fewest = np.where(enough.any(axis=1), enough.argmax(axis=1), np.inf)
    return np.where((usual > 0) & (close > 0), fewest, np.nan)


def held_so_far(error: ArrayLike, prior: Calibration) -> NDArray[np.bool_]:
    """Tell for each lift of one hand whether the interval foretold from the lifts before it held the scale's word.

    Args:
        error: errors of one hand in the order of time [1], shape (n,), no blanks.
        prior: what was known of it before the first, one hand.

    >>> nobody = priors(sums([], np.array([], dtype=np.int64), 0), belief())
    >>> held_so_far([0.1, 0.5, 0.1], nobody).tolist()
    [True, False, True]
    """
    given = numbers(error)
    if given.size == 0:
        return np.zeros(0, dtype=np.bool_)
    before = np.arange(len(given), dtype=np.float64)
    mean = np.concatenate(([0.0], np.cumsum(given)[:-1])) / np.maximum(before, 1.0)
    moved = np.concatenate(([0.0], (given[:-1] - mean[:-1]) * (given[:-1] - mean[1:])))
    known = update(prior, Sums(before, mean, np.cumsum(np.maximum(moved, 0.0))))
    return np.asarray(np.abs(given - known.mean) <= half_width(known))


def hands_report(pairs: pd.DataFrame) -> pd.DataFrame:
    """Report each hand that has guessed.

    Args:
        pairs: by, error ln(gross / guess) [1], word, day (number of the day); words are left aside.

    Returns:
        one row a hand, in the order of names: by, pairs; bias, lower and upper, guess over gross less one [%], each
        with its 95 % interval (.._low, .._high), as far as the pairs can tell; held, share of lifts that
        the interval foretold held [1]; by_size, change of that bias for a hive twice as heavy [%], and its chance
        without any, by_size_chance; drift, change of that bias in a year [%], its standard error drift_error and
        chance.

    >>> pairs = pd.DataFrame({"by": "Ann", "error": [0.1, 0.14, 0.06, 0.1], "word": "", "day": [1.0, 2.0, 3.0, 4.0]})
    >>> hands_report(pairs)[["pairs", "bias", "lower", "upper", "held"]].round(1).to_numpy().tolist()
    [[4.0, -9.5, -15.1, -3.5, 1.0]]
    """
    sound = sound_pairs(pairs)
    sound = sound[sound["word"] == ""].sort_values(["hand", "day"], kind="stable")
    names, at = np.unique(sound["hand"].to_numpy(dtype=np.str_), return_inverse=True)
    error = sound["error"].to_numpy(dtype=np.float64)
    own, held = sums(error, at, len(names)), belief()
    prior = priors(sums(held_to_belief(error, held), at, len(names), sound["day"]), held)
    prior = Calibration(prior.mean[1:], prior.weight[1:], prior.shape[1:], prior.rate[1:])
    found = pd.DataFrame({"by": sound.groupby("hand", sort=True)["by"].first().to_numpy(dtype=object)})
    found["pairs"] = own.pairs
    _limits(found, own)
    found["held"] = _shares(error, own, prior)
    _drift(found, sound["day"], error, at)
    _by_size(found, sound, error, at)
    return found


def words_report(pairs: pd.DataFrame) -> pd.DataFrame:
    """Report how well each hand's words agree with the scale.

    What the scale says is put into words too: light, about right or heavy, with the bounds midway between what these
    words usually mean of the target gross.

    Args:
        pairs: by, error ln(gross / target) [1], word; guesses are left aside.

    Returns:
        one row a hand that has used words, in the order of names: by, words, how many; kappa, weighted, and its
        standard error kappa_error; NaN where all words are one.

    >>> lifts = {"by": "Bo", "error": [-0.2, 0.0, 0.2, 0.0], "word": ["light", "about right", "heavy", "heavy"]}
    >>> words_report(pd.DataFrame(lifts)).round(2).to_numpy().tolist()
    [['Bo', 4.0, 0.71, 0.25]]
    """
    sound = sound_pairs(pairs)
    sound = sound[sound["word"] != ""]
    means = [belief(word).mean for word in WORDS]
    bounds = [(low + high) / 2 for low, high in pairwise(means)]
    rows = []
    for _, own in sound.groupby("hand", sort=True):
        said = np.array([WORDS.index(word) for word in own["word"]])
        weighed = np.searchsorted(bounds, own["error"].to_numpy(dtype=np.float64))
        cells = np.bincount(said * len(WORDS) + weighed, minlength=len(WORDS) ** 2)
        told = kappa(cells.reshape(len(WORDS), len(WORDS)))
        rows.append((own["by"].iloc[0], float(len(own)), told.kappa, told.error))
    return pd.DataFrame(rows, columns=["by", "words", "kappa", "kappa_error"])


def _limits(found: pd.DataFrame, own: Sums) -> None:
    """Add bias and limits of guess over gross: signs turn, for an error is gross over guess."""
    deviation = np.sqrt(own.squares / np.maximum(own.pairs - 1, 1.0))
    spread = np.where(own.pairs >= LEAST_FOR_SPREAD, deviation, np.nan)
    told = limits(own.pairs, -own.mean, spread, exact=True)
    parts = {"bias": (told.bias, told.bias_within), "lower": (told.lower, told.lower_within)}
    parts["upper"] = (told.upper, told.upper_within)
    for name, (middle, (low, high)) in parts.items():
        for end, value in (("", middle), ("_low", low), ("_high", high)):
            # Limits of two wild pairs reach beyond any ratio that a number can hold.
            found[f"{name}{end}"] = PER_CENT * np.expm1(np.minimum(value, np.log(np.finfo(np.float64).max / PER_CENT)))


def _shares(error: Floats, own: Sums, prior: Calibration) -> Floats:
    ends = np.cumsum(own.pairs.astype(np.int64))
    shares = []
    for at, (start, end) in enumerate(zip(ends - own.pairs.astype(np.int64), ends, strict=True)):
        before = Calibration(prior.mean[at], prior.weight[at], prior.shape[at], prior.rate[at])
        shares.append(held_so_far(error[start:end], before).mean())
    return np.array(shares, dtype=np.float64)


def _by_size(found: pd.DataFrame, sound: pd.DataFrame, error: Floats, at: NDArray[np.int64]) -> None:
    """Whether the bias follows the size: a line of the errors on the mean of both logarithms (Bland and Altman)."""
    found["by_size"], found["by_size_chance"] = np.nan, np.nan
    if "gross" not in sound:
        return
    told = line(np.log(numbers(sound["gross"])) - error / 2, -error, at, len(found))
    found["by_size"], found["by_size_chance"] = PER_CENT * np.expm1(np.log(2) * told.slope), told.chance


def _drift(found: pd.DataFrame, day: ArrayLike, error: Floats, at: NDArray[np.int64]) -> None:
    told = line(day, -error, at, len(found))
    found["drift"], found["drift_error"] = (PER_CENT * DAYS_A_YEAR * v for v in (told.slope, told.slope_error))
    found["drift_chance"] = told.chance
