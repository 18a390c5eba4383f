"""Hive types as Moves change them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.arrays import words
from apiarybook.reckon.lookup import match
from apiarybook.reckon.winter import serials

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from apiarybook.reckon.arrays import Floats


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
