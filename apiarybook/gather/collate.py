"""Gathering: files found, told, folded into the club's book, and a note for each member."""

from __future__ import annotations

import os
from collections import deque
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from apiarybook.book.fingerprint import AS_CLOSED, CLOSED, FINGERPRINT, SETTING_OF_RUNS, is_closed, was_changed
from apiarybook.checks.questions import questions_frame
from apiarybook.club.history import with_line
from apiarybook.club.reckoned import Replaced, replace_book
from apiarybook.errors import CannotRead, CannotWrite, in_words
from apiarybook.gather.claims import HANDED_OUT, Claim, joined
from apiarybook.gather.club_book import Club, Rebuilt, claims_in, read_club, rebuild
from apiarybook.gather.decisions import decisions_of
from apiarybook.gather.returns import Known, Return, State, about_of, tell, types_of
from apiarybook.gather.sources import BOOKS, Found, LeftAlone, Source, is_backup, sources
from apiarybook.layout import BOOK, SETTINGS
from apiarybook.pages.notes import as_page, as_text, note_name
from apiarybook.readers.canonical import canonical_text
from apiarybook.readers.raw import is_lock_file, open_elsewhere, read_raw
from apiarybook.writers.safe_replace import locked, put_text
from apiarybook.writers.workbook import write_book

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence
    from datetime import date

    from apiarybook.book.table import Table
    from apiarybook.book.tables import Book
    from apiarybook.gather.decisions import Decision
    from apiarybook.gather.returns import Told
    from apiarybook.pages.notes import Note


AT_ONCE = 2
"""Files read at the same time: the reader of xlsx files lets go of the interpreter while it works."""
WAITING = 3
"""Files that wait to be read while others are."""
STATES_LOOKED_AT = 20
"""Books beside the club's own that are looked at."""


@dataclass(frozen=True, slots=True)
class Gathering:
    """What came of gathering.

    Attributes:
        rebuilt: the club's book made anew.
        returns: the files that were taken.
        left_alone: the files that were not, each with a sentence why.
        offered: other states of the club's own book that were found and not taken.
        not_gathered: a sentence for each setting, list row, own column and own sheet of a state that was taken.
        target: where the book stands now.
        backup: where the former book is kept; None if nothing was written.
        is_new: whether there was anything new, so that the book was (or would be) written.
        lost: a sentence for each thing in the book that could not be carried over.
        notes: where the notes stand, by member.
        reopened: if the year was closed and is open again, the day for which it was closed.
    """

    rebuilt: Rebuilt
    returns: list[Return]
    left_alone: list[LeftAlone]
    offered: list[str]
    not_gathered: list[str]
    target: Path
    backup: Path | None
    is_new: bool
    lost: tuple[str, ...]
    notes: dict[str, Path]
    reopened: str = ""


def collate(
    club_path: Path,
    paths: Sequence[Path],
    *,
    as_at: date,
    dry_run: bool = False,
    notes_into: Path | None = None,
    told: Callable[[int, int], None] | None = None,
) -> Gathering:
    """Gather returns into a club's book, and write a note for each member.

    The returns themselves are only read. The book comes out the same whatever the order of the files and however
    often they are given.

    Args:
        club_path: the club's book.
        paths: returns, folders, archives and messages.
        as_at: the day for which to reckon.
        dry_run: write nothing, only say what would be.
        notes_into: folder of the notes; one beside the book, named for the day, if not given.
        told: called with how many files are read, and of how many, after each.

    Returns:
        what came of it.

    Raises:
        CannotRead: it is no club's book, or one of the paths is not there.
        CannotWrite: the book is open elsewhere or changed meanwhile, or a folder cannot be written.
        ProgramFault: an accepted row is outside the layout's own bounds.
    """
    _refuse_missing(paths)
    with locked(club_path):
        if not dry_run:
            _refuse_open(club_path)
        club = read_club(club_path, as_at)
        known = known_of(club, as_at)
        read = list(_read(sources(paths, without=[club_path]), known, told))
        states = [one for source, one in read if isinstance(one, State) and _is_named(source)]
        claims, decisions = _joined(club, read, states, as_at)
        rebuilt, reopened = _open_again(club, rebuild(club, claims, decisions, as_at))
        data = write_book(rebuilt.reckoned.content)
        is_new = data != club_path.read_bytes()
        placed = Replaced(club_path, None, club.lost)
        if is_new and not dry_run:
            placed = replace_book(club.raw, club_path, data, club.lost, as_at)
    folder = notes_into or club_path.with_name(f"notes {as_at.isoformat()}")
    written = {} if dry_run else write_notes(rebuilt.notes, folder)
    return Gathering(
        rebuilt=rebuilt,
        returns=[one for _, one in read if isinstance(one, Return)],
        left_alone=[one for _, one in read if isinstance(one, LeftAlone)],
        offered=_offered(club_path, known, read),
        not_gathered=[told for state in states for told in _not_gathered(state.book, club.book)],
        target=placed.target,
        backup=placed.backup,
        is_new=is_new,
        lost=placed.lost,
        notes=written,
        reopened=reopened,
    )


def _open_again(club: Club, rebuilt: Rebuilt) -> tuple[Rebuilt, str]:
    """A closed book is open again once anything new is gathered into it; says the day for which it was closed."""
    closed = club.book.properties.get(CLOSED, "")
    if not is_closed(club.book) or (rebuilt.claims == club.claims and not was_changed(rebuilt.reckoned.book)):
        return rebuilt, ""
    content = rebuilt.reckoned.content
    why = f"closed as at {closed}, and something new was gathered into it"
    changes = with_line(content.told["Changes"], "reopened", content.as_at, why)
    about = {key: one for key, one in content.about.items() if key not in {CLOSED, FINGERPRINT}}
    found = [one for one in rebuilt.reckoned.checked.findings if one.rule != "closed-book-changed"]
    checked = replace(rebuilt.reckoned.checked, findings=found)
    questions = questions_frame(found, content.told["Questions"])
    told = {key: one for key, one in content.told.items() if key != AS_CLOSED}
    told |= {"Changes": changes, "Questions": questions}
    content = replace(content, about=about, told=told)
    return replace(rebuilt, reckoned=replace(rebuilt.reckoned, content=content, checked=checked)), closed


def _refuse_open(path: Path) -> None:
    who = open_elsewhere(path)
    if who:
        raise CannotWrite(
            f"{path.name} is open in a spreadsheet program ({who}) and was left as it is; save and close it there, "
            "then run again, or add --dry-run to see what would change."
        )


def known_of(club: Club, as_at: date) -> Known:
    """What tells the returns of a club's book.

    Args:
        club: the book as it stands.
        as_at: the day for which to reckon.
    """
    handed: dict[str, list[Claim]] = {}
    for claim in club.claims:
        if claim.file == HANDED_OUT:
            handed.setdefault(claim.copy, []).append(claim)
    apiaries, colonies = club.book.tables["Apiaries"].typed, club.book.tables["Colonies"].typed
    keeper = {
        str(apiary).casefold(): str(member).casefold()
        for apiary, member in zip(apiaries["apiary"], apiaries["member"], strict=True)
        if apiary and member
    }
    owners = {
        str(colony).casefold(): keeper[str(apiary).casefold()]
        for colony, apiary in zip(colonies["colony"], colonies["apiary"], strict=True)
        if colony and str(apiary).casefold() in keeper
    }
    book_id = club.book.properties.get("book id", "")
    types, settings = types_of(club.book), club.book.settings
    return Known(book_id, club.token, club.members, owners, types, handed, as_at.isoformat(), settings)


def _read(
    found: Iterable[Found], known: Known, told: Callable[[int, int], None] | None
) -> Iterator[tuple[Found, Told]]:
    """Read files side by side, few enough at a time to stay small, and give them in their order.

    What stands in an archive is unpacked when its turn comes, and let go when it is read.
    """
    waiting: deque[tuple[Found, Future[Told] | LeftAlone]] = deque()
    done = 0
    with ThreadPoolExecutor(AT_ONCE) as pool:
        for one in found:
            waiting.append((one, pool.submit(tell, one, known) if isinstance(one, Source) else one))
            while len(waiting) > WAITING:
                yield _next(waiting)
                done += 1
                if told:
                    told(done, done + len(waiting))
        while waiting:
            yield _next(waiting)
            done += 1
            if told:
                told(done, done + len(waiting))


def _next(waiting: deque[tuple[Found, Future[Told] | LeftAlone]]) -> tuple[Found, Told]:
    source, one = waiting.popleft()
    plain = replace(source, data=None) if isinstance(source, Source) else source
    return plain, one if isinstance(one, LeftAlone) else one.result()


def _is_named(source: Found) -> bool:
    return isinstance(source, Source) and source.is_named


def _refuse_missing(paths: Iterable[Path]) -> None:
    for path in paths:
        if not path.exists():
            raise CannotRead(f"{path}: there is no such file or folder; check the name.")


def _joined(
    club: Club, read: Iterable[tuple[Found, Told]], states: Sequence[State], as_at: date
) -> tuple[list[Claim], list[Decision]]:
    claims = [one.claims for _, one in read if isinstance(one, Return)]
    decisions = club.decisions
    for state in states:
        said = decisions_of(state.book, as_at)
        claims.append(claims_in(state.book, state.raw, club.token, said, as_at))
        answered = {one.key for one in decisions if one.holds is not None}
        given = [one for one in said if one.holds is not None and one.key not in answered]
        decisions = [*(one for one in decisions if one.key not in {new.key for new in given}), *given]
    return joined(club.claims, *claims), decisions


def _offered(club_path: Path, known: Known, read: Iterable[tuple[Found, Told]]) -> list[str]:
    """Other states of the club's own book, in the folders that were given and beside the book, but for backups."""
    held = list(read)
    states = {one.name for source, one in held if isinstance(one, State) and not _is_named(source)}
    found = {name for name in states if not is_backup(Path(name))}
    named = {os.path.realpath(one.path) for one, _ in held if isinstance(one, Source) and one.path is not None}
    looked_at = 0
    for path in sorted(club_path.parent.iterdir()):
        alike = path.stem.casefold().startswith(club_path.stem.casefold()) or "conflict" in path.stem.casefold()
        if not alike or path.suffix.lower() not in BOOKS or is_backup(path) or is_lock_file(path):
            continue
        if path == club_path or os.path.realpath(path) in named or looked_at == STATES_LOOKED_AT:
            continue
        looked_at += 1
        if _is_state(path, known):
            found.add(path.name)
    return sorted(found)


def _is_state(path: Path, known: Known) -> bool:
    try:
        about = about_of(read_raw(path))
    except CannotRead:
        return False
    return bool(known.book_id) and (about.get("book id"), about.get("copy id")) == (known.book_id, known.token)


def write_notes(notes: Sequence[Note], folder: Path) -> dict[str, Path]:
    """Write the notes of those members who have sent something, as text and as a page.

    Args:
        notes: what to tell each member.
        folder: where; made if need be. Files of other names in it are left alone.

    Returns:
        the text of each member's note, by code.

    Raises:
        CannotWrite: the folder cannot be made or written.
    """
    written: dict[str, Path] = {}
    told = [note for note in notes if note.received]
    try:
        if told:
            folder.mkdir(parents=True, exist_ok=True)
        for note in told:
            name = note_name(note.member, [path.stem for path in written.values()])
            written[note.member] = folder / f"{name}.txt"
            put_text(folder / f"{name}.txt", as_text(note))
            put_text(folder / f"{name}.html", as_page(note))
    except OSError as fault:
        raise CannotWrite(
            f"{folder}: the club's book is up to date, but the notes could not be written ({in_words(fault)}); name "
            "another folder with --notes and run again."
        ) from fault
    return written


def _not_gathered(state: Book, club: Book) -> Iterator[str]:
    """Say what a state holds of settings, lists, own columns and own sheets that the club's book does not."""
    for setting in SETTINGS:
        here, there = (canonical_text(book.settings.get(setting.key)) for book in (club, state))
        if here != there and setting.key != SETTING_OF_RUNS:
            yield _sentence(state, "Settings", f"{setting.heading} is {there or 'blank'}, not {here or 'blank'}", club)
    for sheet in BOOK.sheets:
        table, ours = state.tables.get(sheet.name), club.tables.get(sheet.name)
        if table is None or ours is None or sheet.name == "Settings":
            continue
        if sheet.is_list and not sheet.mark:
            known = set(_rows(ours).values())
            new = ((row, told) for row, told in _rows(table).items() if told and told not in known)
            yield from (_sentence(state, f"{sheet.name}, row {row}", told, club) for row, told in new)
        own = dict(_own(ours))
        new_own = ((where, told) for where, told in _own(table) if own.get(where) != told)
        yield from (_sentence(state, f"{sheet.name}, {where}", told, club) for where, told in new_own)
    for name, foreign in state.foreign.items():
        if name not in club.foreign or club.foreign[name].rows != foreign.rows:
            yield _sentence(state, name, f"an own sheet of {len(foreign.rows)} rows", club)


def _sentence(state: Book, where: str, told: str, club: Book) -> str:
    return f"{state.name}, sheet {where}: {told}; this was not taken over, so type it into {club.name} if it holds."


def _rows(table: Table) -> dict[int, str]:
    """The typed rows of a list in words."""
    keys = [column.key for column in table.sheet.typed if column.key in table.raw]
    rows = table.raw[keys].to_dict("index")
    return {int(str(row)): ", ".join(filter(None, map(canonical_text, one.values()))) for row, one in rows.items()}


def _own(table: Table) -> Iterator[tuple[str, str]]:
    """What stands under headings of people's own: the heading, and all that stands there in words."""
    for heading in table.unknown:
        told = "; ".join(filter(None, map(canonical_text, table.unknown[heading].tolist())))
        if told:
            yield f"column {heading}", told
