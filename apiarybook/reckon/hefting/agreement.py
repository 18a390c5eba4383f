"""How well a heft agrees with the scale: bias, limits, their intervals, dependence on size and on time, kappa.

Bland and Altman, Statistical methods for assessing agreement between two methods of clinical measurement, Lancet
i:307 (1986), and Measuring agreement in method comparison studies, Stat Methods Med Res 8:135 (1999). Bias is the
difference of the two; for hefting differences are taken of logarithms, so that they read as ratios.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import stdtr, stdtrit

from apiarybook.reckon.core.arrays import Floats, numbers

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

NINETEEN_IN_TWENTY = 0.95
LIMITS = 1.96
"""Standard deviations from bias to limit in the 1999 paper; that of 1986 has 2."""
LEAST_FOR_SPREAD = 2
LEAST_FOR_LINE = 3
SLOPE_CHANCE = 0.05
"""Chance of a slope at least as large without any, under which one is spoken of."""
LEAST_RATINGS = 2

Interval = tuple[Floats, Floats]


@dataclass(frozen=True, slots=True)
class Agreement:
    """Bias and limits of agreement, each array of one shape, in the unit of the differences.

    Attributes:
        pairs: how many differences.
        bias: their mean.
        spread: their standard deviation.
        lower, upper: limits of agreement.
        bias_error, limit_error: standard errors of the bias and of a limit.
        bias_within, lower_within, upper_within: intervals of bias and limits.
    """

    pairs: Floats
    bias: Floats
    spread: Floats
    lower: Floats
    upper: Floats
    bias_error: Floats
    limit_error: Floats
    bias_within: Interval
    lower_within: Interval
    upper_within: Interval


@dataclass(frozen=True, slots=True)
class Line:
    """A least-squares straight line for each group, each array of shape (groups,); NaN where none can be told."""

    pairs: Floats
    intercept: Floats
    slope: Floats
    slope_error: Floats
    chance: Floats
    spread: Floats


@dataclass(frozen=True, slots=True)
class Kappa:
    """Agreement of two ratings beyond chance, and its standard error."""

    kappa: float
    error: float


def limits(pairs: ArrayLike, bias: ArrayLike, spread: ArrayLike, times: float = LIMITS, *, exact: bool) -> Agreement:
    """Give limits of agreement from the moments of differences.

    Args:
        pairs: how many differences, any shape.
        bias: their mean; broadcasts.
        spread: their standard deviation, divisor n - 1; broadcasts.
        times: standard deviations from bias to limit.
        exact: standard error of a limit from the variances of mean and deviation, spread x sqrt(1/n +
            times^2/(2 (n - 1))), the papers' own derivation; else their approximation, spread x sqrt(3/n).

    Returns:
        agreement; intervals hold 95 in 100, by Student's t with n - 1 degrees of freedom. NaN with under two pairs.

    Source: Bland and Altman 1986 and 1999.

    >>> found = limits(17, -2.1, 38.8, 2.0, exact=False)
    >>> [round(float(end), 1) for end in (found.lower, *found.bias_within)]
    [-79.7, -22.0, 17.8]
    """
    count, mean, deviation = np.broadcast_arrays(numbers(pairs), numbers(bias), numbers(spread))
    enough = count >= LEAST_FOR_SPREAD
    n = np.where(enough, count, np.nan)
    shrink = np.sqrt(1 / n + times**2 / (2 * (n - 1))) if exact else np.sqrt(3 / n)
    bias_error, limit_error = deviation / np.sqrt(n), deviation * shrink
    t = stdtrit(n - 1, (1 + NINETEEN_IN_TWENTY) / 2)
    low, high = mean - times * deviation, mean + times * deviation
    known = np.where(enough, 0.0, np.nan)
    return Agreement(
        pairs=np.asarray(count),
        bias=np.asarray(mean),
        spread=np.asarray(deviation + known),
        lower=low + known,
        upper=high + known,
        bias_error=bias_error,
        limit_error=limit_error,
        bias_within=(mean - t * bias_error, mean + t * bias_error),
        lower_within=(low - t * limit_error, low + t * limit_error),
        upper_within=(high - t * limit_error, high + t * limit_error),
    )


def line(x: ArrayLike, y: ArrayLike, group: ArrayLike | None = None, groups: int = 1) -> Line:
    """Fit a straight line of y on x in each group.

    Args:
        x: where, shape (n,).
        y: what, shape (n,); a row with a blank in either counts for nothing.
        group: group of each, counted from 0; all in one when left out.
        groups: how many groups there are.

    Returns:
        lines, shape (groups,); chance is that of a slope at least as large either way without any (Student's t).
        NaN where all x are equal; no error, spread or chance with under three points.

    >>> found = line([1.0, 2.0, 3.0, 4.0], [1.1, 1.9, 3.1, 3.9])
    >>> found.intercept.round(6).tolist(), found.slope.round(6).tolist()
    ([0.1], [0.96])
    """
    left, right = np.atleast_1d(numbers(x)), np.atleast_1d(numbers(y))
    known = np.isfinite(left) & np.isfinite(right)
    belongs = np.zeros(len(left), dtype=np.int64) if group is None else np.asarray(group, dtype=np.int64)
    at, left, right = belongs[known], left[known], right[known]
    pairs = np.bincount(at, minlength=groups).astype(np.float64)
    mean_x, mean_y = (np.bincount(at, v, minlength=groups) / np.maximum(pairs, 1.0) for v in (left, right))
    away_x, away_y = left - mean_x[at], right - mean_y[at]
    square = np.bincount(at, away_x**2, minlength=groups)
    # Equal x leave crumbs of rounding in the squares, which are no spread of x: ends are compared instead.
    lowest, highest = np.full(groups, np.inf), np.full(groups, -np.inf)
    np.minimum.at(lowest, at, left)
    np.maximum.at(highest, at, left)
    square = np.where((highest > lowest) & (square > 0), square, np.nan)
    slope = np.bincount(at, away_x * away_y, minlength=groups) / square
    rest = np.bincount(at, (away_y - slope[at] * away_x) ** 2, minlength=groups)
    freedom = np.where(pairs >= LEAST_FOR_LINE, pairs - 2, np.nan)
    spread = np.sqrt(rest / freedom)
    error = spread / np.sqrt(square)
    with np.errstate(divide="ignore", invalid="ignore"):
        chance = 2 * stdtr(freedom, -np.abs(slope / error))
    return Line(pairs, mean_y - slope * mean_x, slope, error, np.asarray(chance), spread)


def kappa(table: ArrayLike) -> Kappa:
    """Give weighted kappa of two ratings in ordered words, with linear weights.

    Args:
        table: how often each pair of ratings came, shape (k, k), rows by the first, columns by the second.

    Returns:
        kappa with its large-sample standard error; NaN where all ratings are one word, or there are none.

    Raises:
        ValueError: the table is not square with at least two ratings.

    Source: Fleiss, Cohen and Everitt, Large sample standard errors of kappa and weighted kappa, Psychological
    Bulletin 72:323 (1969).

    >>> round(kappa([[0, 4, 1], [0, 8, 0], [0, 1, 5]]).kappa, 4)
    0.4701
    """
    counts = numbers(table)
    if counts.ndim != LEAST_RATINGS or counts.shape[0] != counts.shape[1] or len(counts) < LEAST_RATINGS:
        message = f"a table of two ratings is square with at least two words; this one is {counts.shape}"
        raise ValueError(message)
    total = counts.sum()
    if not total > 0:
        return Kappa(np.nan, np.nan)
    share = counts / total
    at = np.arange(len(counts))
    weights = 1 - np.abs(at[:, None] - at[None, :]) / (len(counts) - 1)
    first, second = share.sum(axis=1), share.sum(axis=0)
    by_chance = first[:, None] * second[None, :]
    seen, expected = (weights * share).sum(), (weights * by_chance).sum()
    room = 1 - expected
    if room <= np.finfo(np.float64).eps:
        return Kappa(np.nan, np.nan)
    marginal = (weights @ second)[:, None] + (first @ weights)[None, :]
    found = (seen - expected) / room
    squares = (share * (weights * room - marginal * (1 - seen)) ** 2).sum()
    variance = (squares - (seen * expected - 2 * expected + seen) ** 2) / (total * room**4)
    return Kappa(float(found), float(np.sqrt(max(variance, 0.0))))
