"""Where every column of the layout stands in one particular book, and formulas compiled to that book's cells."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias

from apiarybook.errors import LayoutError
from apiarybook.readers.limits import column_letters as letters

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

OF_A_ROW = {"@": "aligned", "~": "known"}
"""Marks of cells that depend on the row in which the formula stands."""
_NAME = r"[A-Za-z][A-Za-z ]*"
_TOKEN = re.compile(rf"\[(?:(?P<sheet>{_NAME})\.)?(?P<key>\w+)(?P<mark>[@^*~+]?)\]|\{{(?P<figure>\w+)\}}|(?P<row>#)")


RowsOf: TypeAlias = "Mapping[str, Mapping[int, Sequence[int]]]"
"""By sheet and number of a colony the rows that are of this colony."""


@dataclass(frozen=True, slots=True)
class Area:
    """One sheet's place: its name in this book, the number of each column, its first and last row of data."""

    sheet: str
    columns: dict[str, int]
    first: int
    last: int

    def cell(self, key: str, row: int) -> str:
        """The absolute place of a cell of a column, with the sheet's name."""
        return f"{quoted(self.sheet)}!${letters(self.columns[key])}${row}"

    def cells(self, key: str, first: int, last: int) -> str:
        """The absolute range of some rows of a column, with the sheet's name."""
        return f"{self.cell(key, first)}:${letters(self.columns[key])}${last}"


@dataclass(frozen=True, slots=True)
class Places:
    """The places of all sheets, and of each figure and setting that formulas name."""

    areas: dict[str, Area]
    figures: dict[str, str]
    rows_of: RowsOf = field(default_factory=dict, repr=False)
    """By sheet and number of a colony the rows that are of this colony."""
    _split: dict[str, list[str | tuple[str, str, str]]] = field(default_factory=dict, repr=False, compare=False)

    def whole(self, sheet: str, key: str) -> str:
        """The absolute range of a column, with the sheet's name."""
        area = self._area(sheet, key)
        return area.cells(key, area.first, area.last)

    def block(self, sheet: str, prefix: str) -> str:
        """The absolute range of all columns whose keys begin with a word."""
        area = self.areas[sheet]
        found = sorted(number for key, number in area.columns.items() if key.startswith(prefix + "_"))
        if not found or found[-1] - found[0] != len(found) - 1:
            raise LayoutError(f"the columns {prefix!r} of sheet {sheet!r} do not stand side by side")
        return f"{quoted(area.sheet)}!${letters(found[0])}${area.first}:${letters(found[-1])}${area.last}"

    def varies(self, template: str) -> bool:
        """Whether a template says something else in each row: it names the row's number, or the rows of its colony."""
        return "{row}" in template or ("~]" in template and any(self.rows_of.values()))

    def compile(self, template: str, sheet: str, row: int) -> str:
        """Fill a template for a row of a sheet, with the formula's leading ``=``.

        Args:
            template: text in the notation of `apiarybook.layout.formulas`.
            sheet: layout name of the sheet where the formula stands.
            row: number of the row, as a person counts.

        Returns:
            the formula in plain A1 notation.

        Raises:
            LayoutError: the template names a column, figure or setting that the book does not have.
        """
        parts = self._split.get(template + sheet)
        if parts is None:
            parts = self._split[template + sheet] = self._parse(template, sheet)
        here = self.areas[sheet]
        return "=" + "".join(part if isinstance(part, str) else self._cell(part, here, row) for part in parts)

    def _cell(self, part: tuple[str, str, str], here: Area, row: int) -> str:
        kind, sheet, column = part
        if kind == "own":
            return f"{column}{row}"
        if kind == "number":
            return f"(ROW()-{here.first - 1})"
        if kind == "written":
            return str(row)
        there, number = self.areas[sheet], row - here.first
        cell = f"{quoted(there.sheet)}!{column}"
        if kind == "known":
            return ",".join(f"{cell}{one}" for one in self.rows_of.get(sheet, {}).get(number + 1, ())) or "0"
        return f"{cell}{there.first + number}"

    def _parse(self, template: str, sheet: str) -> list[str | tuple[str, str, str]]:
        parts: list[str | tuple[str, str, str]] = []
        end = 0
        for found in _TOKEN.finditer(template):
            parts.append(template[end : found.start()])
            parts.append(self._token(found, sheet))
            end = found.end()
        parts.append(template[end:])
        return parts

    def _token(self, found: re.Match[str], here: str) -> str | tuple[str, str, str]:
        if found["figure"]:
            return ("written", "", "") if found["figure"] == "row" else self._figure(found["figure"], here)
        if found["row"]:
            return ("number", "", "")
        sheet, key, mark = found["sheet"], found["key"], found["mark"]
        if sheet is None:
            return ("own", here, letters(self._area(here, key).columns[key]))
        if mark in OF_A_ROW:
            return (OF_A_ROW[mark], sheet, letters(self._area(sheet, key).columns[key]))
        return self.block(sheet, key) if mark == "*" else self._of_column(sheet, key, mark)

    def _of_column(self, sheet: str, key: str, mark: str) -> str:
        area = self._area(sheet, key)
        if mark == "+":
            return str(sum(map(len, self.rows_of.get(sheet, {}).values())))
        return area.cell(key, area.first) if mark == "^" else self.whole(sheet, key)

    def _figure(self, name: str, here: str) -> str:
        if name not in self.figures:
            raise LayoutError(f"a formula of sheet {here!r} names the figure {name!r}, which no book has")
        return self.figures[name]

    def _area(self, sheet: str, key: str) -> Area:
        area = self.areas.get(sheet)
        if area is None or key not in area.columns:
            raise LayoutError(f"a formula names {sheet}.{key}, which no book has")
        return area


def quoted(sheet: str) -> str:
    """A sheet's name as a formula writes it.

    >>> quoted("Winter profiles"), quoted("Standing")
    ("'Winter profiles'", 'Standing')
    """
    return sheet if sheet.isalpha() else f"'{sheet}'"
