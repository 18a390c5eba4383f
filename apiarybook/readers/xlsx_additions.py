"""What a reader of values does not see in an xlsx file: notes, column widths, drawings, and what formulas lean on."""

from __future__ import annotations

import re
from functools import cached_property
from typing import TYPE_CHECKING

from apiarybook.readers.limits import column_number
from apiarybook.readers.package import Package, parse_xml, unescape
from apiarybook.readers.scan import whole_rows
from apiarybook.readers.xlsx import linked_parts, worksheet_parts

if TYPE_CHECKING:
    from apiarybook.readers.records import Place

_CELL = re.compile(r"([A-Z]{1,3})([1-9]\d{0,6})")
_COLUMN = re.compile(rb"<(?:\w+:)?col\s([^<>]*)>")
_ATTRIBUTE = re.compile(rb'\b(min|max|width)="(\d{1,5}(?:\.\d+)?)"')
_ANCHOR = re.compile(rb"<(?:\w+:)?(?:twoCell|oneCell|absolute)Anchor[\s>]")
_FRAME = re.compile(rb"<(?:\w+:)?graphicFrame[\s>]")
_BLOCK = re.compile(rb'<c r="([A-Z]+)(\d+)"[^<>]*><f[^<>]* t="(?:array|dataTable)"')
_NAME = re.compile(rb'<(?:\w+:)?definedName\s[^<>]*?\bname="([^"]*)"')
_BUILT_IN = "_xlnm."
_DIGIT, _MARGIN = 7, 5
"""Pixels of a digit and of a cell's margin in the usual font; ECMA-376 part 1, 18.3.1.13."""


def pixels(characters: float) -> int:
    """Width on the screen of a column so many characters wide.

    >>> pixels(10)
    75
    """
    return int(characters * _DIGIT + 0.5) + _MARGIN


class Trimmings:
    """The trimmings of one file, by the names of its sheets.

    Raises:
        CannotRead: the file is damaged or out of bounds.
    """

    def __init__(self, file: str, data: bytes) -> None:
        self._package = Package(file, data)
        self._parts = worksheet_parts(self._package)
        self._seen: dict[str, tuple[bytes, frozenset[Place]]] = {}

    def notes(self, sheet: str) -> dict[Place, str]:
        """The notes on cells; of a conversation all that was said."""
        found: dict[Place, str] = {}
        kinds = (("comments", "comment", "t"), ("threadedComment", "threadedComment", "text"))
        for kind, element, inner in kinds:
            for part in self._linked(sheet, kind):
                found |= _notes(self._package, part, element, inner)
        return dict(sorted(found.items()))

    def widths(self, sheet: str, columns: int) -> dict[int, float]:
        """Widths in characters of those of the first columns that have a width of their own."""
        found: dict[int, float] = {}
        for one in _COLUMN.findall(self._look(sheet)[0]):
            said = {name: float(value) for name, value in _ATTRIBUTE.findall(one)}
            wide = round(said.get(b"width", 0) * _DIGIT) - _MARGIN
            if wide > 0:
                first, last = int(said.get(b"min", 1)), min(int(said.get(b"max", 0)), columns)
                found |= dict.fromkeys(range(first, last + 1), round(wide / _DIGIT, 2))
        return found

    def drawn(self, sheet: str) -> tuple[int, int]:
        """How many things are drawn on a sheet, and how many of them are charts."""
        parts = [self._package.read_xml(part) for part in self._linked(sheet, "drawing")]
        return sum(len(_ANCHOR.findall(part)) for part in parts), sum(len(_FRAME.findall(part)) for part in parts)

    def blocks(self, sheet: str) -> frozenset[Place]:
        """Cells whose formula fills several cells at once."""
        return self._look(sheet)[1]

    @cached_property
    def names(self) -> frozenset[str]:
        """Names that people gave to cells, in lower case."""
        found = _NAME.findall(self._package.read_xml("xl/workbook.xml"))
        named = (unescape(one.decode("utf-8", "replace")).casefold() for one in found)
        return frozenset(one for one in named if not one.startswith(_BUILT_IN))

    def _look(self, sheet: str) -> tuple[bytes, frozenset[Place]]:
        """What stands before the cells, and the blocks; each sheet is unpacked once."""
        if sheet not in self._seen:
            head, blocks = b"", list[tuple[bytes, bytes]]()
            for xml in whole_rows(self._package, self._parts.get(sheet, "")):
                head = head or xml.partition(b"sheetData")[0]
                blocks += _BLOCK.findall(xml) if b'"array"' in xml or b'"dataTable"' in xml else []
            places = frozenset((int(row), column_number(column.decode())) for column, row in blocks)
            self._seen[sheet] = (head, places)
        return self._seen[sheet]

    def _linked(self, sheet: str, kind: str) -> list[str]:
        part = self._parts.get(sheet)
        links = linked_parts(self._package, part) if part else []
        return [target for of, target in links if of == kind and target]


def _notes(package: Package, part: str, element: str, inner: str) -> dict[Place, str]:
    found: dict[Place, list[str]] = {}
    here: list[str] = []
    inside = False

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal here, inside
        cell = _CELL.fullmatch(attributes.get("ref", "")) if name == element else None
        if cell:
            here = found.setdefault((int(cell[2]), column_number(cell[1])), [])
            if here:
                here.append("\n")
        inside = name == inner

    def end(_: str) -> None:
        nonlocal inside
        inside = False

    def text(piece: str) -> None:
        if inside:
            here.append(piece)

    parse_xml(f"{package.file}: the notes", package.read_xml(part), start, end, text)
    return {place: "".join(pieces) for place, pieces in found.items()}
