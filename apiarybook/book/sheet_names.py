"""Which sheet of a file is which of the layout."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from apiarybook.book.headings import ColumnId, Headings, find_headings
from apiarybook.layout import BOOK, Column, InCopy, Role, Sheet
from apiarybook.readers.canonical import plain_words
from apiarybook.readers.records import RawBook, RawSheet

PROSE_SHEETS = ("Start here",)
"""Sheets of ours that are no tables."""


@dataclass(frozen=True, slots=True)
class Found:
    """A sheet of a file that is ours: as it stands, the layout's sheets in it, its headings if it still has them."""

    raw: RawSheet
    sheets: tuple[Sheet, ...]
    headings: Headings | None
    wanted: dict[ColumnId, Column]


def our_sheets(raw: RawBook) -> dict[str, Found]:
    """Find the sheets of ours in a file.

    Args:
        raw: the file as it stands. Sheets are known by name, the one of a csv file by its headings.

    Returns:
        By layout name (of the sheet or of the view).
    """
    named = _named()
    if raw.format == "csv":
        sheet = next(iter(raw.sheets.values()))
        return _by_headings(sheet, named)
    names = {plain_words(name): name for name in named}
    former = _former({plain_words(name) for name in raw.sheets})
    found: dict[str, Found] = {}
    for name, sheet in raw.sheets.items():
        ours = names.get(plain_words(name)) or former.get(plain_words(name))
        if ours and ours not in found:
            wanted = named[ours]
            found[ours] = Found(sheet, _sheets(wanted), find_headings(sheet.rows, wanted), wanted)
    return found


def is_former(name: str) -> bool:
    """Whether a sheet of that name was ours in earlier books.

    >>> is_former("decisions"), is_former("Questions")
    (True, False)
    """
    return any(plain_words(name) == plain_words(one) for sheet in BOOK.sheets for one in sheet.former)


def _former(there: set[str]) -> dict[str, str]:
    """The sheets of ours that stand in a file under an earlier name only: the first of these that it has."""
    found = {}
    for sheet in BOOK.sheets:
        known = [plain_words(one) for one in sheet.former if plain_words(one) in there]
        if known and plain_words(sheet.name) not in there:
            found[known[0]] = sheet.name
    return found


@cache
def _named() -> dict[str, dict[ColumnId, Column]]:
    found = {sheet.name: {(sheet.name, column.key): column for column in sheet.columns} for sheet in BOOK.sheets}
    return found | {
        view.name: {(name, key): BOOK[name][key] for name, keys in view.parts for key in keys} for view in BOOK.views
    }


def _sheets(wanted: Mapping[ColumnId, Column]) -> tuple[Sheet, ...]:
    return tuple(BOOK[name] for name in dict.fromkeys(name for name, _ in wanted))


def _by_headings(sheet: RawSheet, named: Mapping[str, dict[ColumnId, Column]]) -> dict[str, Found]:
    """The sheet of ours that shares most headings with a csv file, of two the one that lacks fewer."""
    best: tuple[tuple[int, int], str, Found] | None = None
    for name, wanted in named.items():
        fills = any(column.role is Role.TYPED for column in wanted.values())
        headings = find_headings(sheet.rows, wanted) if fills else None
        if headings is None:
            continue
        known = len(headings.columns)
        if best is None or (known, known - len(wanted)) > best[0]:
            best = (known, known - len(wanted)), name, Found(sheet, _sheets(wanted), headings, wanted)
    return {best[1]: best[2]} if best else {}


def is_club_book(found: Mapping[str, Found]) -> bool:
    """Whether a file has a sheet that no member copy has, be it hidden.

    >>> is_club_book({})
    False
    """
    return any(BOOK[name].typed and BOOK[name].in_copy is InCopy.NO for name in found if name in BOOK.by_name)


def expected(found: Mapping[str, Found]) -> list[str]:
    """Layout names of the sheets that people fill and that a file of this sort should have.

    >>> expected({})[:3]
    ['Colonies', 'Weighings', 'Feedings']
    """
    if not is_club_book(found):
        return [sheet.name for sheet in BOOK.to_return]
    return [sheet.name for sheet in BOOK.sheets if sheet.is_typed_into]
