"""Small sets of claims: rows of an invented club as its copies say them, drawn by hand or by chance."""

from __future__ import annotations

import hashlib
from datetime import date
from typing import TYPE_CHECKING

from hypothesis import strategies as st

from apiarybook.gather.claims import BLANK_ROWS, Claim
from apiarybook.gather.ref_ranges import runs

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from apiarybook.gather.folded import Folded

Values = dict[str, object]
CLUB = "club26"
ROSTER = {"M1a": "M1", "M1b": "M1", "M2a": "M2"}
DAY = date(2026, 9, 12)
COLUMNS = ("ref", "date", "colony", "feed_kind", "amount", "unit", "remarks")
SHEET = "Feedings"


def feed(amount: object = 5.0, **cells: object) -> Values:
    """One feed of colony A1."""
    return {"date": DAY, "colony": "A1", "feed_kind": "Fondant", "amount": amount, "unit": "kg", **cells}


def returned(
    copy: str,
    saved: str,
    rows: Mapping[str, Values] | Iterable[tuple[str, Values]],
    blank: Iterable[str] = (),
    columns: Iterable[str] = COLUMNS,
    file: str = "",
) -> list[Claim]:
    """What one file of a copy says: the time saved as day of September, its rows, blank rows and columns."""
    time = f"2026-09-{saved}T10:00:00" if saved else ""
    rows = list(rows.items() if hasattr(rows, "items") else rows)
    letters: Values = {key: "ABCDEFGHIJ"[at] for at, key in enumerate(columns)}
    file = file or f"{copy}-{saved}.xlsx"
    sha256 = hashlib.sha256(repr((file, saved, rows, blank)).encode()).hexdigest()
    raw = {BLANK_ROWS: runs(blank)} if blank else {}
    known = {"saved": time, "file": file, "sha256": sha256, "gathered": "2026-09-20"}
    heads = Claim(copy=copy, sheet=SHEET, ref="", place="1", values=letters, raw=raw, **known)
    held = [{key: one for key, one in values.items() if key in letters} for _, values in rows]
    refs = [ref for ref, _ in rows]
    return [
        heads,
        *(
            Claim(copy=copy, sheet=SHEET, ref=ref, place=str(at), values=values, **known)
            for at, (ref, values) in enumerate(zip(refs, held, strict=True), start=2)
        ),
    ]


def handed(copy: str, rows: Mapping[str, Values], on: str = "01") -> list[Claim]:
    """Rows as they were handed out."""
    day = f"2026-09-{on}"
    sha256 = hashlib.sha256(repr((copy, rows)).encode()).hexdigest()
    return [
        Claim(copy, SHEET, ref, day, "handed out", sha256, str(at), values, gathered=day)
        for at, (ref, values) in enumerate(rows.items(), start=2)
    ]


def typed(ref: str, was: Values, values: Values, saved: str = "15") -> Claim:
    """What was typed into the club's own book."""
    time = f"2026-09-{saved}T09:00:00"
    sha256 = hashlib.sha256(repr((ref, was, values, saved)).encode()).hexdigest()
    return Claim(CLUB, SHEET, ref, time, "club.xlsx", sha256, "9", values, was, gathered=f"2026-09-{saved}")


def told(folded: Folded) -> tuple[object, ...]:
    """All that a fold says, in a form that can be compared."""
    frames = [(list(frame.index), frame.to_dict("list")) for frame in [*folded.rows.values(), folded.changes]]
    rest = (folded.conflicts, folded.asks, folded.aliases, folded.held, folded.wrong, folded.counts)
    return (folded.values, frames, *rest)


KNOWN = ("club26-F1", "club26-F2")
AMOUNTS = st.sampled_from([None, 4.0, 5.0, 6.0, "5,5"])
WORDS = st.sampled_from([None, "late", "in the rain"])


@st.composite
def rows_of(draw: st.DrawFn, refs: Iterable[str]) -> dict[str, Values]:
    """Rows under some of the given refs, never without a colony."""
    found = {}
    for ref in refs:
        if draw(st.booleans()):
            values = feed(draw(AMOUNTS), remarks=draw(WORDS), colony=draw(st.sampled_from(["A1", "B1"])))
            found[ref] = {key: one for key, one in values.items() if one is not None}
    return found


@st.composite
def files(draw: st.DrawFn, copy: str, known: Iterable[str]) -> list[Claim]:
    """One to three files of a copy."""
    own = [f"{copy}-F{number}" for number in range(1, 4)]
    found: list[Claim] = []
    for number in range(draw(st.integers(1, 3))):
        rows = draw(rows_of([*known, *own]))
        blank = [ref for ref in [*known, *own] if ref not in rows and draw(st.booleans())]
        columns = COLUMNS if draw(st.booleans()) else COLUMNS[:-1]
        saved = draw(st.sampled_from(["", "10", "11", "12"]))
        again = [(ref, values) for ref, values in rows.items() if draw(st.integers(0, 7)) == 0]
        found += returned(copy, saved, [*rows.items(), *again], blank, columns, f"{copy}-{number}.xlsx")
    return found


@st.composite
def typings(draw: st.DrawFn) -> list[Claim]:
    """What was typed into some rows of the club's book, one cell at a time."""
    found = []
    for number in range(draw(st.integers(0, 3))):
        ref = draw(st.sampled_from([*KNOWN, "M1a-F1", "club26-F9"]))
        was, now = draw(AMOUNTS), draw(AMOUNTS)
        if was != now:
            values = {} if now is None else {"amount": now}
            found.append(typed(ref, {"amount": was}, values, f"{14 + number}"))
    return found


@st.composite
def gatherings(draw: st.DrawFn) -> list[Claim]:
    """All that three copies of two members and the club's own book may say of a few rows."""
    known = draw(rows_of(KNOWN))
    claims = [claim for copy in ROSTER for claim in handed(copy, known, "01" if copy != "M1b" else "02")]
    for copy in ROSTER:
        if draw(st.booleans()):
            claims += draw(files(copy, KNOWN))
    return claims + draw(typings())
