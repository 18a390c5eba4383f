"""Old binary books (xls), read in a process of their own: whatever they do to the reader, they end only that process.

Run as `python -m apiarybook.readers.xls_worker`, it takes the file on standard input and gives its sheets on standard
output, as JSON: a list of [name, hidden, rows, error cells or null], or one text, the fault.
"""

import contextlib
import io
import json
import os
import subprocess
import sys
from datetime import date, datetime, time, timedelta
from pathlib import Path

from apiarybook.errors import CannotRead
from apiarybook.readers.limits import LIMITS, Limits, check_cells, check_place
from apiarybook.readers.package import ANEW, PASSWORD
from apiarybook.readers.records import RawBook, RawSheet
from apiarybook.readers.values import plain_values
from apiarybook.readers.xls_errors import old_errors

SECONDS = 60
"""Longest time that a file may take to read, in seconds; a full xls sheet takes about two."""
MEMORY = 2_000_000_000
"""Largest address space of the process, in bytes."""

_LOCKED = "locked"
_Sheet = tuple[str, bool, list[list[object]], list[tuple[int, int, str]] | None]
_Answer = str | list[_Sheet]
_MODULE = "apiarybook.readers.xls_worker"


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
    home = str(Path(__file__).resolve().parents[2])
    former = [one for one in os.environ.get("PYTHONPATH", "").split(os.pathsep) if Path(one).is_absolute()]
    environment = os.environ | {
        "PYTHONPATH": os.pathsep.join([home, *former]),
        "PYTHONIOENCODING": "utf-8",
    }
    try:
        done = subprocess.run(  # noqa: S603 our own interpreter and module
            [sys.executable, "-P", "-m", _MODULE],
            input=data,
            capture_output=True,
            timeout=SECONDS,
            env=environment,
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


if __name__ == "__main__":
    main()
