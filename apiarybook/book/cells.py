"""One cell at a time: a value of its column's kind, or a fault that says why not. Nothing is guessed."""

import difflib
import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import partial

from apiarybook.book.units import local_bounds, written_unit
from apiarybook.handbook.figures import MONTHS
from apiarybook.layout import BOOK, Column, Kind
from apiarybook.layout.codes import CODE_PATTERN
from apiarybook.layout.words import YES_NO
from apiarybook.readers.canonical import Canonical, canonical, canonical_text
from apiarybook.reckon.feeding.feeds import UNITS

_CODE = re.compile(CODE_PATTERN)
_NUMBER = re.compile(r"[+-]?(?:\d{1,20}\.?\d{0,20}|\.\d{1,20})(?:[eE][+-]?\d{1,3})?")
_COMMA = re.compile(r"([+-]?)(\d+|\d{1,3}(?:[. ]\d{3})+),(\d+)")
_WITH_UNIT = re.compile(r"([+-]?(?:\d{1,20}(?:[.,]\d{0,20})?|[.,]\d{1,20}))\s*([^\d\s.,+-][^\d]{0,15})")
_THOUSANDS = 3
_UNIT_WORDS = {
    **{name.casefold(): name for name in ("kg", "g", "lb", "oz", "l")},
    **dict.fromkeys(("kgs", "kilo", "kilos", "kilogram", "kilograms", "kilogramme", "kilogrammes"), "kg"),
    **dict.fromkeys(("gram", "grams", "gramme", "grammes"), "g"),
    **dict.fromkeys(("lbs", "lb.", "lbs.", "pound", "pounds", "#"), "lb"),
    **dict.fromkeys(("ounce", "ounces", "oz."), "oz"),
    **dict.fromkeys(("ltr", "litre", "litres", "liter", "liters"), "l"),
    **dict.fromkeys(("qt", "qts", "quart", "quarts", "us quart", "us quarts"), "US quart"),
}
_SAME_WORDS = frozenset({"°c", "c", "degc", "deg c", "degrees", "degrees c", "frame", "frames", "box", "boxes", "mm"})
_PERCENT = frozenset({"%", "percent", "per cent"})
_NEAR = 0.6
"""Likeness of two words (difflib's ratio) from which the one is offered for the other."""

_DAY_SLIP = 2000
"""From this year on a day in a column of numbers is taken for a number with a point that became a day."""


_ISO = re.compile(r"(\d{4})([-/])(\d\d)\2(\d\d)(?:[T ]\d\d:\d\d.*)?")
_PARTS = re.compile(r"(\d{1,4})\s*[./\- ]\s*(\d{1,2})\s*[./\- ]\s*(\d{2}|\d{4})\.?")
_NAMED = re.compile(r"(?:(\d{1,2})[.\s-]*)?([^\W\d_]{3,9})[.,\s-]*(?:(\d{1,2})[,.\s]+)?(\d{4})")
_SERIALS = (40_000, 60_000)
"""Day numbers of the spreadsheet calendar that are likely to be days: July 2009 to April 2064."""

_DAY_NOUGHT = date(1899, 12, 30)
_CENTURY = 2000


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with one cell.

    Attributes:
        rule: name of the finding, such as decimal-comma.
        value: the value as typed.
        told: what the sentences about it need. Every fault has `suggestion` (text, never applied; empty if there is
            none). Besides: bounds faults have `low`, `high` (numbers in the book's unit), `unit` and `bounds` (text);
            ambiguous-date has `first` and `second` (ISO, day before month first); unknown-word has `choices` (text);
            too-long has `length` and `longest` (text); renamed-setting has `wanted`;
            unit-in-cell has `written` (the unit found) and `unit`; error-cell has `error`; formula-in-input has
            `formula`.
    """

    rule: str
    value: object
    told: dict[str, object]


Parsed = tuple[object | None, Fault | None]


def parse(column: Column, value: object, *, unit: str) -> Parsed:
    """Read one cell as its column wants it.

    Args:
        column: the column; its bounds are in SI.
        value: what the cell held.
        unit: the book's unit, kg or lb; numbers stay in the unit in which they were typed.

    Returns:
        A value (float, date or text; None for a blank) and a fault. A value out of possible bounds or of the wrong kind
        is None with its fault; an unlikely one is kept, with a fault.

    >>> reading = BOOK["Weighings"]["reading_1"]
    >>> parse(reading, 38.5, unit="kg")
    (38.5, None)
    >>> value, fault = parse(reading, "12,5", unit="kg")
    >>> value, fault.rule, fault.told["suggestion"]
    (None, 'decimal-comma', '12.5')
    >>> parse(reading, "=40-1.5", unit="kg")[1].rule
    'formula-in-input'
    >>> parse(BOOK["Weighings"]["how"], " One side", unit="kg")
    ('one side', None)
    """
    plain = canonical(value)
    if plain is None:
        return None, None
    if isinstance(plain, str) and plain.startswith("=") and column.kind is not Kind.TEXT:
        return _fault("formula-in-input", value, formula=plain)
    return _PARSERS[column.kind](column, plain, unit)


def parser(column: Column, unit: str) -> Callable[[object], Parsed]:
    """Give `parse` for many cells of one column; equal cells are read once.

    >>> parser(BOOK["Winter rounds"]["flying"], "kg")("YES")
    ('yes', None)
    """
    known: dict[tuple[type, object], Parsed] = {}
    read = partial(parse, column, unit=unit)

    def once(value: object) -> Parsed:
        found = known.get((type(value), value))
        if found is None:
            found = known[type(value), value] = read(value)
        return found

    return once


def counted(column: Column) -> Column:
    """A column of readings where it counts frames of food instead: no mass, and no more than a hive has frames.

    >>> counted(BOOK["Weighings"]["reading_1"]).possible
    (0.0, 80)
    """
    frames = BOOK["Hive types"]["frames"]
    return replace(
        frames, key=column.key, heading=column.heading, unit="frames", possible=_from_none(frames), likely=None
    )


def _from_none(column: Column) -> tuple[float, float] | None:
    return (0.0, column.possible[1]) if column.possible else None


def is_number_text(text: str) -> bool:
    """Whether a text is a plain number, as a csv file writes it.

    >>> [is_number_text(text) for text in ("38.5", "-4", "1e3", "38,5", "0x1", "nan")]
    [True, True, True, False, False, False]
    """
    return text.isascii() and _NUMBER.fullmatch(text) is not None and math.isfinite(float(text))


def _fault(rule: str, value: object, suggestion: str = "", **told: object) -> tuple[None, Fault]:
    return None, Fault(rule, value, {"suggestion": suggestion, **told})


def _number(column: Column, value: Canonical, unit: str) -> Parsed:
    if isinstance(value, float):
        return _bounded(column, value, unit)
    if isinstance(value, str):
        return _number_text(column, value, unit)
    if isinstance(value, date):
        return _fault("not-a-number", value, _behind_date(value))
    return _fault("not-a-number", value)


def _behind_date(day: date) -> str:
    """What was typed where a spreadsheet program made this year's 12 May of 12.5; an old day is a format gone wrong."""
    return f"{day.day}.{day.month}" if day.year >= _DAY_SLIP else ""


def _bounded(column: Column, value: float, unit: str) -> Parsed:
    for bounds, rule, kept in ((column.possible, "out-of-bounds", None), (column.likely, "unlikely", value)):
        low, high = local_bounds(column, bounds, unit) if bounds else (value, value)
        if not low <= value <= high:
            return kept, _out(column, (low, high), rule, value, unit)
    return value, None


def _out(column: Column, bounds: tuple[float, float], rule: str, value: float, unit: str) -> Fault:
    low, high = bounds
    name = written_unit(column, unit)
    name = "" if name in ("1", "count") else name
    text = f"{low:g} to {high:g} {name}".strip()
    return Fault(rule, value, {"suggestion": "", "low": low, "high": high, "unit": name, "bounds": text})


def _number_text(column: Column, text: str, unit: str) -> Parsed:
    if is_number_text(text):
        return _fault("not-a-number", text, text)
    comma = _comma(text)
    if comma:
        return _fault("decimal-comma", text, comma)
    found = _WITH_UNIT.fullmatch(text)
    if found:
        word = " ".join(found[2].casefold().split())
        number = float(found[1].replace(",", "."))
        mended = _without_unit(column, number, word, unit)
        if mended is not None:
            return _fault("unit-in-cell", text, mended, written=found[2].strip(), unit=_unit_name(column, unit))
    return _fault("not-a-number", text)


def _unit_name(column: Column, unit: str) -> str:
    return written_unit(column, unit) if column.kind in (Kind.MASS, Kind.VOLUME, Kind.HEFT) else "plain figures"


def _comma(text: str) -> str:
    found = _COMMA.fullmatch(text)
    if not found:
        return ""
    sign, whole, rest = found.groups()
    point = f"{sign}{whole.replace('.', '').replace(' ', '')}.{rest}"
    if len(rest) == _THOUSANDS and whole.isdigit() and len(whole) <= _THOUSANDS:
        return f"{point} or {sign}{whole}{rest}"
    return point


def _without_unit(column: Column, number: float, word: str, unit: str) -> str | None:
    """The number in the column's own unit, as text; None where the word is no unit of it."""
    known = _UNIT_WORDS.get(word)
    if column.kind in (Kind.MASS, Kind.VOLUME, Kind.HEFT):
        own = written_unit(column, unit)
        if known is None or UNITS[known].stands_for != UNITS[own].stands_for:
            return None
        number = number if known == own else number * UNITS[known].factor / UNITS[own].factor
        return f"{number:.4g}" if known != own else canonical_text(number)
    if word in _PERCENT:
        return canonical_text(number / 100) if column.kind is Kind.FRACTION else None
    return canonical_text(number) if known or word in _SAME_WORDS else None


def _date(_column: Column, value: Canonical, _unit: str) -> Parsed:
    if isinstance(value, datetime):
        return value.date(), None
    if isinstance(value, date):
        return value, None
    if isinstance(value, bool) or value is None:
        return _fault("impossible-date", value)
    if isinstance(value, float):
        return _serial(value, value)
    day = iso_day(value)
    return (day, None) if day else _date_text(value)


def _serial(typed: Canonical, number: float) -> Parsed:
    day = serial_day(number)
    return _fault("date-as-number", typed, day.isoformat()) if day else _fault("impossible-date", typed)


def _date_text(text: str) -> Parsed:
    if is_number_text(text):
        return _serial(text, float(text))
    days = readings(text)
    if not days:
        return _fault("impossible-date", text)
    if len(days) == 1:
        return _fault("date-as-text", text, days[0].isoformat())
    first, second = (day.isoformat() for day in days)
    return _fault("ambiguous-date", text, f"{first} or {second}", first=first, second=second)


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
    if not found or month not in MONTHS or bool(found[1]) == bool(found[3]):
        return []
    return [_day(int(found[4]), MONTHS.index(month) + 1, int(found[1] or found[3]))]


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _code(_column: Column, value: Canonical, _unit: str) -> Parsed:
    if isinstance(value, str) and _CODE.fullmatch(value):
        return value, None
    return _fault("bad-code", value)


def _word(column: Column, value: Canonical, _unit: str) -> Parsed:
    text = canonical_text(value)
    choices = YES_NO if column.kind is Kind.YES_NO else column.choices
    if column.kind is Kind.YES_NO and text.casefold() in ("true", "false"):
        return YES_NO[text.casefold() == "false"], None
    if not choices:
        return text, None
    words = {choice.casefold(): choice for choice in choices}
    plain = " ".join(text.casefold().split())
    if plain in words:
        return words[plain], None
    return _fault("unknown-word", value, _meant(plain, words), choices=", ".join(choices))


def _meant(plain: str, words: Mapping[str, str]) -> str:
    """The word that what was typed contains, else the one most like it, else none.

    >>> heft = {"light": "light", "about right": "about right", "heavy": "heavy"}
    >>> _meant("rather light", heft), _meant("hevy", heft), _meant("blue", heft)
    ('light', 'heavy', '')
    """
    contained = [word for word in words if re.search(rf"\b{re.escape(word)}\b", plain)]
    near = contained if len(contained) == 1 else difflib.get_close_matches(plain, words, n=1, cutoff=_NEAR)
    return words[near[0]] if near else ""


def _text(_column: Column, value: Canonical, _unit: str) -> Parsed:
    return canonical_text(value), None


def _heft(column: Column, value: Canonical, unit: str) -> Parsed:
    if not isinstance(value, str):
        return _number(column, value, unit)
    word, unknown = _word(column, value, unit)
    if word is not None:
        return word, None
    as_number, fault = _number_text(column, value, unit)
    if fault and fault.rule == "not-a-number" and not fault.told["suggestion"]:
        return None, unknown
    return as_number, fault


_PARSERS: dict[Kind, Callable[[Column, Canonical, str], Parsed]] = {
    Kind.CODE: _code,
    Kind.TEXT: _text,
    Kind.DATE: _date,
    Kind.MASS: _number,
    Kind.VOLUME: _number,
    Kind.COUNT: _number,
    Kind.FRACTION: _number,
    Kind.NUMBER: _number,
    Kind.CHOICE: _word,
    Kind.YES_NO: _word,
    Kind.HEFT: _heft,
}
