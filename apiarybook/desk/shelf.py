"""The books to choose from: those in the folder and those opened lately, with what each says of itself."""

from __future__ import annotations

import os
import sys
import webbrowser
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from apiarybook.errors import ApiarybookError

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

MEMORY = "club book.txt"
"""Text file in the folder of the launcher that holds the paths of the books opened lately, the latest first."""
FOLDER = "APIARYBOOK_FOLDER"
SCREENS = ("DISPLAY", "WAYLAND_DISPLAY")
"""One of them is set where Linux has a screen."""
MOST_KEPT = 8
"""Books opened lately that are remembered."""
MOST_LOOKED_AT = 60
"""Workbooks of one folder that are looked into."""


@dataclass(frozen=True, slots=True)
class OnShelf:
    """A club's book that may be opened.

    Attributes:
        path: where.
        club: the club's name.
        winter: such as 2026/27.
        reckoned: the day for which it was last reckoned, ISO.
        closed: the day as at which its year was closed; empty while it is open.
        is_lately: whether it was opened lately.
    """

    path: Path
    club: str
    winter: str
    reckoned: str
    closed: str
    is_lately: bool = False


def has_screen() -> bool:
    """Whether a browser can be opened on this computer."""
    if sys.platform in {"win32", "darwin"}:
        return True
    if not any(os.environ.get(one) for one in SCREENS):
        return False
    try:
        webbrowser.get()
    except webbrowser.Error:
        return False
    return True


def folder_of_launcher() -> Path:
    """The folder of the launcher that was pressed, else the one where the command was typed."""
    return Path(os.environ.get(FOLDER) or Path.cwd())


def lately(folder: Path) -> list[Path]:
    """The books opened lately that still stand where they stood, the latest first.

    Args:
        folder: where they were written down.
    """
    try:
        lines = (folder / MEMORY).read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError):
        return []
    return [path for path in map(Path, filter(None, map(str.strip, lines[:MOST_KEPT]))) if path.is_file()]


def remember(folder: Path, book: Path) -> None:
    """Write down that a book was opened; a folder that cannot be written is no harm.

    Args:
        folder: where to write it down.
        book: the book.
    """
    book = book.resolve()
    paths = [book, *(path for path in lately(folder) if path != book)][:MOST_KEPT]
    try:
        (folder / MEMORY).write_text("".join(f"{path}\n" for path in paths), encoding="utf-8")
    except OSError:
        return


def shelf(folder: Path) -> list[OnShelf]:
    """The clubs' books in a folder and those opened lately: these first, then by name.

    Args:
        folder: the folder.

    Returns:
        each book once; members' copies, backups and files that are no book are left out.
    """
    recent = lately(folder)
    try:
        beside = sorted(path.resolve() for path in folder.glob("*.xlsx"))[:MOST_LOOKED_AT]
    except OSError:
        beside = []
    return [*_books(recent, is_lately=True), *_books((one for one in beside if one not in recent), is_lately=False)]


def _books(paths: Iterable[Path], *, is_lately: bool) -> Iterator[OnShelf]:
    from apiarybook.gather.sources import is_backup
    from apiarybook.readers.package import Package
    from apiarybook.readers.raw import is_lock_file
    from apiarybook.readers.xlsx import told_of_itself

    for path in paths:
        if is_lock_file(path) or is_backup(path):
            continue
        try:
            told = told_of_itself(Package(path.name, path.read_bytes()))
        except (ApiarybookError, OSError):
            continue
        if told.get("layout version") and not told.get("member"):
            yield OnShelf(
                path,
                told.get("title", ""),
                told.get("winter", ""),
                told.get("modified", "")[:10],
                told.get("closed", ""),
                is_lately,
            )
