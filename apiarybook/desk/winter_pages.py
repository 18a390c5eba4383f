"""The evening and the year: cards, hands, practice, stores until the flow, the year's end, and files that were made."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from apiarybook.book.measure import measure
from apiarybook.desk.desk import Desk, Lift
from apiarybook.desk.front import shown
from apiarybook.desk.page import Form, Page
from apiarybook.errors import CannotRead, CannotWrite
from apiarybook.layout import BOOK

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pandas as pd

    from apiarybook.club.reckoned import Reckoned

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


def practice(desk: Desk, form: Form) -> str:
    """Take down a guess, or reveal what the scale says of it."""
    waiting = next((at for at, one in enumerate(desk.practice) if one.gross is None), None)
    if waiting is None:
        by, load = form.get("by", "").strip(), form.get("load", "").strip()
        if not by or not load:
            raise CannotWrite("Type whose hand it is, and what is lifted.")
        desk.practice.append(Lift(by[:60], load[:60], _mass(form.get("guess", ""))))
    else:
        one = desk.practice[waiting]
        desk.practice[waiting] = Lift(one.by, one.load, one.guess, _mass(form.get("gross", "")))
    desk.changed()
    return ""


def _mass(text: str) -> float:
    most = BOOK["Weighings"]["reading_1"].possible or (0.0, 250.0)
    try:
        found = float(text.replace(",", "."))
    except ValueError:
        found = math.nan
    if not most[0] < found <= most[1] * 2.3:
        raise CannotWrite(f"{text!r} is no weight of a hive; type a number, such as 32.5.")
    return found


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


def made(desk: Desk, form: Form) -> tuple[str, bytes]:
    """A file that the desk made: its name and bytes."""
    path = desk.made.get(form.get("file", ""))
    if path is None or not path.is_file():
        raise CannotRead("The desk made no such file; make it again.")
    return path.name, path.read_bytes()
