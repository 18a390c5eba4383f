"""What a colony ate in its other intervals, as far as it tells what it ate in this one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.core.arrays import Floats, figure, numbers
from apiarybook.reckon.core.consumption import DAYS_OF_A_MONTH, whole_spread

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from apiarybook.reckon.core.lookup import Rows

NOBODY = -1
MOSTLY = 1.0
"""Standard uncertainties that two of three residuals stay within (normal distribution)."""
LEAST_EATEN = 1e-9
"""Kilograms under which an interval tells nothing of a rate."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What intervals say of their colonies' rates, a factor on the handbook's, shape (intervals,).

    Attributes:
        colony: row of each.
        eaten: by the handbook [kg].
        residual, u: what is left over at the handbook's rate, and the standard uncertainty of that [kg].
        alone: variance of that without the rate, but with what the rate wanders from interval to interval [kg2].
        wander: relative variance of the rate of an interval about the colony's [1].
        weight: one over the variance of the rate that it shows [1]; 0 where it shows none.
        drawn: weight times how far that rate lies from 1 [1].
    """

    colony: NDArray[np.int64]
    eaten: Floats
    residual: Floats
    u: Floats
    alone: Floats
    wander: Floats
    weight: Floats
    drawn: Floats

    def without(self, *left_out: Rows) -> tuple[Floats, Floats]:
        """How far each rate lies from 1 by the colony's other intervals, and the variance of that.

        Args:
            left_out: positions of intervals that are left out of the estimate of each, NOBODY for none, shape
                (intervals,) each.
        """
        told = pd.DataFrame({"weight": self.weight, "drawn": self.drawn}).groupby(self.colony).transform("sum")
        weight, drawn = (numbers(told[key]) for key in ("weight", "drawn"))
        for at in left_out:
            weight = weight - np.where(at == NOBODY, 0.0, self.weight[at])
            drawn = drawn - np.where(at == NOBODY, 0.0, self.drawn[at])
        variance = 1 / (1 / whole_spread() ** 2 + weight)
        return drawn * variance, variance


def evidence(found: pd.DataFrame, tells: NDArray[np.bool_]) -> Evidence:
    """Take from intervals what they say of rates.

    What one leaves over counts up to ``balance_note`` standard uncertainties, so that a slip does not make a rate.

    Args:
        found: intervals: colony_row, day_1, day_2, eaten by the handbook, residual and residual_u [kg], in which
            ``whole_spread()`` of what was eaten is held.
        tells: which of them tell of a rate, shape (intervals,).
    """
    eaten, u = np.maximum(numbers(found["eaten"]), LEAST_EATEN), numbers(found["residual_u"])
    days = np.maximum(numbers(found["day_2"] - found["day_1"]), 1.0)
    wander = figure("month_wander") ** 2 * DAYS_OF_A_MONTH / days
    alone = np.maximum(u**2 - (whole_spread() * eaten) ** 2, 0.0) + wander * eaten**2
    residual, most = numbers(found["residual"]), figure("balance_note") * u
    tells = tells & np.isfinite(residual) & np.isfinite(alone) & (alone > 0)
    shows = np.where(tells, eaten, 0.0) / np.where(tells, alone, 1.0)
    return Evidence(
        found["colony_row"].to_numpy(dtype=np.int64),
        eaten,
        residual,
        u,
        alone,
        wander,
        weight=shows * np.where(tells, eaten, 0.0),
        drawn=-shows * np.where(tells, np.clip(residual, -most, most), 0.0),
    )


def by_others(seen: Evidence) -> tuple[Floats, Floats]:
    """Give what each colony is held to eat in an interval, by what its other intervals leave over.

    An interval and the next that go opposite ways speak of the weighing between them, and not of a rate to each other.

    Returns:
        what is eaten over what the handbook has eaten, and the spread of that [1], shape (intervals,) each; 1 and
        ``whole_spread()`` where nothing tells.

    Source: normal prior and likelihood (Gelman et al., Bayesian Data Analysis, 3rd edition, 2.5), each interval left
    out of its own estimate.

    >>> two = {"colony_row": [1, 1], "day_1": [0.0, 60.0], "day_2": [60.0, 120.0], "eaten": [4.0, 4.0]}
    >>> found = pd.DataFrame(two | {"residual": [-3.0, -2.0], "residual_u": [2.1, 2.1]})
    >>> [each.round(2).tolist() for each in by_others(evidence(found, np.array([True, True])))]
    [[1.41, 1.62], [0.25, 0.25]]
    """
    own, opposite = np.arange(len(seen.colony)), _opposite(seen)
    after, before = np.where(opposite, own + 1, NOBODY), np.where(np.roll(opposite, 1), own - 1, NOBODY)
    away, variance = seen.without(own, after, before)
    return np.maximum(1 + away, 0.0), np.minimum(whole_spread(), np.sqrt(variance + seen.wander))


def _opposite(seen: Evidence) -> NDArray[np.bool_]:
    """Which intervals leave over more than chance mostly does, and the next of the colony as much the other way."""
    times = np.clip(seen.residual / np.maximum(seen.u, LEAST_EATEN), -MOSTLY, MOSTLY)
    both = np.append(times[:-1] * times[1:] == -(MOSTLY**2), np.zeros(1, dtype=np.bool_))[: len(times)]
    return np.asarray(both & (np.roll(seen.colony, -1) == seen.colony))


def off_the_line(seen: Evidence, scatter: Floats) -> tuple[Floats, Floats]:
    """Give how far the weighing at the end of each interval is off, by it and the next together.

    Args:
        seen: evidence of the intervals, sorted by colony and day.
        scatter: variance of the later weighing, which both intervals hold with opposite signs [kg2].

    Returns:
        how far it is off and the standard uncertainty of that [kg], shape (intervals,) each; NaN where no interval
        follows.

    Source: generalised least squares for the one error that both intervals hold with opposite signs.

    >>> two = {"colony_row": [1, 1], "day_1": [0.0, 60.0], "day_2": [60.0, 120.0], "eaten": [4.0, 4.0]}
    >>> found = pd.DataFrame(two | {"residual": [4.0, -4.0], "residual_u": [2.1, 2.1]})
    >>> [each.round(2).tolist() for each in off_the_line(evidence(found, np.array([True, True])), np.zeros(2))]
    [[4.0, nan], [0.65, nan]]
    """
    own = np.arange(len(seen.colony))
    after = np.roll(own, -1)
    away, variance = seen.without(own, after)
    first, second = (seen.residual[at] + away * seen.eaten[at] for at in (own, after))
    both = variance * seen.eaten * seen.eaten[after] - scatter
    u1, u2 = (np.maximum(seen.alone[at] + variance * seen.eaten[at] ** 2, LEAST_EATEN) for at in (own, after))
    whole = u1 + u2 + 2 * both
    share = (u2 + both) / whole
    off, off_u = share * first - (1 - share) * second, np.sqrt(np.maximum(u1 * u2 - both**2, 0.0) / whole)
    follows = (after > 0) & (seen.colony[after] == seen.colony)
    return np.where(follows, off, np.nan), np.where(follows, off_u, np.nan)
