"""Days as people write them: read where only one day can be meant, named where not."""

import re
from datetime import date, timedelta

_ISO = re.compile(r"(\d{4})([-/])(\d\d)\2(\d\d)(?:[T ]\d\d:\d\d.*)?")
_PARTS = re.compile(r"(\d{1,4})\s*[./\- ]\s*(\d{1,2})\s*[./\- ]\s*(\d{2}|\d{4})\.?")
_NAMED = re.compile(r"(?:(\d{1,2})[.\s-]*)?([^\W\d_]{3,9})[.,\s-]*(?:(\d{1,2})[,.\s]+)?(\d{4})")
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_SERIALS = (40_000, 60_000)
"""Day numbers of the spreadsheet calendar that are likely to be days: July 2009 to April 2064."""

_DAY_NOUGHT = date(1899, 12, 30)
_CENTURY = 2000


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
        return _DAY_NOUGHT + timedelta(days=int(number))
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
    if not found or month not in _MONTHS or bool(found[1]) == bool(found[3]):
        return []
    return [_day(int(found[4]), _MONTHS.index(month) + 1, int(found[1] or found[3]))]


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None
