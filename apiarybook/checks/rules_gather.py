"""Rules across the files of many members; silent in a book from which no copies were handed out, but for scales."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.checks.context import Seen, days, flag, label
from apiarybook.checks.finding import Hit
from apiarybook.layout import BOOK
from apiarybook.reckon.core.arrays import figure, numbers, words
from apiarybook.reckon.core.lookup import match, pick_words
from apiarybook.reckon.core.winter import day_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

OF_COLONY = tuple(sheet.name for sheet in BOOK.to_return if sheet.of_winter)
WITH_HAND = tuple(name for name in OF_COLONY if "by" in BOOK[name].by_key)
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
    tokens = [str(ref).partition("-")[0] for ref in words(rows["ref"])]
    by_ref = [seen.copies.get(token, "").casefold() for token in tokens]
    typed_for = np.char.lower(words(rows["typed_for"]))
    return np.where(typed_for != "", typed_for, np.array(by_ref, dtype=np.str_))


def keeper(seen: Seen, colonies: pd.Series[str]) -> NDArray[np.str_]:
    """The member in whose apiary each colony stands, in lower case; the empty word where that is not known."""
    listed, places = seen["Colonies"], seen["Apiaries"]
    apiary = pick_words(listed["apiary"], match(colonies, listed["colony"]))
    return np.char.lower(pick_words(places["member"], match(apiary, places["apiary"])))


def weighed_by_two(seen: Seen) -> Iterator[Hit]:
    """A colony weighed on a day on which another member first weighed it, with weights that cannot both be right."""
    rows, reckoned = seen["Weighings"], seen.reckoned.weighings
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


def someone_elses_colony(seen: Seen) -> Iterator[Hit]:
    """Rows that a member typed of a colony which stands in another member's apiary."""
    for sheet in OF_COLONY:
        rows = seen[sheet]
        hand, owner = typed_by(seen, sheet), keeper(seen, rows["colony"])
        member = match(hand, seen["Members"]["member"]) > 0
        other = member & (owner != "") & (hand != owner)
        yield from flag("someone-elses-colony", sheet, rows, other, "colony")


def scale_not_lent(seen: Seen) -> Iterator[Hit]:
    """Weighings with a scale that was lent out, but not to this member on this day."""
    rows, loans = seen["Weighings"], seen["Scale loans"]
    hand, scale, day = typed_by(seen, "Weighings"), np.char.lower(words(rows["scale"])), days(rows["date"])
    lent, to = np.char.lower(words(loans["scale"])), np.char.lower(words(loans["member"]))
    out, back = (days(loans[key]) for key in ("out", "back"))
    begins, ends = np.where(np.isnan(out), -np.inf, out), np.where(np.isnan(back), np.inf, back)
    asked = (hand != "") & (scale != "") & ~np.isnan(day) & np.isin(scale, lent)
    for at in np.flatnonzero(asked).tolist():
        of_scale = (lent == scale[at]) & (begins <= day[at]) & (day[at] <= ends)
        if not (of_scale & (to == hand[at])).any():
            told: dict[str, object] = {"date": day_of(float(day[at])).isoformat()}
            yield Hit("scale-not-lent", "Weighings", label(rows, at), "scale", told)


def scale_overdue(seen: Seen) -> Iterator[Hit]:
    """Scales that should have come back."""
    loans = seen["Scale loans"]
    due = days(loans["due"])
    late = (due < seen.today) & loans["back"].isna().to_numpy() & (words(loans["scale"]) != "")

    def told(at: int) -> dict[str, object]:
        return {"scale": loans["scale"].iloc[at], "member": loans["member"].iloc[at], "as_at": seen.as_at.isoformat()}

    yield from flag("scale-overdue", "Scale loans", loans, late, "due", told)


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


RULES = (weighed_by_two, someone_elses_colony, scale_not_lent, scale_overdue, copied_down)
