"""Which apiaries to visit when, which colonies to heft there, and which to carry fondant to."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.core.arrays import figure, numbers
from apiarybook.reckon.core.lookup import pick, pick_words

if TYPE_CHECKING:
    from apiarybook.reckon.hive.weighings import Lists

HEFT, FONDANT = "heft", "fondant"


def visits(ahead: pd.DataFrame, stood: pd.DataFrame, lists: Lists) -> pd.DataFrame:
    """Plan for each colony the next visit to its apiary.

    The first colony that is due sets the day. Whatever would fall due before the round after it is done on the same
    visit, so that nobody drives out twice in three weeks.

    Args:
        ahead: the frame of `till_flow.till_the_flow`.
        stood: the frame of all colonies after `standing.stores`.
        lists: the book's lists.

    Returns:
        frame indexed like the colonies: visit_on (number of the day), visit_for (heft, fondant, both, or blank where
        nothing is to be done there), visit_fondant, to take along for it [kg].
    """
    place = stood["place_row"].to_numpy(dtype=np.int64)
    heft = numbers(ahead["heft_next"])
    fondant = np.where(np.isnan(heft), np.nan, numbers(ahead["fondant_by"]))
    first = np.where(place > 0, np.fmin(heft, fondant), np.nan)
    visit = pd.Series(first).groupby(place).transform("min").to_numpy()
    until = np.where(np.isnan(first), np.nan, visit + figure("round_days"))
    to_heft, to_feed = heft < until, fondant < until
    portion = pick(lists.types["portion_fondant"], stood["type_row"].to_numpy(dtype=np.int64))
    found = pd.DataFrame({"visit_on": np.where(to_heft | to_feed, visit, np.nan)}, index=stood.index)
    found["visit_for"] = np.select([to_heft & to_feed, to_heft, to_feed], [f"{HEFT}, {FONDANT}", HEFT, FONDANT], "")
    found["visit_fondant"] = np.where(to_feed, portion, np.nan)
    return found


def round_list(ahead: pd.DataFrame, stood: pd.DataFrame, apiaries: pd.DataFrame) -> pd.DataFrame:
    """Put the visits of colonies together by apiary.

    Args:
        ahead: the frame of `till_flow.till_the_flow` with that of `visits` beside it.
        stood: the frame of all colonies after `standing.stores`.
        apiaries: the sheet Apiaries.

    Returns:
        one row an apiary, the soonest first, then the one that runs out first; its colonies in the same order, those of
        which nothing is known before all others: visit_on (number of the day), apiary, member, heft and fondant (codes
        of colonies, parted by commas) and fondant_mass [kg], one portion each.
    """
    place = stood["place_row"].to_numpy(dtype=np.int64)
    due = ahead.assign(place=place, out=np.nan_to_num(numbers(ahead["lasts_to"])))
    due = due[due["visit_on"].notna()].sort_values("out", kind="stable")
    found = pd.DataFrame(
        [
            {
                "visit_on": of["visit_on"].iloc[0],
                "place": row,
                "out": of["out"].iloc[0],
                **{what: _codes(of[of["visit_for"].str.contains(what)]) for what in (HEFT, FONDANT)},
                "fondant_mass": of["visit_fondant"].sum(),
            }
            for row, of in due.groupby("place")
        ],
        columns=["visit_on", "place", "out", HEFT, FONDANT, "fondant_mass"],
    )
    found = found.sort_values(["visit_on", "out"], kind="stable").drop(columns="out").reset_index(drop=True)
    visited = found.pop("place").to_numpy(dtype=np.int64)
    found.insert(1, "apiary", pick_words(apiaries["apiary"], visited).astype(object))
    found.insert(2, "member", pick_words(apiaries["member"], visited).astype(object))
    return found


def _codes(of: pd.DataFrame) -> str:
    return ", ".join(map(str, of["colony"]))
