"""Which rows of a club's book are whose: a member's apiaries, their colonies, and all that is written of these."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from apiarybook.gather.claims import SHEETS
from apiarybook.layout import BOOK

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from apiarybook.book.table import Table
    from apiarybook.book.tables import Book

Rows = dict[str, dict[str, list[int]]]


@dataclass(frozen=True, slots=True)
class Shares:
    """Who has what.

    Attributes:
        names: by code of each member in the order of the sheet Members, the name; empty where there is none.
        apiaries: by code of each apiary, the code of the member who keeps it.
        colonies: by code of each colony, the same.
        rows: by sheet and member, numbers of the rows that are theirs.
    """

    names: dict[str, str]
    apiaries: dict[str, str]
    colonies: dict[str, str]
    rows: Rows


def shares(book: Book, copies: Mapping[str, str]) -> Shares:
    """Tell the rows of a club's book by their members.

    Args:
        book: the club's book, settled.
        copies: by token of each copy handed out before, the member's code. Rows of such a copy that name no known
            colony are its member's too, so that a slip can be mended where it was made.

    Returns:
        the shares; a row of nobody is in none.
    """
    members, apiaries = book.tables["Members"].typed, book.tables["Apiaries"].typed
    colonies = book.tables["Colonies"].typed
    spelt = {_key(code): str(code) for code in members["member"].dropna()}
    places = {
        _key(apiary): spelt[_key(member)]
        for apiary, member in zip(apiaries["apiary"], apiaries["member"], strict=True)
        if apiary and _key(member) in spelt
    }
    hives = {
        _key(colony): places[_key(apiary)]
        for colony, apiary in zip(colonies["colony"], colonies["apiary"], strict=True)
        if colony and _key(apiary) in places
    }
    rows = {
        sheet.name: _by_member(spelt, book.tables[sheet.name].typed["member"], book.tables[sheet.name])
        for sheet in BOOK.sheets
        if sheet.whose == "member"
    }
    for name in SHEETS:
        table = book.tables[name]
        owners = {"colony": hives, "apiary": places}[table.sheet.whose]
        rows[name] = _by_member(owners, table.typed[table.sheet.whose], table, copies)
    named = dict(zip(members["member"], members["name"], strict=True))
    return Shares({code: str(named[code] or "") for code in spelt.values()}, places, hives, rows)


def _key(code: object) -> str:
    return str(code).casefold() if code else ""


def _by_member(
    owners: Mapping[str, str], column: pd.Series[str], table: Table, copies: Mapping[str, str] | None = None
) -> dict[str, list[int]]:
    found: dict[str, list[int]] = defaultdict(list)
    blank = table.is_blank.to_numpy()
    refs = table.raw["ref"] if copies and "ref" in table.raw else [None] * len(column)
    for row, code, is_blank, ref in zip(table.raw.index.tolist(), column, blank, refs, strict=True):
        owner = owners.get(_key(code)) or (copies or {}).get(str(ref).rpartition("-")[0])
        if owner and not is_blank:
            found[owner].append(row)
    return found
