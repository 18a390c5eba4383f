"""How each colony came through a winter: what it had in autumn, ate, was fed and had in spring, or how it was lost."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.core.arrays import Floats, figure, numbers, words
from apiarybook.reckon.core.lookup import Rows, match, one_of_each, pick, pick_words, sum_by
from apiarybook.reckon.core.winter import month_day, serials, winter_of, year_day
from apiarybook.reckon.hive.weighings import AFTER_FEED, BEFORE_FEED, UNTIMED, occasions
from apiarybook.reckon.outlook.till_flow import stores_ahead
from apiarybook.reckon.season import Season, reckon_season

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from apiarybook.reckon.core.winter import Winter

    Frames = Mapping[str, pd.DataFrame]

WINTERED, DIED, STARVED = "wintered", "died", "no food left"
KIT_MOVES = ("super off", "super on", "super under", "down to single", "new hive type", "united into", "given away")
"""Moves that take stores along, so that what was eaten between two weighings cannot be told."""
AT_WINTER = [
    "winter_starts", "flow", "feed_reaches", "profile_row", "type_row", "place_row", "verdict", "chance_out",
    "short_by", "stores_today", "still_u", "aged", "own_rate", "own_spread",
    "evidence_row", "evidence_day", "evidence_occasion", "size", "strength",
]  # fmt: skip


def wintered(frames: Frames, settings: Mapping[str, object], as_at: float) -> pd.DataFrame:
    """Tell of each colony what the winter did.

    Args:
        frames: the typed sheets by name, as `reckon_season` takes them.
        settings: the club's settings.
        as_at: number of the day for which to reckon.

    Returns:
        frame indexed like the colonies: colony; member and shown (may be shown: yes, no, blank); hive_type and apiary;
        verdict, chance_out [1], short_by [kg] and stores_then [kg] as winter started; outcome and seen; autumn_on,
        day of its autumn evidence;
        autumn_stores, spring_day, spring_stores, fed and eaten between them, expected by the handbook,
        all in kg; rate on the handbook's and rate_u [1], and starved (then the rate is a lower bound); low, high: the
        band foretold of the spring stores; left_over: stores above the floor at the flow; lacked at the first weighing;
        fed_autumn and fed_winter [kg of stores]. Blank where it cannot be told.
    """
    lifted = with_spring(frames)
    whole = reckon_season({**frames, "Weighings": lifted}, settings, as_at)
    found = at_winter(frames, settings, whole.standing)
    _members(found, frames)
    _outcomes(found, frames["After winter"])
    _spring(found, lifted, whole)
    feeds = _Feeds(frames["Feedings"], whole)
    months = winter_of(settings)
    _eaten(found, frames, lifted, whole, feeds, months)
    _foretold(found, feeds, months)
    _feeding(found, lifted, whole, feeds)
    return found


def with_spring(frames: Frames) -> pd.DataFrame:
    """The sheet Weighings with the spring weighings of the sheet After winter behind its rows, as full lifts."""
    weighings, after = frames["Weighings"], frames["After winter"]
    rows = after[(after["spring_gross"] > 0) & (after["held"] == "")]
    last = int(weighings.index.max()) if len(weighings) else 0
    more = pd.DataFrame(index=pd.RangeIndex(last + 1, last + 1 + len(rows)), columns=weighings.columns, dtype=object)
    more = more.assign(
        date=rows["date"].to_numpy(),
        colony=rows["colony"].to_numpy(),
        how="full lift",
        reading_1=rows["spring_gross"].to_numpy(),
        held="",
    )
    if more.empty:
        return weighings
    return pd.concat([weighings, more.astype(weighings.dtypes.to_dict())])


def at_winter(frames: Frames, settings: Mapping[str, object], standing: pd.DataFrame) -> pd.DataFrame:
    """How each colony stood on the eve of its winter, by what had been written down until then."""
    starts, found = standing["winter_starts"].to_numpy(), []
    for day in np.unique(starts[starts > 0]):
        then = reckon_season(frames, settings, float(day) - 1)
        found.append(then.standing.loc[starts == day, AT_WINTER])
    joined = pd.concat(found) if found else standing.loc[[], AT_WINTER]
    whole: pd.DataFrame = joined.reindex(standing.index)
    for key in ("profile_row", "type_row", "place_row", "evidence_row", "winter_starts", "flow", "feed_reaches"):
        whole[key] = whole[key].fillna(0)
    whole = whole.rename(columns={"stores_today": "stores_then"})
    whole["scaled"] = whole["size"] * whole["strength"]
    whole["verdict"] = words(whole["verdict"]).astype(object)
    return whole.assign(colony=standing["colony"].where(standing["colony"].notna(), None))


def _rows_of(column: pd.Series[float]) -> Rows:
    return column.to_numpy(dtype=np.float64).astype(np.int64)


def _members(found: pd.DataFrame, frames: Frames) -> None:
    apiaries, members = frames["Apiaries"], frames["Members"]
    place = _rows_of(found["place_row"])
    keeper = match(pick_words(apiaries["member"], place), members["member"])
    found["apiary"] = pick_words(apiaries["apiary"], place).astype(object)
    found["member"] = pick_words(members["member"], keeper).astype(object)
    found["shown"] = pick_words(members["shown"], keeper).astype(object)
    found["hive_type"] = pick_words(frames["Hive types"]["name"], _rows_of(found["type_row"])).astype(object)


def _outcomes(found: pd.DataFrame, after: pd.DataFrame) -> None:
    """The last outcome written down of each colony."""
    said = after.assign(colony=match(after["colony"], found["colony"]), day=np.floor(serials(after["date"])))
    said = said[(said["held"] == "") & (said["colony"] > 0) & (words(said["outcome"]) != "")]
    last = one_of_each(said, len(found))
    found["outcome"] = words(last["outcome"]).astype(object)
    found["seen"] = words(last["seen"]).astype(object)
    found["outcome_day"] = numbers(last["day"])


def _spring(found: pd.DataFrame, lifted: pd.DataFrame, whole: Season) -> None:
    """Point each colony at its last weighing by scale between the day feed reaches it again and the flow."""
    weighed, day = whole.weighings, np.floor(serials(lifted["date"]))
    colony = _rows_of(weighed["colony_row"])
    counts = (weighed["usable"] == 1).to_numpy() & (words(lifted["how"]) != "heft")
    counts &= (words(lifted["occasion"]) != "practice") & (words(lifted["flow_on"]) != "yes")
    counts &= (day >= pick(found["feed_reaches"], colony)) & (day <= pick(found["flow"], colony))
    rows = pd.DataFrame({"colony": colony, "day": day, "row": np.arange(1, len(day) + 1)})[counts & (colony > 0)]
    last = one_of_each(rows, len(found))
    found["spring_row"] = last["row"].fillna(0).to_numpy(dtype=np.int64)
    found["spring_day"] = last["day"].to_numpy()
    found["spring_stores"] = pick(weighed["stores"], _rows_of(found["spring_row"]), np.nan)


class _Feeds:
    """All feeds of the season, to be summed up between two days of each colony."""

    def __init__(self, rows: pd.DataFrame, whole: Season) -> None:
        fed = whole.feedings
        self.colony = _rows_of(fed["colony_row"])
        self.day = np.floor(serials(rows["date"]))
        self.stores = np.where(fed["usable"] == 1, numbers(fed["stores"]), 0.0)
        mass = float(np.where(fed["usable"] == 1, numbers(fed["mass"]), 0.0).sum())
        self.share = float(self.stores.sum()) / mass if mass > 0 else 0.0
        self.count = len(whole.standing)

    def between(self, start: Floats, end: Floats, first: Floats | float, last: Floats | float) -> Floats:
        """Stores from what each colony was fed between two days [kg].

        Args:
            start: number of the first day of each colony.
            end: number of the last.
            first: whether the first day's weighing came before or after its feed (0 before, 2 after, 1 not said).
            last: the same of the last day.
        """
        of = [np.broadcast_to(numbers(one), (self.count,)) for one in (start, end, first, last)]
        begin, stop, early, late = (pick(one, self.colony, np.nan) for one in of)
        inside = (self.day > begin) | ((self.day == begin) & (early == BEFORE_FEED))
        inside &= (self.day < stop) | ((self.day == stop) & (late != BEFORE_FEED))
        return sum_by(np.where(inside, self.stores, 0.0), self.colony, self.count)


def _eaten(
    found: pd.DataFrame, frames: Frames, lifted: pd.DataFrame, whole: Season, feeds: _Feeds, months: Winter
) -> None:
    """What each colony ate between its autumn and its spring weighing, or at least, if it starved."""
    weighed, autumn, spring = whole.weighings, _rows_of(found["evidence_row"]), _rows_of(found["spring_row"])
    start = np.where(autumn > 0, numbers(found["evidence_day"]), np.nan)
    start = np.where(year_day(start) >= month_day("autumn_standing_from"), start, np.nan)
    found["autumn_on"] = start
    starved = found["starved"] = ((found["outcome"] == DIED) & (found["seen"] == STARVED)).to_numpy()
    end = np.where(starved, found["outcome_day"], found["spring_day"])
    sound = (end > start) & (starved | (found["outcome"] != DIED)) & ~_moved(found, frames, start, end)
    start, end = np.where(sound, start, np.nan), np.where(sound, end, np.nan)
    order = np.where(starved, AFTER_FEED, pick(occasions(lifted), spring, UNTIMED))
    fed = feeds.between(start, end, found["evidence_occasion"].to_numpy(dtype=np.float64), order)
    waiting = pick(weighed["feeder_left"], autumn) - np.where(starved, 0.0, pick(weighed["feeder_left"], spring))
    fed += feeds.share * waiting
    found["autumn_stores"] = np.where(sound, pick(weighed["stores"], autumn, np.nan), np.nan)
    found["fed"] = np.where(sound, fed, np.nan)
    left = np.where(starved, 0.0, found["spring_stores"])
    found["eaten"] = found["autumn_stores"] + found["fed"] - left
    expected = found["scaled"] * months.eaten_between(start, end, _rows_of(found["profile_row"]))
    found["expected"] = np.where(sound & (expected > 0), expected, np.nan)
    spread = _uncertainty(weighed, autumn, np.where(starved, 0, spring), fed)
    found["rate"], found["rate_u"] = found["eaten"] / found["expected"], spread / found["expected"]


def _uncertainty(weighed: pd.DataFrame, autumn: Rows, spring: Rows, fed: Floats) -> Floats:
    """Standard uncertainty of what was eaten: what is not known of hive, bees and pollen was the same both times."""
    water = figure("water_spread")
    parts = (figure("feed_spread") * fed) ** 2
    for row in (autumn, spring):
        wet = water * np.nan_to_num(pick(weighed["unripe_then"], row))
        parts = parts + pick(weighed["dry_u"], row) ** 2 + wet**2
    both = (pick(weighed["kit_u"], autumn) > 0) & (pick(weighed["kit_u"], spring) > 0)
    shared = np.minimum(pick(weighed["tare_u"], autumn), pick(weighed["tare_u"], spring)) ** 2
    for key in ("bees", "pollen"):
        shared = shared + figure(f"{key}_spread") ** 2 * pick(weighed[key], autumn) * pick(weighed[key], spring)
    return np.asarray(np.sqrt(np.maximum(parts - np.where(both, 2 * shared, 0.0), 0.0)))


def _moved(found: pd.DataFrame, frames: Frames, start: Floats, end: Floats) -> NDArray[np.bool_]:
    """Colonies whose hive or stores were changed by a move between two days, their own or one into them."""
    moves = frames["Moves"]
    day, counts = np.floor(serials(moves["date"])), words(moves["held"]) == ""
    counts &= np.isin(words(moves["what"]), KIT_MOVES)
    changed = np.zeros(len(found) + 1, dtype=np.bool_)
    joined = np.where(words(moves["what"]) == "united into", words(moves["into"]), "")
    for codes in (words(moves["colony"]), joined):
        row = match(codes, found["colony"])
        between = (day > pick(start, row, np.nan)) & (day <= pick(end, row, np.nan))
        changed[row[counts & between & (row > 0)]] = True
    return changed[1:]


def _foretold(found: pd.DataFrame, feeds: _Feeds, months: Winter) -> None:
    """The outlook's band on the eve of winter for the spring stores, and what is left at the flow."""
    profile, floor = _rows_of(found["profile_row"]), figure("reserve_floor")
    eve, spring = found["winter_starts"].to_numpy() - 1, numbers(found["spring_day"])
    eaten = numbers(found["scaled"]) * months.eaten_between(eve, spring, profile)
    fed = feeds.between(eve, spring, 1.0, 1.0)
    rate, spread = numbers(found["own_rate"]), numbers(found["own_spread"])
    sure = np.hypot(numbers(found["still_u"]), figure("feed_spread") * fed)
    told = stores_ahead(numbers(found["stores_then"]) + fed, sure, rate, spread, eaten, numbers(found["aged"]) / rate)
    known = np.isfinite(found["spring_stores"])
    found["low"], found["high"] = (np.where(known, one, np.nan) for one in told[1:])
    coming = numbers(found["scaled"]) * months.eaten_between(spring, found["flow"].to_numpy(), profile)
    found["left_over"] = found["spring_stores"] - coming - floor * found["scaled"]


def _feeding(found: pd.DataFrame, lifted: pd.DataFrame, whole: Season, feeds: _Feeds) -> None:
    """What each colony lacked at its first weighing by scale of the season, and what it was fed from then on."""
    weighed, day = whole.weighings, np.floor(serials(lifted["date"]))
    colony = _rows_of(weighed["colony_row"])
    starts = found["winter_starts"].to_numpy()
    counts = (weighed["usable"] == 1).to_numpy() & (words(lifted["how"]) != "heft") & (colony > 0)
    counts &= (words(lifted["occasion"]) != "practice") & (year_day(day) >= month_day("season_opens"))
    counts &= day < pick(starts, colony)
    rows = pd.DataFrame({"colony": colony, "day": day, "row": np.arange(1, len(day) + 1)})[counts]
    first = one_of_each(rows, len(found), keep="first")
    row, since = first["row"].fillna(0).to_numpy(dtype=np.int64), first["day"].to_numpy(dtype=np.float64)
    wanted = pick(weighed["card_stores"], row, np.nan)
    found["lacked"] = np.maximum(0.0, wanted - pick(weighed["stores"], row, np.nan))
    order = pick(occasions(lifted), row, UNTIMED)
    known = ~np.isnan(found["lacked"])
    found["fed_autumn"] = np.where(known, feeds.between(since, starts - 1, order, 1.0), np.nan)
    found["fed_winter"] = np.where(starts > 0, feeds.between(starts - 1, numbers(found["flow"]), 1.0, 1.0), np.nan)
