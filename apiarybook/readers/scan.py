"""What stands where in a worksheet part of an xlsx file, found before any reader is let loose on it.

A reader that lays the used area out as a table takes memory for every cell up to the last one: one stray value in the
last cell of a sheet ends the program. It also gives an error cell as a blank. So the part is looked over first.
"""

import re
import string
from dataclasses import dataclass, field

from apiarybook.errors import CannotRead
from apiarybook.readers.formula_text import is_constant, shift_formula
from apiarybook.readers.limits import LIMITS, Limits, check_cells, check_place, column_number
from apiarybook.readers.package import ANEW, parse_xml, unescape
from apiarybook.readers.records import Place

_HELD = re.compile(rb'<c r="([A-Z]{1,3}[1-9]\d{0,6})"(?: [a-z]{1,3}="[^"<>]*")*>')
_EMPTY = re.compile(rb'<c r="[A-Z]{1,3}[1-9]\d{0,6}"(?: [a-z]{1,3}="[^"<>]*")*/>')
_ERROR = re.compile(
    rb'<c r="([A-Z]+)(\d+)"(?: [a-su-z]+="[^"]*")* t="e"(?: [a-z]+="[^"]*")*>'
    rb"(?:<f[^<>]*/>|<f(?: [^<>]*)?>[^<]*</f>)?<v>([^<]*)</v>"
)
_FORMULA = re.compile(rb'<c r="([A-Z]+)(\d+)"[^<>]*><f((?: [^<>]*?)?)(?:/>|>([^<]*)</f>)')
_ATTRIBUTE = re.compile(r'([a-z0-9]+)="([^"]*)"')
_LETTERS, _DIGITS = string.ascii_uppercase.encode(), string.digits.encode()
_UNUSUAL = re.compile(rb"<c[>/\t\n\r]")
_PREFIXED = re.compile(rb":[cf][\s/>]")
_FORMULA_STARTS = (b"<f>", b"<f ", b"<f/", b"<f\t", b"<f\n", b"<f\r")
_NAME = re.compile(r"([A-Z]{1,7})(\d{1,9})")


@dataclass(slots=True)
class SheetScan:
    """What a worksheet part holds.

    Attributes:
        rows: the last row with a value.
        columns: the last column with a value.
        errors: the text of each error cell.
        formulas: the text of each formula cell, beginning with =.
    """

    rows: int = 0
    columns: int = 0
    errors: dict[Place, str] = field(default_factory=dict)
    formulas: dict[Place, str] = field(default_factory=dict)


def scan_sheet(file: str, sheet: str, data: bytes, limits: Limits = LIMITS) -> SheetScan:
    """Look over a worksheet part and refuse it if its used area is out of bounds.

    The usual way of writing cells is looked over by patterns; anything else, and anything out of bounds, by a full
    XML parser, which is slower and exact.

    Args:
        file: the file's name, for messages.
        sheet: the sheet's name, for messages.
        data: the XML of the part.
        limits: bounds on rows, columns and cells.

    Raises:
        CannotRead: a value stands too far out, the area is too large, or the XML is broken.

    >>> part = b'<sheetData><row r="2"><c r="B2" t="e"><f>1/0</f><v>#DIV/0!</v></c></row></sheetData>'
    >>> scan_sheet("return.xlsx", "Weighings", part)
    SheetScan(rows=2, columns=2, errors={(2, 2): '#DIV/0!'}, formulas={(2, 2): '=1/0'})
    """
    scan = _scan_usual(_Formulas(file, sheet, limits), data)
    if scan is None or scan.rows > limits.rows or scan.columns > limits.columns or _area(scan) > limits.cells:
        scan = _scan_exact(file, sheet, data, limits)
    check_cells(file, sheet, _area(scan), limits)
    return scan


def _area(scan: SheetScan) -> int:
    return scan.rows * scan.columns


def _scan_usual(formulas: "_Formulas", data: bytes) -> SheetScan | None:
    """Scan by patterns; None if any cell, error or formula is written in an unusual way."""
    if b"<!" in data or _PREFIXED.search(data) or _UNUSUAL.search(data):
        return None
    held = _HELD.findall(data)
    others = data.count(b"<c ") - len(held)
    if others and others != len(_EMPTY.findall(data)):
        return None
    scan = SheetScan()
    if held:
        names = b" ".join(held)
        scan.rows = max(map(int, set(names.translate(None, _LETTERS).split())))
        scan.columns = max(column_number(column.decode()) for column in set(names.translate(None, _DIGITS).split()))
    errors = _ERROR.findall(data) if b't="e"' in data else []
    written = _FORMULA.findall(data) if b"<f" in data else []
    starts = sum(map(data.count, _FORMULA_STARTS)) if b"<f" in data else 0
    if len(errors) != data.count(b' t="e"') or len(written) != starts:
        return None
    scan.errors = {_place(column, row): _decode(text) for column, row, text in errors}
    for column, row, attributes, text in written:
        formulas.add(_place(column, row), dict(_ATTRIBUTE.findall(_decode(attributes))), _decode(text))
    scan.formulas = formulas.found
    return scan


def _place(letters: bytes, digits: bytes) -> Place:
    return int(digits), column_number(letters.decode())


def _decode(text: bytes) -> str:
    return unescape(text.decode("utf-8", "replace"))


class _Formulas:
    """Formula texts by place; a formula shared with the cells below it is written once and shifted for each."""

    def __init__(self, file: str, sheet: str, limits: Limits) -> None:
        self.found: dict[Place, str] = {}
        self._file, self._sheet, self._left = file, sheet, limits.formulas
        self._shared: dict[str, tuple[Place, str]] = {}

    def add(self, place: Place, attributes: dict[str, str], text: str) -> None:
        if attributes.get("t") == "shared":
            if text:
                self._shared[attributes.get("si", "")] = (place, text)
            elif attributes.get("si", "") in self._shared:
                (row, column), first = self._shared[attributes["si"]]
                text = shift_formula(first, place[0] - row, place[1] - column)
        if not is_constant("=" + text):
            self.found[place] = "=" + text
        self._left -= len(text)
        if self._left < 0:
            raise CannotRead(f"{self._file}, sheet {self._sheet}: the formulas are too long to be read; {ANEW}")


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
            self._formulas.add(place, self._attributes, text)
        elif name == "v" and self._type == "e":
            self.scan.errors[place] = text


def _whole(text: str) -> int:
    return int(text) if text.isdecimal() and len(text) <= 9 else 0  # noqa: PLR2004 digits; no sheet has a billion rows


def _scan_exact(file: str, sheet: str, data: bytes, limits: Limits) -> SheetScan:
    reader = _ExactScan(file, sheet, limits)
    parse_xml(f"{file}, sheet {sheet}: the sheet", data, reader.start, reader.end, reader.text)
    return reader.scan


_SHARED = re.compile(rb' t="s"[^<>]*>(?:<f[^<>]*/>|<f(?: [^<>]*)?>[^<]*</f>)?<v>(\d{1,9})</v>')


def check_text(file: str, strings: bytes, sheets: list[bytes], limits: Limits = LIMITS) -> None:
    """Refuse a book that repeats long texts so often that they would not fit in memory once laid out.

    Args:
        file: the file's name, for the message.
        strings: the part that stores each text once.
        sheets: the worksheet parts, which name the texts by number.
        limits: bound on the characters of all cells together.

    Raises:
        CannotRead: the texts are too long together.
    """
    lengths = [len(text) for text in strings.split(b"</si>")]
    used = sum(map(_count_shared, sheets))
    if used * max(lengths) <= limits.text:
        return
    numbers = [int(number) for sheet in sheets for number in _SHARED.findall(sheet)]
    total = sum(lengths[number] for number in numbers if number < len(lengths))
    if total > limits.text or len(numbers) != used:
        raise CannotRead(f"{file}: the texts of all cells together are longer than {limits.text:,} characters; {ANEW}")


def _count_shared(sheet: bytes) -> int:
    usual = sheet.count(b' t="s"')
    return usual or len(re.findall(rb"\st\s*=\s*['\"]s['\"]", sheet))
