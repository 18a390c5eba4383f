"""The book's own units at its edge, and its tables brought to SI."""

from decimal import ROUND_CEILING, ROUND_FLOOR, Context

from apiarybook.book.measure import measure
from apiarybook.layout import Column, Kind
from apiarybook.layout.words import WAYS

FRAMES_COUNTED = WAYS[4]
"""The way to weigh whose readings are counts of frames and no masses."""

COUNTED_READINGS = ("reading_1", "reading_2")
_DIGITS = 2
"""Of a round figure."""


def written_unit(column: Column, unit: str) -> str:
    """The unit in which a book writes a column.

    Args:
        column: the column.
        unit: the book's unit, kg or lb.

    >>> from apiarybook.layout import BOOK
    >>> written_unit(BOOK["Weighings"]["reading_1"], "lb"), written_unit(BOOK["Colonies"]["feeder_holds"], "lb")
    ('lb', 'US quart')
    """
    kind = Kind.MASS if column.kind is Kind.HEFT else column.kind
    return measure(unit).shown(kind, column.unit)


def local_bounds(column: Column, bounds: tuple[float, float], unit: str) -> tuple[float, float]:
    """The bounds of a column in a book's own unit; where they are converted, the nearest round figures inside them.

    Args:
        column: the column.
        bounds: its possible or likely bounds in SI.
        unit: the book's unit, kg or lb.

    >>> from apiarybook.layout import BOOK
    >>> [local_bounds(BOOK["Weighings"]["reading_1"], (2.0, 60.0), unit) for unit in ("kg", "lb")]
    [(2.0, 60.0), (4.5, 130.0)]
    """
    per = to_si(column, unit)
    if per == 1:
        return bounds
    low, high = (
        float(Context(_DIGITS, rounding).create_decimal_from_float(bound / per))
        for bound, rounding in zip(bounds, (ROUND_CEILING, ROUND_FLOOR), strict=True)
    )
    return low, high


def to_si(column: Column, unit: str) -> float:
    """How many kilograms or litres one unit of a column stands for; 1 where nothing is converted.

    Args:
        column: the column.
        unit: the book's unit, kg or lb.

    >>> from apiarybook.layout import BOOK
    >>> to_si(BOOK["Weighings"]["reading_1"], "lb"), to_si(BOOK["Weighings"]["reading_1"], "kg")
    (0.45359237, 1.0)
    """
    own = measure(unit)
    return {Kind.MASS: own.kg, Kind.HEFT: own.kg, Kind.VOLUME: own.litres}.get(column.kind, 1.0)
