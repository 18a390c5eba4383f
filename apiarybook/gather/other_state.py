"""Another state of the club's own book: what it holds beside the rows that are gathered, named one by one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from apiarybook.book.fingerprint import SETTING_OF_RUNS
from apiarybook.layout import BOOK, SETTINGS
from apiarybook.readers.canonical import canonical_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from apiarybook.book.table import Table
    from apiarybook.book.tables import Book


def not_gathered(state: Book, club: Book) -> Iterator[str]:
    """Say what a state holds of settings, lists, own columns and own sheets that the club's book does not.

    Args:
        state: the other state, such as a sync program leaves beside the book.
        club: the club's book.

    Returns:
        a sentence each, with its place in the state.
    """
    for setting in SETTINGS:
        here, there = (canonical_text(book.settings.get(setting.key)) for book in (club, state))
        if here != there and setting.key != SETTING_OF_RUNS:
            yield _sentence(state, "Settings", f"{setting.heading} is {there or 'blank'}, not {here or 'blank'}", club)
    for sheet in BOOK.sheets:
        table, ours = state.tables.get(sheet.name), club.tables.get(sheet.name)
        if table is None or ours is None or sheet.name == "Settings":
            continue
        if sheet.is_list and not sheet.mark:
            known = set(_rows(ours).values())
            new = ((row, told) for row, told in _rows(table).items() if told and told not in known)
            yield from (_sentence(state, f"{sheet.name}, row {row}", told, club) for row, told in new)
        own = dict(_own(ours))
        new_own = ((where, told) for where, told in _own(table) if own.get(where) != told)
        yield from (_sentence(state, f"{sheet.name}, {where}", told, club) for where, told in new_own)
    for name, foreign in state.foreign.items():
        if name not in club.foreign or club.foreign[name].rows != foreign.rows:
            yield _sentence(state, name, f"an own sheet of {len(foreign.rows)} rows", club)


def _sentence(state: Book, where: str, told: str, club: Book) -> str:
    return f"{state.name}, sheet {where}: {told}; this was not taken over, so type it into {club.name} if it holds."


def _rows(table: Table) -> dict[int, str]:
    """The typed rows of a list in words."""
    keys = [column.key for column in table.sheet.typed if column.key in table.raw]
    rows = table.raw[keys].to_dict("index")
    return {int(str(row)): ", ".join(filter(None, map(canonical_text, one.values()))) for row, one in rows.items()}


def _own(table: Table) -> Iterator[tuple[str, str]]:
    """What stands under headings of people's own: the heading, and all that stands there in words."""
    for heading in table.unknown:
        told = "; ".join(filter(None, map(canonical_text, table.unknown[heading].tolist())))
        if told:
            yield f"column {heading}", told
