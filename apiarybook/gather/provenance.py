"""Why a cell of the club's book says what it says: all that anybody said of it, and what was made of that."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from apiarybook.book.headings import plain_heading
from apiarybook.book.table import empty_typed
from apiarybook.book.tables import read_book
from apiarybook.errors import CannotRead
from apiarybook.gather.claims import SHEETS, from_frame
from apiarybook.gather.copy_files import Papers
from apiarybook.layout import BOOK, Group, Kind
from apiarybook.readers.canonical import canonical_text
from apiarybook.readers.limits import column_number
from apiarybook.readers.raw import read_raw
from apiarybook.reckon.hive.moves import MOST_IN_A_ROW

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from apiarybook.book.table import Table
    from apiarybook.book.tables import Book
    from apiarybook.gather.claims import Claim
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
    over = [plain_heading(_shown(sheet, headings, at)) for at in range(1, width + 1)]
    if "colony" not in over:
        raise CannotRead(
            f"{raw.name}, sheet {name}: no row of it is one colony's, so no rows lie behind this cell alone."
        )
    at = over.index("colony") + 1
    if not any(_shown(sheet, one, at) for one in range(headings + 1, len(sheet.rows) + 1)):
        raise CannotRead(f"{raw.name}, sheet {name}: it holds no reckoned values; run apiarybook reckon first.")
    colony, heading = _shown(sheet, row, at) if row > headings else "", _shown(sheet, headings, column)
    if not colony or not heading:
        raise CannotRead(f"{raw.name}, sheet {name}: this cell is in no colony's row, so no rows lie behind it alone.")
    return heading, _shown(sheet, row, column), colony


def _shown(sheet: RawSheet, row: int, column: int) -> str:
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


_PLACE = re.compile(r"'?(.+?)'?!\$?([A-Za-z]{1,3})\$?([1-9]\d{0,6})")


@dataclass(frozen=True, slots=True)
class Said:
    """One thing that was said of the cell, or done with it.

    Attributes:
        when: the day it was gathered or done.
        what: handed out, returned or typed, or the word of the sheet Changes.
        value: what stood there; blank for a cleared cell.
        file: the file in which it stands.
        place: the cell in that file.
        why: why it was done; empty for what was only said.
    """

    when: str
    what: str
    value: str
    file: str
    place: str
    why: str = ""


@dataclass(frozen=True, slots=True)
class Trail:
    """A cell, what stands in it, and how it came to that: first what was said, then what was made of it."""

    sheet: str
    cell: str
    heading: str
    ref: str
    value: str
    said: list[Said]


def trail(path: Path, place: str) -> Trail:
    """Tell why a cell of a club's book says what it says: for a cell that the book fills, the rows of its colony.

    Args:
        path: the book.
        place: a cell, such as Weighings!F7.

    Raises:
        CannotRead: there is no such cell among those that people type into or that a colony has.
    """
    raw = read_raw(path)
    book = read_book(raw)
    reckoned = _reckoned(raw, book, place)
    if reckoned is not None:
        return reckoned
    sheet, key, row = _cell(book, place)
    table = book.tables[sheet]
    ref = canonical_text(table.raw.loc[row, "ref"])
    claims = from_frame(book.kept["Claims"].raw) if "Claims" in book.kept else []
    said = [*_claimed(claims, sheet, key, _aliases(book, sheet, ref)), *_changes(book, sheet, ref, key)]
    value = canonical_text(table.raw.loc[row, key])
    return Trail(sheet, table.place(row, key), table.headings.get(key, key), ref, value, said)


def _reckoned(raw: RawBook, book: Book, place: str) -> Trail | None:
    """The rows that lie behind a cell of a sheet which the book fills; None for a cell of another sheet."""
    found = _PLACE.fullmatch(place.strip())
    filled = [sheet.name for sheet in BOOK.sheets if sheet.group is Group.READ_HERE and sheet.name in raw.sheets]
    name = next((one for one in filled if found and one.casefold() == found[1].strip().casefold()), None)
    if found is None or name is None:
        return None
    heading, value, colony = reckoned_cell(raw, name, int(found[3]), column_number(found[2].upper()))
    rows = sorted(rows_of(book, colony))
    if not rows:
        raise CannotRead(f"{book.name}: no typed row names {colony} any more; run apiarybook reckon first.")
    said = [Said(*row[:3], book.name, row[3]) for row in rows]
    return Trail(name, f"{found[2].upper()}{found[3]}", heading, colony, value, said)


def _cell(book: Book, place: str) -> tuple[str, str, int]:
    found = _PLACE.fullmatch(place.strip())
    if found is None:
        raise CannotRead(f"{place!r} names no cell; write the sheet and the cell, such as Weighings!F7.")
    sheet = next((name for name in SHEETS if name.casefold() == found[1].strip().casefold()), "")
    if sheet not in book.tables:
        raise CannotRead(f"{book.name}: {found[1]} is none of the sheets whose rows are gathered: {', '.join(SHEETS)}.")
    table, number, row = book.tables[sheet], column_number(found[2].upper()), int(found[3])
    key = next((key for key, at in table.columns.items() if at == number), "")
    if key not in BOOK[sheet].by_key or row not in table.raw.index:
        raise CannotRead(
            f"{book.name}, sheet {sheet}: {found[2].upper()}{row} is no cell that people type into; what the book "
            "computes there follows from the cells beside it."
        )
    return sheet, key, row


def _aliases(book: Book, sheet: str, ref: str) -> set[str]:
    """The refs of rows that were found to be one with this row, as Changes says."""
    found = {ref}
    for row in _rows(book):
        if row["sheet"] == sheet and row["ref"] == ref and row["column"] is None and row["came"] is not None:
            found.add(canonical_text(row["came"]))
    return found


def _rows(book: Book) -> list[dict[str, object]]:
    if "Changes" not in book.kept:
        return []
    records = book.kept["Changes"].raw.to_dict("records")
    return [{str(key): value for key, value in row.items()} for row in records]


def _claimed(claims: list[Claim], sheet: str, key: str, refs: set[str]) -> Iterator[Said]:
    papers = Papers(claims)
    same = [claim for claim in claims if claim.sheet == sheet and claim.ref in refs and claim.ref]
    for claim in sorted(same, key=lambda one: (one.kind != "handed out", one.saved, one.gathered, one.copy)):
        if claim.was is not None and key not in claim.was:
            continue
        value = claim.ref if key == "ref" else canonical_text(claim.values.get(key))
        cell = papers.cell(claim, key) if claim.kind == "returned" else ""
        saved = f", saved {claim.saved}" if claim.saved and claim.kind == "returned" else ""
        yield Said(claim.gathered, f"{claim.kind}, copy {claim.copy}{saved}", value, claim.file, cell)


def _changes(book: Book, sheet: str, ref: str, key: str) -> Iterator[Said]:
    headings = {key, BOOK[sheet][key].heading}
    for row in _rows(book):
        whole = row["column"] is None
        if row["sheet"] == sheet and row["ref"] == ref and (whole or row["column"] in headings):
            when, what, came, file, place, why = (
                canonical_text(row[one]) for one in ("as_at", "what", "came", "file", "place", "why")
            )
            yield Said(when, what, came, file, place, why)
