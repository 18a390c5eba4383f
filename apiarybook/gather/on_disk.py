"""A club's book on disk: reckoned, closed and carried over in place, from its claims where it has any."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from apiarybook.book.fingerprint import CLOSED
from apiarybook.club.reckoned import reckon_book, refuse_unreadable, replace_book
from apiarybook.errors import CannotRead, CannotWrite
from apiarybook.gather.club_book import read_as_club, read_club, rebuild
from apiarybook.layout.schemas import gate
from apiarybook.readers.raw import open_elsewhere, read_raw
from apiarybook.writers.safe_replace import locked, put_in_place

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import date
    from pathlib import Path

    from apiarybook.book.tables import Book
    from apiarybook.club.carry import Carried
    from apiarybook.club.closing import Year
    from apiarybook.club.reckoned import Reckoned
    from apiarybook.readers.pieces import Remembered
    from apiarybook.readers.records import RawBook
    from apiarybook.writers.content import Content


def reckon_file(
    path: Path, as_at: date, refuse: Callable[[Reckoned], None] | None = None
) -> tuple[Reckoned, Path, tuple[str, ...]]:
    """Reckon a club's book in place.

    Args:
        path: the book.
        as_at: the day for which to reckon.
        refuse: looks at the book before anything is written; what it raises leaves the book as it is.

    Returns:
        the reckoned book; where the new one stands: in place of the old, or beside it where something that people
        added could not be carried over; and a sentence for each of these things.

    Raises:
        CannotRead: it is no club's book.
        CannotWrite: it is open elsewhere, changed meanwhile, or its folder cannot be written.
    """
    with locked(path):
        raw = read_raw(path)
        reckoned, lost = _reckoned(path, raw, as_at)
        if refuse is not None:
            refuse(reckoned)
        placed = replace_book(raw, path, _written(reckoned.content), lost, as_at)
    return reckoned, placed.target, placed.lost


def reckon_path(path: Path, as_at: date) -> tuple[Reckoned, tuple[str, ...]]:
    """Reckon a club's book from its claims and decisions where it has any, else as it stands; write nothing.

    Args:
        path: the book.
        as_at: the day for which to reckon.

    Returns:
        the reckoned book, and a sentence for each thing that people added and cannot be carried over.

    Raises:
        CannotRead: it is no club's book.
        ProgramFault: an accepted row is outside the layout's own bounds.
    """
    reckoned, lost = _reckoned(path, read_raw(path), as_at)
    gate(reckoned.content.accepted())
    return reckoned, lost


def _reckoned(path: Path, raw: RawBook, as_at: date) -> tuple[Reckoned, tuple[str, ...]]:
    book = read_as_club(raw)
    return _gathered(path, as_at, (raw, book)) if _has_claims(book) else _as_typed(path, raw, book, as_at)


def answer_file(path: Path, answers: Mapping[str, str], as_at: date) -> tuple[Reckoned, Path, tuple[str, ...]]:
    """Type answers on the sheet Questions of a club's book and reckon it in place, as if they had been typed by hand.

    Args:
        path: the book.
        answers: what is answered, by the key of the question; the empty text takes an answer back.
        as_at: the day for which to reckon.

    Returns:
        as `reckon_file`.

    Raises:
        CannotRead: it is no club's book, or it has no sheet Questions.
        CannotWrite: it is open elsewhere, changed meanwhile, or its folder cannot be written.
    """
    with locked(path):
        raw = read_raw(path)
        typed = with_answers(raw, read_as_club(raw), answers)
        reckoned, lost = _reckoned(path, typed, as_at)
        placed = replace_book(raw, path, _written(reckoned.content), lost, as_at)
    return reckoned, placed.target, placed.lost


def with_answers(raw: RawBook, book: Book, answers: Mapping[str, str]) -> RawBook:
    """A file with answers typed on its sheet Questions.

    Args:
        raw: the file as it stands.
        book: the same, read.
        answers: what is answered, by the key of the question.

    Raises:
        CannotRead: it has no sheet Questions.
    """
    table = book.tables.get("Questions")
    if table is None or not {"key", "holds"} <= table.columns.keys():
        raise CannotRead(f"{book.name}: the sheet Questions is missing; run apiarybook reckon on the book first.")
    rows = [list(row) for row in raw.sheets[table.name].rows]
    placed = {str(key): int(str(row)) for row, key in table.raw["key"].dropna().items()}
    key_at, answer_at = table.columns["key"] - 1, table.columns["holds"] - 1
    for key, entry in answers.items():
        if key not in placed:
            rows.append([])
            placed[key] = len(rows)
        row = rows[placed[key] - 1]
        row += [None] * (max(key_at, answer_at) + 1 - len(row))
        row[key_at], row[answer_at] = key, entry or None
    return replace(raw, sheets=raw.sheets | {table.name: replace(raw.sheets[table.name], rows=rows)})


def look_at_file(path: Path, as_at: date, remembered: Remembered | None = None) -> Reckoned:
    """Reckon a club's book and write nothing.

    Args:
        path: the book.
        as_at: the day for which to reckon.
        remembered: what it said when it was read last, where it is looked at again and again.

    Returns:
        the reckoned book.

    Raises:
        CannotRead: it is no club's book.
    """
    raw = read_raw(path, remembered=remembered)
    book = read_as_club(raw)
    return _gathered(path, as_at, (raw, book))[0] if _has_claims(book) else reckon_book(book, as_at)


def _written(content: Content) -> bytes:
    """A book's bytes; what writes them is not loaded for a look at one."""
    from apiarybook.writers.workbook import write_book

    return write_book(content)


def _has_claims(book: Book) -> bool:
    return "Claims" in book.kept and bool(book.kept["Claims"].raw["row"].notna().any())


def _as_typed(path: Path, raw: RawBook, book: Book, as_at: date) -> tuple[Reckoned, tuple[str, ...]]:
    from apiarybook.writers.user_additions import kept

    added, lost = kept(raw, path.read_bytes(), book)
    return reckon_book(book, as_at, added), lost


def _gathered(path: Path, as_at: date, read: tuple[RawBook, Book]) -> tuple[Reckoned, tuple[str, ...]]:
    """A book into which returns were gathered follows from its claims and decisions, not from its data sheets alone."""
    club = read_club(path, as_at, read)
    return rebuild(club, club.claims, club.decisions, as_at).reckoned, club.lost


def close_file(
    path: Path, as_at: date, refuse: Callable[[Reckoned], None] | None = None
) -> tuple[Year, Path, tuple[str, ...]]:
    """Close the year of a club's book in place.

    Args:
        path: the book.
        as_at: the day for which to reckon.
        refuse: looks at the book before anything is written; what it raises leaves the book as it is.

    Returns:
        the year's end, where the book stands now, and a sentence for each thing that could not be carried over.

    Raises:
        CannotRead: it is no club's book.
        CannotWrite: it is open elsewhere, changed meanwhile, or its folder cannot be written.
    """
    from apiarybook.club.closing import close

    with locked(path):
        who = open_elsewhere(path)
        if who:
            raise CannotWrite(
                f"{path.name} is open in a spreadsheet program ({who}) and was left as it is; save and close it there, "
                "then run again."
            )
        raw = read_raw(path)
        reckoned, lost = _reckoned(path, raw, as_at)
        _refuse_earlier_day(reckoned)
        if refuse is not None:
            refuse(reckoned)
        year = close(reckoned)
        placed = replace_book(raw, path, _written(year.reckoned.content), lost, as_at)
    return year, placed.target, placed.lost


def close_and_report(path: Path, folder: Path, as_at: date) -> tuple[Year, Path, tuple[str, ...], Path]:
    """Close the year of a club's book, and write its report.

    Args:
        path: the club's book.
        folder: of the report.
        as_at: the day for which to reckon.

    Returns:
        the year's end, where the book stands now, a sentence for each thing that could not be carried over, and the
        page of the report.

    Raises:
        CannotRead: it is no club's book.
        CannotWrite: the book or the report cannot be written.
    """
    from apiarybook.pages.own_pages import refuse_foreign_folder, report_mark
    from apiarybook.pages.year_page import page_name, write_report

    def refuse(reckoned: Reckoned) -> None:
        refuse_foreign_folder(folder, page_name(reckoned), report_mark(reckoned.content.about["book id"]))

    year, target, lost = close_file(path, as_at, refuse)
    return year, target, lost, write_report(year, folder)


def _refuse_earlier_day(reckoned: Reckoned) -> None:
    """A closed year is not opened again by looking at it from a day on which its winter was not over."""
    closed, as_at = str(reckoned.content.about.get(CLOSED) or ""), reckoned.content.as_at.isoformat()
    if as_at < closed:
        raise CannotWrite(
            f"{reckoned.book.name} was closed as at {closed} and was left as it is; {as_at} is before that, so name "
            "that day or a later one with --as-at."
        )


def carry_file(path: Path, target: Path, *, year: int, as_at: date, book_id: str) -> Carried:
    """Make the book of the next winter where none stands yet; the old one is only read.

    Args:
        path: the club's book.
        target: where the next one is to stand.
        year: the year in which the next winter begins.
        as_at: the day for which the next book is reckoned.
        book_id: tells the next book from others.

    Raises:
        CannotRead: it is no club's book.
        CannotWrite: the winter is not a later one, the name does not end in .xlsx, or something stands there.
    """
    from apiarybook.club.carry import carry

    if target.suffix.casefold() != ".xlsx":
        raise CannotWrite(f"{target.name}: a book's name ends in .xlsx; choose another name.")
    if target.exists():
        raise CannotWrite(f"{target.name} stands there already and was left as it is; choose another name or folder.")
    if not target.parent.is_dir():
        raise CannotWrite(f"{target.name}: {target.parent} is no folder; make it or name another.")
    old, _ = reckon_path(path, as_at)
    carried = carry(old, year=year, as_at=as_at, book_id=book_id)
    data = _written(carried.reckoned.content)
    refuse_unreadable(target, data)
    with locked(target):
        put_in_place(target, data, seen_sha256=None, stamp=as_at.isoformat())
    return carried
