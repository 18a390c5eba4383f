"""Putting a book in its place so that, whatever happens half way, a whole book stands there."""

from __future__ import annotations

import contextlib
import errno
import glob
import hashlib
import os
import platform
import re
import shutil
import stat
import tempfile
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

from apiarybook.errors import CannotWrite, in_words
from apiarybook.readers.raw import is_lock_file, open_elsewhere

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

KEPT = 12
"""The last backups of a book that are kept in any case."""
_FULL = {errno.ENOSPC, errno.EDQUOT}
_READ_ONLY = {errno.EACCES, errno.EPERM, errno.EROFS}


def put_in_place(target: Path, data: bytes, *, seen_sha256: str | None, stamp: str) -> Path | None:
    """Put a book where it should stand, keeping the one that stood there under a dated name.

    To be called inside `locked`. Bytes that stand there already are not written again.

    Args:
        target: where the book should stand.
        data: its bytes.
        seen_sha256: SHA-256 of the book that is to be replaced, as it was read; None where none should stand yet.
        stamp: the day that goes into the backup's name.

    Returns:
        where the former book is kept; None if there is none.

    Raises:
        CannotWrite: the book is open elsewhere, has changed or stands there unforeseen, or disk or folder refuse. The
            former book is whole.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     book = Path(folder, "club.xlsx")
    ...     first = put_in_place(book, b"old", seen_sha256=None, stamp="2026-09-25")
    ...     seen = hashlib.sha256(b"old").hexdigest()
    ...     kept = put_in_place(book, b"new", seen_sha256=seen, stamp="2026-09-25")
    ...     first, kept.name, kept.read_bytes(), book.read_bytes()
    (None, 'club backup 2026-09-25.xlsx', b'old', b'new')
    """
    place = target.resolve()
    _remove([_part(place), _part(place, "backup")])
    former = _former(place, seen_sha256, data)
    if former == data:
        return None
    if former is not None:
        _refuse_open(target, place)
    with _tidied(place) as made:
        return _replace(place, data, former, stamp, made)


def put_ready(target: Path, data: bytes) -> Path:
    """Write a file where it should stand, but for its name: that is given by `name_ready`, at once and without fail.

    Args:
        target: where the file should stand; nothing else may stand there.
        data: its bytes.

    Returns:
        the file as it stands until then.

    Raises:
        CannotWrite: something else stands there, or disk or folder refuse.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     copy = Path(folder, "copy.xlsx")
    ...     ready = put_ready(copy, b"for Ann")
    ...     before = copy.exists()
    ...     name_ready(Path(folder), lambda name: name == "copy.xlsx")
    ...     before, copy.read_bytes(), ready.exists()
    (False, b'for Ann', False)
    """
    place = target.resolve()
    _former(place, None, data)
    with _tidied(place) as made:
        return _written(_part(place), data, made)


def name_ready(folder: Path, wanted: Callable[[str], bool]) -> None:
    """Give the files that were put ready in a folder their names, and remove those that nobody wants any more.

    Args:
        folder: where they stand; those of other people and computers are left alone.
        wanted: whether a file of this name is to stand there.

    Raises:
        CannotWrite: the folder refuses.
    """
    tail = f".{_run_mark()}.part"
    for part in sorted(folder.glob(f".*{tail}")) if folder.is_dir() else ():
        name = part.name.removeprefix(".").removesuffix(tail)
        try:
            if wanted(name) and not part.with_name(name).exists():
                part.replace(part.with_name(name))
            else:
                part.unlink()
        except OSError as fault:
            raise CannotWrite(_sentence(part.with_name(name), fault)) from fault
    _settle(folder)


@contextlib.contextmanager
def _tidied(place: Path) -> Iterator[list[Path]]:
    """Keep a list of the files made; whatever fails, they go, and the system's refusals become a sentence."""
    made: list[Path] = []
    try:
        yield made
    except OSError as fault:
        _remove(made)
        if isinstance(fault, CannotWrite):
            raise
        raise CannotWrite(_sentence(place, fault)) from fault
    except BaseException:
        _remove(made)
        raise


def _run_mark() -> str:
    """What tells the unfinished files of this person on this computer from those of others on a shared drive."""
    return hashlib.sha256(f"{platform.node()}\0{Path('~').expanduser()}".encode()).hexdigest()[:8]


def _part(place: Path, word: str = "") -> Path:
    """The name under which a file stands until it is whole."""
    return place.with_name(f".{place.name}{word and f'.{word}'}.{_run_mark()}.part")


def put_text(path: Path, text: str) -> None:
    """Write a text that the package makes anew each time, in one stroke; one that says the same is left as it is.

    Args:
        path: where.
        text: what it says.

    Raises:
        OSError: the system refuses.
    """
    data, part = text.encode(), _part(path)
    if path.is_file() and not path.is_symlink() and path.read_bytes() == data:
        return
    part.unlink(missing_ok=True)
    with part.open("xb") as file:
        file.write(data)
    part.replace(path)


def _former(place: Path, seen_sha256: str | None, data: bytes) -> bytes | None:
    """The book that stands there, if it is the one that should or says the same as the new one."""
    try:
        former = place.read_bytes()
    except FileNotFoundError:
        if seen_sha256 is None:
            return None
        raise CannotWrite(
            f"{place.name} has been moved, renamed or deleted since it was read; put it back or give its new name, and "
            "run again."
        ) from None
    except OSError as fault:
        raise CannotWrite(f"{place.name} cannot be replaced ({in_words(fault)}); choose another name.") from fault
    if former == data:
        return former
    if seen_sha256 is None:
        raise CannotWrite(f"{place.name} stands there already and was left as it is; choose another name or folder.")
    _refuse_changed(place, former, seen_sha256)
    if not place.stat().st_mode & stat.S_IWUSR:
        raise CannotWrite(f"{place.name} is marked read-only; take that mark off, or work on a copy.")
    return former


def unchanged(place: Path, seen_sha256: str) -> bytes:
    """The bytes of a book that is to be replaced, as they were when it was read.

    Args:
        place: where it stands.
        seen_sha256: SHA-256 of its bytes when it was read.

    Raises:
        CannotWrite: it was saved since.
    """
    found = place.read_bytes()
    _refuse_changed(place, found, seen_sha256)
    return found


def _refuse_changed(place: Path, data: bytes, seen_sha256: str) -> None:
    if hashlib.sha256(data).hexdigest() != seen_sha256:
        raise CannotWrite(_changed(place))


def _changed(place: Path) -> str:
    return f"{place.name} was saved by somebody else since it was read, and was left as it is; run again."


def _refuse_open(*places: Path) -> None:
    for place in dict.fromkeys(places):
        who = open_elsewhere(place)
        if who:
            beside = (one.name for one in place.parent.iterdir() if is_lock_file(one) and place.name in one.name)
            raise CannotWrite(
                f"{place.name} is open in a spreadsheet program ({who}) and was left as it is; save and close it "
                "there, then run again; if it is open nowhere, a program that died has left the file "
                f"{next(beside, f'~${place.name}')} beside it: delete that file."
            )


def _replace(place: Path, data: bytes, former: bytes | None, stamp: str, made: list[Path]) -> Path | None:
    new = _written(_part(place), data, made)
    kept = None
    if former is not None:
        shutil.copymode(place, new)
        kept = _kept_already(place, former)
        if kept is None:
            old = _written(_part(place, "backup"), former, made)
            shutil.copystat(place, old)
            kept = _named(old, place, f"backup {stamp}", made)
        if place.read_bytes() != former:
            raise CannotWrite(_changed(place))
    elif place.exists():
        raise CannotWrite(_changed(place))
    try:
        new.replace(place)
    except PermissionError as fault:
        beside = _named(new, place, f"new {stamp}", made)
        made.remove(beside)
        raise CannotWrite(
            f"{place.name} could not be replaced: it seems to be open in another program; the new book stands beside "
            f"it as {beside.name}; close {place.name} and run again."
        ) from fault
    made.clear()
    _settle(place.parent)
    return kept


def _written(part: Path, data: bytes, made: list[Path]) -> Path:
    """Write a file all the way to the disk and read it back; what a run that died left under that name goes."""
    part.unlink(missing_ok=True)
    made.append(part)
    with part.open("xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    if part.read_bytes() != data:
        raise CannotWrite(
            f"{part.parent}: what was written there does not read back the same, the disk may be failing; the book was "
            "left as it is; try another disk."
        )
    return part


def backups(target: Path) -> list[Path]:
    """The former books that are kept of a book, the oldest first.

    Args:
        target: the book.
    """
    named = re.compile(rf"{re.escape(target.stem)} backup (\d{{4}}-\d\d-\d\d)(?: (\d+))?")
    found = ((named.fullmatch(path.stem), path) for path in target.parent.glob(f"*{glob.escape(target.suffix)}"))
    return [path for *_, path in sorted((match[1], int(match[2] or 1), path) for match, path in found if match)]


def spare_backups(target: Path) -> list[Path]:
    """Which backups of a book can go: all but the last twelve and the last one of each month.

    Args:
        target: the book.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     for day in range(1, 20):
    ...         _ = Path(folder, f"club backup 2026-09-{day:02d}.xlsx").write_bytes(b"")
    ...     [path.stem[-2:] for path in spare_backups(Path(folder, "club.xlsx"))]
    ['01', '02', '03', '04', '05', '06', '07']
    """
    found = backups(target)
    of_month = {path.stem[len(target.stem) :][: len(" backup 2026-09")]: path for path in found}
    return [path for path in found[:-KEPT] if path not in of_month.values()]


def _kept_already(place: Path, former: bytes) -> Path | None:
    """The last backup, if it is the very book: a run that was cut off had kept it."""
    last = backups(place)[-1:]
    return next((path for path in last if path.stat().st_size == len(former) and path.read_bytes() == former), None)


def _named(part: Path, place: Path, word: str, made: list[Path]) -> Path:
    """Give a finished file a name that nothing has yet."""
    stems = (f"{place.stem} {word}" + (f" {number}" if number > 1 else "") for number in count(1))
    name = next(name for name in map(place.with_stem, stems) if _takes(part, name))
    made.append(name)
    return name


def _takes(part: Path, name: Path) -> bool:
    """Give a finished file a name in one stroke; false if something has it."""
    try:
        os.link(part, name)
    except FileExistsError:
        return False
    except OSError:  # the disk knows one name a file only; other runs on this book are kept off it
        if name.exists():
            return False
        part.replace(name)
        return True
    part.unlink()
    return True


def _remove(made: list[Path]) -> None:
    for path in made:
        with contextlib.suppress(OSError):
            path.unlink()


def _settle(folder: Path) -> None:
    """Let the disk note the new name; where the system cannot do that for a folder, it does so by itself."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _sentence(place: Path, fault: OSError) -> str:
    if not place.parent.exists():
        return f"{place.name}: the folder {place.parent} does not exist; make it or name another."
    if fault.errno in _FULL:
        return f"{place.name}: the disk is full; the book was left as it is; make room and run again."
    if fault.errno in _READ_ONLY:
        return f"{place.name}: nothing may be written in the folder {place.parent}; choose a folder of your own."
    return f"{place.name} could not be written ({in_words(fault)}); the book was left as it is; run again."


@contextlib.contextmanager
def locked(target: Path) -> Iterator[None]:
    """Keep other runs of this program off a book for as long as this one works on it.

    The mark stands in the system's folder for temporary files, not beside the book, and each person has their own.

    Args:
        target: the book.

    Raises:
        CannotWrite: another run is at work on the book.

    >>> with locked(Path("club.xlsx")):
    ...     with locked(Path("club.xlsx")):  # doctest: +ELLIPSIS
    ...         pass
    Traceback (most recent call last):
    apiarybook.errors.CannotWrite: club.xlsx: another run is at work on this book; wait until it has ended, ...
    """
    from filelock import FileLock, Timeout

    key = f"{Path('~').expanduser()}\0{os.path.normcase(target.resolve())}"
    mark = Path(tempfile.gettempdir(), f"apiarybook-{hashlib.sha256(key.encode()).hexdigest()[:16]}.lock")
    lock = FileLock(mark, timeout=0)
    try:
        lock.acquire()
    except Timeout:
        raise CannotWrite(
            f"{target.name}: another run is at work on this book; wait until it has ended, then run again."
        ) from None
    except OSError as fault:
        raise CannotWrite(
            f"{target.name}: no mark can be set in the folder {mark.parent} that keeps other runs off the book "
            f"({in_words(fault)}); make room there or ask whoever looks after the computer."
        ) from fault
    try:
        yield
    finally:
        lock.release()
