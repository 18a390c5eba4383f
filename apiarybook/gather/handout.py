"""Handing out: one member copy for each member, and the club's book that remembers what was handed out."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import pandas as pd

from apiarybook.book.tables import read_book
from apiarybook.club.reckoned import replace_book
from apiarybook.errors import CannotRead, CannotWrite, in_words
from apiarybook.gather.claims import BLANK_ROWS, Claim, claims_of, joined
from apiarybook.gather.club_book import Club, read_club, rebuild
from apiarybook.gather.member_copy import Copy, Order, cut
from apiarybook.gather.redaction import marked, masks
from apiarybook.gather.ref_ranges import Runs
from apiarybook.gather.shares import Shares, shares
from apiarybook.layout import BOOK
from apiarybook.layout.model import SETTINGS_SHEET
from apiarybook.readers.limits import column_letters
from apiarybook.readers.raw import open_elsewhere, read_raw
from apiarybook.writers.safe_replace import locked, name_ready, put_ready
from apiarybook.writers.workbook import write_book

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from datetime import date
    from pathlib import Path

    from apiarybook.club.reckoned import Reckoned

_SHOWN = frozenset({*(view.name for view in BOOK.views), *(sheet.name for sheet in BOOK.to_return), SETTINGS_SHEET})
_NUMBER = re.compile(r"-[A-Z](\d+)\Z")
LETTERS_OF_BOOK = 4
"""Letters of the book's id in the token of each copy, so that a file's own marks tell which book it is of."""


@dataclass(frozen=True, slots=True)
class HandedOut:
    """A copy that was handed out: whose, where it stands, its token, its colonies and rows known already."""

    member: str
    path: Path
    copy: str
    colonies: int
    rows: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Handing:
    """What came of handing out.

    Attributes:
        copies: in the order of the sheet Members.
        skipped: codes of members who keep no apiary yet.
        club: the club's book, reckoned.
        target: where the club's book stands now.
        lost: a sentence for each thing in it that could not be carried over.
    """

    copies: list[HandedOut]
    skipped: list[str]
    club: Reckoned
    target: Path
    lost: tuple[str, ...]


def handout(
    club_path: Path,
    into: Path,
    *,
    members: Sequence[str] = (),
    as_at: date,
    book_id: str,
    told: Callable[[int, int], None] | None = None,
) -> Handing:
    """Hand out one member copy for each member.

    All or nothing: the copies get their names once the club's book that knows of them is in its place; a run that was
    cut off between the two is brought to its end by the next one.

    Args:
        club_path: the club's book.
        into: folder for the copies; made if need be.
        members: codes of the members; all if empty.
        as_at: the day for which to reckon.
        book_id: tells the book from others if it has no id yet.
        told: called with how many copies are made, and of how many, after each.

    Returns:
        what came of it.

    Raises:
        CannotRead: it is no club's book, or has no such member.
        CannotWrite: the book is open elsewhere or changed meanwhile, or a folder cannot be written.
    """
    with locked(club_path):
        _refuse_open(club_path)
        club = _with_id(read_club(club_path, as_at), book_id)
        before = rebuild(club, club.claims, club.decisions, as_at).reckoned
        chosen, skipped = _chosen(shares(before.book, club.members), members, club_path.name)
        handed = {str(name) for name in club.returns["file"]}
        name_ready(into, handed.__contains__)
        try:
            copies, claims = _hand_out(before, club, chosen, _folder(into), told)
            noting = replace(club, returns=_noted(club.returns, copies, as_at))
            after = rebuild(noting, joined(club.claims, claims), club.decisions, as_at).reckoned
            placed = replace_book(club.raw, club_path, write_book(after.content), club.lost, as_at)
            handed |= {copy.path.name for copy in copies}
        finally:
            name_ready(into, handed.__contains__)
    return Handing(copies, skipped, after, placed.target, placed.lost)


def _refuse_open(path: Path) -> None:
    """Say before any work what would be refused after it."""
    who = open_elsewhere(path)
    if who:
        raise CannotWrite(
            f"{path.name} is open in a spreadsheet program ({who}); handing out writes into it what was handed out, so "
            "save and close it there, then run again."
        )


def _with_id(club: Club, book_id: str) -> Club:
    if club.book.properties.get("book id"):
        return club
    return replace(club, book=replace(club.book, properties=club.book.properties | {"book id": book_id}))


def _chosen(shared: Shares, members: Sequence[str], name: str) -> tuple[list[str], list[str]]:
    """Whom to hand a copy, and who has no apiary to put into one."""
    spelt = {code.casefold(): code for code in shared.names}
    for code in members:
        if code.casefold() not in spelt:
            near = difflib.get_close_matches(code.casefold(), spelt, n=1)
            perhaps = f" (perhaps {spelt[near[0]]})" if near else ""
            raise CannotRead(
                f"{name}, sheet Members: no member has the code {code!r}{perhaps}; give a code that stands there."
            )
    wanted = {spelt[code.casefold()] for code in members} or set(shared.names)
    keeping = set(shared.apiaries.values())
    chosen = [code for code in shared.names if code in wanted and code in keeping]
    skipped = [code for code in shared.names if code in wanted and code not in keeping]
    if not chosen:
        raise CannotRead(
            f"{name}: there is nobody to hand a copy to, since no apiary has a member beside it; fill in the sheets "
            "Members and Apiaries, then run again."
        )
    return chosen, skipped


def _orders(members: list[str], club: Club) -> list[Order]:
    """Give each new copy a token that no other has, nor one of another book, and refs that go on from earlier ones."""
    taken = {copy.casefold() for copy in (club.token, *club.members)}
    of_book = re.sub(r"[^A-Za-z0-9]", "", club.book.properties["book id"])[:LETTERS_OF_BOOK]
    orders = []
    for member in members:
        earlier = frozenset(copy for copy, of in club.members.items() if of == member)
        stem = re.sub(r"[^A-Za-z0-9]", "", member)
        number = len(earlier) + 1
        while (token := f"{stem}{_letter(number)}_{of_book}").casefold() in taken:
            number += 1
        taken.add(token.casefold())
        others = frozenset(club.members) - earlier
        orders.append(Order(member, token, earlier, others, _first(club.claims, earlier)))
    return orders


def _letter(number: int) -> str:
    return column_letters(number).lower()


def _first(known: Iterable[Claim], earlier: frozenset[str]) -> Mapping[str, int]:
    """By sheet, the number after the highest that the member's copies have used."""
    last = {sheet.name: 0 for sheet in BOOK.sheets if sheet.mark}
    for claim in known if earlier else ():
        for ref in (claim.ref, *Runs(claim.raw.get(BLANK_ROWS, ""))):
            found = _NUMBER.search(ref)
            if found and claim.sheet in last and ref[: found.start()] in earlier:
                last[claim.sheet] = max(last[claim.sheet], int(found[1]))
    return {sheet: number + 1 for sheet, number in last.items()}


def _folder(into: Path) -> Path:
    try:
        into.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise CannotWrite(
            f"{into}: this folder cannot be made ({in_words(fault)}); name one where you may write."
        ) from fault
    return into


def _hand_out(
    before: Reckoned,
    club: Club,
    members: list[str],
    into: Path,
    told: Callable[[int, int], None] | None,
) -> tuple[list[HandedOut], list[Claim]]:
    """Put the copies ready, and tell what each says."""
    shared = shares(before.book, club.members)
    hidden, as_at = masks(before.book, shared), before.content.as_at
    copies: list[HandedOut] = []
    claims: list[Claim] = []
    for order in _orders(members, club):
        copy = cut(before, shared, hidden, order, as_at)
        path = into / f"{_stem(before)} {copy.token}.xlsx"
        put_ready(path, copy.data)
        said = _claims(copy, path, as_at)
        claims += said
        colonies = sum(claim.sheet == "Colonies" and bool(claim.ref) for claim in said)
        rows = sum(bool(claim.ref) for claim in said)
        copies.append(HandedOut(copy.member, path, copy.token, colonies, rows, said[0].sha256))
        if told:
            told(len(copies), len(members))
    return copies, claims


def _stem(club: Reckoned) -> str:
    return f"Stores {str(club.content.about['winter']).replace('/', '-')}"


def _claims(copy: Copy, path: Path, as_at: date) -> list[Claim]:
    """What the copy says, read from its own bytes: so it is also known to be readable."""
    raw = read_raw((path.name, copy.data))
    shown = {name: sheet for name, sheet in raw.sheets.items() if name in _SHOWN}
    book = read_book(replace(raw, sheets=shown))
    return marked(claims_of(book, copy.token, gathered=as_at.isoformat(), handed_out=True), copy.masked)


def _noted(returns: pd.DataFrame, copies: list[HandedOut], as_at: date) -> pd.DataFrame:
    """The sheet Returns with a line for each copy; what became of it is told by the claims."""
    keys = ("member", "copy", "handed_out", "file")
    lines = [dict(zip(keys, (copy.member, copy.copy, as_at, copy.path.name), strict=True)) for copy in copies]
    noted = pd.DataFrame(lines, columns=returns.columns, dtype=object)
    return noted if returns.empty else pd.concat([returns, noted], ignore_index=True).astype(object)
