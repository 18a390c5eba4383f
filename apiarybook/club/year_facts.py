"""What a winter taught a club, of all its colonies."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.book.si_frames import earlier
from apiarybook.club import year_tables as tables
from apiarybook.club.gaps import Gap, gaps
from apiarybook.club.reckoned import frames_of
from apiarybook.reckon.core.lookup import match, pick
from apiarybook.reckon.core.winter import serial, sure_of, winter_of
from apiarybook.reckon.year import year as reckoned_year
from apiarybook.reckon.year.wintered import wintered

if TYPE_CHECKING:
    from apiarybook.club.reckoned import Reckoned


@dataclass(frozen=True, slots=True)
class Facts:
    """What a winter taught, of all colonies.

    Attributes:
        found: the frame of `wintered`.
        told: what colonies say of their hive types, earlier winters included.
        wants: the wants it suggests [kg].
        bands: what was foretold of the spring stores, and what came.
        balance: the mass balances of the season.
        drift: how scales drifted.
        gaps: what is not complete.
        shown_gaps: the same without colonies of members who asked not to be shown.
        sure: how sure the club wants to be [1].
    """

    found: pd.DataFrame
    told: pd.DataFrame
    wants: pd.DataFrame
    bands: pd.DataFrame
    balance: pd.DataFrame
    drift: pd.DataFrame
    gaps: list[Gap]
    shown_gaps: list[Gap]
    sure: float


def facts_of(reckoned: Reckoned) -> Facts:
    """Work out what the winter taught.

    Args:
        reckoned: the club's book, reckoned.
    """
    settings, book = reckoned.book.settings, reckoned.book
    frames = frames_of(book, reckoned.checked)
    before = earlier(book)
    found = wintered(frames | before, settings, serial(reckoned.content.as_at))
    months = winter_of(settings)
    now = reckoned_year.evidence(found, months.year)
    told = with_earlier(now, before.get("Earlier winters"))
    types = frames["Hive types"].join(reckoned.season.hive_types[["comb_full"]])
    types["want_then"] = want_then(types["name"], before.get("Earlier winters"))
    return Facts(
        found=found,
        told=told,
        wants=reckoned_year.wants(types, told, str(settings["region"]), months),
        bands=reckoned_year.bands(found),
        balance=reckoned.season.balance,
        drift=reckoned_year.drift(frames["Scales"], frames["Scale checks"]),
        gaps=gaps(found, reckoned, frames),
        shown_gaps=gaps(tables.may_be_shown(found), reckoned, frames),
        sure=sure_of(settings),
    )


def with_earlier(now: pd.DataFrame, before: pd.DataFrame | None) -> pd.DataFrame:
    """Put what colonies of earlier winters said before this winter's."""
    if before is None or before.empty:
        return now
    kept = before[now.columns.tolist()]
    return kept if now.empty else pd.concat([kept, now], ignore_index=True)


def want_then(names: pd.Series[str], before: pd.DataFrame | None) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """The want of each hive type when learning began [kg]; blank for one of which no earlier winter speaks."""
    if before is None:
        return np.full(len(names), np.nan)
    first = before.drop_duplicates("hive_type")
    return pick(first["want_then"], match(names, first["hive_type"]), np.nan)
