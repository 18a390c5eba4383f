"""What was typed straight into the club's own book, told from what its claims give."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from apiarybook.gather.claims import BLANK_ROWS, Claim, claims_of, new_ref
from apiarybook.gather.ref_ranges import Runs

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from apiarybook.book.tables import Book
    from apiarybook.readers.records import RawBook

Values = dict[str, object]


def typed_claims(
    book: Book,
    known: Mapping[str, Mapping[str, Values]],
    copy: str,
    *,
    gathered: str = "",
    source: RawBook | None = None,
) -> list[Claim]:
    """What was typed into a club's book since its last run: each row that differs from what its own claims give.

    Args:
        book: the club's book as read, or a conflict copy of it.
        known: `Folded.values` of the book's own claims and decisions: values by sheet and ref, blanks left out.
        copy: the club's own token.
        gathered: the as-at date, ISO.
        source: the file as it stands, so that text can be kept as typed.

    Returns:
        claims with `was` that speak only of the cells that were changed; a row that somebody took out altogether is a
        claim without values and without a place.
    """
    rows = claims_of(book, copy, gathered=gathered, source=source)
    found: list[Claim] = []
    for headings in [claim for claim in rows if not claim.ref]:
        of_sheet = [claim for claim in rows if claim.ref and claim.sheet == headings.sheet]
        found += _of_sheet(headings, of_sheet, known.get(headings.sheet, {}))
    return found


def _of_sheet(headings: Claim, rows: list[Claim], known: Mapping[str, Values]) -> Iterator[Claim]:
    keys = sorted(set(headings.values) - {"ref"})
    blank = Runs(headings.raw.get(BLANK_ROWS, ""))
    one_each = _one_each(rows, known)
    for claim in one_each:
        yield from _changed(claim, keys, known.get(claim.ref, {}))
    seen = {claim.ref for claim in one_each}
    for ref in known:
        if ref not in seen and known[ref]:
            gone = replace(headings, ref=ref, place="", values={}, raw={}, was={})
            yield from _changed(gone, keys, known[ref]) if ref in blank else [gone]


def _one_each(rows: list[Claim], known: Mapping[str, Values]) -> list[Claim]:
    """Of rows that carry one ref the nearest to what is known keeps it; the others are new rows."""
    nearest: dict[str, Claim] = {}
    for claim in sorted(rows, key=lambda claim: (unlike(claim.values, known.get(claim.ref, {})), int(claim.place))):
        nearest.setdefault(claim.ref, claim)
    again: dict[str, int] = {}
    found: list[Claim] = []
    for claim in rows:
        if nearest[claim.ref] is claim:
            found.append(claim)
        else:
            ref = new_ref(claim)
            found.append(replace(claim, ref=new_ref(claim, again.setdefault(ref, 0))))
            again[ref] += 1
    return found


def unlike(values: Values, before: Values) -> int:
    """In how many cells a row differs from what was said before, of those that then held something.

    >>> unlike({"colony": "A1", "amount": 5.0}, {"colony": "A1", "amount": 4.0})
    1
    """
    return sum(values.get(key) != one for key, one in before.items())


def _changed(claim: Claim, keys: list[str], was: Values) -> Iterator[Claim]:
    changed = [key for key in keys if claim.values.get(key) != was.get(key)]
    if changed:
        values = {key: claim.values[key] for key in changed if key in claim.values}
        yield replace(claim, values=values, was={key: was.get(key) for key in changed})
