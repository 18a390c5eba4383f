"""The cell that a question names is a link to it, where its sheet is in view."""

from __future__ import annotations

from typing import TYPE_CHECKING

import openpyxl
import pytest

from apiarybook.layout import BOOK
from tests.gather.small_club import ROWS, Row, club_book

if TYPE_CHECKING:
    from pathlib import Path

TOO_HEAVY: Row = {**ROWS["Weighings"][0], "reading_1": 88.0}
NO_HIVE: Row = {**ROWS["Colonies"][0], "hive_type": "Upside down"}


@pytest.mark.parametrize(
    ("sheet", "row", "leads"), [("Weighings", TOO_HEAVY, "'Weighings'!E2"), ("Colonies", NO_HIVE, "'Colonies'!C2")]
)
def test_a_question_leads_to_its_cell(tmp_path: Path, sheet: str, row: Row, leads: str) -> None:
    book = openpyxl.load_workbook(club_book(tmp_path / "club.xlsx", {sheet: [row, *ROWS[sheet][1:]]}))
    number = [column.key for column in BOOK["Questions"].shown].index("cell") + 1
    first = book["Questions"].cell(2, number)
    assert first.hyperlink is not None
    assert first.hyperlink.location == leads
    assert book[leads.split("'")[1]][str(first.value)].value in row.values()
