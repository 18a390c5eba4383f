"""What stands beside a row as it is typed is what the next run says of it, and the row counts in neither or in both."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from apiarybook.book.tables import read_book
from apiarybook.checks.rules import CATALOGUE
from apiarybook.club.reckoned import reckon_book
from apiarybook.handbook.status import FEEDER, MANY_AT_ONCE, MORE_THAN_FEEDER, ORDER
from apiarybook.layout import BOOK
from apiarybook.writers.workbook import write_book
from tests.engines.oracle import by_formualizer
from tests.engines.test_change_by_hand import ROWS, content

if TYPE_CHECKING:
    from pathlib import Path

    from tests.engines.oracle import Values
    from tests.engines.small_books import Row

DAY = date(2026, 9, 21)
HEFTED: Row = {"how": "heft", "reading_1": None}
SAYS: dict[str, tuple[str, Row, str]] = {
    "far too heavy": ("Weighings", {"reading_1": 91.0}, "reading 1: outside what this hive can weigh"),
    "lighter than empty": ("Weighings", {"reading_1": 4.0}, "reading 1: outside what this hive can weigh"),
    "decimal comma": ("Weighings", {"reading_1": "33,5"}, "reading 1: decimal comma"),
    "unit in the cell": ("Weighings", {"reading_1": "33.5 kg"}, "reading 1: unit in cell"),
    "words for a number": ("Weighings", {"feed_left": "a bit"}, "feed left in feeder: not a number"),
    "an unknown word": (
        "Weighings",
        {"how": "heft", "reading_1": None, "heft": "fat"},
        "heft: guess or word: unknown word",
    ),
    "no masses": (
        "Feedings",
        {"feed_kind": "Home mixed syrup"},
        "sugar: mix without masses; water: mix without masses",
    ),
    "no water": ("Feedings", {"sugar": 2.0}, "water: mix without masses"),
    "an amount in words": ("Feedings", {"amount": "2,5"}, "amount: decimal comma"),
}
ASKED: dict[str, tuple[dict[str, Row], str]] = {
    "a feeder not looked at": ({"Weighings": {"feed_left": None, "date": DAY, "occasion": "after feed"}}, FEEDER),
    "before or after the feed": ({"Weighings": {"date": DAY}}, ORDER),
    "more than three portions": (
        {"Feedings": {"feed_kind": "Fondant", "amount": 5.0, "unit": "block"}},
        MANY_AT_ONCE,
    ),
    "more than three fills": ({"Feedings": {"amount": 18.0, "unit": "l"}}, MORE_THAN_FEEDER),
}
ASKS = {"feeder-not-looked-at", "before-or-after-feed", "many-portions-at-once", "more-than-feeder"}


def book_of(changes: dict[str, Row]) -> bytes:
    """The small book as a person leaves it: rows of the second colony typed over, nothing known of them by a run."""
    rows = {sheet: [dict(row) for row in ROWS[sheet]] for sheet in ROWS}
    for sheet, change in changes.items():
        rows[sheet][-1] |= change
    made = content(ROWS)
    for sheet in changes:
        keys = [column.key for column in BOOK[sheet].typed]
        for at, row in enumerate(rows[sheet]):
            for key in keys:
                made.typed[sheet].loc[made.typed[sheet].index[at], key] = row.get(key)
    return write_book(made)


def shown(data: bytes, sheet: str, folder: Path) -> tuple[object, list[object]]:
    """The status of the changed row, and the verdicts."""
    cells = by_formualizer(data, folder)
    row = BOOK[sheet].first_row + len(ROWS[sheet]) - 1
    at = place(cells, "Standing", "verdict")
    verdicts = [cells.get(("Standing", BOOK["Standing"].first_row + one, at)) for one in range(2)]
    return cells.get((sheet, row, place(cells, sheet, "status"))), verdicts


def place(cells: Values, sheet: str, heading: str) -> int:
    return next(
        c for (name, row, c), one in cells.items() if (name, row, one) == (sheet, BOOK[sheet].heading_row, heading)
    )


@pytest.mark.parametrize("name", SAYS)
def test_a_row_that_will_be_held_says_so_at_once_and_does_not_count(tmp_path: Path, name: str) -> None:
    sheet, change, word = SAYS[name]
    data = book_of({sheet: change})
    status, verdicts = shown(data, sheet, tmp_path)
    run = reckon_book(read_book(("typed.xlsx", data)), date(2026, 9, 25))
    assert [status] == list(run.checked.held[sheet].values()) == [word]
    assert verdicts == run.season.standing["verdict"].tolist()[:2]


@pytest.mark.parametrize("name", ASKED)
def test_a_row_that_will_be_asked_about_asks_at_once(tmp_path: Path, name: str) -> None:
    changes, word = ASKED[name]
    data = book_of(changes)
    (sheet,) = changes
    status, verdicts = shown(data, sheet, tmp_path)
    run = reckon_book(read_book(("typed.xlsx", data)), date(2026, 9, 25))
    told = run.season.weighings if sheet == "Weighings" else run.season.feedings
    assert status == told["status"].iloc[len(ROWS[sheet]) - 1] == word
    assert verdicts == run.season.standing["verdict"].tolist()[:2]
    assert ASKS & {one.rule for one in run.checked.findings}
    assert sheet == "Weighings" or set(run.checked.asked[sheet].values()) == {word.removeprefix("look again: ")}


def test_every_word_beside_a_row_is_that_of_a_rule() -> None:
    known = {rule.words for rule in CATALOGUE.values()}
    assert {part.rpartition(": ")[2] for _, _, word in SAYS.values() for part in word.split("; ")} <= known
