"""What the rest of the book says about a residual: the next weighing, the neighbours, the feeds and the kit."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from apiarybook.handbook import handbook
from apiarybook.reckon.balance.mass_balance import holding, water_lost
from apiarybook.reckon.core.arrays import Floats, figure, numbers, words
from apiarybook.reckon.core.lookup import match, pick, sum_by
from apiarybook.reckon.core.winter import serials
from apiarybook.reckon.feeding.feedings import given_to
from apiarybook.reckon.hive.weighings import BEFORE_FEED, UNTIMED, occasions

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from apiarybook.reckon.balance.mass_balance import Records

ROUND = 2
"""Other colonies of the apiary that make a feeding round, or that can tell of a flow (common practice, no source)."""
GOES_ALONG = 1 / 3
"""Share of a colony's gain from which a neighbour gained with it (common practice, no source)."""


def judging(name: str) -> float:
    """One of the handbook's figures for judging causes."""
    return handbook().judging[name].value


def bell(away: Floats, u: Floats) -> Floats:
    """Normal density of a distance, 0 for a blank one.

    >>> bell(np.array([0.0, np.nan]), np.array([1.0, 1.0])).round(3).tolist()
    [0.399, 0.0]
    """
    return np.asarray(np.fmax(np.exp(-0.5 * (away / u) ** 2) / (u * np.sqrt(2 * np.pi)), 0.0))


def unlike(away: Floats, u: Floats) -> Floats:
    """Density of a residual that should be nought but for chance and, seldom, something of its own."""
    other = judging("unlike")
    return np.asarray((1 - other) * bell(away, u) + other / judging("span"))


def following(found: pd.DataFrame) -> pd.DataFrame:
    """What the next interval of the same colony says: its own residual, and that over both.

    Args:
        found: the frame of `balance`, sorted by colony and day.

    Returns:
        frame with the same index: next_residual, next_u, both_residual, both_u [kg], next_day, the number of the day
        on which it ends; NaN where there is none.
    """
    residual, u, colony = (numbers(found[key]) for key in ("residual", "residual_u", "colony_row"))
    judged = numbers(found["judged"])
    count = len(found)
    after = np.minimum(np.arange(count) + 1, max(count - 1, 0))
    follows = (np.arange(count) < count - 1) & (colony[after] == colony) & (judged[after] == 1)
    both = u**2 + u[after] ** 2 - 2 * numbers(found["scatter"])
    both_u = np.sqrt(np.maximum(both, np.maximum(u, u[after]) ** 2 / 4))
    told = {
        "next_residual": residual[after],
        "next_u": u[after],
        "next_day": numbers(found["day_2"])[after],
        "both_residual": residual + residual[after],
        "both_u": both_u,
    }
    return pd.DataFrame({key: np.where(follows, values, np.nan) for key, values in told.items()}, index=found.index)


def preceding(found: pd.DataFrame) -> pd.DataFrame:
    """What the interval before of the same colony says: before_residual and before_u [kg], NaN where there is none.

    Args:
        found: the frame of `balance`, sorted by colony and day.
    """
    colony, at = numbers(found["colony_row"]), np.maximum(np.arange(len(found)) - 1, 0)
    follows = (np.arange(len(found)) > 0) & (colony[at] == colony) & (numbers(found["judged"])[at] == 1)
    told = {"before_residual": numbers(found["residual"])[at], "before_u": numbers(found["residual_u"])[at]}
    return pd.DataFrame({key: np.where(follows, values, np.nan) for key, values in told.items()}, index=found.index)


def ripening(after: pd.DataFrame, gained: Floats) -> Floats:
    """Density of the next interval's residual if the gain before it was feed that still had water to lose.

    Args:
        after: the frame of `following`.
        gained: residuals [kg], shape (intervals,).

    Returns:
        shape (intervals,) [1/kg].
    """
    from scipy.special import ndtr

    later, u = numbers(after["next_residual"]), numbers(after["next_u"])
    most = np.maximum(judging("ripens") * gained, judging("least_spread"))
    return np.asarray(np.nan_to_num((ndtr(-later / u) - ndtr((-most - later) / u)) / most))


def echoes(found: pd.DataFrame, after: pd.DataFrame) -> NDArray[np.bool_]:
    """Which residuals only take back the one before: the weighing between the two is to be looked at, not the later.

    Args:
        found: the frame of `balance`.
        after: the frame of `following`.

    Returns:
        shape (intervals,); also those that only drive off the water of a feed that the one before may have hidden.
    """
    residual, later = numbers(found["residual"]), numbers(after["next_residual"])
    times = figure("balance_note")
    cancels = np.abs(numbers(after["both_residual"])) < times * numbers(after["both_u"])
    wet = (residual > 0) & (-later < judging("ripens") * residual + times * numbers(after["next_u"]))
    wet &= numbers(after["next_day"]) - numbers(found["day_1"]) <= figure("old_evidence")
    asked = (found["standing"] != "").to_numpy()
    echo = np.roll(asked & (residual * later < 0) & (cancels | wet), 1) & asked
    return np.asarray(echo & ~np.roll(echo, 1))


def out_and_back(found: pd.DataFrame, after: pd.DataFrame) -> NDArray[np.bool_]:
    """Which intervals end with a weighing that is off by what they and the next say together, though neither alone.

    Args:
        found: the frame of `balance`.
        after: the frame of `following`.

    Returns:
        shape (intervals,).
    """
    residual, later = numbers(found["residual"]), numbers(after["next_residual"])
    least, surprising = figure("balance_least"), found["surprising"].to_numpy(dtype=np.bool_)
    cancels = np.abs(numbers(after["both_residual"])) < figure("balance_note") * numbers(after["both_u"])
    large = (residual * later < 0) & (np.minimum(np.abs(residual), np.abs(later)) > least)
    alone = (found["standing"] == "ask").to_numpy()
    both = surprising & np.roll(surprising, -1) & ~alone & ~np.roll(alone, -1)
    off = np.abs(numbers(found["off"])) > figure("interval_ask") * numbers(found["off_u"])
    out = both & cancels & large & off
    return np.asarray(out & ~np.roll(out, 1))


def beside(doubted: pd.DataFrame, found: pd.DataFrame, records: Records) -> pd.DataFrame:
    """What the other colonies of the apiary weighed on the later day say.

    Args:
        doubted: the intervals in question.
        found: all intervals.
        records: what they were reckoned from.

    Returns:
        frame with the same index: density of a mix-up with one of them [1/kg], other, the row of the likeliest,
        alike, the share of them that gained or lost with this colony, NaN where fewer than two can tell.
    """
    weighed, place_row = records.weighed, records.stood["place_row"]
    seen = numbers(weighed["gross"]) - numbers(weighed["extras"]) - numbers(weighed["feeder_left"])
    colony = weighed["colony_row"].to_numpy(dtype=np.int64)
    rows = pd.DataFrame(
        {
            "row_2": np.arange(len(weighed)),
            "colony": colony,
            "place": pick(place_row, colony),
            "day": np.floor(serials(records.weighings["date"])),
            "seen": seen,
        }
    )[(numbers(weighed["rank_scale"]) > 0) & ~np.isnan(seen)]
    rows = rows.merge(found[["row_2", "residual", "residual_u"]], on="row_2", how="left")
    ours = rows.merge(doubted[["row_2"]].assign(at=np.arange(1, len(doubted) + 1)), on="row_2")
    both = ours.merge(rows, on=["place", "day"], suffixes=("", "_other"))
    both = both[both["colony"] != both["colony_other"]]
    at, count = both["at"].to_numpy(dtype=np.int64), len(doubted)
    moved = numbers(both["seen_other"]) - numbers(both["seen"])
    residual, u, theirs, their_u = (
        numbers(both[key]) for key in ("residual", "residual_u", "residual_other", "residual_u_other")
    )
    gain = unlike(theirs - moved, their_u) / unlike(theirs, their_u)
    fits = bell(residual + moved, u) * np.where(np.isnan(theirs), 1.0, gain)
    others = np.maximum(sum_by(np.ones(len(both)), at, count), 1.0)
    told = np.where(np.isnan(theirs), 0.0, 1.0)
    alike = sum_by((theirs * np.sign(residual) > GOES_ALONG * np.abs(residual)).astype(np.float64), at, count)
    known = sum_by(told, at, count)
    best = pd.DataFrame({"at": at, "fits": fits, "other": both["colony_other"]}).sort_values("fits", kind="stable")
    likeliest = best.drop_duplicates("at", keep="last").set_index("at")["other"].reindex(np.arange(1, count + 1))
    return pd.DataFrame(
        {
            "density": sum_by(fits, at, count) / others,
            "other": likeliest.fillna(0).to_numpy(dtype=np.int64),
            "alike": np.where(known >= ROUND, alike / np.maximum(known, 1.0), np.nan),
        },
        index=doubted.index,
    )


def _feeds_of(records: Records) -> pd.DataFrame:
    fed, fed_on = records.fed, np.floor(serials(records.feedings["date"]))
    colony = given_to(fed, fed_on)
    return pd.DataFrame(
        {
            "colony_row": colony,
            "place": pick(records.stood["place_row"], colony),
            "fed_on": fed_on,
            "mass": fed["mass"],
            "water": fed["water_off"],
            "feed": np.arange(len(fed)),
        }
    )[(fed["usable"] == 1).to_numpy() & (fed["mass"] != 0).to_numpy()]


def _net(both: pd.DataFrame) -> Floats:
    """What a feed still weighs on the later day."""
    mass, water, fed_on, day = (numbers(both[key]) for key in ("mass", "water", "fed_on", "day_2"))
    return np.asarray(mass - water_lost(water, day - fed_on, fed_on))


def rounds(doubted: pd.DataFrame, records: Records) -> pd.DataFrame:
    """Feeding rounds of the apiary in each interval that left this colony out, by the book.

    Args:
        doubted: the intervals in question.
        records: what they were reckoned from.

    Returns:
        a row a round: at, position of the interval counted from 1, and net, what a feed like the others' would still
        weigh on the later day [kg].
    """
    asked = doubted[["colony_row", "day_1", "day_2"]].assign(at=np.arange(1, len(doubted) + 1))
    asked["place"] = pick(records.stood["place_row"], doubted["colony_row"].to_numpy())
    both = asked.merge(_feeds_of(records), on="place", suffixes=("", "_fed"))
    both = both[(both["fed_on"] >= both["day_1"]) & (both["fed_on"] <= both["day_2"]) & (both["mass"] > 0)]
    both = both.assign(net=_net(both), own=both["colony_row"] == both["colony_row_fed"])
    days = both.groupby(["at", "fed_on"]).agg(
        own=("own", "any"), others=("colony_row_fed", "nunique"), net=("net", "median")
    )
    missed = days[~days["own"] & (days["others"] >= ROUND)].reset_index()
    return missed[["at", "net"]]


def own_feeds(doubted: pd.DataFrame, records: Records) -> pd.DataFrame:
    """Feeds of each interval by the book, and those of a day on which nobody said which came first.

    Args:
        doubted: the intervals in question.
        records: what they were reckoned from.

    Returns:
        a row a feed: at, position of the interval counted from 1; net, what the later day's weight would lack without
        it [kg]; untimed, what it would lack had the feed come after the weighing of its day [kg], NaN where that is
        plain.
    """
    order = occasions(records.weighings)
    asked = doubted[["colony_row", "day_1", "day_2"]].assign(at=np.arange(1, len(doubted) + 1))
    asked["first"], asked["second"] = order[doubted["row_1"]], order[doubted["row_2"]]
    both = asked.merge(_feeds_of(records), on="colony_row")
    at_first, at_second = both["fed_on"] == both["day_1"], both["fed_on"] == both["day_2"]
    in_first = (both["fed_on"] < both["day_1"]) | (at_first & (both["first"] != BEFORE_FEED))
    in_second = (both["fed_on"] < both["day_2"]) | (at_second & (both["second"] != BEFORE_FEED))
    net = _net(both)
    late = np.where(at_second & (both["second"] == UNTIMED), numbers(both["mass"]), np.nan)
    early = np.where(at_first & (both["first"] == UNTIMED), -net, np.nan)
    told = pd.DataFrame({"at": both["at"], "net": np.where(in_second & ~in_first, net, np.nan)})
    told["untimed"] = np.where(np.isnan(late), early, late)
    return told


TIMES = ((10.0, 0.2), (0.1, 0.2), (0.5, 0.15), (2.0, 0.05), (100.0, 0.05), (0.01, 0.05))
"""By how much an amount may be wrong: what it is then multiplied by, and how likely (common practice, no source)."""
IN_ANOTHER_UNIT = 0.3
ALIKE = 0.06
"""Relative difference up to which two feeds are those of one round (common practice, no source)."""
MEASURED_IN = ("kg", "g", "l", "lb", "oz", "US quart", "US gal", "imp pint", "imp gal")


def amounts(doubted: pd.DataFrame, records: Records) -> pd.DataFrame:
    """Every amount that a feed of each interval may have been meant to have.

    Args:
        doubted: the intervals in question.
        records: what they were reckoned from.

    Returns:
        a row a feed and amount: at, position of the interval counted from 1; feed, position of its row; net, what it
        weighs on the later day as written [kg]; times, by how much it may have been more; amount, as it should stand
        [unit of the row], or unit, where that is what is wrong; weight, how likely; is_round, whether it is what the
        others of its round were given.
    """
    asked = doubted[["colony_row", "day_1", "day_2"]].assign(at=np.arange(1, len(doubted) + 1))
    both = asked.merge(_feeds_of(records), on="colony_row", suffixes=("", "_fed"))
    both = both[(both["fed_on"] > both["day_1"]) & (both["fed_on"] < both["day_2"]) & (both["mass"] > 0)]
    both = both.assign(net=_net(both), usual=_of_round(both, records))
    rows, said = records.feedings, []
    columns = numbers(rows["amount"]), words(rows["unit"]), numbers(records.fed["density"])
    feeds = list(zip(*(column.tolist() for column in columns), strict=True))
    for one in both.to_dict("records"):
        typed, name, density = feeds[int(one["feed"])]
        each = [(times, typed * times, "", share) for times, share in TIMES]
        masses = _masses(density)
        if name in masses:
            others = [(mass / masses[name], unit) for unit, mass in masses.items() if unit != name]
            each += [(times, np.nan, unit, IN_ANOTHER_UNIT / len(others)) for times, unit in others]
        for times, amount, unit, share in each:
            told: dict[str, Any] = {str(key): one[key] for key in ("at", "feed", "net")}
            like = _speaks(one["mass"] * times, one["usual"])
            told |= {"times": times, "amount": amount, "unit": unit, "weight": share * like, "is_round": like > 1}
            said.append(told)
    return pd.DataFrame(said, columns=["at", "feed", "net", "times", "amount", "unit", "weight", "is_round"])


def _masses(density: float) -> dict[str, float]:
    """Kilograms of feed in a unit of each kind."""
    from apiarybook.reckon.feeding.feeds import UNITS

    volume = density if density > 0 else np.nan
    found = {name: UNITS[name].factor * (1.0 if UNITS[name].stands_for == "kg" else volume) for name in MEASURED_IN}
    return {name: mass for name, mass in found.items() if mass == mass}  # noqa: PLR0124 no density, no volume


def _of_round(both: pd.DataFrame, records: Records) -> Floats:
    """The middle mass that others of an apiary were given on the day of each feed [kg]; NaN where under two were."""
    feeds = _feeds_of(records)
    beside = both[["place", "fed_on", "colony_row"]].assign(row=np.arange(len(both)))
    beside = beside.merge(feeds, on=["place", "fed_on"], suffixes=("", "_fed"))
    beside = beside[beside["colony_row"] != beside["colony_row_fed"]]
    middle = beside.groupby("row")["mass"].agg(["median", "size"]).reindex(np.arange(len(both)))
    return np.where(numbers(middle["size"]) >= ROUND, numbers(middle["median"]), np.nan)


def _speaks(mass: float, usual: float) -> float:
    """How much likelier an amount is for what the others of its round were given."""
    if np.isnan(usual):
        return 1.0
    times = judging("neighbours_alike")
    return times if abs(mass / usual - 1) < ALIKE else 1 / times


def moves_of(doubted: pd.DataFrame, records: Records, what: tuple[str, ...]) -> NDArray[np.bool_]:
    """Which intervals hold one of these moves.

    Args:
        doubted: the intervals in question.
        records: what they were reckoned from.
        what: words of the sheet Moves.

    Returns:
        shape (intervals,).
    """
    moves = records.moves
    said = np.isin(words(moves["what"]), what) & (words(moves["held"]) == "")
    row = match(moves["colony"], records.lists.colonies["colony"])
    return holding(doubted, pd.DataFrame({"colony_row": row, "day": np.floor(serials(moves["date"]))})[said])
