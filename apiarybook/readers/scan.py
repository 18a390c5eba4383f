"""What stands where in a worksheet part of an xlsx file, found before any reader is let loose on it.

A reader that lays the used area out as a table takes memory for every cell up to the last one: one stray value in the
last cell of a sheet ends the program. It also gives an error cell as a blank. So the part is looked over first.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from apiarybook.errors import CannotRead
from apiarybook.readers.cells import Cells
from apiarybook.readers.formula_text import FormulaTexts, is_constant
from apiarybook.readers.limits import Limits, cell_name, check_cells, check_place, column_number
from apiarybook.readers.package import ANEW, Package, parse_xml
from apiarybook.readers.pieces import Formula, Remembered, Told, Unusual, formula_of, told_by
from apiarybook.readers.records import Place

_NAME = re.compile(r"([A-Z]{1,7})(\d{1,9})")
_ROW_END = b"</row>"
_BEGIN, _END = re.compile(rb"<sheetData(?: [^<>]*?)?(/?)>"), b"</sheetData>"
_ROWS = 1 << 19
"""Bytes from which a piece ends with the next row."""
_ODD = re.compile(rb"<(?:!|sheetData|(?:row|c|f|v|is)[\s/>])|\0")


@dataclass(slots=True)
class SheetScan:
    """What a worksheet part holds.

    Attributes:
        rows: the last row with a value.
        columns: the last column with a value.
        errors: the text of each error cell.
        formulas: the text of each formula cell, beginning with =.
        cells: its cells, where they could be told apart; else the part, for a reader to do it.
    """

    rows: int = 0
    columns: int = 0
    errors: dict[Place, str] = field(default_factory=dict)
    formulas: Mapping[Place, str] = field(default_factory=dict)
    cells: Cells | bytes = b""


def scan_sheet(package: Package, sheet: str, part: str, remembered: Remembered | None = None) -> SheetScan:
    """Look over a worksheet part and refuse it if its used area is out of bounds.

    The usual way of writing cells is looked over many cells at a time, some rows after the other, so that the formulas
    of a large book never lie in memory together; anything else, and anything out of bounds, by a full XML parser, which
    is slower and exact.

    Args:
        package: the zip file.
        sheet: the sheet's name, for messages.
        part: name of its part.
        remembered: what its pieces said when they were read last, if they were.

    Raises:
        CannotRead: a value stands too far out, the area is too large, or the XML is broken.
    """
    try:
        return _scan_usual(package, sheet, _told(package, part, remembered))
    except Unusual:
        return _scan_whole(package, sheet, part)


def _told(package: Package, part: str, remembered: Remembered | None) -> Iterator[Told]:
    def rows() -> Iterator[bytes]:
        return only_rows(whole_rows(package, part))

    return map(told_by, rows()) if remembered is None else remembered.told(package.digest(part), rows)


def _scan_usual(package: Package, sheet: str, pieces: Iterable[Told]) -> SheetScan:
    """Scan cells many at a time.

    Raises:
        Unusual: any cell, error or formula in them is written in an unusual way, or stands too far out.
    """
    file, limits = package.file, package.limits
    cells, formulas = Cells(), _Formulas(file, sheet, limits)
    size = 0
    for told in pieces:
        cells.add(told, formulas.note_alike)
        size += told.besides
        if size > limits.part:
            raise CannotRead(f"{file}, sheet {sheet}: {_too_long(limits.part)}; {ANEW}")
        if cells.rows > limits.rows or cells.columns > limits.columns or cells.rows * cells.columns > limits.cells:
            raise Unusual
    return SheetScan(cells.rows, cells.columns, cells.errors, formulas.found, cells)


def only_rows(pieces: Iterable[bytes]) -> Iterator[bytes]:
    """The rows of a worksheet part, without what stands before and after them.

    Args:
        pieces: the part, cut behind rows.

    Raises:
        Unusual: rows stand elsewhere too, or there is a comment or the like.
    """
    is_before = is_behind = False
    for piece in pieces:
        begin, end = 0, len(piece)
        if not is_before:
            found = _BEGIN.search(piece)
            if found is None:
                raise Unusual
            is_before, is_behind, begin = True, bool(found[1]), found.end()
            _refuse_cells(piece[: found.start()])
        if not is_behind:
            end = piece.find(_END, max(begin, piece.rfind(_ROW_END)))
            is_behind, end = end >= 0, end if end >= 0 else len(piece)
            yield piece[begin:end]
            begin = end + len(_END)
        _refuse_cells(piece[begin:])
    if not is_behind:
        raise Unusual


def _refuse_cells(around: bytes) -> None:
    if _ODD.search(around):
        raise Unusual


def whole_rows(package: Package, part: str) -> Iterator[bytes]:
    """Unpack a worksheet part in pieces that end with a row, so short that a cell that was typed changes one of many.

    Args:
        package: the zip file.
        part: name of the part.

    Raises:
        CannotRead: the part is damaged or too large.
    """
    rest, looked = bytearray(), 0
    for piece in package.pieces(part):
        rest += piece
        begin = 0
        while (end := rest.find(_ROW_END, max(begin + _ROWS, looked))) >= 0:
            end += len(_ROW_END)
            with memoryview(rest) as view:
                yield bytes(view[begin:end])
            begin = looked = end
        del rest[:begin]
        looked = max(0, len(rest) - len(_ROW_END))
        if len(rest) > package.limits.part:
            raise CannotRead(f"{package.file}, {part}: {_too_long(package.limits.part)}; {ANEW}")
    yield bytes(rest)


def _too_long(part: int) -> str:
    return f"its cells take more than the {part // 1_000_000} MB that are read of a sheet"


def _scan_whole(package: Package, sheet: str, part: str) -> SheetScan:
    data = package.read_xml(part)
    scan = _scan_exact(package.file, sheet, data, package.limits)
    check_cells(package.file, sheet, scan.rows * scan.columns, package.limits)
    scan.cells = data
    return scan


class _Formulas:
    """Formula texts by place; a formula shared with the cells below it is written once."""

    def __init__(self, file: str, sheet: str, limits: Limits) -> None:
        self.found = FormulaTexts()
        self._file, self._sheet, self._left, self._longest = file, sheet, limits.formulas, limits.formula
        self._shared: dict[str, tuple[Place, str]] = {}

    def note_alike(self, formula: Formula) -> None:
        """Note the cells of a column whose formulas are written alike."""
        column, rows, attributes, text, anywhere = formula
        first = None
        if attributes.get("t") == "shared":
            if text:
                self._shared[attributes.get("si", "")] = ((rows[0], column), text)
            elif attributes.get("si", "") in self._shared:
                first, text = self._shared[attributes["si"]]
                anywhere = "=" + text
        if len(text) > self._longest:
            raise CannotRead(
                f"{self._cell(column, rows)}: the formula has {len(text):,} characters, more than the "
                f"{self._longest:,} that a spreadsheet program takes; {ANEW}"
            )
        if not is_constant(anywhere):
            self._left -= self.found.add_rows(column, rows, anywhere, first)
        if self._left < 0:
            raise CannotRead(f"{self._cell(column, rows)}: the formulas up to here are too long; {ANEW}")

    def _cell(self, column: int, rows: Sequence[int]) -> str:
        return f"{self._file}, sheet {self._sheet}, cell {cell_name(rows[0], column)}"


class _ExactScan:
    """Scan by a full XML parser: cells without a reference of their own follow the one before."""

    def __init__(self, file: str, sheet: str, limits: Limits) -> None:
        self._file, self._sheet, self._limits = file, sheet, limits
        self._formulas = _Formulas(file, sheet, limits)
        self.scan = SheetScan(formulas=self._formulas.found)
        self._row = self._column = self._cells = 0
        self._type = ""
        self._attributes: dict[str, str] = {}
        self._text: list[str] | None = None

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name == "row":
            self._row = _whole(attributes.get("r", "")) or self._row + 1
            self._column = 0
        elif name == "c":
            self._start_cell(attributes)
        elif name in {"v", "f", "is"}:
            self._hold()
            self._attributes = attributes
            self._text = []

    def _start_cell(self, attributes: dict[str, str]) -> None:
        self._cells += 1
        check_cells(self._file, self._sheet, self._cells, self._limits)
        self._type = attributes.get("t", "")
        if "r" not in attributes:
            self._column += 1
            return
        found = _NAME.fullmatch(attributes["r"])
        if found is None:
            raise CannotRead(f"{self._file}, sheet {self._sheet}: {attributes['r']!r:.20} is no cell name; {ANEW}")
        self._row, self._column = int(found[2]), column_number(found[1])

    def _hold(self) -> None:
        check_place(self._file, self._sheet, self._row, self._column, self._limits)
        self.scan.rows = max(self.scan.rows, self._row)
        self.scan.columns = max(self.scan.columns, self._column)

    def text(self, text: str) -> None:
        if self._text is not None:
            self._text.append(text)

    def end(self, name: str) -> None:
        if self._text is None or name not in {"v", "f", "is"}:
            return
        text, place = "".join(self._text), (self._row, self._column)
        self._text = None
        if name == "f":
            self._formulas.note_alike(formula_of(place[1], [place[0]], self._attributes, text))
        elif name == "v" and self._type == "e":
            self.scan.errors[place] = text


def _whole(text: str) -> int:
    return int(text) if text.isdecimal() and len(text) <= 9 else 0  # noqa: PLR2004 digits; no sheet has a billion rows


def _scan_exact(file: str, sheet: str, data: bytes, limits: Limits) -> SheetScan:
    reader = _ExactScan(file, sheet, limits)
    parse_xml(f"{file}, sheet {sheet}: the sheet", data, reader.start, reader.end, reader.text)
    return reader.scan


_SHARED = re.compile(rb'<c r="([A-Z]+\d+)"[^<>]* t="s"[^<>]*>\s*<v>(\d{1,9})</v>')


def check_text(file: str, strings: bytes, sheets: Mapping[str, Cells | bytes], limits: Limits) -> None:
    """Refuse a book that repeats long texts so often that they would not fit in memory once laid out.

    Args:
        file: the file's name, for the message.
        strings: the part that stores each text once.
        sheets: the cells of each sheet by its name, or its part; they name the texts by number.
        limits: bound on the bytes that all cells take together.

    Raises:
        CannotRead: the texts are too long together.
    """
    used = sum(map(_count_shared, sheets.values()))
    if used * 4 * max(map(len, strings.split(b"</si>"))) <= limits.text:
        return
    takes = bytes_in_memory(strings)
    left = limits.text
    for name, sheet in sheets.items():
        if isinstance(sheet, Cells) and (taken := sheet.taken(takes)) <= left:
            left -= taken
            continue
        for cell, number in _shared(file, name, sheet):
            left -= takes[number] if number < len(takes) else 0
            if left < 0:
                raise CannotRead(
                    f"{file}, sheet {name}, cell {cell}: the texts of all cells up to here take more than the "
                    f"{limits.text // 1_000_000} MB that are read; shorten those that are repeated and save again."
                )


def _shared(file: str, name: str, sheet: Cells | bytes) -> list[tuple[str, int]]:
    """The cells of a sheet that name a text, and its number."""
    if isinstance(sheet, Cells):
        return [(cell_name(*place), number) for place, number in sheet.strings()]
    named = _SHARED.findall(sheet)
    if len(named) != _count_shared(sheet):
        raise CannotRead(f"{file}, sheet {name}: its texts are written in an unusual way and too long; {ANEW}")
    return [(cell.decode(), int(number)) for cell, number in named]


def bytes_in_memory(strings: bytes) -> list[int]:
    """What each text takes in memory at most [bytes].

    Args:
        strings: the part that stores each text once.
    """
    return [len(text) * _bytes_a_character(text) for text in strings.split(b"</si>")]


def _bytes_a_character(text: bytes) -> int:
    """Bytes that a character of a text takes in memory: all take what the widest needs (PEP 393)."""
    if text.isascii():
        return 4 if b"&#" in text else 1
    return 4 if max(text) >= 0xF0 else 2  # noqa: PLR2004 lead byte of a character beyond the basic plane


def _count_shared(sheet: Cells | bytes) -> int:
    if isinstance(sheet, Cells):
        return sheet.count_strings()
    usual = sheet.count(b' t="s"')
    return usual or len(re.findall(rb"\st\s*=\s*['\"]s['\"]", sheet))
