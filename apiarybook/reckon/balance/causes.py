"""What a residual of the mass balance may mean: likely readings, ranked by how well each explains it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pandas as pd

from apiarybook.handbook import handbook
from apiarybook.reckon.balance import clues
from apiarybook.reckon.balance.clues import bell, judging, unlike
from apiarybook.reckon.balance.mass_balance import intervals
from apiarybook.reckon.balance.slips import LAST, SIDES, WAY, Instead, Weighed, likely, tries
from apiarybook.reckon.core.arrays import Floats, figure, numbers, words
from apiarybook.reckon.core.lookup import match, number_or, pick, sum_by
from apiarybook.reckon.core.winter import serials, year_day
from apiarybook.reckon.feeding.feeds import UNITS

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping

    from apiarybook.handbook import Cause
    from apiarybook.reckon.balance.mass_balance import Records

FED, LEFT_ON, FLOW = "fed", "left on", "flow"
ROBBED, LEAKED, SWARMED, TAKEN_OFF = "robbed", "leaked", "swarmed", "taken off"
NOT_GIVEN, BEFORE_FEED, HIVE_TYPE, OTHER_COLONY, AMOUNT = (
    "not given",
    "before feed",
    "hive type",
    "other colony",
    "feed amount",
)
EVENTS = (*(FED, LEFT_ON, FLOW, ROBBED, LEAKED, SWARMED, TAKEN_OFF), NOT_GIVEN, BEFORE_FEED, HIVE_TYPE, OTHER_COLONY)
SCALE = "scale zero"
"""A cause that befalls all rows of a visit."""
HALF = 0.5
"""Share of the neighbours that must have gained for a flow to be likelier (common practice, no source)."""
MOST_TOLD = 3
"""Causes of a residual that are kept."""


class Likely(NamedTuple):
    """One cause of a residual.

    Attributes:
        name: of the cause in the handbook.
        share: of all that was weighed, from 0 to 1.
        end: the weighing at fault, 1 the earlier and 2 the later; 0 where none is.
        which: its reading at fault, 1 or 2; 0 for all of them, or none.
        meant: what should stand in the cell [book's unit]; NaN where that is not one value.
        other: row of the colony that may have been mixed up, or of the feed counted from 1; 0 where there is none.
        text: unit of the feed that may have been meant; empty where the amount was.
        is_round: whether a feed meant so would be one as the others of its round had.
    """

    name: str
    share: float
    end: int = 0
    which: int = 0
    meant: float = float("nan")
    other: int = 0
    text: str = ""
    is_round: bool = False


def readings(found: pd.DataFrame, rows: Rows, records: Records) -> pd.DataFrame:
    """Rank what may lie behind each residual that is asked about or noted.

    Residuals that only take back the one before are told with that one, which is asked about if either or both
    together would be, and lose their standing here. One that is explained best by the way of weighing is asked about
    if the colony was never else weighed so, one that is explained best by the last reading always, and one that a feed
    would explain which differs from those of its round.

    Args:
        found: the frame of `balance.balance`; its column standing is mended.
        rows: the weighings as they were typed.
        records: what it was reckoned from.

    Returns:
        frame with the same index: first and second, causes of the handbook by name, blank where there is no standing;
        first_share and second_share of all that was weighed (0 to 1); likely, the likeliest causes in order; is_out,
        whether only the interval and the next together say that the weighing between them is off.

    Source: Bayes' rule; weights, sizes and seasons as the handbook gives them.
    """
    after, before = clues.following(found), clues.preceding(found)
    echo, standing = clues.echoes(found, after), found["standing"].to_numpy()
    out = clues.out_and_back(found, after) & ~echo
    sure = np.abs(numbers(found["off"])) > figure("interval_ask") * numbers(found["off_u"])
    asks = (np.roll(echo, -1) & (sure | (np.roll(standing, -1) == "ask"))) | out
    found["standing"] = np.select([asks, echo | np.roll(out, 1)], ["ask", ""], standing).astype(object)
    asked = np.flatnonzero(found["standing"] != "")
    ranked: list[tuple[Likely, ...]] = [()] * len(found)
    if len(asked):
        doubted = found.iloc[asked]
        mixed = clues.beside(doubted, found, records)
        around = _fitting(after.iloc[asked].join(before.iloc[asked]))
        events = _scores(doubted, around, records, _densities(doubted, records, mixed))
        amounts = _amounts(doubted, around, records)
        others = mixed["other"].astype(int).tolist()
        for place, (at, one) in enumerate(zip(asked.tolist(), doubted.join(around).to_dict("records"), strict=True)):
            scores = _slips(one, rows) | amounts[place]
            scores |= {(name, 2 if name == OTHER_COLONY else 0): (events[name][place], None) for name in EVENTS}
            ranked[at] = _ranked(scores, others[place])
            asks[at] |= _is_plain(ranked[at], one, rows)
    found["standing"] = found["standing"].mask(asks & (found["standing"] != ""), "ask")
    told = pd.DataFrame(
        {"is_out": out, "likely": pd.Series(ranked, dtype=object, index=found.index)}, index=found.index
    )
    for place, key in enumerate(("first", "second")):
        told[key] = pd.Series([one[place].name if one else "" for one in ranked], dtype=object, index=found.index)
        told[f"{key}_share"] = [one[place].share if one else np.nan for one in ranked]
    return told


def _is_plain(likely: tuple[Likely, ...], one: Mapping[Hashable, Any], rows: Rows) -> bool:
    """Whether its causes speak so plainly that a residual is asked about where it would only be noted."""
    first = likely[0]
    if any(cause.is_round for cause in likely[:2]):
        return True
    return first.name == LAST or (first.name == WAY and rows.is_odd_one_out(int(one[f"row_{first.end}"])))


Scores = dict[tuple[str, int], tuple[float, "Instead | Likely | None"]]


def _ranked(scores: Scores, other: int) -> tuple[Likely, ...]:
    """The likeliest causes in order."""
    whole = max(sum(score for score, _ in scores.values()), np.finfo(np.float64).tiny)
    order = sorted(scores.items(), key=lambda item: -item[1][0])[:MOST_TOLD]
    found = []
    for (name, end), (score, best) in order:
        if isinstance(best, Likely):
            found.append(best._replace(share=score / whole))
        elif best is None:
            found.append(Likely(name, score / whole, end, other=other if name == OTHER_COLONY else 0))
        else:
            found.append(Likely(name, score / whole, end, best.which, best.meant, best.other))
    return tuple(found)


def _slips(one: Mapping[Hashable, Any], rows: Rows) -> Scores:
    """Weight times density of what one slip in either weighing of an interval explains, by cause and end."""
    own = one["residual"], max(one["residual_u"], judging("least_spread"))
    found: Scores = {}
    for end, sign, beside, beyond in ((1, -1.0, "before", "next"), (2, 1.0, "next", "before")):
        weighed = rows.weighed(int(one[f"row_{end}"]))
        if weighed is None:
            continue
        other = one[f"{beside}_residual"], one[f"{beside}_u"], -sign
        explained = likely(weighed, tries(weighed), [(*own, sign), *([] if np.isnan(other[0]) else [other])])
        for name, (score, _, best) in explained.items():
            found[name, end] = score * one[f"{beyond}_fits"], best
    return found


def _amounts(doubted: pd.DataFrame, around: pd.DataFrame, records: Records) -> list[Scores]:
    """Weight times density of a feed of each interval that was written with a wrong amount, or in another unit."""
    found: list[Scores] = [{} for _ in range(len(doubted))]
    feeds = clues.amounts(doubted, records)
    at = feeds["at"].to_numpy(dtype=np.int64) - 1
    net, u = numbers(feeds["net"]), np.maximum(numbers(doubted["residual_u"]), judging("least_spread"))[at]
    away = numbers(doubted["residual"])[at] - net * (numbers(feeds["times"]) - 1)
    wide = np.hypot(u, figure("feed_spread") * net * numbers(feeds["times"]))
    shown = numbers(around["next_fits"] * around["before_fits"])[at]
    each = bell(away, wide) * numbers(feeds["weight"]) * shown * handbook().causes[AMOUNT].weight.value
    whole = sum_by(each, at + 1, len(doubted)).tolist()
    for one in feeds.loc[pd.Series(each).groupby(at).idxmax()].to_dict("records"):
        meant, unit, is_round = one["amount"], one["unit"], one["is_round"]
        told = Likely(AMOUNT, 0.0, meant=meant, other=one["feed"] + 1, text=unit, is_round=is_round)
        found[one["at"] - 1] = {(AMOUNT, 0): (whole[one["at"] - 1], told)}
    return found


@dataclass(frozen=True)
class Rows:
    """The weighings of a book, one at a time as they were typed."""

    records: Records
    unit: str

    @cached_property
    def _typed(self) -> list[dict[Hashable, Any]]:
        rows, found, lists = self.records.weighings, self.records.weighed, self.records.lists
        hive = found["type_row"].to_numpy(dtype=np.int64)
        full = pick(lists.types["believable"], hive, np.nan) - numbers(found["tare"])
        told: dict[str, Any] = {key: numbers(rows[key]) / UNITS[self.unit].factor for key in ("reading_1", "reading_2")}
        told |= {"how": words(rows["how"]), "gross": numbers(found["gross"])}
        told["per"] = numbers(found["factor"]) / numbers(found["line_slope"]) * UNITS[self.unit].factor
        others = numbers(found["extras"]) + numbers(found["feeder_left"])
        told |= {"usual": numbers(found["target"]) + others, "low": numbers(found["tare"]) + others}
        told["high"] = told["low"] + full
        told["spread"] = figure("slip_spread") * full
        told["rank"], told["colony"] = numbers(found["rank_scale"]), numbers(found["colony_row"])
        told["day"] = np.floor(serials(rows["date"]))
        for n in (1, 2, 3):
            told[f"extra_{n}"] = pick(lists.extras["mass"], match(rows[f"extra_{n}"], lists.extras["name"]))
        told["other_extra"] = number_or(rows["other_extra"], 0.0)
        return pd.DataFrame(told).to_dict("records")

    @cached_property
    def _before(self) -> dict[int, int]:
        """The weighing of the same colony before each."""
        pairs = intervals(self.records.weighed, self.records.weighings)
        return dict(zip(pairs["row_2"].astype(int).tolist(), pairs["row_1"].astype(int).tolist(), strict=True))

    def readings(self, at: int) -> tuple[float, ...]:
        """What was read of one."""
        one = self._typed[at]
        return tuple(value for value in (one["reading_1"], one["reading_2"]) if value == value)  # noqa: PLR0124 no NaN

    @cached_property
    def _ways(self) -> dict[float, set[str]]:
        """The ways in which each colony was weighed."""
        found: dict[float, set[str]] = {}
        for one in self._typed:
            found.setdefault(one["colony"], set()).add(one["how"])
        return found

    @cached_property
    def _scaled(self) -> dict[float, Counter[str]]:
        """How often each colony was weighed in each way, hefts apart."""
        found: dict[float, Counter[str]] = {}
        for one in self._typed:
            if one["rank"] > 0:
                found.setdefault(one["colony"], Counter())[one["how"]] += 1
        return found

    def is_odd_one_out(self, at: int) -> bool:
        """Whether a weighing is the only one of its colony that was done so, and the others were done in one way."""
        one = self._typed[at]
        ways = self._scaled[one["colony"]]
        return ways[one["how"]] == 1 and ways.total() > len(ways) == 2  # noqa: PLR2004 this way and the usual

    @cached_property
    def _visits(self) -> dict[tuple[float, float], list[int]]:
        """The weighings of each apiary and day."""
        place = pick(self.records.stood["place_row"], self.records.weighed["colony_row"].to_numpy(dtype=np.int64))
        found: dict[tuple[float, float], list[int]] = {}
        for at, (one, where) in enumerate(zip(self._typed, place.tolist(), strict=True)):
            if where > 0 and one["rank"] > 0:
                found.setdefault((where, one["day"]), []).append(at)
        return found

    def beside(self, at: int) -> dict[int, Weighed]:
        """The other hives of a visit, by row of the colony."""
        colony = int(self._typed[at]["colony"])
        place = pick(self.records.stood["place_row"], np.array([colony]))[0]
        visit = self._visits.get((float(place), self._typed[at]["day"]), [])
        found = {int(self._typed[one]["colony"]): self.weighed(one) for one in visit if one != at}
        return {row: one for row, one in found.items() if one is not None}

    def weighed(self, at: int, **more: Any) -> Weighed | None:
        """One weighing; None where no scale was read."""
        one, read = self._typed[at], self.readings(at)
        if not read or not one["per"] > 0 or np.isnan(one["gross"]) or (one["how"] == SIDES and len(read) == 1):
            return None
        extras = tuple(one[key] for key in ("extra_1", "extra_2", "extra_3", "other_extra") if one[key] > 0)
        usual = (one["usual"], one["spread"]) if one["spread"] > 0 else (one["gross"], judging("span"))
        before = self.readings(self._before[at]) if at in self._before else ()
        said = (one["per"], one["gross"], usual, self.unit, extras, before)
        bounds = (one["low"], one["high"]) if one["spread"] > 0 else (0.0, np.inf)
        return Weighed(read, one["how"], *said, usual_way=len(self._ways[one["colony"]]) == 1, bounds=bounds, **more)


def _fitting(around: pd.DataFrame) -> pd.DataFrame:
    """What stands around each interval, with the density of each residual that should be nought; 1 where none is."""
    told = {}
    for key in ("next", "both", "before"):
        residual = numbers(around[f"{key}_residual"])
        told[f"{key}_fits"] = np.where(np.isnan(residual), 1.0, unlike(residual, numbers(around[f"{key}_u"])))
    return around.assign(**told)


def _scores(
    doubted: pd.DataFrame, around: pd.DataFrame, records: Records, densities: dict[str, Floats]
) -> dict[str, list[float]]:
    """Weight times density of each event, its season and the weighings around included, one for each interval."""
    stays, goes, before = (numbers(around[f"{key}_fits"]) for key in ("next", "both", "before"))
    after = {"stays": stays, "goes": goes, "either": (stays + goes) / 2}
    found = {}
    for name in EVENTS:
        cause = handbook().causes[name]
        season = np.where(_in_season(cause, doubted, records), 1.0, judging("season_share"))
        shown = after[cause.after]
        if name == FED:
            follows = ~np.isnan(numbers(around["next_residual"]))
            ripens = clues.ripening(around, numbers(doubted["residual"]))
            shown = np.where(follows, (shown + ripens) / 2, 1.0)
        found[name] = np.nan_to_num(cause.weight.value * season * shown * before * densities[name]).tolist()
    return found


def _in_season(cause: Cause, doubted: pd.DataFrame, records: Records) -> Floats:
    """Whether any day of an interval lies in a cause's season."""
    winter = records.lists.winter
    day = year_day(np.arange(winter.first, winter.last + 1))
    starts, ends = (when.month * 100 + when.day for when in (cause.starts, cause.ends))
    inside = (day >= starts) & (day <= ends) if starts <= ends else (day >= starts) | (day <= ends)
    until = np.concatenate(([0], np.cumsum(inside)))
    first, last = ((numbers(doubted[key]) - winter.first).astype(np.int64) for key in ("day_1", "day_2"))
    return np.asarray(until[last + 1] > until[first])


def _densities(doubted: pd.DataFrame, records: Records, mixed: pd.DataFrame) -> dict[str, Floats]:
    """Density of each residual under each cause [1/kg]."""
    residual = numbers(doubted["residual"])
    u = np.maximum(numbers(doubted["residual_u"]), judging("least_spread"))
    found = {name: _anywhere(cause, residual, u) for name, cause in handbook().causes.items()}
    found[FED] = _fed(found[FED], doubted, records, u)
    found[LEFT_ON] = _thing(found[LEFT_ON], 1.0, doubted, records, u)
    found[TAKEN_OFF] = _thing(found[TAKEN_OFF], -1.0, doubted, records, u)
    found[FLOW] = found[FLOW] * _flow_speaks(doubted, records, mixed)
    poured = np.minimum(numbers(doubted["fed"]), handbook().causes[LEAKED].most.value)
    found[LEAKED] = np.where((poured > 0) & (-residual <= poured + u), found[LEAKED], 0.0)
    feeds, count = clues.own_feeds(doubted, records), len(doubted)
    at = feeds["at"].to_numpy(dtype=np.int64)
    for name, key in ((NOT_GIVEN, "net"), (BEFORE_FEED, "untimed")):
        mass = numbers(feeds[key])
        each = np.maximum(sum_by((~np.isnan(mass)).astype(np.float64), at, count), 1.0)
        found[name] = sum_by(bell(residual[at - 1] + mass, u[at - 1]), at, count) / each
    found[HIVE_TYPE] = _hive_type(doubted, records, u)
    found[OTHER_COLONY] = numbers(mixed["density"])
    return found


def _anywhere(cause: Cause, residual: Floats, u: Floats) -> Floats:
    """Density of a cause whose mass lies anywhere within its bounds."""
    from scipy.special import ndtr

    if cause.way == "either":
        return np.zeros(len(residual))
    away = residual if cause.way == "gain" else -residual
    least, most = cause.least.value, cause.most.value
    return np.asarray((ndtr((most - away) / u) - ndtr((least - away) / u)) / (most - least))


def _fed(anywhere: Floats, doubted: pd.DataFrame, records: Records, u: Floats) -> Floats:
    """A feed of any mass, or one like those of a round that left this colony out."""
    missed, count = clues.rounds(doubted, records), len(doubted)
    at, net = missed["at"].to_numpy(dtype=np.int64), numbers(missed["net"])
    spread = np.hypot(u[at - 1], judging("round_spread") * net)
    each = sum_by(np.ones(len(missed)), at, count)
    like = sum_by(bell(numbers(doubted["residual"])[at - 1] - net, spread), at, count) / np.maximum(each, 1.0)
    share = judging("round_share")
    return np.where(each > 0, judging("said_weight") * (share * like + (1 - share) * anywhere), anywhere)


def _thing(anywhere: Floats, sign: float, doubted: pd.DataFrame, records: Records, u: Floats) -> Floats:
    """Something left on or taken off: of the list of extras or of any mass; likelier where rows hint at it."""
    away, least = sign * numbers(doubted["residual"]), judging("listed_least")
    mass = numbers(records.lists.extras["mass"])
    mass = mass[mass >= least]
    share = judging("listed") if len(mass) else 0.0
    spread = np.hypot(u[:, None], judging("listed_spread") * mass)
    like = bell(away[:, None] - mass, spread).sum(axis=1) / max(len(mass), 1)
    density = share * like + (1 - share) * anywhere
    extras = numbers(records.weighed["extras"])
    fewer = sign * (extras[doubted["row_1"]] - extras[doubted["row_2"]])
    density = density + np.where(fewer >= least, judging("said_weight") * bell(away - fewer, u), 0.0)
    hints = ("super on", "super under") if sign > 0 else ("super off", "down to single")
    said = clues.moves_of(doubted, records, hints)
    return np.asarray(density * np.where(said, judging("said_weight"), 1.0))


def _flow_speaks(doubted: pd.DataFrame, records: Records, mixed: pd.DataFrame) -> Floats:
    """How much likelier a flow is for what the neighbours did and for what was written down."""
    alike, times = numbers(mixed["alike"]), judging("neighbours_alike")
    beside = np.select([np.isnan(alike), alike >= HALF], [1.0, times], 1 / times)
    on = words(records.weighings["flow_on"])
    seen = (on[doubted["row_1"]] == "yes") | (on[doubted["row_2"]] == "yes")
    return np.asarray(beside * np.where(seen, judging("said_weight"), 1.0))


def _hive_type(doubted: pd.DataFrame, records: Records, u: Floats) -> Floats:
    """A change to or from another hive type with nothing on Moves: those in use, or all listed where one is."""
    types, rows = records.lists.types, records.weighed["type_row"].to_numpy(dtype=np.int64)
    tare, spread = numbers(types["tare"]), numbers(types["tare_spread"])
    used = np.unique(rows[rows > 0])
    used = used if len(used) > 1 else np.flatnonzero(words(types["name"]) != "") + 1
    now = rows[doubted["row_2"]]
    moved = tare[used - 1] - pick(tare, now)[:, None]
    wide = np.hypot(u[:, None], spread[used - 1])
    other = (used != now[:, None]) & ~clues.moves_of(doubted, records, ("new hive type",))[:, None]
    residual = numbers(doubted["residual"])[:, None]
    fits = bell(residual - moved, wide) + bell(residual + moved, wide)
    return np.asarray(np.where(other, fits, 0.0).sum(axis=1) / np.maximum(2 * other.sum(axis=1), 1))
