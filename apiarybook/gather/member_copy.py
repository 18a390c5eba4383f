"""One member's share of a club's book, laid out and reckoned as the copy that this member is handed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import pandas as pd

from apiarybook.book.fingerprint import CARRIED, CLOSED, FINGERPRINT
from apiarybook.book.si_frames import si
from apiarybook.book.table import CellFault, Table
from apiarybook.checks.loop import Checked
from apiarybook.checks.rules import CATALOGUE
from apiarybook.club.reckoned import about_book, with_reasons
from apiarybook.gather.claims import SHEETS
from apiarybook.gather.redaction import SOMEONE_ELSE, THEIR_WORDS
from apiarybook.reckon.core.winter import serial
from apiarybook.reckon.season import reckon_season
from apiarybook.writers.content import Content
from apiarybook.writers.plan import member_plan
from apiarybook.writers.workbook import write_book

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from apiarybook.book.tables import Book
    from apiarybook.club.reckoned import Reckoned
    from apiarybook.gather.redaction import Masked, Masks
    from apiarybook.gather.shares import Shares
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
    frames = {name: with_reasons(frame, name, told) for name, frame in si(book, {}).items()}
    settings = book.settings | {"as_at": None}
    return Content(
        settings=settings,
        typed={name: table.raw for name, table in book.tables.items()},
        told={},
        season=reckon_season(frames, settings, serial(as_at), hands),
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
