"""What a book holds before it is laid out: typed rows, settings, what was reckoned, and what people added."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from apiarybook.reckon.core.winter import year_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    import pandas as pd

    from apiarybook.reckon.season import Season


@dataclass(frozen=True, slots=True)
class Formula:
    """A formula that a person typed, beginning with =, and what it showed last; text that looks like one is text."""

    text: str
    result: object


@dataclass(frozen=True, slots=True, kw_only=True)
class Added:
    """Cells that people added to a sheet of the book: a column that the layout does not know, by row."""

    heading: str
    values: dict[int, object]

    @property
    def key(self) -> str:
        """What stands for it among the keys of the sheet's columns; no key of the layout has brackets.

        >>> Added(heading="queen", values={}).key
        '[queen]'
        """
        return f"[{self.heading}]"


@dataclass(frozen=True, slots=True, kw_only=True)
class Foreign:
    """A sheet that somebody added to the book: cells and notes by row and column, widths by column, from 1."""

    name: str
    cells: dict[tuple[int, int], object]
    hidden: bool = False
    notes: dict[tuple[int, int], str] = field(default_factory=dict)
    widths: dict[int, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """What people added to a book and a rebuild must keep.

    All by sheet: added columns; notes, and formulas typed where a value belongs, by row and column key; widths of
    columns that are not the layout's, in characters, by column key; and, by the setting's key, what was typed for a
    setting and cannot be used; and, by row and column key, letters and ground of typed cells, as the writing library
    takes them. Rows are those of the rebuilt book.
    """

    columns: dict[str, tuple[Added, ...]] = field(default_factory=dict)
    sheets: tuple[Foreign, ...] = ()
    notes: dict[str, dict[tuple[int, str], str]] = field(default_factory=dict)
    formulas: dict[str, dict[tuple[int, str], Formula]] = field(default_factory=dict)
    widths: dict[str, dict[str, float]] = field(default_factory=dict)
    settings: dict[str, object] = field(default_factory=dict)
    looks: dict[str, dict[tuple[int, str], dict[str, Any]]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Content:
    """Everything that stands in a book.

    `typed` has a frame of raw values a sheet, columns the layout's keys, row after row as they stand; `told` likewise
    for the sheets that the package fills; `season` is what was reckoned, in kg and litres; masses in `typed` are in the
    book's own unit. By sheet and row `held` says why a row is not used, `asked` what is asked about one that is, and
    `beyond` by how many kg a row that somebody found right lies outside its bounds. `accepted` gives the rows that were
    not held, by sheet, for the gate before anything is written.
    """

    settings: dict[str, object]
    typed: dict[str, pd.DataFrame]
    told: dict[str, pd.DataFrame]
    season: Season
    held: dict[str, dict[int, str]]
    about: dict[str, str]
    as_at: date
    kept: Kept = field(default_factory=Kept)
    asked: dict[str, dict[int, str]] = field(default_factory=dict)
    beyond: dict[str, dict[int, float]] = field(default_factory=dict)
    accepted: Callable[[], dict[str, pd.DataFrame]] = field(default=dict, repr=False, compare=False)

    @property
    def unit(self) -> str:
        """The unit of every mass in this book."""
        return str(self.settings["unit"])

    @property
    def winter(self) -> int:
        """The year in which the winter begins."""
        return year_of(self.settings)

    @property
    def month(self) -> int:
        """The month of its day, counted from January of the year in which the winter begins, from July to the next."""
        return min(24, max(7, 12 * (self.as_at.year - self.winter) + self.as_at.month))

    @property
    def member(self) -> str:
        """The code of the member whose copy this is; empty for a club's book."""
        return self.about.get("member", "")
