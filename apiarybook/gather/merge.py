"""New rows of two copies that say the same are one; and one row of the club's book out of all that copies say of it."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from apiarybook.gather.claims import HANDED_OUT, Claim, in_words
from apiarybook.gather.decisions import AS_IT_STANDS, BOTH, TWICE, ask_key
from apiarybook.gather.folded import Conflict, Said
from apiarybook.gather.ref_ranges import natural
from apiarybook.layout import NOT_CONTENT
from apiarybook.readers.canonical import plain_words
from apiarybook.readers.limits import column_letters

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from apiarybook.gather.copy_files import Paper, PaperId, Papers


Values = dict[str, object]
Content = tuple[tuple[str, object], ...]
COLONIES = "Colonies"


@dataclass(frozen=True, slots=True)
class NewRow:
    """A row that one copy brought up.

    Attributes:
        ref: its ref.
        copy: that copy.
        claim: what it says now.
        said: all that the copy ever said of it, what it says now among that.
    """

    ref: str
    copy: str
    claim: Claim
    said: tuple[Values, ...]


@dataclass(frozen=True, slots=True)
class Twin:
    """Two new rows that say the same: which ref stands, the other, and whether that has to be asked."""

    ref: str
    alias: str
    asked: bool


def new_row(ref: str, claims: list[Claim], papers: Papers) -> NewRow | None:
    """The row as the copy said it that brought it up; None for one that was handed out with content."""
    if len(claims) == 1 and claims[0].was is None:
        only = claims[0]
        return NewRow(ref, only.copy, only, (only.values,)) if only.values and only.file != HANDED_OUT else None
    handed = {claim.copy for claim in claims if claim.file == HANDED_OUT and claim.values}
    bringing = {claim.copy for claim in claims if claim.file != HANDED_OUT and claim.values} - handed
    if not bringing:
        return None
    token = ref.partition("-")[0]
    copy = token if token in bringing else min(bringing, key=natural)
    own = sorted(
        (claim for claim in claims if claim.copy == copy and claim.values), key=lambda one: (one.saved, one.sha256)
    )
    returned = [claim for claim in own if claim.was is None]
    if returned:
        top = papers.newest(copy, returned[0].sheet)
        claim = next((one for one in reversed(returned) if (one.saved, one.sha256) in top), returned[-1])
        return NewRow(ref, copy, claim, tuple(one.values for one in returned))
    first: Values = {}
    for claim in reversed(own):
        first |= claim.values
    now = {key: one for claim in own for key, one in claim.values.items()}
    return NewRow(ref, copy, replace(own[-1], ref=ref, values=now, was=None), (first, now))


def twins(rows: list[NewRow], decisions: Mapping[str, object], roster: Mapping[str, str]) -> list[Twin]:
    """Find the new rows of one sheet that are one.

    Rows of different copies that are, or ever were, alike in all cells are one under the smaller ref, the first of the
    one copy with the first of the other and so on; on Colonies if code and apiary are alike. A row that was typed for a
    member is one with a row of that member that differs from it in no cell that both have filled. A pair that the
    secretary called two rows stays two, and one that was called one row stays one whatever either copy says later.

    Args:
        rows: the new rows of a sheet.
        decisions: what the secretary wrote, by key.
        roster: the member of each copy.

    Returns:
        pairs, each alias once.
    """
    found: dict[str, Twin] = {}
    standing: set[str] = set()
    sheet = rows[0].claim.sheet if rows else ""
    pairs = [*_decided(rows, decisions), *_alike(rows), *_typed_for(rows, roster)]
    for ref, alias, asked in pairs:
        into = found[ref].ref if ref in found else ref
        if into == alias or alias in found or alias in standing:
            continue
        if plain_words(decisions.get(ask_key(TWICE, sheet, into, alias))) != BOTH:
            found[alias] = Twin(into, alias, asked and sheet != COLONIES)
            standing.add(into)
    return list(found.values())


def _ordered(one: str, other: str) -> tuple[str, str]:
    return (one, other) if natural(one) < natural(other) else (other, one)


def _decided(rows: list[NewRow], decisions: Mapping[str, object]) -> Iterator[tuple[str, str, bool]]:
    refs = {row.ref for row in rows}
    sheet = rows[0].claim.sheet if rows else ""
    for key, holds in sorted(decisions.items()):
        if key.startswith(f"{TWICE}|{sheet}|") and plain_words(holds) == AS_IT_STANDS:
            ref, _, alias = key.split("|")[2:5]
            if ref in refs and alias in refs:
                yield ref, alias, True


def _content(sheet: str, values: Values) -> Content:
    if sheet == COLONIES and values.get("colony") is not None:
        return tuple((key, _folded(values.get(key))) for key in ("colony", "apiary"))
    return tuple(sorted((key, one) for key, one in values.items() if key not in NOT_CONTENT))


def _alike(rows: list[NewRow]) -> Iterator[tuple[str, str, bool]]:
    groups: dict[Content, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    typed_for: dict[str, object] = {}
    for row in _met(rows):
        typed_for[row.ref] = row.claim.values.get("typed_for")
        for content in {_content(row.claim.sheet, said) for said in row.said}:
            groups[content][row.copy].append(row.ref)
    for content in sorted((one for one, copies in groups.items() if len(copies) > 1), key=repr):
        copies = [sorted(set(refs), key=natural) for refs in groups[content].values()]
        for at in range(max(map(len, copies))):
            first, *others = sorted((refs[at] for refs in copies if at < len(refs)), key=natural)
            yield from ((first, other, not (typed_for[first] or typed_for[other])) for other in others)


def _met(rows: list[NewRow]) -> list[NewRow]:
    """The rows of which another copy has one of the same colony and day; only these can have a twin."""
    first: dict[tuple[object, object], str] = {}
    met: set[tuple[object, object]] = set()
    for row in rows:
        for said in row.said:
            day = _folded(said.get("colony")), said.get("date")
            if first.setdefault(day, row.copy) != row.copy:
                met.add(day)
    return [row for row in rows if any((_folded(said.get("colony")), said.get("date")) in met for said in row.said)]


def _typed_for(rows: list[NewRow], roster: Mapping[str, str]) -> Iterator[tuple[str, str, bool]]:
    """Rows that the secretary typed for a member, with that member's own rows of the same colony and day."""
    typed = [row for row in rows if row.claim.values.get("typed_for")]
    if not typed:
        return
    own: dict[tuple[object, ...], list[NewRow]] = defaultdict(list)
    for row in rows:
        own[_folded(roster.get(row.copy, "")), *_day(row)].append(row)
    taken: set[str] = set()
    for row in sorted(typed, key=lambda one: natural(one.ref)):
        day = _day(row)
        for other in sorted(own[_folded(row.claim.values["typed_for"]), *day], key=lambda one: natural(one.ref)):
            if None not in day and other.ref not in taken and other.copy != row.copy and _agree(row, other):
                taken.add(other.ref)
                yield (*_ordered(row.ref, other.ref), False)
                break


def _folded(code: object) -> str:
    return str(code).casefold()


def _day(row: NewRow) -> tuple[object, object]:
    values = row.claim.values
    return (_folded(values["colony"]) if "colony" in values else None), values.get("date")


def _agree(one: NewRow, other: NewRow) -> bool:
    """Whether no cell that both have filled differs, and they share more than colony and date."""
    shared = (one.claim.values.keys() & other.claim.values.keys()) - NOT_CONTENT - {"colony", "date", "by"}
    return bool(shared) and all(one.claim.values[key] == other.claim.values[key] for key in shared)


@dataclass(frozen=True, slots=True)
class Assertion:
    """A cell that a copy changed: to what, from what, the claim that says so, and whether it had the row before it."""

    value: object
    base: object
    claim: Claim
    knew: bool


@dataclass(slots=True)
class Agreed:
    """One row as it comes out.

    Attributes:
        values: by key, blanks left out.
        holding: by key, the assertions that hold.
        superseded: cell by cell what was said and does not hold any more: key, value, claim, and what came instead.
        conflicts: cells of which more than one thing is said.
        asserted: keys that each claim changed.
        current: the claims that are their copy's newest word on the row.
        older: what else returned files say of it, blank rows too.
    """

    values: Values
    holding: dict[str, list[Assertion]] = field(default_factory=dict)
    superseded: list[tuple[str, object, Claim, object]] = field(default_factory=list)
    conflicts: list[Conflict] = field(default_factory=list)
    asserted: dict[int, list[str]] = field(default_factory=lambda: defaultdict(list))
    current: list[Claim] = field(default_factory=list)
    older: list[Claim] = field(default_factory=list)


def agree(sheet: str, ref: str, claims: list[Claim], papers: Papers) -> Agreed:
    """Bring together what all copies say of one row.

    A copy asserts a cell when its newest word differs from what was handed out to it; clearing a cell is a word too.
    An assertion whose base is another's value stands on top of it. What is left after values that were built upon are
    taken away holds if it is one value; if it is more, or if all stand on each other, the cell is in conflict and shows
    the last agreed value.

    Args:
        sheet: layout name.
        ref: of the row.
        claims: of the row and of its twins.
        papers: the files of all copies.
    """
    handed = sorted((one for one in claims if one.file == HANDED_OUT), key=lambda one: (one.saved, natural(one.copy)))
    base: Values = {}
    for claim in handed:  # the last handed out stands; a cell that was blank then keeps what stood there before
        base |= claim.values
    found = Agreed(dict(base))
    cells: dict[str, list[Assertion]] = defaultdict(list)
    by_copy: dict[str, list[Claim]] = defaultdict(list)
    for claim in claims:
        if claim.was is None and claim.file != HANDED_OUT:
            by_copy[claim.copy].append(claim)
    for copy in sorted(by_copy.keys() | {one.copy for one in handed}, key=natural):
        own = {key: one for claim in handed if claim.copy == copy for key, one in claim.values.items()}
        refs = {claim.ref for claim in claims if claim.copy == copy}
        versions = _versions(sheet, copy, refs, by_copy[copy], papers, was_handed_out=bool(own))
        _returned(versions, own, cells, found)
    _typed([claim for claim in claims if claim.was is not None], cells, found)
    for key in sorted(cells):
        _settle(sheet, ref, key, cells[key], base.get(key), found, papers)
    _lost_bases(handed, found)
    return found


def _versions(
    sheet: str, copy: str, refs: set[str], claims: list[Claim], papers: Papers, *, was_handed_out: bool
) -> list[list[tuple[Claim, Paper]]]:
    """What each file of a copy says of a row, the current files first; a row that was handed out may stand cleared."""
    known = papers.of(copy, sheet)
    said: dict[PaperId, list[Claim]] = defaultdict(list)
    for claim in claims:
        said[claim.saved, claim.sha256].append(claim)
    for one, paper in known.items() if was_handed_out else ():
        if one not in said and paper.headings and any(ref in paper.blank for ref in refs):
            head = paper.headings
            ref = min(ref for ref in refs if ref in paper.blank)
            said[one].append(
                Claim(copy, sheet, ref, head.saved, head.file, head.sha256, "", {}, gathered=head.gathered)
            )
    return [[(claim, known[one]) for one in layer for claim in said[one]] for layer in papers.layers(copy, sheet, said)]


def _returned(
    versions: list[list[tuple[Claim, Paper]]], base: Values, cells: dict[str, list[Assertion]], found: Agreed
) -> None:
    if not versions:
        return
    found.current += [claim for claim, _ in versions[0]]
    found.older += [claim for group in versions[1:] for claim, _ in group]
    keys = sorted(base.keys() | {key for group in versions for claim, _ in group for key in claim.values})
    for key in keys:
        now: dict[object, Claim] | None = None
        for group in versions:
            said: dict[object, Claim] = {}
            for claim, paper in group:
                if paper.has(key) or key in claim.values:
                    said.setdefault(claim.values.get(key), claim)
            if now is None and said:
                now = said
                for value, claim in said.items():
                    if value != base.get(key):
                        cells[key].append(Assertion(value, base.get(key), claim, bool(base)))
            elif now is not None:
                instead = next(iter(now))
                old = {one: claim for one, claim in said.items() if one not in now and one != base.get(key)}
                found.superseded += [(key, one, claim, instead) for one, claim in old.items()]


def _typed(claims: list[Claim], cells: dict[str, list[Assertion]], found: Agreed) -> None:
    for claim in sorted(claims, key=lambda one: (one.saved, one.gathered, one.sha256, one.place)):
        was = claim.was or {}
        found.current.append(claim)
        for key in was:
            cells[key].append(Assertion(claim.values.get(key), was[key], claim, knew=True))


def _settle(sheet: str, ref: str, key: str, said: list[Assertion], base: object, found: Agreed, papers: Papers) -> None:
    for one in said:
        found.asserted[id(one.claim)].append(key)
    left = [one for one in said if not any(_stands_on(other, one) for other in said)]
    if len({_same(one.value) for one in left}) == 1:
        _put(found.values, key, left[0].value)
        found.holding[key] = [one for one in said if one.value == left[0].value]
        found.superseded += [(key, one.value, one.claim, left[0].value) for one in said if one.value != left[0].value]
        return
    open_ = left or said
    found.superseded += [(key, one.value, one.claim, None) for one in said if one not in open_]
    found.conflicts.append(_conflict(sheet, ref, key, open_, base, papers))
    _put(found.values, key, found.conflicts[-1].agreed)


def _stands_on(upper: Assertion, lower: Assertion) -> bool:
    """Whether one was made knowing the other; of what was typed into the club's book only the later can have been."""
    if upper is lower or _same(upper.base) != _same(lower.value) or not (upper.knew or upper.base is not None):
        return False
    both_typed = upper.claim.was is not None and lower.claim.was is not None and upper.claim.copy == lower.claim.copy
    return not both_typed or _when(upper.claim) >= _when(lower.claim)


def _when(claim: Claim) -> tuple[str, str]:
    return claim.saved, claim.gathered


def _same(value: object) -> tuple[str, object]:
    return type(value).__name__, value


def _put(values: Values, key: str, value: object) -> None:
    if value is None:
        values.pop(key, None)
    else:
        values[key] = value


def _conflict(sheet: str, ref: str, key: str, said: list[Assertion], base: object, papers: Papers) -> Conflict:
    letters: dict[tuple[str, object], str] = {}
    ordered = sorted(
        said, key=lambda one: (natural(one.claim.copy), *_when(one.claim), one.claim.sha256, one.claim.place)
    )
    claims: dict[tuple[object, ...], Said] = {}
    for one in ordered:
        letter = letters.setdefault(_same(one.value), column_letters(len(letters) + 1))
        claim = one.claim
        told = Said(letter, one.value, claim.copy, claim.file, claim.sha256, papers.cell(claim, key))
        claims.setdefault((*_same(one.value), claim.copy), told)
    bases = {_same(one.base): one.base for one in said}
    agreed = next(iter(bases.values())) if len(bases) == 1 else base
    return Conflict(sheet, ref, key, tuple(claims.values()), f"{sheet}|{ref}|{key}|{_digest(claims)}", agreed)


def _digest(claims: Iterable[tuple[object, ...]]) -> str:
    told = sorted(f"{copy}\x1f{kind}\x1f{in_words(value)}" for kind, value, copy in claims)
    return hashlib.sha256("\x1e".join(told).encode()).hexdigest()[:12]


def _lost_bases(handed: list[Claim], found: Agreed) -> None:
    """What was handed out, does not hold any more, and is the base of no assertion that holds."""
    for claim in handed:
        for key, value in sorted(claim.values.items()):
            now = found.values.get(key)
            if value != now and all(value != one.base for one in found.holding.get(key, ())):
                found.superseded.append((key, value, claim, now))
