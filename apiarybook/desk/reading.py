"""Pages that only read: today, the questions, the colonies, and why a figure is what it is."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from apiarybook.book.measure import measure
from apiarybook.club.people import keepers
from apiarybook.desk.front import ANSWERS, MONTHS, colony_lines, front, kind_of, shown
from apiarybook.desk.page import Page
from apiarybook.errors import CannotRead
from apiarybook.gather.evidence import rows_of
from apiarybook.layout import BOOK

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from apiarybook.club.reckoned import Reckoned
    from apiarybook.desk.desk import Desk
    from apiarybook.desk.front import Line
    from apiarybook.desk.page import Form
    from apiarybook.desk.questions import Question


STEPS: tuple[tuple[str, tuple[tuple[str, str, str], ...]], ...] = (
    (
        "Stores on the day of the weighing",
        (
            ("", "gross", "the weighing, through the scale's checks and the way it was weighed"),
            ("less", "tare", "hive type, or the colony's own tare"),
            ("less", "extras", "what else stood on or in the hive, list Extras"),
            ("less", "feeder_left", "feed left in the feeder, as looked at"),
            ("less", "bees", "frames of bees counted, else the hive type by month"),
            ("less", "brood", "frames of brood counted, else the hive type by month"),
            ("less", "pollen", "hive type"),
            ("less", "unripe_water", "water that taken feed still has to lose"),
            ("is", "stores", ""),
        ),
    ),
    (
        "Stores today",
        (
            ("", "stores", "as above"),
            ("and", "fed_since", "feed taken since, by Feedings and Feed kinds"),
            ("less", "eaten_since", "by the calendar of the winter and the colony's own rate"),
            ("and", "by_heft", "a heft since then says more or less; the surer of the two counts for more"),
            ("is", "stores_today", ""),
            ("", "stores_u", "all uncertainties together, one standard uncertainty"),
        ),
    ),
    (
        "Want, least and chance",
        (
            ("", "want_today", "the hive type's want, and what is eaten till winter starts"),
            ("less", "beyond_comb", "the combs of the hive type, when full"),
            ("less", "stores_today", "as above"),
            ("is", "short_by", ""),
            ("", "least", "the reserve, and what is eaten until feed can reach the colony"),
            ("", "chance_out", "that it runs out before feed can reach it"),
            ("", "chance_short", "that it is short by more than a kilogram"),
        ),
    ),
)
"""Terms in their order: how each enters, its key on Standing, and where it comes from."""
COUNTED = ("Stores on the day of the count", (("", "stores", "frames of food counted, by the hive type's full comb"),))
BETWEEN = {
    key: replace(BOOK["Standing"]["stores_today"], key=key, heading=heading)
    for key, heading in (("by_heft", "moved by the heft"), ("beyond_comb", "more than the combs hold"))
}
"""Terms of which Standing has only the parts."""


@dataclass(frozen=True, slots=True)
class Term:
    """One line of the arithmetic."""

    how: str
    what: str
    value: str
    source: str
    is_sum: bool


@dataclass(frozen=True, slots=True)
class Why:
    """A colony's arithmetic, and the rows behind it: day, sheet, what they say, and their place."""

    colony: str
    verdict: str
    how: str
    steps: tuple[tuple[str, tuple[Term, ...]], ...]
    sources: tuple[tuple[str, str, str], ...]
    rows: tuple[tuple[str, str, str, str], ...]


def why(reckoned: Reckoned, colony: str) -> Why:
    """Lay out why a colony stands as it does.

    Args:
        reckoned: the book, reckoned.
        colony: its code, in any case.

    Raises:
        CannotRead: no such colony stands in the book.
    """
    standing = reckoned.season.standing
    found = standing[standing["colony"].map(lambda code: str(code or "").casefold()) == colony.casefold()]
    if not colony or found.empty:
        raise CannotRead(f"{reckoned.book.name}: no colony {colony} stands on Colonies.")
    row: dict[str, Any] = {str(key): value for key, value in found.iloc[0].to_dict().items()}
    row |= _between(row)
    steps = tuple((title, tuple(_terms(reckoned, row, of))) for title, of in (_first(row), *STEPS[1:]))
    return Why(
        colony=str(row["colony"]),
        verdict=str(row["verdict"]),
        how=str(row["how"] or ""),
        steps=tuple((title, of) for title, of in steps if of),
        sources=tuple(_sources(reckoned, row)),
        rows=tuple(sorted(rows_of(reckoned.book, str(row["colony"])))),
    )


def _between(row: dict[str, Any]) -> dict[str, float]:
    """The terms between those that Standing has; blank where there is none."""
    hefted, over = row["heft_share"] > 0, row["want_today"] - row["comb"]
    return {
        "by_heft": row["stores_today"] - row["scale_today"] if hefted else math.nan,
        "beyond_comb": over if over > 0 else math.nan,
    }


def _first(row: dict[str, Any]) -> tuple[str, tuple[tuple[str, str, str], ...]]:
    """What was weighed, part by part; where frames were counted nothing had to be taken off."""
    return COUNTED if math.isnan(row["gross"]) else STEPS[0]


def _terms(reckoned: Reckoned, row: dict[str, object], of: tuple[tuple[str, str, str], ...]) -> Iterator[Term]:
    units, sheet = measure(reckoned.book.unit), BOOK["Standing"]
    for how, key, source in of:
        value = row.get(key)
        if not isinstance(value, (int, float)) or math.isnan(value):
            continue
        column = BETWEEN[key] if key in BETWEEN else sheet[key]
        said = shown(value, column, units)
        unit = "" if said.endswith("%") else f" {units.shown(column.kind, column.unit)}"
        yield Term(how, column.heading, f"{said}{unit}", source, is_sum=how == "is")


def _sources(reckoned: Reckoned, row: dict[str, object]) -> Iterator[tuple[str, str, str]]:
    """The figures of the colony's hive type as the list has them: what, how much, and from where."""
    table = reckoned.book.tables["Hive types"]
    at = int(float(str(row["type_row"]))) - 1
    if not 0 <= at < len(table.raw):
        return
    listed = table.raw.iloc[at]
    units = measure(reckoned.book.unit)
    yield "hive type", str(listed["name"]), str(listed.get("source") or "")
    for key in ("tare", "want", "bees", "pollen", "full_comb"):
        if key in listed and listed[key] is not None:
            column = table.sheet[key]
            yield units.heading(column), str(listed[key]), ""


SHOWN = 6
"""Groups of questions that the front page shows."""
WEIGHTS = {"hold": "held", "ask": "asked", "note": "noted"}
"""Weights as people read them."""


def front_page(desk: Desk, form: Form) -> Page:
    """What a secretary needs today; the books to choose from while none is open."""
    if desk.watch is None:
        from apiarybook.desk.making import page

        return page(desk, form)
    seen = desk.seen
    if seen is None or seen.reckoned is None:
        return waiting()
    open_now = [one for one in seen.asked if one.is_open and one.weight != "note"]
    told = front(seen.reckoned, open_now)
    return Page(
        "front",
        "Today",
        _words(seen.reckoned)
        | {
            "front": told,
            "month": MONTHS[told.as_at.month - 1],
            "groups": together(open_now)[:SHOWN],
            "count": len(open_now),
            "notes": sum(one.is_open and one.weight == "note" for one in seen.asked),
            "gone": seen.gone,
        },
    )


def waiting() -> Page:
    """What stands there while a book is being read, or cannot be."""
    return Page("waiting", "One moment")


def _words(reckoned: Reckoned) -> dict[str, Any]:
    """What the parts of several pages need."""
    return {"people": keepers(reckoned), "weights": WEIGHTS, "kind": kind_of, "unit": reckoned.book.unit}


def together(asked: Iterable[Question]) -> list[list[Question]]:
    """Questions of the same words together: one slip repeated down a column is one thing to do.

    Args:
        asked: the questions.

    Returns:
        groups in the order of their first; each question that can be answered stands alone.
    """
    groups: dict[tuple[object, ...], list[Question]] = {}
    for one in asked:
        groups.setdefault((one.key,) if one.key else (one.message, one.do, one.keeper), []).append(one)
    return list(groups.values())


def questions_page(desk: Desk, form: Form) -> Page:
    """All that is open, and what was answered."""
    del form
    seen = desk.seen
    if seen is None or seen.reckoned is None:
        return waiting()
    told = {"asked": seen.asked, "groups": together(seen.asked)}
    return Page("questions", "Questions", _words(seen.reckoned) | told)


def colonies_page(desk: Desk, form: Form) -> Page:
    """The colonies, to filter."""
    seen = desk.seen
    if seen is None or seen.reckoned is None:
        return waiting()
    lines = colony_lines(seen.reckoned)
    chosen = {name: form.get(name, "") for name in FILTERS}
    told = {
        "lines": [line for line in lines if all(not v or FILTERS[n](line) == v for n, v in chosen.items())],
        "all": len(lines),
        "choices": {name: sorted({of(line) for line in lines}) for name, of in FILTERS.items()}.items(),
        "chosen": chosen,
        "answers": ANSWERS,
    }
    return Page("colonies", "Colonies", _words(seen.reckoned) | told)


def _apiary(line: Line) -> str:
    return line.apiary


def _keeper(line: Line) -> str:
    return line.keeper.shown


def _verdict(line: Line) -> str:
    return kind_of(line.verdict)


FILTERS = {"apiary": _apiary, "keeper": _keeper, "verdict": _verdict}
"""What the table of colonies can be filtered by."""


def why_page(desk: Desk, form: Form) -> Page:
    """The arithmetic of a colony, or what was said of a cell."""
    from apiarybook.gather.provenance import trail

    cell = form.get("cell", "")
    found = why(desk.reckoned, form["colony"]) if form.get("colony") else None
    told = trail(desk.path, cell) if cell else None
    if told is not None and found is None and told.sheet in READ_HERE:
        found, told = why(desk.reckoned, told.ref), None
    title = f"Why {found.colony} stands as it does" if found else f"Why {cell} says what it says" if cell else "Why"
    return Page("why", title, _words(desk.reckoned) | {"found": found, "trail": told, "cell": cell})


def _read_here() -> frozenset[str]:
    from apiarybook.layout import BOOK, Group

    return frozenset(sheet.name for sheet in BOOK.sheets if sheet.group is Group.READ_HERE)


READ_HERE = _read_here()
"""Sheets whose cells are reckoned for one colony."""
