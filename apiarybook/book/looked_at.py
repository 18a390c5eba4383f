"""The answer under `is it right?`: kept with the mark of the values that it was given for, so that others ask again."""

from __future__ import annotations

import hashlib
import re
from typing import TYPE_CHECKING

from apiarybook.layout import Kind
from apiarybook.layout.words import LOOKED_AT
from apiarybook.readers.canonical import canonical_text, plain_words

if TYPE_CHECKING:
    from collections.abc import Iterable

    from apiarybook.book.table import Table

ANSWER = "is_it_right"
"""Key of the column on sheets of rows."""
_OURS = re.compile(rf"{LOOKED_AT} \(([0-9a-f]{{4}})\)")
_PLAIN = ("yes", "y", LOOKED_AT, LOOKED_AT.replace(",", ""))
_OF_NO_MATTER = ("ref", "typed_for")


def is_yes(entry: object) -> bool:
    """Whether an entry says that something was looked at and is right.

    >>> is_yes(" Yes, looked  at"), is_yes("yes, looked at (0f3a)"), is_yes("no")
    (True, True, False)
    """
    text = plain_words(entry)
    return text in _PLAIN or bool(_OURS.fullmatch(text))


class Marks:
    """What tells the values of a sheet's rows from others: four signs made of all that was typed but names and prose.

    Args:
        table: the sheet as read.
    """

    def __init__(self, table: Table) -> None:
        self._table = table
        self._columns: list[tuple[str, Kind, list[object], list[object]]] | None = None
        self._known: dict[int, str] = {}

    def of(self, row: int) -> str:
        """The mark of a row, by its label."""
        if row not in self._known:
            self._known[row] = self._of(row)
        return self._known[row]

    def _of(self, row: int) -> str:
        at = self._table.raw.index.get_loc(row)
        said = []
        for key, kind, typed, raw in self._all():
            value = raw[at] if _is_blank(typed[at]) else typed[at]
            text = "" if _is_blank(value) else _as_day(canonical_text(value), kind)
            if text:
                said.append(f"{key}={text.casefold()}")
        return hashlib.sha256("\x1f".join(said).encode()).hexdigest()[:4]

    def _all(self) -> list[tuple[str, Kind, list[object], list[object]]]:
        if self._columns is None:
            table = self._table
            self._columns = [
                (column.key, column.kind, table.typed[column.key].tolist(), table.raw[column.key].tolist())
                for column in table.sheet.typed
                if column.kind is not Kind.TEXT and column.key not in _OF_NO_MATTER and column.key in table.raw
            ]
        return self._columns


def _as_day(text: str, kind: Kind) -> str:
    return text[:10] if kind is Kind.DATE else text


def set_marks(tables: Iterable[Table]) -> None:
    """Give each fresh answer of each sheet the mark of the row beside which it stands.

    Args:
        tables: the sheets of a file; changed in place.
    """
    for table in tables:
        marks = Marks(table)
        for row, entry in _entries(table):
            if plain_words(entry) in _PLAIN:
                told = f"{LOOKED_AT} ({marks.of(row)})"
                table.raw.loc[row, ANSWER] = told
                table.typed.loc[row, ANSWER] = told


def right_rows(table: Table) -> frozenset[int]:
    """Rows that somebody looked at and found right as they stand now.

    Args:
        table: a sheet as read.
    """
    marks = Marks(table)
    found = ((row, _OURS.fullmatch(plain_words(entry))) for row, entry in _entries(table))
    return frozenset(row for row, ours in found if ours and ours[1] == marks.of(row))


def strange_answers(table: Table) -> list[int]:
    """Rows whose answer is none that the book understands.

    Args:
        table: a sheet as read.
    """
    return [row for row, entry in _entries(table) if not is_yes(entry)]


def _entries(table: Table) -> list[tuple[int, object]]:
    if ANSWER not in table.columns:
        return []
    entries = zip(table.raw.index.tolist(), table.raw[ANSWER].tolist(), strict=True)
    return [(row, entry) for row, entry in entries if not _is_blank(entry)]


def _is_blank(value: object) -> bool:
    return value is None or value != value  # noqa: PLR0124 blank figures and days do not equal themselves
