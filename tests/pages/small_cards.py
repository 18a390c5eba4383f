"""The club whose cards are looked at, read and reckoned once."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from apiarybook.club.reckoned import read_book, reckon_book
from apiarybook.pages.card_page import content, free_refs
from tests.gather.small_club import AS_AT, HIVE, Row, club_book

if TYPE_CHECKING:
    from pathlib import Path

    from apiarybook.book.tables import Book
    from apiarybook.club.reckoned import Reckoned
    from apiarybook.pages.card_words import Cards

    Club = tuple[Path, Book, Reckoned, Cards]

POUND = 0.45359237
"""International pound [kg] (NIST Special Publication 811, appendix B)."""
KEPT: Row = {"takes_fondant": "yes", "reached": "yes", "hive_type": HIVE}
COLONIES: list[Row] = [
    {"colony": "A10", "apiary": "P1", **KEPT},
    {"colony": "B1", "apiary": "P2", **KEPT, "takes_fondant": "no"},
    {"colony": "A2", "apiary": "P1", **KEPT, "own_tare": 18.0},
    {"colony": "A3", "apiary": "P1", **KEPT, "state": "sold"},
    {"colony": "B2", "apiary": "P2", **KEPT, "hive_type": "Six frame nucleus polystyrene"},
]


def rows_in(unit: str) -> dict[str, list[Row]]:
    per = {"kg": 1.0, "lb": POUND}[unit]
    return {"Colonies": [row | ({"own_tare": 18.0 / per} if "own_tare" in row else {}) for row in COLONIES]} | {
        name: [] for name in ("Weighings", "Feedings", "Scale checks")
    }


@cache
def club_in(unit: str, folder: Path) -> Club:
    """The club's book in a unit, as it stands in the folder, and its cards on A4."""
    path = club_book(folder / f"{unit}.xlsx", rows_in(unit), unit)
    book = read_book(path)
    reckoned = reckon_book(book, AS_AT)
    return path, book, reckoned, content(reckoned, free_refs(book), "A4")
