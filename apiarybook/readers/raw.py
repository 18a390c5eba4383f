"""Any file that a member may send, read as it stands: values, formulas and errors in their places."""

import hashlib
import stat
from pathlib import Path, PurePath

from apiarybook.errors import CannotRead, in_words
from apiarybook.readers.delimited import read_csv
from apiarybook.readers.limits import LIMITS, Limits
from apiarybook.readers.ods import read_ods
from apiarybook.readers.package import PASSWORD, Package
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


def read_raw(source: Path | tuple[str, bytes], limits: Limits = LIMITS) -> RawBook:
    r"""Read a workbook or a csv file as it stands; its content tells the format, not its name.

    Args:
        source: a path, or a file's name and its bytes.
        limits: bounds beyond which a file is refused.

    Returns:
        The book with values at their places, nothing shifted.

    Raises:
        CannotRead: the file is missing, damaged, locked, out of bounds or of another kind; one sentence says which and
            what to do.

    >>> book = read_raw(("apiary.csv", b"colony,by\nA1,Ann\n"))
    >>> book.format, book.sheets["apiary"].rows[1]
    ('csv', ['A1', 'Ann'])
    """
    file, data = (source.name, _bytes(source, limits)) if isinstance(source, Path) else source
    if not data:
        raise CannotRead(f"{file}: the file is empty; take a backup of it, or ask for it to be sent again.")
    sha256 = hashlib.sha256(data).hexdigest()
    if data.startswith(_ZIP):
        return _read_zip(file, data, sha256, limits)
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


def _read_zip(file: str, data: bytes, sha256: str, limits: Limits) -> RawBook:
    package = Package(file, data, limits)
    if "content.xml" in package and "[Content_Types].xml" not in package:
        return read_ods(package, sha256)
    return read_xlsx(package, sha256)


def _bytes(path: Path, limits: Limits) -> bytes:
    try:
        state = path.stat()
        if stat.S_ISDIR(state.st_mode):
            raise CannotRead(f"{path.name}: this is a folder, not a file; name a workbook in it.")
        if not stat.S_ISREG(state.st_mode):
            raise CannotRead(f"{path.name}: this is not an ordinary file; name a workbook.")
        if state.st_size > limits.packed:
            raise CannotRead(
                f"{path.name}: the file has {state.st_size / 1e6:.0f} MB, more than the "
                f"{limits.packed / 1e6:.0f} MB that are read; check that it is the right file."
            )
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
