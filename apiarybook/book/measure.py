"""The book's own units of mass and volume against kilograms and litres, and columns at that edge."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Context

from apiarybook.layout.model import Column, Kind
from apiarybook.layout.words import WAYS
from apiarybook.reckon.feeding.feeds import UNITS, VOLUMES


@dataclass(frozen=True, slots=True)
class Measure:
    """One book's units: their names, and how many kilograms and litres one of them is."""

    mass: str
    kg: float
    volume: str
    litres: float

    def factor(self, kind: Kind, unit: str) -> float:
        """What a figure in SI is multiplied by to stand in this book.

        >>> measure("kg").factor(Kind.MASS, "kg"), round(measure("lb").factor(Kind.MASS, "kg"), 4)
        (1.0, 2.2046)
        """
        per = {"kg": 1 / self.kg, "l": 1 / self.litres, "kg/l": self.litres / self.kg, "kg/dm2": 1 / self.kg}
        per |= {"kg/month": 1 / self.kg, "l/d": 1 / self.litres}
        if kind is Kind.MASS:
            return per["kg"]
        if kind is Kind.VOLUME:
            return per["l"]
        return per.get(unit, 1.0)

    def shown(self, kind: Kind, unit: str) -> str:
        """The unit as this book names it."""
        names = {"kg": self.mass, "l": self.volume, "kg/l": f"{self.mass}/{self.volume}"}
        names |= {"kg/dm2": f"{self.mass}/dm2", "kg/month": f"{self.mass}/month", "l/d": f"{self.volume}/d"}
        return names.get("kg" if kind is Kind.MASS else "l" if kind is Kind.VOLUME else unit, unit)

    def heading(self, column: Column) -> str:
        """The heading of a column in this book, its unit behind it where the book has units of its own.

        >>> from apiarybook.layout import BOOK
        >>> measure("lb").heading(BOOK["Weighings"]["reading_1"])
        'reading 1 (lb)'
        """
        if column.kind not in {Kind.MASS, Kind.VOLUME} and not (column.kind is Kind.TEXT and column.unit):
            return column.heading
        return f"{column.heading} ({self.shown(column.kind, column.unit)})"


_MEASURES = {mass: Measure(mass, UNITS[mass].factor, volume, UNITS[volume].factor) for mass, volume in VOLUMES.items()}


def measure(unit: str) -> Measure:
    """The units of a book that says kg or lb.

    Args:
        unit: kg or lb.

    Returns:
        its measure.

    Raises:
        KeyError: any other unit.

    >>> measure("lb").volume
    'US quart'
    """
    return _MEASURES[unit]


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
