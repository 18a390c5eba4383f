"""One sheet of a file made into a table: its rows as they stand, and as values of their columns' kinds."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np
import pandas as pd

from apiarybook.book.cells import Fault, counted, is_number_text, parse
from apiarybook.book.measure import COUNTED_READINGS, FRAMES_COUNTED
from apiarybook.layout import Column, Kind, Role, Sheet
from apiarybook.readers.canonical import canonical
from apiarybook.readers.formula_text import formulas_in
from apiarybook.readers.limits import cell_name, column_letters

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from apiarybook.book.headings import Headings
    from apiarybook.readers.records import RawSheet

_Read = TypeVar("_Read")
LONGEST_TEXT = 5_000
"""Characters that a typed cell may hold: far more than anybody writes into one, far less than a cell can hold."""
BEGINNING = 200
"""Characters that are kept of a longer one; the file it came in has it whole."""
_CUT = re.compile(rf"(?s:.{{{BEGINNING}}}) \.\.\. \((\d{{1,3}}(?:,\d{{3}})+) characters\)")


@dataclass(frozen=True, slots=True)
class CellFault:
    """A fault of one cell: the row as a person counts it, and the key of the column."""

    row: int
    key: str
    fault: Fault


@dataclass
class Table:
    """One sheet's rows.

    Attributes:
        sheet: its declaration.
        raw: canonical values of the typed and value columns, index `row` (as a person counts), ready-made rows too.
        typed: the same as float64, datetime64[s] or text; what could not be read is blank.
        columns: number of each column in the file, by key, counted from 1.
        headings: heading of each column as it stands, by key.
        unknown: columns that the layout does not know, under their headings.
        faults: of single cells.
        name: name of the sheet as it stands in the file.
    """

    sheet: Sheet
    raw: pd.DataFrame
    typed: pd.DataFrame
    columns: dict[str, int]
    headings: dict[str, str]
    unknown: pd.DataFrame
    faults: list[CellFault]
    name: str = ""

    def place(self, row: int, key: str) -> str:
        """Where a value stands, such as C7; only the row number for a column that the file lacks."""
        return cell_name(row, self.columns.get(key, 0))

    @property
    def is_blank(self) -> pd.Series[bool]:
        """Which rows nobody has typed into."""
        content = {column.key for column in self.sheet.content}
        is_content = [key in content for key in self.raw.columns]
        return pd.Series(self.raw.isna().to_numpy()[:, is_content].all(axis=1), index=self.raw.index, dtype=bool)


def empty_typed(sheet: Sheet) -> pd.DataFrame:
    """A typed frame of a sheet without rows.

    >>> from apiarybook.layout import BOOK
    >>> empty_typed(BOOK["Moves"]).dtypes["date"]
    dtype('<M8[s]')
    """
    index = pd.Index([], name="row", dtype="int64")
    return _frame(sheet, {column.key: [] for column in _stored(sheet)}, index)


def build_table(raw: RawSheet, sheet: Sheet, headings: Headings, unit: str, point: str = "") -> Table:
    """Make one sheet of a file into a table.

    Args:
        raw: the sheet as it stands.
        sheet: its declaration.
        headings: its heading row, read.
        unit: the book's unit, kg or lb.
        point: the decimal sign where every value is text, so that text which is a plain number is one.
    """
    columns = {key: number for (name, key), number in headings.columns.items() if name == sheet.name}
    columns = {column.key: columns[column.key] for column in _stored(sheet) if column.key in columns}
    last = _last_row(raw, {*columns.values(), *headings.unknown, *headings.doubled})
    grid = raw.rows[headings.row : last] + [[]] * (last - max(len(raw.rows), headings.row))
    index = pd.RangeIndex(headings.row + 1, headings.row + 1 + len(grid), name="row")
    values = {column.key: _values(grid, columns.get(column.key), column, point) for column in _stored(sheet)}
    faults = _shortened(sheet, columns, values) | _broken(raw, sheet, columns, headings.row, values)
    _clear_ready(sheet, values, faults)
    parsed = {column.key: _parsed(column, values, unit, faults) for column in _stored(sheet)}
    typed, order = _frame(sheet, parsed, index), list(parsed)
    found = sorted(faults.items(), key=lambda one: (one[0][0], columns[one[0][1]], order.index(one[0][1])))
    return Table(
        sheet=sheet,
        raw=pd.DataFrame(np.array([*values.values()], dtype=object).T, index, typed.columns, dtype=object),
        typed=typed,
        columns=columns,
        headings={key: headings.as_they_stand[sheet.name, key] for key in columns},
        unknown=_unknown(grid, headings, index),
        faults=[CellFault(row + headings.row + 1, key, fault) for (row, key), fault in found],
        name=raw.name,
    )


def _stored(sheet: Sheet) -> list[Column]:
    return [column for column in sheet.columns if column.role is not Role.LIVE]


def _last_row(raw: RawSheet, columns: set[int]) -> int:
    """The last row in which a column holds more than the book's own formulas."""
    places = [row for found in (raw.errors, raw.formulas) for row, _ in formulas_in(found, columns)]
    typed_to = len(raw.rows)
    wanted = [number - 1 for number in columns]
    while typed_to and all(
        number >= len(raw.rows[typed_to - 1]) or raw.rows[typed_to - 1][number] is None for number in wanted
    ):
        typed_to -= 1
    return max([typed_to, *places])


def _values(grid: list[list[object]], number: int | None, column: Column, point: str) -> list[object]:
    if number is None:
        return [None] * len(grid)
    found = [row[number - 1] if number <= len(row) else None for row in grid]
    if _is_empty(found):
        return found
    read = partial(_as_number, point=point) if point and (column.numeric or column.kind is Kind.HEFT) else canonical
    return _once(read, found)


def _once(read: Callable[[object], _Read], values: Sequence[object]) -> list[_Read]:
    """Values read, equal ones of one type once: most cells of a column say what others say."""
    if len({int, float, bool} & set(map(type, values))) <= 1:
        told = {value: read(value) for value in set(values)}
        return [told[value] for value in values]
    keys = list(zip(map(type, values), values, strict=True))  # 1, 1.0 and true are equal, and not the same
    known = {key: read(key[1]) for key in set(keys)}
    return [known[key] for key in keys]


def _is_empty(values: list[object]) -> bool:
    return values.count(None) == len(values)


def _as_number(value: object, point: str) -> object:
    """Text that is a plain number as one, written with a decimal sign or with a point."""
    plain = canonical(value)
    if not isinstance(plain, str):
        return plain
    text = plain if "." in plain else plain.replace(point, ".", 1)
    return canonical(float(text)) if is_number_text(text) else plain


def _shortened(sheet: Sheet, columns: dict[str, int], values: dict[str, list[object]]) -> dict[tuple[int, str], Fault]:
    """Name typed cells that hold more text than any cell of a book should, and keep their beginning only."""
    faults: dict[tuple[int, str], Fault] = {}
    for key in (column.key for column in sheet.typed if column.key in columns and not _is_empty(values[column.key])):
        if not any(isinstance(one, str) and len(one) > BEGINNING for one in set(values[key])):
            continue
        for at, one in enumerate(values[key]):
            if isinstance(one, str) and len(one) > BEGINNING and (length := _length(one)) > LONGEST_TEXT:
                values[key][at] = f"{one[:BEGINNING]} ... ({length:,} characters)"
                told: dict[str, object] = {"suggestion": "", "length": f"{length:,}", "longest": f"{LONGEST_TEXT:,}"}
                faults[at, key] = Fault("too-long", values[key][at], told)
    return faults


def _length(text: str) -> int:
    """How long a text is or, where an earlier run kept its beginning only, was.

    >>> _length("short"), _length("x" * 200 + " ... (32,000 characters)")
    (5, 32000)
    """
    cut = _CUT.fullmatch(text) if len(text) < 2 * BEGINNING else None
    return int(cut[1].replace(",", "")) if cut else len(text)


def _broken(
    raw: RawSheet, sheet: Sheet, columns: dict[str, int], heading_row: int, values: dict[str, list[object]]
) -> dict[tuple[int, str], Fault]:
    """Name typed cells that hold an error or a formula; what an error cell shows becomes its raw value."""
    keys = {number: key for key, number in columns.items() if sheet[key].role is Role.TYPED}
    faults: dict[tuple[int, str], Fault] = {}
    for rule, word, found in (("formula-in-input", "formula", raw.formulas), ("error-cell", "error", raw.errors)):
        for row, number in formulas_in(found, keys):
            at = row - heading_row - 1
            if at < 0:
                continue
            key, text = keys[number], found[row, number]
            if rule == "error-cell":
                values[key][at] = text
            faults[at, key] = Fault(rule, values[key][at], {"suggestion": "", word: text})
    return faults


def _clear_ready(sheet: Sheet, values: dict[str, list[object]], faults: dict[tuple[int, str], Fault]) -> None:
    """Clear what a run put ready from the rows into which nobody typed anything; here a row is told to be blank."""
    keys, ready = [column.key for column in sheet.content], sheet.made_ready
    typed = [values[key] for key in keys if key not in ready and not _is_empty(values[key])]
    for at in range(len(values[keys[0]]) if ready else 0):
        if any(of[at] is not None for of in typed):
            continue
        filled = [key for key in keys if values[key][at] is not None]
        stood = (key in ready and values[key][at] == values[ready[key]][at] for key in filled)
        if all(stood) and not any((at, key) in faults for key in keys):
            for key in filled:
                values[key][at] = None


def _parsed(
    column: Column, values: dict[str, list[object]], unit: str, faults: dict[tuple[int, str], Fault]
) -> list[object]:
    """Read one column; its faults join the others, and a cell that has one already stays blank."""
    held = values[column.key]
    if _is_empty(held):
        return held
    found = _once(partial(parse, column, unit=unit), held)
    if column.key in COUNTED_READINGS and "how" in values:
        as_count = partial(parse, counted(column), unit=unit)
        for at in np.flatnonzero(_once(_is_frames, values["how"])).tolist():
            found[at] = as_count(held[at])
    parsed = [value for value, _ in found]
    new = {(at, column.key): fault for at, (_, fault) in enumerate(found) if fault and column.role is Role.TYPED}
    for at in [at for at, key in faults if key == column.key]:
        parsed[at] = None
    faults |= new | faults
    return parsed


def _is_frames(way: object) -> bool:
    return isinstance(way, str) and " ".join(way.casefold().split()) == FRAMES_COUNTED


def _frame(sheet: Sheet, values: dict[str, list[object]], index: pd.Index[int]) -> pd.DataFrame:
    """Columns of their kinds; most columns of words are blank, and one stands for all of these."""
    blank = pd.Series([None] * len(index), index=index, dtype=object)
    found: dict[str, pd.Series[Any] | NDArray[Any]] = {}
    for key, one in values.items():
        column = sheet[key]
        if column.numeric or column.kind is Kind.DATE:
            found[key] = np.array(one, dtype="float64" if column.numeric else "datetime64[s]")
        else:
            found[key] = blank if _is_empty(one) else pd.Series(one, index=index, dtype=object)
    return pd.DataFrame(found, index=index)


def _unknown(grid: list[list[object]], headings: Headings, index: pd.Index[int]) -> pd.DataFrame:
    """What stands in columns that are not ours; of a column without heading or of a doubled one its letters tell."""
    found: dict[str, list[object]] = {}
    strange = {**headings.unknown, **{number: headings.as_they_stand[of] for number, of in headings.doubled.items()}}
    for number, text in sorted(strange.items()):
        values = [row[number - 1] if number <= len(row) else None for row in grid]
        if text or any(one is not None for one in values):
            name = text if text and text not in found and number in headings.unknown else ""
            found[name or f"{text} (column {column_letters(number)})".strip()] = values
    return pd.DataFrame(found, index=index, dtype=object)
