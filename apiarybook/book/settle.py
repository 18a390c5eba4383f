"""A book as it was read, brought to the places that it will have once it is rebuilt."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import count
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.book.measure import measure
from apiarybook.book.table import CellFault, Table, empty_typed
from apiarybook.layout import BOOK
from apiarybook.layout.model import Kind, Role, Sheet
from apiarybook.layout.words import MARK_PATTERN

if TYPE_CHECKING:
    from apiarybook.book.tables import Book

WORDED = frozenset({Kind.YES_NO, Kind.CHOICE, Kind.DATE, Kind.HEFT})
"""Kinds of cell that can be read although they do not stand as the book's formulas want them."""
_NUMBER = re.compile(r"(\d+)$")
_MARK = re.compile(MARK_PATTERN)


def settle(book: Book, token: str) -> Book:
    """Give every row its place in the rebuilt book: layout order of columns, rows under the heading, refs, spare rows.

    Nothing typed changes its meaning. Settling a settled book changes nothing.

    Args:
        book: a club's book as read.
        token: what the refs of new ready-made rows begin with.

    Returns:
        the book with its tables in their places; findings made from it name cells of the rebuilt book.
    """
    tables = dict(book.tables)
    colonies = int(tables["Colonies"].typed["colony"].notna().sum()) if "Colonies" in tables else 0
    for sheet in BOOK.sheets:
        if sheet.is_list:
            tables[sheet.name] = _table(book.tables.get(sheet.name), sheet, book.unit, token, colonies)
    return replace(book, tables=tables)


def _table(table: Table | None, sheet: Sheet, unit: str, token: str, colonies: int) -> Table:
    table = table or _nothing(sheet)
    index = pd.RangeIndex(sheet.first_row, sheet.first_row + _rows(table, colonies), name="row")
    shift = sheet.first_row - int(table.raw.index[0]) if len(table.raw) else 0
    raw, typed = (_placed(frame, index, shift) for frame in (table.raw.astype(object), table.typed))
    for column in sheet.columns:
        if column.kind in WORDED and column.role is Role.TYPED:
            raw[column.key] = _as_read(raw[column.key], typed[column.key])
    if "ref" in sheet.by_key:
        raw["ref"] = typed["ref"] = pd.Series(_refs(raw["ref"], f"{token}-{sheet.mark}"), index, dtype=object)
        table = replace(table, faults=[fault for fault in table.faults if fault.key != "ref"])
    units = measure(unit)
    return Table(
        sheet=sheet,
        raw=raw,
        typed=typed,
        columns={column.key: number for number, column in enumerate(sheet.shown, 1) if column.key in raw},
        headings={column.key: units.heading(column) for column in sheet.columns if column.key in raw},
        unknown=_placed(table.unknown.astype(object), index, shift),
        faults=[CellFault(fault.row + shift, fault.key, fault.fault) for fault in table.faults],
        name=sheet.name,
    )


def _as_read(raw: pd.Series[str], typed: pd.Series[str]) -> pd.Series[str]:
    """Dates and choices that were typed in other words, as the book's formulas can read them too."""
    held = raw.tolist()
    if not {str, bool} & set(map(type, held)) or held == typed.tolist():
        return raw
    otherwise = raw.map(lambda one: isinstance(one, (str, bool))) & typed.notna()
    read = [one.date() if isinstance(one, pd.Timestamp) else one for one in typed]
    return raw.mask(otherwise, pd.Series(read, raw.index, dtype=object))


def _nothing(sheet: Sheet) -> Table:
    typed = empty_typed(sheet)
    return Table(sheet, typed.astype(object), typed, {}, {}, pd.DataFrame(index=typed.index), [], sheet.name)


def _rows(table: Table, colonies: int) -> int:
    """All rows up to the last that holds anything, and the spare rows after it; marks alone hold nothing.

    Where a row stands ready for each colony there are at least as many spare rows.
    """
    used = np.flatnonzero(~table.is_blank.to_numpy())
    noted = np.flatnonzero(table.unknown.notna().any(axis=1).to_numpy()) if table.unknown.shape[1] else used
    first = int(table.raw.index[0]) if len(table.raw) else 0
    faulty = [one.row - first for one in table.faults if one.key != "ref"]
    last = max([-1, *used[-1:], *noted[-1:], *faulty]) + 1
    ready = (table.sheet.ready or table.sheet.spare) if table.sheet.mark else len(table.raw)
    spare = max(table.sheet.spare, colonies if table.sheet.made_ready else 0)
    return int(max(ready, last + spare))


def _placed(frame: pd.DataFrame, index: pd.RangeIndex, shift: int) -> pd.DataFrame:
    """The rows of a frame in their places, blank words and raw values as None, further rows blank."""
    found = frame.set_axis(frame.index + shift, axis=0).reindex(index=index)
    words = found.select_dtypes(object)
    values = words.to_numpy(copy=True)
    values[pd.isna(values)] = None
    others = found.drop(columns=words.columns)
    return pd.DataFrame(values, index, words.columns, dtype=object).join(others)[frame.columns]


def _refs(refs: pd.Series[str], stem: str) -> list[object]:
    """Give every row without a ref of its own the next one of this book: of two alike the first keeps it."""
    whole: list[object] = list(refs)
    known, highest = set[str](), 0
    for at, ref in enumerate(whole):
        if not (isinstance(ref, str) and _MARK.fullmatch(ref)) or ref.casefold() in known:
            whole[at] = None
            continue
        known.add(ref.casefold())
        if ref.startswith(stem) and (found := _NUMBER.search(ref)):
            highest = max(highest, int(found[1]))
    new = (f"{stem}{number}" for number in count(highest + 1))
    return [next(new) if ref is None else ref for ref in whole]
