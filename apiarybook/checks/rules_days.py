"""Rules on the days that rows are dated, against the winter that the book is for."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from apiarybook.checks.context import days, flag
from apiarybook.checks.rule import HOLD, NOTE, rule
from apiarybook.layout import BOOK
from apiarybook.reckon.core.winter import day_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from apiarybook.checks.context import Mask, Seen
    from apiarybook.checks.finding import Hit
    from apiarybook.reckon.core.arrays import Floats

OF_THE_WINTER = tuple(sheet.name for sheet in BOOK.sheets if sheet.of_winter)
"""Sheets whose rows belong to one winter."""


def sheets_of_the_winter(seen: Seen) -> list[str]:
    """Those of them that hold rows."""
    return [name for name in OF_THE_WINTER if name in seen.with_rows]


def outside(seen: Seen, day: Floats) -> Mask:
    """Which days lie outside the winter's calendar."""
    return np.asarray((day < seen.winter.first) | (day > seen.winter.last))


MONTH = 31.0


def _a_year_ahead(seen: Seen, day: Floats) -> Mask:
    """Days of the summer after the winter that are still to come: the same day a year before was meant."""
    with np.errstate(invalid="ignore"):
        return np.asarray((day > seen.today + MONTH) & (day - DAYS_OF_A_YEAR >= seen.winter.first))


DAYS_OF_A_YEAR = 365.0


def meant(seen: Seen, wrong: date) -> date | None:
    """The same day and month in the newest year that lies in the winter and is not later than the as-at day."""
    for year in (seen.winter.year + 1, seen.winter.year):
        if (wrong.month, wrong.day) == (2, 29):
            return None
        day = wrong.replace(year=year)
        if day_of(seen.winter.first) <= day <= min(day_of(seen.winter.last), seen.as_at):
            return day
    return None


def _told(seen: Seen) -> dict[str, object]:
    year = seen.winter.year
    ends = {"first": day_of(seen.winter.first).isoformat(), "last": day_of(seen.winter.last).isoformat()}
    return {"winter": f"{year}/{(year + 1) % 100:02}", **ends}


@rule(
    "wrong-year",
    HOLD,
    "{value} lies outside winter {winter}, which is taken from {first} to {last}; it may mean {suggestion}.",
    "Correct the year if that is what was meant.",
)
@rule(
    "out-of-season",
    HOLD,
    "{value} lies outside winter {winter}, which is taken from {first} to {last}.",
    "Correct the date, or clear the row if it belongs to another year's book.",
)
def dates_of_the_winter(seen: Seen) -> Iterator[Hit]:
    """Days outside the winter, with the right year where only the year can be wrong."""
    for sheet in sheets_of_the_winter(seen):
        rows, day = seen[sheet], days(seen[sheet]["date"])
        away = outside(seen, day) | _a_year_ahead(seen, day)
        better = {int(at): meant(seen, day_of(day[at])) for at in np.flatnonzero(away)}
        slipped = np.array([better.get(at) is not None for at in range(len(rows))], dtype=np.bool_)

        def told(at: int, better: dict[int, date | None] = better) -> dict[str, object]:
            return {**_told(seen), "suggestion": f"{better[at] or ''}"}

        yield from flag("wrong-year", sheet, rows, slipped, "date", told)
        yield from flag("out-of-season", sheet, rows, away & ~slipped, "date", lambda _: _told(seen))


@rule(
    "later-than-as-at",
    NOTE,
    "{value} is later than the day this book reckons for, {as_at}, so the row does not count yet.",
    "Nothing, if the date is right; otherwise correct it.",
)
def later_than_as_at(seen: Seen) -> Iterator[Hit]:
    """Days after the one that the book reckons for."""
    for sheet in sheets_of_the_winter(seen):
        day = days(seen[sheet]["date"])
        later = (day > seen.today) & ~outside(seen, day) & ~_a_year_ahead(seen, day)
        yield from flag(
            "later-than-as-at", sheet, seen[sheet], later, "date", lambda _: {"as_at": seen.as_at.isoformat()}
        )
