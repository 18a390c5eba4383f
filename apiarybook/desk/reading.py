"""Pages that only read: today, questions, colonies, why a figure is what it is, the evening, stores ahead, the year."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from apiarybook.book.measure import measure
from apiarybook.club.people import keepers
from apiarybook.desk.front import ANSWERS, MONTHS, colony_lines, front, kind_of, shown
from apiarybook.desk.page import Page
from apiarybook.errors import CannotRead
from apiarybook.gather.provenance import rows_of, trail
from apiarybook.layout import BOOK, Group

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    import pandas as pd

    from apiarybook.club.reckoned import Reckoned
    from apiarybook.desk.desk import Desk, Lift
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


FILTERS: dict[str, Callable[[Line], str]] = {
    "apiary": lambda line: line.apiary,
    "keeper": lambda line: line.keeper.shown,
    "verdict": lambda line: kind_of(line.verdict),
}
"""What the table of colonies can be filtered by."""


def why_page(desk: Desk, form: Form) -> Page:
    """The arithmetic of a colony, or what was said of a cell."""
    cell = form.get("cell", "")
    found = why(desk.reckoned, form["colony"]) if form.get("colony") else None
    told = trail(desk.path, cell) if cell else None
    if told is not None and found is None and told.sheet in READ_HERE:
        found, told = why(desk.reckoned, told.ref), None
    title = f"Why {found.colony} stands as it does" if found else f"Why {cell} says what it says" if cell else "Why"
    return Page("why", title, _words(desk.reckoned) | {"found": found, "trail": told, "cell": cell})


READ_HERE = frozenset(sheet.name for sheet in BOOK.sheets if sheet.group is Group.READ_HERE)
"""Sheets whose cells are reckoned for one colony."""


WIDE, HIGH = 600, 200
"""The learning curve, in the picture's own units."""
MOST_OFF = 0.4
"""Error at the edge of the learning curve, as a share of the gross."""
STEP = 18
"""Between two lifts of the learning curve."""


def evening(desk: Desk, form: Form) -> Page:
    """Cards to print, what each hand's hefting is worth, and practice."""
    from apiarybook.handbook.cautions import LIFTING
    from apiarybook.pages import hefting_page as words

    reckoned = desk.reckoned
    units, hands = measure(reckoned.book.unit), reckoned.season.hefting
    known = hands[hands["pairs"] > 0]
    names = [str(one) for one in known["by"]]
    by = form.get("by") or (desk.practice[-1].by if desk.practice else names[0] if names else "")
    told = {
        "hands": [words.hand_words(hand, units) for _, hand in known.iterrows()],
        "other": words.other_words(hands.iloc[0], units),
        "watch_for": words.watch_words(reckoned),
        "worth": [line.strip() for line in words.worth_lines(reckoned)],
        "total": [line.strip() for line in words.total_lines(reckoned, None)],
        "caution": LIFTING,
        "unit": units.mass,
        "practice": desk.practice,
        "open_lift": next((one for one in desk.practice if one.gross is None), None),
        "by": by,
        "names": names,
        "curve": list(_curve(reckoned, by, desk.practice)),
        "wide": WIDE,
        "high": HIGH,
        "rows": "\n".join(_rows(reckoned, desk.practice)),
    }
    return Page("evening", "Weigh-day and evening", told)


def _curve(reckoned: Reckoned, by: str, practice: list[Lift]) -> Iterator[tuple[float, float, str]]:
    """Where each lift of a hand stands in the picture, those of the book first, and what it says."""
    pairs = reckoned.season.pairs
    before = pairs[(pairs["by"] == by) & (pairs["word"] == "")]["off"].tolist() if len(pairs) else []
    offs = [*before, *(one.off for one in practice if one.by == by and one.gross)]
    for number, off in enumerate(offs[-int(WIDE / STEP - 2) :], 1):
        held = min(max(off, -MOST_OFF), MOST_OFF)
        yield number * STEP + STEP, round(HIGH / 2 * (1 - held / MOST_OFF), 1), f"lift {number}: {off * 100:+.0f} %"


def _rows(reckoned: Reckoned, practice: list[Lift]) -> Iterator[str]:
    """Lifts as rows to paste on Weighings."""
    day = reckoned.content.as_at.isoformat()
    columns = [column for column in BOOK["Weighings"].typed if column.key not in {"ref", "row_for"}]
    for one in practice:
        if one.gross:
            said = {
                "date": day,
                "colony": one.load,
                "by": one.by,
                "how": "full lift",
                "reading_1": f"{one.gross:g}",
                "heft": f"{one.guess:g}",
                "occasion": "practice",
            }
            last = max(at for at, column in enumerate(columns) if column.key in said)
            yield "\t".join(said.get(column.key, "") for column in columns[: last + 1])


def till_the_flow(desk: Desk, form: Form) -> Page:
    """What each colony will have left every half-month, and the next visits."""
    del form
    reckoned = desk.reckoned
    ahead = reckoned.season.till_the_flow.sort_values("visit_on", kind="stable")
    headings, rows = _table(reckoned, "Till the flow", ahead)
    return Page("till_the_flow", "Till the flow", {"headings": headings, "rows": rows, "unit": reckoned.book.unit})


def _table(reckoned: Reckoned, name: str, frame: pd.DataFrame) -> tuple[list[str], list[list[str]]]:
    """A sheet as it stands in view: its headings and rows; columns that are blank throughout are left out."""
    units = measure(reckoned.book.unit)
    columns = [one for one in BOOK[name].columns if one.in_view and one.key in frame]
    rows = [[shown(row[one.key], one, units) for one in columns] for row in frame.to_dict("records") if row["colony"]]
    used = [at for at in range(len(columns)) if any(row[at] for row in rows)]
    return [columns[at].heading for at in used], [[row[at] for at in used] for row in rows]


def year(desk: Desk, form: Form) -> Page:
    """What is missing as a list to work off, what stands in the way of closing, and the buttons."""
    del form
    from apiarybook.club.closing import close
    from apiarybook.pages.year_words import gap_words, in_short_for_secretary

    reckoned = desk.reckoned
    ended = close(reckoned)
    told = {
        "reasons": ended.reasons,
        "gaps": [
            ("to do" if gap.names else "done" if gap.of else "not yet", gap_words(gap)) for gap in ended.facts.gaps
        ],
        "short": list(in_short_for_secretary(ended, measure(reckoned.book.unit))),
        "closed": reckoned.content.about.get("closed", ""),
        "next_winter": int(float(str(reckoned.book.settings["winter"]))) + 1,
    }
    return Page("year_end", "Year end", told)
