"""What a report may show of few keepers: nothing that is told, and nothing that follows from what is told."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations
from typing import TYPE_CHECKING

from apiarybook.reckon.year.year import LEAST_KEEPERS, keepers

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import pandas as pd

    from apiarybook.club.year_tables import Table

NOT_SUMS = ("group", "want", "suggested", "says")
"""Columns that tell of a hive type, not of colonies."""
Group = tuple[int, int]
"""A table and a row of it, counted from 0."""
WHOLE = -1
"""Instead of a row: the colonies of which a table's shares are told."""


def suppressed(tables: Sequence[Table], found: pd.DataFrame) -> list[Table]:
    """Hide sums until no two that are shown, in whatever tables, tell by their difference of fewer than five keepers.

    A sum is taken from another, and all the groups of a table from a sum that holds them: a total goes where the groups
    that are not shown hold too few keepers.

    Args:
        tables: the tables of a report, with the colonies of each row; sums of few keepers are hidden already.
        found: the colonies, of whom the keepers are told.

    Source: the subtraction of published totals is known as differencing (Eurostat and ESSnet, Handbook on Statistical
    Disclosure Control, chapter 4, from memory).
    """
    shown = {
        (at, row): colonies
        for at, table in enumerate(tables)
        for row, (colonies, few) in enumerate(zip(table.colonies, table.rows["few"], strict=False))
        if colonies and not few
    }
    shown |= {(at, WHOLE): table.of for at, table in enumerate(tables) if table.of and not table.rows["few"].all()}
    hidden: set[Group] = set()
    while (following := next(_told(shown, found), None)) is not None:
        hidden.add(following)
        shown = {group: one for group, one in shown.items() if group != following and not _is_of(group, following)}
    return [_without(table, {row for at, row in hidden if at == number}) for number, table in enumerate(tables)]


def _is_of(group: Group, hidden: Group) -> bool:
    """Whether a sum goes with what its share would tell of."""
    return hidden[1] == WHOLE and group[0] == hidden[0]


def _told(shown: dict[Group, frozenset[int]], found: pd.DataFrame) -> Iterator[Group]:
    """The sums to hide, since few keepers follow from them."""
    for (_, large), (small, part) in permutations(shown.items(), 2):
        if part < large and _is_few(large - part, found):
            yield small
    for whole, large in shown.items():
        for table in sorted({at for at, _ in shown}):
            parts = [part for (at, row), part in shown.items() if at == table and row != WHOLE and part < large]
            if parts and _is_few(large.difference(*parts), found):
                yield whole


def _is_few(colonies: frozenset[int], found: pd.DataFrame) -> bool:
    return bool(colonies) and keepers(found.loc[sorted(colonies)]) < LEAST_KEEPERS


def _without(table: Table, hidden: set[int]) -> Table:
    if not hidden:
        return table
    rows = table.rows.copy()
    at = rows.index if WHOLE in hidden else rows.index[sorted(hidden)]
    for heading in table.columns:
        if heading.key not in NOT_SUMS:
            rows.loc[at, heading.key] = None
    rows.loc[at, "few"] = True
    return replace(table, rows=rows)
