"""A small club's year as a book on disk: six keepers of two colonies each, weighed in autumn and spring."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from apiarybook.book.tables import read_book
from apiarybook.club.reckoned import reckon_book
from apiarybook.writers.workbook import write_book
from tests.checks.small import CLUB, Row, book

if TYPE_CHECKING:
    from pathlib import Path

    from apiarybook.book.tables import Book
    from apiarybook.club.reckoned import Reckoned

OCTOBER, SPRING, MAY = date(2026, 10, 15), date(2027, 3, 20), date(2027, 5, 1)
KEEPERS, EACH = 6, 2


def rows(**other: list[Row]) -> dict[str, list[Row]]:
    """The sheets of the club; those that are given stand instead of its own."""
    codes = [(f"P{keeper}", f"P{keeper} {number}") for keeper in range(1, KEEPERS + 1) for number in range(1, EACH + 1)]
    told: dict[str, list[Row]] = {
        "Members": [{"member": f"M{at}", "name": f"Keeper {at}", "shown": "yes"} for at in range(1, KEEPERS + 1)],
        "Apiaries": [
            {"apiary": f"P{at}", "member": f"M{at}", "profile": "british-isles"} for at in range(1, KEEPERS + 1)
        ],
        "Colonies": [{**CLUB["Colonies"][0], "colony": code, "apiary": apiary} for apiary, code in codes],
        "Weighings": [lift(code, 36.0 + at % 3, ref=f"club26-W{at + 1}") for at, (_, code) in enumerate(codes)],
        "After_winter": [
            outcome(code, spring_gross=27.0 + at % 4, ref=f"club26-A{at + 1}")
            if at
            else outcome(code, outcome="died", seen="no food left", ref="club26-A1")
            for at, (_, code) in enumerate(codes)
        ],
    }
    return told | other


def lift(colony: str, gross: float, day: date = OCTOBER, **cells: object) -> Row:
    return {
        "date": day,
        "colony": colony,
        "by": "Ann",
        "how": "platform",
        "reading_1": gross,
        "feed_left": 0.0,
        **cells,
    }


def outcome(colony: str, **cells: object) -> Row:
    return {"date": SPRING, "colony": colony, "outcome": "wintered", **cells}


def lived(**other: list[Row]) -> Book:
    """The club's book as it is read."""
    return book(**rows(**other))


def reckoned(as_at: date = MAY, **other: list[Row]) -> Reckoned:
    """The club's book, reckoned."""
    return reckon_book(lived(**other), as_at)


def on_disk(path: Path, as_at: date = MAY, **other: list[Row]) -> Path:
    """The club's book as a file."""
    path.write_bytes(write_book(reckoned(as_at, **other).content))
    return path


def read(path: Path) -> Book:
    return read_book(path)
