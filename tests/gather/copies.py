"""Member copies filled in by script: the rows of a copy changed and saved as a plain book of its own."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date, datetime, time
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import xlsxwriter

from apiarybook.book.headings import plain_heading
from apiarybook.gather.collate import collate
from apiarybook.gather.handout import handout
from apiarybook.layout import BOOK
from apiarybook.readers.raw import read_raw
from apiarybook.writers.set_by_people import LAYOUT_MARK
from tests.gather.small_club import AS_AT, Row, club_book

if TYPE_CHECKING:
    from collections.abc import Iterable

    from apiarybook.readers.records import RawBook, RawSheet

KEPT = ("Start here", "My colonies", *(sheet.name for sheet in BOOK.to_return), "Hive types", "About")
SAVED = datetime(2026, 9, 20, 18, 0)  # noqa: DTZ001 cells know no zones
BOOK_ID = "00c0ffee"
Changes = dict[tuple[str, str, str], object]
"""By sheet, ref and column key, the new value."""


def handed_out(folder: Path, rows: dict[str, list[Row]] | None = None) -> tuple[Path, dict[str, Path]]:
    """A club's book in a folder and its first copies, by member."""
    asked = repr(rows)
    if asked not in _HANDED_OUT:
        with TemporaryDirectory() as made:
            club = club_book(Path(made, "club.xlsx"), rows)
            handing = handout(club, Path(made, "out"), as_at=AS_AT, book_id=BOOK_ID)
            files = {one.relative_to(made): one.read_bytes() for one in Path(made).rglob("*") if one.is_file()}
            _HANDED_OUT[asked] = files, {copy.member: copy.path.relative_to(made) for copy in handing.copies}
    files, copies = _HANDED_OUT[asked]
    for name, data in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    return folder / "club.xlsx", {member: folder / name for member, name in copies.items()}


_HANDED_OUT: dict[str, tuple[dict[Path, bytes], dict[str, Path]]] = {}
"""By the rows that were asked for, all that handing out left in a folder, and the copies in it by member."""


def filled(copy: Path, rows: dict[str, list[Row]], changes: Changes | None = None) -> RawBook:
    """A copy with rows typed into its first free lines over what stands ready there, and cells of known rows changed.

    Args:
        copy: the copy as handed out.
        rows: by sheet, the new rows by column key.
        changes: by sheet, ref and column key, the new value.
    """
    raw = read_raw(copy)
    sheets = {name: sheet for name, sheet in raw.sheets.items() if name in KEPT}
    for name, new in rows.items():
        grid, at, columns = _grid(sheets[name], name)
        _cleared(grid[at - 1 :], _layout(name), columns)
        for row in new:
            while at < len(grid) and any(grid[at][columns[key]] is not None for key in columns if key in row):
                at += 1
            if at == len(grid):
                grid.append([None] * len(grid[0]))
            for key, value in row.items():
                grid[at][columns[key]] = value
            at += 1
    for (name, ref, key), value in (changes or {}).items():
        grid, first, columns = _grid(sheets[name], name)
        mark = columns["colony" if _layout(name) == "Colonies" else "ref"]
        next(row for row in grid[first:] if row[mark] == ref)[columns[key]] = value
    return replace(raw, sheets={name: replace(sheet, formulas={}, errors={}) for name, sheet in sheets.items()})


def _grid(sheet: RawSheet, name: str) -> tuple[list[list[object]], int, dict[str, int]]:
    """Cells of a sheet, its first row, and the places of its typed columns."""
    grid = sheet.rows
    typed = {plain_heading(column.heading): column.key for column in BOOK[_layout(name)].typed}
    at = next(at for at, row in enumerate(grid) if sum(plain_heading(one) in typed for one in row) > 0)
    wide = len(grid[at])
    for row in grid:
        row.extend([None] * (wide - len(row)))
    columns: dict[str, int] = {}
    for number, one in enumerate(grid[at]):
        key = typed.get(plain_heading(one))
        if key and key not in columns:
            columns[key] = number
    return grid, at + 1, columns


def _cleared(grid: list[list[object]], name: str, columns: dict[str, int]) -> None:
    """Take out of a sheet what stands ready in it."""
    headings = [plain_heading(one) for one in grid[0]]
    for key, beside in BOOK[name].made_ready.items():
        at = headings.index(plain_heading(BOOK[name][beside].heading))
        for row in grid[1:]:
            if row[at] is not None:
                row[columns[key]] = row[at] = None


def _layout(name: str) -> str:
    return "Colonies" if name == "My colonies" else name


def saved(raw: RawBook, path: Path, when: datetime = SAVED, folded: Iterable[int] = ()) -> Path:
    """Save a book as plain xlsx, values only, at a time of our choosing, some columns of each sheet hidden."""
    target = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    book = xlsxwriter.Workbook(target, options)
    day = book.add_format({"num_format": "yyyy-mm-dd"})
    book.set_properties({"created": when})
    for name, value in raw.properties.items():
        book.set_custom_property(name, value, "text")
    for name, sheet in raw.sheets.items():
        made = book.add_worksheet(name)
        for at, row in enumerate(sheet.rows):
            for number, value in enumerate(row):
                if isinstance(value, date):
                    moment = value if isinstance(value, datetime) else datetime.combine(value, time())
                    made.write_datetime(at, number, moment, day)
                elif value is not None:
                    made.write(at, number, value)
        for number in folded:
            made.set_column(number, number, None, None, {"hidden": True})
        if sheet.hidden:
            made.hide()
    book.close()
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(target.getvalue())
    return path


def returned(copy: Path, path: Path, rows: dict[str, list[Row]], when: datetime = SAVED, **changed: object) -> Path:
    """Fill a copy and save it."""
    changes = changed.get("changes")
    return saved(filled(copy, rows, changes), path, when)  # type: ignore[arg-type]


def gathered(club: Path, *paths: Path) -> bytes:
    """Gather files and give the bytes of the club's book."""
    collate(club, paths, as_at=AS_AT)
    return club.read_bytes()


def data(club: Path) -> dict[str, list[list[object]]]:
    """The typed cells of a club's data sheets, blank rows left out."""
    from apiarybook.book.tables import read_book
    from apiarybook.gather.claims import SHEETS

    tables = read_book(club).tables
    found = {}
    for name in SHEETS:
        keys = [column.key for column in BOOK[name].typed if column.key in tables[name].raw]
        found[name] = tables[name].raw[~tables[name].is_blank][keys].astype(object).to_numpy().tolist()
    return found


def edited(club: Path, changes: Changes, target: Path | None = None, when: datetime = SAVED) -> Path:
    """Type into a club's book as a person would: cells by sheet, ref (of Questions: the ref of its row) and key.

    Only values are saved, and no mark of the layout, so that nothing is told of looks and formulas that are gone.
    """
    raw = read_raw(club)
    for (name, ref, key), value in changes.items():
        grid, first, columns = _grid(raw.sheets[name], name)
        if name == "Questions":
            headings = [plain_heading(one) for one in grid[first - 1]]
            columns = {one.key: headings.index(plain_heading(one.heading)) for one in BOOK[name].columns}
        mark = columns["colony" if _layout(name) == "Colonies" else "ref"]
        next(row for row in grid[first:] if row[mark] == ref)[columns[key]] = value
    sheets = {name: replace(sheet, formulas={}, errors={}) for name, sheet in raw.sheets.items()}
    properties = {name: one for name, one in raw.properties.items() if name != LAYOUT_MARK}
    return saved(replace(raw, sheets=sheets, properties=properties), target or club, when)
