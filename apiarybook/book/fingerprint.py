"""The fingerprint of a closed book: what people typed, whatever program saved it and in whatever order it stands."""

from __future__ import annotations

import hashlib
from datetime import date, datetime
from typing import TYPE_CHECKING, NamedTuple

import pandas as pd

from apiarybook.layout import BOOK, SETTINGS
from apiarybook.layout.model import Role
from apiarybook.readers.canonical import canonical, canonical_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from apiarybook.book.table import Table
    from apiarybook.book.tables import Book
    from apiarybook.layout import Sheet

CLOSED, FINGERPRINT = "closed", "fingerprint"
"""What the sheet About and the document properties of a closed book hold beside its id."""
CARRIED = "carried from"
"""What they hold in a book that was made from the one of the winter before: that one's own copy."""
SETTING_OF_RUNS = "as_at"
"""The one setting that every run writes."""
AS_CLOSED = "As closed"
"""The sheet of a closed book that has a mark of each row."""
_SEPARATOR = "\x1f"
_MARK = 8
"""Hexadecimal digits of a row's mark: it is held against one other, so that four bytes are enough."""


def fingerprint(book: Book) -> str:
    r"""Give the fingerprint of a book.

    Args:
        book: a club's book as read, or brought to its places.

    Returns:
        SHA-256, hexadecimal, over the canonical typed cells sorted by sheet, ref and column. Sheets that only the
        package fills do not enter, nor does the setting that every run writes.

    >>> from apiarybook.book.tables import read_book
    >>> rows = [b"ref,date,colony,amount", b"M1a-F1,2026-09-05,A1,5", b"M1a-F2,2026-09-06,A2,2.50"]
    >>> book, turned = (read_book(("Feedings.csv", b"\n".join(of))) for of in (rows, [rows[0], rows[2], rows[1]]))
    >>> fingerprint(book) == fingerprint(turned)
    True
    """
    lines = [line for row in _rows(book) for line in row.lines]
    return hashlib.sha256("\n".join(sorted(lines)).encode()).hexdigest()


class _Row(NamedTuple):
    """A typed row: its sheet, what names it there (empty where nothing does), its number, its cells as lines."""

    sheet: str
    name: str
    number: int
    lines: tuple[str, ...]

    @property
    def mark(self) -> str:
        return hashlib.sha256("\n".join(self.lines).encode()).hexdigest()[:_MARK]

    @property
    def key(self) -> tuple[str, str]:
        return self.sheet, self.name or self.mark

    @property
    def place(self) -> str:
        return f"{self.sheet} row {self.number}" if self.number else f"setting {self.name}"


def _rows(book: Book) -> Iterator[_Row]:
    for setting in SETTINGS:
        key, value = setting.key, book.settings.get(setting.key)
        if key != SETTING_OF_RUNS and value is not None:
            yield _Row("Settings", setting.heading, 0, (_SEPARATOR.join(("Settings", "", key, _cell(value))),))
    for sheet in BOOK.sheets:
        table = book.tables.get(sheet.name)
        if table is not None and sheet.is_list:
            yield from _of_sheet(sheet, table)


def _of_sheet(sheet: Sheet, table: Table) -> Iterator[_Row]:
    own = next((column.key for column in sheet.columns if column.unique), "")
    beside = {"ref"} - {own}  # a mark that the program gives to rows with a code of their own is nothing typed
    keys = [column.key for column in sheet.columns if column.role is Role.TYPED and column.key not in beside]
    seen: dict[str, int] = {}
    filled = table.typed[~table.is_blank.to_numpy()]
    for number, row in zip(filled.index.tolist(), filled[keys].to_dict("records"), strict=True):
        cells = {key: _cell(_or_raw(table, number, key, row[key])) for key in keys}
        ref = cells[own] if own and cells[own] else _SEPARATOR.join(cells.values())
        seen[ref] = seen.get(ref, 0) + 1
        named = f"{cells[own].partition(' ')[2]}{f' ({seen[ref]})' if seen[ref] > 1 else ''}" if own else ""
        told = ((sheet.name, f"{ref} {seen[ref]}", key, text) for key, text in cells.items() if text)
        yield _Row(sheet.name, named, number, tuple(map(_SEPARATOR.join, told)))


def rows_as_closed(book: Book) -> pd.DataFrame:
    """The sheet As closed: a short mark of each typed row, from which it is told later which of them changed.

    Args:
        book: a club's book as read, or brought to its places.
    """
    rows = [(*row.key, row.mark) for row in _rows(book)]
    return pd.DataFrame(rows, columns=[column.key for column in BOOK[AS_CLOSED].columns], dtype=object)


def changed_since(book: Book) -> list[str]:
    """Which rows and settings of a closed book are not any more what they were, in words; none where it has no marks.

    Args:
        book: a club's book as read.
    """
    kept = book.kept[AS_CLOSED].raw.dropna(subset="mark") if AS_CLOSED in book.kept else pd.DataFrame()
    if kept.empty:
        return []
    was = {(str(one.sheet), str(one.ref)): str(one.mark) for one in kept.itertuples()}
    rows = {row.key: row for row in _rows(book)}
    gone = [f"{sheet} {ref} is gone" for sheet, ref in was if (sheet, ref) not in rows]
    return [*(row.place for key, row in rows.items() if was.get(key) != row.mark), *gone]


def _or_raw(table: Table, row: int, key: str, value: object) -> object:
    """A cell as read, or as it stands where it could not be read."""
    return table.raw.loc[row, key] if value is None or pd.isna(value) else value  # type: ignore[call-overload]


def _cell(value: object) -> str:
    """A value with its kind, so that a number and the same digits as text are told apart."""
    if value is None or pd.isna(value):  # type: ignore[call-overload]
        return ""
    plain = value.date() if isinstance(value, pd.Timestamp | datetime) else value
    form = canonical(plain)
    return f"{type(form).__name__} {canonical_text(form)}" if not isinstance(form, date) else canonical_text(form)


def is_closed(book: Book) -> bool:
    """Whether a book was closed and not opened again."""
    return bool(book.properties.get(FINGERPRINT))


def was_changed(book: Book) -> bool:
    """Whether a closed book is not any more what it was when it was closed."""
    return is_closed(book) and book.properties[FINGERPRINT] != fingerprint(book)
