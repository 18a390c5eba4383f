"""The club's book made anew from its claims and decisions, by reckon as well as by collate."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

import pandas as pd

from apiarybook.book.memory import raw_book
from apiarybook.book.settle import settle
from apiarybook.book.tables import read_book
from apiarybook.book.wants import with_wants
from apiarybook.checks.finding import Finding, Weight
from apiarybook.checks.loop import word
from apiarybook.checks.people import People
from apiarybook.checks.questions import questions_frame
from apiarybook.club.history import joined as with_history
from apiarybook.club.reckoned import Reckoned, about_book, reckon_settled, require_winter
from apiarybook.errors import CannotRead
from apiarybook.gather.claims import SHEETS, Claim, from_frame, joined, to_frame
from apiarybook.gather.decisions import applied, decisions_frame, decisions_of
from apiarybook.gather.fold import fold
from apiarybook.gather.redaction import masks
from apiarybook.gather.ref_ranges import natural
from apiarybook.gather.refs import typed_claims
from apiarybook.gather.roster import KEYS, NEW, NOT_BY_FILE, Line, Told, file_findings, lines, notes, questions
from apiarybook.gather.roster import to_frame as returns_frame
from apiarybook.gather.shares import shares
from apiarybook.layout import BOOK, Group
from apiarybook.readers.canonical import canonical_text
from apiarybook.readers.raw import read_raw

if TYPE_CHECKING:
    from collections.abc import Container, Iterator, Mapping
    from datetime import date
    from pathlib import Path

    from apiarybook.book.table import Table
    from apiarybook.book.tables import Book
    from apiarybook.gather.decisions import Decision
    from apiarybook.gather.folded import Folded
    from apiarybook.pages.notes import Note
    from apiarybook.readers.records import RawBook
    from apiarybook.writers.content import Kept

LISTS = tuple(sheet.name for sheet in BOOK.sheets if sheet.group is Group.SETTINGS and sheet.name != "Settings")


@dataclass(frozen=True, slots=True)
class Club:
    """A club's book as it stands on disk.

    Attributes:
        path: where.
        raw: the file as it stands.
        book: its tables.
        added: what people added to it and a rebuild must keep.
        lost: a sentence for each thing in it that cannot be carried over.
        claims: its own claims, and what was typed into it since they were written.
        decisions: what its secretary says holds.
        returns: its sheet Returns.
        token: what marks its own rows.
    """

    path: Path
    raw: RawBook
    book: Book
    added: Kept
    lost: tuple[str, ...]
    claims: list[Claim]
    decisions: list[Decision]
    returns: pd.DataFrame
    token: str

    @property
    def members(self) -> dict[str, str]:
        """Code of the member of each copy handed out."""
        return members_of(self.returns)


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """A club's book made anew.

    Attributes:
        reckoned: the book.
        folded: what its claims give.
        claims: all of them.
        lines: its sheet Returns.
        notes: what each member is to be told.
    """

    reckoned: Reckoned
    folded: Folded
    claims: list[Claim]
    lines: list[Line]
    notes: list[Note]


def members_of(returns: pd.DataFrame) -> dict[str, str]:
    """Code of the member of each copy, from a sheet Returns."""
    return {str(copy): str(member) for copy, member in zip(returns["copy"], returns["member"], strict=True)}


def returns_of(book: Book) -> pd.DataFrame:
    """The sheet Returns of a book; without rows if it has none."""
    if "Returns" not in book.kept:
        return pd.DataFrame(columns=KEYS, dtype=object)
    raw = book.kept["Returns"].raw.reindex(columns=KEYS)
    return raw[raw["copy"].notna() & raw["member"].notna()].reset_index(drop=True)


def refuse_member_copy(book: Book) -> None:
    """Let nobody reckon or gather in a member copy, which would lose the club's part of it.

    Args:
        book: a book as read.

    Raises:
        CannotRead: it is the copy of a member.
    """
    if book.properties.get("member"):
        raise CannotRead(f"{book.name} is the copy of a member; give the club's own book, where copies are gathered.")


def refuse_incomplete(book: Book) -> None:
    """Let nobody work on a book from which a sheet was deleted that tells what was handed out, gathered or decided.

    Args:
        book: a club's book as read.

    Raises:
        CannotRead: such a sheet is missing.
    """
    known = {**book.kept, **book.tables}
    used = any("file" in table.raw and table.raw["file"].notna().any() for table in book.kept.values())
    missing = [sheet.name for sheet in BOOK.sheets if sheet.once_handed_out and sheet.name not in known]
    if used and missing:
        raise CannotRead(
            f"{book.name}: missing from the book: {', '.join(missing)}, without which nothing that was handed out or "
            "gathered can be told; take the last backup that has all sheets."
        )


def read_as_club(raw: RawBook) -> Book:
    """Read a file that must be a club's book, with all that was handed out and gathered.

    Args:
        raw: the file as it stands.

    Raises:
        CannotRead: it is no club's book, or a sheet is missing from it.
    """
    book = read_book(raw)
    refuse_member_copy(book)
    refuse_incomplete(book)
    return book


def read_club(path: Path, as_at: date, read: tuple[RawBook, Book] | None = None) -> Club:
    """Read a club's book, and tell what was typed into it since its last run.

    Args:
        path: the book.
        as_at: the day for which to reckon.
        read: the book as `read_as_club` read it, and as it stood; read from disk if not given.

    Raises:
        CannotRead: it is no club's book.
    """
    from apiarybook.writers.user_additions import kept

    raw = read[0] if read else read_raw(path)
    book = read[1] if read else read_as_club(raw)
    require_winter(book)
    added, lost = kept(raw, path.read_bytes(), book)
    book = with_wants(book, as_at)
    token = about_book(book)["copy id"]
    decisions = decisions_of(book, as_at)
    claims = claims_in(book, raw, token, decisions, as_at, is_rewritten=True)
    return Club(path, raw, book, added, lost, claims, decisions, returns_of(book), token)


def claims_in(
    book: Book, raw: RawBook, token: str, decisions: list[Decision], as_at: date, *, is_rewritten: bool = False
) -> list[Claim]:
    """The claims that a state of the club's book holds, and what was typed into it since they were written.

    Args:
        book: the book, or another state of it.
        raw: the file as it stands.
        token: what marks its own rows.
        decisions: what it says holds.
        as_at: the day for which to reckon.
        is_rewritten: whether it is the book that this run makes anew.
    """
    own = from_frame(book.kept["Claims"].raw) if "Claims" in book.kept else []
    known = fold(own, applied(decisions), members_of(returns_of(book))).values
    typed = typed_claims(book, known, token, gathered=as_at.isoformat(), source=raw, is_rewritten=is_rewritten)
    return joined(own, typed)


def rebuild(club: Club, claims: list[Claim], decisions: list[Decision], as_at: date) -> Rebuilt:
    """Make a club's book anew.

    Args:
        club: the book as it stands; its settings and lists are kept as they are.
        claims: all claims.
        decisions: all decisions.
        as_at: the day for which to reckon.

    Returns:
        the book, the same for the same claims and decisions whatever their order.
    """
    folded = fold(claims, decisions, club.members)
    settled = settle(_book(club, folded, claims), club.token)
    refs = {(name, ref): row for name in SHEETS for row, ref in _refs(settled, name)}
    held: dict[str, dict[int, str]] = {
        name: {refs[name, ref]: reason for ref, reason in reasons.items() if (name, ref) in refs}
        for name, reasons in folded.held.items()
    }
    reckoned = reckon_settled(settled, about_book(club.book), as_at, _moved(club, settled, refs), held)
    of_files = [finding for _, finding in file_findings(claims)]
    findings = [*reckoned.checked.findings, *_open(folded, refs, settled), *of_files]
    reckoned = replace(reckoned, checked=replace(reckoned.checked, findings=findings))
    return _with_lines(club, reckoned, folded, claims, decisions)


def _with_lines(
    club: Club, reckoned: Reckoned, folded: Folded, claims: list[Claim], decisions: list[Decision]
) -> Rebuilt:
    shared = shares(reckoned.book, club.members)
    told = Told(reckoned, claims, folded, club.members, shared, masks(reckoned.book, shared))
    asked = questions(told)
    due, as_at = club.book.settings.get("returns_due"), reckoned.content.as_at
    members = reckoned.book.tables["Members"].typed
    not_by_file = set(members.loc[members["returns_by"].isin(NOT_BY_FILE), "member"].dropna())
    found = lines(club.returns, claims, _brought(folded), asked, as_at, due, not_by_file)
    sheets = {
        "Claims": to_frame(claims),
        "Changes": with_history(folded.changes, club.book.kept["Changes"].raw if "Changes" in club.book.kept else None),
        "Questions": questions_frame(reckoned.checked.findings, decisions_frame(folded, decisions)),
        "Returns": returns_frame(found),
    }
    content = replace(reckoned.content, told=reckoned.content.told | sheets)
    return Rebuilt(replace(reckoned, content=content), folded, claims, found, notes(told, found, asked))


def _brought(folded: Folded) -> dict[str, int]:
    """By SHA-256 of each file, how many of its rows are not as they were handed out."""
    found: dict[str, int] = defaultdict(int)
    for count in folded.counts:
        found[str(count["sha256"])] += sum(int(str(count.get(key, 0))) for key in NEW)
    return found


def _refs(book: Book, name: str) -> Iterator[tuple[int, str]]:
    table = book.tables[name]
    for row, ref in zip(table.raw.index.tolist(), table.raw["ref"].tolist(), strict=True):
        if ref is not None:
            yield row, canonical_text(ref)


def _moved(club: Club, settled: Book, refs: Mapping[tuple[str, str], int]) -> Kept:
    """What people added beside rows, moved to where these rows now stand; a formula only where it still holds."""
    if not any((club.added.columns, club.added.notes, club.added.formulas, club.added.looks)):
        return club.added
    before = settle(club.book, club.token)
    new = {name: {row: refs.get((name, ref), row) for row, ref in _refs(before, name)} for name in SHEETS}

    def moved(name: str, row: int) -> int:
        return new.get(name, {}).get(row, row)

    added = club.added
    columns = {
        name: tuple(replace(one, values={moved(name, row): cell for row, cell in one.values.items()}) for one in of)
        for name, of in added.columns.items()
    }
    notes = {
        name: {(moved(name, row), key): text for (row, key), text in of.items()} for name, of in added.notes.items()
    }
    formulas = {
        name: {
            (moved(name, row), key): one
            for (row, key), one in of.items()
            if name not in SHEETS or _stands(settled.tables[name], moved(name, row), key, one.text)
        }
        for name, of in added.formulas.items()
    }
    looks = {name: {(moved(name, row), key): one for (row, key), one in of.items()} for name, of in added.looks.items()}
    return replace(added, columns=columns, notes=notes, formulas=formulas, looks=looks)


def _stands(table: Table, row: int, key: str, text: str) -> bool:
    """Whether a cell still holds the formula that was typed into it."""
    return key not in table.raw or (row in table.raw.index and bool(table.raw.loc[row, key] == canonical_text(text)))


def _open(folded: Folded, refs: Mapping[tuple[str, str], int], book: Book) -> Iterator[Finding]:
    """What a person has to settle, as findings."""
    place = partial(_place, book, People(book), refs)
    for conflict in folded.conflicts:
        if conflict.holds is None:
            said = "; ".join(f"{one.letter} {canonical_text(one.value) or 'blank'}" for one in conflict.claims)
            found = place(conflict.sheet, conflict.ref, conflict.column, conflict.key)
            yield word(replace(found, rule="conflict", value=canonical_text(conflict.agreed)), {"claims": said})
    for ask in folded.asks:
        if ask.holds is None:
            found = place(ask.sheet, ask.ref, "", ask.key)
            yield word(replace(found, rule=ask.rule, value=ask.value), {})
    for wrong in folded.wrong:
        told = {"understood": wrong.understood}
        found = Finding("decision-not-understood", Weight.ASK, book.name, "Questions", "", "answer", "", "", "")
        yield word(replace(found, value=canonical_text(wrong.holds)), told)


def _place(
    book: Book, people: People, refs: Mapping[tuple[str, str], int], sheet: str, ref: str, key: str, question: str
) -> Finding:
    row = refs.get((sheet, ref))
    cell = "" if row is None else book.tables[sheet].place(row, key or "ref")
    heading = BOOK[sheet][key].heading if key else ""
    found = Finding("", Weight.NOTE, book.name, sheet, cell, heading, "", "", "", ref=ref, column=key, key=question)
    return people.told(found, sheet, row or 0)


def _book(club: Club, folded: Folded, claims: list[Claim]) -> Book:
    """The club's book with its data sheets as the claims give them.

    Rows of copies come copy after copy in the order of their marks, those without a number in the order of the lines on
    which they were first met, so that the order in which files came changes nothing. What was typed into the club's
    book itself stays below the row under which it stands.
    """
    line: dict[tuple[str, str], int] = {}
    for claim in claims:
        if claim.ref and claim.place:
            key = claim.sheet, claim.ref
            line[key] = min(int(claim.place), line.get(key, int(claim.place)))
    tables = {name: table.raw for name, table in club.book.tables.items() if name in LISTS}
    for name, frame in folded.rows.items():

        def order(ref: str, name: str = name) -> tuple[object, ...]:
            token, _, mark = ref.rpartition("-")
            number = int(mark[1:]) if mark[:1].isupper() and mark[1:].isdecimal() else line.get((name, ref), 0)
            return natural(token), mark[:1], number, ref

        by_mark = sorted(frame.index, key=order)
        tables[name] = frame.loc[_below(by_mark, _standing(club, name, claims), club.members)].reset_index(drop=True)
    made = read_book(raw_book(tables, club.book.settings, {}, club.book.name))
    data = {name: made.tables[name] for name in SHEETS if name in made.tables}
    others = {name: table for name, table in club.book.tables.items() if name not in SHEETS}
    return replace(club.book, tables=others | data)


def _standing(club: Club, name: str, claims: list[Claim]) -> list[str]:
    """The refs of a sheet of the club's book in the order of its rows; of new rows those that their claims have."""
    table = club.book.tables.get(name)
    rows = dict(_refs(club.book, name)) if table is not None and "ref" in table.raw else {}
    new = {
        int(claim.place): claim.ref
        for claim in claims
        if claim.sheet == name
        and claim.copy == club.token
        and claim.sha256 == club.book.sha256
        and claim.place.isdecimal()
    }
    return [ref for _, ref in sorted((rows | new).items())]


def _below(by_mark: list[str], standing: list[str], copies: Container[str]) -> list[str]:
    """Refs in the order of their marks, but those that are of no copy below the one under which they stand.

    >>> _below(["club-W1", "club-W2", "club-W3", "M1a-W1"], ["club-W1", "club-W3", "club-W2"], {"M1a"})
    ['club-W1', 'club-W3', 'club-W2', 'M1a-W1']
    """
    known = set(by_mark)
    stands = [ref for ref in dict.fromkeys(standing) if ref in known]
    above = dict(zip(stands, [None, *stands], strict=False))
    kept = {ref: above[ref] for ref in stands if ref.rpartition("-")[0] not in copies}
    under: dict[str | None, list[str]] = defaultdict(list)
    for ref, over in kept.items():
        under[over].append(ref)
    found: list[str] = []
    following = [ref for ref in reversed(by_mark) if ref not in kept] + under[None]
    while following:
        found.append(following.pop())
        following += under[found[-1]]
    return found
