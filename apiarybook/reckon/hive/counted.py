"""Frames of food counted beside a weighing of the same colony on the same day."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.core.arrays import numbers, words
from apiarybook.reckon.core.winter import serials

if TYPE_CHECKING:
    from apiarybook.reckon.hive.weighings import Lists

FRAMES = "frames of food counted"
SAME = ["colony_row", "day", "type_row"]


def counted_and_weighed(rows: pd.DataFrame, found: pd.DataFrame, lists: Lists, as_at: float) -> pd.DataFrame:
    """Set stores counted in frames against stores weighed the same day.

    Args:
        rows: the sheet Weighings.
        found: the frame of all weighings, stores and all.
        lists: the book's lists.
        as_at: number of the day for which to reckon.

    Returns:
        one row a count that has a weighing beside it, in the order of the sheet: place, position of the count from 0;
        colony; day; counted and weighed [kg]; apart, counted less weighed [kg]; apart_u, standard uncertainty of that
        [kg]. Coarse weighings and hefts do not judge a count.
    """
    day, how = np.floor(serials(rows["date"])), words(rows["how"])
    counts = (found["usable"] == 1).to_numpy() & (day <= as_at) & (found["colony_row"] > 0).to_numpy()
    frame = pd.DataFrame(
        {
            "place": np.arange(len(rows)),
            "colony_row": found["colony_row"].to_numpy(),
            "type_row": found["type_row"].to_numpy(),
            "day": day,
            "stores": numbers(found["stores"]),
            "u": numbers(found["dry_u"]),
        }
    )
    scale = frame[counts & (how != FRAMES) & (how != "heft") & (found["coarse"] == 0).to_numpy()]
    scale = scale.drop_duplicates(SAME, keep="last").drop(columns="place")
    both = frame[counts & (how == FRAMES)].merge(scale, on=SAME, suffixes=("_counted", "_weighed"))
    both = both.sort_values("place", kind="stable").reset_index(drop=True)
    names = lists.colonies["colony"].to_numpy(dtype=object)
    return pd.DataFrame(
        {
            "place": both["place"],
            "colony": names[both["colony_row"].to_numpy(dtype=np.int64) - 1],
            "day": both["day"],
            "counted": both["stores_counted"],
            "weighed": both["stores_weighed"],
            "apart": both["stores_counted"] - both["stores_weighed"],
            "apart_u": np.hypot(both["u_counted"], both["u_weighed"]),
        }
    )
