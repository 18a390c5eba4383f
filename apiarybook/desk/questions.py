"""What is open: findings of the checks and decisions that the secretary is asked for, in one list."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import pandas as pd

from apiarybook.layout.words import LOOKED_AT
from apiarybook.readers.canonical import canonical_text

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable, Mapping

    from apiarybook.club.people import Keeper
    from apiarybook.club.reckoned import Reckoned

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
    from apiarybook.club.people import keeper_of_colony

    people = keeper_of_colony(reckoned)
    known = None if before is None else {one.mark for one in before}
    found = [_question(row, people) for row in reckoned.content.told["Questions"].to_dict("records")]
    every = sorted(found, key=lambda one: (not one.is_open, ORDER.index(one.weight)))
    return tuple(every if known is None else (replace(one, is_new=one.mark not in known) for one in every))


ORDER = ("hold", "ask", "note")
WORDS = ("as it stands", "leave out", "both")
"""Words that may answer a question, where what to do names them."""


def _question(row: Mapping[Hashable, Any], people: Mapping[str, Keeper]) -> Question:
    """One row of the sheet Questions."""
    from apiarybook.checks.answers import is_of_finding
    from apiarybook.checks.rules import CATALOGUE

    said = {str(key): "" if pd.isna(value) else canonical_text(value) for key, value in row.items()}
    rule, keeper = CATALOGUE.get(said["rule"]), people.get(said["colony"].casefold())
    words = [word for word in WORDS if word in said["question"] + said["do"]]
    return Question(
        said["key"],
        said["rule"] or said["key"].partition("|")[0],
        str(rule.weight) if rule else "ask",
        keeper.code if keeper else "",
        said["colony"],
        said["sheet"],
        said["cell"],
        said["column"],
        said["value"],
        said["question"],
        said["do"],
        said["suggestion"],
        claims=tuple(Claim(*one) for one in _CLAIM.findall(said["claims"])),
        answers=(LOOKED_AT,) if is_of_finding(said["key"]) else tuple(words if said["key"] else ()),
        holds=said["holds"],
    )
