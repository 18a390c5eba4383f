"""Rows that hold sentences, made tall enough for the longest."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

import numpy as np

from apiarybook.layout.model import Kind, Role
from apiarybook.writers.looks import LONG_TEXT

if TYPE_CHECKING:
    from xlsxwriter.worksheet import Worksheet

    from apiarybook.writers.fill import Cells
    from apiarybook.writers.plan import Planned

LINE = 13.5
"""Height of a line of ten-point text [pt]."""
LETTERS = 1.12
"""Letters of running text in the width of a digit, beside an indent."""


def lines_of(text: object, width: float) -> int:
    """How many lines a text needs in a column.

    Args:
        text: what stands in the cell, None for a blank.
        width: width of the column, in digits.

    >>> lines_of("Weigh it again.", 60), lines_of("x" * 130, 60), lines_of(None, 60)
    (1, 2, 1)
    """
    most, said = int(LETTERS * width), "" if text is None else str(text)
    return len(textwrap.wrap(said, most)) if len(said) > most else 1


def set_heights(sheet: Worksheet, planned: Planned, cells: Cells) -> None:
    """Set the height of each row that needs more than a line.

    Programs that show a book without laying it out anew would cut long sentences off.

    Args:
        sheet: where.
        planned: its plan.
        cells: the values of all sheets.
    """
    lines = np.ones(planned.rows, dtype=np.int64)
    for name, column in planned.columns:
        if column.role is Role.VALUE and column.kind is Kind.TEXT and column.width > LONG_TEXT:
            needs = [lines_of(one, column.width) for one in cells.get((name, column.key), ())[: planned.rows]]
            lines[: len(needs)] = np.maximum(lines[: len(needs)], needs)
    for row in np.flatnonzero(lines > 1):
        sheet.set_row(planned.first_row - 1 + int(row), LINE * int(lines[row]))
