"""Small books made of rows: an invented club with one apiary, and whatever rows a test adds."""

from __future__ import annotations

from datetime import date

from apiarybook.book.tables import Book, read_book
from apiarybook.checks.loop import Checked, check_book
from apiarybook.layout import BOOK, SETTINGS
from apiarybook.readers.records import RawBook, RawSheet

Row = dict[str, object]
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
CLUB: dict[str, list[Row]] = {
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
