"""Whatever is typed comes back unchanged from a book that LibreOffice opened and saved, as xlsx and as ods."""

from __future__ import annotations

import shutil
from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from apiarybook.book.memory import raw_book
from apiarybook.book.tables import Book, read_book
from apiarybook.club.blank import new_settings, new_tables
from apiarybook.club.reckoned import reckon_book
from apiarybook.layout import BOOK, Group, Kind
from apiarybook.readers.canonical import canonical_text
from apiarybook.readers.raw import read_raw
from apiarybook.writers.workbook import write_book
from tests.engines.oracle import saved_by_libreoffice

if TYPE_CHECKING:
    from pathlib import Path
    from random import Random

    import pandas as pd

    from apiarybook.layout import Column

AS_AT = date(2026, 10, 5)
ROWS = 12
SHEETS = [
    sheet for sheet in BOOK.sheets if sheet.group in (Group.TYPE_HERE, Group.SETTINGS) and sheet.name != "Settings"
]
CHARACTERS = "abzÄéß€中😀 '\"=+-@<>&;,.:/\\%#[]{}(),0123456789 \u00a0\u2003"
"""No control characters: the canonical form makes any run of them one blank."""
SIGNIFICANT = 10**10
"""LibreOffice keeps 15 digits, and twelve are compared; of ten, none lies where both could round apart."""


def typed(column: Column, rng: Random) -> object:
    """What somebody types into a cell: mostly of its kind, now and then anything at all, often nothing."""
    sort = rng.randrange(10)
    if sort < 3:
        return None
    if sort < 5:
        return "".join(rng.choice(CHARACTERS) for _ in range(rng.randrange(1, 30)))
    if column.kind is Kind.DATE or sort == 5:
        return date(1990, 1, 1) + timedelta(days=rng.randrange(30000))
    if column.numeric or sort == 6:
        return rng.randrange(-SIGNIFICANT, SIGNIFICANT) / 10.0 ** rng.randrange(12)
    return rng.choice([*column.choices, f"C{rng.randrange(100)}", "yes", "no"])


def filled(rng: Random) -> bytes:
    tables = new_tables("british-isles", "kg", "club7")
    for sheet in SHEETS:
        for row in list(tables[sheet.name].index)[:ROWS]:
            for column in sheet.typed:
                if column.key != "ref":
                    tables[sheet.name].loc[row, column.key] = typed(column, rng)
    about = {"book id": "club", "copy id": "club7"}
    book = read_book(raw_book(tables, new_settings("Test", 2026, "british-isles", "kg"), about))
    return write_book(reckon_book(book, AS_AT).content)


def cells(book: Book) -> dict[tuple[str, int, str], tuple[str, str]]:
    """Every typed cell that holds anything: sort and canonical text."""

    def row_cells(name: str, frame: pd.DataFrame, keys: list[str]) -> dict[tuple[str, int, str], tuple[str, str]]:
        held = frame[keys].to_dict("index")
        return {
            (name, int(str(row)), key): (type(value).__name__, canonical_text(value))
            for row, line in held.items()
            for key, value in line.items()
            if canonical_text(value)
        }

    found: dict[tuple[str, int, str], tuple[str, str]] = {}
    for sheet in SHEETS:
        found |= row_cells(sheet.name, book.tables[sheet.name].raw, [column.key for column in sheet.typed])
    return found


@pytest.mark.engine
@pytest.mark.long
@pytest.mark.skipif(shutil.which("soffice") is None, reason="not checked, soffice missing: typed rows re-saved")
@pytest.mark.parametrize("suffix", ["xlsx", "ods"])
@settings(
    max_examples=2,
    deadline=None,
    derandomize=True,
    database=None,
    phases=[Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture, *HealthCheck],
)
@given(rng=st.randoms(use_true_random=True))
def test_typed_rows_come_back_from_libreoffice(
    tmp_path_factory: pytest.TempPathFactory, suffix: str, rng: Random
) -> None:
    data = filled(rng)
    folder: Path = tmp_path_factory.mktemp("saved")
    (saved,) = saved_by_libreoffice([data], folder, suffix)
    ours = cells(read_book(read_raw(("club.xlsx", data))))
    theirs = cells(read_book(read_raw((f"club.{suffix}", saved.read_bytes()))))
    assert len(ours) > ROWS * len(SHEETS)
    assert {place: (value, theirs.get(place)) for place, value in ours.items() if theirs.get(place) != value} == {}
    assert theirs.keys() == ours.keys()
