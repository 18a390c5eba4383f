"""Looking words up in lists, the way every spreadsheet program does: by text, case ignored, rows counted from 1."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from apiarybook.reckon.core.arrays import Floats, numbers, words

if TYPE_CHECKING:
    import pandas as pd

Rows = NDArray[np.int64]


def match(wanted: ArrayLike, listed: ArrayLike) -> Rows:
    """Find the row of each word in a list.

    Args:
        wanted: words, shape (n,); blanks allowed.
        listed: the list, shape (m,); of equal words the first counts.

    Returns:
        row of each word counted from 1, 0 where it is blank or not listed.

    >>> match(["b", "A", "", "z"], ["a", "B"]).tolist()
    [2, 1, 0, 0]
    """
    rows: dict[str, int] = {"": 0}
    for row, name in enumerate(_plain(listed), start=1):
        rows.setdefault(name.lower(), row)
    asked = _plain(wanted)
    found = {name: rows.get(name.lower(), 0) for name in set(asked)}
    return np.fromiter(map(found.__getitem__, asked), dtype=np.int64, count=len(asked))


def _plain(values: ArrayLike) -> list[str]:
    """Words in a list, blanks as the empty word."""
    held = np.asarray(values, dtype=object).ravel().tolist()
    if set(map(type, held)) <= {str, type(None)}:
        return [one or "" for one in held]
    return np.atleast_1d(words(values)).ravel().tolist()


def pick(column: ArrayLike, row: Rows, otherwise: float = 0.0) -> Floats:
    """Take numbers from a column at rows counted from 1.

    Args:
        column: numbers, shape (m,).
        row: rows, shape (n,); 0 for none.
        otherwise: what stands where there is no row.

    Returns:
        numbers, shape (n,); NaN where the column is blank.

    >>> pick([5.0, 6.0], np.array([2, 0])).tolist()
    [6.0, 0.0]
    """
    values = np.concatenate(([otherwise], numbers(column)))
    return np.asarray(values[row])


def pick_words(column: ArrayLike, row: Rows) -> NDArray[np.str_]:
    """Take words from a column at rows counted from 1, the empty word where there is no row.

    >>> pick_words(["x", None], np.array([1, 2, 0])).tolist()
    ['x', '', '']
    """
    return np.asarray(np.concatenate(([""], np.atleast_1d(words(column))))[row])


def number_or(values: ArrayLike, otherwise: ArrayLike) -> Floats:
    """Numbers where there are some, else what stands for them.

    >>> number_or([1.0, None], 9.0).tolist()
    [1.0, 9.0]
    """
    given = numbers(values)
    return np.where(np.isnan(given), numbers(otherwise), given)


def sum_by(values: Floats, row: Rows, count: int) -> Floats:
    """Add numbers up by the row they belong to.

    Args:
        values: numbers, shape (n,); NaN counts as nothing.
        row: row of each, counted from 1; 0 belongs nowhere.
        count: how many rows there are.

    Returns:
        sums, shape (count,).

    >>> sum_by(np.array([1.0, 2.0, 4.0]), np.array([2, 2, 0]), 2).tolist()
    [0.0, 3.0]
    """
    return np.bincount(row, weights=np.nan_to_num(values), minlength=count + 1)[1:].astype(np.float64)


def largest_by(values: Floats, row: Rows, count: int) -> Floats:
    """The largest number of those that belong to each row, 0 where there is none.

    >>> largest_by(np.array([1.0, 2.0, 4.0]), np.array([2, 2, 0]), 2).tolist()
    [0.0, 2.0]
    """
    largest = np.zeros(count + 1)
    np.maximum.at(largest, row, values)
    return largest[1:]


def one_of_each(
    rows: pd.DataFrame, count: int, order: str = "day", keep: Literal["first", "last"] = "last"
) -> pd.DataFrame:
    """The last row of each colony in an order, or the first; blank where there is none.

    Args:
        rows: colony, its row counted from 1, the column to order by, and others.
        count: how many colonies there are.
        order: the column to order by.
        keep: which to keep.

    >>> import pandas as pd
    >>> rows = pd.DataFrame({"colony": [2, 2, 1], "day": [9.0, 8.0, 8.0], "kg": [5.0, 6.0, 7.0]})
    >>> one_of_each(rows, 3)["kg"].tolist()
    [7.0, 5.0, nan]
    """
    one = rows.sort_values(order, kind="stable").drop_duplicates("colony", keep=keep).set_index("colony")
    return one.reindex(np.arange(1, count + 1))
