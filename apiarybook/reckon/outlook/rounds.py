"""Winter rounds as evidence: the hand's word or guess at each quick look, taken as a heft of that day."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.core.arrays import words
from apiarybook.reckon.core.lookup import match, pick
from apiarybook.reckon.core.winter import serials
from apiarybook.reckon.hive import weighings as weighing_rows

if TYPE_CHECKING:
    from apiarybook.reckon.hive.weighings import Lists

ROUND = ("rank_round", "round_day", "round_dry", "round_dry_u", "round_kit_u")
LEFT = {"none": 0.0, "half": 0.5, "full": 1.0}
"""How much of a block is still on top by the words of the sheet Winter rounds."""


def hefted_rounds(rounds: pd.DataFrame, weighings: pd.DataFrame, lists: Lists, solid_feed: str) -> pd.DataFrame:
    """Write the rounds as rows of Weighings; those on which nobody hefted have no reading.

    Fondant still on top is food of the colony and stays in; what it will not yield as stores is taken off as if it
    were left in a feeder.

    Args:
        rounds: the sheet Winter rounds.
        weighings: the sheet Weighings, for its columns.
        lists: the book's lists.
        solid_feed: the club's feed that is laid on top.

    Returns:
        frame with the columns of `weighings`; index as in `rounds`.
    """
    kind = match([solid_feed], lists.kinds["name"])
    lost = 1.0 - float(pick(lists.kinds["stores_share"], kind, 1.0)[0])
    colony = match(rounds["colony"], lists.colonies["colony"])
    moved = np.concatenate(([""], words(lists.colonies["moved_type"])))[colony]
    listed = np.concatenate(([""], words(lists.colonies["hive_type"])))[colony]
    block = pick(lists.types["portion_fondant"], match(np.where(moved != "", moved, listed), lists.types["name"]))
    left = np.array([LEFT.get(word, 0.0) for word in words(rounds["fondant_left"])]) * block * lost
    told: dict[str, object] = {key: rounds[key] for key in ("date", "colony", "by", "heft")}
    told |= {"how": "heft", "feed_left": left, "held": rounds.get("held", "")}
    return pd.DataFrame(told, index=rounds.index).reindex(columns=weighings.columns)


def reckon_rounds(
    rows: pd.DataFrame, lists: Lists, standing: pd.DataFrame, hands: pd.DataFrame, as_at: float
) -> pd.DataFrame:
    """Reckon the hefts of winter rounds as those of Weighings are reckoned.

    Args:
        rows: the frame of `hefted_rounds`, with moved_type.
        lists: the book's lists.
        standing: profile_row, size and winter_starts of each colony.
        hands: what the hefts of each hand are worth.
        as_at: number of the day for which to reckon.

    Returns:
        the columns of `weighings.lifts` and `weighings.weighings`.
    """
    found = weighing_rows.lifts(rows, lists, standing)
    weighing_rows.weighings(found, rows, lists, hands, as_at)
    return found


def latest_round(rows: pd.DataFrame, found: pd.DataFrame, count: int) -> pd.DataFrame:
    """Give the last round of each colony that counts, as a heft carried to its own day.

    Args:
        rows: the frame of `hefted_rounds`.
        found: that of `reckon_rounds`.
        count: how many colonies there are.

    Returns:
        one row a colony, index from 0: rank_round, round_day (number), round_dry, round_dry_u and round_kit_u [kg];
        0 and NaN where nobody hefted it on a round.
    """
    counts = (found["rank_heft"] > 0).to_numpy()
    last = pd.DataFrame(
        {
            "colony": found["colony_row"].to_numpy(),
            "round_day": np.floor(serials(rows["date"])),
            **{f"round_{key}": found[key].to_numpy() for key in ("dry", "dry_u", "kit_u")},
            "rank_round": found["rank_heft"].to_numpy(),
        }
    )[counts]
    last = last.sort_values("rank_round", kind="stable").drop_duplicates("colony", keep="last").set_index("colony")
    last = last.reindex(np.arange(1, count + 1))[list(ROUND)].reset_index(drop=True)
    return last.fillna({"rank_round": 0.0})
