"""What is open: findings of the checks and decisions that the secretary is asked for, in one list."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from apiarybook.errors import CannotRead
from apiarybook.layout import BOOK
from apiarybook.readers.canonical import canonical_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date
    from pathlib import Path

    from apiarybook.checks.finding import Finding
    from apiarybook.club.reckoned import Reckoned
    from apiarybook.desk.people import Keeper

_CLAIM = re.compile(r"([A-Z]+): (.*?) \(([^()]*)\)(?:; |$)")


@dataclass(frozen=True, slots=True)
class Claim:
    """One side of a conflict: its letter, what it says, and where that came from."""

    letter: str
    value: str
    source: str


@dataclass(frozen=True, slots=True)
class Question:
    """One thing that is open, or was answered.

    Attributes:
        key: tells it from others; empty where no answer can be written down.
        rule: of the checks.
        weight: hold, ask or note.
        keeper: code of the member whose colony or row it is.
        colony: its code.
        sheet, cell, heading, value: where it stands, and what was typed.
        message: what is wrong.
        do: what to do.
        perhaps: what may have been meant.
        claims: the sides of a conflict.
        answers: words that answer it.
        holds: what was answered; empty while it is open.
        is_new: whether the reading of the book before did not have it.
    """

    key: str
    rule: str
    weight: str
    keeper: str
    colony: str
    sheet: str
    cell: str
    heading: str
    value: str
    message: str
    do: str
    perhaps: str = ""
    claims: tuple[Claim, ...] = ()
    answers: tuple[str, ...] = ()
    holds: str = ""
    is_new: bool = False

    @property
    def is_open(self) -> bool:
        """Whether nobody answered it yet."""
        return not self.holds

    @property
    def mark(self) -> tuple[str, ...]:
        """What tells it from others between two readings of the book."""
        return self.rule, self.sheet, self.cell, self.value, self.key

    @property
    def place(self) -> str:
        """Sheet and cell, as they are written in the book."""
        return f"{self.sheet}!{self.cell}" if self.cell else self.sheet


def questions(reckoned: Reckoned, before: Iterable[Question] | None = None) -> tuple[Question, ...]:
    """Everything that is open or was answered, the weightiest first.

    Args:
        reckoned: the book, reckoned.
        before: those of the reading before, against which new ones are told; None for none.
    """
    from apiarybook.desk.people import keeper_of_colony

    people, decided = keeper_of_colony(reckoned), _decisions(reckoned)
    known = None if before is None else {one.mark for one in before}
    taken = {(one.sheet, one.colony) for one in decided}
    found = [
        _of_finding(reckoned, one, people)
        for one in reckoned.checked.findings
        if (one.rule not in ASKED_ON_DECISIONS or (one.sheet, one.ref) not in taken)
    ]
    asked = [_with_colony(reckoned, one, people) for one in decided]
    order = ("hold", "ask", "note")
    every = sorted([*asked, *found], key=lambda one: (not one.is_open, order.index(one.weight)))
    return tuple(every if known is None else (replace(one, is_new=one.mark not in known) for one in every))


ASKED_ON_DECISIONS = frozenset({"conflict", "absent-row", "same-row-twice", "copied-ref"})
"""Rules whose findings only say that the secretary is asked."""


def _of_finding(reckoned: Reckoned, one: Finding, people: Mapping[str, Keeper]) -> Question:
    colony = _colony(reckoned, one.sheet, one.cell)
    keeper = people.get(colony.casefold())
    return Question(
        "",
        one.rule,
        str(one.weight),
        keeper.code if keeper else "",
        colony,
        one.sheet,
        one.cell,
        one.heading,
        one.value,
        one.message,
        one.do,
        one.suggestion,
    )


def _colony(reckoned: Reckoned, sheet: str, cell: str) -> str:
    """The colony in whose row a cell stands."""
    row = re.search(r"\d+$", cell)
    table = reckoned.book.tables.get(sheet)
    if row is None or table is None or "colony" not in table.raw or int(row[0]) not in table.raw.index:
        return ""
    return canonical_text(table.raw.loc[int(row[0]), "colony"])


def _decisions(reckoned: Reckoned) -> list[Question]:
    """The rows of the sheet Decisions; the column colony holds the row's ref until it is looked up."""
    told = reckoned.content.told.get("Decisions")
    rows = [] if told is None else told.to_dict("records")
    found = []
    for row in rows:
        said = {str(key): canonical_text(value) if value is not None else "" for key, value in row.items()}
        if not said["key"]:
            continue
        claims = tuple(Claim(*one) for one in _CLAIM.findall(said["claims"]))
        words = [word for word in WORDS if word in said["question"]]
        found.append(
            Question(
                said["key"],
                said["key"].partition("|")[0] or "decision",
                "ask",
                "",
                said["ref"],
                said["sheet"],
                "",
                said["column"],
                "",
                said["question"],
                "",
                claims=claims,
                answers=tuple(words),
                holds=said["holds"],
            )
        )
    return found


WORDS = ("as it stands", "leave out", "both", "accept")
"""Words that may answer a question, where the question names them."""


def _with_colony(reckoned: Reckoned, one: Question, people: Mapping[str, Keeper]) -> Question:
    table = reckoned.book.tables.get(one.sheet)
    if table is None or "ref" not in table.raw:
        return replace(one, colony="")
    rows = table.raw.index[(table.raw["ref"].map(canonical_text) == one.colony).to_numpy()].tolist()
    if not rows:
        return replace(one, colony="")
    colony = canonical_text(table.raw.loc[rows[0], "colony"]) if "colony" in table.raw else ""
    column = next((c.key for c in BOOK[one.sheet].columns if c.heading == one.heading), "ref")
    keeper = people.get(colony.casefold())
    return replace(one, colony=colony, keeper=keeper.code if keeper else "", cell=table.place(rows[0], column))


def write_answer(path: Path, key: str, text: str, as_at: date) -> Path:
    """Write an answer into the book, as if it had been typed on its sheet and the book reckoned.

    Args:
        path: the club's book.
        key: of the question.
        text: the answer; empty takes an answer back.
        as_at: the day for which to reckon.

    Returns:
        where the book stands now.

    Raises:
        CannotRead: it is no club's book, or has no such question any more.
        CannotWrite: it is open elsewhere, changed meanwhile, or its folder cannot be written.
    """
    from apiarybook.club.reckoned import replace_book
    from apiarybook.gather.club_book import read_club, rebuild
    from apiarybook.writers.safe_replace import locked
    from apiarybook.writers.workbook import write_book

    with locked(path):
        club = read_club(path, as_at)
        if key not in {one.key for one in club.decisions}:
            raise CannotRead(f"{path.name}: this question is not open any more; look at the page again.")
        decided = as_at.isoformat() if text else ""
        given = [replace(one, holds=text or None, decided=decided) if one.key == key else one for one in club.decisions]
        data = write_book(rebuild(club, club.claims, given, as_at).reckoned.content)
        return replace_book(club.raw, path, data, club.lost, as_at).target
