"""What the secretary says holds: the sheet Questions, read, applied and written again."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from datetime import date
from typing import TYPE_CHECKING

import pandas as pd

from apiarybook.book.cells import parse
from apiarybook.book.wants import is_of_want
from apiarybook.checks.answers import is_of_finding
from apiarybook.layout import BOOK
from apiarybook.readers.canonical import canonical, canonical_text, plain_words

if TYPE_CHECKING:
    from collections.abc import Iterable

    from apiarybook.book.tables import Book
    from apiarybook.gather.folded import Ask, Conflict, Folded, Said

AS_IT_STANDS = "as it stands"
LEAVE_OUT = "leave out"
BOTH = "both"
EARLIER = "answered earlier, and its claims have changed since: "
TWICE = "same-row-twice"
APART = "two-rows-one-mark"
_QUESTIONS = {
    "absent-row": "The newest file of {value} no longer has this row; it was kept. as it stands, or leave out?",
    TWICE: "The row {value} says the same and was taken for this one. as it stands (one row), or both (it was done "
    "twice)?",
    APART: "Another file of this copy has a row of {value} under this mark. as it stands (this row alone), both (two "
    "rows), or leave out (neither)?",
    "copied-ref": "This row came with the ref {value}, which is another row's. as it stands, or leave out?",
}


_OTHER_WORDS = {TWICE: (BOTH,), APART: (BOTH, LEAVE_OUT)}


@dataclass(frozen=True, slots=True)
class Decision:
    """One row of the sheet Questions.

    Attributes:
        key: tells the question from others.
        holds: the canonical value that the secretary wrote; None while the question is open.
        decided: as-at date of the run that met the answer first, ISO; empty while the question is open.
        sheet: layout name, for the reader.
        ref: the row's ref, for the reader.
        column: its heading, for the reader.
        question: what was asked.
        claims: what the claims were.
        applied: what the last run took to hold, and the data sheets therefore show.
    """

    key: str
    holds: object = None
    decided: str = ""
    sheet: str = ""
    ref: str = ""
    column: str = ""
    question: str = ""
    claims: str = ""
    applied: object = None


@dataclass(frozen=True, slots=True)
class Answer:
    """What a decision comes to.

    Attributes:
        value: what the cell shows.
        left_out: whether the row is not used.
        understood: empty; for an entry that cannot be applied, what would be understood.
    """

    value: object = None
    left_out: bool = False
    understood: str = ""


_COLUMNS = [one.name for one in fields(Decision) if one.name != "key"] + ["key"]


def ask_key(rule: str, sheet: str, ref: str, value: object) -> str:
    """Tells a question from others by what it is about, so that its answer goes on holding.

    >>> ask_key("same-row-twice", "Feedings", "M1a-F1", "M2a-F4")
    'same-row-twice|Feedings|M1a-F1||M2a-F4'
    """
    return "|".join((rule, sheet, ref, "", canonical_text(value)))


def decisions_of(book: Book, as_at: date) -> list[Decision]:
    """The rows of a book's sheet Questions; an answer met for the first time is dated.

    Args:
        book: the club's book as read.
        as_at: the day for which the run reckons.
    """
    if "Questions" not in book.tables:
        return []
    raw = book.tables["Questions"].raw.reindex(columns=_COLUMNS)
    found = []
    for row in raw.itertuples(index=False):
        told = {key: canonical_text(canonical(_none(one))) for key, one in zip(_COLUMNS, row, strict=True)}
        holds, applied = (_none(row[_COLUMNS.index(key)]) for key in ("holds", "applied"))
        same = canonical_text(canonical(holds)) == canonical_text(canonical(applied))
        decided = ((told["decided"] if same else "") or as_at.isoformat()) if holds is not None else ""
        if told["key"]:
            said = {"holds": holds, "decided": decided, "applied": applied}
            found.append(Decision(**told | said))  # type: ignore[arg-type]
    return found


def applied(decisions: Iterable[Decision]) -> list[Decision]:
    """Decisions as the last run took them, from which the data sheets of the book follow.

    >>> [one.holds for one in applied([Decision("a", "B", applied="A"), Decision("b", "B")])]
    ['A', None]
    """
    return [replace(one, holds=one.applied) for one in decisions]


def _none(value: object) -> object:
    return None if value is None or value != value else value  # noqa: PLR0124 the test for a figure that is none


def decisions_frame(folded: Folded, decisions: Iterable[Decision]) -> pd.DataFrame:
    """The sheet Questions: every open question, and every answer ever given.

    Args:
        folded: what the claims give.
        decisions: what the sheet held before.
    """
    before = {one.key: one for one in decisions}
    now = [_of_conflict(one) for one in folded.conflicts] + [_of_ask(one) for one in folded.asks]
    kept = [
        replace(one, holds=before[one.key].holds, decided=before[one.key].decided) if one.key in before else one
        for one in now
    ]
    wants = [one for one in before.values() if is_of_want(one.key)]
    wants += [one for one in before.values() if one.holds is not None and is_of_finding(one.key)]
    gone = set(before) - {one.key for one in [*kept, *wants]}
    stale = [_earlier(before[key]) for key in sorted(gone) if before[key].holds is not None]
    rows = [{key: getattr(one, key) or None for key in _COLUMNS} for one in [*wants, *kept, *stale]]
    for row, one in zip(rows, [*wants, *kept, *stale], strict=True):
        row["holds"] = one.holds
        row["applied"] = one.applied if is_of_want(one.key) else one.holds
        row["decided"] = date.fromisoformat(one.decided) if one.decided else None
    return pd.DataFrame(rows, columns=_COLUMNS, dtype=object)


def _earlier(decision: Decision) -> Decision:
    if decision.question.startswith(EARLIER.strip()):
        return decision
    return replace(decision, question=EARLIER + decision.question)


def _of_conflict(one: Conflict) -> Decision:
    heading = BOOK[one.sheet][one.column].heading
    last = "blank" if one.agreed is None else canonical_text(one.agreed)
    question = f"What is the {heading}? Last agreed: {last}. A claim's letter, as it stands, leave out, or a value."
    return Decision(one.key, None, "", one.sheet, one.ref, heading, question, in_words(one.claims))


def _of_ask(one: Ask) -> Decision:
    question = _QUESTIONS[one.rule].format(value=one.value)
    return Decision(one.key, None, "", one.sheet, one.ref, "", question, in_words(one.claims))


def in_words(claims: Iterable[Said]) -> str:
    """Claims as a person reads them.

    >>> from apiarybook.gather.folded import Said
    >>> in_words([Said("A", 38.0, "M1a", "ann.xlsx", "0f", "F7"), Said("B", None, "M1a", "ann.csv", "1f", "F7")])
    'A: 38 (M1a, ann.xlsx, F7); B: blank (M1a, ann.csv, F7)'
    """
    return "; ".join(
        f"{one.letter}: {'blank' if one.value is None else canonical_text(one.value)} "
        f"({', '.join(filter(None, (one.copy, one.file, one.place)))})"
        for one in claims
    )


def answer(conflict: Conflict) -> Answer:
    """What an entry says of a conflict.

    Args:
        conflict: with its entry; what stands is the last agreed value.
    """
    plain = plain_words(conflict.holds)
    if plain in (AS_IT_STANDS, LEAVE_OUT):
        return Answer(conflict.agreed, left_out=plain == LEAVE_OUT)
    for claim in conflict.claims:
        if plain == claim.letter.casefold():
            return Answer(claim.value)
    value, fault = parse(BOOK[conflict.sheet][conflict.column], conflict.holds, unit="kg")
    if fault is None or value is not None or fault.rule == "out-of-bounds":  # bounds are for the checks to speak of
        return Answer(canonical(conflict.holds) if value is None else value)
    letters = ", ".join(dict.fromkeys(claim.letter for claim in conflict.claims))
    return Answer(conflict.agreed, understood=f"{letters}, {AS_IT_STANDS}, {LEAVE_OUT}, or a value of that column")


def answer_ask(ask: Ask) -> Answer:
    """What an entry says of a row that someone should look at."""
    words = [AS_IT_STANDS, *_OTHER_WORDS.get(ask.rule, (LEAVE_OUT,))]
    plain = plain_words(ask.holds)
    if plain in words:
        return Answer(left_out=plain == LEAVE_OUT)
    return Answer(understood=" or ".join(words))
