"""Seasons of many colonies at once: every hive type of the handbook in every region that lists it."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.book.memory import raw_book
from apiarybook.book.si_frames import si
from apiarybook.book.tables import read_book
from apiarybook.club.blank import new_settings, new_tables
from apiarybook.handbook import handbook
from apiarybook.layout import BOOK
from apiarybook.reckon.core.winter import serial
from apiarybook.reckon.season import Season, reckon_season

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

Row = dict[str, object]
WINTER = 2026
HOME = "british-isles"
REGIONS = tuple(handbook().profiles)
SETTINGS = new_settings("", WINTER, HOME, "kg")
HIVES = tuple(
    (hive.name, region) for region in REGIONS for hive in handbook().hive_types.values() if region in hive.regions
)
"""Hive type and region."""
WAYS = ("platform", "two sides", "one side", "heft", "frames of food counted")
FRAMES_TO_GROSS = 4.0
"""Frames counted stand in for a sweep of gross: one for every four kilograms of it."""
KITS: tuple[Row, ...] = (
    {"takes_fondant": "yes"},
    {"takes_fondant": "no"},
    {"takes_fondant": "yes", "reached": "never"},
)


@cache
def lists() -> dict[str, pd.DataFrame]:
    """The lists of new books in SI: an apiary and the hive types of each region, named for it."""
    frames = _lists_of(HOME)
    types = [frame.assign(name=frame["name"] + f", {region}") for region, frame in _types()]
    frames["Hive types"] = pd.concat(types, ignore_index=True)
    apiaries = pd.DataFrame({"apiary": REGIONS, "profile": REGIONS})
    frames["Apiaries"] = apiaries.reindex(columns=frames["Apiaries"].columns)
    return frames


def _types() -> list[tuple[str, pd.DataFrame]]:
    frames = [(region, _lists_of(region)["Hive types"]) for region in REGIONS]
    return [(region, frame[[(name, region) in HIVES for name in frame["name"]]]) for region, frame in frames]


def _lists_of(region: str) -> dict[str, pd.DataFrame]:
    tables = {name: frame.dropna(how="all") for name, frame in new_tables(region, "kg", "t").items()}
    book = read_book(raw_book(tables, SETTINGS, {}))
    return si(book)


def _frame(sheet: str, columns: Mapping[str, object]) -> pd.DataFrame:
    frame = pd.DataFrame(columns).reindex(columns=lists()[sheet].columns).assign(held="")
    frame.index = pd.RangeIndex(2, 2 + len(frame))
    for column in BOOK[sheet].typed:
        if column.numeric and column.key != "heft":
            frame[column.key] = frame[column.key].astype(np.float64)
        elif column.key == "date":
            frame[column.key] = pd.to_datetime(frame[column.key])
    return frame


def season(
    as_at: date,
    colonies: pd.DataFrame,
    weighings: Mapping[str, object],
    feedings: Mapping[str, object] | None = None,
    **settings: object,
) -> Season:
    """Reckon colonies, given column by column; masses in kg."""
    nothing: dict[str, object] = {"date": []}
    rows = {
        "Colonies": colonies.to_dict("series"),
        "Weighings": {"by": "Ann", "feed_left": 0.0, **weighings},
        "Feedings": feedings or nothing,
    }
    frames = lists() | {name: _frame(name, found) for name, found in rows.items()}
    return reckon_season(frames, SETTINGS | settings, serial(as_at))


def one(
    as_at: date, hive: str, gross: float, autumn_feed: object = SETTINGS["autumn_feed"], **kit: object
) -> pd.Series[float]:
    """Standing of one British colony weighed on a platform that day."""
    row = {"colony": "H", "apiary": HOME, "hive_type": f"{hive}, {HOME}", **kit}
    weighing = {"colony": ["H"], "date": as_at, "how": "platform", "reading_1": gross}
    return season(as_at, pd.DataFrame([row]), weighing, autumn_feed=autumn_feed).standing.iloc[0]


def sweep(
    as_at: date, grosses: Sequence[float], ways: Sequence[str] = WAYS, kits: Sequence[Row] = KITS, age: int = 0
) -> pd.DataFrame:
    """Standing of every hive in every kit, weighed in every way some days before; `series` numbers each row of grosses.

    Beside the columns of Standing: hive, region, hive_type, apiary, way, takes_fondant, reached, series, read [kg].
    """
    series = [(*hive, way, *_kit(kit)) for hive in HIVES for way in ways for kit in kits]
    told = pd.DataFrame(series, columns=["hive", "region", "way", "takes_fondant", "reached"])
    asked = told.loc[told.index.repeat(len(grosses))].assign(read=np.tile(grosses, len(told)))
    asked = asked.reset_index(names="series")
    asked["colony"] = [f"H{number}" for number in asked.index]
    asked["hive_type"] = asked["hive"] + ", " + asked["region"]
    asked["apiary"] = asked["region"]
    stood = season(as_at, asked, weighings_of(asked, pd.Timestamp(as_at) - pd.Timedelta(days=age))).standing
    return stood.assign(**{key: asked[key].to_numpy() for key in asked.columns if key != "colony"})


def _kit(kit: Row) -> tuple[object, object]:
    return kit.get("takes_fondant"), kit.get("reached")


def weighings_of(asked: pd.DataFrame, on: pd.Timestamp) -> dict[str, object]:
    """Weighings of colonies in their way at `read` [kg]: half of it for each side, a count where frames are counted."""
    read, way = asked["read"], asked["way"]
    first = np.select([way.isin(WAYS[1:3]), way == WAYS[4]], [read / 2, read / FRAMES_TO_GROSS], read)
    return {
        "colony": asked["colony"],
        "date": on,
        "how": way,
        "reading_1": np.where(way == "heft", np.nan, first),
        "reading_2": np.where(way == "two sides", first, np.nan),
        "heft": read.where(way == "heft", None).astype(object),
    }
