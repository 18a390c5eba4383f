"""Blank books, one a region, ready to type into; `python -m apiarybook.guide.blank_books FOLDER` renews them."""

from __future__ import annotations

import sys
from pathlib import Path

WINTER = 2026
FIRST_SHOWN = (WINTER, 8, 1)
"""The day whose answers a blank book holds until a program reckons it; it is pinned to none."""
UNITS = {"north-america-north": "lb", "north-america-south": "lb"}
"""Regions that do not weigh in kilograms."""


def template_name(region: str) -> str:
    """The file name of a region's blank book.

    >>> template_name("scandinavia")
    'winter stores 2026 scandinavia.xlsx'
    """
    return f"winter stores {WINTER} {region}.xlsx"


def template(region: str) -> bytes:
    """A region's blank book, without a club's name and without an id of its own.

    Args:
        region: one of the handbook's regions.

    Returns:
        the bytes of an xlsx file, the same every time.
    """
    from apiarybook.book.settings import Today
    from apiarybook.club.reckoned import new_book
    from apiarybook.writers.workbook import write_book

    return write_book(new_book("", WINTER, region, UNITS.get(region, "kg"), Today(*FIRST_SHOWN)).content)


def write_templates(folder: Path) -> tuple[Path, ...]:
    """Write the blank books of all regions; those that stand there already are renewed.

    Args:
        folder: where; made if it is not there.

    Returns:
        their paths.
    """
    from apiarybook.handbook import REGIONS

    folder.mkdir(parents=True, exist_ok=True)
    paths = tuple(folder / template_name(region) for region in REGIONS)
    for region, path in zip(REGIONS, paths, strict=True):
        path.write_bytes(template(region))
    return paths


if __name__ == "__main__":
    write_templates(Path(sys.argv[1]))
