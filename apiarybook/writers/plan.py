"""Which sheets a book has, in which order, with how many rows, and where everything therefore stands."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from apiarybook.handbook import handbook
from apiarybook.layout import BOOK, SETTINGS, InCopy
from apiarybook.layout.formulas.parts import TODAY as TODAY_FORMULA
from apiarybook.layout.formulas.parts import any_moved, moved
from apiarybook.layout.parts import AS_WRITTEN
from apiarybook.readers.limits import column_letters
from apiarybook.writers.places import Area, Places, RowsOf, quoted

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from apiarybook.layout.model import Column, Group, Sheet, View

UNIT_FIGURE = "kg_in_unit"
PACE_DAY = "pace_after_day"
"""The day from which the pace is slower, apart from the figure of the same name that says how much."""
TODAY = "as_at"
"""The day for which the book reckons: the setting of that name where it is typed, else the day on which one looks."""
ROWS_KNOWN = tuple(sheet.name for sheet in BOOK.sheets if AS_WRITTEN.key in sheet.by_key)
"""Sheets of whose rows a run writes where they stand and which colony they are of."""
OWN_FIGURES = {
    TODAY: (TODAY_FORMULA, "the setting of that name; blank means today"),
    **{moved(name): (any_moved(name), "0 while the rows are where the last run left them") for name in ROWS_KNOWN},
}
"""What the book works out once and names in many formulas: the formula, and what it rests on."""
TYPED_TODAY, PIN_PLACE = "typed_as_at", (1, 3)
"""What is typed as that setting; row and column, from 0, of the cell of Standing that shows it, to be typed over."""
LEAST_ROWS = 2
"""Rows that a sheet has a place for at least: not every program takes a range of one cell for a range."""


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

    def places(self, rows_of: RowsOf | None = None) -> Places:
        """Where every column, figure and setting stands, and the rows of each colony."""
        areas: dict[str, Area] = {}
        for planned in self.sheets:
            shown = {(sheet, column.key): number for number, (sheet, column) in enumerate(planned.columns, 1)}
            shared = {key: number for (_, key), number in reversed(shown.items())}
            for name in dict.fromkeys(sheet for sheet, _ in planned.columns):
                own = {key: number for (sheet, key), number in shown.items() if sheet == name}
                # a view shows the code of a row once; the other sheet's formulas find it there
                columns = {key: shared[key] for key in BOOK[name].by_key if key in shared} | own
                areas[name] = Area(planned.name, columns, planned.first_row, planned.last_row)
        return Places(areas, _figures(areas), rows_of or {})


def figure_names() -> tuple[str, ...]:
    """The figures of the model in the order in which the sheet Figures lists them.

    >>> "reserve_floor" in figure_names()
    True
    """
    book = handbook()
    days = [PACE_DAY if name in book.model else name for name in book.days]
    return (*book.model, *days, UNIT_FIGURE)


def _figures(areas: Mapping[str, Area]) -> dict[str, str]:
    def named(sheet: str, names: Iterable[str]) -> dict[str, str]:
        area = areas[sheet]
        return {name: area.cell("value", row) for row, name in enumerate(names, area.first)}

    of_settings = named("Settings", (setting.key for setting in SETTINGS))
    cells = of_settings | named("Figures", (*figure_names(), *OWN_FIGURES))
    row, column = PIN_PLACE
    cells["pin"] = f"{quoted(areas['Standing'].sheet)}!${column_letters(column + 1)}${row + 1}"
    cells[TYPED_TODAY] = of_settings[TODAY]
    return cells


def club_plan(rows: Mapping[str, int], month: int) -> Plan:
    """Plan a club's book: every sheet of the layout, of which those are in view that have a purpose in this month.

    Args:
        rows: how many rows each sheet needs; a sheet that is not named gets its spare rows, at least two.
        month: counted from January of the year in which the winter begins.

    Returns:
        the plan.
    """
    counts = {sheet.name: rows.get(sheet.aligned or sheet.name, 0) for sheet in BOOK.sheets}
    return Plan(
        tuple(_sheet(sheet.name, counts, hidden=not in_view(sheet, month, counts[sheet.name])) for sheet in BOOK.sheets)
    )


def in_view(sheet: Sheet, month: int, rows: int) -> bool:
    """Whether a club's book shows a sheet in a month.

    >>> in_view(BOOK["After winter"], 9, 40), in_view(BOOK["After winter"], 15, 40)
    (False, True)
    """
    has_purpose = not sheet.months or month in sheet.months
    return not sheet.behind and has_purpose and (rows > 0 or not sheet.hidden_when_empty)


def member_plan(rows: Mapping[str, int], month: int) -> Plan:  # noqa: ARG001 a copy is used all winter as it was cut
    """Plan a member copy: what a member types and reads in view, what that needs behind it.

    Args:
        rows: how many rows each sheet needs.
        month: the same for all copies, which nobody rebuilds as the winter goes on.

    Returns:
        the plan.
    """
    held = {how: [sheet.name for sheet in BOOK.sheets if sheet.in_copy is how] for how in InCopy}
    shown = [_sheet(name, rows, hidden=False) for name in held[InCopy.IN_VIEW]]
    behind = [_sheet(name, rows, hidden=True) for name in held[InCopy.BEHIND]]
    sheets = (*(_view(view, rows) for view in BOOK.views), *shown, *behind)
    return Plan(tuple(replace(one, columns=_for_members(one.columns)) for one in sheets))


def _for_members(columns: tuple[tuple[str, Column], ...]) -> tuple[tuple[str, Column], ...]:
    return tuple((name, column) for name, column in columns if not column.club_only)


def _sheet(name: str, rows: Mapping[str, int], *, hidden: bool) -> Planned:
    sheet = BOOK[name]
    columns = tuple((name, column) for column in sheet.shown)
    least = max(rows.get(name, 0), LEAST_ROWS)
    return Planned(name, columns, sheet.heading_row, least, sheet.group, hidden, sheet.says, sheet.how_to)


def _view(view: View, rows: Mapping[str, int]) -> Planned:
    """The rows of a view are those of its first sheet; its heading stands as low as that of any."""
    first = view.parts[0][0]
    return Planned(
        name=view.name,
        columns=tuple((name, BOOK[name][key]) for name, keys in view.parts for key in keys),
        heading_row=max(BOOK[name].heading_row for name, _ in view.parts),
        rows=max(rows.get(first, 0), LEAST_ROWS),
        group=BOOK[first].group,
        says=view.says,
        how_to=view.how_to,
    )
