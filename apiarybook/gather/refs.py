"""Which row a line of a file is: refs seen twice, copied, overtyped or gone, and what was typed into the club's book.

A row keeps the ref under which it was first read. A line whose own ref cannot say which row it is (none, unreadable,
another row's) is the row that is gone from the same file and says the same, or nearly so; else it is a new one.
"""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass, replace
from itertools import count
from typing import TYPE_CHECKING

from apiarybook.gather.claims import BLANK_ROWS, HANDED_OUT, Claim, claims_of, in_words, new_ref
from apiarybook.gather.copy_files import replaces
from apiarybook.gather.ref_ranges import Runs, natural
from apiarybook.layout import BOOK, NOT_CONTENT

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    from apiarybook.book.tables import Book
    from apiarybook.gather.copy_files import PaperId, Papers
    from apiarybook.readers.records import RawBook

Values = dict[str, object]
_MADE = re.compile(r"-x[0-9a-f]{8,9}\Z")
"""A ref made of what a line says; until 2026 of eight hexadecimal digits, which books still hold."""
_OWN = re.compile(r"-[A-Z]\d+\Z")
MOST_PAIRS = 40_000
"""Pairs of a line and a row that are compared cell by cell; a file with more of them was not typed by hand."""


@dataclass(frozen=True, slots=True)
class Copied:
    """A row whose ref is another row's: the claim under its new ref, and the ref as it stood."""

    claim: Claim
    ref: str


def own_refs(claims: Iterable[Claim], roster: Mapping[str, str]) -> tuple[list[Claim], list[Copied]]:
    """Give every row of every file a ref that is its own, and the same in all files of a copy.

    A ref seen twice in one file stays with the row nearest to what that copy said last (fewest differing cells, then
    first row). A ref that is another member's and was not handed out to this copy is copied. Whatever has no ref of its
    own is the row of an earlier file that is gone from this one and says the same, or nearly; else it is new.

    Args:
        claims: of rows, without those of headings.
        roster: the member of each copy.

    Returns:
        the claims, and those that have lost their ref.
    """
    settled: list[Claim] = []
    copied: list[Copied] = []
    first: dict[tuple[str, str], str] = {}
    for claims_of_copy in _by_copy(claims):
        last: dict[str, Values] = {}
        stranger = _Stranger(claims_of_copy, roster)
        for file in _files(claims_of_copy):
            kept, lost = _of_file(file, last, stranger)
            named = _named(kept, lost)
            if file[0].kind == "returned":
                alike = same_rows([claim for claim, _ in named], last)
                named = [(replace(claim, ref=alike.get(claim.ref, claim.ref)), was) for claim, was in named]
                first |= {(file[0].sheet, ref): into for ref, into in alike.items()}
            last.update((claim.ref, claim.values) for claim, _ in named)
            settled += [claim for claim, _ in named]
            copied += [Copied(claim, was) for claim, was in named if was]
    return [_under_first(claim, first) for claim in settled], copied


def _under_first(claim: Claim, first: Mapping[tuple[str, str], str]) -> Claim:
    """A claim of the club's book or of a later copy that knows a row by the ref of a later file."""
    ref = first.get((claim.sheet, claim.ref), claim.ref)
    return claim if ref == claim.ref else replace(claim, ref=ref)


def _by_copy(claims: Iterable[Claim]) -> Iterator[list[Claim]]:
    groups: dict[tuple[str, str], list[Claim]] = defaultdict(list)
    for claim in claims:
        groups[claim.copy, claim.sheet].append(claim)
    yield from groups.values()


def _files(claims: list[Claim]) -> list[list[Claim]]:
    """The files of one sheet of a copy: as handed out first, then as they were saved."""
    files: dict[tuple[bool, PaperId], list[Claim]] = defaultdict(list)
    for claim in claims:
        files[claim.file != HANDED_OUT, (claim.saved, claim.sha256)].append(claim)
    return [files[one] for one in sorted(files)]


def _of_file(file: list[Claim], last: dict[str, Values], stranger: _Stranger) -> tuple[list[Claim], list[Claim]]:
    by_ref: dict[str, list[Claim]] = defaultdict(list)
    for claim in file:
        by_ref[claim.ref].append(claim)
    kept: list[Claim] = []
    lost: list[Claim] = []
    for ref, alike in by_ref.items():
        one_file = alike[0].was is None
        if one_file and stranger.owns(alike[0]):
            lost += alike
        elif len(alike) == 1 or not one_file:
            kept += alike
        else:
            before = last.get(ref, {})
            ordered = sorted(alike, key=lambda claim: (unlike(claim.values, before), int(claim.place)))
            kept.append(ordered[0])
            lost += ordered[1:]
    return kept, sorted(lost, key=lambda claim: (natural(claim.ref), int(claim.place)))


def _named(kept: list[Claim], lost: list[Claim]) -> list[tuple[Claim, str]]:
    """All claims of a file under refs that no two share; beside one that has lost its ref that ref."""
    named = [(claim, "") for claim in kept]
    taken = {claim.ref for claim in kept}
    for claim in lost:
        ordinal = 0
        while (ref := new_ref(claim, ordinal)) in taken:
            ordinal += 1
        taken.add(ref)
        named.append((replace(claim, ref=ref), claim.ref))
    return named


class _Stranger:
    """Tells for the rows of one sheet of a copy whether their ref is another member's."""

    def __init__(self, claims: list[Claim], roster: Mapping[str, str]) -> None:
        self._handed = {claim.ref for claim in claims if claim.file == HANDED_OUT}
        self._roster = roster

    def owns(self, claim: Claim) -> bool:
        token, dash, _ = claim.ref.partition("-")
        if not dash or token == claim.copy or token not in self._roster:
            return False
        same_member = self._roster.get(claim.copy, claim.copy) == self._roster[token]
        return not same_member and claim.ref not in self._handed


@dataclass(frozen=True, slots=True)
class Apart:
    """Another row under a mark.

    Attributes:
        ref: the mark.
        what: its colony and day in words.
        claims: what files of one copy say of it.
        is_replaced: whether the file whose row has the mark is surely the later.
    """

    ref: str
    what: str
    claims: list[Claim]
    is_replaced: bool


def other_rows(ref: str, claims: Iterable[Claim], papers: Papers) -> Iterator[Apart]:
    """Of new rows that files of one copy have under one ref those of another colony or day than the last file's.

    Args:
        ref: the ref.
        claims: of it, in order.
        papers: the files of all copies.
    """
    by_copy: dict[str, list[Claim]] = defaultdict(list)
    handed = set()
    for claim in claims:
        if claim.kind == "returned" and claim.values:
            by_copy[claim.copy].append(claim)
        elif claim.file == HANDED_OUT and claim.values:
            handed.add(claim.copy)
    for copy in sorted(by_copy.keys() - handed, key=natural):
        known = papers.of(copy, by_copy[copy][0].sheet)
        layers = papers.layers(copy, by_copy[copy][0].sheet, {(one.saved, one.sha256) for one in by_copy[copy]})
        top = max(next(layers))
        last = next(claim for claim in by_copy[copy] if (claim.saved, claim.sha256) == top)
        apart: dict[str, list[Claim]] = defaultdict(list)
        for claim in by_copy[copy]:
            if any(_differ(claim.values.get(key), last.values.get(key)) for key in ("colony", "date")):
                apart[f"{in_words(claim.values.get('colony'))} on {in_words(claim.values.get('date'))}"].append(claim)
        for what in sorted(apart):
            ids = {(claim.saved, claim.sha256) for claim in apart[what]}
            yield Apart(ref, what, apart[what], all(replaces(known[top], known[one]) for one in ids))


def _differ(one: object, other: object) -> bool:
    """Whether two cells that both hold something say different things; codes regardless of case."""
    if one is None or other is None:
        return False
    return in_words(one).casefold() != in_words(other).casefold()


def same_rows(lines: Iterable[Claim], known: Mapping[str, Values]) -> dict[str, str]:
    """Find for lines whose ref does not say which row they are the row that is gone from their file.

    Args:
        lines: all lines of one sheet of a file, each under another ref.
        known: what was said last of each row, by ref.

    Returns:
        the ref of the known row by the ref of the line.

    >>> line = Claim("M1a", "Feedings", "M1a-x212453793", "", "", "", "9", {"colony": "A1", "amount": 5.0})
    >>> same_rows([line], {"M1a-F1": line.values, "M1a-F2": {}})
    {'M1a-x212453793': 'M1a-F1'}
    """
    seen = {claim.ref: claim for claim in lines}
    strange = [claim for ref, claim in seen.items() if ref not in known and not _OWN.search(ref)]
    gone = {ref: values for ref, values in known.items() if values and ref not in seen}
    if not strange or not gone:
        return {}
    found: dict[str, str] = {}
    by_content, by_code = _grouped(gone, _content), _grouped(gone, _code)
    for claim in strange:
        whole = claim.sheet == "Colonies" and _code(claim.values)
        alike = by_code.get(whole, []) if whole else by_content.get(_content(claim.values), [])
        if alike and (not whole or len(alike) == 1):
            found[claim.ref] = alike.pop(0)
    left = [claim for claim in strange if claim.ref not in found and _MADE.search(claim.ref)]
    nearly = {ref: one for ref, one in gone.items() if ref not in found.values() and _MADE.search(ref)}
    return found | _nearly(left, nearly)


def _grouped(gone: Mapping[str, Values], told: Callable[[Values], object]) -> dict[object, list[str]]:
    groups: dict[object, list[str]] = defaultdict(list)
    for ref in sorted(gone, key=natural):
        groups[told(gone[ref])].append(ref)
    return groups


def _content(values: Values) -> object:
    return tuple(sorted((key, type(one).__name__, one) for key, one in values.items() if key not in NOT_CONTENT))


def _code(values: Values) -> object:
    code = values.get("colony")
    return code.casefold() if isinstance(code, str) else code


def _nearly(lines: list[Claim], gone: Mapping[str, Values]) -> dict[str, str]:
    """Pairs of a line and a row of which at most half of the cells differ, the most alike first."""
    if len(lines) * len(gone) > MOST_PAIRS:
        return {}
    near = sorted(
        (unlike(claim.values, values), natural(ref), natural(claim.ref))
        for claim in lines
        for ref, values in gone.items()
        if 2 * unlike(claim.values, values) <= len(values)
    )
    found: dict[str, str] = {}
    taken: set[str] = set()
    for _, (_, ref), (_, line) in near:
        if line not in found and ref not in taken:
            found[line] = ref
            taken.add(ref)
    return found


def unlike(values: Values, before: Values) -> int:
    """In how many cells a row differs from what was said before, of those that then held something.

    >>> unlike({"colony": "A1", "amount": 5.0}, {"colony": "A1", "amount": 4.0})
    1
    """
    return sum(values.get(key) != one for key, one in before.items())


def typed_claims(
    book: Book,
    known: Mapping[str, Mapping[str, Values]],
    copy: str,
    *,
    gathered: str = "",
    source: RawBook | None = None,
    is_rewritten: bool = False,
) -> list[Claim]:
    """What was typed into a club's book since its last run: each row that differs from what its own claims give.

    Args:
        book: the club's book as read, or a conflict copy of it.
        known: `Folded.values` of the book's own claims and decisions: values by sheet and ref, blanks left out.
        copy: the club's own token.
        gathered: the as-at date, ISO.
        source: the file as it stands, so that text can be kept as typed.
        is_rewritten: whether this very book is made anew by this run, so that its new rows may be numbered on.

    Returns:
        claims with `was` that speak only of the cells that were changed; a row that somebody took out altogether is a
        claim without values and without a place.
    """
    rows = claims_of(book, copy, gathered=gathered, source=source)
    found: list[Claim] = []
    for headings in [claim for claim in rows if not claim.ref]:
        of_sheet = [claim for claim in rows if claim.ref and claim.sheet == headings.sheet]
        found += _typed_on(headings, of_sheet, known.get(headings.sheet, {}), is_rewritten=is_rewritten)
    return found


def _typed_on(
    headings: Claim, rows: list[Claim], known: Mapping[str, Values], *, is_rewritten: bool
) -> Iterator[Claim]:
    keys = sorted(set(headings.values) - {"ref"})
    blank = Runs(headings.raw.get(BLANK_ROWS, ""))
    one_each = _one_each(rows, known)
    alike = same_rows(one_each, {ref: one for ref, one in known.items() if ref not in blank})
    one_each = [replace(claim, ref=alike.get(claim.ref, claim.ref)) for claim in one_each]
    if is_rewritten:
        one_each = _numbered(one_each, {*known, *blank})
    for claim in one_each:
        yield from _changed(claim, keys, known.get(claim.ref, {}))
    seen = {claim.ref for claim in one_each}
    for ref in known:
        if ref not in seen and known[ref]:
            gone = replace(headings, ref=ref, place="", values={}, raw={}, was={})
            yield from _changed(gone, keys, known[ref]) if ref in blank else [gone]


def _numbered(rows: list[Claim], taken: Iterable[str]) -> list[Claim]:
    """Number new rows without a mark on from the last of this book, in the order in which they stand."""
    stem = f"{rows[0].copy}-{BOOK[rows[0].sheet].mark}" if rows else ""
    used = [ref.removeprefix(stem) for ref in (*taken, *(claim.ref for claim in rows)) if ref.startswith(stem)]
    following = count(max((int(one) for one in used if one.isdecimal()), default=0) + 1)
    new = sorted((claim for claim in rows if claim.ref not in taken and _MADE.search(claim.ref)), key=_line)
    given = {claim.ref: f"{stem}{number}" for claim, number in zip(new, following, strict=False)}
    return [replace(claim, ref=given.get(claim.ref, claim.ref)) for claim in rows]


def _line(claim: Claim) -> int:
    return int(claim.place)


def _one_each(rows: list[Claim], known: Mapping[str, Values]) -> list[Claim]:
    """Of rows that carry one ref the nearest to what is known keeps it; the others are new rows."""
    nearest: dict[str, Claim] = {}
    for claim in sorted(rows, key=lambda claim: (unlike(claim.values, known.get(claim.ref, {})), int(claim.place))):
        nearest.setdefault(claim.ref, claim)
    lost = [claim for claim in rows if nearest[claim.ref] is not claim]
    return [claim for claim, _ in _named(list(nearest.values()), lost)]


def _changed(claim: Claim, keys: list[str], was: Values) -> Iterator[Claim]:
    changed = [key for key in keys if claim.values.get(key) != was.get(key)]
    if changed:
        values = {key: claim.values[key] for key in changed if key in claim.values}
        yield replace(claim, values=values, was={key: was.get(key) for key in changed})
