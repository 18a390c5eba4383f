"""A book of an earlier layout: it is read, said to be older in one sentence, and brought over with nothing lost."""

from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from apiarybook.book.tables import OLDER, Book, read_book
from apiarybook.club.reckoned import reckon_book
from apiarybook.layout import BOOK, LAYOUT_VERSION, READABLE
from apiarybook.writers.workbook import write_book

KEPT = Path(__file__).parent / "kept"
"""The demo's book as each earlier layout had it: what people typed, without most of what the book computed."""
AS_AT = date(2026, 10, 10)


@pytest.fixture(scope="module", params=READABLE[:-1])
def old(request: pytest.FixtureRequest) -> Book:
    return read_book(KEPT / f"layout-{request.param}.xlsx")


@pytest.fixture(scope="module")
def new(old: Book) -> Book:
    return read_book(("book.xlsx", write_book(reckon_book(old, AS_AT).content)))


def test_it_is_told_in_one_sentence_and_asked_for_no_new_column(old: Book, new: Book) -> None:
    assert old.remarks == (OLDER,)
    assert old.faults == []
    assert (new.remarks, new.faults) == ((), [])
    assert new.properties["layout version"] == LAYOUT_VERSION
    assert old.foreign == {}


@pytest.mark.parametrize("name", [sheet.name for sheet in BOOK.sheets if sheet.is_list])
def test_nothing_typed_is_lost_and_rows_keep_their_order(old: Book, new: Book, name: str) -> None:
    before, after = (book.tables[name] for book in (old, new))
    rows, kept = (table.typed[~table.is_blank.to_numpy()].reset_index(drop=True) for table in (before, after))
    typed = [column.key for column in BOOK[name].typed if column.key in before.columns]
    pd.testing.assert_frame_equal(kept[typed], rows[typed], check_dtype=False)
    assert after.sheet.shown[-1].last == ("ref" in after.sheet.by_key)


def test_settings_stay(old: Book, new: Book) -> None:
    assert {key: new.settings[key] for key in old.settings if key != "as_at"} == {
        key: value for key, value in old.settings.items() if key != "as_at"
    }
