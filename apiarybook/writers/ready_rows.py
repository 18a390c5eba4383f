"""What stands ready in blank rows before anybody types: the next colony, the hand that lifts there, the usual feed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.book.measure import measure
from apiarybook.reckon.balance.mass_balance import GONE_BY_OUTCOME
from apiarybook.reckon.core.arrays import words
from apiarybook.reckon.core.lookup import match, pick_words
from apiarybook.reckon.core.winter import serial

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from apiarybook.layout import Sheet
    from apiarybook.writers.content import Content


def stands_ready(sheet: Sheet, content: Content) -> pd.DataFrame:
    """What to put into the rows of a sheet into which nobody has typed.

    In a club's book each living colony has one row ready, which every run makes anew; in a copy, which nobody makes
    anew, as many as a colony needs in a season, and the rows after them have the keeper's name.

    Args:
        sheet: the sheet.
        content: what the book holds.

    Returns:
        colony, by, member (its keeper's code), feed_kind and unit for each row, None where nothing stands ready.
    """
    frame = content.typed[sheet.name]
    blank = frame[[column.key for column in sheet.content]].isna().all(axis=1).to_numpy()
    colonies = _living(content)
    rounds = sheet.ready_in_copy[1] // 2 if content.member else 1
    rows = [None if free else str(code) for free, code in zip(blank, frame["colony"], strict=True)]
    turn = pd.Series(turns(rows, colonies.index.tolist(), 1 if sheet.once else rounds, once=sheet.once), dtype=object)
    found = colonies.reindex(turn.where(turn.notna(), "")).assign(colony=turn.to_numpy()).set_axis(frame.index)
    if content.member and len(colonies):
        found.loc[blank, "by"] = colonies["by"].iloc[0]
    return found.astype(object).where(found.notna(), None)


def turns(rows: Sequence[str | None], colonies: Sequence[str], rounds: int, *, once: bool = False) -> list[str | None]:
    """Whose turn each blank row is: the colony that follows the one in the row above, round and round.

    Args:
        rows: the colony of each row into which somebody typed; None for a blank row.
        colonies: all colonies in the order in which they are gone round.
        rounds: how often each is to stand ready.
        once: whether one that has a row already is left out.

    Returns:
        for each row the colony that stands ready there; None for rows that are taken, and once all have had turns.

    >>> turns(["A1", None, None, "B1", None, None], ["A1", "A2", "B1"], 1)
    [None, 'A2', 'B1', None, 'A1', None]
    >>> turns(["A2", None, None, None], ["A1", "A2", "B1"], 1, once=True)
    [None, 'B1', 'A1', None]
    """
    place = {code.casefold(): at for at, code in enumerate(colonies)}
    taken = [place.get(code.casefold(), -1) if code is not None else -1 for code in rows]
    had = set(taken) if once else set()
    left = [0 if at in had else rounds for at in range(len(colonies))]
    found: list[str | None] = [None] * len(rows)
    last, total = -1, sum(left)
    for row, code in enumerate(rows):
        if code is not None:
            last = last if taken[row] < 0 else taken[row]
        elif total:
            last = next(at % len(left) for at in range(last + 1, last + 1 + len(left)) if left[at % len(left)])
            left[last], total = left[last] - 1, total - 1
            found[row] = colonies[last]
    return found


def _living(content: Content) -> pd.DataFrame:
    """The living colonies by code, apiary after apiary in the order of the list: the keeper's code and name."""
    members, outcomes = content.typed["Members"], content.typed["After winter"]
    stood = content.season.standing
    place = stood["place_row"].to_numpy(dtype=np.int64)
    found = pd.DataFrame(
        {"place": np.where(place > 0, place, place.max(initial=0) + 1), "member": words(stood["keeper"])}
    )
    found["by"] = pick_words(members["name"], match(stood["keeper"], members["member"]))
    lost = outcomes["colony"][np.isin(words(outcomes["outcome"]), GONE_BY_OUTCOME)]
    code = pd.Series(words(stood["colony"]), dtype=object)
    here = (stood["active"] == 1).to_numpy() & (match(code, lost) == 0) & ~code.str.casefold().duplicated().to_numpy()
    found["feed_kind"], found["unit"] = _usual_feed(content)
    by_place: pd.DataFrame = found.set_axis(code)[here].sort_values("place", kind="stable")
    return by_place.replace({"": None})


def _usual_feed(content: Content) -> tuple[NDArray[np.str_], NDArray[np.str_]]:
    """For each colony what the club usually gives it now, liquid or laid on top, and in which unit."""
    units, kinds = measure(content.unit), content.typed["Feed kinds"]["name"]
    usual = [str(content.settings[key]) for key in ("autumn_feed", "solid_feed")]
    liquid, solid = pick_words(kinds, match(usual, kinds))
    late = (content.season.standing["last_liquid_day"] < serial(content.as_at)).to_numpy()
    return np.where(late, solid, liquid), np.where(late, units.mass, units.volume)
