"""What a club's own winters teach: how its colonies eat against the handbook, and the want that follows.

A colony's rate is what it ate over what the handbook foretells of it. Rates are lognormal between colonies; mean and
variance of their logarithm are unknown, with a Normal-inverse-gamma prior that is worth a few colonies. What was
weighed has its own uncertainty, and of a colony that starved only a lower bound is known, so the posterior is summed
up over a grid instead of written in closed form.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import betaincinv, ndtr, ndtri, stdtrit

from apiarybook.reckon.core.arrays import Floats, figure, numbers
from apiarybook.reckon.core.consumption import wide

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


LEVEL = 0.95
"""Share of intervals that hold the truth; usual in surveys of winter losses (common practice)."""
HALF = 0.5


def jeffreys(count: ArrayLike, of: ArrayLike, level: float = LEVEL) -> tuple[Floats, Floats]:
    """Give the Jeffreys interval of a share.

    Args:
        count: how many, any shape.
        of: out of how many; broadcasts.
        level: share of intervals that hold the truth [1].

    Returns:
        lower and upper end [1]: quantiles of Beta(count + 1/2, of - count + 1/2); NaN where there is nothing to count.

    Source: Brown, Cai and DasGupta 2001, Statistical Science 16(2):101-133, equation (6).

    >>> low, high = jeffreys([3, 0], [20, 0])
    >>> low.round(4).tolist(), high.round(4).tolist()
    ([0.0441, nan], [0.3486, nan])
    """
    seen, whole = np.broadcast_arrays(numbers(count), numbers(of))
    some = whole > 0
    a, b = np.where(some, seen + HALF, 1.0), np.where(some, whole - seen + HALF, 1.0)
    tail = (1 - level) / 2
    low, high = betaincinv(a, b, tail), betaincinv(a, b, 1 - tail)
    return np.where(some, low, np.nan), np.where(some, high, np.nan)


STEP = 0.015
LOG_RATES = np.arange(-3.0, 3.0 + STEP / 2, STEP)
"""Logarithms of rates over which all is summed: from a twentieth to twenty times the handbook's."""
FINEST = 0.02
"""Least standard uncertainty of a seen rate; finer would fall between the steps of the grid."""
FIRST_MEANS, FIRST_SPREADS = (-2.0, 2.0), (-3.0, 1.1)
"""Means of the logarithm of rates, and logarithms of their spread, that are thought of at first."""
GRID = 31, 25
"""Steps of the mean and of the spread."""
PASSES, LEAST_LIKELY = 3, 12.0
"""The grid is drawn closer round what is at least exp(-12) times as likely as the likeliest."""
COLONIES_AT_ONCE = 4096
LEAST_COLONIES = 5
"""Colonies under which nothing is said of a hive type."""


@dataclass(frozen=True, slots=True)
class Learnt:
    """The posterior predictive distribution of a colony's rate on the handbook's [1]: quantiles and colonies seen."""

    tenth: float
    median: float
    ninetieth: float
    colonies: int


@dataclass(frozen=True, slots=True)
class Prior:
    """Normal-inverse-gamma prior of the logarithm of rates."""

    mean: float
    weight: float
    shape: float
    rate: float


@cache
def prior() -> Prior:
    """The prior: the handbook's mean with its spread between colonies, worth as many colonies as the handbook says.

    Its predictive distribution has the 90 % quantile of a lognormal with mean 1 and that spread, so that colonies that
    go on eating as foretold change nothing in the long run.

    >>> known = prior()
    >>> round(known.mean, 4), known.weight, known.shape, round(known.rate, 4)
    (-0.0609, 4.0, 2.0, 0.1362)
    """
    weight = figure("prior_colonies")
    variance, shape = wide("colony") ** 2, weight / 2
    scale = _z() / stdtrit(2 * shape, figure("assurance")) * np.sqrt(variance)
    return Prior(float(-variance / 2), weight, shape, float(shape * scale**2 / (1 + 1 / weight)))


def _z() -> float:
    return float(ndtri(figure("assurance")))


@cache
def foretold() -> Learnt:
    """What is held before any colony was weighed in spring.

    >>> round(foretold().ninetieth, 3)
    1.472
    """
    middle, spread = prior().mean, wide("colony")
    low, high = (float(np.exp(middle + sign * _z() * spread)) for sign in (-1, 1))
    return Learnt(low, float(np.exp(middle)), high, 0)


def learn(rate: ArrayLike, uncertainty: ArrayLike, starved: ArrayLike) -> Learnt:
    """Learn the rates of one hive type from colonies that were weighed in autumn and spring.

    Args:
        rate: what each ate over what the handbook foretells of it [1], shape (n,); of a colony that starved, the least
            that it may have eaten. Blanks count for nothing.
        uncertainty: standard uncertainty of each [1], shape (n,).
        starved: whether each starved, shape (n,).

    Returns:
        quantiles of the posterior predictive distribution, the 10 and 90 % ones by the handbook's assurance.

    Source: Gelman et al., Bayesian Data Analysis, 3rd edition, 3.3 (prior), 8.7 (censored data).

    >>> learnt = learn([1.3, 1.2, 1.5, 1.1, 1.25], [0.05] * 5, [False] * 5)
    >>> round(learnt.median, 2), round(learnt.ninetieth, 2), learnt.colonies
    (1.1, 1.57, 5)
    """
    seen, spread = numbers(rate), np.maximum(numbers(uncertainty), FINEST)
    sound = np.isfinite(seen) & np.isfinite(spread)
    if not sound.any():
        return foretold()
    lower_bound = np.asarray(starved, dtype=np.bool_)
    means, spreads = FIRST_MEANS, FIRST_SPREADS
    for _ in range(PASSES):
        mean, log_spread = _cells(means, spreads)
        deviation = np.exp(log_spread)
        density = _density(mean, deviation)
        log_post = _log_prior(mean, deviation)
        log_post += _log_likelihood(seen[sound], spread[sound], lower_bound[sound], density)
        likely = log_post > log_post.max() - LEAST_LIKELY
        means, spreads = _closer(means, mean[likely]), _closer(spreads, log_spread[likely])
    weight = np.exp(log_post - log_post.max())
    cumulative = np.cumsum((weight / weight.sum()) @ density)
    assurance = figure("assurance")
    low, middle, high = np.interp([1 - assurance, HALF, assurance], cumulative, LOG_RATES + STEP / 2)
    return Learnt(float(np.exp(low)), float(np.exp(middle)), float(np.exp(high)), int(sound.sum()))


def _cells(means: tuple[float, float], spreads: tuple[float, float]) -> tuple[Floats, Floats]:
    """Mean and log spread of each cell of the grid."""
    mean, spread = np.meshgrid(np.linspace(*means, GRID[0]), np.linspace(*spreads, GRID[1]), indexing="ij")
    return mean.ravel(), spread.ravel()


def _closer(ends: tuple[float, float], likely: Floats) -> tuple[float, float]:
    """The ends of the next grid: what is likely, and a step to either side within the last."""
    step = (ends[1] - ends[0]) / min(GRID)
    return max(ends[0], float(likely.min()) - step), min(ends[1], float(likely.max()) + step)


def _density(mean: Floats, deviation: Floats) -> Floats:
    """Chance of each log rate in each cell, shape (cells, log rates)."""
    table = np.exp(-0.5 * ((LOG_RATES - mean[:, None]) / deviation[:, None]) ** 2)
    return np.asarray(table / table.sum(axis=1, keepdims=True))


def _log_prior(mean: Floats, deviation: Floats) -> Floats:
    """Logarithm of the prior per cell of mean and log spread, up to a constant."""
    known = prior()
    return np.asarray(
        -(2 * known.shape + 1) * np.log(deviation)
        - (known.rate + known.weight * (mean - known.mean) ** 2 / 2) / deviation**2
    )


def _log_likelihood(seen: Floats, spread: Floats, starved: NDArray[np.bool_], density: Floats) -> Floats:
    rates, total = np.exp(LOG_RATES), np.zeros(len(density))
    for start in range(0, len(seen), COLONIES_AT_ONCE):
        part = slice(start, start + COLONIES_AT_ONCE)
        off = (rates - seen[part, None]) / spread[part, None]
        told = np.where(starved[part, None], ndtr(off), np.exp(-0.5 * off**2))
        total += np.log(np.maximum(density @ told.T, np.finfo(np.float64).tiny)).sum(axis=1)
    return total


def suggested_want(want: float, comb_full: float, winter: float, least: float, learnt: Learnt) -> float:
    """Give the want that a hive type's winters suggest.

    Args:
        want: the want from which learning began [kg].
        comb_full: what its combs hold [kg].
        winter: what a colony of it eats from the day winter starts to the flow, by the handbook [kg].
        least: under which no want goes: its reserve floor [kg].
        learnt: what was learnt.

    Returns:
        want [kg]: moved by as much as the 90 % quantile of a winter's consumption moved; the want itself for under
        five colonies and where it would move by less than the least worth giving.

    >>> round(suggested_want(18.0, 21.2, 9.0, 5.0, Learnt(0.8, 1.2, 1.8, 40)), 2)
    20.95
    >>> suggested_want(18.0, 21.2, 9.0, 5.0, Learnt(0.8, 1.2, 1.8, 4))
    18.0
    """
    moved = want + winter * (learnt.ninetieth - foretold().ninetieth)
    better = min(max(comb_full, want), max(least, moved))
    if learnt.colonies < LEAST_COLONIES or abs(better - want) < figure("least_worth_giving"):
        return want
    return float(better)
