"""The club's data sheets as a pure function of what was handed out, what was claimed and what was decided."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import pandas as pd

from apiarybook.gather.changes import (
    Line,
    Place,
    amended,
    answered,
    as_typed,
    changes_frame,
    disputed,
    not_used,
    superseded,
)
from apiarybook.gather.changes import whole_row as whole
from apiarybook.gather.claims import HANDED_OUT, SHEETS, STRANGE, Claim, new_ref
from apiarybook.gather.copy_files import Papers
from apiarybook.gather.decisions import APART, BOTH, TWICE, Answer, Decision, answer, answer_ask, ask_key
from apiarybook.gather.folded import Ask, Conflict, Folded, Said, Wrong
from apiarybook.gather.merge import Agreed, Twin, agree, new_row, twins
from apiarybook.gather.ref_ranges import natural
from apiarybook.gather.refs import Apart, Copied, other_rows, own_refs
from apiarybook.layout import BOOK
from apiarybook.readers.canonical import plain_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

__all__ = ["Ask", "Conflict", "Folded", "Said", "fold"]

Values = dict[str, object]
Rows = dict[str, list[Claim]]
FATES = ("new", "same", "amended", "unchanged", "conflict", "superseded", "refused", "blank")
LEFT_OUT = "left out by decision"


def fold(claims: Iterable[Claim], decisions: Iterable[Decision], roster: Mapping[str, str]) -> Folded:
    """Make the club's data sheets of all claims and decisions; their order does not enter.

    Args:
        claims: of all copies, what was handed out and what was typed into the club's book among them.
        decisions: the rows of the sheet Questions.
        roster: the member's code of each copy handed out.

    Returns:
        rows, and everything that a person still has to say something about.

    >>> from datetime import date
    >>> said = {"date": date(2026, 9, 5), "colony": "A1", "amount": 5.0}
    >>> first = Claim("M1a", "Feedings", "M1a-F1", "2026-09-06T10:00:00", "ann.xlsx", "0f", "2", said)
    >>> later = replace(first, saved="2026-09-07T10:00:00", sha256="1f", values=said | {"amount": 6.0})
    >>> folded = fold([later, first], [], {"M1a": "M1"})
    >>> folded.rows["Feedings"].loc["M1a-F1", "amount"], folded.changes["what"].tolist()
    (6.0, ['new', 'superseded'])
    """
    known = list(claims)
    work = _Work(Papers(known), {one.key: one for one in decisions}, roster)
    tokens = {claim.copy: roster.get(claim.copy, claim.copy) for claim in known} | dict(roster)
    settled, copied = own_refs((claim for claim in known if claim.ref), tokens)
    by_sheet: dict[str, dict[str, list[Claim]]] = {sheet: defaultdict(list) for sheet in SHEETS}
    for claim in settled:
        by_sheet[claim.sheet][claim.ref].append(claim)
    of_copied: dict[tuple[str, str], list[Copied]] = defaultdict(list)
    for one in copied:
        of_copied[one.claim.sheet, one.claim.ref].append(one)
    for sheet in SHEETS:
        work.fold_sheet(sheet, by_sheet.pop(sheet), of_copied)
    return work.done()


@dataclass
class _Work:
    """What comes out while the sheets are folded one by one."""

    papers: Papers
    decisions: dict[str, Decision]
    roster: Mapping[str, str]
    values: dict[str, dict[str, Values]] = field(default_factory=dict)
    conflicts: list[Conflict] = field(default_factory=list)
    lines: list[Line] = field(default_factory=list)
    aliases: dict[tuple[str, str], str] = field(default_factory=dict)
    held: dict[str, dict[str, list[str]]] = field(default_factory=lambda: defaultdict(lambda: defaultdict(list)))
    asks: list[Ask] = field(default_factory=list)
    wrong: list[Wrong] = field(default_factory=list)
    counts: dict[tuple[str, str, str, str], dict[str, int]] = field(default_factory=dict)

    def fold_sheet(self, sheet: str, rows: Rows, copied: Mapping[tuple[str, str], list[Copied]]) -> None:
        """Fold the rows of one sheet."""
        parted = self._part(sheet, rows)
        pairs = self._twins(rows)
        joined: dict[str, list[Twin]] = defaultdict(list)
        for pair in pairs:
            self.aliases[sheet, pair.alias] = pair.ref
            joined[pair.ref].append(pair)
            rows[pair.ref] = rows[pair.ref] + rows.pop(pair.alias)
        for one in parted:
            self._told_apart(Place(sheet, self.aliases.get((sheet, one.ref), one.ref), self.papers), one)
        done = self.values[sheet] = {}
        for ref in sorted(rows, key=natural):
            claims = rows[ref] if len(rows[ref]) == 1 else sorted(rows[ref], key=_order)
            place = Place(sheet, ref, self.papers)
            done[ref] = self._plain(place, claims[0]) if self._is_plain(sheet, claims) else self._row(place, claims)
            self._gone(place, claims, done[ref])
            for pair in joined.get(ref, ()):
                self._twice(place, claims, pair)
            came_as = {one.ref: one for claim in claims for one in copied.get((sheet, claim.ref), ())}
            for was in sorted(came_as, key=natural):
                self._ask("copied-ref", place, was, [came_as[was].claim])

    def _twins(self, rows: Rows) -> list[Twin]:
        new = [row for row in (new_row(ref, claims, self.papers) for ref, claims in rows.items()) if row]
        return twins(new, {key: one.holds for key, one in self.decisions.items()}, self.roster)

    def _part(self, sheet: str, rows: Rows) -> list[Apart]:
        """Where files of one copy have different rows under one mark, let one have it and find the others.

        The later file's row has the mark. Another is a row of its own once the secretary says `both`.
        """
        found = []
        for ref in sorted(ref for ref, claims in rows.items() if len(claims) > 1):
            for one in other_rows(ref, sorted(rows[ref], key=_order), self.papers):
                rows[ref] = [claim for claim in rows[ref] if claim not in one.claims]
                found.append(one)
                decision = self.decisions.get(ask_key(APART, sheet, ref, one.what))
                if decision and plain_words(decision.holds) == BOTH:
                    own = new_ref(one.claims[0])
                    rows[own] = [replace(claim, ref=own) for claim in one.claims]
        return found

    def _told_apart(self, place: Place, one: Apart) -> None:
        """Ask about a row under another's mark; until that is answered neither is used, unless one is surely later."""
        holds = self._ask(APART, place, one.what, one.claims, one.ref)
        if holds == BOTH:
            return
        if not holds and not one.is_replaced:
            self.held[place.sheet][place.ref].append("two rows came under this mark, see the sheet Questions")
        for claim in one.claims:
            self.lines += whole(place, "superseded", claim, "another row stands under this mark")
            self.lines += as_typed(place, claim) if claim.raw else ()
            self._count(claim, "superseded")

    def _is_plain(self, sheet: str, claims: list[Claim]) -> bool:
        """Whether one file of one copy alone speaks of the row, so that nothing has to be weighed."""
        if len(claims) != 1 or claims[0].was is not None or claims[0].file == HANDED_OUT:
            return False
        return len(self.papers.of(claims[0].copy, sheet)) == 1

    def _plain(self, place: Place, claim: Claim) -> Values:
        if claim.values:
            self.lines += whole(place, "new", claim)
        self.lines += as_typed(place, claim) if claim.raw else ()
        self._count(claim, "new" if claim.values else "refused")
        return claim.values

    def _row(self, place: Place, claims: list[Claim]) -> Values:
        found = agree(place.sheet, place.ref, claims, self.papers)
        self._tell(place, claims, found)
        for conflict in found.conflicts:
            self._dispute(place, conflict, found)
        for claim in claims:
            self.lines += as_typed(place, claim) if claim.raw else ()
        return found.values

    def _tell(self, place: Place, claims: list[Claim], found: Agreed) -> None:
        """Lines and counts of a row of which more than one file speaks."""
        handed: dict[str, Values] = defaultdict(dict)
        for claim in claims:
            if claim.file == HANDED_OUT:
                handed[claim.copy] |= claim.values
        disputed_keys = {conflict.column for conflict in found.conflicts}
        news = 0
        for claim in found.current:
            was = handed[claim.copy] if claim.was is None else claim.was
            keys = [key for key in found.asserted.get(id(claim), ()) if key not in disputed_keys]
            is_new = not any(one is not None for one in was.values()) and bool(claim.values)
            if is_new:
                self.lines += whole(place, "same" if news else "new", claim, _under(claim, place))
                news += 1
            else:
                self.lines += amended(place, claim, was, keys)
            if claim.place:
                self._count(claim, _fate(claim, keys, disputed_keys, is_new=is_new, news=news))
        for claim in found.older:  # a column that the newer file lacks
            keys = [key for key in found.asserted.get(id(claim), ()) if key not in disputed_keys]
            self.lines += amended(place, claim, handed[claim.copy], keys)
            if claim.place:
                self._count(claim, "superseded")
        self.lines += superseded(place, found)

    def _dispute(self, place: Place, conflict: Conflict, found: Agreed) -> None:
        decision = self.decisions.get(conflict.key)
        holds = decision.holds if decision else None
        conflict = replace(conflict, holds=holds, stands=conflict.agreed)
        given = answer(conflict) if holds is not None else Answer(conflict.agreed)
        conflict = replace(conflict, stands=given.value)
        if given.value is None:
            found.values.pop(conflict.column, None)
        else:
            found.values[conflict.column] = given.value
        self._note_wrong(conflict.key, holds, given)
        heading = BOOK[place.sheet][conflict.column].heading
        if holds is None or given.understood:
            self.held[place.sheet][place.ref].append(f"{heading} is in conflict, see the sheet Questions")
        elif given.left_out:
            self.held[place.sheet][place.ref].append(LEFT_OUT)
        self.conflicts.append(conflict)
        sources = [*found.older, *found.current]
        self.lines += disputed(place, conflict, sources, decision.decided if decision else "", given.understood)

    def _note_wrong(self, key: str, holds: object, given: Answer) -> None:
        if given.understood:
            self.wrong.append(Wrong(key, holds, given.understood))

    def _gone(self, place: Place, claims: list[Claim], values: Values) -> None:
        """Rows that the newest file of a copy lacks, or that somebody took out of the club's book."""
        if not values or (len(claims) == 1 and not self._has_many(place.sheet, claims)):
            return
        said: dict[str, list[Claim]] = defaultdict(list)
        for claim in claims:
            said[claim.copy].append(claim)
        for copy in sorted(said, key=natural):
            own = said[copy]
            held = {(claim.saved, claim.sha256) for claim in own if claim.was is None and claim.file != HANDED_OUT}
            taken_out = any(claim.was == {} for claim in own)
            known = any(claim.values and claim.was is None for claim in own)
            is_new = not any(claim.values and claim.file == HANDED_OUT for claim in own)
            refs = {claim.ref for claim in own}
            if taken_out or (known and self.papers.lacks(copy, place.sheet, refs, held, is_new=is_new)):
                self._ask("absent-row", place, copy, own)

    def _has_many(self, sheet: str, claims: list[Claim]) -> bool:
        return claims[0].file == HANDED_OUT or len(self.papers.of(claims[0].copy, sheet)) > 1

    def _twice(self, place: Place, claims: list[Claim], pair: Twin) -> None:
        if pair.asked:
            self._ask(TWICE, place, pair.alias, [one for one in claims if one.file != HANDED_OUT])

    def _ask(self, rule: str, place: Place, value: str, claims: list[Claim], ref: str = "") -> str:
        """Ask about a row; gives the answer in plain form, empty while there is none that can be applied."""
        key = ask_key(rule, place.sheet, ref or place.ref, value)
        decision = self.decisions.get(key)
        holds = decision.holds if decision else None
        said = tuple(
            Said(chr(ord("A") + at % 26), one.ref, one.copy, one.file, one.sha256, one.place)
            for at, one in enumerate(sorted(claims, key=lambda one: (natural(one.copy), one.saved, one.sha256)))
        )
        ask = Ask(rule, place.sheet, place.ref, value, said, key, holds)
        self.asks.append(ask)
        last = max(claims, key=lambda one: (one.gathered, one.saved, one.sha256))
        self.lines.append(place.line(_ASKED[rule], last, came=value))
        if decision and holds is not None:
            given = answer_ask(ask)
            self._note_wrong(key, holds, given)
            if given.left_out:
                self.held[place.sheet][place.ref].append(LEFT_OUT)
            if not given.understood:
                self.lines.append(answered(place, ask, decision.decided))
                return plain_words(holds)
        return ""

    def _count(self, claim: Claim, fate: str) -> None:
        key = (claim.copy, claim.file, claim.sha256, claim.sheet)
        if key not in self.counts:
            self.counts[key] = dict.fromkeys(FATES, 0)
        self.counts[key][fate] += 1

    def done(self) -> Folded:
        """Everything, as it is handed back."""
        held = [(one.headings, one.blank) for one in self.papers.headings() if one.headings]
        held.sort(key=lambda one: (natural(one[0].copy), one[0].saved, one[0].sha256, one[0].sheet))
        self.lines += not_used(claim for claim, _ in held)
        for claim, refs in held:
            blank = sum(1 for _ in refs)
            if blank:
                key = (claim.copy, claim.file, claim.sha256, claim.sheet)
                self.counts.setdefault(key, dict.fromkeys(FATES, 0))["blank"] += blank
        counts: list[dict[str, object]] = []
        for copy, file, sha256, sheet in sorted(self.counts):
            fates = self.counts[copy, file, sha256, sheet]
            told = {"copy": copy, "file": file, "sha256": sha256, "sheet": sheet, "rows": sum(fates.values())}
            counts.append({**told, **fates})
        return Folded(
            values=self.values,
            rows={sheet: _frame(sheet, rows) for sheet, rows in self.values.items()},
            conflicts=self.conflicts,
            changes=changes_frame(self.lines),
            aliases=self.aliases,
            held={name: {ref: _reasons(why) for ref, why in rows.items()} for name, rows in self.held.items()},
            asks=self.asks,
            wrong=self.wrong,
            counts=counts,
        )


def _order(claim: Claim) -> tuple[object, ...]:
    at = int(claim.place) if claim.place.isdecimal() else 0
    return natural(claim.copy), claim.saved, claim.sha256, claim.file, at, natural(claim.ref)


_ASKED = {"absent-row": "absent", TWICE: "taken for one", "copied-ref": "new ref", APART: "other row"}


def _reasons(why: list[str]) -> str:
    return "; ".join(dict.fromkeys(why))


def _under(claim: Claim, place: Place) -> str:
    return f"its ref there is {claim.ref}" if claim.ref != place.ref else ""


def _fate(claim: Claim, keys: list[str], disputed_keys: set[str], *, is_new: bool, news: int) -> str:
    if not claim.values and any(one.startswith(STRANGE) for one in claim.raw):
        return "refused"
    if disputed_keys & set(claim.values):
        return "conflict"
    if is_new:
        return "same" if news > 1 else "new"
    return "amended" if keys else "unchanged"


def _frame(sheet: str, rows: dict[str, Values]) -> pd.DataFrame:
    keys = [column.key for column in BOOK[sheet].typed]
    filled = {ref: values for ref, values in rows.items() if values}
    used = {key for values in filled.values() for key in values}
    nothing: list[object] = [None] * len(filled)
    found = {key: [values.get(key) for values in filled.values()] if key in used else nothing for key in keys}
    if "ref" in keys:
        found["ref"] = list(filled)
    index = pd.Index(list(filled), name="ref", dtype=object)
    return pd.DataFrame({key: pd.Series(found[key], index=index, dtype=object) for key in keys}, index=index)
