"""The one form of a value in which values are compared, hashed and written, whichever program saved the file."""

import math
import re
import unicodedata
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta

SIGNIFICANT_DIGITS = 12
"""Significant digits kept of a number; spreadsheet programs keep 15 and differ in the last ones."""

_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]+")
"""Controls, line ends, and what turns the order of letters round so that a name shows as another one."""
_MICROSECONDS = 1_000_000
FIRST_DAY = date(1900, 3, 1)
"""Programs disagree on the days before it, since some count a 29 February 1900 (ISO/IEC 29500-1, 18.17.4)."""
_LAST_SECOND = datetime(9999, 12, 31, 23, 59, 59)  # noqa: DTZ001 cells know no zones

Canonical = None | str | float | bool | date


def canonical(value: object) -> Canonical:
    r"""Bring a cell's value to its canonical form; doing so twice changes nothing.

    Numbers keep 12 significant digits. Text is in Unicode normal form C, any run of control, tab or line-end
    characters, or of marks that turn the order of letters round, is one blank, and the ends are stripped; text that is
    then empty is None. A date and time is rounded to whole seconds, and one at midnight is a date. A time or a duration
    is text (hours:minutes:seconds), since no column holds one, and so is a day before March 1900, which programs number
    differently. A number that is not finite is text, so that it can never pass for a figure.

    Args:
        value: what a spreadsheet cell held: None, text, number, bool, date, datetime, time or timedelta.

    Raises:
        TypeError: the value is of no kind that a cell can hold.

    >>> canonical(47.300000000000004), canonical(" top\tbox\r\n"), canonical("  "), canonical(True)
    (47.3, 'top box', None, True)
    >>> canonical(datetime(2026, 9, 12)), canonical(timedelta(hours=30, minutes=15))
    (datetime.date(2026, 9, 12), '30:15:00')
    """
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, (int, float)):
        return _number(value)
    if isinstance(value, date):
        return _day(value)
    if isinstance(value, time):
        return value.replace(tzinfo=None, microsecond=0).isoformat()
    if isinstance(value, timedelta):
        return _duration(value)
    raise TypeError(f"a cell cannot hold a value of kind {type(value).__name__}; give text, a number, a date or None")


def canonical_text(value: object) -> str:
    """Give the canonical form of a value as text: the same for a number and for that number written in a csv file.

    Blank is an empty text, dates are ISO 8601, true and false are TRUE and FALSE. Within a column of one kind, two
    values share a text only if they are the same value.

    Raises:
        TypeError: the value is of no kind that a cell can hold.

    >>> [canonical_text(value) for value in (None, 47.0, 47.25, "0012", False, date(2026, 9, 12))]
    ['', '47', '47.25', '0012', 'FALSE', '2026-09-12']
    """
    form = canonical(value)
    if form is None:
        return ""
    if isinstance(form, str):
        return form
    if isinstance(form, bool):
        return "TRUE" if form else "FALSE"
    if isinstance(form, float):
        return f"{form:.{SIGNIFICANT_DIGITS}g}"
    return form.isoformat()


def plain_words(value: object) -> str:
    """A value as it is compared with words: without case and needless blanks.

    >>> plain_words("  As it  stands "), plain_words(None)
    ('as it stands', '')
    """
    return " ".join(canonical_text(value).casefold().split())


def first_few(names: Sequence[str], most: int, sign: str = ", ") -> str:
    """Names as a sentence tells them: the first of them, and how many more there are.

    >>> first_few(["A", "B", "C", "D"], 2), first_few(["A", "B"], 2)
    ('A, B and 2 more', 'A, B')
    """
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return sign.join(names[:most]) + more


def _text(text: str) -> str | None:
    if text.isascii() and text.isprintable():
        return text.strip() or None
    return _CONTROL.sub(" ", unicodedata.normalize("NFC", text)).strip() or None


def _number(number: float) -> float | str:
    try:
        rounded = float(f"{float(number):.{SIGNIFICANT_DIGITS}g}")
    except OverflowError:
        return str(number)
    if not math.isfinite(rounded):
        return str(rounded)
    return rounded + 0.0  # minus nought becomes nought


def _day(day: date) -> date | str:
    if not isinstance(day, datetime):
        return day if day >= FIRST_DAY else day.isoformat()
    whole = day.replace(tzinfo=None, microsecond=0)
    if 2 * day.microsecond >= _MICROSECONDS and whole < _LAST_SECOND:
        whole += timedelta(seconds=1)
    if whole.time() == time():
        return _day(whole.date())
    return whole if whole.date() >= FIRST_DAY else whole.isoformat()


def _duration(duration: timedelta) -> str:
    seconds = round(duration.total_seconds())
    minutes, second = divmod(abs(seconds), 60)
    hours, minute = divmod(minutes, 60)
    return f"{'-' if seconds < 0 else ''}{hours}:{minute:02}:{second:02}"
