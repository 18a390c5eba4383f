"""What a closed year would lack: colonies, feeds, scales, returns and decisions that nobody has dealt with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.core.arrays import numbers, words
from apiarybook.reckon.core.lookup import largest_by, match, pick
from apiarybook.reckon.core.winter import serials, winter_of
from apiarybook.reckon.year.wintered import WINTERED, with_spring

if TYPE_CHECKING:
    from collections.abc import Iterable

    from apiarybook.club.reckoned import Reckoned
    from apiarybook.reckon.year.wintered import Frames

NOT_BACK = ("missing", "overdue")


@dataclass(frozen=True, slots=True)
class Gap:
    """One thing that is not complete: what, how many of how many, which, and what to do."""

    what: str
    names: tuple[str, ...]
    of: int
    do: str


def gaps(found: pd.DataFrame, reckoned: Reckoned, frames: Frames) -> list[Gap]:
    """Look for what is not complete.

    Args:
        found: the frame of `wintered`.
        reckoned: the club's book, reckoned.
        frames: its sheets in SI.

    Returns:
        every kind of gap in a fixed order, empty ones too.
    """
    kept = found[found["colony"].notna() & (found["winter_starts"] > 0)]
    wintering = kept[kept["outcome"] == WINTERED]
    return [
        _colonies("colonies without autumn evidence", kept, kept["autumn_on"].isna(), "Weigh or heft in September."),
        _colonies("colonies without an outcome", kept, kept["outcome"] == "", "Fill in the sheet After winter."),
        _colonies(
            "wintered colonies not weighed in spring", wintering, wintering["spring_day"].isna(),
            "Weigh them between the first of spring and the flow; wants are learnt from these.",
        ),
        _feeds(frames),
        *_of_the_club(reckoned, frames),
    ]  # fmt: skip


def _colonies(what: str, of: pd.DataFrame, lacking: pd.Series[bool], do: str) -> Gap:
    return Gap(what, tuple(str(one) for one in of.loc[lacking, "colony"]), len(of), do)


def _feeds(frames: Frames) -> Gap:
    """Feeds after which the colony was not weighed or hefted any more, so that nobody knows what became of them."""
    lifted, fed = with_spring(frames), frames["Feedings"]
    counts = (words(lifted["held"]) == "") & (words(lifted["occasion"]) != "practice")
    colony = match(lifted["colony"], frames["Colonies"]["colony"])
    day = np.where(counts, np.nan_to_num(np.floor(serials(lifted["date"]))), 0.0)
    last = largest_by(day, colony, len(frames["Colonies"]))
    row = match(fed["colony"], frames["Colonies"]["colony"])
    given = np.floor(serials(fed["date"]))
    known = (row > 0) & np.isfinite(given) & (words(fed["held"]) == "")
    later = known & (given > pick(last, row))
    names = tuple(dict.fromkeys(words(fed["colony"])[later].tolist()))
    do = "Weigh or heft the colony after feeding."
    unnamed = [""] * (int(later.sum()) - len(names))  # as many entries as there are feeds, the colony named once
    return Gap("feeds without a later weighing", (*names, *unnamed), int(known.sum()), do)


def _of_the_club(reckoned: Reckoned, frames: Frames) -> Iterable[Gap]:
    scales = reckoned.season.scales.assign(scale=frames["Scales"]["scale"])
    listed = scales[scales["scale"].notna()]
    first = winter_of(reckoned.book.settings).first
    stale = ~(numbers(listed["checked_on"]) >= first)
    unchecked = tuple(str(one) for one in listed.loc[stale, "scale"])
    yield Gap("scales not checked this season", unchecked, len(listed), "Check them against known masses.")
    told = reckoned.content.told
    returns = told.get("Returns", pd.DataFrame({"member": [], "state": []}, dtype=object))
    away = tuple(str(one) for one in returns.loc[returns["state"].isin(NOT_BACK), "member"])
    yield Gap("returns outstanding", away, len(returns), "Ask for them, or say that they are not coming.")
    asked = told["Questions"]
    asked = asked[asked["claims"].notna()]
    still = asked[asked["holds"].isna()]
    names = tuple(f"{one['sheet']} {one['ref']}".strip() for one in still.to_dict("records"))
    yield Gap("decisions open", names, len(asked), "Write what holds on the sheet Questions.")
