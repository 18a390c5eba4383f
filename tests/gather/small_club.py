"""An invented club on disk: two members with their colonies and rows, and whatever rows a test adds."""

from __future__ import annotations

from datetime import date
from functools import cache
from typing import TYPE_CHECKING

import pandas as pd

from apiarybook.book.memory import raw_book
from apiarybook.book.tables import read_book
from apiarybook.club.reckoned import Reckoned, new_book, reckon_book
from apiarybook.writers.workbook import write_book

if TYPE_CHECKING:
    from pathlib import Path

Row = dict[str, object]
AS_AT = date(2026, 9, 25)
DAY = date(2026, 9, 12)
HIVE = "National single"
ROWS: dict[str, list[Row]] = {
    "Members": [{"member": "M1", "name": "Ann Alder"}, {"member": "M2", "name": "Bob Birch"}],
    "Apiaries": [
        {"apiary": "P1", "member": "M1", "place": "orchard", "profile": "british-isles"},
        {"apiary": "P2", "member": "M2", "place": "mill pond", "profile": "british-isles"},
    ],
    "Colonies": [
        {"colony": "A1", "apiary": "P1", "hive_type": HIVE, "takes_fondant": "yes", "reached": "yes"},
        {"colony": "B1", "apiary": "P2", "hive_type": HIVE, "takes_fondant": "no", "reached": "fondant only"},
        {"colony": "A2", "apiary": "P1", "hive_type": HIVE, "takes_fondant": "yes", "reached": "yes"},
    ],
    "Weighings": [
        {"date": DAY, "colony": "A1", "by": "Ann Alder", "how": "full lift", "reading_1": 31.0, "feed_left": 0.0},
        {"date": DAY, "colony": "B1", "by": "Bob Birch", "how": "full lift", "reading_1": 38.0, "feed_left": 0.0},
        {"date": DAY, "colony": "A2", "by": "Bob Birch", "how": "two sides", "reading_1": 17.0, "reading_2": 16.0},
        {"date": DAY, "colony": "A2", "by": "Bob Birch", "how": "heft", "heft": "light"},
    ],
    "Feedings": [
        {"date": date(2026, 9, 3), "colony": "A1", "feed_kind": "Fondant", "amount": 1.0, "unit": "block"},
        {"date": date(2026, 9, 14), "colony": "A1", "feed_kind": "Fondant", "amount": 2.0, "unit": "kg"},
        {"date": date(2026, 9, 14), "colony": "B1", "feed_kind": "Fondant", "amount": 2.5, "unit": "kg"},
    ],
    "Scales": [{"scale": "H1", "kind": "hanging", "capacity": 60.0, "division": 0.1}],
    "Scale checks": [
        {"date": DAY, "scale": "H1", "known": 20.0, "reading": 20.2, "by": "Bob Birch"},
        {"date": DAY, "scale": "H1", "known": 40.0, "reading": 40.3, "by": "Bob Birch"},
    ],
    "Scale loans": [{"scale": "H1", "member": "M2", "out": DAY, "remarks": "to the mill pond"}],
}


def club_book(
    path: Path, rows: dict[str, list[Row]] | None = None, unit: str = "kg", settings: Row | None = None
) -> Path:
    """Write a club's book with the rows given by sheet instead of those above.

    Args:
        path: where.
        rows: of the sheets that shall differ.
        unit: kg or lb.
        settings: those that shall differ.
    """
    asked = repr((path.name, rows, unit, settings))
    if asked not in _WRITTEN:
        blank = _blank(unit)
        filled = ROWS | (rows or {})
        tables = {name: _filled(frame, filled.get(name, [])) for name, frame in blank.content.typed.items()}
        about = {"book id": "00c0ffee", "copy id": "club26"}
        raw = raw_book(tables, {**blank.content.settings, **(settings or {})}, about, path.name)
        _WRITTEN[asked] = write_book(reckon_book(read_book(raw), AS_AT).content)
    path.write_bytes(_WRITTEN[asked])
    return path


_WRITTEN: dict[str, bytes] = {}
"""Books by what was asked for: the same rows give the same bytes, and tests ask for few different ones."""


@cache
def _blank(unit: str) -> Reckoned:
    return new_book("Alder Vale", 2026, "british-isles", unit, AS_AT, "00c0ffee")


def _filled(frame: pd.DataFrame, rows: list[Row]) -> pd.DataFrame:
    more = [{key: row.get(key) for key in frame.columns} for row in rows[len(frame) :]]
    found = pd.concat([frame.astype(object), pd.DataFrame(more, columns=frame.columns, dtype=object)])
    for at, row in enumerate(rows[: len(frame)]):
        for key, value in row.items():
            found.iloc[at, found.columns.get_loc(key)] = value
    return found.astype(object)
