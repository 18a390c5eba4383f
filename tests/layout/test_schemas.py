"""The gate: what the declarations allow passes, everything else is a fault of the program."""

import os
import subprocess
import sys
from dataclasses import replace
from datetime import date

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apiarybook.book.cells import parse
from apiarybook.book.measure import local_bounds, to_si
from apiarybook.book.table import empty_typed
from apiarybook.club.reckoned import new_book
from apiarybook.errors import ProgramFault
from apiarybook.layout import BOOK, Column, Kind, Role, Sheet
from apiarybook.layout.schemas import gate, schema
from apiarybook.writers.workbook import write_book

FILLED = [sheet for sheet in BOOK.sheets if sheet.typed]
PLACE = "club.xlsx|Weighings|7"
NUMBERS = [(sheet, column) for sheet in FILLED for column in sheet.typed if column.numeric]


def one_row(sheet: Sheet, **values: object) -> pd.DataFrame:
    """A row that the declaration allows, with some values put in its place."""
    row = {column.key: usual(column) if column.required else None for column in sheet.typed} | values
    index = pd.Index([PLACE])
    return pd.DataFrame({key: pd.Series([one], index=index, dtype=dtype(sheet[key])) for key, one in row.items()})


def dtype(column: Column) -> str:
    return "float64" if column.numeric else "datetime64[s]" if column.kind is Kind.DATE else "object"


def usual(column: Column) -> object:
    if column.numeric:
        return column.likely[0] if column.likely else 1.0
    return "2026-09-05" if column.kind is Kind.DATE else (column.choices or ("yes",))[0]


@pytest.mark.parametrize("sheet", FILLED, ids=lambda sheet: sheet.name)
def test_no_rows_and_one_sound_row_pass(sheet: Sheet) -> None:
    gate({sheet.name: empty_typed(sheet)[[column.key for column in sheet.typed]]})
    gate({sheet.name: one_row(sheet)})


@pytest.mark.parametrize(
    ("name", "key", "value", "why"),
    [
        ("Weighings", "reading_1", 250.1, "in_range"),
        ("Weighings", "reading_1", float("inf"), "in_range"),
        ("Weighings", "how", "Two Sides", "isin"),
        ("Weighings", "flow_on", True, "isin"),
        ("Weighings", "heft", "hevy", "heft"),
        ("Weighings", "heft", 0.5, "heft"),
        ("Weighings", "colony", "7A", "code"),
        ("Weighings", "colony", None, "not_nullable"),
        ("Weighings", "date", None, "not_nullable"),
        ("Weighings", "remarks", 7.0, "text"),
    ],
)
def test_the_sentence_names_sheet_column_and_place(name: str, key: str, value: object, why: str) -> None:
    with pytest.raises(ProgramFault, match=why) as caught:
        gate({name: one_row(BOOK[name], **{key: value})})
    sentence = str(caught.value)
    assert sentence.startswith(f"sheet {name}, column {key}, at {PLACE}: ")
    assert sentence.endswith("nothing was written.")


def test_two_codes_alike_but_for_case_fail_and_blanks_do_not() -> None:
    two = pd.concat([one_row(BOOK["Scales"], scale="S1"), one_row(BOOK["Scales"], scale="s1")])
    with pytest.raises(ProgramFault, match="no two alike"):
        gate({"Scales": two})
    refs = pd.concat([one_row(BOOK["Weighings"], ref=None), one_row(BOOK["Weighings"], ref=None)])
    refs.index = pd.Index(["a", "b"])
    gate({"Weighings": refs})


def test_failures_of_all_sheets_are_told_at_once() -> None:
    with pytest.raises(ProgramFault) as caught:
        gate({name: one_row(BOOK[name], colony="7") for name in ("Weighings", "Feedings", "Winter rounds")})
    assert all(f"sheet {name}," in str(caught.value) for name in ("Weighings", "Feedings", "Winter rounds"))


def test_a_column_that_is_missing_fails() -> None:
    with pytest.raises(ProgramFault, match="reading_1"):
        gate({"Weighings": one_row(BOOK["Weighings"]).drop(columns="reading_1")})


def test_a_column_of_another_type_fails() -> None:
    frame = one_row(BOOK["Weighings"])
    with pytest.raises(ProgramFault, match="float64"):
        gate({"Weighings": frame.assign(reading_1=pd.Series(["38"], index=frame.index, dtype=object))})


def test_the_environment_cannot_switch_the_gate_off() -> None:
    program = (
        "import pandas as pd; from apiarybook.layout.schemas import gate; "
        "row = {'scale': ['S1'], 'kind': ['crane'], 'capacity': [5000.0], 'division': [0.1]}; "
        "gate({'Scales': pd.DataFrame(row)})"
    )
    switched_off = {"PANDERA_VALIDATION_ENABLED": "False", "PANDERA_VALIDATION_DEPTH": "SCHEMA_ONLY"}
    ran = subprocess.run(
        [sys.executable, "-c", program], env=os.environ | switched_off, capture_output=True, text=True, check=False
    )
    assert ran.returncode != 0
    assert "ProgramFault: sheet Scales, column capacity" in ran.stderr


def test_the_frame_is_not_changed() -> None:
    frame = one_row(BOOK["Weighings"], reading_1=38.5)
    before = frame.copy()
    gate({"Weighings": frame})
    pd.testing.assert_frame_equal(frame, before)


@pytest.mark.parametrize("sheet", FILLED, ids=lambda sheet: sheet.name)
def test_every_typed_column_has_its_schema(sheet: Sheet) -> None:
    columns = schema(sheet).columns
    assert list(columns) == [column.key for column in sheet.columns if column.role is Role.TYPED]
    assert all(columns[column.key].nullable != column.required for column in sheet.typed)


@settings(max_examples=60)
@given(st.floats(min_value=-10, max_value=700), st.sampled_from(NUMBERS), st.sampled_from(["kg", "lb"]))
def test_whatever_a_cell_accepts_passes_the_gate_in_si(typed: float, place: tuple[Sheet, Column], unit: str) -> None:
    sheet, column = place
    value, _ = parse(column, typed, unit=unit)
    if isinstance(value, float):
        gate({sheet.name: one_row(sheet, **{column.key: value * to_si(column, unit)})})


@pytest.mark.parametrize(("sheet", "column"), [pytest.param(*place, id=place[1].key) for place in NUMBERS])
def test_what_lies_on_a_bound_of_a_book_of_pounds_passes_the_gate(sheet: Sheet, column: Column) -> None:
    for bound in local_bounds(column, column.possible, "lb") if column.possible else ():
        gate({sheet.name: one_row(sheet, **{column.key: bound * to_si(column, "lb")})})


def test_nothing_is_written_of_which_an_accepted_row_breaks_its_declaration() -> None:
    content = new_book("", 2026, "british-isles", "kg", date(2026, 9, 1)).content
    broken = {"Scales": one_row(BOOK["Scales"], capacity=5000.0)}
    with pytest.raises(ProgramFault, match="capacity"):
        write_book(replace(content, accepted=lambda: broken))
