"""A cell that somebody changes in a spreadsheet program changes every answer as the next run of the package would."""

from __future__ import annotations

import io
import shutil
from copy import deepcopy
from datetime import date, datetime, time
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import openpyxl
import pytest

from apiarybook.layout import BOOK, SETTINGS
from apiarybook.writers.workbook import write_book
from tests.engines.oracle import Cells, by_formualizer, by_libreoffice, differences, read_xlsx
from tests.engines.small_books import Row, content_of

if TYPE_CHECKING:
    from apiarybook.writers.content import Content

AS_AT = date(2026, 9, 25)


def weighed(day: date, colony: str, how: str, reading: float) -> Row:
    return {"date": day, "colony": colony, "by": "Ann", "how": how, "reading_1": reading, "feed_left": 0.0}


ROWS: dict[str, list[Row]] = {
    "Members": [{"member": "M1", "name": "Ann", "orders": "yes"}],
    "Apiaries": [{"apiary": "A1", "member": "M1", "profile": "british-isles"}],
    "Colonies": [
        {"colony": "H1", "apiary": "A1", "hive_type": "National single", "takes_fondant": "yes", "stand": "solid"},
        {"colony": "H2", "apiary": "A1", "hive_type": "National 14x12", "takes_fondant": "no"},
    ],
    "Weighings": [
        weighed(date(2026, 9, 18), "H1", "platform", 41.0),
        weighed(date(2026, 9, 19), "H2", "full lift", 36.0),
    ],
    "Winter rounds": [{"date": date(2026, 9, 24), "colony": "H1", "by": "Ann", "heft": 40.0}],
    "Feedings": [
        {"date": date(2026, 9, 21), "colony": "H2", "feed_kind": "Invert syrup", "amount": 2.5, "unit": "kg"},
    ],
}
NEWS = ("verdict", "stores_today", "short_by", "chance_out", "feed_mass", "should_weigh", "because")
CHANGES = {
    "a reading": ("Weighings", 0, "reading_1", 33.4, ("gross", "stores", *NEWS)),
    "a heft on a round": ("Winter rounds", 0, "heft", 33.0, ("stores_today", "short_by", "chance_out", "because")),
    "an amount fed": ("Feedings", 0, "amount", 17.0, ("fed_since", *NEWS)),
    "the day to reckon for": ("Settings", 0, "as_at", date(2026, 12, 20), ("eaten_since", "stores_today", "verdict")),
}


def content(rows: dict[str, list[Row]], as_at: date = AS_AT) -> Content:
    made = content_of(rows, "british-isles", "kg", as_at)
    assert made.held == {}
    return made


def changed(sheet: str, row: int, key: str, value: object) -> Content:
    if isinstance(value, date):
        return content(ROWS, value)
    rows = deepcopy(ROWS)
    rows[sheet][row][key] = value
    return content(rows)


def typed_over(data: bytes, sheet: str, row: int, key: str, value: object) -> bytes:
    """The book with one cell typed over as a person would; what was stored beside the formulas is dropped."""
    book = openpyxl.load_workbook(io.BytesIO(data))
    if sheet == "Settings":
        place = (BOOK[sheet].first_row + [setting.key for setting in SETTINGS].index(key), 2)
    else:
        headings = [cell.value for cell in book[sheet][BOOK[sheet].heading_row]]
        place = (BOOK[sheet].first_row + row, 1 + headings.index(f"{BOOK[sheet][key].heading}{UNITS.get(key, '')}"))
    cell = book[sheet].cell(*place)
    assert cell.value is not None
    assert not str(cell.value).startswith("=")
    cell.value = datetime.combine(value, time()) if isinstance(value, date) else value
    saved = io.BytesIO()
    book.save(saved)
    return saved.getvalue()


UNITS = {"reading_1": " (kg)"}


def columns(cells: Cells, sheet: str, keys: tuple[str, ...]) -> dict[str, list[object]]:
    places = {column.key: number for number, column in enumerate(BOOK[sheet].columns, 1)}
    rows = range(BOOK[sheet].first_row, BOOK[sheet].first_row + 2)
    return {key: [cells.values.get((sheet, row, places[key])) for row in rows] for key in keys}


def everything_changed() -> tuple[list[bytes], list[Cells]]:
    """For every change the book typed over, and what the next run of the package makes of it."""
    before = write_book(content(ROWS))
    typed = [typed_over(before, *change[:4]) for change in CHANGES.values()]
    return typed, [read_xlsx(write_book(changed(*change[:4]))) for change in CHANGES.values()]


def test_every_change_is_seen_in_the_answers() -> None:
    before = read_xlsx(write_book(content(ROWS)))
    for change in CHANGES.values():
        before_after = (before, read_xlsx(write_book(changed(*change[:4]))))
        old, new = (columns(cells, "Standing", change[4]) for cells in before_after)
        assert [key for key in change[4] if old[key] == new[key]] == []


def test_formualizer_gives_what_the_next_run_gives() -> None:
    for data, after in zip(*everything_changed(), strict=True):
        with TemporaryDirectory() as folder:
            assert differences(after, by_formualizer(data, Path(folder)))[:20] == []


@pytest.mark.engine
@pytest.mark.skipif(
    shutil.which("soffice") is None,
    reason="not checked, soffice is not installed: cells changed by hand, recalculated by LibreOffice",
)
def test_libreoffice_gives_what_the_next_run_gives(tmp_path: Path) -> None:
    typed, after = everything_changed()
    for ours, theirs in zip(after, by_libreoffice(typed, tmp_path, "xlsx"), strict=True):
        assert differences(ours, theirs)[:20] == []
