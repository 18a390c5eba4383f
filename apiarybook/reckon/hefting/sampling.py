"""Heft all, weigh some: totals from both, how many to weigh, and which colony next.

Two-phase (double) sampling with a regression estimate: Cochran, Sampling Techniques, 3rd edition, chapter 12; Brus,
Spatial Sampling with R, chapter 11. Expected change of a decision: the normal loss function (Raiffa and Schlaifer,
Applied Statistical Decision Theory, 5).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtr

from apiarybook.reckon.core.arrays import Floats, numbers
from apiarybook.reckon.hefting.agreement import line
from apiarybook.reckon.outlook.outlook import quantile

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

LEAST_FOR_SPREAD = 2
LEAST_FOR_LINE = 3
NINE_IN_TEN = 0.9
NO_SPREAD = 1e-9
"""Standard deviation [kg] up to which a figure is taken as certain."""


@dataclass(frozen=True, slots=True)
class TwoPhase:
    """A regression estimate from hefting all and weighing some.

    Attributes:
        mean: estimated mean over all [unit of y].
        error: its standard error.
        slope: change of the weighed figure per unit of the hefted one.
        spread: standard deviation of the weighed figures.
        residual: that about the line, divisor n - 2.
        hefted, weighed: how many.
    """

    mean: float
    error: float
    slope: float
    spread: float
    residual: float
    hefted: int
    weighed: int


def two_phase_variance(
    spread: ArrayLike, residual: ArrayLike, weighed: ArrayLike, hefted: ArrayLike, whole: ArrayLike = np.inf
) -> Floats:
    """Give the variance of the mean of a two-phase regression estimate.

    Args:
        spread: standard deviation of the weighed figures, any shape.
        residual: that about the line; broadcasts.
        weighed: how many were weighed, n; broadcasts.
        hefted: how many were hefted, N'; broadcasts.
        whole: of how many the mean is wanted, N: the hefted ones themselves, or infinitely many like them.

    Returns:
        residual^2/n + (spread^2 - residual^2)/N' - spread^2/N, never negative.

    >>> round(float(two_phase_variance(194.942, 116.497, 67, 306)), 1)
    282.4
    """
    total, rest = numbers(spread) ** 2, numbers(residual) ** 2
    variance = rest / numbers(weighed) + (total - rest) / numbers(hefted) - total / numbers(whole)
    return np.maximum(variance, 0.0)


def two_phase(weighed: ArrayLike, hefted: ArrayLike, *, of_these: bool = True) -> TwoPhase:
    """Estimate a mean when all were hefted and some of them weighed.

    Args:
        weighed: figure by scale (stores, or feed to give) [kg], shape (N',); blank where only hefted.
        hefted: the same figure by heft [kg], shape (N',); a blank row counts for nothing.
        of_these: whether the mean of these colonies is wanted, or of all like them.

    Returns:
        y_n + b (x_N - x_n). Where all hefts are equal the hefts tell nothing: the mean of those weighed. NaN with
        none weighed; no error under three (two where the hefts tell nothing).

    >>> found = two_phase([10.0, 12.0, 14.5, 15.5, None, None], [9.0, 11.0, 13.0, 15.0, 12.0, 18.0])
    >>> round(found.mean, 3), round(found.error, 3)
    (13.95, 0.137)
    """
    figure, guess = (np.atleast_1d(numbers(v)) for v in (weighed, hefted))
    figure, guess = figure[np.isfinite(guess)], guess[np.isfinite(guess)]
    both = np.isfinite(figure)
    n, everyone = int(both.sum()), len(guess)
    if n == 0:
        return TwoPhase(np.nan, np.nan, np.nan, np.nan, np.nan, everyone, 0)
    y, x = figure[both], guess[both]
    spread = float(y.std(ddof=1)) if n >= LEAST_FOR_SPREAD else np.nan
    fitted = line(x, y)
    tells = bool(np.isfinite(fitted.slope[0]))
    slope, residual = (float(fitted.slope[0]), float(fitted.spread[0])) if tells else (0.0, spread)
    variance = two_phase_variance(spread, residual, n, everyone, everyone if of_these else np.inf)
    # With all weighed the mean is the scale's, whatever the line.
    error = 0.0 if of_these and n == everyone else float(np.sqrt(variance))
    mean = float(y.mean() + slope * (guess.mean() - x.mean()))
    return TwoPhase(mean, error, slope, spread, residual, everyone, n)


def how_many_to_weigh(found: TwoPhase, wish: float, level: float = NINE_IN_TEN) -> float:
    """Give how many to weigh of those hefted until their total is known within a mass.

    Args:
        found: what is known so far.
        wish: half-width of the interval of the total [kg].
        level: share of intervals that hold the truth [1].

    Returns:
        fewest [count], at most all of them and no fewer than tell an error; NaN where the spread about the line is
        not known yet.

    >>> how_many_to_weigh(TwoPhase(11.99, 0.42, 0.6, 2.6, 2.41, 100, 25), 60.0)
    31.0
    """
    if not (np.isfinite(found.residual) and wish > 0):
        return np.nan
    aim = (wish / (float(quantile((1 + level) / 2)) * found.hefted)) ** 2
    fewest = np.ceil(found.residual**2 / (aim + found.residual**2 / found.hefted))
    return float(min(max(fewest, LEAST_FOR_LINE), found.hefted))


def best_share(correlation: ArrayLike, cost_ratio: ArrayLike) -> Floats:
    """Give the share to weigh of those hefted that gives the least variance for the work.

    Args:
        correlation: of hefted and weighed figures [1], any shape.
        cost_ratio: work of weighing one over that of hefting one [1]; broadcasts.

    Returns:
        n/N' = sqrt((1 - r^2)/r^2 / cost ratio), at most 1.

    Source: Cochran, Sampling Techniques, 3rd edition, 12.6, from memory; checked by search.

    >>> round(float(best_share(0.9, 10.0)), 4)
    0.1532
    """
    r2 = np.clip(numbers(correlation), -1.0, 1.0) ** 2
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.sqrt((1 - r2) / r2 / numbers(cost_ratio))
    return np.asarray(np.minimum(share, 1.0))


def loss(limit: ArrayLike, mean: ArrayLike, spread: ArrayLike) -> Floats:
    """Give the expected excess of a Normal figure over a limit, E max(X - limit, 0).

    Args:
        limit: the limit, any shape.
        mean: expected figure; broadcasts.
        spread: its standard deviation, 0 or more; broadcasts.

    Source: Raiffa and Schlaifer, Applied Statistical Decision Theory, 5.3 (linear loss).

    >>> loss(0.0, 0.0, 1.0).round(4).tolist(), loss(2.0, 5.0, 0.0).tolist()
    (0.3989, 3.0)
    """
    over, wide = np.broadcast_arrays(numbers(mean) - numbers(limit), numbers(spread))
    u = over / np.where(wide > NO_SPREAD, wide, 1.0)
    return np.where(wide > NO_SPREAD, wide * _density(u) + over * ndtr(u), np.maximum(over, 0.0))


def _density(u: Floats) -> Floats:
    return np.asarray(np.exp(-(u**2) / 2) / np.sqrt(2 * np.pi))


def _chance_over(limit: Floats, mean: Floats, spread: Floats) -> Floats:
    certain = np.where(mean > limit, 1.0, 0.0)
    return np.where(spread > NO_SPREAD, ndtr((mean - limit) / np.where(spread > NO_SPREAD, spread, 1.0)), certain)


def change_of_feed(
    short_by: ArrayLike, uncertainty: ArrayLike, left: ArrayLike, least: float, room: ArrayLike = np.inf
) -> Floats:
    """Give the kilograms of feed that a weighing is expected to change: the worth of weighing next.

    Feed goes to what is short, if more than the least worth giving, up to the room in the comb. A weighing moves what
    is thought short by a Normal amount of variance uncertainty^2 - left^2.

    Args:
        short_by: what the colony is short by on the evidence so far [kg in stores], shape (n,).
        uncertainty: its standard uncertainty [kg]; broadcasts.
        left: standard uncertainty that a weighing would leave [kg]; broadcasts.
        least: least worth giving [kg].
        room: room in the comb [kg]; broadcasts.

    Returns:
        expected absolute change [kg in stores], shape (n,); 0 where the comb is full; NaN for blanks.

    >>> change_of_feed([1.0, 5.0, -8.0], 3.0, 1.0, 1.0).round(2).tolist()
    [1.63, 2.23, 0.0]
    """
    parts = (numbers(short_by), numbers(uncertainty), numbers(left), numbers(room))
    short, before, after, full = np.broadcast_arrays(*parts)
    moves = np.sqrt(np.maximum(before**2 - after**2, 0.0))
    top = np.maximum(full, least)
    # `loss` over an endless room is nothing, but endless times nothing is no number.
    over_top = np.where(np.isinf(top), 0.0, loss(np.where(np.isinf(top), 0.0, top), short, moves))
    given = np.minimum(short, top)
    over_least = _chance_over(np.full_like(short, least), short, moves)
    none_now = least * over_least + loss(least, short, moves) - over_top
    more = loss(given, short, moves) - over_top
    fewer = loss(-given, -short, moves) - loss(-least, -short, moves) + least * (1 - over_least)
    change = np.where(short <= least, none_now, more + fewer)
    return np.where(np.isnan(short + moves), np.nan, np.where(full <= least, 0.0, np.maximum(change, 0.0)))


def expected_feed(short_by: ArrayLike, uncertainty: ArrayLike, least: float, room: ArrayLike = np.inf) -> Floats:
    """Give the feed that a colony is expected to turn out to need.

    Args:
        short_by: what it is short by on the evidence so far [kg in stores], shape (n,).
        uncertainty: its standard uncertainty [kg]; broadcasts; 0 gives what is needed if all is as it seems.
        least: least worth giving [kg]; nothing is fed up to it.
        room: room in the comb [kg]; broadcasts; no more is fed.

    Returns:
        expected feed [kg in stores], shape (n,); NaN for blanks.

    >>> expected_feed([10.0, 1.0, 0.0], [2.0, 2.0, 0.0], 1.0, [6.0, 20.0, 20.0]).round(2).tolist()
    [5.98, 1.3, 0.0]
    """
    short, spread, full = np.broadcast_arrays(numbers(short_by), numbers(uncertainty), numbers(room))
    over_least = _chance_over(np.full_like(short, least), short, spread)
    over_top = np.where(np.isinf(full), 0.0, loss(np.where(np.isinf(full), 0.0, full), short, spread))
    feed = least * over_least + loss(least, short, spread) - over_top
    return np.where(np.isnan(short + spread + full), np.nan, np.where(full <= least, 0.0, np.maximum(feed, 0.0)))


def feed_spread(short_by: ArrayLike, uncertainty: ArrayLike, least: float, room: ArrayLike = np.inf) -> Floats:
    """Give the standard deviation of the feed a colony will turn out to need.

    Args:
        short_by: what it is short by [kg in stores], shape (n,).
        uncertainty: its standard uncertainty [kg]; broadcasts.
        least: least worth giving [kg]; nothing is fed up to it.
        room: room in the comb [kg]; broadcasts; no more is fed.

    Returns:
        standard deviation [kg in stores], shape (n,): that of a Normal figure cut at both ends; NaN for blanks.

    >>> feed_spread([10.0, 1.0, -10.0], 2.0, 1.0).round(2).tolist()
    [2.0, 1.55, 0.0]
    """
    short, spread, full = np.broadcast_arrays(numbers(short_by), numbers(uncertainty), numbers(room))
    top = np.maximum(full, least)
    wide = np.where(spread > NO_SPREAD, spread, 1.0)
    low = (least - short) / wide
    high = np.where(np.isinf(top), 0.0, top - short) / wide
    endless = np.isinf(top)
    at_high = np.where(endless, 0.0, _density(high))
    below, above = ndtr(low), np.where(endless, 0.0, ndtr(-high))
    # Moments about what is short, the two ends of the cut taken as points.
    top_away = np.where(endless, 0.0, top - short)
    first = wide * (_density(low) - at_high) + below * -short + above * top_away
    inner = (1 - above - below) + low * _density(low) - np.where(endless, 0.0, high) * at_high
    second = wide**2 * inner + below * short**2 + above * top_away**2
    variance = np.where((spread > NO_SPREAD) & (full > least), np.maximum(second - first**2, 0.0), 0.0)
    return np.where(np.isnan(short + spread + full), np.nan, np.sqrt(variance))


@dataclass(frozen=True, slots=True)
class WeighingPlan:
    """Which colonies to weigh, in order, and what the total is known within before and after.

    Attributes:
        colonies: positions of those to weigh, the one that tells most first.
        before, after: half-width of the interval of the total [kg].
        reached: whether the wish is reached.
    """

    colonies: NDArray[np.int64]
    before: float
    after: float
    reached: bool


def set_to_weigh(
    spread: ArrayLike,
    left: ArrayLike,
    wish: float,
    *,
    shared: ArrayLike = 0.0,
    hand: ArrayLike | None = None,
    level: float = NINE_IN_TEN,
) -> WeighingPlan:
    """Give the smallest set of colonies to weigh so that the club's total feed is known within a mass.

    Errors of different colonies add in squares, but the part that colonies share through one hand's bias adds
    linearly (JCGM 100:2008, 5.2.2). Each step takes the colony that lowers the variance most: with nothing shared
    that is the smallest set, else close to it.

    Args:
        spread: standard deviation of each colony's feed on the evidence so far [kg], shape (n,); blanks, colonies
            without any evidence, are not chosen and count for nothing.
        left: standard deviation that a weighing would leave [kg]; broadcasts.
        wish: half-width of the interval of the total [kg].
        shared: part of `spread` that colonies hefted by the same hand share [kg]; broadcasts.
        hand: group of each colony, shape (n,), whole numbers counted from 0; all of one when left out.
        level: share of intervals that hold the truth [1].

    Returns:
        the plan.

    >>> plan = set_to_weigh([3.0, 1.0, 2.0], 0.5, 3.0)
    >>> plan.colonies.tolist(), round(plan.before, 2), round(plan.after, 2), plan.reached
    ([0, 2], 6.15, 2.01, True)
    """
    wide = np.atleast_1d(numbers(spread))
    alike, rest = (np.broadcast_to(np.nan_to_num(numbers(v)), wide.shape) for v in (shared, left))
    group = np.zeros(len(wide), dtype=np.int64) if hand is None else np.asarray(hand, dtype=np.int64)
    known = np.isfinite(wide)
    common = np.where(known, np.minimum(np.abs(alike), wide), 0.0)
    own = np.where(known, np.maximum(wide**2 - common**2, 0.0), 0.0)
    after = np.where(known, np.minimum(rest, wide) ** 2, 0.0)
    together = np.bincount(group, common, minlength=1)
    variance = float(own.sum() + (together**2).sum())
    z = float(quantile((1 + level) / 2))
    before, chosen, still = z * np.sqrt(variance), [], known.copy()
    while z * np.sqrt(max(variance, 0.0)) > wish and still.any():
        gain = np.where(still, own - after + common * (2 * together[group] - common), -np.inf)
        best = int(gain.argmax())
        if not gain[best] > 0:
            break
        chosen.append(best)
        variance -= float(gain[best])
        together[group[best]] -= common[best]
        still[best] = False
    reach = z * np.sqrt(max(variance, 0.0))
    return WeighingPlan(np.array(chosen, dtype=np.int64), float(before), float(reach), bool(reach <= wish))
