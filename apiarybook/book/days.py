"""Days as people write them, and which day of the winter a text means."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING

from apiarybook.handbook.figures import MONTHS
from apiarybook.reckon.core.winter import day_of

if TYPE_CHECKING:
    from collections.abc import Mapping

_ISO = re.compile(r"(\d{4})([-/])(\d\d)\2(\d\d)(?:[T ]\d\d:\d\d.*)?")
_PARTS = re.compile(r"(\d{1,4})\s*[./\- ]\s*(\d{1,2})\s*[./\- ]\s*(\d{2}|\d{4})\.?")
_NAMED = re.compile(r"(?:(\d{1,2})[.\s-]*)?([^\W\d_]{3,9})[.,\s-]*(?:(\d{1,2})[,.\s]+)?(\d{4})")
_SERIALS = (40_000, 60_000)
"""Day numbers of the spreadsheet calendar that are likely to be days: July 2009 to April 2064."""

_CENTURY = 2000
_ORDINAL = re.compile(r"(?<=\d)(?:st|nd|rd|th)\b", re.IGNORECASE)
_NO_YEAR = re.compile(r"(\d{1,2})\s*[./-]\s*(\d{1,2})\.?")
_FIGURES = re.compile(r"\d+")


def iso_day(text: str) -> date | None:
    """Read an ISO 8601 day, with or without a time after it; also with slashes, as Gnumeric writes it into csv files.

    >>> iso_day("2026-09-05"), iso_day("2026/09/05 07:30"), iso_day("2026-02-30"), iso_day("5/9/2026")
    (datetime.date(2026, 9, 5), datetime.date(2026, 9, 5), None, None)
    """
    found = _ISO.fullmatch(text)
    return _day(int(found[1]), int(found[3]), int(found[4])) if found else None


def readings(text: str) -> list[date]:
    """Give every day that a text can mean, the reading day before month first.

    >>> [day.isoformat() for day in readings("05/09/2026")], readings("25.9.2026"), readings("31/02/2026")
    (['2026-09-05', '2026-05-09'], [datetime.date(2026, 9, 25)], [])
    """
    found = _PARTS.fullmatch(text)
    days = _of_parts(*found.groups()) if found else _of_named(text)
    return list(dict.fromkeys(day for day in days if day))


def serial_day(number: float) -> date | None:
    """Read a number that is a day without its date format: a day number of the spreadsheet calendar, or yyyymmdd.

    >>> serial_day(46270.0), serial_day(20260905.0), serial_day(12.5)
    (datetime.date(2026, 9, 5), datetime.date(2026, 9, 5), None)
    """
    if _SERIALS[0] <= number <= _SERIALS[1]:
        return day_of(number)
    text = f"{number:.0f}"
    return _day(int(text[:4]), int(text[4:6]), int(text[6:])) if re.fullmatch(r"20\d{6}", text) else None


def _of_parts(first: str, second: str, third: str) -> list[date | None]:
    one, two, three = int(first), int(second), int(third)
    if len(first) > 2:  # noqa: PLR2004 a day or month has two digits
        return [_day(one, two, three)]
    year = three if three > 99 else _CENTURY + three  # noqa: PLR2004 a year of two digits
    return [_day(year, two, one), _day(year, one, two)]


def _of_named(text: str) -> list[date | None]:
    found = _NAMED.fullmatch(text)
    month = found[2].casefold()[:3] if found else ""
    if not found or month not in MONTHS or bool(found[1]) == bool(found[3]):
        return []
    return [_day(int(found[4]), MONTHS.index(month) + 1, int(found[1] or found[3]))]


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def within(text: str, first: date, last: date) -> list[date]:
    """Every day of a stretch that a text can mean, the reading day before month first; without a year any fits.

    Args:
        text: as typed.
        first: first day of the stretch.
        last: its last day, less than a year later.

    >>> winter = date(2026, 7, 1), date(2027, 6, 30)
    >>> [within(text, *winter)[0].isoformat() for text in ("15.10.", "16th September", "3 Sept", "05/09/2026", "46270")]
    ['2026-10-15', '2026-09-16', '2026-09-03', '2026-09-05', '2026-09-05']
    """
    plain = " ".join(_ORDINAL.sub("", text).replace(" of ", " ").split())
    days = [*readings(plain), iso_day(plain), serial_day(float(plain)) if plain.isdecimal() else None]
    if not any(days):
        days = [day for year in (first.year, last.year) for day in _of_year(plain, year)]
    return list(dict.fromkeys(day for day in days if day and first <= day <= last))


def _of_year(plain: str, year: int) -> list[date]:
    """Every day of a year that a text without one can mean."""
    found = _NO_YEAR.fullmatch(plain)
    return readings(f"{found[1]}/{found[2]}/{year}" if found else f"{plain.rstrip('.,')} {year}")


def settle(texts: Mapping[int, str], first: date, last: date, *, month_first: bool) -> dict[int, date]:
    """Read the dates of one column that were typed as text, as far as each means one day of the winter.

    Between two readings the order decides that the column's other dates tell or, where they tell of none, the region's.
    Where they tell of both, no text that could be of either is read: so the answer stays the same when it is asked
    again of what was left.

    Args:
        texts: as typed, by row.
        first: first day of the winter.
        last: its last day.
        month_first: whether the region writes the month before the day.

    Returns:
        days by row.

    >>> winter = date(2026, 7, 1), date(2027, 6, 30)
    >>> {at: str(day) for at, day in settle({7: "10/11", 8: "10/25"}, *winter, month_first=False).items()}
    {7: '2026-10-11', 8: '2026-10-25'}
    >>> settle({7: "10/11", 8: "25/11", 9: "11/25"}, *winter, month_first=True)
    {}
    """
    days = {at: within(text, first, last) for at, text in texts.items()}
    shown = {at: _is_month_first(texts[at], found[0]) for at, found in days.items() if len(found) == 1}
    orders = set(shown.values()) - {None}
    if len(orders) > 1:
        return {at: days[at][0] for at, order in shown.items() if order is None}
    at_end = -1 if (orders or {month_first}) == {True} else 0
    return {at: found[at_end] for at, found in days.items() if found}


def _is_month_first(text: str, day: date) -> bool | None:
    """Whether a text that means one day puts the month first; None where that cannot be told."""
    figures = [int(one) for one in _FIGURES.findall(text)[:2]]
    if day.day == day.month or sorted(figures) != sorted((day.day, day.month)):
        return None
    return figures[0] == day.month
