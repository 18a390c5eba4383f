"""The book's own unit of mass and volume against kilograms and litres."""

from __future__ import annotations

from dataclasses import dataclass

from apiarybook.layout.model import Column, Kind
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
