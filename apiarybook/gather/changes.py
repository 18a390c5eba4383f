"""The sheet Changes: what was gathered, from where, what became of it and why; no line is ever dropped."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import TYPE_CHECKING

import pandas as pd

from apiarybook.gather.claims import CELL_LIMIT, HANDED_OUT, STRANGE, Claim, unused_in
from apiarybook.gather.claims import in_words as text_of
from apiarybook.gather.decisions import AS_IT_STANDS, LEAVE_OUT, in_words
from apiarybook.layout import BOOK

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from apiarybook.gather.copy_files import Papers
    from apiarybook.gather.folded import Ask, Conflict
    from apiarybook.gather.merge import Agreed

COLUMNS = [column.key for column in BOOK["Changes"].columns]
Line = tuple[object, ...]
Values = dict[str, object]


@dataclass(slots=True)
class Place:
    """The row that lines speak of: its sheet and ref, and where the cells of files stand."""

    sheet: str
    ref: str
    papers: Papers

    def line(
        self, what: str, claim: Claim, key: str = "", was: object = None, came: object = None, why: str = ""
    ) -> Line:
        """One line; the column is named by its heading."""
        cell = self.papers.cell(claim, key) if key else claim.place
        heading = headings(self.sheet).get(key, key.removeprefix(STRANGE)) or None
        texts = (text_of(was) or None, text_of(came) or None, why or None)
        return (
            day(claim.gathered),
            what,
            self.sheet,
            self.ref,
            heading,
            *texts,
            claim.file,
            cell,
            claim.sha256 or None,
        )


@cache
def headings(sheet: str) -> dict[str, str]:
    """Heading of each column of a sheet by its key."""
    return {column.key: column.heading for column in BOOK[sheet].columns}


@cache
def _order(sheet: str) -> dict[str, int]:
    return {key: at for at, key in enumerate(headings(sheet))}


@cache
def day(text: str) -> date | None:
    """An ISO day; None for an empty text."""
    return date.fromisoformat(text) if text else None


def whole_row(place: Place, what: str, claim: Claim, why: str = "") -> Iterator[Line]:
    """A row that came as a whole, on one line where a cell can hold it."""
    names = headings(place.sheet)
    keys = sorted(claim.values, key=_order(place.sheet).__getitem__)
    told = "; ".join([f"{names[key]} {text_of(claim.values[key])}" for key in keys])
    if len(told) <= CELL_LIMIT:
        yield place.line(what, claim, came=told, why=why)
    else:
        yield from (place.line(what, claim, key, came=claim.values[key], why=why) for key in keys)


def amended(place: Place, claim: Claim, was: Values, keys: list[str]) -> Iterator[Line]:
    """The cells that a claim changed."""
    for key in keys:
        came = claim.values.get(key)
        yield place.line("withdrawn" if came is None else "amended", claim, key, was.get(key), came)


def as_typed(place: Place, claim: Claim) -> Iterator[Line]:
    """Text that was typed otherwise than it is kept, and what stood under headings that no book has."""
    for key, text in sorted(claim.raw.items()) if claim.file != HANDED_OUT else ():
        if key.startswith(STRANGE):
            yield place.line("refused", claim, key, came=text, why="the book has no column of this heading")
        elif key in headings(place.sheet):
            yield place.line("as typed", claim, key, claim.values.get(key), text, "kept in plain form")


def not_used(headings: Iterable[Claim]) -> Iterator[Line]:
    """What stands in returned files where the book does not look, each thing of a copy once.

    Args:
        headings: the claims of the files' headings, in order.
    """
    told = set()
    for claim in headings:
        for sheet, cell, text, why in unused_in(claim):
            if (claim.copy, sheet, cell, text) not in told:
                told.add((claim.copy, sheet, cell, text))
                place = (sheet or None, None, None, None, text, why, claim.file, cell or None, claim.sha256)
                yield (day(claim.gathered), "not used", *place)


def superseded(place: Place, found: Agreed) -> Iterator[Line]:
    """Values that were said of the row and do not hold any more."""
    told = set()
    for key, value, claim, instead in found.superseded:
        one = (key, text_of(value), claim.copy, claim.sha256, claim.place)
        if value is not None and one not in told:
            told.add(one)
            why = f"later came {text_of(instead)}" if instead is not None else "changed again since"
            yield place.line("superseded", claim, key, None, value, why)


def disputed(place: Place, conflict: Conflict, claims: list[Claim], decided: str, understood: str) -> Iterator[Line]:
    """The claims of a conflict and, once it is decided, what holds."""
    by_file = {(claim.copy, claim.sha256, claim.file): claim for claim in claims}
    for said in conflict.claims:
        claim = by_file[said.copy, said.sha256, said.file]
        line = place.line("conflict", claim, conflict.column, conflict.agreed, said.value, f"claim {said.letter}")
        yield (*line[:9], said.place, line[10])
    if conflict.holds is not None and not understood:
        why = f"of {in_words(conflict.claims)}"
        yield _decided(place, headings(place.sheet)[conflict.column], conflict.stands, conflict.holds, decided, why)


def answered(place: Place, ask: Ask, decided: str) -> Line:
    """The answer to a row that someone had to look at."""
    return _decided(place, None, None, ask.holds, decided, f"{ask.rule}: {ask.value}")


def _decided(place: Place, heading: str | None, stands: object, holds: object, decided: str, why: str) -> Line:
    plain = text_of(holds)
    came = text_of(stands) or None
    said = f"{plain}, {why}" if plain in (AS_IT_STANDS, LEAVE_OUT) or came != plain else why
    told = (day(decided), "decided", place.sheet, place.ref, heading, None, came, said)
    return (*told, None, None, None)


def changes_frame(lines: list[Line]) -> pd.DataFrame:
    """Lines as the sheet Changes holds them."""
    return pd.DataFrame(lines, columns=COLUMNS, dtype=object)
