"""A file made into tables, a sheet each, with what is wrong with its sheets and headings."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import pandas as pd

from apiarybook.book.days import settle
from apiarybook.book.headings import plain_heading
from apiarybook.book.looked_at import set_marks
from apiarybook.book.settings import read_settings
from apiarybook.book.sheet_names import PROSE_SHEETS, Found, expected, is_club_book, is_former, our_sheets
from apiarybook.book.table import CellFault, Table, build_table
from apiarybook.errors import CannotRead
from apiarybook.layout import BOOK, LAYOUT_VERSION, MY_COLONIES, READABLE, SETTINGS, Kind, ReadBack, Role, Sheet
from apiarybook.layout.settings import PINNED
from apiarybook.readers.canonical import canonical_text
from apiarybook.readers.limits import cell_name
from apiarybook.readers.raw import read_raw
from apiarybook.readers.records import RawBook, RawSheet
from apiarybook.reckon.core.winter import FIRST_MONTH

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime
    from pathlib import Path

    from apiarybook.readers.records import Format

_TABLES = frozenset(sheet.name for sheet in BOOK.sheets if sheet.read_back is ReadBack.ROWS)
_KEPT = frozenset(sheet.name for sheet in BOOK.sheets if sheet.read_back is ReadBack.AS_IT_STANDS)
AS_AT = "as at"
"""The setting that holds a book to a day."""
_VERSION = "layout version"
_ERROR = re.compile(r"#(?:N/A|DIV/0!|REF!|NAME\?|VALUE!|NUM!|NULL!)|Err:\d{3}")
OLDER = (
    "This book has the layout of an earlier version of the program; apiarybook reckon brings it over to the present "
    "one, and nothing in it is lost."
)
_NEAR = 0.7
"""Likeness of two sheet names (difflib's ratio) from which the one is taken for the other renamed."""


@dataclass(frozen=True, slots=True)
class BookFault:
    """A fault of a sheet or of its headings.

    Attributes:
        rule: missing-sheet, missing-heading, heading-left-out, renamed-heading or doubled-heading.
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
class Book:
    """One file, read.

    Attributes:
        name: the file's name.
        sha256: SHA-256 of its bytes, hexadecimal.
        format: xlsx, xlsm, xls, ods or csv.
        saved: when it says it was saved.
        properties: custom document properties.
        settings: value of each setting by key; its default or None where the file says nothing.
        tables: by layout name: the sheets that people fill, Questions and Hefting, as far as the file has them.
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


def read_book(source: Path | tuple[str, bytes] | RawBook, usual: Mapping[str, object] | None = None) -> Book:
    r"""Read a file into tables.

    Sheets and columns are found by their names, wherever they stand; the view of a member copy is mapped back to the
    sheets it shows. Nothing is left out: what is not ours is in `foreign` and `unknown`, what cannot be read in
    `faults`.

    Args:
        source: a path, a file's name and its bytes, or a file as it stands.
        usual: winter and region by which the dates of a file are read that has no settings of its own.

    Raises:
        CannotRead: no sheet of ours is in the file, or it was made with another layout.

    >>> book = read_book(("Weighings.csv", b"Date,Hive,How,Reading 1 (kg)\n2026-09-05,A1,one side,21.5\n"))
    >>> table = book.tables["Weighings"]
    >>> table.typed.loc[2, "reading_1"], table.place(2, "reading_1")
    (np.float64(21.5), 'D2')
    """
    raw = source if isinstance(source, RawBook) else read_raw(source)
    if raw.format == "csv":
        _name_errors(raw)
    found = our_sheets(raw)
    _refuse(raw, found)
    settings, tables = _settings(found, raw.point)
    unit = str(settings["unit"])
    for sheet, one in _held(found):
        if sheet.name != "Settings" and one.headings:
            tables[sheet.name] = build_table(one.raw, sheet, one.headings, unit, raw.point)
    _spell(tables, settings)
    _usual_winter(tables.get("Apiaries"), settings["region"])
    _read_days(tables.values(), settings if "Settings" in found else settings | dict(usual or {}))
    set_marks(tables.values())
    read = {id(one.raw) for one in found.values() if one.headings}
    is_older = raw.properties.get(_VERSION) in READABLE[:-1]
    prose = {name.casefold() for name in PROSE_SHEETS}
    return Book(
        name=raw.name,
        sha256=raw.sha256,
        format=raw.format,
        saved=raw.saved,
        properties=dict(raw.properties),
        settings=settings,
        tables={name: table for name, table in tables.items() if name not in _KEPT},
        foreign={
            name: one
            for name, one in raw.sheets.items()
            if id(one) not in read and name.casefold() not in prose and not (is_older and is_former(name))
        },
        faults=_book_faults(raw, found),
        remarks=(*raw.remarks, *([OLDER] if is_older else [])),
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
    if version and version not in READABLE:
        raise CannotRead(
            f"{raw.name}, sheet About: this book has layout version {version}, this program reads versions up "
            f"to {LAYOUT_VERSION}; open it with the program that made it."
        )


def _held(found: dict[str, Found]) -> list[tuple[Sheet, Found]]:
    """The sheets to make tables of, in the layout's order; one shown in a view is taken from there."""
    wanted = _TABLES | _KEPT
    places = {
        sheet.name: one
        for one in sorted(found.values(), key=lambda one: len(one.sheets))
        for sheet in one.sheets
        if one.headings and (sheet.is_typed_into or sheet.name in wanted)
    }
    return [(sheet, places[sheet.name]) for sheet in BOOK.sheets if sheet.name in places]


def _settings(found: dict[str, Found], point: str) -> tuple[dict[str, object], dict[str, Table]]:
    """Read the settings first, since the unit of all masses is one of them; without them a heading may name it."""
    one = found.get("Settings")
    if one is None or one.headings is None:
        settings, _ = read_settings({})
        units = {one.headings.unit for one in found.values() if one.headings}
        return {**settings, "unit": "lb" if "lb" in units else settings["unit"]}, {}
    table = build_table(one.raw, BOOK["Settings"], one.headings, "kg", point)
    pairs = zip(table.raw["setting"], table.raw["value"], strict=True)
    rows = dict(zip(table.raw.index, pairs, strict=True))
    typed_over = _pin(found)
    if typed_over:
        rows = {
            row: (name, typed_over[0] if plain_heading(name) == AS_AT else one) for row, (name, one) in rows.items()
        }
    settings, faults = read_settings(rows)
    mended = {cell.row for cell in table.faults if cell.key == "value"}
    table.faults += [
        CellFault(row, "setting" if fault.rule == "renamed-setting" else "value", fault)
        for row, fault in faults.items()
        if row not in mended
    ]
    return settings, {"Settings": table}


def _pin(found: dict[str, Found]) -> tuple[object] | None:
    """What was typed over the cell above the headings of Standing that shows the setting as at; blank is typed too."""
    one = found.get("Standing") or found.get(MY_COLONIES.name)
    for row, line in enumerate(one.raw.rows[: one.headings.row - 1] if one and one.headings else (), 1):
        for number, text in enumerate(line, 1):
            place = row, number + 1
            if one and text == PINNED and place not in one.raw.formulas and place not in one.raw.errors:
                return (line[number] if number < len(line) else None,)
    return None


def _spell(tables: dict[str, Table], settings: dict[str, object]) -> None:
    """Write each code and name as the list spells it that it refers to: functions of a book do not look at case."""
    lists: dict[str, dict[str, object]] = {}

    def spelling(reference: str) -> dict[str, object]:
        name, _, key = reference.partition(".")
        if reference not in lists and name in tables:
            lists[reference] = {str(one).casefold(): one for one in tables[name].typed[key].tolist() if one is not None}
        return lists.get(reference, {})

    for table in tables.values():
        for column in table.sheet.typed:
            known = spelling(column.refers_to) if column.refers_to else {}
            if known:
                as_typed = table.typed[column.key].tolist()
                spelt = [known.get(str(one).casefold(), one) if one is not None else None for one in as_typed]
                if spelt != as_typed:
                    table.typed[column.key] = pd.Series(spelt, index=table.typed.index, dtype=object)
    for setting in SETTINGS:
        value = settings[setting.key]
        settings[setting.key] = spelling(setting.refers_to).get(str(value).casefold(), value)


def _usual_winter(apiaries: Table | None, region: object) -> None:
    """Give each apiary without a winter profile of its own the club's."""
    if apiaries is None or region is None:
        return
    without = apiaries.raw["profile"].isna() & apiaries.typed["apiary"].notna()
    for frame in (apiaries.raw, apiaries.typed):
        frame["profile"] = frame["profile"].mask(without, str(region))


DAYS_AS_TEXT = frozenset({"date-as-text", "date-as-number", "ambiguous-date", "impossible-date"})
MONTH_FIRST = "north-america"
"""How the names of those regions begin where the month is written before the day; common practice, no source."""


def _read_days(tables: Iterable[Table], settings: dict[str, object]) -> None:
    """Take each date of the winter that was typed as text and means one day of it."""
    if not isinstance(settings["winter"], float):
        return
    year = int(settings["winter"])
    first, last = date(year, FIRST_MONTH, 1), date(year + 1, FIRST_MONTH, 1) - timedelta(days=1)
    month_first = str(settings["region"]).startswith(MONTH_FIRST)
    for table in tables:
        for key in (column.key for column in table.sheet.typed if column.kind is Kind.DATE and table.sheet.of_winter):
            faults = [one for one in table.faults if one.key == key and one.fault.rule in DAYS_AS_TEXT]
            texts = {one.row: canonical_text(one.fault.value) for one in faults}
            days = settle(texts, first, last, month_first=month_first)
            for row, day in days.items():
                table.raw.loc[row, key], table.typed.loc[row, key] = day, pd.Timestamp(day)
            table.faults = [one for one in table.faults if one not in faults or one.row not in days]


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
    of_club = is_club_book(found)
    for one in found.values():
        held = {place: column for place, column in one.wanted.items() if of_club or not column.club_only}
        faults += _heading_faults(replace(one, wanted=held))
    older = raw.properties.get(_VERSION) in READABLE[:-1]
    return [one for one in faults if not older or one.rule != "heading-left-out"]


def _heading_faults(one: Found) -> list[BookFault]:
    """What became of the headings of the columns that people fill."""
    sheet, headings = one.raw.name, one.headings
    faults: list[BookFault] = []
    for place, column in one.wanted.items():
        if column.role is not Role.TYPED or (headings and place in headings.columns):
            continue
        told: dict[str, object] = {"suggestion": "", "wanted": column.heading}
        number = headings.renamed.get(place) if headings else None
        if headings and number:
            told["suggestion"] = column.heading
            cell = cell_name(headings.row, number)
            faults.append(BookFault("renamed-heading", sheet, cell, headings.unknown[number], told))
        else:
            rule = "missing-heading" if column.required else "heading-left-out"
            faults.append(BookFault(rule, sheet, "", column.heading, told))
    for number, place in headings.doubled.items() if headings else ():
        twice = one.wanted.get(place)
        cell = cell_name(headings.row, number) if headings else ""
        if twice and twice.role is Role.TYPED:
            told = {"suggestion": "", "wanted": twice.heading}
            faults.append(BookFault("doubled-heading", sheet, cell, twice.heading, told))
    return faults
