"""Whether a book that was just written lies within the bounds of reading, told without taking its cells apart."""

from __future__ import annotations

import re
from collections import Counter

from apiarybook.readers.limits import LIMITS, Limits, column_number
from apiarybook.readers.package import Package
from apiarybook.readers.scan import bytes_in_memory, whole_rows
from apiarybook.readers.xlsx import STRINGS, worksheet_parts

_AREA = re.compile(rb'<dimension ref="[A-Z]+[0-9]+(?::([A-Z]{1,3})([0-9]{1,7}))?"')
_NAMED = re.compile(rb' t="s"><v>(\d{1,9})<')


def is_within(file: str, data: bytes, limits: Limits = LIMITS) -> bool:
    """Whether a book as this package writes it can surely be read again, by the size of its sheets and texts.

    Args:
        file: the file's name.
        data: its bytes.
        limits: the bounds of reading.

    Returns:
        False where only reading it can tell.

    Raises:
        CannotRead: it has too many parts, or unpacks to too much.

    >>> from datetime import date
    >>> from apiarybook.club.reckoned import new_book
    >>> from apiarybook.writers.workbook import write_book
    >>> data = write_book(new_book("Alder Vale", 2026, "british-isles", "kg", date(2026, 9, 1), "k1").content)
    >>> is_within("club.xlsx", data), is_within("club.xlsx", data, Limits(cells=10_000))
    (True, False)
    """
    package, named = Package(file, data, limits), Counter[bytes]()
    cells = [_cells(package, part, named) for part in worksheet_parts(package).values()]
    takes = bytes_in_memory(package.read_xml(STRINGS))
    taken = sum(takes[int(one)] * times for one, times in named.items())
    return len(data) <= limits.packed and sum(cells) <= limits.cells and taken <= limits.text


def _cells(package: Package, part: str, named: Counter[bytes]) -> int:
    """Cells in a sheet's area, more than are read where it may be out of other bounds; notes the texts it names."""
    limits, size, area = package.limits, 0, None
    for piece in whole_rows(package, part):
        area = area or _AREA.search(piece)
        size += len(piece)
        named.update(_NAMED.findall(piece))
    rows = int(area[2] or 1) if area else 0
    is_small = 0 < rows <= limits.rows and size <= limits.part
    return rows * column_number((area[1] or b"A").decode()) if area and is_small else limits.cells + 1
