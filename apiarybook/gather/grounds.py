"""What a cell that the book reckons rests on: the typed rows of its colony."""

from __future__ import annotations

from typing import TYPE_CHECKING

from apiarybook.errors import CannotRead
from apiarybook.files.canonical import canonical_text
from apiarybook.files.headings import plain_heading
from apiarybook.gather.claims import SHEETS
from apiarybook.layout import BOOK

if TYPE_CHECKING:
    from collections.abc import Iterator

    from apiarybook.files.records import RawBook, RawSheet
    from apiarybook.files.table import Table
    from apiarybook.files.tables import Book

NOT_TOLD = ("ref", "row_for", "date", "colony", "remarks", "typed_for")
DECIMALS = 2
"""Decimals with which a reckoned value is told."""
MOST_TOLD = 4
"""Cells of a row that are named."""


def reckoned_cell(raw: RawBook, name: str, row: int, column: int) -> tuple[str, str, str]:
    """Find what stands in a cell of a sheet that the book fills, over it, and whose row it is.

    Args:
        raw: the club's book as it stands.
        name: the layout's name of the sheet.
        row: number of the row, counted from 1.
        column: number of the column, counted from 1.

    Returns:
        heading, value and colony.

    Raises:
        CannotRead: no colony's row, or no cell of it.
    """
    sheet, headings = raw.sheets[name], BOOK[name].heading_row
    over = [plain_heading(_cell(sheet, headings, at)) for at in range(1, len(sheet.rows[headings - 1]) + 1)]
    colony = _cell(sheet, row, over.index("colony") + 1) if "colony" in over and row > headings else ""
    heading = _cell(sheet, headings, column)
    if not colony or not heading:
        raise CannotRead(f"{raw.name}, sheet {name}: this cell is in no colony's row, so no rows lie behind it alone.")
    return heading, _cell(sheet, row, column), colony


def _cell(sheet: RawSheet, row: int, column: int) -> str:
    rows = sheet.rows
    known = row <= len(rows) and column <= len(rows[row - 1])
    value = rows[row - 1][column - 1] if known else None
    return canonical_text(round(value, DECIMALS) if isinstance(value, float) else value)


def rows_of(book: Book, colony: str) -> Iterator[tuple[str, str, str, str]]:
    """The typed rows of a colony: day, sheet, what they say in short, and their place.

    Args:
        book: the club's book as read.
        colony: its code.
    """
    for name in SHEETS:
        table = book.tables.get(name)
        if table is None or "colony" not in table.typed:
            continue
        same = table.typed["colony"].map(lambda code: str(code).casefold() == colony.casefold())
        for row in table.raw.index[same.to_numpy(dtype=bool)].tolist():
            day = canonical_text(table.raw.loc[row, "date"]) if "date" in table.raw else ""
            yield day, name, _in_short(table, row), f"{name}!{table.place(row, 'colony')}"


def _in_short(table: Table, row: int) -> str:
    keys = [column.key for column in table.sheet.typed if column.key not in NOT_TOLD and column.key in table.raw]
    said = [canonical_text(table.raw.loc[row, key]) for key in keys]
    return ", ".join([one for one in said if one][:MOST_TOLD])
