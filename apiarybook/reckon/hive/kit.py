"""What a hive weighs that is not stores: tare, bees, brood, pollen, and the water in wet wood."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from apiarybook.reckon.core.arrays import Floats, Measured, figure, numbers, words


def tare(own: ArrayLike, of_type: ArrayLike, spread: ArrayLike) -> Measured:
    """Give the tare: the hive's own where it was weighed, else its type's.

    Args:
        own: the hive's own tare [kg], any shape; blank where it was not weighed.
        of_type: tare of the hive type that day [kg]; broadcasts.
        spread: standard uncertainty of the type's tare [kg].

    Returns:
        tare [kg] and its standard uncertainty [kg].

    Source: common practice, no source.

    >>> kilograms, u = tare([None, 15.4], 16.0, 1.2)
    >>> kilograms.tolist(), u.tolist()
    ([16.0, 15.4], [1.2, 0.2])
    """
    weighed = numbers(own)
    known = np.isfinite(weighed)
    return np.where(known, weighed, numbers(of_type)), np.where(known, figure("own_tare_u"), numbers(spread))


def bees_mass(frames: ArrayLike, side: ArrayLike) -> Floats:
    """Give the mass of the bees from frames of bees.

    Args:
        frames: frames covered by bees on both sides [count], any shape.
        side: area of one side of one comb [dm2]; broadcasts.

    Returns:
        mass [kg].

    Source: 125 to 130 bees per dm2 of comb side (Imdorf and Gerig, from memory) at 90 mg a bee
    (Morse and Hooper, as quoted).

    >>> round(float(bees_mass(9, 6.94)), 2)
    1.44
    """
    return np.asarray(numbers(frames) * 2 * numbers(side) * figure("bee_mass_per_side"))


def brood_mass(frames: ArrayLike, side: ArrayLike) -> Floats:
    """Give the mass of the brood from frames of brood.

    Args:
        frames: frames of brood [count], any shape.
        side: area of one side of one comb [dm2]; broadcasts.

    Returns:
        mass [kg].

    Source: 55 to 65 g of sealed brood per dm2 of comb side, on the share of a frame that brood takes
    (both from memory).

    >>> round(float(brood_mass(4, 6.94)), 2)
    2.0
    """
    return np.asarray(numbers(frames) * 2 * numbers(side) * figure("brood_share") * figure("brood_mass_per_side"))


def brood_default(month_frames: ArrayLike, october_bees: ArrayLike) -> Floats:
    """Give the mass of the brood where nobody looked.

    Args:
        month_frames: the day's frames of brood in a full colony, of the British Standard deep comb [count],
            any shape, from the calendar.
        october_bees: the hive type's bees in October [kg], which scale the brood nest; broadcasts.

    Returns:
        mass [kg].

    Source: common practice, no source.

    >>> brood_default([4.0, 4.0], [2.0, 1.0]).round(2).tolist()
    [2.0, 1.0]
    """
    side = figure("brood_reference_side")
    return brood_mass(brood_frames_used(month_frames, october_bees, side), side)


def brood_frames_used(month_frames: ArrayLike, october_bees: ArrayLike, side: ArrayLike) -> Floats:
    """Give how many frames of this hive's comb the brood takes where nobody looked.

    Args:
        month_frames: the day's frames of brood in a full colony, of the British Standard deep comb [count],
            any shape.
        october_bees: the hive type's bees in October [kg]; broadcasts.
        side: area of one side of one of this hive's combs [dm2].

    Returns:
        frames of this hive [count]: the same area of brood on larger or smaller comb.

    Source: common practice, no source.

    >>> brood_frames_used(4.0, 2.0, [6.94, 13.88]).tolist()
    [4.0, 2.0]
    """
    nest = numbers(month_frames) * numbers(october_bees) / figure("reference_bees")
    return np.asarray(nest * figure("brood_reference_side") / numbers(side))


def wetness(state: ArrayLike, boxes: ArrayLike, material: ArrayLike) -> Floats:
    """Give the mass of water in and on the boxes.

    Args:
        state: ``dry``, ``damp``, ``soaked`` or blank (taken as dry), any shape.
        boxes: boxes of the hive [count]; broadcasts.
        material: ``wood`` or ``polystyrene``; broadcasts.

    Returns:
        mass [kg], which is its own standard uncertainty. NaN for snow and for any other word: what lies on the roof
        cannot be told.

    Source: common practice, no source.

    >>> wetness(["dry", "soaked", "soaked"], 2, ["wood", "wood", "polystyrene"]).tolist()
    [0.0, 1.6, 0.8]
    """
    states, count, made_of = np.broadcast_arrays(words(state), numbers(boxes), words(material))
    per_box = np.select(
        [np.isin(states, ["", "dry"]), states == "damp", states == "soaked"],
        [0.0, figure("damp_box"), figure("soaked_box")],
        np.nan,
    )
    return np.asarray(per_box * _share_of_wood(made_of) * count)


def _share_of_wood(material: NDArray[np.str_]) -> Floats:
    return np.where(material == "polystyrene", figure("polystyrene_share"), 1.0)


def wood_water(day: ArrayLike, material: ArrayLike) -> Floats:
    """Give how much more water the wood of a hive holds than in mid July, as wood does that stands in the open.

    Args:
        day: number of the day, as spreadsheets count; any shape.
        material: ``wood`` or ``polystyrene``; broadcasts.

    Returns:
        mass [kg], between 0 and ``wood_water``; NaN where the day is.

    Source: the course of the year common practice, no source; its height as `wood_water` in the handbook.

    >>> wood_water([46218.0, 46310.0, 46402.0], "wood").round(2).tolist()  # 15 July, 15 October, 15 January
    [0.0, 0.3, 0.6]
    """
    of_year = 2 * np.pi * (numbers(day) - MID_JULY) / DAYS_OF_A_YEAR
    return np.asarray(figure("wood_water") * _share_of_wood(words(material)) * (1 - np.cos(of_year)) / 2)


MID_JULY = 36722.0
"""15 July 2000 as spreadsheets count days."""
DAYS_OF_A_YEAR = 365.25
