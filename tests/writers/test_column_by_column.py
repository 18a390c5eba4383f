"""Cells written column by column are those that the library writes one by one, read by openpyxl, which is not ours."""

from __future__ import annotations

import io
from datetime import date, datetime, time
from functools import partial
from typing import TYPE_CHECKING, Any

import openpyxl
import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from apiarybook.writers.looks import write_value
from apiarybook.writers.sheets import BLOCK, LONGEST, Parts, PlainSheet

if TYPE_CHECKING:
    from collections.abc import Callable

OPTIONS = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
FIRST = 3
VALUES = st.one_of(
    st.none(),
    st.floats(-1e9, 1e9),
    st.integers(0, 10**6),
    st.booleans(),
    st.text(st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), min_size=1, max_size=8),
    st.sampled_from(["=1+1", "#N/A", "<b>", " a ", "x" * (LONGEST + 1)]),
    st.dates(date(1900, 3, 1), date(2100, 1, 1)),
    st.just(datetime(2026, 9, 1, 12, 30)),  # noqa: DTZ001 cells know no zones
    st.just(time(12, 30)),
)


def written(fill: Callable[[Any, Any], object]) -> list[list[tuple[object, bool, str]]]:
    """Every cell of a sheet as openpyxl reads it: value, whether bold, kind."""
    target = io.BytesIO()
    workbook = xlsxwriter.Workbook(io.BytesIO(), OPTIONS)
    workbook._get_packager = partial(Parts, target)
    fill(workbook.add_worksheet("One", PlainSheet), workbook)
    workbook.close()
    sheet = openpyxl.load_workbook(target)["One"]
    return [[(cell.value, bool(cell.font.b), cell.data_type) for cell in row] for row in sheet.iter_rows()]


@settings(max_examples=60)
@given(st.lists(st.lists(VALUES, min_size=1, max_size=6), min_size=1, max_size=4), st.sets(st.integers(0, 5)))
def test_columns_hold_what_cells_written_one_by_one_hold(columns: list[list[object]], bold: set[int]) -> None:
    rows = max(map(len, columns))

    def by_column(sheet: PlainSheet, workbook: Any) -> None:
        look, other = workbook.add_format({"border": 1}), workbook.add_format({"bold": True})
        sheet.place(FIRST, rows)
        for number, values in enumerate(columns):
            sheet.put(number, values, look, own={at: other for at in bold if at < rows}, blanks=rows)

    def by_cell(sheet: Any, workbook: Any) -> None:
        look, other = workbook.add_format({"border": 1}), workbook.add_format({"bold": True})
        for number, values in enumerate(columns):
            for at, value in enumerate([*values, *[None] * (rows - len(values))]):
                write_value(sheet, FIRST + at, number, value, other if at in bold else look)

    assert written(by_column) == written(by_cell)


def test_a_formula_stands_in_every_row_and_moves_along() -> None:
    def fill(sheet: PlainSheet, workbook: Any) -> None:
        sheet.place(FIRST, BLOCK + 2)
        sheet.put(0, [1.0, "<&>", None], workbook.add_format(), formula="=IF(B4<1,B4,0)")
        sheet.write_string(0, 0, "above")
        sheet.write_number(FIRST + 1, 1, 7.0)

    cells = [row[0][0] for row in written(fill)]
    assert cells[0] == "above"
    assert cells[FIRST : FIRST + 2] == ["=IF(B4<1,B4,0)", "=IF(B5<1,B5,0)"]
    assert cells[-1] == f"=IF(B{FIRST + BLOCK + 2}<1,B{FIRST + BLOCK + 2},0)"


def test_what_the_library_writes_stands_in_place_of_the_column() -> None:
    def fill(sheet: PlainSheet, workbook: Any) -> None:
        sheet.place(0, 3)
        sheet.put(0, ["a", "b", "c"], workbook.add_format())
        sheet.write_formula(1, 0, "=1+1", None, 2)

    assert [row[0][0] for row in written(fill)] == ["a", "=1+1", "c"]


@pytest.mark.parametrize("number", [float("nan"), float("inf")])
def test_what_is_no_number_is_refused(number: float) -> None:
    with pytest.raises(ValueError, match="sheet One, column A: not a number"):
        written(lambda sheet, workbook: (sheet.place(0, 2), sheet.put(0, [1.0, number], workbook.add_format())))
