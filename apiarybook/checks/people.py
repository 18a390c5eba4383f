"""Whom a finding concerns: the colony, who keeps it, and the day."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from apiarybook.readers.canonical import canonical_text

if TYPE_CHECKING:
    from collections.abc import Mapping

    from apiarybook.book.tables import Book
    from apiarybook.checks.finding import Finding

KEEPERS = ("member", "apiary", "colony")
"""Columns that lead to a keeper, the nearest first."""


class People:
    """Who keeps what in a book.

    Args:
        book: the file as read.
    """

    def __init__(self, book: Book) -> None:
        self._book = book
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
        table = self._book.tables[sheet]
        if row not in table.raw.index:
            return finding
        said = {key: canonical_text(table.raw.at[row, key]) for key in KEEPERS if key in table.sheet.by_key}
        keeper = next((self._of[key].get(code.casefold(), "") for key, code in said.items() if code), "")
        day = str(table.typed["date"].at[row])[:10] if "date" in table.typed else ""
        return replace(finding, colony=said.get("colony", ""), keeper=keeper, day="" if day == "NaT" else day)


def _pairs(book: Book, sheet: str, key: str, value: str) -> dict[str, str]:
    if sheet not in book.tables:
        return {}
    typed = book.tables[sheet].typed
    both = zip(typed[key], typed[value], strict=True)
    return {str(one).casefold(): str(other or one) for one, other in both if one is not None}
