"""The files in which each copy came back: which are its newest, which columns and blank rows they hold.

The time at which a file says it was saved is evidence, no more: a clock may be wrong, and programs differ in what they
write of time zones. So a file replaces another only if it is surely later.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from typing import TYPE_CHECKING

from apiarybook.gather.claims import BLANK_ROWS, SAVED_BY, Claim
from apiarybook.gather.ref_ranges import Runs

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

PaperId = tuple[str, str]
"""When a file was saved, and its SHA-256."""
ZONES = timedelta(hours=14)
"""How far local time is from UTC at most (UTC+14, Line Islands): what two programs may differ by."""


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

    @property
    def program(self) -> str:
        """The program that saved it; empty where it does not say."""
        return self.headings.raw.get(SAVED_BY, "") if self.headings else ""

    @property
    def gathered(self) -> str:
        """The as-at date of the run that gathered it first, ISO."""
        return self.headings.gathered if self.headings else ""


@cache
def _moment(text: str) -> datetime | None:
    try:
        return datetime.fromisoformat(text) if text else None
    except ValueError:
        return None


def _time(paper: Paper) -> datetime | None:
    """When a file was saved; None where it does not say, or says a time after the run that gathered it."""
    saved, gathered = _moment(paper.id[0]), _moment(paper.gathered)
    too_late = saved and gathered and saved > gathered + timedelta(days=1) + ZONES
    return None if too_late else saved


def replaces(later: Paper, earlier: Paper) -> bool:
    """Whether one file was surely saved after another, so that what it says stands in the other's place."""
    first, last = _time(earlier), _time(later)
    if first is None or last is None:
        return False
    same_clock = bool(later.program) and later.program == earlier.program
    return last > first if same_clock else last > first + ZONES


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
            self._newest[place] = frozenset(next(iter(self.layers(*place, papers)), ()))

    def of(self, copy: str, sheet: str) -> dict[PaperId, Paper]:
        """The files of a copy that hold a sheet, by when they were saved and SHA-256."""
        return self._of.get((copy, sheet), {})

    def headings(self) -> Iterator[Paper]:
        """Every sheet of every file."""
        for papers in self._of.values():
            yield from papers.values()

    def newest(self, copy: str, sheet: str) -> frozenset[PaperId]:
        """Which of them are current: those that no other replaces."""
        return self._newest.get((copy, sheet), frozenset())

    def layers(self, copy: str, sheet: str, ids: Iterable[PaperId]) -> Iterator[list[PaperId]]:
        """Some files of a copy, the current ones first, then those that only these replace, and so on."""
        known = self.of(copy, sheet)
        left = sorted(ids)
        while left:
            top = [one for one in left if not any(replaces(known[other], known[one]) for other in left)]
            yield top
            left = [one for one in left if one not in top]

    def lacks(self, copy: str, sheet: str, refs: set[str], held: set[PaperId], *, is_new: bool) -> bool:
        """Whether none of a copy's newest files has a row, given its refs and the files that hold it with content.

        A row that was handed out with content is cleared where it stands blank; a new one is missing there.
        """
        top = self.newest(copy, sheet)
        known = self.of(copy, sheet)
        is_there = not is_new and any(ref in known[one].blank for one in top for ref in refs)
        return bool(top) and not (held & top) and not is_there

    def cell(self, claim: Claim, key: str) -> str:
        """The cell of a claim, such as F7; the row's number where the column is not known."""
        paper = self.of(claim.copy, claim.sheet).get((claim.saved, claim.sha256))
        letters = (paper.columns or {}).get(key, "") if paper else ""
        return f"{letters}{claim.place}"
