"""Files that may be returns, found in folders, archives and messages; nothing is ever written or unpacked to disk."""

from __future__ import annotations

import email
import email.policy
import os
import re
import zipfile
import zlib
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from apiarybook.errors import CannotRead, in_words
from apiarybook.pages.notes import is_note
from apiarybook.readers.canonical import canonical_text
from apiarybook.readers.limits import LIMITS
from apiarybook.readers.raw import is_lock_file

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from email.message import EmailMessage

ARCHIVE = b"PK\x03\x04"
OLD_BOOK = b"\xd0\xcf\x11\xe0"
TEXTS = frozenset({".csv", ".tsv", ".txt"})
BOOKS = frozenset({".xlsx", ".xlsm", ".xls", ".ods"})
MESSAGE = ".eml"
_BACKUP = re.compile(r" backup \d{4}-\d\d-\d\d(?: \d+)?$")
_MARKS_OF_BOOK = ("[content_types].xml", "content.xml", "mimetype")
_BROKEN = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError, ValueError)
_NOT_SHOWN = re.compile(r"[^\w .,;()+&'@~#-]")
LONGEST_NAME = 120
"""Characters of a file's name that are shown and kept."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """How much is looked at in one run.

    Attributes:
        files: files in folders, archives and messages together.
        archive: bytes that one archive may unpack to, all its files together.
        message: bytes of one message.
        depth: folders below the one that was named.
    """

    files: int = 20_000
    archive: int = 2_000_000_000
    message: int = 150_000_000
    depth: int = 8


BOUNDS = Bounds()


@dataclass(frozen=True, slots=True)
class Source:
    """A file that may be a return.

    Attributes:
        name: its name without folders, made safe to show; in an archive or message with the name of that before it.
        path: where it stands; None for one out of an archive or a message.
        data: its bytes; None for one that stands in a folder and is read when its turn comes.
        is_named: whether a person named this very file, not only a folder or archive that holds it.
    """

    name: str
    path: Path | None = None
    data: bytes | None = None
    is_named: bool = False


@dataclass(frozen=True, slots=True)
class LeftAlone:
    """A file that is no return, and one sentence why."""

    name: str
    why: str


Found = Source | LeftAlone


def sources(paths: Iterable[Path], *, without: Iterable[Path] = (), bounds: Bounds = BOUNDS) -> Iterator[Found]:
    """Find the files that may be returns, one after another, so that no two archives lie in memory together.

    Files are known by what they begin with, and only then by their names. Reply notes are passed over in silence, as
    are lock files and files that begin with a dot if they hold no book.

    Args:
        paths: files and folders, in any order.
        without: files that are passed over, such as the club's book itself.
        bounds: how much is looked at.

    Returns:
        each file once, in order of names within its folder; what was left alone likewise.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     for name in ("b.csv", "~$a.xlsx", ".hidden.csv", "bees.jpg"):
    ...         _ = Path(folder, name).write_text("x")
    ...     [(type(one).__name__, one.name) for one in sources([Path(folder)])]
    [('Source', 'b.csv'), ('LeftAlone', 'bees.jpg')]
    """
    seen = {os.path.realpath(path) for path in without}
    left = bounds.files
    for path in paths:
        for found in _in_path(path, seen, bounds):
            left -= 1
            if left < 0:
                yield LeftAlone(path.name, f"there are more than {bounds.files:,} files; name fewer folders at a time.")
                return
            yield found


def shown_name(name: str) -> str:
    r"""A file's name as it may be shown and kept: without folders, control characters and anything odd.

    >>> shown_name("../../etc/pass\nwd"), shown_name("C:\\x\\May\u202e.xlsx"), shown_name("")
    ('pass wd', 'May .xlsx', 'without name')
    """
    last = re.split(r"[\\/]", name)[-1]
    return _NOT_SHOWN.sub("_", canonical_text(last))[:LONGEST_NAME].strip() or "without name"


def is_backup(path: Path) -> bool:
    """Whether this is a book that a run of this program put aside, or the part of one.

    >>> is_backup(Path("club backup 2026-09-25 2.xlsx")), is_backup(Path("club.xlsx"))
    (True, False)
    """
    return bool(_BACKUP.search(path.stem)) or path.suffix == ".part"


def _in_path(path: Path, seen: set[str], bounds: Bounds) -> Iterator[Found]:
    if path.is_dir():
        yield from _in_folder(path, seen, bounds)
    elif os.path.realpath(path) not in seen:
        seen.add(os.path.realpath(path))
        yield from _in_file(path, bounds, is_named=True)


def _in_folder(folder: Path, seen: set[str], bounds: Bounds) -> Iterator[Found]:
    for here, below, names in os.walk(folder):
        depth = len(Path(here).relative_to(folder).parts)
        below[:] = sorted(one for one in below if not one.startswith(".") and depth < bounds.depth)
        for name in sorted(names):
            path = Path(here, name)
            real = os.path.realpath(path)
            if real not in seen:
                seen.add(real)
                yield from _in_file(path, bounds, is_named=False)


def _in_file(path: Path, bounds: Bounds, *, is_named: bool) -> Iterator[Found]:
    name = shown_name(path.name)
    try:
        if not path.is_file():
            yield LeftAlone(name, "this is no ordinary file.")
            return
        with path.open("rb") as file:
            start = file.read(START)
        if _is_passed_over(path.name, start):
            return
        if _may_be_archive(start) and _is_archive(path, otherwise=path.suffix.lower() == ".zip"):
            yield from _in_archive(name, path, bounds)
        elif path.suffix.lower() == MESSAGE:
            yield from _in_message(name, _bounded(path, name, bounds), bounds, may_open=True)
        elif _may_be_book(name, start):
            yield Source(name, path, is_named=is_named)
        else:
            yield LeftAlone(name, NO_BOOK)
    except CannotRead as fault:
        yield LeftAlone(name, str(fault).removeprefix(f"{name}: "))
    except OSError as fault:
        yield LeftAlone(name, f"the file cannot be read ({in_words(fault)}).")


NO_BOOK = "this is no workbook and no csv file."


START = 20_000
"""Bytes of a file by which it is known."""


def _may_be_book(name: str, start: bytes) -> bool:
    ending = Path(name).suffix.lower()
    return start.startswith((ARCHIVE, OLD_BOOK)) or ending in TEXTS or ending in BOOKS


def _is_passed_over(name: str, start: bytes) -> bool:
    """Whether a file is a note of ours, or a mark that a program sets beside a book."""
    if start.startswith((ARCHIVE, OLD_BOOK)):
        return False
    return name.startswith(".") or is_lock_file(Path(name)) or is_note(start)


def _bounded(path: Path, name: str, bounds: Bounds) -> bytes:
    if path.stat().st_size > bounds.message:
        raise CannotRead(f"{name}: the message has more than {bounds.message / 1e6:.0f} MB and is not read.")
    return path.read_bytes()


def _may_be_archive(start: bytes) -> bool:
    r"""Whether this is a zip file whose first entry does not tell already that it is a workbook.

    >>> _may_be_archive(ARCHIVE + bytes(22) + b"\x08\0\0\0" + b"mimetype"), _may_be_archive(ARCHIVE + b"mimetype")
    (False, True)
    """
    long = int.from_bytes(start[26:28], "little")  # of its name, behind a header of 30 bytes (APPNOTE.TXT 4.3.7)
    return start.startswith(ARCHIVE) and start[30 : 30 + long].decode("latin-1").lower() not in _MARKS_OF_BOOK


def _is_archive(file: Path | BytesIO, *, otherwise: bool) -> bool:
    """Whether a zip file is an archive of files, not a workbook itself; `otherwise` if it is broken."""
    try:
        with zipfile.ZipFile(file) as archive:
            names = {entry.filename.replace("\\", "/").lower() for entry in archive.infolist()}
    except _BROKEN:
        return otherwise
    return not names & set(_MARKS_OF_BOOK)


def _in_archive(name: str, file: Path | BytesIO, bounds: Bounds) -> Iterator[Found]:
    """The files in an archive: one after another, each and all within bounds, whatever sizes the archive claims."""
    try:
        with zipfile.ZipFile(file) as archive:
            entries = [entry for entry in archive.infolist() if not entry.is_dir()]
            if len(entries) > bounds.files:
                yield LeftAlone(name, f"the archive holds more than {bounds.files:,} files and is not opened.")
                return
            yield from _entries(name, archive, sorted(entries, key=lambda entry: entry.filename), bounds)
    except _BROKEN as fault:
        yield LeftAlone(name, f"the archive is cut short or damaged ({_brief(fault)}); send the files themselves.")


def _entries(name: str, archive: zipfile.ZipFile, entries: list[zipfile.ZipInfo], bounds: Bounds) -> Iterator[Found]:
    left = bounds.archive
    for entry in entries:
        if "__MACOSX" in entry.filename:
            continue
        inside = f"{name}, {shown_name(entry.filename)}"
        most = min(left, LIMITS.packed)
        try:
            data = _unpacked(archive, entry, most)
        except _BROKEN as fault:
            yield LeftAlone(inside, f"the archive is damaged here or locked ({_brief(fault)}).")
            continue
        left -= most if data is None else len(data)
        if data is None:
            yield LeftAlone(inside, f"it unpacks to more than the {most / 1e6:.0f} MB that are read of it.")
        else:
            yield from _inside(inside, data, bounds, may_open=False)


def _brief(fault: BaseException) -> str:
    return canonical_text(str(fault))[:60]


def _unpacked(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, most: int) -> bytes | None:
    """The bytes of an entry; None where there are more than may be read."""
    with archive.open(entry) as file:
        data = file.read(most + 1)
    return None if len(data) > most else data


def _inside(name: str, data: bytes, bounds: Bounds, *, may_open: bool) -> Iterator[Found]:
    """What an archive or a message holds; an archive in an archive is not opened."""
    if _is_passed_over(name.rpartition(", ")[2], data[:START]):
        return
    if data.startswith(ARCHIVE) and _is_archive(BytesIO(data), otherwise=False):
        if may_open:
            yield from _in_archive(name, BytesIO(data), bounds)
        else:
            yield LeftAlone(name, "this is an archive within an archive and is not opened; send its files themselves.")
    elif name.lower().endswith(MESSAGE) and not may_open:
        yield from _in_message(name, data, bounds, may_open=False)
    elif _may_be_book(name, data[: len(ARCHIVE)]):
        yield Source(name, data=data)
    else:
        yield LeftAlone(name, NO_BOOK)


def _in_message(name: str, data: bytes, bounds: Bounds, *, may_open: bool) -> Iterator[Found]:
    """The files attached to a message, or to one that is forwarded with it."""
    try:
        message = email.message_from_bytes(data, policy=email.policy.default)
        parts = list(_attached(message))
    except (ValueError, LookupError, RecursionError, AttributeError, TypeError, IndexError) as fault:
        yield LeftAlone(name, f"the message cannot be taken apart ({_brief(fault)}); save what is attached as files.")
        return
    if not parts:
        yield LeftAlone(name, "nothing is attached to this message.")
    for attached, content in parts[: bounds.files]:
        yield from _inside(f"{name}, {shown_name(attached)}", content, bounds, may_open=may_open)


def _attached(message: EmailMessage) -> Iterator[tuple[str, bytes]]:
    for part in message.walk():
        if part.is_multipart():
            continue
        attached = part.get_filename()
        content = part.get_payload(decode=True)
        if attached and isinstance(content, bytes):
            yield attached, content
