"""Which questions of a book were answered: by `yes, looked at` beside the row, or on the sheet Questions."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from apiarybook.book.looked_at import Marks, is_yes, right_rows
from apiarybook.checks.rules import CATALOGUE
from apiarybook.readers.canonical import canonical_text

if TYPE_CHECKING:
    from apiarybook.book.table import Table
    from apiarybook.book.tables import Book
    from apiarybook.checks.finding import Hit


class Answers:
    """The answers in a book, and the keys by which they are known.

    Args:
        book: the file as read.
    """

    def __init__(self, book: Book) -> None:
        self._book = book
        self._right = {name: right_rows(table) for name, table in book.tables.items()}
        self._marks = {name: Marks(table) for name, table in book.tables.items()}

    def parted(self, hits: list[Hit]) -> tuple[list[Hit], list[Hit]]:
        """What was settled and what is open still: one answer settles all that a yes can settle about its cells."""
        right = {cell for hit in hits if self.settles(hit) for cell in _cells(hit)}
        settled: list[Hit] = []
        still: list[Hit] = []
        for hit in hits:
            is_settled = CATALOGUE[hit.rule].is_settled_by_yes and right.issuperset(_cells(hit))
            (settled if is_settled else still).append(hit)
        return settled, still

    def settles(self, hit: Hit) -> bool:
        """Whether somebody looked at what a rule found, and it is right as it stands now."""
        if not CATALOGUE[hit.rule].is_settled_by_yes:
            return False
        right = self._right.get(hit.sheet, ())
        return all(row in right for row in (hit.row, *hit.also)) or (bool(self._said) and self.key(hit) in self._said)

    def key(self, hit: Hit) -> str:
        """Tells a question from others by its rule, row and column and the values that it rests on.

        Empty for what no answer settles.
        """
        if not CATALOGUE[hit.rule].is_settled_by_yes or hit.sheet not in self._book.tables:
            return ""
        rows = dict.fromkeys(((hit.sheet, hit.row), *((hit.sheet, row) for row in hit.also), *hit.rests_on))
        marks = [self._marks[sheet].of(row) for sheet, row in rows if row is not None and sheet in self._marks]
        ref = "" if hit.row is None else row_name(self._book.tables[hit.sheet], hit.row)
        return "|".join((hit.rule, hit.sheet, ref, hit.key, "-".join(marks)))

    @cached_property
    def _said(self) -> frozenset[str]:
        if "Questions" not in self._book.tables:
            return frozenset()
        raw = self._book.tables["Questions"].raw
        both = zip(raw["key"], raw["holds"], strict=True)
        return frozenset(str(key) for key, entry in both if key is not None and entry is not None and is_yes(entry))


def _cells(hit: Hit) -> list[tuple[str, int | None, str]]:
    return [(hit.sheet, row, hit.key) for row in (hit.row, *hit.also)]


def is_of_finding(key: str) -> bool:
    """Whether a key of the sheet Questions is that of something a rule found.

    >>> is_of_finding("sides-ratio|Weighings|W7|reading_1|0f3a"), is_of_finding("Weighings|W7|reading_1|0f")
    (True, False)
    """
    rule = CATALOGUE.get(key.partition("|")[0])
    return rule is not None and rule.is_settled_by_yes


def row_name(table: Table, row: int) -> str:
    """What a row is known by whatever its place: its ref, or the code or name that no other row has.

    Args:
        table: the sheet.
        row: label of the row.
    """
    names = [column.key for column in table.sheet.typed if column.unique and column.key in table.raw]
    found = [canonical_text(table.raw.at[row, key]) for key in names]
    return next(filter(None, found), str(row))
