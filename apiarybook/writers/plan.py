"""Which sheets a book has, in which order, with how many rows, and where everything therefore stands."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from apiarybook.handbook import handbook
from apiarybook.layout import BOOK, SETTINGS, InCopy
from apiarybook.readers.limits import column_letters
from apiarybook.writers.places import Area, Places, quoted

if TYPE_CHECKING:
    from collections.abc import Mapping

    from apiarybook.layout.model import Column, Group, View

UNIT_FIGURE = "kg_in_unit"
PACE_DAY = "pace_after_day"
"""The day from which the pace is slower, apart from the figure of the same name that says how much."""


@dataclass(frozen=True, slots=True)
class Planned:
    """One sheet of a book: its name there, the columns it shows (layout sheet and column), its rows."""

    name: str
    columns: tuple[tuple[str, Column], ...]
    heading_row: int
    rows: int
    group: Group
    hidden: bool = False
    says: str = ""
    how_to: str = ""

    @property
    def first_row(self) -> int:
        """Number of the first row under the heading."""
        return self.heading_row + 1

    @property
    def frozen(self) -> int:
        """How many of its columns stay in view."""
        first = self.columns[0][0]
        stays = BOOK[first].stays
        return next((at for at, (name, one) in enumerate(self.columns, 1) if (name, one.key) == (first, stays)), 0)

    @property
    def last_row(self) -> int:
        """Number of the last row that has a place."""
        return self.heading_row + self.rows


@dataclass(frozen=True, slots=True)
class Plan:
    """All sheets of a book, in order."""

    sheets: tuple[Planned, ...]

    def places(self) -> Places:
        """Where every column, figure and setting stands."""
        areas: dict[str, Area] = {}
        for planned in self.sheets:
            shown = {(sheet, column.key): number for number, (sheet, column) in enumerate(planned.columns, 1)}
            shared = {key: number for (_, key), number in reversed(shown.items())}
            for name in dict.fromkeys(sheet for sheet, _ in planned.columns):
                own = {key: number for (sheet, key), number in shown.items() if sheet == name}
                # a view shows the code of a row once; the other sheet's formulas find it there
                columns = {key: shared[key] for key in BOOK[name].by_key if key in shared} | own
                areas[name] = Area(planned.name, columns, planned.first_row, planned.last_row)
        return Places(areas, _figures(areas))


def figure_names() -> tuple[str, ...]:
    """The figures of the model in the order in which the sheet Figures lists them.

    >>> "reserve_floor" in figure_names()
    True
    """
    book = handbook()
    days = [PACE_DAY if name in book.model else name for name in book.days]
    return (*book.model, *days, UNIT_FIGURE)


def _figures(areas: Mapping[str, Area]) -> dict[str, str]:
    cells: dict[str, str] = {}
    named = (("Figures", figure_names()), ("Settings", tuple(setting.key for setting in SETTINGS)))
    for sheet, names in named:
        area = areas[sheet]
        column = column_letters(area.columns["value"])
        for row, name in enumerate(names, area.first):
            cells[name] = f"{quoted(area.sheet)}!${column}${row}"
    return cells


def club_plan(rows: Mapping[str, int]) -> Plan:
    """Plan a club's book: every sheet of the layout.

    Args:
        rows: how many rows each sheet needs; a sheet that is not named gets its spare rows, at least one.

    Returns:
        the plan.
    """
    counts = {sheet.name: rows.get(sheet.aligned or sheet.name, 0) for sheet in BOOK.sheets}
    empty = {sheet.name: sheet.hidden_when_empty and counts[sheet.name] == 0 for sheet in BOOK.sheets}
    return Plan(tuple(_sheet(sheet.name, counts, hidden=empty[sheet.name]) for sheet in BOOK.sheets))


def member_plan(rows: Mapping[str, int]) -> Plan:
    """Plan a member copy: what a member types and reads in view, what that needs behind it.

    Args:
        rows: how many rows each sheet needs.

    Returns:
        the plan.
    """
    held = {how: [sheet.name for sheet in BOOK.sheets if sheet.in_copy is how] for how in InCopy}
    in_view = [_sheet(name, rows, hidden=False) for name in held[InCopy.IN_VIEW]]
    behind = [_sheet(name, rows, hidden=True) for name in held[InCopy.BEHIND]]
    sheets = (*(_view(view, rows) for view in BOOK.views), *in_view, *behind)
    return Plan(tuple(replace(one, columns=_for_members(one.columns)) for one in sheets))


def _for_members(columns: tuple[tuple[str, Column], ...]) -> tuple[tuple[str, Column], ...]:
    return tuple((name, column) for name, column in columns if not column.club_only)


def _sheet(name: str, rows: Mapping[str, int], *, hidden: bool) -> Planned:
    sheet = BOOK[name]
    columns = tuple((name, column) for column in sheet.columns)
    return Planned(
        name, columns, sheet.heading_row, max(rows.get(name, 0), 1), sheet.group, hidden, sheet.says, sheet.how_to
    )


def _view(view: View, rows: Mapping[str, int]) -> Planned:
    """The rows of a view are those of its first sheet; its heading stands as low as that of any."""
    first = view.parts[0][0]
    return Planned(
        name=view.name,
        columns=tuple((name, BOOK[name][key]) for name, keys in view.parts for key in keys),
        heading_row=max(BOOK[name].heading_row for name, _ in view.parts),
        rows=max(rows.get(first, 0), 1),
        group=BOOK[first].group,
        says=view.says,
        how_to=view.how_to,
    )
