"""A file made into tables: each sheet's rows as they stand, and as values of their columns' kinds."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.errors import CannotRead
from apiarybook.files.canonical import canonical, canonical_text
from apiarybook.files.cells import Fault, counted, is_number_text, parser
from apiarybook.files.headings import plain_heading
from apiarybook.files.limits import column_letters
from apiarybook.files.ours import PROSE_SHEETS, Found, expected, is_club_book, our_sheets
from apiarybook.files.raw import read_raw
from apiarybook.files.records import RawBook, RawSheet
from apiarybook.files.settings import read_settings
from apiarybook.files.units import COUNTED_READINGS, FRAMES_COUNTED
from apiarybook.layout import BOOK, LAYOUT_VERSION, SETTINGS, Column, Group, Kind, Role, Sheet

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from apiarybook.files.headings import Headings
    from apiarybook.files.records import Format

NEVER_TYPED = frozenset({"ref", "typed_for"})
"""What does not tell whether somebody typed into a row: it stands there from the start, or says whom it is for."""
_TABLES = frozenset({"Decisions", "Hefting"})
_KEPT = frozenset({"Findings", "Returns", "Changes", "Year", "Claims", "Earlier lifts", "Earlier winters"})
_VERSION = "layout version"
_ERROR = re.compile(r"#(?:N/A|DIV/0!|REF!|NAME\?|VALUE!|NUM!|NULL!)|Err:\d{3}")
_NEAR = 0.7
"""Likeness of two sheet names (difflib's ratio) from which the one is taken for the other renamed."""


@dataclass(frozen=True, slots=True)
class CellFault:
    """A fault of one cell: the row as a person counts it, and the key of the column."""

    row: int
    key: str
    fault: Fault


@dataclass(frozen=True, slots=True)
class BookFault:
    """A fault of a sheet or of its headings.

    Attributes:
        rule: missing-sheet, missing-heading, renamed-heading or doubled-heading.
        sheet: name of the sheet as it stands in the file (for a missing one as it should be).
        cell: the heading's cell; empty for what is missing.
        heading: the heading as it stands, or as it should be where it is missing.
        told: what the sentences need: `suggestion` always; `wanted` the layout's heading or sheet; `required`.
    """

    rule: str
    sheet: str
    cell: str = ""
    heading: str = ""
    told: dict[str, object] = field(default_factory=dict)


@dataclass
class Table:
    """One sheet's rows.

    Attributes:
        sheet: its declaration.
        raw: canonical values of the typed and value columns, index `row` (as a person counts), ready-made rows too.
        typed: the same as float64, datetime64[s] or text; what could not be read is blank.
        columns: number of each column in the file, by key, counted from 1.
        headings: heading of each column as it stands, by key.
        unknown: columns that the layout does not know, under their headings.
        faults: of single cells.
        name: name of the sheet as it stands in the file.
    """

    sheet: Sheet
    raw: pd.DataFrame
    typed: pd.DataFrame
    columns: dict[str, int]
    headings: dict[str, str]
    unknown: pd.DataFrame
    faults: list[CellFault]
    name: str = ""

    def place(self, row: int, key: str) -> str:
        """Where a value stands, such as C7; only the row number for a column that the file lacks."""
        return f"{column_letters(self.columns.get(key, 0))}{row}"

    @property
    def is_blank(self) -> pd.Series[bool]:
        """Which rows nobody has typed into."""
        keys = [column.key for column in self.sheet.typed if column.key not in NEVER_TYPED]
        return self.raw[keys].isna().all(axis=1)


@dataclass
class Book:
    """One file, read.

    Attributes:
        name: the file's name.
        sha256: SHA-256 of its bytes, hexadecimal.
        format: xlsx, xlsm, xls, ods or csv.
        saved: when it says it was saved.
        properties: custom document properties.
        settings: value of each setting by key; its default or None where the file says nothing.
        tables: by layout name: the sheets that people fill, Decisions and Hefting, as far as the file has them.
        foreign: sheets that are not the layout's, and those whose headings are gone, by name.
        faults: of sheets and headings.
        remarks: what could not be seen in a file of this format.
        kept: by layout name: the sheets that only the package writes (Claims, Returns, Changes ...).
    """

    name: str
    sha256: str
    format: Format
    saved: datetime | None
    properties: dict[str, str]
    settings: dict[str, object]
    tables: dict[str, Table]
    foreign: dict[str, RawSheet]
    faults: list[BookFault]
    remarks: tuple[str, ...] = ()
    kept: dict[str, Table] = field(default_factory=dict)

    @property
    def unit(self) -> str:
        """The unit of every mass in the book, kg or lb."""
        return str(self.settings["unit"])


def read_book(source: Path | tuple[str, bytes] | RawBook) -> Book:
    r"""Read a file into tables.

    Sheets and columns are found by their names, wherever they stand; the view of a member copy is mapped back to the
    sheets it shows. Nothing is left out: what is not ours is in `foreign` and `unknown`, what cannot be read in
    `faults`.

    Args:
        source: a path, a file's name and its bytes, or a file as it stands.

    Raises:
        CannotRead: no sheet of ours is in the file, or it was made with another layout.

    >>> book = read_book(("Weighings.csv", b"Date,Hive,How,Reading 1 (kg)\n2026-09-05,A1,one side,21.5\n"))
    >>> table = book.tables["Weighings"]
    >>> table.typed.loc[2, "reading_1"], table.place(2, "reading_1")
    (np.float64(21.5), 'D2')
    """
    raw = source if isinstance(source, RawBook) else read_raw(source)
    from_csv = raw.format == "csv"
    if from_csv:
        _name_errors(raw)
    found = our_sheets(raw)
    _refuse(raw, found)
    settings, tables = _settings(found, from_csv=from_csv)
    unit = str(settings["unit"])
    for sheet, one in _held(found):
        if sheet.name != "Settings" and one.headings:
            tables[sheet.name] = build_table(one.raw, sheet, one.headings, unit, from_csv=from_csv)
    _spell(tables, settings)
    read = {id(one.raw) for one in found.values() if one.headings}
    prose = {name.casefold() for name in PROSE_SHEETS}
    return Book(
        name=raw.name,
        sha256=raw.sha256,
        format=raw.format,
        saved=raw.saved,
        properties=dict(raw.properties),
        settings=settings,
        tables={name: table for name, table in tables.items() if name not in _KEPT},
        foreign={name: one for name, one in raw.sheets.items() if id(one) not in read and name.casefold() not in prose},
        faults=_book_faults(raw, found),
        remarks=raw.remarks,
        kept={name: table for name, table in tables.items() if name in _KEPT},
    )


def _name_errors(raw: RawBook) -> None:
    """Name the error cells of a csv file: there they are only the text that the spreadsheet program showed."""
    for sheet in raw.sheets.values():
        for row, values in enumerate(sheet.rows, start=1):
            for number, one in enumerate(values, start=1):
                if isinstance(one, str) and _ERROR.fullmatch(one):
                    sheet.errors[row, number] = one


def _refuse(raw: RawBook, found: dict[str, Found]) -> None:
    if not any(one.headings and any(sheet.typed for sheet in one.sheets) for one in found.values()):
        raise CannotRead(
            f"{raw.name}: no sheet of a club book or member copy was found in it (looked for {', '.join(expected({}))} "
            "by name and headings); check that it is the right file."
        )
    version = raw.properties.get(_VERSION, "")
    if "About" in found:
        named = {plain_heading(row[0]): canonical_text(row[1]) for row in found["About"].raw.rows if len(row) > 1}
        version = named.get(_VERSION) or version
    if version and version != LAYOUT_VERSION:
        raise CannotRead(
            f"{raw.name}, sheet About: this book has layout version {version}, this program reads version "
            f"{LAYOUT_VERSION}; open it with the program that made it."
        )


def _held(found: dict[str, Found]) -> list[tuple[Sheet, Found]]:
    """The sheets to make tables of, in the layout's order; one shown in a view is taken from there."""
    wanted = _TABLES | _KEPT
    places = {
        sheet.name: one
        for one in sorted(found.values(), key=lambda one: len(one.sheets))
        for sheet in one.sheets
        if one.headings and (sheet.group in (Group.TYPE_HERE, Group.SETTINGS) or sheet.name in wanted)
    }
    return [(sheet, places[sheet.name]) for sheet in BOOK.sheets if sheet.name in places]


def _settings(found: dict[str, Found], *, from_csv: bool) -> tuple[dict[str, object], dict[str, Table]]:
    """Read the settings first, since the unit of all masses is one of them; without them a heading may name it."""
    one = found.get("Settings")
    if one is None or one.headings is None:
        settings, _ = read_settings({})
        units = {one.headings.unit for one in found.values() if one.headings}
        return {**settings, "unit": "lb" if "lb" in units else settings["unit"]}, {}
    table = build_table(one.raw, BOOK["Settings"], one.headings, "kg", from_csv=from_csv)
    pairs = zip(table.raw["setting"], table.raw["value"], strict=True)
    settings, faults = read_settings(dict(zip(table.raw.index, pairs, strict=True)))
    mended = {cell.row for cell in table.faults if cell.key == "value"}
    table.faults += [CellFault(row, "value", fault) for row, fault in faults.items() if row not in mended]
    return settings, {"Settings": table}


def _spell(tables: dict[str, Table], settings: dict[str, object]) -> None:
    """Write each code and name as the list spells it that it refers to: functions of a book do not look at case."""
    lists: dict[str, dict[str, object]] = {}

    def spelling(reference: str) -> dict[str, object]:
        name, _, key = reference.partition(".")
        if reference not in lists and name in tables:
            lists[reference] = {str(one).casefold(): one for one in tables[name].typed[key].dropna()}
        return lists.get(reference, {})

    for table in tables.values():
        for column in table.sheet.typed:
            known = spelling(column.refers_to) if column.refers_to else {}
            if known:
                as_typed = table.typed[column.key]
                spelt = [known.get(str(one).casefold(), one) if one is not None else None for one in as_typed]
                table.typed[column.key] = pd.Series(spelt, index=as_typed.index, dtype=object)
    for setting in SETTINGS:
        value = settings[setting.key]
        settings[setting.key] = spelling(setting.refers_to).get(str(value).casefold(), value)


def _book_faults(raw: RawBook, found: dict[str, Found]) -> list[BookFault]:
    faults: list[BookFault] = []
    if raw.format != "csv":
        shown = {sheet.name for one in found.values() for sheet in one.sheets}
        strange = {" ".join(name.casefold().split()): name for name in raw.sheets}
        for name in expected(found):
            if name not in shown:
                view = next((view.name for view in BOOK.views if view.parts[0][0] == name), name)
                wanted = name if is_club_book(found) else view
                near = difflib.get_close_matches(wanted.casefold(), strange, n=1, cutoff=_NEAR)
                suggestion = strange[near[0]] if near else ""
                faults.append(BookFault("missing-sheet", wanted, told={"suggestion": suggestion, "wanted": wanted}))
    for one in found.values():
        faults += _heading_faults(one)
    return faults


def _heading_faults(one: Found) -> list[BookFault]:
    """What became of the headings of the columns that people fill."""
    sheet, headings = one.raw.name, one.headings
    faults: list[BookFault] = []
    for place, column in one.wanted.items():
        if column.role is not Role.TYPED or (headings and place in headings.columns):
            continue
        told: dict[str, object] = {"suggestion": "", "wanted": column.heading, "required": column.required}
        number = headings.renamed.get(place) if headings else None
        if headings and number:
            told["suggestion"] = column.heading
            cell = f"{column_letters(number)}{headings.row}"
            faults.append(BookFault("renamed-heading", sheet, cell, headings.unknown[number], told))
        else:
            faults.append(BookFault("missing-heading", sheet, "", column.heading, told))
    for number, place in headings.doubled.items() if headings else ():
        column = one.wanted[place]
        told = {"suggestion": "", "wanted": column.heading, "required": column.required}
        cell = f"{column_letters(number)}{headings.row}" if headings else ""
        if column.role is Role.TYPED:
            faults.append(BookFault("doubled-heading", sheet, cell, column.heading, told))
    return faults


def empty_typed(sheet: Sheet) -> pd.DataFrame:
    """A typed frame of a sheet without rows.

    >>> from apiarybook.layout import BOOK
    >>> empty_typed(BOOK["Moves"]).dtypes["date"]
    dtype('<M8[s]')
    """
    index = pd.Index([], name="row", dtype="int64")
    return pd.DataFrame({column.key: _series(column, [], index) for column in _stored(sheet)}, index=index)


def build_table(raw: RawSheet, sheet: Sheet, headings: Headings, unit: str, *, from_csv: bool) -> Table:
    """Make one sheet of a file into a table.

    Args:
        raw: the sheet as it stands.
        sheet: its declaration.
        headings: its heading row, read.
        unit: the book's unit, kg or lb.
        from_csv: whether every value is text, so that text which is a plain number is one.
    """
    columns = {key: number for (name, key), number in headings.columns.items() if name == sheet.name}
    columns = {column.key: columns[column.key] for column in _stored(sheet) if column.key in columns}
    last = _last_row(raw, {*columns.values(), *headings.unknown, *headings.doubled})
    grid = raw.rows[headings.row : last] + [[]] * (last - max(len(raw.rows), headings.row))
    index = pd.RangeIndex(headings.row + 1, headings.row + 1 + len(grid), name="row")
    values = {
        column.key: _values(grid, columns.get(column.key), column, from_csv=from_csv) for column in _stored(sheet)
    }
    faults = _broken(raw, sheet, columns, headings.row, values)
    typed = {column.key: _parsed(column, values, unit, faults) for column in _stored(sheet)}
    order = list(typed)
    found = sorted(faults.items(), key=lambda one: (one[0][0], columns[one[0][1]], order.index(one[0][1])))
    return Table(
        sheet=sheet,
        raw=pd.DataFrame(values, index=index, dtype=object),
        typed=pd.DataFrame({key: _series(sheet[key], one, index) for key, one in typed.items()}, index=index),
        columns=columns,
        headings={key: headings.as_they_stand[sheet.name, key] for key in columns},
        unknown=_unknown(grid, headings, index),
        faults=[CellFault(row + headings.row + 1, key, fault) for (row, key), fault in found],
        name=raw.name,
    )


def _stored(sheet: Sheet) -> list[Column]:
    return [column for column in sheet.columns if column.role is not Role.LIVE]


def _last_row(raw: RawSheet, columns: set[int]) -> int:
    """The last row in which a column holds more than the book's own formulas."""
    places = [row for found in (raw.errors, raw.formulas) for row, column in found if column in columns]
    typed_to = len(raw.rows)
    wanted = [number - 1 for number in columns]
    while typed_to and all(
        number >= len(raw.rows[typed_to - 1]) or raw.rows[typed_to - 1][number] is None for number in wanted
    ):
        typed_to -= 1
    return max([typed_to, *places])


def _values(grid: list[list[object]], number: int | None, column: Column, *, from_csv: bool) -> list[object]:
    if number is None:
        return [None] * len(grid)
    found = [row[number - 1] if number <= len(row) else None for row in grid]
    plain: list[object] = [None if one is None else canonical(one) for one in found]
    if from_csv and (column.numeric or column.kind is Kind.HEFT):
        return [canonical(float(one)) if isinstance(one, str) and is_number_text(one) else one for one in plain]
    return plain


def _broken(
    raw: RawSheet, sheet: Sheet, columns: dict[str, int], heading_row: int, values: dict[str, list[object]]
) -> dict[tuple[int, str], Fault]:
    """Name typed cells that hold an error or a formula; what an error cell shows becomes its raw value."""
    keys = {number: key for key, number in columns.items() if sheet[key].role is Role.TYPED}
    faults: dict[tuple[int, str], Fault] = {}
    for rule, word, found in (("formula-in-input", "formula", raw.formulas), ("error-cell", "error", raw.errors)):
        for (row, number), text in found.items():
            at = row - heading_row - 1
            if at < 0 or number not in keys:
                continue
            key = keys[number]
            if rule == "error-cell":
                values[key][at] = text
            faults[at, key] = Fault(rule, values[key][at], {"suggestion": "", word: text})
    return faults


def _parsed(
    column: Column, values: dict[str, list[object]], unit: str, faults: dict[tuple[int, str], Fault]
) -> list[object]:
    """Read one column; its faults join the others, and a cell that has one already stays blank."""
    read = parser(column, unit)
    as_count = parser(counted(column), unit) if column.key in COUNTED_READINGS else read
    ways = values.get("how") if column.key in COUNTED_READINGS else None
    parsed: list[object] = []
    for at, one in enumerate(values[column.key]):
        if one is None or (at, column.key) in faults:
            parsed.append(None)
            continue
        value, fault = (as_count if ways and _is_frames(ways[at]) else read)(one)
        parsed.append(value)
        if fault and column.role is Role.TYPED:
            faults[at, column.key] = fault
    return parsed


def _is_frames(way: object) -> bool:
    return isinstance(way, str) and " ".join(way.casefold().split()) == FRAMES_COUNTED


def _series(column: Column, values: list[object], index: pd.Index[int]) -> pd.Series[float]:
    if column.numeric:
        return pd.Series(np.array(values, dtype="float64"), index=index)
    if column.kind is Kind.DATE:
        return pd.Series(np.array(values, dtype="datetime64[s]"), index=index)
    return pd.Series(values, index=index, dtype=object)


def _unknown(grid: list[list[object]], headings: Headings, index: pd.Index[int]) -> pd.DataFrame:
    """What stands in columns that are not ours; of a column without heading or of a doubled one its letters tell."""
    found: dict[str, list[object]] = {}
    strange = {**headings.unknown, **{number: headings.as_they_stand[of] for number, of in headings.doubled.items()}}
    for number, text in sorted(strange.items()):
        values = [row[number - 1] if number <= len(row) else None for row in grid]
        if text or any(one is not None for one in values):
            name = text if text and text not in found and number in headings.unknown else ""
            found[name or f"{text} (column {column_letters(number)})".strip()] = values
    return pd.DataFrame(found, index=index, dtype=object)
