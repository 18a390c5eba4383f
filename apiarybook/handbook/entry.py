"""Reading single figures out of a TOML table, with errors that name their place."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from apiarybook.errors import HandbookError
from apiarybook.handbook.figures import KINDS, MONTHS, SIGNED_UNITS, UNITS, Figure, MonthDay, Months

if TYPE_CHECKING:
    from collections.abc import Iterable

_FIGURE_KEYS = ("value", "unit", "low", "high", "source", "kind")
_MONTHS_KEYS = (*MONTHS, "unit", "low", "high", "source", "kind", "exceptions")


@dataclass(frozen=True, slots=True)
class Entry:
    """One TOML table and where it stands.

    >>> strap = {"mass": {"value": 0.4, "unit": "kg", "low": 0.2, "high": 1.0, "kind": "from memory"}}
    >>> Entry("extras.toml", ("Strap",), strap).figure("mass", "kg")
    Traceback (most recent call last):
    apiarybook.errors.HandbookError: Handbook file extras.toml, Strap mass: source is missing; add source.
    """

    file: str
    path: tuple[str, ...]
    table: dict[str, object]

    def wrong(self, what: str, do: str) -> HandbookError:
        """Error that says where, what is wrong and what to do."""
        place = " ".join(f'"{part}"' if " " in part else part for part in self.path)
        return HandbookError(f"Handbook file {self.file}, {place or 'top level'}: {what}; {do}.")

    def only(self, keys: Iterable[str]) -> None:
        """Refuse keys that nobody reads, since they are slips of the pen."""
        known = tuple(keys)
        for key in self.table:
            if key not in known:
                raise self.wrong(f"the key {key!r} is not known", f"use one of {', '.join(known)}")

    def entry(self, key: str) -> Entry:
        """Table under a key."""
        inner = self._get(key)
        if not isinstance(inner, dict):
            raise self.wrong(f"{key} is {inner!r} where a table of figures is expected", f"write {key} = {{ ... }}")
        return Entry(self.file, (*self.path, key), inner)

    def text(self, key: str, allowed: Iterable[str] | None = None) -> str:
        """Text under a key, never empty."""
        got = self._get(key)
        if not isinstance(got, str) or not got.strip():
            raise self.wrong(f"{key} is {got!r} where text is expected", f'write {key} = "..."')
        choices = None if allowed is None else tuple(allowed)
        if choices is not None and got not in choices:
            raise self.wrong(f"{key} {got!r} is not known", f"use one of {', '.join(choices)}")
        return got

    def texts(self, key: str, allowed: Iterable[str]) -> tuple[str, ...]:
        """List of texts under a key, each one of `allowed`, at least one."""
        got, choices = self._get(key), tuple(allowed)
        if not isinstance(got, list) or not got:
            raise self.wrong(f"{key} is {got!r} where a list is expected", f'write {key} = ["...", ...]')
        for item in got:
            if item not in choices:
                raise self.wrong(f"{key} holds {item!r}, which is not known", f"use {', '.join(choices)}")
        return tuple(got)

    def flag(self, key: str) -> bool:
        """Yes or no under a key."""
        got = self._get(key)
        if not isinstance(got, bool):
            raise self.wrong(f"{key} is {got!r} where yes or no is expected", f"write {key} = true or false")
        return got

    def number(self, key: str) -> float:
        """Finite number under a key."""
        return self._finite(self._get(key), key)

    def numbers(self, key: str) -> tuple[float, ...]:
        """List of numbers under a key."""
        got = self._get(key)
        if not isinstance(got, list):
            raise self.wrong(f"{key} is {got!r} where a list of numbers is expected", f"write {key} = [ ... ]")
        return tuple(self._finite(item, key) for item in got)

    def figure(self, key: str, unit: str | None = None) -> Figure:
        """Figure under a key, in that unit where one is named.

        Raises:
            HandbookError: value, unit, range, source or kind is missing or out of order.
        """
        inner = self.entry(key)
        inner.only(_FIGURE_KEYS)
        source, kind = inner.origin()
        value, low, high = inner.number("value"), inner.number("low"), inner.number("high")
        if not low <= value <= high:
            raise inner.wrong(
                f"the value {value:g} is outside its range {low:g} to {high:g}", "put low <= value <= high"
            )
        unit_there = inner.unit(unit)
        if low < 0.0 and unit_there not in SIGNED_UNITS:
            raise inner.wrong(f"the low end {low:g} {unit_there} is below nothing", "give a low end of 0 or more")
        return Figure(value, unit_there, low, high, source, kind)

    def months(self, key: str, unit: str) -> Months:
        """Twelve figures under a key; a month that is not there is an error."""
        inner = self.entry(key)
        inner.only(_MONTHS_KEYS)
        source, kind = inner.origin()
        sources, kinds = [source] * len(MONTHS), [kind] * len(MONTHS)
        for exception in inner.exceptions():
            exception.only(("months", "source", "kind"))
            source_there, kind_there = exception.origin()
            for month in exception.texts("months", MONTHS):
                sources[MONTHS.index(month)], kinds[MONTHS.index(month)] = source_there, kind_there
        low, high = inner.number("low"), inner.number("high")
        if not 0.0 <= low <= 1.0 <= high:
            raise inner.wrong(f"the factors {low:g} and {high:g} do not enclose 1", "put low <= 1 <= high")
        values = tuple(inner.month(month) for month in MONTHS)
        return Months(values, inner.unit(unit), source, kind, low, high, tuple(sources), tuple(kinds))

    def month(self, name: str) -> float:
        """Value of a month, never negative."""
        value = self.number(name)
        if value < 0.0:
            raise self.wrong(f"{name} is {value:g}", "give a figure of 0 or more")
        return value

    def exceptions(self) -> list[Entry]:
        """Months whose figures come from elsewhere than the rest."""
        got = self.table.get("exceptions", [])
        if not isinstance(got, list) or not all(isinstance(item, dict) for item in got):
            raise self.wrong("exceptions is not a list of tables", "write exceptions = [{ months = [...], ... }]")
        return [Entry(self.file, (*self.path, "exceptions"), item) for item in got]

    def month_day(self, key: str) -> MonthDay:
        """Day of the year under a key."""
        inner = self.entry(key)
        inner.only(("month", "day", "source", "kind"))
        source, kind = inner.origin()
        month, day = inner.number("month"), inner.number("day")
        try:
            date(2001, int(month), int(day))  # a common year, so that the day exists in every year
        except ValueError as error:
            raise inner.wrong(f"month {month:g}, day {day:g} is not a day of every year", "give a real day") from error
        return MonthDay(int(month), int(day), source, kind)

    def origin(self) -> tuple[str, str]:
        """Source and kind, which every figure must have."""
        return self.text("source"), self.text("kind", KINDS)

    def unit(self, expected: str | None) -> str:
        """Unit, which must be the expected one."""
        unit = self.text("unit", UNITS)
        if expected is not None and unit != expected:
            raise self.wrong(
                f"the unit {unit!r} is not {expected!r}", f'convert the figure and write unit = "{expected}"'
            )
        return unit

    def _get(self, key: str) -> object:
        if key not in self.table:
            raise self.wrong(f"{key} is missing", f"add {key}")
        return self.table[key]

    def _finite(self, got: object, key: str) -> float:
        if isinstance(got, bool) or not isinstance(got, int | float) or not math.isfinite(got):
            raise self.wrong(f"{key} is {got!r} where a number is expected", "give a finite number")
        return float(got)
