"""Old binary books (xls), read in a process of their own: whatever they do to the reader, they end only that process.

The process takes the file on standard input and gives its sheets on standard
output, as JSON: a list of [name, hidden, rows, error cells or null], or one text, the fault.

Sources for error cells, which the reader gives as blanks: Microsoft, [MS-CFB] Compound File Binary File Format,
sections 2.2 to 2.6, and [MS-XLS] Excel Binary File Format (.xls) Structure, sections 2.4.24 BoolErr, 2.4.28
BoundSheet8, 2.4.127 Formula and 2.5.10 BErr.
"""

import contextlib
import io
import json
import struct
import subprocess
import sys
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from pathlib import Path

from apiarybook.errors import CannotRead
from apiarybook.readers.limits import LIMITS, Limits, check_cells, check_place
from apiarybook.readers.package import ANEW, PASSWORD
from apiarybook.readers.records import RawBook, RawSheet
from apiarybook.readers.values import plain_values

SECONDS = 60
"""Longest time that a file may take to read, in seconds; a full xls sheet takes about two."""
MEMORY = 2_000_000_000
"""Largest address space of the process, in bytes."""

_CODES = {0x00: "#NULL!", 0x07: "#DIV/0!", 0x0F: "#VALUE!", 0x17: "#REF!", 0x1D: "#NAME?", 0x24: "#NUM!", 0x2A: "#N/A"}
_BEGIN, _END, _SHEET, _FORMULA, _BOOLEAN_OR_ERROR = 0x0809, 0x000A, 0x0085, 0x0006, 0x0205
_HEADER_SECTORS = 109
_LAST_SECTOR = 0xFFFFFFFA
_ENTRY = 128
_LARGEST_POWER = 12

_LOCKED = "locked"
_Sheet = tuple[str, bool, list[list[object]], list[tuple[int, int, str]] | None]
_Answer = str | list[_Sheet]
_START = "import sys; sys.path.append(sys.argv[1]); from apiarybook.readers.xls_worker import main; main()"
"""What the process runs: nothing that stands in the folder where it is started or that its surroundings name."""


def read_xls(file: str, data: bytes, sha256: str, limits: Limits = LIMITS) -> RawBook:
    """Read a book in the old xls form, in a process with bounded time and memory.

    Args:
        file: the file's name.
        data: its bytes.
        sha256: their SHA-256, hexadecimal.
        limits: bounds on the file.

    Raises:
        CannotRead: the file is damaged, locked, out of bounds or no workbook.
    """
    answer = _ask(file, data)
    if answer == _LOCKED:
        raise CannotRead(f"{file}: {PASSWORD}")
    if isinstance(answer, str):
        raise CannotRead(f"{file}: the file is damaged or is no workbook ({answer}); {ANEW}")
    if len(answer) > limits.sheets:
        raise CannotRead(
            f"{file}: the book has {len(answer):,} sheets, more than the {limits.sheets} that are read; {ANEW}"
        )
    sheets, area = {}, 0
    for name, hidden, rows, found in answer:
        height, width = len(rows), max(map(len, rows), default=0)
        check_place(file, name, height, width, limits)
        area += height * width
        check_cells(file, name, area, limits)
        errors = {(row, column): text for row, column, text in found or []}
        sheets[name] = RawSheet(name, plain_values([list(map(_unpacked, row)) for row in rows], errors), hidden, errors)
    remarks: tuple[str, ...] = (
        f"{file}: formulas, notes and pictures cannot be seen in this old form (.xls), only values.",
    )
    if any(sheet[3] is None for sheet in answer):
        remarks += (f"{file}: error cells cannot be told from blank ones in this file; ask for .xlsx.",)
    return RawBook(file, sha256, "xls", None, {}, sheets, remarks)


def _ask(file: str, data: bytes) -> _Answer:
    try:
        done = subprocess.run(  # noqa: S603 our own interpreter and module
            [sys.executable, "-I", "-c", _START, str(Path(__file__).parents[2])],
            input=data,
            capture_output=True,
            timeout=SECONDS,
            check=False,
        )
    except subprocess.TimeoutExpired as fault:
        raise CannotRead(f"{file}: reading the file took more than {SECONDS} s and was given up; {ANEW}") from fault
    try:
        answer: _Answer = json.loads(done.stdout)
    except ValueError as fault:
        raise CannotRead(f"{file}: the file is damaged: reading it ended the process that read it; {ANEW}") from fault
    return answer


def _packed(value: object) -> object:
    """A value as JSON knows it: dates and times as a list of their kind and figures."""
    if isinstance(value, datetime):
        return ["datetime", *value.timetuple()[:6], value.microsecond]
    if isinstance(value, date):
        return ["date", value.year, value.month, value.day]
    if isinstance(value, time):
        return ["time", value.hour, value.minute, value.second, value.microsecond]
    if isinstance(value, timedelta):
        return ["timedelta", value.days, value.seconds, value.microseconds]
    return value


_KINDS = {"datetime": datetime, "date": date, "time": time, "timedelta": timedelta}


def _unpacked(value: object) -> object:
    if isinstance(value, list):
        return _KINDS[value[0]](*value[1:])
    return value


def _sheets(data: bytes) -> _Answer:
    from python_calamine import CalamineError, CalamineWorkbook, PasswordError, SheetVisibleEnum

    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        errors = _errors(data, len(book.sheets_metadata))
        found = []
        for sheet, cells in zip(book.sheets_metadata, errors, strict=True):
            values = book.get_sheet_by_name(sheet.name).to_python(skip_empty_area=False)
            rows = [[_packed(value) for value in row] for row in values]
            found.append((sheet.name, sheet.visible != SheetVisibleEnum.Visible, rows, cells))
    except PasswordError:
        return _LOCKED
    except (CalamineError, ValueError, OSError) as fault:
        return " ".join(str(fault).split())[:80]
    return found


def _errors(data: bytes, sheets: int) -> list[list[tuple[int, int, str]] | None]:
    """Error cells of each sheet; None for each where they cannot be found."""
    try:
        found = old_errors(data)
    except ValueError:
        found = []
    return [*found] if len(found) == sheets else [None] * sheets


def old_errors(data: bytes) -> list[list[tuple[int, int, str]]]:
    """Find the error cells of each sheet.

    Args:
        data: the bytes of the xls file.

    Returns:
        For each sheet in the order of the book, row and column counted from 1, and the error's text.

    Raises:
        ValueError: the file does not keep its book in the usual way.
    """
    try:
        book = _book(data)
        starts = [struct.unpack_from("<I", body)[0] for kind, body in _records(book, 0) if kind == _SHEET]
        return [list(_errors_from(book, start)) for start in starts]
    except (struct.error, IndexError) as fault:
        raise ValueError("the book's records are not where they should be") from fault


def _records(book: bytes, start: int) -> Iterator[tuple[int, bytes]]:
    """Kind and body of each record from the beginning of a part to its end; parts within it are stepped over."""
    depth = 0
    while True:
        kind, length = struct.unpack_from("<HH", book, start)
        depth += (kind == _BEGIN) - (kind == _END)
        if depth <= 1:
            yield kind, book[start + 4 : start + 4 + length]
        if depth == 0:
            return
        start += 4 + length


def _errors_from(book: bytes, start: int) -> Iterator[tuple[int, int, str]]:
    for kind, body in _records(book, start):
        code = None
        if kind == _BOOLEAN_OR_ERROR and body[7]:
            code = body[6]
        elif kind == _FORMULA and body[12:14] == b"\xff\xff" and body[6] == 2:  # noqa: PLR2004 2 marks an error
            code = body[8]
        if code is not None:
            row, column = struct.unpack_from("<HH", body)
            yield row + 1, column + 1, _CODES.get(code, "#ERROR")


def _book(data: bytes) -> bytes:
    """The stream of the compound file that holds the book."""
    powers = struct.unpack_from("<HH", data, 30)
    if max(powers) > _LARGEST_POWER:
        raise ValueError("the sectors of the file have no usual size")
    size, small = (1 << power for power in powers)
    directory, _, cutoff, small_table = struct.unpack_from("<IIII", data, 48)
    table = _table(data, size)
    entries = _chain(data, size, table, directory)
    for at in range(0, len(entries), _ENTRY):
        entry = entries[at : at + _ENTRY]
        name = entry[: max(struct.unpack_from("<H", entry, 64)[0] - 2, 0)].decode("utf-16-le", "replace")
        first, length = struct.unpack_from("<II", entry, 116)
        if name not in {"Workbook", "Book"}:
            continue
        if length >= cutoff:
            return _chain(data, size, table, first)[:length]
        packed = _chain(data, size, table, small_table)
        root = _chain(data, size, table, struct.unpack_from("<I", entries, 116)[0])
        return _chain(bytes(small) + root, small, [step for (step,) in struct.iter_unpack("<I", packed)], first)[
            :length
        ]
    raise ValueError("the file has no book")


def _table(data: bytes, size: int) -> list[int]:
    """For each sector, the sector that follows it."""
    per_sector = size // 4
    sectors = list(struct.unpack_from(f"<{_HEADER_SECTORS}I", data, 76))
    following, remaining = struct.unpack_from("<II", data, 68)
    while following < _LAST_SECTOR and remaining > 0:
        more = struct.unpack_from(f"<{per_sector}I", data, (following + 1) * size)
        sectors += more[:-1]
        following, remaining = more[-1], remaining - 1
    table: list[int] = []
    for sector in sectors:
        if sector < _LAST_SECTOR:
            table += struct.unpack_from(f"<{per_sector}I", data, (sector + 1) * size)
    return table


def _chain(data: bytes, size: int, table: list[int], sector: int) -> bytes:
    """The sectors of one stream, each named by the one before; the first sector lies one size into the data."""
    parts: list[bytes] = []
    while sector < _LAST_SECTOR and len(parts) * size <= len(data):
        parts.append(data[(sector + 1) * size : (sector + 2) * size])
        sector = table[sector]
    return b"".join(parts)


def _bound_memory() -> None:
    with contextlib.suppress(ImportError, ValueError, OSError):  # not every system has bounds
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def main() -> None:
    """Read one book from standard input and give its sheets on standard output."""
    _bound_memory()
    answer = _sheets(sys.stdin.buffer.read())
    sys.stdout.write(json.dumps(answer))
