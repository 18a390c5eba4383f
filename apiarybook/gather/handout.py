"""Handing out: one member copy for each member, and the club's book that remembers what was handed out."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import pandas as pd

from apiarybook.book.fingerprint import CARRIED, CLOSED, FINGERPRINT
from apiarybook.book.table import CellFault, Table
from apiarybook.book.tables import read_book
from apiarybook.checks.loop import Checked
from apiarybook.checks.rules import CATALOGUE
from apiarybook.club.reckoned import about_book, frames_of, replace_book
from apiarybook.errors import CannotRead, CannotWrite, in_words
from apiarybook.gather.claims import BLANK_ROWS, SHEETS, Claim, claims_of, joined
from apiarybook.gather.club_book import Club, read_club, rebuild
from apiarybook.gather.redaction import SOMEONE_ELSE, THEIR_WORDS, marked, masks
from apiarybook.gather.ref_ranges import Runs
from apiarybook.gather.shares import Shares, shares
from apiarybook.layout import BOOK
from apiarybook.layout.model import SETTINGS_SHEET
from apiarybook.readers.limits import column_letters
from apiarybook.readers.raw import open_elsewhere, read_raw
from apiarybook.reckon.core.winter import serial
from apiarybook.reckon.season import reckon_season
from apiarybook.writers.content import Content
from apiarybook.writers.plan import member_plan
from apiarybook.writers.safe_replace import locked, name_ready, put_ready
from apiarybook.writers.workbook import write_book

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from datetime import date
    from pathlib import Path

    from apiarybook.book.tables import Book
    from apiarybook.club.reckoned import Reckoned
    from apiarybook.gather.redaction import Masked, Masks
    from apiarybook.layout.model import Sheet


OF_THE_CLUB = (CLOSED, FINGERPRINT, CARRIED)
"""What the sheet About tells in the club's book only."""
OPEN = "a question about this row is open"
"""Why a row is held in a member copy that the club's book holds for a reason that is not the member's to read."""


@dataclass(frozen=True, slots=True)
class Copy:
    """A member copy as it is handed out: its bytes, what was reckoned, and what is not shown in it.

    Attributes:
        member: the member's code.
        token: what its refs begin with.
        data: the bytes of the file.
        masked: by sheet, ref and column, the true value where `someone else` is shown.
    """

    member: str
    token: str
    data: bytes
    masked: Masked


@dataclass(frozen=True, slots=True)
class Order:
    """What copy to cut: whose, what the refs of its new rows begin with, and by sheet the number of the first of them.

    Attributes:
        member: the member's code.
        token: of the new copy.
        earlier: tokens of the member's copies handed out before.
        others: tokens of other members' copies.
        first: by sheet the number of the first new ref.
    """

    member: str
    token: str
    earlier: frozenset[str]
    others: frozenset[str]
    first: Mapping[str, int]


def cut(club: Reckoned, shared: Shares, masks: Masks, order: Order, as_at: date) -> Copy:
    """Cut a member's copy out of a club's book.

    Args:
        club: the club's book, settled and reckoned.
        shared: which rows are whose.
        masks: other people's words.
        order: which copy.
        as_at: the day for which to reckon.

    Returns:
        the copy, reckoned from the member's share alone; lists that are the club's have all their rows.
    """
    member, token = order.member, order.token
    colonies = len(shared.rows["Colonies"].get(member, []))
    tables: dict[str, Table] = {}
    told = Checked([])
    masked: Masked = {}
    for name in club.content.typed:
        table = club.book.tables[name]
        if name not in shared.rows:
            tables[name] = table
            continue
        rows = shared.rows[name].get(member, [])
        tables[name] = _share(table, rows, _free(table.sheet, colonies))
        for own, of_club in ((told.held, club.checked.held), (told.asked, club.checked.asked)):
            own[name] = _held(of_club.get(name, {}), rows, table.sheet.first_row)
        away = club.checked.beyond.get(name, {})
        told.beyond[name] = {at: away[row] for at, row in enumerate(rows, table.sheet.first_row) if row in away}
        begin = order.first.get(name, 1)
        if name in SHEETS:
            begin = _mask(tables[name], masks, order, masked)
        if table.sheet.mark:
            _number(tables[name], f"{token}-{table.sheet.mark}", begin)
    hands = _hands(club.season.hefting, tables["Weighings"], masks, member)
    content = _reckoned(replace(club.book, tables=tables), told, as_at, hands)
    about = {key: text for key, text in about_book(club.book).items() if key not in OF_THE_CLUB} | {
        "copy id": token,
        "member": member,
    }
    return Copy(member, token, write_book(replace(content, about=about), member_plan), masked)


def _hands(club: pd.DataFrame, weighings: Table, masks: Masks, member: str) -> pd.DataFrame:
    """What the club knows of hands: of any other, of the member's own, and of those that the copy names."""
    named = {str(name).casefold() for name in weighings.raw["by"].dropna()}
    shown = [
        at == 0 or name.casefold() in named or masks.hand(name, member, is_own_row=False) == name
        for at, name in enumerate(club["by"])
    ]
    return club[shown].reset_index(drop=True)


def _reckoned(book: Book, told: Checked, as_at: date, hands: pd.DataFrame) -> Content:
    """The share reckoned on its own; its rows were checked with the club's, and are held where these are."""
    settings = book.settings | {"as_at": None}
    return Content(
        settings=settings,
        typed={name: table.raw for name, table in book.tables.items()},
        told={},
        season=reckon_season(frames_of(book, told), settings, serial(as_at), hands),
        held=told.held,
        asked=told.asked,
        beyond=told.beyond,
        about={},
        as_at=as_at,
    )


def _free(sheet: Sheet, colonies: int) -> int:
    least, each = sheet.ready_in_copy
    return least + each * colonies


def _share(table: Table, rows: list[int], free: int) -> Table:
    """Some rows of a sheet one under the other, and free rows after them."""
    first = table.sheet.first_row
    index = pd.RangeIndex(first, first + len(rows) + free, name="row")
    raw, typed = (_laid(frame, rows, index) for frame in (table.raw, table.typed))
    place = dict(zip(rows, index, strict=False))
    faults = [CellFault(place[one.row], one.key, one.fault) for one in table.faults if one.row in place]
    return replace(table, raw=raw, typed=typed, unknown=pd.DataFrame(index=index), faults=faults)


def _laid(frame: pd.DataFrame, rows: list[int], index: pd.RangeIndex) -> pd.DataFrame:
    found = frame.loc[rows].set_axis(index[: len(rows)], axis=0).reindex(index)
    for key in found:
        if found[key].dtype == object:
            found[key] = found[key].where(found[key].notna(), None)
    return found


def _number(table: Table, stem: str, first: int) -> None:
    """Give every free row the next ref."""
    free = table.raw.index[table.raw["ref"].isna()]
    refs = [f"{stem}{first + at}" for at in range(len(free))]
    table.raw.loc[free, "ref"] = refs
    table.typed.loc[free, "ref"] = refs


def _mask(table: Table, masks: Masks, order: Order, masked: Masked) -> int:
    """Put other words over what is not for the member, and marks of this copy over others'; the next free number."""
    name, member = table.sheet.name, order.member
    following = order.first.get(name, 1)
    own_rows = _own_rows(table, order)
    others = _others(table, masks, order, own_rows)
    for row in sorted(others):
        true = str(table.raw.loc[row, "ref"])
        if true.rpartition("-")[0] in order.others:
            shown = f"{order.token}-{table.sheet.mark}{following}"
            following += 1
            masked[name, shown, "ref"] = true
            table.raw.loc[row, "ref"] = table.typed.loc[row, "ref"] = shown
    names = table.raw["ref"]
    named = ("ref", "colony") if name == "Colonies" else ("ref",)
    for column in table.sheet.typed:
        if column.key in named or column.key not in table.raw:
            continue
        for row, text in zip(table.raw.index.tolist(), table.raw[column.key].tolist(), strict=True):
            if not isinstance(text, str):
                continue
            hand = column.key == "by"
            shown = masks.hand(text, member, is_own_row=row in own_rows) if hand else masks.text(text, member)
            shown = THEIR_WORDS if row in others and column.key == "remarks" else shown
            if shown != text:
                masked[name, str(names[row]), column.key] = text
                table.raw.loc[row, column.key] = shown
                if isinstance(table.typed.loc[row, column.key], str):
                    table.typed.loc[row, column.key] = shown
    return following


def _own_rows(table: Table, order: Order) -> set[int]:
    """Rows that the member typed in an earlier copy, or sent on paper."""
    if "typed_for" not in table.typed:
        return set()
    paper = table.typed["typed_for"].astype(str).str.casefold() == order.member.casefold()
    typed = table.raw["ref"].astype(str).str.rpartition("-")[0].isin(order.earlier)
    return {int(row) for row in table.raw.index[paper | typed]}


def _others(table: Table, masks: Masks, order: Order, own_rows: set[int]) -> set[int]:
    """Rows that another member typed, or that were typed for one or speak of one's lifting."""
    found = set(table.raw.index[table.raw["ref"].astype(str).str.rpartition("-")[0].isin(order.others)])
    for key in ("typed_for", "by"):
        for row, one in table.typed[key].items() if key in table.typed else ():
            if isinstance(one, str) and masks.hand(one, order.member, is_own_row=True) == SOMEONE_ELSE:
                found.add(row)
    return {int(row) for row in found} - own_rows


def _held(reasons: Mapping[int, str], rows: list[int], first: int) -> dict[int, str]:
    """Why rows do not count, by their new numbers; only a rule's own words are for the member to read."""
    found = {}
    for at, row in enumerate(rows, first):
        if row in reasons:
            said = {reason.rpartition(": ")[2] for reason in reasons[row].split("; ")}
            found[at] = reasons[row] if said <= {rule.words for rule in CATALOGUE.values()} else OPEN
    return found


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
