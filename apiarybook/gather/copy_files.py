"""The files in which each copy came back: which are its newest, which columns and blank rows they hold."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from apiarybook.gather.claims import BLANK_ROWS, Claim
from apiarybook.gather.ref_ranges import Runs

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

PaperId = tuple[str, str]
"""When a file was saved, and its SHA-256."""


@dataclass(frozen=True, slots=True)
class Paper:
    """One sheet of one file of a copy.

    Attributes:
        id: when it was saved, and its SHA-256.
        columns: letters of its columns by key; None where nothing tells which it has.
        blank: refs of its rows without content.
        headings: the claim that says so.
    """

    id: PaperId
    columns: dict[str, object] | None
    blank: Runs
    headings: Claim | None

    def has(self, key: str) -> bool:
        """Whether the file has a column."""
        return self.columns is None or key in self.columns


_NOTHING = Runs("")


class Papers:
    """All files of all copies, sheet by sheet."""

    def __init__(self, claims: Iterable[Claim]) -> None:
        """Take note of every file that was returned."""
        self._of: dict[tuple[str, str], dict[PaperId, Paper]] = defaultdict(dict)
        self._newest: dict[tuple[str, str], frozenset[PaperId]] = {}
        for claim in claims:
            if claim.was is None and claim.kind == "returned":
                known = self._of[claim.copy, claim.sheet]
                paper_id = (claim.saved, claim.sha256)
                if not claim.ref:
                    known[paper_id] = Paper(paper_id, claim.values, Runs(claim.raw.get(BLANK_ROWS, "")), claim)
                elif paper_id not in known:
                    known[paper_id] = Paper(paper_id, None, _NOTHING, None)
        for place, papers in self._of.items():
            self._newest[place] = newest(papers)

    def of(self, copy: str, sheet: str) -> dict[PaperId, Paper]:
        """The files of a copy that hold a sheet, by when they were saved and SHA-256."""
        return self._of.get((copy, sheet), {})

    def headings(self) -> Iterator[Paper]:
        """Every sheet of every file."""
        for papers in self._of.values():
            yield from papers.values()

    def newest(self, copy: str, sheet: str) -> frozenset[PaperId]:
        """Which of them are current: the last saved one, and those that do not say when they were saved."""
        return self._newest.get((copy, sheet), frozenset())

    def lacks(self, copy: str, sheet: str, refs: set[str], held: set[PaperId]) -> bool:
        """Whether none of a copy's newest files has a row, given its refs and the files that hold it with content."""
        top = self.newest(copy, sheet)
        known = self.of(copy, sheet)
        return bool(top) and not (held & top) and not any(ref in known[one].blank for one in top for ref in refs)

    def cell(self, claim: Claim, key: str) -> str:
        """The cell of a claim, such as F7; the row's number where the column is not known."""
        paper = self.of(claim.copy, claim.sheet).get((claim.saved, claim.sha256))
        letters = (paper.columns or {}).get(key, "") if paper else ""
        return f"{letters}{claim.place}"


def newest(ids: Iterable[PaperId]) -> frozenset[PaperId]:
    """The last saved of several files, and all that do not say when they were saved.

    >>> sorted(newest([("2026-09-05T10:00:00", "a"), ("2026-09-06T10:00:00", "b"), ("", "c")]))
    [('', 'c'), ('2026-09-06T10:00:00', 'b')]
    """
    known = list(ids)
    last = max((saved for saved, _ in known), default="")
    return frozenset(one for one in known if one[0] in ("", last))
