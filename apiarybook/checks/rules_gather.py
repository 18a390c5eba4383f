"""Rules across the files of many members; silent in a book from which no copies were handed out, but for scales."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.checks.context import Seen, days, flag, label
from apiarybook.checks.finding import Hit
from apiarybook.checks.rule import ASK, HOLD, NOTE, declare, rule
from apiarybook.layout import BOOK
from apiarybook.reckon.core.arrays import figure, numbers, words
from apiarybook.reckon.core.lookup import match, pick_words
from apiarybook.reckon.core.winter import day_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

OF_COLONY = tuple(sheet.name for sheet in BOOK.to_return if sheet.of_winter)
RUNNING = 3
"""Rows running with one reading from which it is asked whether it was copied down (common practice, no source)."""
FRAMES = "frames of food counted"


def typed_by(seen: Seen, sheet: str) -> NDArray[np.str_]:
    """Who typed each row of a sheet: the member of the copy that its ref names, or whom it was typed for.

    Args:
        seen: the joined rows.
        sheet: name of the sheet.

    Returns:
        codes of members in lower case, shape (rows,); the empty word for rows of the club's own book.
    """
    rows = seen[sheet]
    typed_for = np.char.lower(words(rows["typed_for"]))
    if not seen.copies:
        return typed_for
    tokens = [str(ref).partition("-")[0] for ref in words(rows["ref"])]
    by_ref = [seen.copies.get(token, "").casefold() for token in tokens]
    return np.where(typed_for != "", typed_for, np.array(by_ref, dtype=np.str_))


def keeper(seen: Seen, colonies: pd.Series[str]) -> NDArray[np.str_]:
    """The member in whose apiary each colony stands, in lower case; the empty word where that is not known."""
    listed, places = seen["Colonies"], seen["Apiaries"]
    apiary = pick_words(listed["apiary"], match(colonies, listed["colony"]))
    return np.char.lower(pick_words(places["member"], match(apiary, places["apiary"])))


@rule(
    "weighed-by-two",
    ASK,
    "The colony comes to {gross} here and to {other_gross} in {other}, weighed on the same day by somebody else: "
    "both cannot be right.",
    "Look at both readings, at the scales and at how it was weighed; weigh again if in doubt.",
    member="Somebody else weighed this colony on the same day, and the two weights cannot both be right.",
    member_do="Look at your reading, at the scale and at how you weighed; weigh again if in doubt.",
)
def weighed_by_two(seen: Seen) -> Iterator[Hit]:
    """A colony weighed on a day on which another member first weighed it, with weights that cannot both be right."""
    rows, reckoned = seen["Weighings"], seen.known.weighed
    frame = pd.DataFrame(
        {
            "colony": reckoned["colony_row"].to_numpy(),
            "day": days(rows["date"]),
            "occasion": words(rows["occasion"]),
            "hand": typed_by(seen, "Weighings"),
            "gross": numbers(reckoned["gross"]),
            "u": numbers(reckoned["gross_u"]),
            "at": np.arange(len(rows)),
        }
    )
    known = frame[
        (frame["colony"] > 0) & frame["day"].notna() & frame["gross"].notna() & (words(rows["how"]) != "heft")
    ]
    group = ["colony", "day", "occasion"]
    firsts = known.drop_duplicates([*group, "hand"])  # of each hand, so that rows filled down are not paired
    both = known.merge(firsts[firsts.duplicated(group, keep=False)], on=group)
    both = both[(both["at_x"] > both["at_y"]) & (both["hand_x"] != both["hand_y"])]
    apart = (both["gross_x"] - both["gross_y"]).abs()
    for one in both[apart > figure("balance_note") * np.hypot(both["u_x"], both["u_y"])].itertuples():
        told: dict[str, object] = {
            "gross": seen.mass(float(str(one.gross_x))),
            "other_gross": seen.mass(float(str(one.gross_y))),
            "other": seen.place("Weighings", label(rows, int(str(one.at_y))), "reading_1"),
        }
        yield Hit("weighed-by-two", "Weighings", label(rows, int(str(one.at_x))), "reading_1", told)


@rule(
    "someone-elses-colony",
    ASK,
    "{value} stands in another member's apiary.",
    "See that the code is right; leave it if the work was done for that member.",
    member="By the club's lists this colony does not stand in your apiary.",
    member_do="See that the code is right; leave it if you did this for another member.",
)
def someone_elses_colony(seen: Seen) -> Iterator[Hit]:
    """Rows that a member typed of a colony which stands in another member's apiary."""
    for sheet in OF_COLONY:
        rows = seen[sheet]
        hand, owner = typed_by(seen, sheet), keeper(seen, rows["colony"])
        member = match(hand, seen["Members"]["member"]) > 0
        other = member & (owner != "") & (hand != owner)
        yield from flag("someone-elses-colony", sheet, rows, other, "colony")


@rule(
    "scale-not-lent",
    ASK,
    "By the sheet Scale loans the scale {value} was not with this member on {date}.",
    "See that the code of the scale is right, or mend the sheet Scale loans.",
)
def scale_not_lent(seen: Seen) -> Iterator[Hit]:
    """Weighings with a scale that was lent out, but not to this member that day: one question a member and scale."""
    rows, loans = seen["Weighings"], seen["Scale loans"]
    hand, scale, day = typed_by(seen, "Weighings"), np.char.lower(words(rows["scale"])), days(rows["date"])
    lent, to = np.char.lower(words(loans["scale"])), np.char.lower(words(loans["member"]))
    out, back = (days(loans[key]) for key in ("out", "back"))
    begins, ends = np.where(np.isnan(out), -np.inf, out), np.where(np.isnan(back), np.inf, back)
    asked = (hand != "") & (scale != "") & ~np.isnan(day) & np.isin(scale, lent)
    without: dict[tuple[str, str], list[int]] = defaultdict(list)
    for at in np.flatnonzero(asked).tolist():
        of_scale = (lent == scale[at]) & (begins <= day[at]) & (day[at] <= ends)
        if not (of_scale & (to == hand[at])).any():
            without[hand[at], scale[at]].append(at)
    for first, *others in without.values():
        told: dict[str, object] = {"date": day_of(float(day[first])).isoformat()}
        also = tuple(label(rows, at) for at in others)
        yield Hit("scale-not-lent", "Weighings", label(rows, first), "scale", told, also=also)


@rule(
    "scale-overdue",
    NOTE,
    "Scale {scale}, lent to {member}, was due back on {value} and is not back on {as_at}.",
    "Ask for it, and write the day it came back.",
    for_secretary=True,
)
def scale_overdue(seen: Seen) -> Iterator[Hit]:
    """Scales that should have come back."""
    loans = seen["Scale loans"]
    due = days(loans["due"])
    late = (due < seen.today) & loans["back"].isna().to_numpy() & (words(loans["scale"]) != "")

    def told(at: int) -> dict[str, object]:
        return {"scale": loans["scale"].iloc[at], "member": loans["member"].iloc[at], "as_at": seen.as_at.isoformat()}

    yield from flag("scale-overdue", "Scale loans", loans, late, "due", told)


@rule(
    "copied-down",
    ASK,
    "{value} stands in {rows} rows running, for different colonies.",
    "See that the cell was not filled down by accident; leave it if each was truly read.",
)
def copied_down(seen: Seen) -> Iterator[Hit]:
    """The same reading in three or more rows running, of different colonies, by one member."""
    rows = seen["Weighings"]
    hand, first = typed_by(seen, "Weighings"), numbers(rows["reading_1"])
    colony = np.char.lower(words(rows["colony"]))
    weighed = ~np.isnan(first) & (words(rows["how"]) != FRAMES)
    same = weighed[1:] & weighed[:-1] & (hand[1:] == hand[:-1]) & (colony[1:] != colony[:-1])
    same &= (first[1:] == first[:-1]) & (words(rows["how"])[1:] == words(rows["how"])[:-1])
    groups = np.concatenate(([0], np.cumsum(~same)))[: len(rows)]
    sizes = np.bincount(groups, minlength=1)[groups] if len(rows) else groups
    later = np.concatenate(([False], same))[: len(rows)]

    def told(at: int) -> dict[str, object]:
        return {"rows": int(sizes[at])}

    yield from flag("copied-down", "Weighings", rows, later & (sizes >= RUNNING) & (hand != ""), "reading_1", told)


declare(
    "own-hive-type",
    ASK,
    "The hive type {name} is {told}; the club's own figure is used.",
    "Ask the member where the figure comes from, and mend the sheet Hive types if it is better.",
    for_secretary=True,
)
declare(
    "conflict",
    HOLD,
    "Two or more people say different things of this cell: {claims}. It shows what was last agreed.",
    "Say on the sheet Questions which of them holds.",
    member="Somebody else, or another file of yours, says something else of this cell; the secretary decides.",
    member_do="Nothing, unless you see that yours is wrong: then say so.",
)
declare(
    "absent-row",
    ASK,
    "The newest file of copy {value} no longer has this row; it was kept as it was.",
    "Say on the sheet Questions: as it stands, or leave out.",
    member="Your newest file no longer has a row that was there before; it was kept as it was.",
    member_do="Say so if it should be left out.",
    may_be_right=False,
)
declare(
    "same-row-twice",
    ASK,
    "The row {value} of another person says the same, so both were taken for one.",
    "If it was done twice, say on the sheet Questions that they are two.",
    member="Somebody else sent a row that says the same; both were taken for one.",
    member_do="Say so if it was done twice.",
    may_be_right=False,
)
declare(
    "two-rows-one-mark",
    ASK,
    "Another file of this copy has a row of {value} under the same mark, so one of the two does not count.",
    "Say on the sheet Questions: as it stands, both, or leave out.",
    member="Two files of yours have different rows under one mark, so one of the two does not count.",
    member_do="Say whether both are true; if two people fill one copy, let each begin below the other's rows.",
    may_be_right=False,
)
declare(
    "copied-ref",
    ASK,
    "This row came with the mark {value} of another row, so it was taken for a new one.",
    "See that it is a new row; clear it if it was only copied.",
    may_be_right=False,
)
declare(
    "closed-book-changed",
    ASK,
    "The year was closed as at {value}, and what was typed is not any more what it was then{changed}.",
    "See what was changed; take the last backup, or run yearend to close the year anew.",
)
declare(
    "decision-not-understood",
    ASK,
    "{value} under answer cannot be applied; understood are {understood}, within the column's bounds.",
    "Write one of these.",
    for_secretary=True,
    may_be_right=False,
)
