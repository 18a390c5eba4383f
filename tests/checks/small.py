"""Small books made of rows: an invented club with one apiary, and whatever rows a test adds."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from apiarybook.book.tables import Book, read_book
from apiarybook.checks.loop import Checked, check_book
from apiarybook.layout import BOOK, SETTINGS
from apiarybook.readers.records import RawBook, RawSheet

if TYPE_CHECKING:
    from collections.abc import Mapping

    from apiarybook.checks.finding import Finding

Row = dict[str, object]
Sheets = dict[str, list[Row]]
Case = str | int
"""What tells one club of `side_by_side` from the others."""
AS_AT = date(2026, 9, 20)
DAY = date(2026, 9, 12)
# empty 16 kg, all combs full 21.16 kg, with 2 kg of bees and 1 kg of pollen believable up to 45.16 kg
HIVE: Row = {
    "name": "Eleven",
    "frames": 11,
    "boxes": 1,
    "material": "wood",
    "tare": 16.0,
    "tare_spread": 1.6,
    "bees": 2.0,
    "pollen": 1.0,
    "pollen_frames": 0.8,
    "want": 18.0,
    "comb_side": 6.94,
    "full_comb": 2.3,
    "portion_liquid": 5.0,
    "portion_fondant": 2.5,
    "feeder_holds": 4.5,
}
CLUB: Sheets = {
    "Members": [{"member": "M1", "name": "Ann"}],
    "Apiaries": [{"apiary": "P1", "member": "M1", "profile": "british-isles"}],
    "Colonies": [{"colony": "A1", "apiary": "P1", "hive_type": "Eleven", "stand": "solid"}],
    "Hive types": [HIVE],
    "Feed kinds": [
        {"name": "Thick", "form": "liquid", "solids": 0.6135, "yields": 0.9, "pack": 25.0},
        {"name": "Home mixed syrup", "form": "liquid", "solids": 0.6135, "yields": 0.9, "pack": 25.0},
        {"name": "Fondant", "form": "solid", "solids": 0.78, "yields": 0.9, "pack": 12.5},
    ],
    "Extras": [{"name": "Queen excluder", "mass": 0.6}, {"name": "Empty super", "mass": 2.5}],
    "Scales": [{"scale": "H1", "kind": "hanging", "capacity": 50.0, "division": 0.1}],
    "Scale checks": [
        {"date": DAY, "scale": "H1", "known": 20.0, "reading": 20.0},
        {"date": DAY, "scale": "H1", "known": 40.0, "reading": 40.0},
    ],
    **{name: [] for name in ("Weighings", "Feedings", "Winter rounds", "Moves", "After winter", "Scale loans")},
}
MASSES_IN_POUNDS = 1 / 0.45359237


def weighing(**cells: object) -> Row:
    """A sound weighing, but for what a test gives."""
    return {"date": DAY, "colony": "A1", "by": "Ann", "how": "full lift", "reading_1": 38.0, **cells}


def feeding(**cells: object) -> Row:
    """A sound feed, but for what a test gives."""
    return {"date": DAY, "colony": "A1", "feed_kind": "Thick", "amount": 5.0, "unit": "kg", **cells}


def book(unit: str = "kg", winter: object = 2026.0, left_out: tuple[str, ...] = (), **rows: list[Row]) -> Book:
    """A whole club book; sheets given by name (blanks as _) stand instead of the club's."""
    sheets = CLUB | {name.replace("_", " "): found for name, found in rows.items()}
    raw = {name: RawSheet(name, _grid(name, found)) for name, found in sheets.items() if name not in left_out}
    told = {"unit": unit, "winter": winter, "region": "british-isles", "autumn_feed": "Thick", "solid_feed": "Fondant"}
    settings: list[list[object]] = [["setting", "value", "meaning"]]
    settings += [[one.heading, told.get(one.key), one.meaning] for one in SETTINGS]
    raw["Settings"] = RawSheet("Settings", settings)
    return read_book(RawBook("club.xlsx", "", "xlsx", None, {}, raw))


def _grid(name: str, rows: list[Row]) -> list[list[object]]:
    columns = BOOK[name].typed
    assert all(set(row) <= {column.key for column in columns} for row in rows)
    return [[column.heading for column in columns], *([row.get(column.key) for column in columns] for row in rows)]


def checked(as_at: date = AS_AT, **rows: object) -> Checked:
    """What the checks say of a small book."""
    return check_book(book(**rows), as_at)  # type: ignore[arg-type]


def found(as_at: date = AS_AT, **rows: object) -> list[tuple[str, str, str]]:
    """Findings of a small book as rule, cell and value."""
    return [(one.rule, one.cell, one.value) for one in checked(as_at, **rows).findings]


OF_ONE_CLUB = ("Members", "Apiaries", "Colonies", "Scales", "Scale checks")
"""Lists of which every club of `side_by_side` has its own; hive types, feeds and extras are those of all."""
OWN = ("member", "name", "apiary", "colony", "scale", "by", "ref")
"""Columns whose words are a club's own, wherever else they stand."""


def side_by_side(cases: Mapping[Case, Sheets]) -> tuple[Sheets, dict[str, list[tuple[Case, int]]]]:
    """The rows of many small clubs in one book, which costs hardly more than that of one.

    Each has members, apiaries, colonies, scales and people of its own, so that nothing of one bears upon another.

    Returns:
        the sheets, and for each of them, row by row, the club's id and the row in a book of its own.
    """
    joined: Sheets = {}
    places: dict[str, list[tuple[Case, int]]] = {}
    for number, (name, case) in enumerate(cases.items()):
        club = {one: CLUB[one] for one in OF_ONE_CLUB} | {one.replace("_", " "): rows for one, rows in case.items()}
        own = {
            value.casefold()
            for rows in club.values()
            for row in rows
            for key, value in row.items()
            if key in OWN and isinstance(value, str)
        }
        for sheet, rows in club.items():
            joined.setdefault(sheet, []).extend(
                {key: f"{value} of {number}" if str(value).casefold() in own else value for key, value in row.items()}
                for row in rows
            )
            first = BOOK[sheet].first_row
            places.setdefault(sheet, []).extend((name, first + at) for at in range(len(rows)))
    return joined, places


def findings_of_each(
    cases: Mapping[Case, Sheets], as_at: date = AS_AT, **shared: list[Row]
) -> dict[Case, list[Finding]]:
    """What is found of each of many small clubs, with the cell in a book of its own; `shared` are lists of all."""
    joined, places = side_by_side(cases)
    said: dict[Case, list[Finding]] = {name: [] for name in cases}
    for one in checked(as_at, **{**shared, **joined}).findings:
        column, row = re.fullmatch(r"([A-Z]+)(\d+)", one.cell).groups()
        name, own_row = places[one.sheet][int(row) - BOOK[one.sheet].first_row]
        said[name].append(replace(one, cell=f"{column}{own_row}", value=re.sub(r" of \d+$", "", one.value)))
    return said


def found_of_each(
    cases: Mapping[Case, Sheets], as_at: date = AS_AT, **shared: list[Row]
) -> dict[Case, list[tuple[str, str, str]]]:
    """Findings of each of many small clubs as rule, cell and value."""
    said = findings_of_each(cases, as_at, **shared)
    return {name: [(one.rule, one.cell, one.value) for one in of] for name, of in said.items()}
