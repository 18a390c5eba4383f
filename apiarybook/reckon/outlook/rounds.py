"""Winter rounds: those made, each word or guess taken as a heft of that day, and those to make, when and to what."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.core.arrays import figure, numbers, words
from apiarybook.reckon.core.lookup import match, pick, pick_words
from apiarybook.reckon.core.winter import serials
from apiarybook.reckon.hive import weighings as weighing_rows

if TYPE_CHECKING:
    from apiarybook.reckon.hive.weighings import Lists


ROUND = ("rank_round", "round_day", "round_dry", "round_dry_u", "round_kit_u")
LEFT = {"none": 0.0, "half": 0.5, "full": 1.0}
"""How much of a block is still on top by the words of the sheet Winter rounds."""
HEFT, FONDANT = "heft", "fondant"


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
