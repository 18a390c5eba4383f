"""The gross of a hive from what was lifted, by method and stand."""

import numpy as np
from numpy.typing import ArrayLike

from apiarybook.reckon.core.arrays import Floats, Measured, figure, numbers, words

HALF_SPAN = 0.5
"""Inset at which both rails meet in the middle, as a share of the span [1]."""


def hanging_handling(mass: ArrayLike, handling: ArrayLike) -> Floats:
    """Give the handling uncertainty of a full lift on a hanging scale.

    Args:
        mass: mass lifted [kg], any shape.
        handling: the method's usual handling uncertainty [kg]; broadcasts.

    Returns:
        standard uncertainty [kg]: the usual one up to the handbook's ``hanging_heavy``, above it
        ``hanging_heavy_u``, for nobody holds a heavy hive still.

    Source: common practice, no source.

    >>> hanging_handling([18.0, 38.0], 0.2).tolist()
    [0.2, 0.5]
    """
    lifted, usual = np.broadcast_arrays(numbers(mass), numbers(handling))
    return np.where(lifted > figure("hanging_heavy"), figure("hanging_heavy_u"), usual)


def two_sides_factor(stand: ArrayLike, inset_share: ArrayLike, unknown: float, unknown_uncertainty: float) -> Measured:
    """Give the factor on the sum of both sides, by the stand.

    On a solid stand or rails flush with the lifted edges the two readings add up to the gross wherever
    the centre of mass lies. Rails set in by a at both ends of the span L take their part, and the sum
    must be multiplied by (L - a)/(L - 2a).

    Args:
        stand: ``solid``, ``flush rails``, ``inset rails``, ``unknown`` or blank, any shape.
        inset_share: a/L [1], where the rails are inset; broadcasts.
        unknown: factor for a stand, or an inset, that is not known [1].
        unknown_uncertainty: its relative standard uncertainty [1].

    Returns:
        factor [1] and its relative standard uncertainty [1]; NaN for an inset that is no distance (below
        nought, or half the span and more) and for a word that is no stand.

    Source: statics, moments about the rail that stays down.

    >>> factor, relative = two_sides_factor(["solid", "inset rails", "unknown"], [np.nan, 0.1, np.nan], 1.06, 0.04)
    >>> factor.round(3).tolist(), relative.tolist()
    ([1.0, 1.125, 1.06], [0.0, 0.0, 0.04])
    """
    stands, inset = np.broadcast_arrays(words(stand), numbers(inset_share))
    usable = (inset >= 0) & (inset < HALF_SPAN)
    by_inset = (1 - inset) / np.where(usable, 1 - 2 * inset, np.nan)
    measured = (stands == "inset rails") & ~np.isnan(inset)
    flush = np.isin(stands, ["solid", "flush rails"])
    not_known = np.isin(stands, ["", "unknown", "inset rails"]) & ~measured
    factor = np.select([flush, measured, not_known], [np.ones(inset.shape), by_inset, unknown], np.nan)
    return factor, np.where(not_known, unknown_uncertainty, np.where(np.isnan(factor), np.nan, 0.0))


def one_side_factor(own: ArrayLike, usual: ArrayLike, usual_uncertainty: ArrayLike) -> Measured:
    """Give the factor on a single side: the stand's own where it was found, else the usual one.

    Args:
        own: the stand's factor, from a colony weighed both ways [1]; blank where it was not found.
        usual: factor for any stand [1]; broadcasts.
        usual_uncertainty: its relative standard uncertainty [1].

    Returns:
        factor [1] and its relative standard uncertainty [1].

    Source: the factor belongs to the stand; in print 2.0, 2.2 and 2.5.

    >>> factor, relative = one_side_factor([2.5, None], 2.2, 0.12)
    >>> factor.tolist(), relative.tolist()
    ([2.5, 2.2], [0.05, 0.12])
    """
    found = numbers(own)
    known = np.isfinite(found)
    return np.where(known, found, numbers(usual)), np.where(
        known, figure("own_stand_factor_u"), numbers(usual_uncertainty)
    )


def stores_from_frames(frames: ArrayLike, full_comb: ArrayLike) -> Measured:
    """Give the stores straight from frames of food counted, for a hive that cannot be lifted.

    Args:
        frames: frames of food, part frames added up [count], any shape.
        full_comb: stores in one full comb of that frame [kg]; broadcasts.

    Returns:
        stores [kg] and their standard uncertainty [kg]: the handbook's ``frames_spread`` of the whole, and
        ``frames_step`` of a frame.

    Source: common practice, no source.

    >>> stores, u = stores_from_frames(8, 2.3)
    >>> round(float(stores), 1), round(float(u), 2)
    (18.4, 2.82)
    """
    comb = numbers(full_comb)
    stores = numbers(frames) * comb
    return stores, np.hypot(figure("frames_spread") * stores, figure("frames_step") * comb)
