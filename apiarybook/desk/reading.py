"""Pages that only read: today, the questions, the colonies, and why a figure is what it is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from apiarybook.desk.front import ANSWERS, MONTHS, colony_lines, front, keepers, kind_of
from apiarybook.desk.page import Page
from apiarybook.desk.why import why

if TYPE_CHECKING:
    from collections.abc import Iterable

    from apiarybook.club.reckoned import Reckoned
    from apiarybook.desk.desk import Desk
    from apiarybook.desk.front import Line
    from apiarybook.desk.page import Form
    from apiarybook.desk.questions import Question

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
    """Questions of one rule in one column together: one slip repeated down a column is one thing to do.

    Args:
        asked: the questions.

    Returns:
        groups in the order of their first; each question that can be answered stands alone.
    """
    groups: dict[tuple[object, ...], list[Question]] = {}
    for one in asked:
        groups.setdefault((one.key,) if one.key else (one.rule, one.sheet, one.heading, one.keeper), []).append(one)
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
