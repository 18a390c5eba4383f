"""Pages of ours may be renewed in place; nothing else that stands where a page is to go is replaced."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from apiarybook.errors import CannotWrite, in_words

if TYPE_CHECKING:
    from pathlib import Path

MADE = '<meta name="generator" content="apiarybook, {kind}">'
"""Stands in the head of every page, where it is looked for (HTML Standard, the meta element, name generator)."""
HEFTING = MADE.format(kind="hefting")
HEAD = 2000
"""Bytes of a page in which that is looked for."""


def report_mark(book_id: str) -> str:
    """What stands in the head of a report, the same for no two books.

    Args:
        book_id: the id of the book.

    >>> report_mark("00c0ffee") == report_mark("00c0ffee"), report_mark("00c0ffee") == report_mark("0badcafe")
    (True, False)
    """
    return MADE.format(kind=f"report {hashlib.sha256(book_id.encode()).hexdigest()[:8]}")


def is_ours(path: Path, made: str) -> bool:
    """Whether a file is a page of one kind, made by an earlier run."""
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return made.encode() in file.read(HEAD)


def refuse_foreign_page(path: Path) -> None:
    """Refuse to put the hefting page where something else stands.

    Args:
        path: where the page is to go.

    Raises:
        CannotWrite: something stands there that is no page of ours.
    """
    if path.exists() and not is_ours(path, HEFTING):
        raise CannotWrite(
            f"{path.name} stands there already, is no page of an earlier run and was left as it is; name another file, "
            "such as hefting.html."
        )


def refuse_foreign_folder(folder: Path, page: str, made: str) -> None:
    """Refuse to put a report into a folder with pages or tables that are not of an earlier report of that book.

    Args:
        folder: where page and tables are to go.
        page: the name of the page.
        made: what `report_mark` gives for the book.

    Raises:
        CannotWrite: it is a file, or other pages or tables stand in it.
    """
    if folder.exists() and not folder.is_dir():
        raise CannotWrite(f"{folder} is a file and was left as it is; name a folder with --report.")
    pages, tables = (sorted(folder.glob(ending)) for ending in ("*.html", "*.csv"))
    strange = [one for one in pages if one.name != page or not is_ours(one, made)] or (tables if not pages else [])
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise CannotWrite(
            f"{folder}: this folder cannot be made ({in_words(fault)}); name another one with --report. The book was "
            "left as it is."
        ) from fault
    if strange:
        raise CannotWrite(
            f"{folder}: {strange[0].name} stands there already and is not of an earlier report of this book; name a "
            "new folder with --report, so that nothing of yours is replaced. The book was left as it is."
        )
