"""Whom a finding concerns: the colony, who keeps it, and the day."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pandas as pd

from apiarybook.readers.canonical import canonical_text

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping

    from apiarybook.book.tables import Book
    from apiarybook.checks.finding import Finding

DAY = "the day"
"""Stands for the column date as it was understood."""
KEEPERS = ("member", "apiary", "colony")
"""Columns that lead to a keeper, the nearest first."""


class People:
    """Who keeps what in a book.

    Args:
        book: the file as read.
    """

    def __init__(self, book: Book) -> None:
        self._book = book
        self._texts: dict[tuple[str, str], Mapping[Hashable, str]] = {}
        names = _pairs(book, "Members", "member", "name")
        apiaries = _pairs(book, "Apiaries", "apiary", "member")
        self._of: dict[str, Mapping[str, str]] = {"member": names}
        self._of["apiary"] = {code: names.get(member.casefold(), member) for code, member in apiaries.items()}
        colonies = _pairs(book, "Colonies", "colony", "apiary")
        self._of["colony"] = {code: self._of["apiary"].get(apiary.casefold(), "") for code, apiary in colonies.items()}

    def told(self, finding: Finding, sheet: str, row: int) -> Finding:
        """A finding with its colony, keeper and day.

        Args:
            finding: without them.
            sheet: layout name of its sheet.
            row: label of its row; 0 where it speaks of the whole sheet.
        """
        said = {key: self.typed(sheet, row, key) for key in KEEPERS}
        keeper = next((self._of[key].get(code.casefold(), "") for key, code in said.items() if code), "")
        return replace(finding, colony=said["colony"], keeper=keeper, day=self._column(sheet, DAY).get(row, ""))

    def typed(self, sheet: str, row: int, key: str) -> str:
        """A cell as it was typed, in words; empty for a column or row that is not there."""
        return self._column(sheet, key).get(row, "")

    def _column(self, sheet: str, key: str) -> Mapping[Hashable, str]:
        """The cells of a column by row, each column read once: cells one by one are slow."""
        found = self._texts.get((sheet, key))
        if found is None:
            table = self._book.tables[sheet]
            if key == DAY:
                texts = table.typed["date"].dropna().dt.strftime("%Y-%m-%d") if "date" in table.typed else ()
            else:
                texts = table.raw[key].map(canonical_text) if key in table.raw else ()
            found = self._texts[sheet, key] = dict(pd.Series(texts, dtype=object).items())
        return found


def _pairs(book: Book, sheet: str, key: str, value: str) -> dict[str, str]:
    if sheet not in book.tables:
        return {}
    typed = book.tables[sheet].typed
    both = zip(typed[key], typed[value], strict=True)
    return {str(one).casefold(): str(other or one) for one, other in both if one is not None}
