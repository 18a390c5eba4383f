"""Who has sent what: the sheet Returns, a line a file, and a state for each member."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

import pandas as pd

from apiarybook.gather.claims import HANDED_OUT
from apiarybook.gather.copy_files import Papers
from apiarybook.layout import BOOK
from apiarybook.layout.words import RETURNS_BY

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping

    from apiarybook.gather.claims import Claim

MISSING, RECEIVED, QUESTIONS = "missing", "received", "has questions"
ACCEPTED, SUPERSEDED, OVERDUE = "accepted", "superseded", "overdue"
NOT_EXPECTED = "not expected"
"""The state of a copy that has not come back of a member who sends paper, or types into the club's own book."""
NOT_BY_FILE = RETURNS_BY[1:]
OPEN_STATES = (OVERDUE, MISSING)
"""States in which a copy has not come back."""
KEYS = [column.key for column in BOOK["Returns"].columns]
NEW = ("new", "amended", "conflict")
"""What a row of a return may be that is not as it was handed out."""


@dataclass(frozen=True, slots=True)
class Line:
    """A line of the sheet Returns: a copy that was handed out, or a file in which it came back.

    Attributes:
        member: the member's code.
        copy: token of the copy.
        handed_out: the day.
        file: the file's name; of a copy that has not come back, the name under which it was handed out.
        saved: when the file says it was saved.
        state: missing, received, has questions, accepted, superseded, overdue or not expected.
        rows: filled rows of the file; None of a copy that has not come back.
        sha256: of the file.
    """

    member: str
    copy: str
    handed_out: object
    file: str
    saved: str
    state: str
    rows: float | None
    sha256: str


@dataclass(frozen=True, slots=True)
class File:
    """One file of a copy: what the claims say of it."""

    copy: str
    saved: str
    sha256: str
    name: str
    rows: int
    is_newest: bool


def files_of(claims: Iterable[Claim]) -> list[File]:
    """The files that claims came from, in order of copy, time saved and SHA-256.

    Args:
        claims: of all copies.
    """
    papers = Papers(claims)
    names: dict[tuple[str, str, str], str] = {}
    rows: dict[tuple[str, str, str], int] = defaultdict(int)
    newest: set[tuple[str, str, str]] = set()
    for claim in claims:
        if claim.kind != "returned":
            continue
        file = (claim.copy, claim.saved, claim.sha256)
        names[file] = min(names.get(file, claim.file), claim.file)
        rows[file] += bool(claim.ref)
        if (claim.saved, claim.sha256) in papers.newest(claim.copy, claim.sheet):
            newest.add(file)
    return [File(*file, names[file], rows[file], file in newest) for file in sorted(names)]


def lines(
    returns: pd.DataFrame,
    claims: Iterable[Claim],
    brought: Mapping[str, int],
    asked: Collection[str],
    as_at: date,
    due: object,
    not_by_file: Collection[str] = (),
) -> list[Line]:
    """Say of each copy what became of it.

    Args:
        returns: the sheet Returns as it stands.
        claims: of all copies.
        brought: by SHA-256, how many rows of a file were not as they were handed out.
        asked: members of whom something is asked.
        as_at: the day.
        due: the day by which copies should be back, if the club has set one.
        not_by_file: members of whom no file is expected back.

    Returns:
        the lines, in order of the handing out and of the files of each copy.
    """
    held = list(claims)
    handed = {claim.copy: claim.sha256 for claim in held if claim.file == HANDED_OUT}
    files: dict[str, list[File]] = defaultdict(list)
    for file in files_of(held):
        files[file.copy].append(file)
    first = returns.drop_duplicates("copy").to_dict("records")
    last = {str(row["member"]): str(row["copy"]) for row in first}
    found: list[Line] = []
    for row in first:
        member, copy = str(row["member"]), str(row["copy"])
        for file in files[copy]:
            state = _state(file, member in asked, brought.get(file.sha256, 0))
            found.append(
                Line(
                    member,
                    copy,
                    row["handed_out"],
                    file.name,
                    file.saved.replace("T", " ")[:16],
                    state,
                    float(file.rows),
                    file.sha256,
                )
            )
        if not files[copy]:
            waited = NOT_EXPECTED if member in not_by_file else OVERDUE if _is_past(due, as_at) else MISSING
            state = SUPERSEDED if last[member] != copy else waited
            name = str(row["file"] or "")
            found.append(Line(member, copy, row["handed_out"], name, "", state, None, handed.get(copy, "")))
    return found


def _state(file: File, is_asked: bool, brought: int) -> str:  # noqa: FBT001 one of three things that decide
    if not file.is_newest:
        return SUPERSEDED
    if is_asked:
        return QUESTIONS
    return ACCEPTED if brought else RECEIVED


def _is_past(due: object, as_at: date) -> bool:
    if isinstance(due, datetime):
        return due.date() < as_at
    return isinstance(due, date) and due < as_at


def to_frame(found: Iterable[Line]) -> pd.DataFrame:
    """The sheet Returns.

    Args:
        found: its lines.
    """
    rows = [[getattr(line, key) if getattr(line, key) != "" else None for key in KEYS] for line in found]
    return pd.DataFrame(rows, columns=KEYS, dtype=object)


def states(found: Iterable[Line]) -> dict[str, str]:
    """The state of each member: that of the newest copy's newest file, questions first.

    >>> line = Line("M1", "M1a", None, "a.xlsx", "", "superseded", 1.0, "0f")
    >>> states([line, Line("M1", "M1b", None, "b.xlsx", "", "accepted", 1.0, "0e")])
    {'M1': 'accepted'}
    """
    order = (QUESTIONS, ACCEPTED, RECEIVED, OVERDUE, MISSING, NOT_EXPECTED, SUPERSEDED)
    best: dict[str, str] = {}
    for line in found:
        best[line.member] = min(best.get(line.member, SUPERSEDED), line.state, key=order.index)
    return best
