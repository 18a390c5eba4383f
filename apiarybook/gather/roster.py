"""Who has sent what, a line a file on the sheet Returns; and what each member is told: files, questions, colonies."""

from __future__ import annotations

import json
import re
from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

import pandas as pd

from apiarybook.book.measure import measure
from apiarybook.checks.finding import Finding, Weight
from apiarybook.checks.rules import CATALOGUE
from apiarybook.gather.claims import HANDED_OUT, OF_FILE, SHEETS, STRANGE, unused_in
from apiarybook.gather.copy_files import Papers
from apiarybook.layout import BOOK
from apiarybook.layout.words import RETURNS_BY
from apiarybook.pages.notes import SHOWN, Note, Question, Received, Stands, stands_words
from apiarybook.readers.canonical import canonical_text

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping

    from apiarybook.club.reckoned import Reckoned
    from apiarybook.gather.claims import Claim
    from apiarybook.gather.folded import Folded
    from apiarybook.gather.redaction import Masks
    from apiarybook.gather.shares import Shares


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
    not_back = OVERDUE if isinstance(due, date) and due < as_at else MISSING
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
            waited = NOT_EXPECTED if member in not_by_file else not_back
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


_ROW = re.compile(r"(\d+)$")
WORDS = (
    ("new", "new"),
    ("amended", "changed"),
    ("same", "as others say too"),
    ("unchanged", "as they were"),
    ("conflict", "in conflict"),
    ("superseded", "replaced by a later file"),
    ("refused", "under headings that the book does not know"),
)


@dataclass(frozen=True, slots=True)
class Told:
    """All that the notes are made of.

    Attributes:
        reckoned: the club's book.
        claims: of all copies.
        folded: what they give.
        members: code of the member of each copy.
        shared: which rows are whose.
        masks: other people's words.
    """

    reckoned: Reckoned
    claims: list[Claim]
    folded: Folded
    members: Mapping[str, str]
    shared: Shares
    masks: Masks


def notes(told: Told, lines: list[Line], asked: Mapping[str, list[Question]]) -> list[Note]:
    """A note for each member, in the order of the sheet Returns; for those too of whom nothing has come yet.

    Args:
        told: what they are made of.
        lines: the sheet Returns.
        asked: what is to be asked of each member.
    """
    content, standing = told.reckoned.content, _standing(told)
    came: dict[str, list[Line]] = {line.member: [] for line in lines}
    for line in lines:
        came[line.member] += [line] if line.rows is not None else []
    rows, unused = _rows_of(told.folded), _unused(told.claims)
    return [
        Note(
            club=str(content.settings.get("club") or ""),
            member=member,
            name=told.shared.names.get(member, ""),
            winter=content.about["winter"],
            as_at=content.as_at,
            received=tuple(_received(line, rows, unused) for line in own),
            questions=tuple(asked.get(member, ())) if own else (),
            colonies=tuple(standing.get(member, ())),
        )
        for member, own in came.items()
    ]


def _rows_of(folded: Folded) -> dict[tuple[str, str], dict[str, int]]:
    """By copy and SHA-256 of a file, what became of its rows."""
    sums: dict[tuple[str, str], dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for count in folded.counts:
        for key, _ in WORDS:
            sums[str(count["copy"]), str(count["sha256"])][key] += int(str(count.get(key, 0)))
    return sums


def _unused(claims: Iterable[Claim]) -> dict[tuple[str, str], list[str]]:
    """By copy and SHA-256 of a file, in words what stands in it and is not used."""
    found: dict[tuple[str, str], list[str]] = defaultdict(list)
    under: dict[tuple[str, str, str, str], list[str]] = defaultdict(list)
    for claim in claims:
        for sheet, cell, text, _ in unused_in(claim):
            found[claim.copy, claim.sha256].append(
                f"{' '.join(filter(None, (sheet, cell)))}: {text}".removeprefix(": ")
            )
        for key in claim.raw:
            if key.startswith(STRANGE):
                under[claim.copy, claim.sha256, claim.sheet, key.removeprefix(STRANGE)].append(claim.place)
    for (copy, sha256, sheet, heading), rows in under.items():
        cells = f"{len(rows)} cell{'' if len(rows) == 1 else 's'}"
        found[copy, sha256].append(f"{sheet}: {cells} under {heading}")
    return found


def _received(
    line: Line, rows: Mapping[tuple[str, str], Mapping[str, int]], unused: Mapping[tuple[str, str], list[str]]
) -> Received:
    sums = rows.get((line.copy, line.sha256), {})
    told = ", ".join(f"{sums[key]} {word}" for key, word in WORDS if sums.get(key))
    filled = int(line.rows or 0)
    said = f"{filled} filled row{'' if filled == 1 else 's'}" + (f": {told}" if told else "")
    not_used = tuple(unused.get((line.copy, line.sha256), ()))
    return Received(line.file, line.saved, said, line.state == SUPERSEDED, not_used)


def questions(told: Told) -> dict[str, list[Question]]:
    """What is to be asked of each member, held rows first, one slip repeated down a column as one.

    Args:
        told: what the notes are made of.
    """
    places, veil = _Places(told.claims, told.folded), _Veil(told.masks)
    found: dict[str, dict[tuple[str, ...], Question]] = defaultdict(dict)
    for finding in told.reckoned.checked.findings:
        if finding.weight is Weight.NOTE or CATALOGUE[finding.rule].for_secretary:
            continue
        for claim in places.of(finding, told.reckoned):
            member = told.members.get(claim.copy)
            if member:
                _note(found[member], _question(finding, claim, places, veil, member))
    for claim, finding in file_findings(told.claims):
        member = told.members.get(claim.copy)
        if member and finding.weight is not Weight.NOTE and not CATALOGUE[finding.rule].for_secretary:
            _note(found[member], _of_file(finding, veil, member))
    return {member: sorted(asked.values(), key=lambda one: not one.held) for member, asked in found.items()}


def _note(asked: dict[tuple[str, ...], Question], question: Question) -> None:
    key = (question.file, question.sheet, question.heading, _ANY_FIGURE.sub("", question.message), question.do)
    former = asked.get(key)
    if former is None:
        asked[key] = question
    elif question.cells[0] not in former.cells:
        asked[key] = replace(former, cells=(*former.cells, *question.cells))


_ANY_FIGURE = re.compile(r"\S*\d\S*")


def _question(finding: Finding, claim: Claim, places: _Places, veil: _Veil, member: str) -> Question:
    rule = CATALOGUE[finding.rule]
    message, do = rule.member or finding.message, rule.member_do or finding.do
    cell = places.papers.cell(claim, finding.column) if finding.column else claim.place
    value = claim.raw.get(finding.column, canonical_text(claim.values.get(finding.column)))
    return Question(
        file=claim.file,
        sheet=finding.sheet,
        cells=(cell,),
        heading=BOOK[claim.sheet][finding.column].heading if finding.column else "",
        value=veil.text(canonical_text(value), member),
        message=veil.text(message, member),
        do=veil.text(do, member),
        held=finding.weight is Weight.HOLD,
    )


def _of_file(finding: Finding, veil: _Veil, member: str) -> Question:
    return Question(
        file=finding.file,
        sheet=finding.sheet,
        cells=(finding.cell,) if finding.cell else (),
        heading=finding.heading if finding.cell else "",
        value="",
        message=veil.text(finding.message, member),
        do=finding.do,
        held=False,
    )


class _Veil:
    """Other people's words, looked for only in texts that hold the first word of any of them."""

    def __init__(self, masks: Masks) -> None:
        self._masks = masks
        self._first = {found[0] for word in masks.owners if (found := _WORD.search(word))}

    def text(self, text: str, member: str) -> str:
        """A text as a member may read it."""
        known = self._first.isdisjoint(_WORD.findall(text.casefold()))
        return text if known else self._masks.text(text, member)


_WORD = re.compile(r"\w+")


class _Places:
    """Where in the newest files of each copy a row of the club's book stands."""

    def __init__(self, claims: list[Claim], folded: Folded) -> None:
        self.papers = Papers(claims)
        self._rows: dict[tuple[str, str], list[Claim]] = defaultdict(list)
        for claim in claims:
            newest = self.papers.newest(claim.copy, claim.sheet)
            if claim.kind == "returned" and claim.ref and (claim.saved, claim.sha256) in newest:
                ref = folded.aliases.get((claim.sheet, claim.ref), claim.ref)
                self._rows[claim.sheet, ref.casefold()].append(claim)

    def of(self, finding: Finding, reckoned: Reckoned) -> Iterator[Claim]:
        """The rows whose own words a finding is about: those that say what it names."""
        table = reckoned.book.tables.get(finding.sheet) if finding.sheet in SHEETS else None
        number = _ROW.search(finding.cell)
        ref = finding.ref
        if not ref and number and table is not None and int(number[1]) in table.raw.index:
            ref = canonical_text(table.raw.loc[int(number[1]), "ref"])
        for claim in self._rows.get((finding.sheet, ref.casefold()), ()):
            said = canonical_text(claim.values.get(finding.column))
            if CATALOGUE[finding.rule].member or not finding.column or said == finding.value:
                yield claim


def file_findings(claims: Iterable[Claim]) -> Iterator[tuple[Claim, Finding]]:
    """What is to be said of each copy's newest files as a whole: headings that are gone, hive types of their own.

    Args:
        claims: of all copies.

    Returns:
        the claim of the file's headings, and the finding.
    """
    from apiarybook.book.tables import BookFault
    from apiarybook.checks.loop import fault_findings

    held = list(claims)
    papers = Papers(held)
    for claim in held:
        if claim.ref or OF_FILE not in claim.raw or claim.kind != "returned":
            continue
        if (claim.saved, claim.sha256) not in papers.newest(claim.copy, claim.sheet):
            continue
        said = json.loads(claim.raw[OF_FILE])
        for finding in fault_findings(claim.file, [BookFault(*one) for one in said.get("faults", ())]):
            yield claim, finding
        for name, cell, what in said.get("types", ()):
            yield claim, _own_type(claim, name, cell, what)


def _own_type(claim: Claim, name: str, cell: str, what: str) -> Finding:
    from apiarybook.checks.loop import word

    place = (claim.file, "Hive types", cell, "name", name)
    return word(Finding("own-hive-type", Weight.ASK, *place, "", ""), {"name": name, "told": what})


def _standing(told: Told) -> dict[str, list[Stands]]:
    """How the colonies of each member stand, in the order of the book."""
    units = measure(told.reckoned.book.unit)
    found: dict[str, list[Stands]] = defaultdict(list)
    for row in told.reckoned.season.standing[SHOWN].to_dict("records"):
        member = told.shared.colonies.get(str(row["colony"]).casefold())
        if member and row["verdict"]:
            found[member].append(stands_words(row, units))
    return found
