"""What the rules look at: the sheets as frames in SI, and what was reckoned from them."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from apiarybook.book.measure import written_unit
from apiarybook.checks.finding import Hit
from apiarybook.layout import BOOK, Column, Kind
from apiarybook.reckon.core.arrays import Floats, numbers, words
from apiarybook.reckon.core.winter import serial, serials
from apiarybook.reckon.feeding.feeds import UNITS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
    from datetime import date

    from apiarybook.reckon.core.winter import Winter
    from apiarybook.reckon.season import Known, Season

Mask = NDArray[np.bool_]
_Found = TypeVar("_Found")
FEEDER = BOOK["Colonies"]["feeder_holds"]


def _by_row(sheet: str, row: int, key: str) -> str:
    return f"{key} in row {row} of {sheet}"


@dataclass(frozen=True)
class Seen:
    """One book as the rules see it.

    Attributes:
        frames: sheets by name, masses in kg and volumes in litres, one row a row of the sheet, index its label.
        as_at: the day for which the book reckons.
        winter: the winter laid out by day.
        reckoned: what was reckoned from the frames; its rows stand in the same order.
        unit: unit of the masses in the book, kg or lb.
        unread: places (sheet, row, key) whose value could not be read.
        absent: columns (sheet, key) that the file lacks altogether.
        place: names a cell for a person, from sheet, row and key.
        settings: the club's settings as read.
        copies: code of the member of each copy that was handed out; empty in a book from which none were.
        beyond: by place (sheet, row, key) what was typed of masses that nothing weighs [kg].
    """

    frames: Mapping[str, pd.DataFrame]
    as_at: date
    winter: Winter
    reckoned: Season
    unit: str = "kg"
    unread: frozenset[tuple[str, int, str]] = frozenset()
    absent: frozenset[tuple[str, str]] = frozenset()
    place: Callable[[str, int, str], str] = _by_row
    settings: Mapping[str, object] = field(default_factory=dict)
    copies: Mapping[str, str] = field(default_factory=dict)
    beyond: Mapping[tuple[str, int, str], float] = field(default_factory=dict)
    _found: dict[object, Sequence[Any]] = field(default_factory=dict, init=False, repr=False, compare=False)

    def once(self, find: Callable[[Seen], Iterable[_Found]]) -> Sequence[_Found]:
        """What a function finds in the book; it looks once, however many ask.

        Args:
            find: the function.
        """
        if find not in self._found:
            self._found[find] = list(find(self))
        return self._found[find]

    def __getitem__(self, sheet: str) -> pd.DataFrame:
        """The frame of a sheet; without rows where the file does not hold it."""
        return self.frames[sheet] if sheet in self.frames else _without_rows(sheet)

    @property
    def known(self) -> Known:
        """What is known of colonies, weighings and feeds before anybody is told what to do."""
        return self.reckoned.known

    @property
    def with_rows(self) -> list[str]:
        """Names of the sheets that hold any rows."""
        return [name for name, rows in self.frames.items() if len(rows)]

    @property
    def today(self) -> float:
        """Number of the as-at day."""
        return serial(self.as_at)

    def filled(self, sheet: str) -> Mask:
        """Which rows of a sheet hold anything that a person typed, read or not."""
        rows = self[sheet]
        filled = rows[[column.key for column in BOOK[sheet].content]].notna().to_numpy().any(axis=1)
        unread = {row for name, row, _ in self.unread if name == sheet}
        return np.asarray(filled | rows.index.isin(list(unread)))

    def number(self, kilograms: float) -> float:
        """A mass as a number in the book's unit."""
        return kilograms / UNITS[self.unit].factor

    def mass(self, kilograms: float) -> str:
        """A mass in words in the book's unit.

        >>> from apiarybook.reckon.core.winter import winter
        >>> from datetime import date
        >>> Seen({}, date(2026, 9, 1), winter(2026), None, unit="lb").mass(45.359237)
        '100 lb'
        """
        return f"{round(self.number(kilograms), 1) + 0.0:g} {self.unit}"

    def volume(self, litres: float) -> str:
        """A volume in words in the unit in which the book writes volumes.

        >>> from apiarybook.reckon.core.winter import winter
        >>> from datetime import date
        >>> Seen({}, date(2026, 9, 1), winter(2026), None).volume(4.5)
        '4.5 l'
        """
        name = written_unit(FEEDER, self.unit)
        return f"{round(litres / UNITS[name].factor, 1):g} {name}"


@cache
def _without_rows(sheet: str) -> pd.DataFrame:
    return pd.DataFrame({column.key: pd.Series([], dtype=_dtype(column)) for column in BOOK[sheet].columns})


def _dtype(column: Column) -> str:
    if column.numeric:
        return "float64"
    return "datetime64[s]" if column.kind is Kind.DATE else "object"


def days(column: pd.Series) -> Floats:
    """Days of a column as numbers, whether it holds dates or numbers already; NaN for blanks.

    >>> days(pd.Series(pd.to_datetime(["2026-10-17", None]))).tolist()
    [46312.0, nan]
    """
    if pd.api.types.is_datetime64_any_dtype(column):
        return serials(column.to_numpy().astype("datetime64[D]"))
    return numbers(column)


def flag(
    rule: str,
    sheet: str,
    rows: pd.DataFrame,
    where: Mask,
    key: str,
    told: Callable[[int], dict[str, object]] | None = None,
) -> Iterator[Hit]:
    """Hits of a rule on the rows of a sheet for which it holds.

    Args:
        rule: name of the rule.
        sheet: name of the sheet.
        rows: its frame.
        where: for which rows it holds, shape (rows,).
        key: key of the column it speaks of.
        told: gives what the sentence needs for the row at a position; `suggestion` goes into the hit itself.
    """
    for position in np.flatnonzero(where).tolist():
        said = dict(told(position)) if told else {}
        suggestion = str(said.pop("suggestion", ""))
        yield Hit(rule, sheet, label(rows, position), key, said, suggestion)


def label(rows: pd.DataFrame, position: int) -> int:
    """Label of the row at a position."""
    return int(rows.index.to_numpy()[position])


def blank(column: pd.Series) -> Mask:
    """Which cells of a column of words are blank."""
    return np.asarray(words(column) == "")
