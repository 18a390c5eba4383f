"""One cell at a time: a value of its column's kind, or a fault that says why not. Nothing is guessed."""

import difflib
import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime

from apiarybook.book.days import iso_day, readings, serial_day
from apiarybook.book.measure import local_bounds, written_unit
from apiarybook.layout import BOOK, Column, Kind
from apiarybook.layout.words import CODE_PATTERN, MARK_PATTERN, YES_NO
from apiarybook.readers.canonical import Canonical, canonical, canonical_text
from apiarybook.reckon.feeding.feeds import UNITS

_CODE, _MARK = re.compile(CODE_PATTERN), re.compile(MARK_PATTERN)
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


def _code(column: Column, value: Canonical, _unit: str) -> Parsed:
    if isinstance(value, str) and (_MARK if column.key == "ref" else _CODE).fullmatch(value):
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
