"""The days on which an outlook is told: the first and the sixteenth of each month from autumn to the latest flow."""

FIRST, LAST = (9, 16), (5, 16)
"""From the middle of September to the middle of May: every winter profile's flow has begun by then."""
BEGINS = 7
"""Months before it belong to the year after the one in which the winter begins."""


def _days() -> tuple[tuple[int, int], ...]:
    months = [*range(BEGINS, 13), *range(1, BEGINS)]
    every = [(month, day) for month in months for day in (1, 16)]
    return tuple(every[every.index(FIRST) : every.index(LAST) + 1])


HALF_MONTHS = _days()
"""Month and day of each, in the order of the winter."""


def half_month(what: str, month: int, day: int) -> str:
    """The key under which a figure of that day stands.

    >>> half_month("median", *HALF_MONTHS[0])
    'median_0916'
    """
    return f"{what}_{month:02d}{day:02d}"
