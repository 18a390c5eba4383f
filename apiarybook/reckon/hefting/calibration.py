"""Each hand as an instrument: its bias and spread from lifts that were also weighed, the club's other hands as prior.

An error is e = ln(gross / guess), or for a word e = ln(gross / target gross). Within a hand (and a word) errors are
taken as Normal with unknown mean and variance, their prior as Normal-inverse-gamma, so that posterior and prediction
have a closed form (Gelman et al., Bayesian Data Analysis, 3rd edition, 3.3; Hoff, A First Course in Bayesian
Statistical Methods, 5.3). The prior's figures come from the club's other hands: one-way variance components.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy.special import stdtrit

from apiarybook.reckon.core.arrays import Floats, figure, numbers, words

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


ANY_HAND = "any other hand"
PRIOR_SHAPE = 3.0
"""Shape a0 of the Normal-inverse-gamma prior of a hand: worth six pairs, so that its variance exists."""


def default_hand() -> pd.DataFrame:
    """The row for a hand that has no pairs: no bias, and the spread of hands at large.

    Returns:
        one row: by, pairs, factor and spread for guesses, and the same for each word against the target gross.

    Source: predictive distribution of a Normal-inverse-gamma model (Student t with 2 a0 degrees of freedom,
    scale squared b0 (k0 + 1)/(a0 k0)) with the handbook's spreads within and between hands.

    >>> float(default_hand()["spread"].round(3).iloc[0])
    0.192
    """
    within, between = figure("hand_spread") ** 2, figure("hand_bias_spread") ** 2
    weight = within / between
    scale = (PRIOR_SHAPE - 1) * within * (weight + 1) / (PRIOR_SHAPE * weight)
    spread = float(np.sqrt(scale * PRIOR_SHAPE / (PRIOR_SHAPE - 1)))
    words = {"light": "word_light", "right": "word_about_right", "heavy": "word_heavy"}
    row: dict[str, object] = {"by": ANY_HAND, "pairs": 0.0, "factor": 1.0, "spread": spread}
    for word, name in words.items():
        row |= {f"{word}_factor": float(np.exp(figure(name))), f"{word}_spread": figure("word_spread")}
    return pd.DataFrame([row])


BELIEF_WEIGHT = 4.0
"""Degrees of freedom that the handbook's spreads are worth against those of the club."""
WEIGHT_LOW, WEIGHT_HIGH = 0.5, 10.0
"""Bounds of k0, the number of pairs that the prior's mean is worth."""
LEAST_HANDS = 3
"""Hands with pairs from which a spread between hands can be told."""
NINE_IN_TEN = 0.9
BLOCK = 1_000_000
"""Cells of the table of hands by hands that are held in memory at once."""
KINDS = {"": "", "light": "light_", "about right": "right_", "heavy": "heavy_"}
"""The word of a pair, blank for a guess, and how the columns of its figures begin."""
_BELIEFS = {"light": "word_light", "about right": "word_about_right", "heavy": "word_heavy"}


@dataclass(frozen=True, slots=True)
class Belief:
    """What is held of hands at large before any pair: mean error, spread within a hand and between hands [1]."""

    mean: float
    within: float
    between: float


@dataclass(frozen=True, slots=True)
class Calibration:
    """Normal-inverse-gamma state of knowledge of hands, each array of one shape.

    Attributes:
        mean: expected mean error [1].
        weight: pairs that the mean is worth [1].
        shape: half the degrees of freedom of the variance [1].
        rate: shape times the scale of the variance [1].
    """

    mean: Floats
    weight: Floats
    shape: Floats
    rate: Floats


@dataclass(frozen=True, slots=True)
class Sums:
    """Pairs of hands summed up: how many, their mean error and the sum of squares about it, each shape (hands,).

    `worth` is how many independent pairs the mean is worth: fewer than there are where several were of one day; as many
    where it is left out.
    """

    pairs: Floats
    mean: Floats
    squares: Floats
    worth: Floats | None = None

    @property
    def weight(self) -> Floats:
        """Pairs that the mean is worth [1]."""
        return self.pairs if self.worth is None else self.worth


def log_error(gross: ArrayLike, judged: ArrayLike) -> Floats:
    """Give the error of a heft as a log ratio.

    Args:
        gross: gross by scale [kg], any shape.
        judged: the guess, or the target gross where a word was said [kg]; broadcasts.

    Returns:
        ln(gross / judged) [1]; NaN for blanks and where either is not a mass above zero.

    >>> log_error([22.0, 30.0, 30.0], [20.0, 0.0, -3.0]).round(4).tolist()
    [0.0953, nan, nan]
    """
    scale, hand = np.broadcast_arrays(numbers(gross), numbers(judged))
    sound = (scale > 0) & (hand > 0) & np.isfinite(scale) & np.isfinite(hand)
    return np.asarray(np.log(np.where(sound, scale, np.nan)) - np.log(np.where(sound, hand, 1.0)))


def belief(word: str = "") -> Belief:
    """Give the handbook's figures of hands at large.

    A word's spread is one figure; it is shared out within and between hands as that of guesses is.

    Args:
        word: light, about right or heavy, or blank for a guess.

    Raises:
        KeyError: `word` is no heft word.

    >>> belief("light")
    Belief(mean=-0.2, within=0.117..., between=0.093...)
    """
    within, between = figure("hand_spread"), figure("hand_bias_spread")
    if not word:
        return Belief(0.0, within, between)
    share = figure("word_spread") / np.hypot(within, between)
    return Belief(figure(_BELIEFS[word]), float(within * share), float(between * share))


def sums(error: ArrayLike, hand: NDArray[np.int64], hands: int, day: ArrayLike | None = None) -> Sums:
    """Sum errors up by hand.

    What a hand gets wrong alike all day (how it stands, what it wears, wet hives) does not average out within the day:
    errors of one day have the share ``hand_day_share`` of their variance in common.

    Args:
        error: errors [1], shape (n,), no blanks.
        hand: hand of each, counted from 0.
        hands: how many hands there are.
        day: day of each; a blank is a day of its own, and so are all where it is left out.

    Source: generalised least squares with equal correlation within a day (Searle, Casella and McCulloch, Variance
    Components, 3.2).

    >>> sums([0.1, 0.3], np.array([1, 1]), 2).squares.round(3).tolist()
    [0.0, 0.02]
    >>> sums([0.1, 0.3], np.array([0, 0]), 1, day=[46300.0, 46300.0]).weight.round(2).tolist()
    [1.67]
    """
    given = numbers(error)
    pairs = np.bincount(hand, minlength=hands).astype(np.float64)
    days = np.full(len(given), np.nan) if day is None else numbers(day)
    alone = np.isnan(days)
    _, at = np.unique(
        np.column_stack([hand, alone, np.where(alone, np.arange(len(given)), days)]), axis=0, return_inverse=True
    )
    common, of_day = figure("hand_day_share"), np.bincount(at).astype(np.float64)
    who = np.zeros(len(of_day), dtype=np.int64)
    who[at] = hand
    middle = np.bincount(at, given) / np.maximum(of_day, 1.0)
    weight = 1 / (common + (1 - common) / of_day)
    worth = np.bincount(who, weight, minlength=hands)
    mean = np.bincount(who, weight * middle, minlength=hands) / np.where(worth > 0, worth, 1.0)
    between = np.bincount(who, weight * (middle - mean[who]) ** 2, minlength=hands)
    inside = np.bincount(hand, (given - middle[at]) ** 2, minlength=hands)
    squares = between.astype(np.float64) + inside / (1 - common)
    return Sums(pairs, np.asarray(mean), squares, worth.astype(np.float64))


def without_outliers(error: ArrayLike, hand: NDArray[np.int64], hands: int, held: Belief) -> Floats:
    """Hold each hand's errors to what it usually gets wrong, so that a few gross outliers do not move it.

    Args:
        error: errors [1], shape (n,), no blanks.
        hand: hand of each, counted from 0.
        hands: how many hands there are.
        held: what is held of hands at large.

    Returns:
        the errors, those beyond ``balance_ask`` spreads of the hand's middle one drawn in to there; the spread is
        the greater of that of hands at large and the hand's own by its median deviation. Of a hand with fewer than
        three pairs no middle can be told; they are held as `held_to_belief` does.

    Source: Huber and Ronchetti, Robust Statistics, 2nd edition, 1.3 and 5.1 (winsorised values, median deviation).

    >>> without_outliers([0.1, 0.0, 0.2, 0.1, -2.3], np.zeros(5, dtype=np.int64), 1, belief()).round(2).tolist()
    [0.1, 0.0, 0.2, 0.1, -0.35]
    """
    given = numbers(error)
    found = held_to_belief(given, held)
    for one in range(hands):
        own = hand == one
        if own.sum() >= LEAST_FOR_MIDDLE:
            middle = np.median(given[own])
            spread = max(held.within, NORMAL_DEVIATION * float(np.median(np.abs(given[own] - middle))))
            reach = figure("balance_ask") * spread
            found[own] = np.clip(given[own], middle - reach, middle + reach)
    return found


LEAST_FOR_MIDDLE = 3
"""Pairs from which a hand's middle error can be told."""
NORMAL_DEVIATION = 1.4826
"""Standard deviation of a Normal for a median deviation of 1."""


def held_to_belief(error: ArrayLike, held: Belief) -> Floats:
    """Hold errors within three standard uncertainties of a hand at large, for what they say of other hands.

    One absurd guess (pounds for kilograms, a slip of a digit) widens its own hand and must not move the rest.

    >>> held_to_belief([-2.3, 0.1], belief()).round(3).tolist()
    [-0.576, 0.1]
    """
    bound = figure("balance_ask") * np.hypot(held.within, held.between)
    return np.clip(numbers(error), held.mean - bound, held.mean + bound)


def priors(club: Sums, held: Belief) -> Calibration:
    """Give the prior of each hand from the club's other hands.

    Args:
        club: pairs summed up by hand, shape (hands,); hands without pairs are allowed.
        held: what is held of hands at large.

    Returns:
        calibrations, shape (hands + 1,): first that of a hand without pairs from all hands, then that of each hand
        with the hand itself left out.

    Source: one-way variance components by analysis of variance (Searle, Casella and McCulloch, Variance Components,
    3.6), shrunk to the handbook's figures; precision-weighted mean of the hands' means.

    >>> nobody = priors(sums([], np.array([], dtype=np.int64), 0), belief())
    >>> nobody.mean.tolist(), nobody.weight.round(4).tolist()
    ([0.0], [1.5625])
    """
    within, between = _components(club, held)
    mean = _club_means(club, held, within, between)
    shape = np.full_like(within, PRIOR_SHAPE)
    weight = np.clip(within / between, WEIGHT_LOW, WEIGHT_HIGH)
    return Calibration(mean, weight, shape, (PRIOR_SHAPE - 1) * within)


def _without_each(values: Floats) -> Floats:
    """Give the sum of all, then the sum without each."""
    return np.asarray(np.maximum(values.sum() - np.concatenate(([0.0], values)), 0.0))


def _components(club: Sums, held: Belief) -> tuple[Floats, Floats]:
    """Give the variance within and between hands, shape (hands + 1,)."""
    some = club.pairs > 0
    centred = np.where(some, club.mean - held.mean, 0.0)
    hands = np.rint(_without_each(some.astype(np.float64)))
    freedom = np.rint(_without_each(np.maximum(club.pairs - 1, 0.0)))
    inside = _without_each(club.squares)
    within = (BELIEF_WEIGHT * held.within**2 + inside) / (BELIEF_WEIGHT + freedom)
    worth, whole = club.weight, _without_each(club.weight)
    total = (worth * centred).sum() - np.concatenate(([0.0], worth * centred))
    outside = np.maximum(_without_each(worth * centred**2) - total**2 / np.where(whole > 0, whole, 1.0), 0.0)
    alike = whole - _without_each(worth**2) / np.where(whole > 0, whole, 1.0)
    # With one pair a hand nothing is known within hands but the handbook's figure.
    mean_square = np.where(freedom > 0, inside / np.maximum(freedom, 1.0), within)
    component = np.maximum(outside - (hands - 1) * mean_square, 0.0) / np.where(alike > 0, alike, 1.0)
    shrunk = (BELIEF_WEIGHT * held.between**2 + (hands - 1) * component) / (BELIEF_WEIGHT + hands - 1)
    return within, np.where(hands >= LEAST_HANDS, shrunk, held.between**2)


def _club_means(club: Sums, held: Belief, within: Floats, between: Floats) -> Floats:
    """Give the mean of all hands' means, then that without each, shape (hands + 1,)."""
    some = np.flatnonzero(club.pairs > 0)
    rows = len(within)
    mean = np.empty(rows)
    step = max(1, BLOCK // max(1, len(some)))
    for start in range(0, rows, step):
        block = np.arange(start, min(rows, start + step))
        spread = between[block, None] + within[block, None] / club.weight[None, some]
        weights = np.where(block[:, None] == some[None, :] + 1, 0.0, 1 / spread)
        told = (weights * (club.mean[some] - held.mean)).sum(axis=1)
        mean[block] = held.mean + told / (weights.sum(axis=1) + 1 / held.between**2)
    return mean


def update(prior: Calibration, own: Sums) -> Calibration:
    """Give what is known of hands after their own pairs.

    Args:
        prior: what is known before, any shape.
        own: their pairs; broadcasts.

    Returns:
        calibrations of the common shape; the prior itself where there are no pairs.

    Source: Hoff, A First Course in Bayesian Statistical Methods, 5.3.

    >>> before = Calibration(*(np.array(v) for v in (1.9, 1.0, 0.5, 0.005)))
    >>> y = [1.64, 1.70, 1.72, 1.74, 1.82, 1.82, 1.82, 1.90, 2.08]
    >>> after = update(before, sums(y, np.zeros(9, dtype=np.int64), 1))
    >>> after.mean.round(3).tolist(), after.rate.round(5).tolist()
    ([1.814], [0.07662])
    """
    weight = prior.weight + own.weight
    mean = (prior.weight * prior.mean + own.weight * own.mean) / weight
    moved = prior.weight * own.weight / weight * (own.mean - prior.mean) ** 2
    return Calibration(mean, weight, prior.shape + own.pairs / 2, prior.rate + (own.squares + moved) / 2)


def predicted_scale(known: Calibration) -> Floats:
    """Give the scale of the Student t distribution of a hand's next error, with 2 x shape degrees of freedom [1]."""
    return np.asarray(np.sqrt(known.rate * (known.weight + 1) / (known.shape * known.weight)))


def predicted_spread(known: Calibration) -> Floats:
    """Give the standard uncertainty of a hand's next error, from the variance of that Student t [1].

    Returns:
        relative standard uncertainty of a gross from a heft; infinite where no variance exists.
    """
    beyond = np.maximum(known.shape - 1, 0.0)
    with np.errstate(divide="ignore"):
        return np.asarray(np.sqrt(known.rate * (known.weight + 1) / (beyond * known.weight)))


def half_width(known: Calibration, level: float = NINE_IN_TEN) -> Floats:
    """Give half the width of the interval that holds a hand's next error.

    Args:
        known: what is known of the hands, any shape.
        level: share of intervals that hold the truth [1].

    Returns:
        half-width in the logarithm [1]: the gross lies within guess x exp(mean -+ half-width).

    >>> some = priors(sums([], np.array([], dtype=np.int64), 0), belief())
    >>> half_width(some).round(3).tolist()
    [0.305]
    """
    return np.asarray(stdtrit(2 * known.shape, (1 + level) / 2)) * predicted_scale(known)


def sound_pairs(pairs: pd.DataFrame) -> pd.DataFrame:
    """Keep the pairs that can say something of a hand: a name, an error that is a number, a guess or a heft word.

    Args:
        pairs: by, error ln(gross / guess) or ln(gross / target) [1], word (blank for a guess).

    Returns:
        those rows and columns as they came, and hand: the name as spreadsheets match it, case ignored.
    """
    name = np.atleast_1d(np.char.strip(words(pairs["by"]))).astype(object)
    kept = pairs.assign(
        by=name,
        error=pd.to_numeric(pairs["error"], errors="coerce").astype(np.float64),
        word=np.char.lower(words(pairs["word"])).astype(object),
        hand=np.char.lower(name.astype(np.str_)).astype(object),
    )
    sound = np.isfinite(kept["error"]) & (kept["hand"] != "") & (kept["hand"] != ANY_HAND) & kept["word"].isin([*KINDS])
    chosen: pd.DataFrame = kept.loc[sound]
    return chosen


def calibrate(pairs: pd.DataFrame, hands: NDArray[np.object_], word: str = "") -> Calibration:
    """Calibrate hands for guesses or for one word.

    Args:
        pairs: sound pairs (`sound_pairs`); a column day tells which were of one day.
        hands: names of the hands as in the column hand, sorted, shape (hands,).
        word: the word, blank for guesses.

    Returns:
        calibrations, shape (hands + 1,): first that of any other hand.
    """
    chosen = pairs[pairs["word"] == word]
    at = np.searchsorted(hands.astype(np.str_), chosen["hand"].to_numpy(dtype=np.str_))
    error, held = chosen["error"].to_numpy(dtype=np.float64), belief(word)
    day = chosen.get("day")
    prior = priors(sums(held_to_belief(error, held), at, len(hands), day), held)
    own = sums(without_outliers(error, at, len(hands), held), at, len(hands), day)
    parts = (own.pairs, own.mean, own.squares, own.weight)
    return update(prior, Sums(*(np.concatenate(([0.0], part)) for part in parts)))


def hefting(pairs: pd.DataFrame) -> pd.DataFrame:
    """Calibrate every hand of a club.

    Args:
        pairs: hefts of colonies weighed the same day with the same kit: by, error [1], word (blank for a guess).

    Returns:
        the sheet Hefting: any other hand first, then each hand with pairs in the order of its name; pairs counts
        guesses and words together, factor is gross per guess (or per target gross), spread its relative standard
        uncertainty. Pairs whose error is no number count for nothing.

    >>> pairs = pd.DataFrame({"by": ["Ann"] * 4, "error": [0.1, 0.14, 0.06, 0.1], "word": ""})
    >>> hefting(pairs)[["by", "pairs", "factor", "spread"]].round(3).to_numpy().tolist()
    [['any other hand', 0.0, 1.046, 0.166], ['Ann', 4.0, 1.075, 0.124]]
    """
    sound = sound_pairs(pairs)
    if sound.empty:
        return default_hand()
    by_hand = sound.groupby("hand", sort=True)
    hands = by_hand["by"].first()
    counted = by_hand["error"].size().to_numpy(dtype=np.float64)
    figures: dict[str, object] = {
        "by": [ANY_HAND, *hands.tolist()],
        "pairs": np.concatenate(([0.0], counted)),
    }
    for word, begin in KINDS.items():
        known = calibrate(sound, hands.index.to_numpy(dtype=object), word)
        figures |= {f"{begin}factor": np.exp(known.mean), f"{begin}spread": predicted_spread(known)}
    return pd.DataFrame(figures)
