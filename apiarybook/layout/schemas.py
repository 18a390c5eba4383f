"""The declarations as pandera schemas: the last gate before anything is written that rests on accepted rows."""

import re
from collections.abc import Mapping
from functools import partial
from typing import TYPE_CHECKING

import pandas as pd

from apiarybook.errors import ProgramFault
from apiarybook.layout import BOOK, Column, Kind, Sheet
from apiarybook.layout.words import CODE_PATTERN, YES_NO

if TYPE_CHECKING:
    import pandera.pandas as pa

_NAMED_AT_MOST = 5
"""Places that the sentence about a failure names."""


def schema(sheet: Sheet) -> "pa.DataFrameSchema":
    """Give the schema of a sheet's typed columns, in SI.

    Types, possible bounds, closed lists, codes, no double among unique values, no blank in a required column; columns
    beside the typed ones are let through.

    Args:
        sheet: the sheet's declaration.

    >>> schema(BOOK["Scales"]).columns["capacity"].checks[0].statistics
    {'min_value': 1.0, 'max_value': 1000.0, 'include_min': True, 'include_max': True}
    """
    import pandera.pandas as pa

    return pa.DataFrameSchema(
        {column.key: _column(column) for column in sheet.typed}, name=sheet.name, coerce=False, strict=False
    )


def gate(frames: Mapping[str, pd.DataFrame]) -> None:
    """Hold accepted rows against the declarations; what fails here slipped through the checks, so the program is wrong.

    Whatever the environment says about switching pandera off does not count.

    Args:
        frames: by layout name of the sheet, accepted rows in SI; the index tells each row's place (file|sheet|row).

    Raises:
        ProgramFault: a value breaks its declaration; the sentence names sheet, column and place.

    >>> row = {"scale": ["S1"], "kind": ["hanging"], "capacity": [5000.0], "division": [0.1]}
    >>> gate({"Scales": pd.DataFrame(row, index=["club.xlsx|Scales|2"])})
    Traceback (most recent call last):
        ...
    apiarybook.errors.ProgramFault: sheet Scales, column capacity, at club.xlsx|Scales|2: the value 5000.0 fails \
in_range(1.0, 1000.0) although it was accepted; this is a fault of the program, nothing was written.
    """
    from pandera.config import ValidationDepth, config_context
    from pandera.errors import SchemaErrors

    failures: list[str] = []
    with config_context(validation_enabled=True, validation_depth=ValidationDepth.SCHEMA_AND_DATA):
        for name, frame in frames.items():
            if frame.empty:
                continue
            try:
                schema(BOOK[name]).validate(frame, lazy=True)
            except SchemaErrors as fault:
                failures += _told(name, fault.failure_cases)
    if failures:
        more = len(failures) - _NAMED_AT_MOST
        tail = f" (and {more} more)" if more > 0 else ""
        raise ProgramFault(
            f"{'; '.join(failures[:_NAMED_AT_MOST])}{tail} although it was accepted; this is a fault of the program, "
            "nothing was written."
        )


def _told(name: str, cases: pd.DataFrame) -> list[str]:
    """One clause for each failure; columns are taken by name, since their order changes with the content."""
    rows = sorted(
        (str(case.column), str(case.index), str(case.check), repr(case.failure_case))
        for case in cases[["column", "index", "check", "failure_case"]].itertuples(index=False, name="Case")
    )
    return [
        f"sheet {name}, column {column}, at {place}: the value {value} fails {check}"
        for column, place, check, value in rows
    ]


def _column(column: Column) -> "pa.Column":
    import pandera.pandas as pa

    dtype = "float64" if column.numeric else "datetime64[s]" if column.kind is Kind.DATE else None
    return pa.Column(dtype, checks=_checks(column), nullable=not column.required, required=True)


def _checks(column: Column) -> "list[pa.Check]":
    import pandera.pandas as pa

    checks = [_kind_check(column)] if column.kind is not Kind.DATE else []
    if column.unique:
        checks.append(pa.Check(_are_single, error="no two alike"))
    return checks


def _kind_check(column: Column) -> "pa.Check":
    import pandera.pandas as pa

    if column.numeric and column.possible:
        return pa.Check.in_range(*column.possible)
    if column.kind is Kind.HEFT:
        return pa.Check(partial(_is_heft, column), element_wise=True, error="a heft")
    if column.kind is Kind.YES_NO or (column.choices and column.kind is not Kind.TEXT):
        return pa.Check.isin(column.choices or YES_NO)
    pattern = CODE_PATTERN if column.kind is Kind.CODE else "(?s).+"
    return pa.Check(partial(_is_text, re.compile(pattern)), element_wise=True, error=f"text of the kind {column.kind}")


def _is_heft(column: Column, value: object) -> bool:
    if isinstance(value, float) and column.possible:
        return column.possible[0] <= value <= column.possible[1]
    return value in column.choices


def _is_text(pattern: re.Pattern[str], value: object) -> bool:
    return isinstance(value, str) and pattern.fullmatch(value) is not None


def _are_single(values: "pd.Series[str]") -> "pd.Series[bool]":
    return ~(values.notna() & values.astype(str).str.casefold().duplicated(keep=False))
