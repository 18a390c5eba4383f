"""The book's own units at its edge, and its tables brought to SI."""

from apiarybook.book.measure import measure
from apiarybook.layout import Column, Kind
from apiarybook.layout.words import WAYS

FRAMES_COUNTED = WAYS[4]
"""The way to weigh whose readings are counts of frames and no masses."""

COUNTED_READINGS = ("reading_1", "reading_2")


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
