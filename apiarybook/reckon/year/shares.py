"""Shares of colonies with an interval that small numbers deserve."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.special import betaincinv

from apiarybook.reckon.core.arrays import Floats, numbers

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

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
