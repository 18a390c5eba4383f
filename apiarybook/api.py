"""What Python programs call: read a book, check it, reckon it, gather returns, close its year; frames in and out.

Files are touched by `read_book` and `collate_returns` alone, and nothing here writes. `guide/python.md` is a whole
afternoon with these functions, run by the tests.

    >>> from datetime import date
    >>> reckoned = new_book("Alder Vale Beekeepers", 2026, "british-isles", "kg", date(2026, 9, 20))
    >>> reckoned
    <Reckoned: 0 colonies as at 2026-09-20, 0 held, 0 asked>
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from apiarybook.book.tables import read_book
from apiarybook.checks.loop import check_book
from apiarybook.club.closing import close_year
from apiarybook.club.reckoned import Reckoned, new_book, reckon_book
from apiarybook.layout import BOOK, Kind

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from pathlib import Path

    from apiarybook.gather.collate import Gathering

__all__ = [
    "Reckoned",
    "check_book",
    "close_year",
    "collate_returns",
    "colonies",
    "new_book",
    "read_book",
    "reckon_book",
]

EPOCH = "1899-12-30"
"""The day that spreadsheet programs number 0 (ISO/IEC 29500, date base 1900)."""


def colonies(reckoned: Reckoned) -> pd.DataFrame:
    """Every colony with a code and how it stands, one row each.

    Args:
        reckoned: a book as `reckon_book` gave it.

    Returns:
        the columns of the sheet Standing by their keys, in its order: words as text, days as dates, masses in kg,
        volumes in l, chances from 0 to 1, what does not exist as missing. `attrs["units"]` has each column's unit.

    >>> from datetime import date
    >>> frame = colonies(new_book("", 2026, "british-isles", "kg", date(2026, 9, 20)))
    >>> len(frame), frame.attrs["units"]["stores_today"], frame["weighed_on"].dtype.kind
    (0, 'kg', 'M')
    """
    told = [column for column in BOOK["Standing"].columns if column.kind is not Kind.COUNT or not column.folded]
    standing = reckoned.season.standing
    standing = standing[standing["colony"].notna()].reset_index(drop=True)
    kept = [column for column in told if column.key in standing]
    frame = standing[[column.key for column in kept]].copy()
    for column in kept:
        if column.kind is Kind.DATE:
            frame[column.key] = pd.to_datetime(frame[column.key], unit="D", origin=EPOCH)
        elif not column.numeric:
            frame[column.key] = frame[column.key].replace("", None).astype("string")
    frame.attrs["units"] = {column.key: column.unit for column in kept if column.unit}
    return frame


def collate_returns(club_book: Path, returns: Sequence[Path], as_at: date) -> Gathering:
    """Gather members' returns into a club's book and give what came of it; nothing is written.

    Args:
        club_book: the club's book.
        returns: files and folders that came back: xlsx, ods, xls, csv, archives, saved mails.
        as_at: the day for which to reckon.

    Returns:
        the book made anew (`rebuilt.reckoned`), the files taken and left alone, and whether anything was new.

    Raises:
        CannotRead: it is no club's book.
        ProgramFault: an accepted row is outside the layout's own bounds.
    """
    from apiarybook.gather.collate import collate

    return collate(club_book, returns, as_at=as_at, dry_run=True)
