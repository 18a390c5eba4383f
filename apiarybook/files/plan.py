"""Which sheets a book has, in which order, with how many rows, and where everything therefore stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from apiarybook.files.limits import column_letters
from apiarybook.files.places import Area, Places, quoted
from apiarybook.handbook import handbook
from apiarybook.layout import BOOK, SETTINGS

if TYPE_CHECKING:
    from collections.abc import Mapping

    from apiarybook.layout.model import Column, Group

ALIGNED = {"Standing": "Colonies", "Feed order": "Apiaries"}
"""Sheets whose rows go with the rows of another, one by one."""
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

    @property
    def first_row(self) -> int:
        """Number of the first row under the heading."""
        return self.heading_row + 1

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
            for name in dict.fromkeys(sheet for sheet, _ in planned.columns):
                columns = {c.key: i for i, (sheet, c) in enumerate(planned.columns, 1) if sheet == name}
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
    planned = []
    for sheet in BOOK.sheets:
        count = rows.get(ALIGNED.get(sheet.name, sheet.name), 0)
        planned.append(
            Planned(
                name=sheet.name,
                columns=tuple((sheet.name, column) for column in sheet.columns),
                heading_row=sheet.heading_row,
                rows=max(count, 1),
                group=sheet.group,
                hidden=sheet.hidden_when_empty and count == 0,
            )
        )
    return Plan(tuple(planned))
