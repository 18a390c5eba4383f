"""The package for Python programs: read a book, check it, reckon it; frames in and out, files only at the ends."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.book.fingerprint import CARRIED, CLOSED, FINGERPRINT
from apiarybook.book.headings import plain_heading
from apiarybook.book.memory import raw_book
from apiarybook.book.settings import Today, reckoned_day
from apiarybook.book.settle import settle
from apiarybook.book.si_frames import earlier, si
from apiarybook.book.tables import read_book
from apiarybook.book.wants import open_wants, with_wants
from apiarybook.checks.answers import is_of_finding
from apiarybook.checks.loop import Checked, Held, check_book
from apiarybook.checks.questions import questions_frame
from apiarybook.club.blank import new_settings, new_tables
from apiarybook.errors import CannotRead, CannotWrite
from apiarybook.layout import BOOK, LAYOUT_VERSION
from apiarybook.layout.settings import FIRST_WINTER, LAST_WINTER
from apiarybook.readers.canonical import canonical_text
from apiarybook.readers.raw import read_raw
from apiarybook.readers.within import is_within
from apiarybook.reckon.core.winter import serial, winter_words, year_of
from apiarybook.reckon.season import Season, reckon_as_asked, reckon_season
from apiarybook.writers.content import Content, Kept
from apiarybook.writers.safe_replace import locked, put_in_place, unchanged

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from apiarybook.book.tables import Book
    from apiarybook.readers.records import RawBook

__all__ = [
    "Reckoned",
    "check_book",
    "new_book",
    "read_book",
    "reckon_book",
    "start_file",
]


@dataclass(frozen=True, slots=True, repr=False)
class Reckoned:
    """A book checked and reckoned.

    Attributes:
        book: the book with every row in its place in the rebuilt book.
        checked: findings, held rows and counts.
        season: what was reckoned, in kg and days.
        content: everything that stands in the rebuilt book.
    """

    book: Book
    checked: Checked
    season: Season
    content: Content

    def __repr__(self) -> str:
        weights = [finding.weight.value for finding in self.checked.findings]
        count, as_at = int(self.season.standing["colony"].notna().sum()), self.content.as_at.isoformat()
        return f"<Reckoned: {count} colonies as at {as_at}, {weights.count('hold')} held, {weights.count('ask')} asked>"


@dataclass(frozen=True, slots=True)
class Replaced:
    """A book that was written: where it stands, where the former one is kept, and a sentence for each thing lost."""

    target: Path
    backup: Path | None
    lost: tuple[str, ...]


def reckon_book(book: Book, as_at: date, added: Kept | None = None) -> Reckoned:
    """Check a book and reckon all of it.

    Args:
        book: a club's book as `read_book` gave it.
        as_at: the day for which to reckon.
        added: what people added to the book and a rebuild must keep.

    Returns:
        the reckoned book.

    Raises:
        CannotRead: the book does not say which winter it is for.
    """
    require_winter(book)
    about, book = about_book(book), with_wants(book, as_at)
    return reckon_settled(settle(book, about["copy id"]), about, as_at, added)


def require_winter(book: Book) -> None:
    """Refuse a book that does not say which winter it is for.

    Args:
        book: a club's book as `read_book` gave it.

    Raises:
        CannotRead: the winter is blank, no year, or its sheet is missing.
    """
    if book.settings.get("winter") is not None:
        return
    if "Settings" not in book.tables:
        raise CannotRead(f"{book.name}: the sheet Settings is missing; take the last backup that has all sheets.")
    raw = book.tables["Settings"].raw
    typed = [canonical_text(one) for one in raw.loc[raw["setting"].map(plain_heading) == "winter", "value"]]
    said = f"{typed[0]!r}, which is no year from {FIRST_WINTER} to {LAST_WINTER}" if any(typed) else "blank"
    raise CannotRead(
        f"{book.name}, sheet Settings: the setting winter is {said}; type the year in which the winter begins, such as "
        "2026."
    )


def reckon_settled(
    book: Book, about: dict[str, str], as_at: date, added: Kept | None = None, also_held: Held | None = None
) -> Reckoned:
    """Check and reckon a book whose rows stand in their places already.

    Args:
        book: a club's book as `settle` gave it, or a member's share of one.
        about: what its sheet About says.
        as_at: the day for which to reckon, which pins the book; `Today` leaves it as it is, pinned or not.
        added: what people added to the book and a rebuild must keep.
        also_held: by sheet and row why rows are held that the checks alone would let pass.

    Returns:
        the reckoned book.
    """
    as_at = reckoned_day(book.settings, as_at)
    settled = replace(book, settings=book.settings | {"as_at": None if isinstance(as_at, Today) else as_at})
    checked = check_book(settled, as_at, also_held)
    frames = frames_of(settled, checked)
    begun = checked.season
    again = (frames | earlier(book), settled.settings, serial(as_at))
    season = reckon_season(*again) if begun is None else reckon_as_asked(begun, *again)
    content = Content(
        settings=settled.settings,
        typed={name: table.raw for name, table in settled.tables.items() if name in _TYPED_SHEETS},
        told=_told(checked, book, as_at),
        season=season,
        held=checked.held,
        asked=checked.asked,
        beyond=checked.beyond,
        about=about,
        as_at=as_at,
        kept=added or Kept(),
        accepted=partial(_accepted, settled, frames),
    )
    return Reckoned(settled, checked, season, content)


_TYPED_SHEETS = frozenset(sheet.name for sheet in BOOK.sheets if sheet.is_list)


def frames_of(settled: Book, checked: Checked) -> dict[str, pd.DataFrame]:
    """The sheets of a settled book as `reckon_season` takes them.

    Args:
        settled: the book.
        checked: what the checks say.

    Returns:
        by sheet its rows in SI, with why they are held, what is asked about them, and how far beyond a bound they are
        right.
    """
    frames = si(settled)
    for name, frame in frames.items():
        held, asked, beyond = (of.get(name, {}) for of in (checked.held, checked.asked, checked.beyond))
        rows = [int(row) for row in frame.index]
        frame["held"] = [held.get(row, "") for row in rows]
        frame["asked"] = [asked.get(row, "") for row in rows]
        frame["beyond"] = np.array([beyond.get(row, np.nan) for row in rows], dtype=np.float64)
    return frames


def _accepted(book: Book, frames: dict[str, pd.DataFrame]) -> dict[str, pd.DataFrame]:
    found = {}
    for name, frame in frames.items():
        used = (frame["held"] == "").to_numpy() & ~book.tables[name].is_blank.to_numpy()
        rows = frame.drop(columns=["held", "asked", "beyond"])[used]
        found[name] = rows.set_axis([f"{book.name}|{name}|{row}" for row in rows.index], axis=0)
    return found


def _told(checked: Checked, book: Book, as_at: date) -> dict[str, pd.DataFrame]:
    said = answered(book, as_at) if "Questions" in book.tables else None
    questions = questions_frame(checked.findings, said)
    return {"Questions": questions} | {name: table.raw for name, table in book.kept.items()}


def answered(book: Book, as_at: date) -> pd.DataFrame:
    """The rows of the sheet Questions that are kept: wants, and the answers given to what the checks found.

    Args:
        book: a club's book as read.
        as_at: the day for which the run reckons; answers met for the first time are dated so.
    """
    raw = book.tables["Questions"].raw
    both = zip(raw["key"], raw["holds"], strict=True)
    is_given = [key is not None and entry is not None and is_of_finding(str(key)) for key, entry in both]
    wants, given = open_wants(raw), raw.loc[is_given]
    fresh = given["applied"].isna()
    given = given.assign(applied=given["holds"], decided=given["decided"].where(~fresh, pd.Series(as_at, given.index)))
    return pd.concat([wants, given])


def about_book(book: Book) -> dict[str, str]:
    """What the sheet About says of a book: its id, layout, copy, winter; of a closed one when, and its fingerprint."""
    winter = year_of(book.settings)
    return {
        "book id": book.properties.get("book id", ""),
        "layout version": LAYOUT_VERSION,
        "copy id": book.properties.get("copy id") or f"club{winter % 100:02d}",
        "winter": f"{winter_words(winter)}",
    } | {key: book.properties[key] for key in (CLOSED, FINGERPRINT, CARRIED) if book.properties.get(key)}


def new_book(club: str, winter: int, region: str, unit: str, as_at: date, book_id: str = "") -> Reckoned:
    """A club's new book, blank but for the lists of its region.

    Args:
        club: the club's name; empty for a template.
        winter: the year in which the winter begins.
        region: one of the handbook's regions.
        unit: kg or lb.
        as_at: the day for which to reckon.
        book_id: what tells this book from others; empty for a template.

    Returns:
        the reckoned book.
    """
    settings = new_settings(club, winter, region, unit)
    token = f"club{winter % 100:02d}"
    tables = new_tables(region, unit, token)
    raw = raw_book(tables, settings, {"book id": book_id, "copy id": token})
    return reckon_book(read_book(raw), as_at)


def start_file(path: Path, *, club: str, winter: int, region: str, unit: str, as_at: date, book_id: str) -> Reckoned:
    """Make a club's book where none stands yet.

    Args:
        path: where the book is to stand.
        club: the club's name.
        winter: the year in which the winter begins.
        region: one of the handbook's regions.
        unit: kg or lb.
        as_at: the day for which to reckon.
        book_id: what tells this book from others.

    Returns:
        the reckoned book.

    Raises:
        CannotWrite: a file stands there already, or the folder cannot be written.
    """
    from apiarybook.writers.workbook import write_book

    reckoned = new_book(club, winter, region, unit, as_at, book_id)
    data = write_book(reckoned.content)
    refuse_unreadable(path, data)
    with locked(path):
        put_in_place(path, data, seen_sha256=None, stamp=as_at.isoformat())
    return reckoned


def replace_book(seen: RawBook, path: Path, data: bytes, lost: tuple[str, ...], as_at: date) -> Replaced:
    """Put a book made anew in the place of the one that it was read from, or beside it where something would be lost.

    To be called inside `locked`. The new book is read under the same limits as any book before anything is written.

    Args:
        seen: the book as it was read.
        path: where it stands.
        data: the bytes of what takes its place.
        lost: a sentence for each thing that people added to it and that could not be carried over.
        as_at: the day for which it was reckoned.

    Returns:
        where the new book stands, where the former one is kept, and all that was lost.

    Raises:
        CannotWrite: the book is open elsewhere, changed meanwhile, its folder cannot be written, or the new book could
            not be read again.
    """
    from apiarybook.writers.set_by_people import set_by_people

    new = refuse_unreadable(path, data)
    lost = (*lost, *set_by_people(seen, unchanged(path, seen.sha256), new, data))
    if not lost and seen.format == "xlsx":
        return Replaced(path, put_in_place(path, data, seen_sha256=seen.sha256, stamp=as_at.isoformat()), lost)
    target = _beside(path, data, as_at)
    return Replaced(target, put_in_place(target, data, seen_sha256=None, stamp=as_at.isoformat()), lost)


def refuse_unreadable(path: Path, data: bytes) -> RawBook:
    """Refuse a book that could not be read again once it is written.

    Args:
        path: where it should stand.
        data: its bytes.

    Returns:
        the book as it would be read; of the sheets that differ from club to club no rows if it is surely within bounds.

    Raises:
        CannotWrite: it is out of bounds; one sentence says where.
    """
    from apiarybook.writers.set_by_people import MADE_ANEW

    try:
        return read_raw((path.name, data), only=MADE_ANEW if is_within(path.name, data) else None)
    except CannotRead as fault:
        what = str(fault).partition(";")[0]
        raise CannotWrite(
            f"{what}: so it would be in the new book, which could not be read again, and nothing was written; take out "
            "or shorten what is more than a club has, then run again."
        ) from fault


def _beside(path: Path, data: bytes, as_at: date) -> Path:
    """A name beside the old book under which nothing stands yet, or this very book."""
    for number in range(1, 1000):
        tail = "" if number == 1 else f" {number}"
        target = path.with_name(f"{path.stem} reckoned {as_at.isoformat()}{tail}.xlsx")
        if not target.exists() or target.read_bytes() == data:
            return target
    raise CannotRead(f"{path.name}: a thousand reckoned copies stand beside it already; move some of them away.")
