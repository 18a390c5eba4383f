"""What the reader takes in a loose form the book's formulas take too: the whole way from cells to a rebuilt book."""

from __future__ import annotations

from copy import deepcopy
from datetime import date
from typing import TYPE_CHECKING

import pandas as pd
import pytest

from apiarybook.book.memory import raw_book
from apiarybook.book.tables import read_book
from apiarybook.club.blank import new_settings, new_tables
from apiarybook.club.reckoned import reckon_book
from apiarybook.writers.workbook import write_book
from tests.engines.oracle import by_formualizer, differences, planted, read_xlsx
from tests.engines.test_change_by_hand import AS_AT, ROWS

if TYPE_CHECKING:
    from pathlib import Path

    from tests.engines.small_books import Row

ODD: list[tuple[str, int, Row]] = [
    ("Apiaries", 0, {"winter_starts": date(2020, 11, 1), "feed_reaches": date(2030, 3, 1)}),
    ("Apiaries", 0, {"last_liquid_day": "soon", "profile": "British-Isles"}),
    ("Colonies", 0, {"state": "dead", "takes_fondant": True}),
    ("Colonies", 0, {"hive_type": "national SINGLE", "takes_fondant": "Yes "}),
    ("Colonies", 1, {"colony": "h1"}),
    ("Weighings", 0, {"date": "2026-09-18", "how": " Platform"}),
    ("Weighings", 0, {"how": "Heft", "reading_1": None, "heft": " About  right"}),
    ("Weighings", 0, {"reading_1": "41 kg"}),
    ("Feedings", 0, {"taken_back": True, "unit": "KG"}),
]


@pytest.mark.parametrize(("sheet", "row", "cells"), ODD, ids=[f"{sheet}: {cells}" for sheet, _, cells in ODD])
def test_formulas_read_what_the_reader_reads(tmp_path: Path, sheet: str, row: int, cells: Row) -> None:
    rows = deepcopy(ROWS)
    rows[sheet][row].update(cells)
    tables = {name: frame.dropna(how="all") for name, frame in new_tables("british-isles", "kg", "t").items()}
    for name, found in rows.items():
        frame = pd.DataFrame(found).reindex(columns=tables[name].columns).astype(object)
        tables[name] = frame.where(frame.notna(), None)
    book = read_book(raw_book(tables, new_settings("Test", 2026, "british-isles", "kg"), {}))
    data = write_book(reckon_book(book, AS_AT).content)
    assert differences(read_xlsx(data), by_formualizer(planted(data), tmp_path))[:20] == []
