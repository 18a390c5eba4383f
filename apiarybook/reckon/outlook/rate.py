"""What each colony itself eats, learnt from its own weighings, hefts and winter rounds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.core.arrays import Floats, figure, numbers, words
from apiarybook.reckon.core.lookup import Rows, pick
from apiarybook.reckon.core.winter import serials

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from apiarybook.reckon.hive.weighings import Lists

BEYOND, STEPS = 5.0, 201
"""The rate is summed over so many prior spreads each way, at so many values: the tails left out are under one in a
million, and the values lie closer than the narrowest spread that is kept."""


@dataclass(frozen=True, slots=True)
class Learnt:
    """What the evidence alone says of each colony's rate, shape (colonies,).

    Attributes:
        weight: one over the variance of the rate seen [1].
        rate: what it ate over what the handbook has it eat, by least squares [1].
    """

    weight: Floats
    rate: Floats


def prior_spread() -> float:
    """Standard deviation of the logarithm of the rate between colonies [1].

    Lognormal with mean 1 and the spread of consumption between colonies as its relative standard deviation.

    >>> round(prior_spread(), 3)
    0.385
    """
    return float(np.sqrt(np.log1p(figure("consumption_spread") ** 2)))


def own_rate(weight: ArrayLike, rate: ArrayLike) -> tuple[Floats, Floats]:
    """Give a colony's rate of eating against the handbook's, and how well it is known.

    The prior is lognormal; the observed rate is Normal about the true one. Where the evidence is good this is the
    conjugate update in the logarithm; where a colony seems to have gained, which no logarithm takes, it still holds.

    Args:
        weight: one over the variance of the observed rate [1], any shape; 0 for no evidence.
        rate: the observed rate [1]; broadcasts.

    Returns:
        mean of the rate [1] and its relative standard deviation [1], never under ``rate_spread_least``.

    Source: Gelman et al., Bayesian Data Analysis, 3rd edition, 2.5 and 10.1 (a posterior summed over a grid).

    >>> mean, spread = own_rate([0.0, 25.0], [1.0, 1.5])
    >>> mean.round(2).tolist(), spread.round(2).tolist()
    ([1.0, 1.4], [0.4, 0.14])
    """
    known, seen = np.broadcast_arrays(numbers(weight), numbers(rate))
    middle = prior_spread() * np.linspace(-BEYOND, BEYOND, STEPS)
    values = np.exp(middle - prior_spread() ** 2 / 2)
    prior = np.exp(-((middle / prior_spread()) ** 2) / 2)
    away = -known[..., None] / 2 * (values - np.nan_to_num(seen)[..., None]) ** 2
    share = prior * np.exp(away - away.max(axis=-1, keepdims=True))
    share = share / share.sum(axis=-1, keepdims=True)
    mean = share @ values
    spread = np.sqrt(np.maximum(share @ values**2 - mean**2, 0.0)) / mean
    told = known > 0
    return np.where(told, mean, 1.0), np.where(
        told, np.maximum(spread, figure("rate_spread_least")), figure("consumption_spread")
    )


def points(
    rows: pd.DataFrame, found: pd.DataFrame, unripe: Floats, standing: pd.DataFrame, lists: Lists, as_at: float
) -> pd.DataFrame:
    """Take the stores that weighings or hefts say, as points from which a rate can be told.

    Args:
        rows: the sheet Weighings, or winter rounds written as such.
        found: what `weighings.weighings` found.
        unripe: water that was still to be driven off on each day [kg].
        standing: profile_row, size, strength, last_liquid_day and here_since of each colony.
        lists: the book's lists.
        as_at: number of the day for which to reckon.

    Returns:
        one row a point that counts: colony (row), day, order (of its day, 0 before feed), kit and hand (hefts of one
        hand share its bias, weighings of one kit the tare; nobody's for a weighing), stores, u (what it does not
        share) and eaten, what the handbook has the colony eat from the calendar's first day to then [kg].
    """
    colony, day = found["colony_row"].to_numpy(dtype=np.int64), np.floor(serials(rows["date"]))
    liquid = pick(standing["last_liquid_day"], colony)
    counts = (found["usable"] == 1) & (words(rows["occasion"]) != "practice") & (colony > 0) & (day <= as_at)
    counts &= (liquid > 0) & (day >= liquid - figure("old_evidence")) & (day >= np.nan_to_num(_moved(standing, colony)))
    frames = words(rows["how"]) == "frames of food counted"
    own = np.maximum(0.0, found["dry_u"] ** 2 - found["kit_u"] ** 2) + (figure("water_spread") * unripe) ** 2
    flow = np.where(day < liquid, figure("flow_spread"), 0.0)
    scaled = pick(standing["size"], colony) * pick(standing["strength"], colony)
    occasion = words(rows["occasion"])
    table = pd.DataFrame(
        {
            "colony": colony,
            "day": day,
            "order": np.select([occasion == "before feed", occasion == "after feed"], [0, 2], 1),
            "kit": 2 * found["type_row"].to_numpy(dtype=np.int64) + frames,
            "hand": np.where(words(rows["how"]) == "heft", np.char.lower(words(rows["by"])), "").astype(object),
            "stores": found["dry"].to_numpy() - unripe,
            "u": np.sqrt(numbers(own) + flow**2),
            "eaten": scaled * lists.winter.on(lists.winter.eaten, day, found["profile_row"].to_numpy()),
        }
    )
    kept: pd.DataFrame = table[counts.to_numpy() & (table["u"] > 0).to_numpy()]
    return kept


def _moved(standing: pd.DataFrame, colony: Rows) -> Floats:
    return pick(standing["here_since"], colony)


def learn(seen: pd.DataFrame, fed: pd.DataFrame, count: int) -> Learnt:
    """Tell each colony's rate from its points, as far as they tell it.

    Points between which nothing was fed and no hive changed form a stretch; within it stores fall by what was eaten,
    so that the rate is the slope of stores on what should have been eaten, by least squares weighted by 1/u^2. What
    all points of a stretch share (tare, bees, feed before it) is no part of it.

    Args:
        seen: the points, frames of `points` one under the other.
        fed: events that end a stretch, one a row: colony (row), day.
        count: how many colonies there are.

    Returns:
        weight and rate of each colony; weight 0 where nothing tells, or where what was seen lies further from the
        handbook than ``balance_ask`` standard uncertainties: then something else than eating is at work.
    """
    stretch = _stretches(seen, fed)
    weight = 1 / numbers(seen["u"]) ** 2
    total = np.bincount(stretch, weight)
    away = {}
    for key in ("stores", "eaten"):
        values = numbers(seen[key])
        away[key] = values - (np.bincount(stretch, weight * values) / total)[stretch]
    colony = seen["colony"].to_numpy(dtype=np.int64)
    squares = np.bincount(colony, weight * away["eaten"] ** 2, minlength=count + 1)[1:]
    product = np.bincount(colony, -weight * away["eaten"] * away["stores"], minlength=count + 1)[1:]
    told = squares > LEAST_WEIGHT
    rate = np.where(told, product / np.where(told, squares, 1.0), 1.0)
    beyond = np.abs(rate - 1) > figure("balance_ask") * np.hypot(
        figure("consumption_spread"), 1 / np.sqrt(np.where(told, squares, 1.0))
    )
    return Learnt(np.where(told & ~beyond, squares, 0.0), rate)


LEAST_WEIGHT = 0.25
"""A rate that is seen to within plus or minus 2 or worse tells nothing of one that is believed within 0.4."""
DAY_APART = 4.0
"""Orders within a day that are told apart."""


def _stretches(seen: pd.DataFrame, fed: pd.DataFrame) -> NDArray[np.int64]:
    """Number of the stretch of each point: same colony, kit and hand, and no feed or change between."""
    if not len(seen):
        return np.zeros(0, dtype=np.int64)
    longest = max(float(seen["day"].max()), float(fed["day"].max()) if len(fed) else 0.0) + 1
    events = np.sort(_moment(fed["colony"], fed["day"], 0.5, longest))
    before = np.searchsorted(events, _moment(seen["colony"], seen["day"], seen["order"], longest))
    return np.asarray(
        seen.assign(before=before).groupby(["colony", "kit", "hand", "before"]).ngroup().to_numpy(dtype=np.int64)
    )


def _moment(colony: pd.Series[int], day: pd.Series[float], order: ArrayLike, longest: float) -> Floats:
    return numbers(colony) * longest + numbers(day) + numbers(order) / DAY_APART
