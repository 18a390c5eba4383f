"""Any file that a member may send, read as it stands; tables in delimited text (csv), whose values stay text, here."""

import codecs
import csv
import hashlib
import io
import re
import stat
from collections.abc import Container
from itertools import islice
from pathlib import Path, PurePath

from apiarybook.errors import CannotRead, in_words
from apiarybook.readers.canonical import canonical_text
from apiarybook.readers.limits import LIMITS, Limits, check_cells, check_place
from apiarybook.readers.ods import read_ods
from apiarybook.readers.package import PASSWORD, Package
from apiarybook.readers.pieces import Remembered
from apiarybook.readers.records import RawBook, RawSheet
from apiarybook.readers.xls_worker import read_xls
from apiarybook.readers.xlsx import read_xlsx

__all__ = ["RawBook", "RawSheet", "is_lock_file", "open_elsewhere", "read_raw"]

_ZIP = (b"PK\x03\x04", b"PK\x05\x06")
_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_ENCRYPTED_PACKAGE = "EncryptedPackage".encode("utf-16-le")
_BOOK_ENDINGS = (".xlsx", ".xlsm", ".xls", ".ods")
_OFFICE_LOCK = "~$"
_OPEN_DOCUMENT_LOCK = (".~lock.", "#")
_DELIMITERS = ";,\t"
_LOOKED_AT = 50
"""Lines looked at to tell the delimiter."""

_MARKUP = re.compile(r"\s*<(?:!doctype|html|head|body|table|meta|\?xml)\b", re.IGNORECASE)
_NOT_TEXT = re.compile("[\x00-\x08\x0e-\x1f]")
_NAMED_DELIMITER = re.compile(r"sep=(.)\r?\n", re.IGNORECASE)

_SAVE_AS = "open it in a spreadsheet program and save it as .xlsx."


def read_raw(
    source: Path | tuple[str, bytes],
    limits: Limits = LIMITS,
    remembered: Remembered | None = None,
    only: Container[str] | None = None,
) -> RawBook:
    r"""Read a workbook or a csv file as it stands; its content tells the format, not its name.

    Args:
        source: a path, or a file's name and its bytes.
        limits: bounds beyond which a file is refused.
        remembered: what this book said when it was read last, which spares reading again what stayed the same.
        only: names of the sheets of an xlsx file to be read; all if not given.

    Returns:
        The book with values at their places, nothing shifted.

    Raises:
        CannotRead: the file is missing, damaged, locked, out of bounds or of another kind; one sentence says which and
            what to do.

    >>> book = read_raw(("apiary.csv", b"colony,by\nA1,Ann\n"))
    >>> book.format, book.sheets["apiary"].rows[1]
    ('csv', ['A1', 'Ann'])
    """
    given, data = (source.name, _bytes(source, limits)) if isinstance(source, Path) else source
    file = canonical_text(given)
    if not data:
        raise CannotRead(f"{file}: the file is empty; take a backup of it, or ask for it to be sent again.")
    _refuse_large(file, len(data), limits)
    sha256 = hashlib.sha256(data).hexdigest()
    if data.startswith(_ZIP):
        return _read_zip(Package(file, data, limits), sha256, remembered, only)
    if data.startswith(_OLE):
        if _ENCRYPTED_PACKAGE in data:
            raise CannotRead(f"{file}: {PASSWORD}")
        return read_xls(file, data, sha256, limits)
    book = read_csv(file, data, sha256, limits)
    if file.lower().endswith(_BOOK_ENDINGS):
        raise CannotRead(
            f"{file}: by its name this is a workbook, but it holds plain text; open it in a spreadsheet program and "
            "save it as .xlsx, or give it the ending .csv if it is a csv file."
        )
    return book


def _read_zip(package: Package, sha256: str, remembered: Remembered | None, only: Container[str] | None) -> RawBook:
    if "content.xml" in package and "[Content_Types].xml" not in package:
        return read_ods(package, sha256)
    return read_xlsx(package, sha256, remembered, only)


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
    if len(data) > limits.text_file:
        raise CannotRead(
            f"{file}: the text has {len(data) / 1e6:.0f} MB, more than the {limits.text_file / 1e6:.0f} MB that are "
            "read of a csv file; check that it is the right file."
        )
    text, remarks = _decode(file, data)
    named = _NAMED_DELIMITER.match(text)
    if named:
        text = text[named.end() :]
    delimiter = named[1] if named else _delimiter(list(islice(io.StringIO(text, newline=""), _LOOKED_AT)))
    rows = _rows(file, text, delimiter, limits)
    remarks += (f"{file}: formulas cannot be seen in a csv file, only the values they last showed.",)
    sheet = RawSheet(PurePath(file).stem, rows)
    point = "," if delimiter == ";" else "."
    return RawBook(file, sha256, "csv", None, {}, {sheet.name: sheet}, remarks, point=point)


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
    sheet, widest, number = PurePath(file).stem, 0, 0
    try:
        for number, values in enumerate(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter), start=1):
            row: list[object] = [value or None for value in values]
            while row and row[-1] is None:
                row.pop()
            if row:
                check_place(file, sheet, number, len(row), limits)
                widest = max(widest, len(row))
                check_cells(file, sheet, number * widest, limits)
                rows += [[] for _ in range(number - 1 - len(rows))]
                rows.append(row)
    except csv.Error as fault:
        raise CannotRead(
            f"{file}, row {number + 1}: the text does not fall into cells ({fault}); {_SAVE_AS}"
        ) from fault
    return [row + [None] * (widest - len(row)) for row in rows]


def _refuse_large(file: str, size: int, limits: Limits) -> None:
    if size > limits.packed:
        raise CannotRead(
            f"{file}: the file has {size / 1e6:.0f} MB, more than the {limits.packed / 1e6:.0f} MB that are read; "
            "check that it is the right file."
        )


def _bytes(path: Path, limits: Limits) -> bytes:
    try:
        state = path.stat()
        if stat.S_ISDIR(state.st_mode):
            raise CannotRead(f"{path.name}: this is a folder, not a file; name a workbook in it.")
        if not stat.S_ISREG(state.st_mode):
            raise CannotRead(f"{path.name}: this is not an ordinary file; name a workbook.")
        _refuse_large(path.name, state.st_size, limits)
        return path.read_bytes()
    except FileNotFoundError as fault:
        raise CannotRead(f"{path}: there is no such file; check the name and the folder.") from fault
    except PermissionError as fault:
        raise CannotRead(
            f"{path.name}: the computer does not allow this file to be read; close it in other programs or ask "
            "whoever owns it for the right to read it."
        ) from fault
    except OSError as fault:
        raise CannotRead(f"{path.name}: the file cannot be read ({in_words(fault)}).") from fault


def is_lock_file(path: PurePath) -> bool:
    """Whether this is no book but the mark that a spreadsheet program sets beside a book it has open.

    >>> [is_lock_file(PurePath(name)) for name in ("~$club.xlsx", ".~lock.club.ods#", "club.ods")]
    [True, True, False]
    """
    start, end = _OPEN_DOCUMENT_LOCK
    return path.name.startswith(_OFFICE_LOCK) or (path.name.startswith(start) and path.name.endswith(end))


def open_elsewhere(path: Path) -> str | None:
    """Who has a file open, according to the lock file beside it; None if there is no lock file.

    A program that died leaves its lock file behind, so this is a ground to ask, not to refuse for ever.

    Returns:
        The person's name, or "someone" if the lock file names nobody.
    """
    start, end = _OPEN_DOCUMENT_LOCK
    owners = {f"{start}{path.name}{end}": _open_document_owner, f"{_OFFICE_LOCK}{path.name}": _office_owner}
    for lock, owner in owners.items():
        try:
            data = path.with_name(lock).read_bytes()
        except FileNotFoundError:
            continue
        except OSError:
            return "someone"
        return owner(data) or "someone"
    return None


def _open_document_owner(data: bytes) -> str:
    """The first of name, system user and host that is given."""
    fields = data.decode("utf-8", "replace").split(",")
    return next((field.strip() for field in fields[:3] if field.strip()), "")


def _office_owner(data: bytes) -> str:
    """The name stands behind its length in the first byte."""
    return data[1 : 1 + data[0]].decode("cp1252", "replace").strip(" \0") if data else ""
