"""What Moves change: hive types, apiaries, and which colony has the feed of one that was united into it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.core.arrays import words
from apiarybook.reckon.core.lookup import match, one_of_each
from apiarybook.reckon.core.winter import serials

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from apiarybook.reckon.core.arrays import Floats


def type_on_days(
    moves: pd.DataFrame, colonies: pd.DataFrame, types: pd.DataFrame, colony: NDArray[np.int64], day: Floats
) -> NDArray[np.object_]:
    """Name the hive type of colonies on days by their Moves.

    Args:
        moves: the sheet Moves; a row whose `into` names a hive type changes the type from its day on.
        colonies: the sheet Colonies, for the type before any move.
        types: the sheet Hive types.
        colony: row of a colony each, counted from 1, shape (n,).
        day: number of a day each, shape (n,).

    Returns:
        names, shape (n,); the empty word for a colony that no Move gives a hive type.
    """
    row = match(moves["colony"], colonies["colony"])
    counts = (words(moves["held"]) == "") & (row > 0) & (match(moves["into"], types["name"]) > 0)
    when = np.floor(serials(moves["date"]))
    changes = pd.DataFrame({"colony": row, "day": when, "into": words(moves["into"])})[counts & ~np.isnan(when)]
    if changes.empty:
        return np.full(len(colony), "", dtype=object)
    asked = pd.DataFrame({"colony": colony, "day": np.nan_to_num(day), "place": np.arange(len(colony))})
    last = pd.merge_asof(
        asked.sort_values("day", kind="stable"), changes.sort_values("day", kind="stable"), on="day", by="colony"
    ).sort_values("place")
    before = np.concatenate(([""], words(colonies["hive_type"])))[colony]
    moved = np.isin(colony, changes["colony"].to_numpy())
    return np.where(moved, np.where(last["into"].isna(), before, last["into"]), "").astype(object)


MOST_IN_A_ROW = 8
"""Colonies united one into the next that are followed; no club unites more of them into one in a season."""


CHANGES_HIVE = ("super off", "super on", "super under", "down to single", "new hive type")
"""Moves after which a hive no longer is what it was when it was weighed, whether they name its new type or not."""


def standing_now(
    moves: pd.DataFrame, colonies: pd.DataFrame, apiaries: pd.DataFrame, types: pd.DataFrame, as_at: float
) -> pd.DataFrame:
    """Tell where the Moves up to a day have brought each colony.

    Args:
        moves: the sheet Moves; rows held or later than as-at do not count.
        colonies: the sheet Colonies.
        apiaries: the sheet Apiaries.
        types: the sheet Hive types.
        as_at: number of the day for which to reckon.

    Returns:
        frame indexed like the colonies: moved_apiary, apiary_before and moved_on (the last change of apiary, blank
        where there is none); moved_state, united or given away; united_into, the colony that has its feed now, and
        united_on, the day from which; changed_on, the day on which its hive was last changed.
    """
    found = pd.DataFrame(index=colonies.index)
    row, when = match(moves["colony"], colonies["colony"]), np.floor(serials(moves["date"]))
    counts = (words(moves["held"]) == "") & (row > 0) & (when <= as_at)
    what = words(moves["what"])
    table = pd.DataFrame({"colony": row, "day": when, "into": words(moves["into"])})
    goes = counts & (match(moves["into"], apiaries["apiary"]) > 0) & np.isin(what, ["", "moved to apiary"])
    _apiary(found, table[goes], words(colonies["apiary"]))
    partner = match(moves["into"], colonies["colony"])
    united = counts & (what == "united into") & (partner > 0) & (partner != row)
    pairs = table.assign(partner=partner)[united]
    closes = closes_a_ring(*(pairs[key].to_numpy() for key in ("colony", "partner", "day")))
    _united(found, pairs[~closes], words(colonies["colony"]))
    gone = np.isin(np.arange(1, len(found) + 1), row[counts & (what == "given away")])
    joined = found["united_into"] != ""
    found["moved_state"] = np.select([joined, gone], ["united", "given away"], "").astype(object)
    hive = counts & (np.isin(what, CHANGES_HIVE) | (match(moves["into"], types["name"]) > 0))
    found["changed_on"] = one_of_each(table[hive], len(found))["day"].to_numpy(dtype=np.float64)
    return found


def closes_a_ring(colony: NDArray[np.int64], into: NDArray[np.int64], day: Floats) -> NDArray[np.bool_]:
    """Which unitings would leave none of their colonies, taken in the order of days and rows.

    Args:
        colony: row of the colony that is united, counted from 1, shape (n,).
        into: row of the colony into which it is united, shape (n,).
        day: number of the day, shape (n,).

    Returns:
        whether the colony would come back to itself by those before, shape (n,); such a row does not count.

    >>> closes_a_ring(np.array([1, 2, 2]), np.array([2, 1, 3]), np.array([5.0, 6.0, 7.0])).tolist()
    [False, True, False]
    """
    closes = np.zeros(len(colony), dtype=np.bool_)
    goes: dict[int, int] = {}
    for at in np.argsort(day, kind="stable").tolist():
        own, end = int(colony[at]), int(into[at])
        while end != own and end in goes:
            end = goes[end]
        closes[at] = end == own
        if not closes[at]:
            goes[own] = int(into[at])
    return closes


def _apiary(found: pd.DataFrame, changes: pd.DataFrame, listed: NDArray[np.str_]) -> None:
    ordered = changes.sort_values("day", kind="stable")
    earlier = ordered[ordered.duplicated("colony", keep="last")]
    last, before = one_of_each(ordered, len(found)), one_of_each(earlier, len(found))["into"]
    moved = last["into"].notna().to_numpy()
    found["moved_apiary"] = np.where(moved, last["into"], "").astype(object)
    found["moved_on"] = last["day"].to_numpy(dtype=np.float64)
    found["apiary_before"] = np.where(moved, np.where(before.isna(), listed, before), "").astype(object)


def _united(found: pd.DataFrame, changes: pd.DataFrame, names: NDArray[np.str_]) -> None:
    last = one_of_each(changes, len(found))
    own = np.arange(1, len(found) + 1)
    into = np.concatenate(([0], last["partner"].fillna(0).to_numpy(dtype=np.int64)))
    holder = own.copy()
    for _ in range(MOST_IN_A_ROW):
        holder = np.where(into[holder] > 0, into[holder], holder)
    ended = into[1:] > 0
    found["united_into"] = np.where(ended, np.concatenate(([""], names))[holder], "").astype(object)
    found["united_on"] = last["day"].to_numpy(dtype=np.float64)
