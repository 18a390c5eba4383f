"""New rows of two copies that say the same: they become one."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from apiarybook.gather.claims import HANDED_OUT, Claim
from apiarybook.gather.decisions import AS_IT_STANDS, BOTH, ask_key, plain_answer
from apiarybook.gather.ref_ranges import natural
from apiarybook.layout import NOT_CONTENT

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from apiarybook.gather.copy_files import Papers

Values = dict[str, object]
Content = tuple[tuple[str, object], ...]
RULE = "same-row-twice"
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
        if plain_answer(decisions.get(ask_key(RULE, sheet, into, "", alias))) != BOTH:
            found[alias] = Twin(into, alias, asked and sheet != COLONIES)
            standing.add(into)
    return list(found.values())


def _ordered(one: str, other: str) -> tuple[str, str]:
    return (one, other) if natural(one) < natural(other) else (other, one)


def _decided(rows: list[NewRow], decisions: Mapping[str, object]) -> Iterator[tuple[str, str, bool]]:
    refs = {row.ref for row in rows}
    sheet = rows[0].claim.sheet if rows else ""
    for key, holds in sorted(decisions.items()):
        if key.startswith(f"{RULE}|{sheet}|") and plain_answer(holds) == AS_IT_STANDS:
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
