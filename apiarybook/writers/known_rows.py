"""Which rows are of which colony, as a run leaves them: so that the book need not search for them at each keystroke."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from apiarybook.layout import BOOK
from apiarybook.layout.formulas.parts import OF_A_ROW, OF_AN_OCCASION, moved
from apiarybook.layout.parts import AS_WRITTEN
from apiarybook.reckon.core.lookup import match
from apiarybook.writers.plan import OWN_FIGURES, ROWS_KNOWN

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from apiarybook.writers.places import RowsOf

    Cells = Mapping[tuple[str, str], Sequence[object]]

MOST_KNOWN = 150
"""Rows of a colony that a formula names one by one, twice: of more it could be longer than 8,192 characters."""


def as_written(cells: Cells) -> dict[tuple[str, str], Sequence[object]]:
    """What a run writes of the rows that are of a colony, and what the book finds of them until somebody types.

    Args:
        cells: the values of all other columns.

    Returns:
        the number of each row and of its colony in one, None for a row of no colony, and for those of one that has
        too many to name; whether each colony's rows are known; and the figures that say so.
    """
    found: dict[tuple[str, str], Sequence[object]] = {}
    figures = [*cells["Figures", "value"]]
    for name in ROWS_KNOWN:
        counted = np.asarray(cells[name, "colony_row"], dtype=np.int64)
        ready = match(_array(cells[name, "ready_colony"]), _array(cells["Colonies", "colony"]))
        of = np.where(counted > 0, counted, ready)
        known = (of > 0) & (np.bincount(of)[of] <= MOST_KNOWN)
        both = (np.arange(len(of)) + BOOK[name].first_row) * OF_A_ROW + of
        found[name, AS_WRITTEN.key] = [one if told else None for one, told in zip(both.tolist(), known, strict=True)]
        unknown = bool(((counted > 0) & ~known).any())
        figures[[*OWN_FIGURES].index(moved(name)) - len(OWN_FIGURES)] = OF_AN_OCCASION * unknown
    here = not any(figures[1 - len(OWN_FIGURES) :])
    found["Standing", "here"] = [float(here)] * len(cells["Standing", "colony"])
    return found | {("Figures", "value"): figures}


def _array(values: Sequence[object]) -> NDArray[np.object_]:
    return np.array(values, dtype=object)


def rows_known(cells: Cells) -> RowsOf:
    """By sheet and number of a colony its rows on that sheet.

    >>> rows_known({("Weighings", "as_written"): [2000001, None, 4000001]})["Weighings"]
    {1: [2, 4]}
    """
    found: dict[str, dict[int, list[int]]] = {name: {} for name in ROWS_KNOWN}
    for name, of_sheet in found.items():
        for value in cells.get((name, AS_WRITTEN.key), ()):
            if isinstance(value, int):
                row, colony = divmod(value, OF_A_ROW)
                of_sheet.setdefault(colony, []).append(row)
    return found
