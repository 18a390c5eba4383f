"""What a cell that the book reckons rests on: the typed rows of its colony."""

from __future__ import annotations

from typing import TYPE_CHECKING

from apiarybook.book.headings import plain_heading
from apiarybook.book.table import empty_typed
from apiarybook.errors import CannotRead
from apiarybook.gather.claims import SHEETS
from apiarybook.layout import BOOK, Kind
from apiarybook.readers.canonical import canonical_text
from apiarybook.reckon.hive.moves import MOST_IN_A_ROW

if TYPE_CHECKING:
    from collections.abc import Iterator

    from apiarybook.book.table import Table
    from apiarybook.book.tables import Book
    from apiarybook.readers.records import RawBook, RawSheet

NOT_TOLD = ("ref", "row_for", "date", "colony", "remarks", "typed_for")
DECIMALS = 2
"""Decimals with which a reckoned value is told."""
MOST_TOLD = 6
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
    width = len(sheet.rows[headings - 1]) if len(sheet.rows) >= headings else 0
    over = [plain_heading(_cell(sheet, headings, at)) for at in range(1, width + 1)]
    if "colony" not in over:
        raise CannotRead(
            f"{raw.name}, sheet {name}: no row of it is one colony's, so no rows lie behind this cell alone."
        )
    at = over.index("colony") + 1
    if not any(_cell(sheet, one, at) for one in range(headings + 1, len(sheet.rows) + 1)):
        raise CannotRead(f"{raw.name}, sheet {name}: it holds no reckoned values; run apiarybook reckon first.")
    colony, heading = _cell(sheet, row, at) if row > headings else "", _cell(sheet, headings, column)
    if not colony or not heading:
        raise CannotRead(f"{raw.name}, sheet {name}: this cell is in no colony's row, so no rows lie behind it alone.")
    return heading, _cell(sheet, row, column), colony


def _cell(sheet: RawSheet, row: int, column: int) -> str:
    rows = sheet.rows
    known = row <= len(rows) and column <= len(rows[row - 1])
    value = rows[row - 1][column - 1] if known else None
    if (row, column) in sheet.errors:
        return sheet.errors[row, column]
    return canonical_text(round(value, DECIMALS) if isinstance(value, float) else value)


def rows_of(book: Book, colony: str) -> Iterator[tuple[str, str, str, str]]:
    """The typed rows of a colony, and of those united into it: day, sheet, what they say in short, and their place.

    Args:
        book: the club's book as read.
        colony: its code.
    """
    codes = {colony.casefold()}
    moves = book.tables["Moves"].typed if "Moves" in book.tables else empty_typed(BOOK["Moves"])
    for _ in range(MOST_IN_A_ROW):
        codes |= {
            _folded(one) for one, into in zip(moves["colony"], moves["into"], strict=True) if _folded(into) in codes
        }
    for name in SHEETS:
        table = book.tables.get(name)
        if table is None or "colony" not in table.typed:
            continue
        for row in table.raw.index[table.typed["colony"].map(_folded).isin(codes - {""})].tolist():
            day = canonical_text(table.raw.loc[row, "date"]) if "date" in table.raw else ""
            yield day, name, _in_short(table, row), f"{name}!{table.place(row, 'colony')}"


def _folded(code: object) -> str:
    return code.casefold() if isinstance(code, str) else ""


def _in_short(table: Table, row: int) -> str:
    said = []
    for column in table.sheet.typed:
        value = canonical_text(table.raw.loc[row, column.key]) if column.key in table.raw else ""
        if value and column.key not in NOT_TOLD:
            said.append(f"{column.heading} {value}" if column.numeric or column.kind is Kind.HEFT else value)
    held = ["held, does not count"] if "held" in table.raw and table.raw.loc[row, "held"] is not None else []
    return ", ".join([*said[:MOST_TOLD], *held])
