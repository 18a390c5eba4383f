"""Starting a club's new book: what is refused, its id, and the files to double-click beside it."""

from __future__ import annotations

import hashlib
import random
import secrets
import sys
from typing import TYPE_CHECKING

from apiarybook.errors import CannotWrite, NotForThisRegion

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

SOUTHERN = ("australia", "new-zealand", "southern", "south-africa", "south-america", "argentina", "chile")
WINDOWS = "Hive stores.bat"
OTHERS = "Hive stores.command"
BATCH = '@echo off\r\ncd /d "%~dp0"\r\nset "APIARYBOOK_FOLDER=%~dp0"\r\n"{python}" -m apiarybook\r\npause\r\n'
SHELL = '#!/bin/sh\ncd "$(dirname "$0")" || exit 2\nexec "{python}" -m apiarybook\n'
EXECUTABLE = 0o755


def unit_of(region: str) -> str:
    """The unit of masses that is usual in a region.

    >>> unit_of("north-america-north"), unit_of("scandinavia")
    ('lb', 'kg')
    """
    return "lb" if region.startswith("north-america") else "kg"


def start_club(
    path: Path, *, club: str, winter: int, region: str, unit: str, seed: int | None, as_at: date
) -> tuple[str, tuple[Path, Path]]:
    """Make a club's new book, and launchers beside it.

    Args:
        path: where the book is to stand.
        club: the club's name.
        winter: the year in which the winter begins.
        region: the region, as typed.
        unit: kg or lb.
        seed: makes the book's id repeatable.
        as_at: the day for which to reckon.

    Returns:
        the book's id, and the launchers for Windows and for macOS and Linux.

    Raises:
        NotForThisRegion: the region is unknown or in the southern hemisphere.
        CannotWrite: the file's name does not end in .xlsx, or something stands there.
    """
    from apiarybook.club.reckoned import start_file

    _refuse(path, region, winter)
    book_id = new_id(seed, club, winter)
    start_file(path, club=club, winter=winter, region=region, unit=unit, as_at=as_at, book_id=book_id)
    return book_id, write_launchers(path.parent)


def _refuse(path: Path, region: str, winter: int) -> None:
    from apiarybook.handbook import REGIONS
    from apiarybook.layout.settings import FIRST_WINTER, LAST_WINTER

    if any(word in region.casefold() for word in SOUTHERN):
        raise NotForThisRegion(
            f"{region}: the southern hemisphere has its winter in other months, and the handbook has no month tables "
            "for it yet; no book was made."
        )
    if region not in REGIONS:
        raise NotForThisRegion(f"{region} is no region of the handbook; choose one of {', '.join(REGIONS)}.")
    if not FIRST_WINTER <= winter <= LAST_WINTER:
        raise NotForThisRegion(f"No winter can begin in {winter}; type a year from {FIRST_WINTER} to {LAST_WINTER}.")
    if path.suffix.casefold() != ".xlsx":
        raise CannotWrite(f"{path.name}: a book's name ends in .xlsx; choose another name.")
    if path.exists():
        raise CannotWrite(f"{path.name} stands there already and was left as it is; choose another name or folder.")


def new_id(seed: int | None, club: str, winter: int) -> str:
    """A book's id: random, or repeatable from a seed.

    >>> new_id(7, "Alder Vale", 2026) == new_id(7, "Alder Vale", 2026)
    True
    """
    if seed is None:
        return secrets.token_hex(4)
    salt = random.Random(seed).getrandbits(64)  # noqa: S311 repeatable on purpose, for trials and the demo
    return hashlib.sha256(f"{salt}{club}{winter}".encode()).hexdigest()[:8]


def write_launchers(folder: Path) -> tuple[Path, Path]:
    """Write the two launchers, for Windows and for macOS and Linux; one that stands there already is renewed.

    Args:
        folder: the folder of the book.

    Returns:
        their paths.
    """
    windows, others = folder / WINDOWS, folder / OTHERS
    windows.write_bytes(BATCH.format(python=sys.executable).encode())
    others.write_text(SHELL.format(python=sys.executable), encoding="utf-8")
    others.chmod(EXECUTABLE)
    return windows, others
