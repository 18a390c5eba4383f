"""Wants that earlier winters suggest: shown on the sheet Questions beside today's, and taken over once accepted."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pandas as pd

from apiarybook.book.measure import local_bounds
from apiarybook.layout import BOOK
from apiarybook.readers.canonical import canonical_text, plain_words

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from apiarybook.book.table import Table
    from apiarybook.book.tables import Book

WANT = "want-suggested"
HIVE_TYPES, QUESTIONS = "Hive types", "Questions"
TAKEN, KEPT = ("a",), ("b", "as it stands")
"""Entries that take the suggestion, and that keep today's want."""
UNDERSTOOD = "A, B, as it stands, or a mass as a number alone, without its unit"
_COLUMNS = [column.key for column in BOOK[QUESTIONS].columns]


def question(hive_type: str, want: float, suggested: float, unit: str, why: str) -> dict[str, object]:
    """A row of the sheet Questions that asks about one want.

    Args:
        hive_type: its name.
        want: today's want, in the book's unit.
        suggested: the want suggested, in the book's unit.
        unit: the book's unit of mass.
        why: what the suggestion rests on.

    >>> question("National single", 20.0, 21.2, "kg", "29 colonies")["claims"]
    'A: 21.2 kg (29 colonies); B: 20 kg (today)'
    """
    return {
        "sheet": HIVE_TYPES,
        "ref": hive_type,
        "column": BOOK[HIVE_TYPES]["want"].heading,
        "question": f"What shall the want of {hive_type} be? A takes what earlier winters suggest, B or as it stands "
        "keeps today's; or type a mass.",
        "claims": f"A: {suggested:g} {unit} ({why}); B: {want:g} {unit} (today)",
        "holds": None,
        "decided": None,
        "applied": None,
        "key": f"{WANT}|{hive_type}|{suggested:g}",
    }


def is_of_want(key: object) -> bool:
    """Whether a row of the sheet Questions asks about a want."""
    return isinstance(key, str) and key.startswith(f"{WANT}|")


def with_wants(book: Book, as_at: date) -> Book:
    """Take over the wants that were accepted since the last run.

    Args:
        book: a club's book as read.
        as_at: the day for which the run reckons.

    Returns:
        the book with its hive types and decisions as they hold now; the same book if nothing was decided.
    """
    asked = book.tables.get(QUESTIONS)
    if asked is None or not any(is_of_want(key) for key in asked.raw.get("key", ())):
        return book
    raw = asked.raw.reindex(columns=_COLUMNS).copy()
    types = book.tables.get(HIVE_TYPES)
    for row, one in raw.iterrows():
        if not is_of_want(one["key"]) or _text(one["holds"]) == _text(one["applied"]):
            continue
        value, is_understood = _meant(one["key"], one["holds"], book.unit)
        if is_understood:
            raw.loc[row, ["applied", "decided"]] = [one["holds"], as_at]
            types = types if types is None or value is None else _with_want(types, one["ref"], value)
    tables = book.tables | {QUESTIONS: replace(asked, raw=raw)}
    return replace(book, tables=tables if types is None else tables | {HIVE_TYPES: types})


def unclear(book: Book) -> Iterator[tuple[str, str]]:
    """Entries on wants that cannot be applied: their cell, and the entry."""
    asked = book.tables.get(QUESTIONS)
    if asked is None or "key" not in asked.raw:
        return
    for row, key, holds in zip(asked.raw.index.tolist(), asked.raw["key"], asked.raw["holds"], strict=True):
        if is_of_want(key) and not _meant(key, holds, book.unit)[1]:
            yield asked.place(row, "holds"), canonical_text(holds)


def open_wants(asked: pd.DataFrame) -> pd.DataFrame:
    """The rows of a sheet Questions that ask about wants."""
    kept: pd.DataFrame = asked.loc[[is_of_want(key) for key in asked["key"]]]
    return kept


def _text(value: object) -> str:
    return "" if value is None or pd.isna(value) else plain_words(value)  # type: ignore[call-overload]


def _meant(key: object, holds: object, unit: str) -> tuple[float | None, bool]:
    """The want that an entry means, None for today's, and whether it can be understood."""
    text = _text(holds)
    if not text or text in KEPT:
        return None, True
    if text in TAKEN:
        return float(str(key).rpartition("|")[2]), True
    try:
        value = float(text)
    except ValueError:
        return None, False
    return value, _is_possible(value, unit)


def _is_possible(value: float, unit: str) -> bool:
    column = BOOK[HIVE_TYPES]["want"]
    low, high = local_bounds(column, column.possible, unit) if column.possible else (value, value)
    return low <= value <= high


def _with_want(table: Table, hive_type: object, value: float) -> Table:
    named = table.typed["name"].map(_text) == _text(hive_type)
    raw, typed = table.raw.copy(), table.typed.copy()
    raw.loc[named, "want"] = value
    typed.loc[named, "want"] = value
    return replace(table, raw=raw, typed=typed)
