"""Which apiaries to visit when, which colonies to heft there, and which to carry fondant to."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.core.arrays import figure, numbers
from apiarybook.reckon.core.lookup import pick, pick_words

if TYPE_CHECKING:
    from apiarybook.reckon.hive.weighings import Lists


def round_list(ahead: pd.DataFrame, stood: pd.DataFrame, apiaries: pd.DataFrame, lists: Lists) -> pd.DataFrame:
    """Plan the next visit to each apiary.

    The first colony that is due sets the day. Whatever would fall due before the round after it is done on the same
    visit, so that nobody drives out twice in three weeks. Of whom nothing is known stands first, then who runs out
    first.

    Args:
        ahead: the frame of `till_flow.till_the_flow`.
        stood: the frame of all colonies after `standing.stores`.
        apiaries: the sheet Apiaries.
        lists: the book's lists.

    Returns:
        one row an apiary, the soonest first: visit_on (number of the day), apiary, member, heft and fondant (codes of
        colonies, parted by commas), blocks (how many colonies get fondant) and fondant_mass [kg], one portion each.
    """
    place = stood["place_row"].to_numpy(dtype=np.int64)
    due = pd.DataFrame(
        {
            "place": place,
            "colony": stood["colony"].to_numpy(dtype=object),
            "heft": numbers(ahead["heft_next"]),
            "fondant": np.where(ahead["heft_next"].notna(), numbers(ahead["fondant_by"]), np.nan),
            "portion": pick(lists.types["portion_fondant"], stood["type_row"].to_numpy(dtype=np.int64)),
        }
    )
    due["out"] = np.nan_to_num(numbers(ahead["lasts_to"]))
    due = due.sort_values("out", kind="stable")
    due["first"] = due[["heft", "fondant"]].min(axis=1)
    due = due[due["first"].notna() & (due["place"] > 0)]
    due["visit_on"] = due.groupby("place")["first"].transform("min")
    until = due["visit_on"] + figure("round_days")
    due["to_heft"], due["to_feed"] = due["heft"] < until, due["fondant"] < until
    rows = []
    for row, of in due.groupby("place"):
        hefted, fed = of[of["to_heft"]], of[of["to_feed"]]
        rows.append(
            {
                "visit_on": float(of["visit_on"].iloc[0]),
                "place": row,
                "out": float(of["out"].iloc[0]),
                "heft": ", ".join(map(str, hefted["colony"])),
                "fondant": ", ".join(map(str, fed["colony"])),
                "blocks": float(len(fed)),
                "fondant_mass": float(fed["portion"].sum()),
            }
        )
    keys = ["visit_on", "place", "out", "heft", "fondant", "blocks", "fondant_mass"]
    found = pd.DataFrame(rows, columns=keys).sort_values(["visit_on", "out"], kind="stable")
    found = found.drop(columns="out").reset_index(drop=True)
    visited = found.pop("place").to_numpy(dtype=np.int64)
    found.insert(1, "apiary", pick_words(apiaries["apiary"], visited).astype(object))
    found.insert(2, "member", pick_words(apiaries["member"], visited).astype(object))
    return found
