"""What stands where in a worksheet part of an xlsx file, found before any reader is let loose on it.

A reader that lays the used area out as a table takes memory for every cell up to the last one: one stray value in the
last cell of a sheet ends the program. It also gives an error cell as a blank. So the part is looked over first.
"""

import re
import string
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from apiarybook.errors import CannotRead
from apiarybook.readers.formula_text import FormulaTexts, is_constant
from apiarybook.readers.limits import Limits, check_cells, check_place, column_letters, column_number
from apiarybook.readers.package import ANEW, Package, parse_xml, unescape
from apiarybook.readers.records import Place

_HELD = re.compile(rb'<c r="([A-Z]{1,3}[1-9]\d{0,6})"(?: [a-z]{1,3}="[^"<>]*")*>')
_EMPTY = re.compile(rb'<c r="[A-Z]{1,3}[1-9]\d{0,6}"(?: [a-z]{1,3}="[^"<>]*")*/>')
_ERROR = re.compile(
    rb'<c r="([A-Z]+)(\d+)"(?: [a-su-z]+="[^"]*")* t="e"(?: [a-z]+="[^"]*")*>'
    rb"(?:<f[^<>]*/>|<f(?: [^<>]*)?>[^<]*</f>)?<v>([^<]*)</v>"
)
_FORMULA = re.compile(rb'<c r="([A-Z]+)(\d+)"[^<>]*><f((?: [a-z]+="[^"<>]*")*)(?:/>|>([^<]*)</f>)')
_ANY_FORMULA = re.compile(rb"<f(?: [^<>]*)?(?:/>|>[^<]*</f>)")
_FAR_OUT = re.compile(rb"<v>(?:-|\d{8}|[\d.]+[eE]\+?\d)")
_NO_DAY = re.compile(rb'(<c r="[A-Z]+\d+") s="\d+"( t="n")?(?=><v>(?:-|\d{8}|[\d.]+[eE]\+?\d))')
_ATTRIBUTE = re.compile(r'([a-z0-9]+)="([^"]*)"')
_LETTERS, _DIGITS = string.ascii_uppercase.encode(), string.digits.encode()
_UNUSUAL = re.compile(rb"<c[>/\t\n\r]")
_PREFIXED = re.compile(rb":[cf][\s/>]")
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
    formulas: Mapping[Place, str] = field(default_factory=dict)


def scan_sheet(package: Package, sheet: str, part: str) -> tuple[SheetScan, bytes]:
    """Look over a worksheet part and refuse it if its used area is out of bounds.

    The usual way of writing cells is looked over by patterns, some rows at a time, so that the formulas of a large book
    never lie in memory together; anything else, and anything out of bounds, by a full XML parser, which is slower and
    exact.

    Args:
        package: the zip file.
        sheet: the sheet's name, for messages.
        part: name of its part.

    Returns:
        what the part holds, and the part as a reader of values needs it: without its formulas.

    Raises:
        CannotRead: a value stands too far out, the area is too large, or the XML is broken.
    """
    file, limits = package.file, package.limits
    scan, formulas = SheetScan(), _Formulas(file, sheet, limits)
    plain, size = [], 0
    for piece in whole_rows(package, part):
        if not _scan_usual(scan, formulas, piece) or _is_too_large(scan, limits):
            return _scan_whole(package, sheet, part)
        plain.append(_values_only(piece))
        size += len(plain[-1])
        if size > limits.part:
            raise CannotRead(f"{file}, sheet {sheet}: {_too_long(limits.part)}; {ANEW}")
    scan.formulas = formulas.found
    return scan, b"".join(plain)


def whole_rows(package: Package, part: str) -> Iterator[bytes]:
    """Unpack a worksheet part in pieces that end with a row.

    Args:
        package: the zip file.
        part: name of the part.

    Raises:
        CannotRead: the part is damaged, too large or no plain XML.
    """
    rest = b""
    for piece in package.pieces(part):
        rest += piece
        end = rest.rfind(b"</row>") + len(b"</row>")
        if end >= len(b"</row>"):
            package.refuse_odd(part, rest[:end])
            yield rest[:end]
            rest = rest[end:]
        elif len(rest) > package.limits.part:
            raise CannotRead(f"{package.file}, {part}: {_too_long(package.limits.part)}; {ANEW}")
    package.refuse_odd(part, rest)
    yield rest


def _too_long(part: int) -> str:
    return f"its cells take more than the {part // 1_000_000} MB that are read of a sheet"


def _is_too_large(scan: SheetScan, limits: Limits) -> bool:
    return scan.rows > limits.rows or scan.columns > limits.columns or scan.rows * scan.columns > limits.cells


def _scan_whole(package: Package, sheet: str, part: str) -> tuple[SheetScan, bytes]:
    data = package.read_xml(part)
    scan = _scan_exact(package.file, sheet, data, package.limits)
    check_cells(package.file, sheet, scan.rows * scan.columns, package.limits)
    return scan, data


def _values_only(data: bytes) -> bytes:
    """Cells as a reader of values needs them: without formulas, and without the look of a number that can be no day.

    A reader takes a number for a day by its look alone and gives up the whole sheet where no calendar has that day.
    """
    plain = _ANY_FORMULA.sub(b"", data) if b"<f" in data else data
    return _NO_DAY.sub(rb"\1\2", plain) if _FAR_OUT.search(plain) else plain


def _scan_usual(scan: SheetScan, formulas: "_Formulas", data: bytes) -> bool:
    """Scan rows by patterns; false if any cell, error or formula in them is written in an unusual way."""
    if b"<!" in data or _PREFIXED.search(data) or _UNUSUAL.search(data):
        return False
    held = _HELD.findall(data)
    others = data.count(b"<c ") - len(held)
    if others and others != len(_EMPTY.findall(data)):
        return False
    if held:
        names = b" ".join(held)
        columns = set(names.translate(None, _DIGITS).split())
        scan.rows = max(scan.rows, *map(int, set(names.translate(None, _LETTERS).split())))
        scan.columns = max(scan.columns, *(column_number(column.decode()) for column in columns))
    errors = _ERROR.findall(data) if b't="e"' in data else []
    if len(errors) != data.count(b' t="e"'):
        return False
    scan.errors |= {_place(column, row): _decode(text) for column, row, text in errors}
    return b"<f" not in data or _add_formulas(formulas, data)


def _add_formulas(formulas: "_Formulas", data: bytes) -> bool:
    followers: defaultdict[tuple[bytes, bytes], list[bytes]] = defaultdict(list)
    written = _FORMULA.findall(data)
    for column, row, attributes, text in written:
        if not text and b't="shared"' in attributes:  # most cells of a large book: taken a column at a time
            followers[column, attributes].append(row)
        else:
            formulas.add(_place(column, row), _said(attributes), _decode(text))
    for (column, attributes), rows in followers.items():
        formulas.follow(column_number(column.decode()), list(map(int, rows)), _said(attributes).get("si", ""))
    return len(written) == data.count(b"<f") - data.count(b"<formula")  # the rules of a sheet hold <formula> besides


def _said(attributes: bytes) -> dict[str, str]:
    return dict(_ATTRIBUTE.findall(_decode(attributes))) if attributes else {}


def _place(letters: bytes, digits: bytes) -> Place:
    return int(digits), column_number(letters.decode())


def _decode(text: bytes) -> str:
    return unescape(text.decode("utf-8", "replace"))


class _Formulas:
    """Formula texts by place; a formula shared with the cells below it is written once."""

    def __init__(self, file: str, sheet: str, limits: Limits) -> None:
        self.found = FormulaTexts()
        self._file, self._sheet, self._left, self._longest = file, sheet, limits.formulas, limits.formula
        self._shared: dict[str, tuple[Place, str]] = {}

    def add(self, place: Place, attributes: dict[str, str], text: str) -> None:
        first = None
        if attributes.get("t") == "shared":
            if text:
                self._shared[attributes.get("si", "")] = (place, text)
            elif attributes.get("si", "") in self._shared:
                first, text = self._shared[attributes["si"]]
        self._note(place[1], [place[0]], text, first)

    def follow(self, column: int, rows: list[int], shared: str) -> None:
        """Note the cells of a column that share the formula of a cell before them."""
        first, text = self._shared.get(shared, (None, ""))
        self._note(column, rows, text, first)

    def _note(self, column: int, rows: list[int], text: str, first: Place | None) -> None:
        cell = f"{self._file}, sheet {self._sheet}, cell {column_letters(column)}{rows[0]}"
        if len(text) > self._longest:
            raise CannotRead(
                f"{cell}: the formula has {len(text):,} characters, more than the {self._longest:,} that a spreadsheet "
                f"program takes; {ANEW}"
            )
        if not is_constant("=" + text):
            self._left -= self.found.add_rows(column, rows, "=" + text, first)
        if self._left < 0:
            raise CannotRead(f"{cell}: the formulas up to here are too long; {ANEW}")


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


_SHARED = re.compile(rb'<c r="([A-Z]+\d+)"[^<>]* t="s"[^<>]*>\s*<v>(\d{1,9})</v>')


def check_text(file: str, strings: bytes, sheets: Mapping[str, bytes], limits: Limits) -> None:
    """Refuse a book that repeats long texts so often that they would not fit in memory once laid out.

    Args:
        file: the file's name, for the message.
        strings: the part that stores each text once.
        sheets: the worksheet parts by the sheet's name; they name the texts by number.
        limits: bound on the bytes that all cells take together.

    Raises:
        CannotRead: the texts are too long together.
    """
    texts = strings.split(b"</si>")
    used = sum(map(_count_shared, sheets.values()))
    if used * 4 * max(map(len, texts)) <= limits.text:
        return
    takes = [len(text) * _bytes_a_character(text) for text in texts]
    left = limits.text
    for name, sheet in sheets.items():
        named = _SHARED.findall(sheet)
        if len(named) != _count_shared(sheet):
            raise CannotRead(f"{file}, sheet {name}: its texts are written in an unusual way and too long; {ANEW}")
        for cell, number in named:
            left -= takes[int(number)] if int(number) < len(takes) else 0
            if left < 0:
                raise CannotRead(
                    f"{file}, sheet {name}, cell {cell.decode()}: the texts of all cells up to here take more than "
                    f"the {limits.text // 1_000_000} MB that are read; shorten those that are repeated and save again."
                )


def _bytes_a_character(text: bytes) -> int:
    """Bytes that a character of a text takes in memory: all take what the widest needs (PEP 393)."""
    if text.isascii():
        return 4 if b"&#" in text else 1
    return 4 if max(text) >= 0xF0 else 2  # noqa: PLR2004 lead byte of a character beyond the basic plane


def _count_shared(sheet: bytes) -> int:
    usual = sheet.count(b' t="s"')
    return usual or len(re.findall(rb"\st\s*=\s*['\"]s['\"]", sheet))
