"""Dates in columns of other things come back as dates: the setting as at, and columns that people added."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from apiarybook.book.tables import read_book
from apiarybook.club.reckoned import new_book, reckon_book
from apiarybook.readers.raw import read_raw
from apiarybook.writers.content import Added, Kept
from apiarybook.writers.workbook import write_book

DAY = date(2026, 9, 20)


def test_the_day_a_book_reckons_for_is_read_back_and_nothing_is_held() -> None:
    content = new_book("Test", 2026, "british-isles", "kg", DAY).content
    book = read_book(read_raw(("book.xlsx", write_book(content))))
    assert str(book.settings["as_at"]).startswith("2026-09-20")
    assert [one.message for one in reckon_book(book, DAY).checked.findings] == []


def test_a_date_in_a_column_that_people_added_is_read_back() -> None:
    content = new_book("Test", 2026, "british-isles", "kg", DAY).content
    added = Kept(columns={"Colonies": (Added(heading="queen since", values={2: DAY}),)})
    raw = read_raw(("book.xlsx", write_book(replace(content, kept=added))))
    headings, row = raw.sheets["Colonies"].rows[:2]
    assert str(row[headings.index("queen since")]).startswith("2026-09-20")
