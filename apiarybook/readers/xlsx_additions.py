"""What a reader of values does not see in an xlsx file: notes, column widths, drawings, and what formulas lean on."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from functools import cached_property, partial
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from apiarybook.errors import CannotRead
from apiarybook.readers.limits import column_number
from apiarybook.readers.package import ANEW, Package, parse_xml, unescape
from apiarybook.readers.scan import whole_rows
from apiarybook.readers.xlsx import linked_parts, worksheet_parts

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from apiarybook.readers.records import Place

_CELL = re.compile(r"([A-Z]{1,3})([1-9]\d{0,6})")
_COLUMN = re.compile(rb"<(?:\w+:)?col\s([^<>]*)>")
_ATTRIBUTE = re.compile(rb'\b(min|max|width)="(\d{1,5}(?:\.\d+)?)"')
_ANCHOR = re.compile(rb"<(?:\w+:)?(?:twoCell|oneCell|absolute)Anchor[\s>]")
_FRAME = re.compile(rb"<(?:\w+:)?graphicFrame[\s>]")
_BLOCK = re.compile(rb'<c r="([A-Z]+)(\d+)"[^<>]*><f[^<>]* t="(?:array|dataTable)"')
_ROW = re.compile(rb'row(?<=[<:]row) r="(\d+)"([^<>]*(?:hidden|customHeight)="(?:1|true)"[^<>]*)>')
_VALIDATION = re.compile(r"<(?:\w+:)?dataValidation\s([^<>]*?)(?:/>|>(.*?)</(?:\w+:)?dataValidation>)", re.DOTALL)
_CONDITION = re.compile(r"<(?:\w+:)?cfRule\s([^<>]*?)(?:/>|>(.*?)</(?:\w+:)?cfRule>)", re.DOTALL)
_SAID = re.compile(r'([A-Za-z]+)="([^"]*)"')
_TRUE = ("1", "true")
_PAGE = {"orientation": "portrait", "paperSize": "1", "fitToWidth": "1", "fitToHeight": "1"}
"""How a sheet is printed, and what counts where the file does not say so; ECMA-376 part 1, 18.3.1.63."""
_STYLED = re.compile(rb'<(?:\w+:)?c r="([A-Z]{1,3})(\d{1,7})"[^<>]*? s="(\d{1,5})"')
_CELL_HEAD, _NAME_ENDS = 25, 13
"""Bytes of a cell's tag behind its name that hold where it stands and its style; where the place ends at the latest."""
_WHITE = "FFFFFF"
_PRINT_AREA = "_xlnm.Print_Area"
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


class _Look(NamedTuple):
    """The XML of a sheet before and after its cells, the blocks in it, and the rows of which something is said."""

    head: str
    tail: str
    blocks: frozenset[Place]
    rows: list[tuple[bytes, bytes]]


class CellLook(NamedTuple):
    """Letters and ground of a cell: colours in hexadecimal, empty where usual, in words where they go with a theme."""

    bold: bool
    italic: bool
    letters: str
    ground: str


def _cell_look(sheet: Any, style: Any) -> CellLook:
    font, fill = sheet.fonts[style.fontId], sheet.fills[style.fillId]
    ground = _colour(fill.fgColor) if getattr(fill, "patternType", None) not in {None, "none"} else ""
    ground = "" if ground == _WHITE else ground
    return CellLook(bool(font.b), bool(font.i), _colour(font.color), ground)


def _colour(colour: Any) -> str:
    if colour is None or colour.type == "auto" or (colour.type == "theme" and colour.theme == 1):
        return ""
    if colour.type == "rgb" and str(colour.value)[-6:] == "000000":
        return ""
    return str(colour.value)[-6:].upper() if colour.type == "rgb" else f"{colour.type} {colour.value}"


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What is set on a sheet besides its cells, in one notation whichever program wrote the file.

    Attributes:
        frozen: columns and rows that stay in view.
        filtered: whether a filter leaves rows out of view.
        allowed: what may be typed, figures left out, and how often it is so set.
        conditions: for which cells look otherwise, likewise.
        printed: how the sheet is printed.
        tab: colour of its tab.
        hidden_rows: numbers of hidden rows.
        heights: heights of rows that were given one, in points, by number.
        merged: merged areas.
        links: how many cells are links.
        looks: gives, some rows after the other, how the cells of each column look, by its number.
    """

    frozen: tuple[float, float]
    filtered: bool
    allowed: Counter[str]
    conditions: Counter[str]
    printed: tuple[str, ...]
    tab: str
    hidden_rows: frozenset[int]
    heights: dict[int, float]
    merged: frozenset[str]
    links: int
    looks: Callable[[], Iterator[frozenset[tuple[int, CellLook]]]]

    def has_looks_beyond(self, other: Surroundings) -> bool:
        """Whether a cell of any column looks as none of that column does on the other sheet, read so far as need be."""
        left: frozenset[tuple[int, CellLook]] = frozenset().union(*self.looks())
        found = other.looks()
        while left and (more := next(found, None)) is not None:
            left -= more
        return bool(left)


def _attributes(text: str) -> dict[str, str]:
    return dict(_SAID.findall(text))


def _points(said: dict[str, str]) -> float:
    return round(float(said.get("ht", 0)), 1)


def _tags(xml: str, name: str) -> list[dict[str, str]]:
    """The attributes of each element of a name."""
    return [_attributes(text) for text in re.findall(rf"<(?:\w+:)?{name}((?:\s[^<>]*)?)/?>", xml)]


def _allowed(found: tuple[str, str]) -> str:
    """What a rule lets be typed, without its figures; empty where it lets everything."""
    kind = _attributes(found[0]).get("type", "none")
    formulas = re.findall(r"<(?:\w+:)?formula\d?>([^<]*)<", found[1])
    return "" if kind == "none" else f"{kind} {_without_figures(formulas[0]) if formulas else ''}"


def _condition(attributes: str, inside: str) -> str:
    formulas = re.findall(r"<(?:\w+:)?formula>([^<]*)<", inside)
    return f"{_attributes(attributes).get('type', '')} {_without_figures(' '.join(formulas))}"


def _without_figures(formula: str) -> str:
    """A formula without its figures; a range in one column as that column: programs write one of a single cell so.

    >>> _without_figures("Lists!$B$5:$B$5") == _without_figures("Lists!$B$5")
    True
    """
    return re.sub(r"\b([A-Z]+):\1\b", r"\1", re.sub(r"[\d.$'\s]+", "", unescape(formula)))


class Trimmings:
    """The trimmings of one file, by the names of its sheets.

    Raises:
        CannotRead: the file is damaged or out of bounds.
    """

    def __init__(self, file: str, data: bytes) -> None:
        self._package = Package(file, data)
        self._parts = worksheet_parts(self._package)
        self._seen: dict[str, _Look] = {}

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
        for one in _COLUMN.findall(self._look(sheet).head.encode()):
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
        return self._look(sheet).blocks

    @cached_property
    def names(self) -> frozenset[str]:
        """Names that people gave to cells, in lower case."""
        found = _NAME.findall(self._package.read_xml("xl/workbook.xml"))
        named = (unescape(one.decode("utf-8", "replace")).casefold() for one in found)
        return frozenset(one for one in named if not one.startswith(_BUILT_IN))

    def surroundings(self, sheet: str) -> Surroundings:
        """What is set on a sheet besides its cells."""
        look = self._look(sheet)
        rows = {int(row): _attributes(text.decode("utf-8", "replace")) for row, text in look.rows}
        pane = next(iter(_tags(look.head, "pane")), {})
        page = next(iter(_tags(look.tail, "pageSetup")), {})
        margins = next(iter(_tags(look.tail, "pageMargins")), {})
        return Surroundings(
            frozen=(float(pane.get("xSplit", 0)), float(pane.get("ySplit", 0))),
            filtered=bool(_tags(look.tail, "filterColumn")),
            allowed=Counter(filter(None, map(_allowed, _VALIDATION.findall(look.tail)))),
            conditions=Counter(_condition(*found) for found in _CONDITION.findall(look.tail)),
            printed=(
                *(page.get(name, usual) for name, usual in _PAGE.items()),
                *(str(round(float(margins.get(name, 0)), 1)) for name in ("left", "right", "top", "bottom")),
                str(bool(_tags(look.tail, "brk"))),
                str(sheet in self.print_areas),
            ),
            tab=next((one.get("rgb", "") for one in _tags(look.head, "tabColor")), ""),
            hidden_rows=frozenset(row for row, said in rows.items() if said.get("hidden") in _TRUE),
            heights={row: _points(said) for row, said in rows.items() if said.get("customHeight") in _TRUE},
            merged=frozenset(one.get("ref", "") for one in _tags(look.tail, "mergeCell")),
            links=len(_tags(look.tail, "hyperlink")),
            looks=partial(self._looks_by_column, sheet),
        )

    @cached_property
    def print_areas(self) -> frozenset[str]:
        """Sheets of which only an area is printed."""
        book = self._package.read_xml("xl/workbook.xml").decode("utf-8", "replace")
        names = [unescape(one.get("name", "")) for one in _tags(book, "sheet")]
        areas = re.findall(rf'<(?:\w+:)?definedName\s([^<>]*"{_PRINT_AREA}"[^<>]*)>([^<]*)<', book)
        numbers = [_attributes(said).get("localSheetId", "") for said, area in areas if "#REF!" not in area]
        return frozenset(names[int(one)] for one in numbers if one.isdecimal() and int(one) < len(names))

    def looks(self, sheet: str) -> dict[Place, CellLook]:
        """How the letters and the ground of each cell of a sheet look."""
        found: dict[Place, CellLook] = {}
        for xml in whole_rows(self._package, self._parts.get(sheet, "")):
            for column, row, number in _STYLED.findall(xml):
                if int(number) < len(self._styles):
                    found[int(row), column_number(column.decode())] = self._styles[int(number)]
        return found

    def _looks_by_column(self, sheet: str) -> Iterator[frozenset[tuple[int, CellLook]]]:
        for xml in whole_rows(self._package, self._parts.get(sheet, "")):
            pairs = _styles_by_column(xml)
            yield frozenset((column, self._styles[number]) for column, number in pairs if number < len(self._styles))

    @cached_property
    def _styles(self) -> list[CellLook]:
        from openpyxl.styles.stylesheet import Stylesheet
        from openpyxl.xml.functions import fromstring

        xml = self._package.read_xml("xl/styles.xml")
        try:
            sheet = Stylesheet.from_tree(fromstring(xml)) if xml else None
            return [] if sheet is None else [_cell_look(sheet, one) for one in sheet.cell_styles]
        except (ValueError, TypeError, IndexError, AttributeError, SyntaxError) as fault:
            raise CannotRead(f"{self._package.file}: the looks of its cells are damaged; {ANEW}") from fault

    def _look(self, sheet: str) -> _Look:
        """What stands around the cells, and the blocks; each sheet is unpacked once."""
        if sheet not in self._seen:
            head, tail, blocks, rows = b"", b"", list[tuple[bytes, bytes]](), list[tuple[bytes, bytes]]()
            for xml in whole_rows(self._package, self._parts.get(sheet, "")):
                head, tail = head or xml.partition(b"sheetData")[0], xml.rpartition(b"sheetData")[2]
                blocks += _BLOCK.findall(xml) if b'"array"' in xml or b'"dataTable"' in xml else []
                rows += _ROW.findall(xml)
            places = frozenset((int(row), column_number(column.decode())) for column, row in blocks)
            self._seen[sheet] = _Look(head.decode("utf-8", "replace"), tail.decode("utf-8", "replace"), places, rows)
        return self._seen[sheet]

    def _linked(self, sheet: str, kind: str) -> list[str]:
        part = self._parts.get(sheet)
        links = linked_parts(self._package, part) if part else []
        return [target for of, target in links if of == kind and target]


def _styles_by_column(xml: bytes) -> set[tuple[int, int]]:
    """Columns of whole rows, each with the numbers of the styles of its cells.

    >>> sorted(_styles_by_column(b'<c r="A1" s="7"/><c r="AB12" s="12" t="s"/><c r="A2" t="s"/>'))
    [(1, 7), (28, 12)]
    >>> sorted(_styles_by_column(b'<c r="A1" s="7"/><c r="AB12" s="12" t="s"><v>1</v></c>'))
    [(1, 7), (28, 12)]
    """
    text = np.frombuffer(xml + bytes(_CELL_HEAD + 6), dtype=np.uint8)
    at = np.flatnonzero((text[:-2] == ord("<")) & (text[1:-1] == ord("c")) & (text[2:] == ord(" ")))
    head = text[(at + 3)[:, None] + np.arange(_CELL_HEAD)]
    end, rows = 3 + (head[:, 3:] == ord('"')).argmax(axis=1), np.arange(len(at))
    marked = [head[:, place] == letter for place, letter in enumerate(b'r="')]
    marked += [head[rows, end + 1 + place] == letter for place, letter in enumerate(b' s="')]
    if b":c " in xml or not np.logical_and.reduce(marked).all() or (end > _NAME_ENDS).any():  # written otherwise
        return {(column_number(column.decode()), int(number)) for column, _, number in _STYLED.findall(xml)}
    column, number, inside = np.zeros(len(at), dtype=np.int64), np.zeros(len(at), dtype=np.int64), rows >= 0
    for place in range(3, 6):
        letter = head[:, place].astype(np.int64) - ord("A") + 1
        column = np.where((letter > 0) & (letter <= 26), 26 * column + letter, column)  # noqa: PLR2004 letters
    for place in range(5, 10):
        digit = head[rows, end + place].astype(np.int64) - ord("0")
        inside &= (digit >= 0) & (digit <= 9)  # noqa: PLR2004 digits
        number = np.where(inside, 10 * number + digit, number)
    return {(int(one) // 100_000, int(one) % 100_000) for one in np.unique(column * 100_000 + number)}


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
