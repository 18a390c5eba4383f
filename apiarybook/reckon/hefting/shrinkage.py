"""A club's colonies seen together: rough figures drawn towards what the others of the club say."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from apiarybook.reckon.core.arrays import Floats, figure, numbers

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

BELIEF_WEIGHT = 4.0
"""Degrees of freedom that the handbook's spread between colonies is worth against that of the club."""
LEAST = 3
"""Colonies from which a club's own mean is taken."""


def towards_the_others(value: ArrayLike, uncertainty: ArrayLike) -> tuple[Floats, Floats]:
    """Draw each colony's figure towards the mean of all, the more the less certain it is.

    A hand that finds one hive far heavier than all the others has more likely erred than found it.

    Args:
        value: what each colony is short by [kg], shape (n,); blanks stay blank.
        uncertainty: its standard uncertainty [kg], above 0; broadcasts.

    Returns:
        value and standard uncertainty after it [kg], shape (n,); as they came with under three colonies.

    Source: Efron and Morris 1975, J. Am. Stat. Assoc. 70:311, with unlike variances; the spread between colonies by
    moments (DerSimonian and Laird 1986, Controlled Clinical Trials 7:177), shrunk to the handbook's figure.

    >>> value, spread = towards_the_others([10.0, 2.0, 3.0, 1.0], [8.0, 1.0, 1.0, 1.0])
    >>> value.round(1).tolist(), spread.round(1).tolist()
    ([3.9, 2.0, 3.0, 1.1], [3.4, 1.0, 1.0, 1.0])
    """
    given, wide = np.broadcast_arrays(*(np.atleast_1d(numbers(v)) for v in (value, uncertainty)))
    known = np.isfinite(given) & (wide > 0)
    if known.sum() < LEAST:
        return given.copy(), wide.copy()
    between = between_colonies(given[known], wide[known])
    weight = 1 / (wide[known] ** 2 + between)
    mean = float((weight * given[known]).sum() / weight.sum())
    keep = between / (between + wide**2)
    return np.where(known, mean + keep * (given - mean), given), np.where(known, wide * np.sqrt(keep), wide)


def between_colonies(value: Floats, uncertainty: Floats) -> float:
    """Give the variance between colonies [kg2], the handbook's figure worth four more of them."""
    weight = 1 / uncertainty**2
    mean = (weight * value).sum() / weight.sum()
    freedom = len(value) - 1
    spare = weight.sum() - (weight**2).sum() / weight.sum()
    own = max(0.0, ((weight * (value - mean) ** 2).sum() - freedom) / spare)
    return float((BELIEF_WEIGHT * figure("colonies_spread") ** 2 + freedom * own) / (BELIEF_WEIGHT + freedom))
