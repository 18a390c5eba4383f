"""The rows of each colony, which a run names in formulas: whatever is typed later, a search says the same."""

from __future__ import annotations

import io
import re
from random import Random
from typing import TYPE_CHECKING

import openpyxl
import pytest

from apiarybook.layout import BOOK
from apiarybook.layout.formulas import TEMPLATES
from apiarybook.layout.formulas.parts import OF_AN_OCCASION, moved
from apiarybook.layout.model import Role
from apiarybook.readers.limits import LIMITS, column_letters
from apiarybook.writers.known_rows import MOST_KNOWN, as_written, rows_known
from apiarybook.writers.plan import OWN_FIGURES, ROWS_KNOWN, club_plan, figure_names
from apiarybook.writers.workbook import write_book
from tests.engines.oracle import Cells, by_libreoffice, differences
from tests.engines.small_books import random_content
from tests.engines.test_recalculation import needs_soffice
from tests.gather.small_club import club_book

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from openpyxl.workbook import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

    from tests.engines.oracle import Values

    Edit = Callable[[Workbook], None]


def place(sheet: str, key: str) -> int:
    return [one.key for one in BOOK[sheet].shown].index(key) + 1


def first_typed(book: Workbook, sheet: str, at: int = 0) -> int:
    """A row into which somebody has typed."""
    rows = [row for row in range(BOOK[sheet].first_row, book[sheet].max_row + 1) if book[sheet].cell(row, 1).value]
    return rows[at]


def nothing(_: Workbook) -> None:
    pass


def mends_a_code(book: Workbook) -> None:
    for sheet in ("Weighings", "Feedings"):
        cells = book[sheet]
        one, other = first_typed(book, sheet), first_typed(book, sheet, -1)
        cells.cell(one, place(sheet, "colony")).value = cells.cell(other, place(sheet, "colony")).value


def weighs_where_a_row_stands_ready(book: Workbook) -> None:
    cells = book["Weighings"]
    row = first_typed(book, "Weighings", -1) + 1
    for key in ("date", "how", "reading_1"):
        number = place("Weighings", key)
        cells.cell(row, number).value = cells.cell(first_typed(book, "Weighings", -1), number).value
    assert cells.cell(row, place("Weighings", "colony")).value


def sorts(book: Workbook) -> None:
    """What a program moves when rows are sorted: all that is no formula, and these are the same in every row."""
    for sheet in ("Weighings", "Feedings"):
        held = [at for at, one in enumerate(BOOK[sheet].shown, 1) if one.role is not Role.LIVE]
        _swap(book[sheet], first_typed(book, sheet), first_typed(book, sheet, -1), held)


def _swap(cells: Worksheet, one: int, other: int, columns: list[int]) -> None:
    for at in columns:
        first, second = cells.cell(one, at), cells.cell(other, at)
        first.value, second.value = second.value, first.value


def unites(book: Workbook) -> None:
    cells = book["Colonies"]
    first = BOOK["Colonies"].first_row
    cells.cell(first, place("Colonies", "united_into")).value = cells.cell(first + 1, place("Colonies", "colony")).value


def sorts_the_colonies(book: Workbook) -> None:
    held = [at for at, one in enumerate(BOOK["Colonies"].shown, 1) if one.role is not Role.LIVE]
    first = BOOK["Colonies"].first_row
    _swap(book["Colonies"], first, first + 1, held)


def types_what_is_an_error(book: Workbook) -> None:
    weighings, feedings = book["Weighings"], book["Feedings"]
    weighings.cell(first_typed(book, "Weighings"), place("Weighings", "how")).value = "=1/0"
    feedings.cell(first_typed(book, "Feedings"), place("Feedings", "feed_kind")).value = "=1/0"


def takes_out_the_last_row_and_puts_in_another(book: Workbook) -> None:
    """What programs leave of a row that stood ready: its cells are no more, where it stood is a blank one."""
    keys = ("rank_scale", "rank_heft")
    cells, ranks = book["Weighings"], [place("Standing", key) for key in keys]
    at, letters = place("Weighings", "as_written"), "|".join(column_letters(place("Weighings", key)) for key in keys)
    last = max(row for row in range(2, cells.max_row + 1) if cells.cell(row, at).value)
    assert not cells.cell(last, place("Weighings", "date")).value
    for key in ("colony", "as_written", "ready_colony", "colony_row", *keys):
        cells.cell(last, place("Weighings", key)).value = None
    named = re.compile(rf"Weighings!(?:{letters}){last}(?=[,)])")
    texts = {
        cell: named.subn("#REF!", cell.value)
        for row in book["Standing"].iter_rows()
        for cell in row
        if cell.column in ranks and isinstance(cell.value, str)
    }
    assert sum(count for _, count in texts.values())
    for cell, (text, _) in texts.items():
        cell.value = text


FIGURES = range(
    BOOK["Figures"].first_row + len(figure_names()) + len(OWN_FIGURES) - len(ROWS_KNOWN),
    BOOK["Figures"].first_row + len(figure_names()) + len(OWN_FIGURES),
)
"""Rows of those figures that say whether rows have been moved."""
EDITS: dict[Edit, bool] = {
    nothing: False,
    weighs_where_a_row_stands_ready: False,
    mends_a_code: True,
    sorts: True,
    unites: True,
    sorts_the_colonies: True,
    types_what_is_an_error: True,
    takes_out_the_last_row_and_puts_in_another: True,
}
"""What people do, and whether rows are then no longer where the run left them."""


def edited(data: bytes, edit: Edit, *, searched: bool) -> bytes:
    book = openpyxl.load_workbook(io.BytesIO(data))
    edit(book)
    if searched:
        for row in FIGURES:
            book["Figures"].cell(row, place("Figures", "value")).value = OF_AN_OCCASION
    saved = io.BytesIO()
    book.save(saved)
    return saved.getvalue()


def says_moved(values: Values) -> list[object]:
    return [values.get(("Figures", row, place("Figures", "value"))) for row in FIGURES]


def answers(values: Values) -> Values:
    """All that is shown but whether rows have been moved."""
    here = ("Standing", place("Standing", "here"))
    figures = {("Figures", row) for row in FIGURES}
    return {at: one for at, one in values.items() if (at[0], at[2]) != here and at[:2] not in figures}


@needs_soffice("what the rows that a run named say is what a search says")
@pytest.mark.parametrize(
    ("edits", "drawn"),
    [
        pytest.param((sorts, weighs_where_a_row_stands_ready), False, id="two"),
        pytest.param((types_what_is_an_error, takes_out_the_last_row_and_puts_in_another), False, id="spoilt"),
        pytest.param((*EDITS,), False, id="all", marks=pytest.mark.long),
        pytest.param((*EDITS,), True, id="all in a drawn book", marks=pytest.mark.long),
    ],
)
def test_a_search_finds_what_the_named_rows_say(tmp_path: Path, edits: tuple[Edit, ...], drawn: bool) -> None:  # noqa: FBT001
    data = club_book(tmp_path / "club.xlsx").read_bytes()
    if drawn:
        data = write_book(random_content(Random(5), "lb"))  # noqa: S311 a seed, no secret
    books = [edited(data, edit, searched=way) for edit in edits for way in (False, True)]
    found = by_libreoffice(books, tmp_path, "xlsx")
    for edit, named, searched in zip(edits, found[::2], found[1::2], strict=True):
        assert any(says_moved(named)) is EDITS[edit], edit.__name__
        assert all(says_moved(searched))
        told, others = answers(named), answers(searched)
        assert told.keys() == others.keys(), edit.__name__
        assert differences(Cells(told, dict.fromkeys(told, edit.__name__)), others) == []


def test_a_book_tells_the_rows_of_each_colony(tmp_path: Path) -> None:
    book = openpyxl.load_workbook(club_book(tmp_path / "club.xlsx"))
    number = place("Standing", "rank_scale")
    first = BOOK["Standing"].first_row
    letter = column_letters(place("Weighings", "rank_scale"))
    codes = [book["Weighings"].cell(row, place("Weighings", "colony")).value for row in range(2, 40)]
    for row in range(first, first + 3):
        colony = book["Colonies"].cell(row - first + BOOK["Colonies"].first_row, place("Colonies", "colony")).value
        rows = [f"Weighings!{letter}{at}" for at, code in enumerate(codes, 2) if code == colony]
        assert len(rows) > 1
        assert f"MAX({','.join(rows)})" in book["Standing"].cell(row, number).value


def test_no_row_that_a_person_may_delete_is_named_but_as_known() -> None:
    named = {sheet for text in TEMPLATES.values() for sheet in re.findall(r"\[([A-Za-z ]+)\.\w+\^\]", text)}
    assert named == {"Calendar"}


def test_a_last_round_is_searched_for_where_colonies_were_sorted(tmp_path: Path) -> None:
    cells = openpyxl.load_workbook(club_book(tmp_path / "club.xlsx"))["Colonies"]
    for row in range(2, 5):
        assert f"*(ROW()={row})=1" in cells.cell(row, place("Colonies", "rank_round")).value


@pytest.mark.parametrize("at", [one for one, text in TEMPLATES.items() if "~]" in text], ids=".".join)
def test_the_longest_formula_can_be_opened(at: tuple[str, str]) -> None:
    end = 1_048_576
    of = {name: {1: range(end - MOST_KNOWN, end)} for name in ROWS_KNOWN}
    places = club_plan({}, 10).places(of)
    assert len(places.compile(TEMPLATES[at], at[0], BOOK[at[0]].first_row)) <= LIMITS.formula


@pytest.mark.parametrize(("rows", "told"), [(MOST_KNOWN, MOST_KNOWN), (MOST_KNOWN + 1, 0)])
def test_a_colony_with_too_many_rows_is_searched_for(rows: int, told: int) -> None:
    none: dict[tuple[str, str], list[object]] = {
        (name, key): [] for name in ROWS_KNOWN for key in ("colony_row", "ready_colony")
    }
    cells = none | {
        ("Weighings", "colony_row"): [1.0] * rows + [2.0],
        ("Weighings", "ready_colony"): [None] * (rows + 1),
        ("Colonies", "colony"): ["A1", "A2"],
        ("Standing", "colony"): ["A1", "A2"],
        ("Figures", "value"): [0.0] * len(OWN_FIGURES),
    }
    found = as_written(cells)
    assert {colony: len(of) for colony, of in rows_known(found)["Weighings"].items()} == {
        colony: count for colony, count in ((1, told), (2, 1)) if count
    }
    assert found["Standing", "here"] == [float(told > 0)] * 2
    assert dict(zip(OWN_FIGURES, found["Figures", "value"], strict=True))[moved("Weighings")] == (
        0 if told else OF_AN_OCCASION
    )
