"""Books in OpenDocument form, read in one pass over their content.

The pass that finds errors, formulas and repeat counts meets every value on its way, so it keeps them: no second reader
is needed, and nothing is laid out in memory before its place is known to be within bounds.
"""

import re
from collections.abc import Callable
from datetime import date, datetime, time, timedelta

from apiarybook.errors import CannotRead
from apiarybook.readers.formula_text import FormulaTexts, from_open_formula, in_any_row, is_constant
from apiarybook.readers.limits import Limits, check_cells, check_place
from apiarybook.readers.package import ANEW, PASSWORD, Package, parse_xml
from apiarybook.readers.records import RawBook, RawSheet
from apiarybook.readers.values import moment, plain_values, program_name

_CONTENT = "content.xml"
_META = "meta.xml"
_MANIFEST = "META-INF/manifest.xml"
_SPREADSHEET = "application/vnd.oasis.opendocument.spreadsheet"
_DURATION = re.compile(r"(-?)P(?:(\d+)D)?T?(?:(\d+)H)?(?:(\d+)M)?(?:(\d+(?:[.,]\d+)?)S)?")
_DRAWN = {
    "frame",
    "rect",
    "line",
    "ellipse",
    "custom-shape",
    "polygon",
    "polyline",
    "path",
    "connector",
    "g",
    "caption",
}
_LONGEST_TEXT = 32_767
"""Characters that a cell can hold (Microsoft, "Excel specifications and limits")."""
_ERROR_TEXT = re.compile(r"#[A-Z][A-Z0-9/!?]*|Err:\d{3}")
_ANY_MIDNIGHT = datetime(2000, 1, 1)  # noqa: DTZ001 cells know no zones


def read_ods(package: Package, sha256: str) -> RawBook:
    """Read a book in ods form.

    Args:
        package: the zip file.
        sha256: SHA-256 of its bytes, hexadecimal.

    Raises:
        CannotRead: the file is damaged, locked, out of bounds or of another kind.
    """
    file = package.file
    kind = package.read("mimetype").decode("ascii", "replace").strip()
    if not kind.startswith(_SPREADSHEET):
        raise CannotRead(f"{file}: this is an OpenDocument file, but no spreadsheet; {ANEW}")
    if b"encryption-data" in package.read_xml(_MANIFEST):
        raise CannotRead(f"{file}: {PASSWORD}")
    content = _Content(file, package.limits)
    parse_xml(f"{file}: the content", package.read_xml(_CONTENT), content.start, content.end, content.text)
    texts, properties = _meta(package)
    saved, program = moment(texts.get("date", "")), program_name(texts.get("generator", ""))
    return RawBook(file, sha256, "ods", saved, properties, content.sheets, program=program)


class _Cell:
    """A cell while its element is open."""

    __slots__ = ("attributes", "blanks", "paragraphs", "pieces", "repeats")

    def __init__(self, attributes: dict[str, str], repeats: int) -> None:
        self.attributes = attributes
        self.repeats = repeats
        self.blanks = self.paragraphs = 0
        self.pieces: list[str] = []


class _Content:
    """Sheets, filled as the elements of the content go by."""

    def __init__(self, file: str, limits: Limits) -> None:
        self.sheets: dict[str, RawSheet] = {}
        self._file, self._limits = file, limits
        self._hidden_styles: set[str] = set()
        self._style = ""
        self._sheet: _Sheet | None = None
        self._depth = 0  # tables inside cells are no sheets
        self._cell: _Cell | None = None
        self._aside = 0  # inside a note or a drawing, whose text is not the cell's
        self._pieces: list[str] | None = None  # where text goes while a paragraph of a cell is open
        self._starts: dict[str, Callable[[dict[str, str]], None]] = {
            "style": self._start_style,
            "table-properties": self._start_properties,
            "table": self._start_table,
            "table-row": self._start_row,
            "table-cell": self._start_cell,
            "covered-table-cell": self._start_cell,
            "annotation": self._start_note,
            "p": self._start_paragraph,
            "s": self._add_blanks,
            "tab": lambda _: self.text("\t"),
            "line-break": lambda _: self.text("\n"),
        }

    def start(self, name: str, attributes: dict[str, str]) -> None:
        begin = self._starts.get(name)
        if begin is not None:
            begin(attributes)
        elif name in _DRAWN:
            self._aside += 1
            if self._sheet is not None and self._aside == 1:
                self._sheet.drawing = True

    def _add_blanks(self, attributes: dict[str, str]) -> None:
        """Blanks that the file only counts; all together no more than a cell can hold."""
        if self._cell is not None:
            count = min(_repeats(attributes, "text:c"), _LONGEST_TEXT - self._cell.blanks)
            self._cell.blanks += count
            self.text(" " * count)

    def _start_style(self, attributes: dict[str, str]) -> None:
        self._style = attributes.get("style:name", "")

    def _start_properties(self, attributes: dict[str, str]) -> None:
        if attributes.get("table:display") == "false":
            self._hidden_styles.add(self._style)

    def _start_table(self, attributes: dict[str, str]) -> None:
        self._depth += 1
        if self._depth > 1:
            return
        name = attributes.get("table:name", "")
        if name in self.sheets:
            raise CannotRead(f"{self._file}: two sheets have the same name, {name}; {ANEW}")
        if len(self.sheets) >= self._limits.sheets:
            raise CannotRead(
                f"{self._file}: the book has more than the {self._limits.sheets} sheets that are read; delete "
                "the sheets that are not part of the book, save and send it again."
            )
        hidden = attributes.get("table:style-name", "") in self._hidden_styles
        self._sheet = _Sheet(self._file, name, self._limits, hidden=hidden)

    def _start_row(self, attributes: dict[str, str]) -> None:
        if self._sheet is not None and self._depth == 1:
            self._sheet.start_row(_repeats(attributes, "table:number-rows-repeated"))

    def _start_cell(self, attributes: dict[str, str]) -> None:
        if self._sheet is not None and self._depth == 1:
            self._cell = _Cell(attributes, _repeats(attributes, "table:number-columns-repeated"))

    def _start_note(self, _: dict[str, str]) -> None:
        self._aside += 1
        if self._sheet is not None:
            self._sheet.notes = True

    def _start_paragraph(self, _: dict[str, str]) -> None:
        if self._cell is None or self._aside or self._depth > 1:
            return
        self._pieces = self._cell.pieces
        if self._cell.paragraphs:
            self._pieces.append("\n")
        self._cell.paragraphs += 1

    def text(self, piece: str) -> None:
        if self._pieces is not None and not self._aside:
            self._pieces.append(piece)

    def end(self, name: str) -> None:
        if name == "p":
            self._pieces = None if not self._aside else self._pieces
        elif name == "table":
            self._end_table()
        elif name == "annotation" or name in _DRAWN:
            self._aside -= 1
        elif self._depth == 1 and self._sheet is not None:
            if name in {"table-cell", "covered-table-cell"} and self._cell is not None:
                if self._cell.attributes:
                    self._sheet.add(self._cell)
                else:
                    self._sheet.skip(self._cell.repeats)
                self._cell = None
            elif name == "table-row":
                self._sheet.end_row()

    def _end_table(self) -> None:
        self._depth -= 1
        if self._depth == 0 and self._sheet is not None:
            self.sheets[self._sheet.name] = self._sheet.finished(self._cells_before())
            self._sheet = None

    def _cells_before(self) -> int:
        return sum(len(sheet.rows) * len(sheet.rows[0]) for sheet in self.sheets.values() if sheet.rows)


class _Sheet:
    """A sheet while its element is open: rows hold values up to their last one."""

    def __init__(self, file: str, name: str, limits: Limits, *, hidden: bool) -> None:
        self.name, self.hidden = name, hidden
        self.notes = self.drawing = False
        self._file, self._limits = file, limits
        self._rows: list[list[object]] = []
        self._errors: dict[tuple[int, int], str] = {}
        self._formulas = FormulaTexts()
        self._row: list[object] = []
        self._first = 1  # sheet row of the open row, counted from 1
        self._next = 1
        self._column = 0
        self._widest = 0
        self._held = False

    def start_row(self, repeats: int) -> None:
        self._first, self._next = self._next, self._next + repeats
        self._row, self._column, self._held = [], 0, False

    def skip(self, cells: int) -> None:
        self._column += cells

    def add(self, cell: _Cell) -> None:
        text = "".join(cell.pieces)
        formula = cell.attributes.get("table:formula", "")
        error = _error(cell.attributes, text)
        value = _value(cell.attributes, text) if error is None else None
        first, self._column = self._column, self._column + cell.repeats
        if value is None and not formula and error is None:
            return
        check_place(self._file, self.name, self._next - 1, self._column, self._limits)
        check_cells(self._file, self.name, (self._next - 1) * self._column, self._limits)
        self._held = True
        self._row += [None] * (first - len(self._row)) + [value] * cell.repeats
        if formula or error is not None:
            self._note(from_open_formula(formula), error, range(first + 1, self._column + 1))

    def _note(self, formula: str, error: str | None, columns: range) -> None:
        for row in range(self._first, self._next):
            for column in columns:
                if formula and not is_constant(formula):
                    self._formulas.add_rows(column, [row], in_any_row(formula, row))
                if error is not None:
                    self._errors[row, column] = error

    def end_row(self) -> None:
        if not self._held:
            return
        self._rows += [[] for _ in range(self._first - 1 - len(self._rows))]
        self._widest = max(self._widest, len(self._row))
        check_cells(self._file, self.name, (self._next - 1) * self._widest, self._limits)
        self._rows += [list(self._row) for _ in range(self._first, self._next)]

    def finished(self, cells_before: int) -> RawSheet:
        check_cells(self._file, self.name, cells_before + len(self._rows) * self._widest, self._limits)
        full = [row + [None] * (self._widest - len(row)) for row in self._rows]
        rows = plain_values(full, self._errors)
        return RawSheet(self.name, rows, self.hidden, self._errors, self._formulas, self.notes, self.drawing)


def _repeats(attributes: dict[str, str], name: str) -> int:
    text = attributes.get(name, "1")
    return int(text) if text.isdecimal() and len(text) <= 9 else 1  # noqa: PLR2004 digits; no sheet repeats a billion times


def _error(attributes: dict[str, str], text: str) -> str | None:
    """The text of an error cell; older programs mark it only by its text beside a formula."""
    if attributes.get("calcext:value-type") == "error":
        return text or "#ERROR"
    if "table:formula" in attributes and _ERROR_TEXT.fullmatch(text):
        return text
    return None


def _value(attributes: dict[str, str], text: str) -> object:
    kind = attributes.get("office:value-type")
    if kind is None:
        return None
    if kind == "string":
        return attributes.get("office:string-value") or text or None
    try:
        return _READERS[kind](attributes)
    except (KeyError, ValueError, OverflowError):
        return text or None


def _date(attributes: dict[str, str]) -> date:
    text = attributes["office:date-value"]
    return datetime.fromisoformat(text) if "T" in text else date.fromisoformat(text)


def _time(attributes: dict[str, str]) -> time | timedelta:
    """A time of day, or a duration where it is negative or a day and more."""
    found = _DURATION.fullmatch(attributes["office:time-value"])
    if found is None:
        raise ValueError(attributes["office:time-value"])
    days, hours, minutes = (int(part or 0) for part in found.group(2, 3, 4))
    seconds = float((found[5] or "0").replace(",", "."))
    duration = timedelta(days=days, hours=hours, minutes=minutes, seconds=seconds)
    if found[1]:
        return -duration
    return duration if duration.days else (_ANY_MIDNIGHT + duration).time()


def _figure(attributes: dict[str, str]) -> float:
    return float(attributes["office:value"])


_READERS: dict[str, Callable[[dict[str, str]], object]] = {
    "float": _figure,
    "percentage": _figure,
    "currency": _figure,
    "boolean": lambda attributes: attributes["office:boolean-value"] == "true",
    "date": _date,
    "time": _time,
}


def _meta(package: Package) -> tuple[dict[str, str], dict[str, str]]:
    texts: dict[str, str] = {}
    properties: dict[str, str] = {}
    inside: list[tuple[dict[str, str], str]] = []

    def start(name: str, attributes: dict[str, str]) -> None:
        if name == "user-defined":
            inside.append((properties, attributes.get("meta:name", "")))
            properties[attributes.get("meta:name", "")] = ""
        else:
            inside.append((texts, name))

    def end(_: str) -> None:
        inside.pop()

    def text(piece: str) -> None:
        if inside:
            found, key = inside[-1]
            found[key] = found.get(key, "") + piece

    xml = package.read_xml(_META)
    if xml:
        parse_xml(f"{package.file}: {_META}", xml, start, end, text)
    return texts, {name: value.strip() for name, value in properties.items()}
