"""What every computation shares: float arrays with NaN for blanks, word arrays, the model's figures."""

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from apiarybook.handbook import handbook

Floats = NDArray[np.float64]
Measured = tuple[Floats, Floats]
DECIMALS = 6
"""Thresholds compare values rounded to this many decimals, so that words agree between engines."""


def figure(name: str) -> float:
    """Give the value of one of the handbook's model figures.

    Args:
        name: the figure's name in the handbook, for instance ``ripe_solids``.

    Returns:
        its value, in the unit the handbook gives beside it.

    Raises:
        KeyError: the handbook holds no model figure of that name.

    >>> figure("ripe_solids")
    0.82
    """
    return float(handbook().model[name].value)


def numbers(values: ArrayLike) -> Floats:
    """Turn anything array-like into floats, blanks (None, NaN, pandas NA) into NaN.

    Args:
        values: scalar or array of any shape.

    Returns:
        array of the same shape, dtype float64.

    Raises:
        ValueError: an entry is text that is no number.

    >>> numbers([1, None, 2.5]).tolist()
    [1.0, nan, 2.5]
    """
    given: Any = values
    if getattr(given, "dtype", None) is not None and hasattr(given, "to_numpy"):
        return np.asarray(given.to_numpy(dtype=np.float64, na_value=np.nan))
    return np.asarray(given, dtype=np.float64)


def words(values: ArrayLike) -> NDArray[np.str_]:
    """Turn anything array-like into words, blanks into the empty word.

    Args:
        values: scalar or array of any shape, of text or blanks.

    Returns:
        array of the same shape, of text.

    >>> words(["damp", None]).tolist()
    ['damp', '']
    """
    held = np.asarray(values, dtype=object)
    flat = held.reshape(-1)
    none = pd.isna(flat)
    if none.all():
        return np.full(held.shape, "", dtype="<U1")
    return np.where(none, "", flat).astype(np.str_).reshape(held.shape)


def rounded(values: ArrayLike) -> Floats:
    """Round half away from nought to the decimals that thresholds compare, as spreadsheets do.

    >>> rounded([1.0000005, -1.0000005, 2.0]).tolist()
    [1.000001, -1.000001, 2.0]
    """
    scaled = numbers(values) * 10**DECIMALS
    return np.asarray(np.sign(scaled) * np.floor(np.abs(scaled) + 0.5) / 10**DECIMALS)
