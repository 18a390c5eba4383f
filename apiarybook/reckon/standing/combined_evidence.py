"""Two kinds of evidence for one colony: a weighing carried forward and a later heft, brought together."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from apiarybook.reckon.core.arrays import Floats, figure, numbers, rounded
from apiarybook.reckon.core.lookup import number_or

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

HALF = 0.5


def combine(found: pd.DataFrame) -> None:
    """Give each colony its stores today from all its evidence, and say which evidence that is.

    Both are carried to the day of the heft and combined by inverse variance; what they share (tare, bees, pollen) and
    what was eaten and fed since then is no more certain for it. Where they lie more than three standard uncertainties
    of their difference apart the more certain one is used alone.

    Args:
        found: the frame of `standing.evidence` with the evidence carried to today; gains heft_today, heft_share,
            apart, stores_today, stores_u and how; aged, what it has eaten since its evidence [kg], and still_u, what
            remains of stores_u but for that: a colony goes on at the rate at which it ate so far.

    Source: combination of independent estimates by inverse variance; what they share, JCGM 100:2008, 5.2.
    """
    known, counts = found["known"] == 1, (found["heft_counts"] == 1).to_numpy()
    water, fed = figure("water_spread"), figure("feed_spread")
    eaten = found["own_spread"].to_numpy()
    found["scale_today"] = found["stores"] + found["fed_since"] - found["eaten_since"]
    carried = found["heft_dry"] - found["heft_unripe"] + found["heft_fed"] - found["heft_eaten"]
    found["heft_today"] = np.where(counts, carried, 0.0)
    found["shared_u"] = np.where(counts, np.minimum(found["kit_u"], found["heft_kit_u"]), 0.0)
    wet = water * number_or(found["unripe_water"], 0.0)
    own = found["own_u"] = np.where(known, np.sqrt(_own(found, found["dry_u"]) + wet**2), 0.0)
    wet = water * numbers(found["heft_unripe"])
    heft = found["heft_u"] = np.where(counts, np.sqrt(_own(found, found["heft_dry_u"]) + wet**2), 0.0)
    before = found[["eaten_since", "fed_since"]].to_numpy() - found[["heft_eaten", "heft_fed"]].to_numpy()
    parts = own**2 + (eaten * before[:, 0]) ** 2 + (fed * before[:, 1]) ** 2
    scale = found["carried_u"] = np.where(counts, np.sqrt(parts), 0.0)
    _share(found, counts, scale, heft)
    share = found["heft_share"].to_numpy()
    found["stores_today"] = found["scale_today"] + share * (found["heft_today"] - found["scale_today"])
    squares = found["shared_u"] ** 2 + ((1 - share) * own) ** 2 + (share * heft) ** 2
    aged = found["aged"] = np.where(known, found["eaten_since"] - share * before[:, 0], 0.0)
    squares = squares + (eaten * aged) ** 2
    squares = squares + (fed * (found["fed_since"] - share * before[:, 1])) ** 2
    found["stores_u"] = np.where(known, np.sqrt(squares), np.nan)
    found["still_u"] = np.where(known, np.sqrt(np.maximum(0.0, squares - (eaten * aged) ** 2)), 0.0)
    joined = found["way"].astype(object) + " and heft"
    found["how"] = np.select([share == 0, share == 1], [found["way"], "heft"], joined).astype(object)


def _own(found: pd.DataFrame, spread: pd.Series[float]) -> Floats:
    return np.maximum(0.0, numbers(spread) ** 2 - numbers(found["shared_u"]) ** 2)


def _share(found: pd.DataFrame, counts: NDArray[np.bool_], scale: Floats, heft: Floats) -> None:
    apart = numbers(abs(found["heft_today"] - found["scale_today"]))
    beyond = counts & (rounded(apart) > rounded(figure("balance_ask") * np.hypot(scale, heft)))
    found["apart"] = np.where(beyond, 1, 0)
    total = np.where(counts, scale**2 + heft**2, 1.0)
    found["heft_share"] = np.where(beyond, np.where(heft < scale, 1.0, 0.0), np.where(counts, scale**2 / total, 0.0))
