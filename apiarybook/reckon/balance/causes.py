"""What a residual of the mass balance may mean: likely readings, ranked by how well each explains it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.handbook import handbook
from apiarybook.reckon.balance import clues
from apiarybook.reckon.balance.clues import bell, judging, unlike
from apiarybook.reckon.core.arrays import Floats, numbers, words
from apiarybook.reckon.core.lookup import pick, sum_by
from apiarybook.reckon.core.winter import year_day

if TYPE_CHECKING:
    from apiarybook.handbook import Cause
    from apiarybook.reckon.balance.mass_balance import Records

FED, LEFT_ON, FLOW = "fed", "left on", "flow"
ROBBED, LEAKED, SWARMED, TAKEN_OFF = "robbed", "leaked", "swarmed", "taken off"
NOT_GIVEN, BEFORE_FEED, HIVE_TYPE, OTHER_COLONY, SLIP = "not given", "before feed", "hive type", "other colony", "slip"
HALF = 0.5
"""Share of the neighbours that must have gained for a flow to be likelier (common practice, no source)."""
WORD_COLUMNS = ("first", "second")
FIGURES_OF_READINGS = ("first_share", "second_share", "meant", "which", "other")


def readings(found: pd.DataFrame, records: Records, unit: float) -> pd.DataFrame:
    """Rank what may lie behind each residual that is asked about or noted.

    Residuals that only take back the one before are told with that one and lose their standing here.

    Args:
        found: the frame of `balance.balance`; its column standing is mended.
        records: what it was reckoned from.
        unit: kilograms in the unit in which readings were typed.

    Returns:
        frame with the same index: first and second, causes of the handbook by name, blank where there is no standing;
        first_share and second_share of all that was weighed (0 to 1); meant, the reading behind a slip [kg], and
        which reading, 1 or 2; other, the row of the colony that may have been mixed up.

    Source: Bayes' rule; weights, sizes and seasons as the handbook gives them.
    """
    after = clues.following(found)
    found["standing"] = np.where(clues.echoes(found, after), "", found["standing"]).astype(object)
    asked = np.flatnonzero(found["standing"] != "")
    told = pd.DataFrame(index=found.index)
    for key in WORD_COLUMNS:
        told[key] = np.full(len(found), "", dtype=object)
    for key in FIGURES_OF_READINGS:
        told[key] = np.nan
    if not len(asked):
        return told
    doubted = found.iloc[asked]
    slips, mixed = clues.by_slip(doubted, records, unit), clues.beside(doubted, found, records)
    scores = _scores(doubted, after.iloc[asked], records, _densities(doubted, records, slips, mixed))
    shares = scores / np.maximum(scores.sum(axis=1, keepdims=True), np.finfo(np.float64).tiny)
    order, at = np.argsort(-shares, axis=1, kind="stable"), np.arange(len(doubted))
    names = np.array(list(handbook().causes), dtype=object)
    for place, key in enumerate(WORD_COLUMNS):
        told.loc[doubted.index, key] = names[order[:, place]]
        told.loc[doubted.index, f"{key}_share"] = shares[at, order[:, place]]
    told.loc[doubted.index, "meant"] = slips["meant"]
    told.loc[doubted.index, "which"] = slips["which"]
    told.loc[doubted.index, "other"] = mixed["other"]
    return told


def _scores(doubted: pd.DataFrame, after: pd.DataFrame, records: Records, densities: dict[str, Floats]) -> Floats:
    """Weight times density of each cause, its season and the next weighing included; shape (intervals, causes)."""
    residual, follows = numbers(doubted["residual"]), ~np.isnan(numbers(after["next_residual"]))
    stays = unlike(numbers(after["next_residual"]), numbers(after["next_u"]))
    goes = unlike(numbers(after["both_residual"]), numbers(after["both_u"]))
    later = {"stays": stays, "goes": goes, "either": (stays + goes) / 2}
    columns = []
    for cause in handbook().causes.values():
        season = np.where(_in_season(cause, doubted, records), 1.0, judging("season_share"))
        as_seen = (stays + clues.ripening(after, residual)) / 2 if cause.name == FED else later[cause.after]
        shown = np.where(follows, as_seen, 1.0)
        columns.append(cause.weight.value * season * shown * densities[cause.name])
    return np.nan_to_num(np.column_stack(columns))


def _in_season(cause: Cause, doubted: pd.DataFrame, records: Records) -> Floats:
    """Whether any day of an interval lies in a cause's season."""
    winter = records.lists.winter
    day = year_day(np.arange(winter.first, winter.last + 1))
    starts, ends = (when.month * 100 + when.day for when in (cause.starts, cause.ends))
    inside = (day >= starts) & (day <= ends) if starts <= ends else (day >= starts) | (day <= ends)
    until = np.concatenate(([0], np.cumsum(inside)))
    first, last = ((numbers(doubted[key]) - winter.first).astype(np.int64) for key in ("day_1", "day_2"))
    return np.asarray(until[last + 1] > until[first])


def _densities(doubted: pd.DataFrame, records: Records, slips: pd.DataFrame, mixed: pd.DataFrame) -> dict[str, Floats]:
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
    found[OTHER_COLONY], found[SLIP] = numbers(mixed["density"]), numbers(slips["density"])
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
