"""What a colony eats: its size, its strength, and the calendar that turns an interval into two look-ups."""

from datetime import date

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from apiarybook.handbook import Profile
from apiarybook.reckon.core.arrays import Floats, figure, numbers

DAYS_OF_A_MONTH = 30.4
MID_MONTH = 15
"""Day of the month on which a month's figure holds (common practice, no source)."""


def size(october_bees: ArrayLike) -> Floats:
    """Give what a colony of a hive type eats, as a factor on the reference colony.

    Args:
        october_bees: the hive type's bees in October [kg], any shape.

    Returns:
        factor [1]: the reference colony's bees make 1, and half the bees eat more than half.

    Source: Southwick 1985, J. Comp. Physiol. B 156:143-149: mass-specific use goes with mass to the -0.479.

    >>> size([2.0, 1.0]).round(3).tolist()
    [1.0, 0.697]
    """
    return np.asarray((numbers(october_bees) / figure("reference_bees")) ** figure("size_exponent"))


def strength(bees: ArrayLike, covered: ArrayLike, usual: ArrayLike) -> Floats:
    """Give how much more or less this colony eats than others of its hive type.

    Print counts fewer frames covered than a hive type's bees would cover fully. Between the two nothing is made of a
    count, so that it talks no colony into having enough.

    Args:
        bees: mass of its bees by frames of bees [kg], any shape; blank where nobody looked.
        covered: mass of bees on the frames that print has a full-size colony cover that month [kg]; broadcasts.
        usual: mass of bees expected of the hive type that month [kg]: a usual colony is 1 in every month.

    Returns:
        factor [1], held within the handbook's ``group_low`` and ``group_high``; 1 where nobody looked.

    Source: as `size`; the bounds common practice, no source.

    >>> strength([1.6, 1.4, 0.8, 0.3, np.nan], 1.2, 1.6).round(2).tolist()
    [1.0, 1.0, 0.81, 0.6, 1.0]
    """
    seen, high = np.broadcast_arrays(numbers(bees), numbers(usual))
    low = np.minimum(numbers(covered), high)
    compared = np.where(seen > high, seen / high, np.minimum(1.0, seen / low))
    factor = np.clip(compared ** figure("size_exponent"), figure("group_low"), figure("group_high"))
    return np.where(np.isnan(seen), 1.0, factor)


def whole_spread() -> float:
    """Relative spread of a colony's rate before anything is known of its winter, its place or itself [1].

    >>> round(whole_spread(), 3)
    0.494
    """
    parts = (figure(f"{level}_spread") for level in ("winter", "place", "colony"))
    return float(np.sqrt(np.prod([1 + part**2 for part in parts]) - 1))


def wide(level: str) -> float:
    """Standard deviation of the logarithm of a factor of mean 1: of the winter, the place or the colony [1].

    >>> round(wide("colony"), 3)
    0.349
    """
    return float(np.sqrt(np.log1p(figure(f"{level}_spread") ** 2)))


def calendar(profile: Profile, first: date, days: int) -> pd.DataFrame:
    """Lay out a winter profile day by day.

    Args:
        profile: the winter profile, with twelve monthly figures each of consumption, bees and brood.
        first: the first day.
        days: how many days, at least 1.

    Returns:
        frame of `days` rows: day (datetime64), cumulative (kg that the reference colony eats from the start of
        the first day to the start of this one, even within a month), bees_factor (1, on the October figure) and
        brood_frames (frames of the British Standard deep comb in a full colony), both straight between the
        middles of the months.

    Raises:
        ValueError: fewer than one day.

    Source: the profile's own figures in the handbook.

    >>> from apiarybook.handbook import handbook
    >>> table = calendar(handbook().profiles["british-isles"], date(2026, 10, 1), 213)
    >>> round(float(table["cumulative"].iloc[31]), 2)
    2.3
    """
    if days < 1:
        raise ValueError(f"A calendar of {days} days is asked for; give at least 1 day.")
    day = np.datetime64(first, "D") + np.arange(days)
    month = day.astype("datetime64[M]")
    length = ((month + 1).astype("datetime64[D]") - month.astype("datetime64[D]")).astype(np.float64)
    daily = np.asarray(profile.consumption.values)[_month_index(month)] / length
    return pd.DataFrame(
        {
            "day": day,
            "cumulative": np.concatenate(([0.0], np.cumsum(daily)[:-1])),
            "bees_factor": _between_months(day, profile.bees.values),
            "brood_frames": _between_months(day, profile.brood.values),
        }
    )


def _month_index(month: NDArray[np.datetime64]) -> NDArray[np.int64]:
    return np.asarray(month.astype(np.int64) % 12)


def _between_months(day: NDArray[np.datetime64], values: tuple[float, ...]) -> Floats:
    start, end = day[0].astype("datetime64[M]") - 1, day[-1].astype("datetime64[M]") + 2
    months = np.arange(start, end)
    middles = months.astype("datetime64[D]") + (MID_MONTH - 1)
    figures = np.asarray(values)[_month_index(months)]
    return np.asarray(np.interp(day.astype(np.float64), middles.astype(np.float64), figures), dtype=np.float64)
