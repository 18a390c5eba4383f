"""How sure the stores are: chance of running out, and the day to which they last."""

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr, ndtri

from apiarybook.reckon.core.arrays import Floats, numbers


def quantile(assurance: ArrayLike) -> Floats:
    """Give the standard normal quantile of an assurance.

    Args:
        assurance: share of cases [1] between 0 and 1, any shape.

    Returns:
        quantile [1].

    Source: JCGM 106:2012, table 1.

    >>> round(float(quantile(0.9)), 4)
    1.2816
    """
    return np.asarray(ndtri(numbers(assurance)))


def chance_below(limit: ArrayLike, value: ArrayLike, uncertainty: ArrayLike) -> Floats:
    """Give the chance that a value known with uncertainty lies below a limit.

    Args:
        limit: the limit [kg], any shape.
        value: the value as estimated [kg]; broadcasts.
        uncertainty: its standard uncertainty [kg]; with none it is a plain yes or no.

    Returns:
        chance [1] between 0 and 1, NaN for blanks.

    Source: JCGM 106:2012, 7.3.

    >>> round(float(chance_below(8.0, 10.0, 1.6)), 4)
    0.1056
    """
    under, spread = np.broadcast_arrays(numbers(limit) - numbers(value), numbers(uncertainty))
    certain = np.where(np.isnan(under), np.nan, np.where(under > 0, 1.0, 0.0))
    chance = ndtr(under / np.where(spread == 0, np.nan, spread))
    return np.where(spread == 0, certain, chance)


def ten_percent_eaten(above: ArrayLike, uncertainty: ArrayLike, z: ArrayLike, spread: ArrayLike) -> Floats:
    """Give what may be eaten until the chance of having reached the floor is that of z.

    It solves above - e = z sqrt(uncertainty^2 + (spread e)^2) for e: the stores are uncertain, and so is how fast
    they go.

    Args:
        above: stores above the floor [kg], any shape.
        uncertainty: standard uncertainty of the stores [kg]; broadcasts.
        z: standard normal quantile of the assurance [1].
        spread: relative spread of consumption between colonies [1].

    Returns:
        what may be eaten [kg]; 0 where the floor may have been reached already.

    >>> round(float(ten_percent_eaten(10.0, 1.2, quantile(0.9), 0.4)), 3)
    6.384
    """
    a, sure = numbers(above), numbers(z)
    margin = sure * numbers(uncertainty)
    left = a**2 - margin**2
    k = 1 - (numbers(spread) * sure) ** 2
    reached = a <= margin
    # The product of the two roots is left/k: this form holds through k = 0 as well.
    below = np.where(reached, 1.0, a + np.sqrt(np.maximum(a**2 - k * left, 0.0)))
    return np.where(reached, 0.0, left / below)
