"""Tables in delimited text (csv): every value stays the text that it is."""

import codecs
import csv
import re
from pathlib import PurePath

from apiarybook.errors import CannotRead
from apiarybook.readers.limits import LIMITS, Limits, check_cells, check_place
from apiarybook.readers.records import RawBook, RawSheet

_DELIMITERS = ";,\t"
_LOOKED_AT = 50
"""Lines looked at to tell the delimiter."""

_MARKUP = re.compile(r"\s*<(?:!doctype|html|head|body|table|meta|\?xml)\b", re.IGNORECASE)
_NOT_TEXT = re.compile("[\x00-\x08\x0e-\x1f]")
_NAMED_DELIMITER = re.compile(r"sep=(.)\r?\n", re.IGNORECASE)

_SAVE_AS = "open it in a spreadsheet program and save it as .xlsx."


def read_csv(file: str, data: bytes, sha256: str, limits: Limits = LIMITS) -> RawBook:
    r"""Read delimited text: UTF-8, UTF-16 with a byte order mark, or else Windows text (code page 1252).

    A first line `sep=;` names the delimiter and is no row; otherwise the delimiter is the one of comma, semicolon and
    tab that cuts most lines into the same number of columns. Short rows are filled with blanks.

    Args:
        file: the file's name.
        data: its bytes.
        sha256: their SHA-256, hexadecimal.
        limits: bounds on the file.

    Raises:
        CannotRead: the file is not text, or is out of bounds.

    >>> book = read_csv("apiary.csv", b"colony;reading 1\nA1;12,5\n", "")
    >>> book.sheets["apiary"].rows
    [['colony', 'reading 1'], ['A1', '12,5']]
    """
    text, remarks = _decode(file, data)
    named = _NAMED_DELIMITER.match(text)
    if named:
        text = text[named.end() :]
    lines = text.splitlines(keepends=True)
    rows = _rows(file, text, named[1] if named else _delimiter(lines[:_LOOKED_AT]), limits)
    remarks += (f"{file}: formulas cannot be seen in a csv file, only the values they last showed.",)
    sheet = RawSheet(PurePath(file).stem, rows)
    return RawBook(file, sha256, "csv", None, {}, {sheet.name: sheet}, remarks)


def _decode(file: str, data: bytes) -> tuple[str, tuple[str, ...]]:
    remarks: tuple[str, ...] = ()
    try:
        if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
            text = data.decode("utf-16")
        else:
            try:
                text = data.decode("utf-8-sig")
            except UnicodeDecodeError:
                text = data.decode("cp1252")
                remarks = (f"{file}: this text is not UTF-8 and was read as Windows text; look at the accents.",)
    except UnicodeDecodeError as fault:
        raise CannotRead(f"{file}: this is neither a workbook nor text; {_SAVE_AS}") from fault
    if _MARKUP.match(text):
        raise CannotRead(f"{file}: this is a web page or another XML file, not a workbook; {_SAVE_AS}")
    if _NOT_TEXT.search(text) or text.startswith(("%PDF", "{\\rtf")):
        raise CannotRead(f"{file}: this is neither a workbook nor plain text; {_SAVE_AS}")
    return text, remarks


def _delimiter(lines: list[str]) -> str:
    return max(_DELIMITERS, key=lambda delimiter: _agreement(lines, delimiter))


def _agreement(lines: list[str], delimiter: str) -> tuple[int, int]:
    """How many lines have the commonest number of columns above one, and that number."""
    try:
        widths = [len(row) for row in csv.reader(lines, delimiter=delimiter) if len(row) > 1]
    except csv.Error:
        return 0, 0
    return max(((widths.count(width), width) for width in set(widths)), default=(0, 0))


def _rows(file: str, text: str, delimiter: str, limits: Limits) -> list[list[object]]:
    rows: list[list[object]] = []
    sheet, widest = PurePath(file).stem, 0
    try:
        for values in csv.reader(text.splitlines(keepends=True), delimiter=delimiter):
            row: list[object] = [value or None for value in values]
            while row and row[-1] is None:
                row.pop()
            if row:
                check_place(file, sheet, len(rows) + 1, len(row), limits)
                widest = max(widest, len(row))
                check_cells(file, sheet, (len(rows) + 1) * widest, limits)
            rows.append(row)
    except csv.Error as fault:
        raise CannotRead(
            f"{file}, row {len(rows) + 1}: the text does not fall into cells ({fault}); {_SAVE_AS}"
        ) from fault
    while rows and not rows[-1]:
        rows.pop()
    return [row + [None] * (widest - len(row)) for row in rows]
