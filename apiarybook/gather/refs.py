"""Refs that do not belong where they stand: seen twice in one file, or copied from another member's copy."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from apiarybook.gather.claims import HANDED_OUT, Claim, new_ref
from apiarybook.gather.ref_ranges import natural
from apiarybook.gather.typed_in_club import unlike

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from apiarybook.gather.copy_files import PaperId

Values = dict[str, object]


@dataclass(frozen=True, slots=True)
class Copied:
    """A row whose ref is another row's: the claim under its new ref, and the ref as it stood."""

    claim: Claim
    ref: str


def own_refs(claims: Iterable[Claim], roster: Mapping[str, str]) -> tuple[list[Claim], list[Copied]]:
    """Give every row of every file a ref that is its own.

    A ref seen twice in one file stays with the row nearest to what that copy said last (fewest differing cells, then
    first row). A ref that is another member's and was not handed out to this copy is copied. Whatever loses its ref is
    a new row with a ref made of its content.

    Args:
        claims: of rows, without those of headings.
        roster: the member of each copy.

    Returns:
        the claims, and those that have lost their ref.
    """
    settled: list[Claim] = []
    copied: list[Copied] = []
    for claims_of_copy in _by_copy(claims):
        last: dict[str, Values] = {}
        given: dict[str, str] = {}
        stranger = _Stranger(claims_of_copy, roster)
        for file in _files(claims_of_copy):
            kept, lost = _of_file(file, last, stranger)
            last.update((claim.ref, claim.values) for claim in kept)
            settled += kept
            for claim in lost:
                ref = _next_ref(claim, given)
                settled.append(replace(claim, ref=ref))
                copied.append(Copied(settled[-1], claim.ref))
            given.clear()
    return settled, copied


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


def _next_ref(claim: Claim, given: dict[str, str]) -> str:
    ordinal = 0
    while (ref := new_ref(claim, ordinal)) in given:
        ordinal += 1
    given[ref] = claim.ref
    return ref


class _Stranger:
    """Tells for the rows of one sheet of a copy whether their ref is another member's."""

    def __init__(self, claims: list[Claim], roster: Mapping[str, str]) -> None:
        self._handed = {claim.ref for claim in claims if claim.file == HANDED_OUT}
        self._roster = roster

    def owns(self, claim: Claim) -> bool:
        token, dash, _ = claim.ref.partition("-")
        if not dash or token == claim.copy or token not in self._roster or claim.sheet == "Colonies":
            return False
        same_member = self._roster.get(claim.copy, claim.copy) == self._roster[token]
        return not same_member and claim.ref not in self._handed
