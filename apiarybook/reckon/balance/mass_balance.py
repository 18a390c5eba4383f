"""Mass balance of a colony between two scale weighings: what should have changed, and what is left over.

What a colony ate in its other intervals tells what it may have eaten in this one (`Evidence`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from apiarybook.reckon.core import consumption
from apiarybook.reckon.core.arrays import Floats, figure, numbers, rounded, words
from apiarybook.reckon.core.consumption import DAYS_OF_A_MONTH, whole_spread
from apiarybook.reckon.core.lookup import match, pick, pick_words, sum_by
from apiarybook.reckon.core.winter import day_of, serials, turning
from apiarybook.reckon.feeding import feeds
from apiarybook.reckon.feeding.feedings import given_to
from apiarybook.reckon.hive import kit
from apiarybook.reckon.hive.weighings import BEFORE_FEED, occasions

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from apiarybook.reckon.core.lookup import Rows
    from apiarybook.reckon.hive.weighings import Lists


GONE_BY_MOVE = ("united into", "given away")
GONE_BY_OUTCOME = ("died", "united", "given away")


@dataclass(frozen=True, slots=True)
class Records:
    """All that a balance draws on: what was reckoned of weighings, feeds and colonies, and the sheets themselves."""

    weighed: pd.DataFrame
    weighings: pd.DataFrame
    fed: pd.DataFrame
    feedings: pd.DataFrame
    stood: pd.DataFrame
    moves: pd.DataFrame
    outcomes: pd.DataFrame
    lists: Lists


def intervals(weighed: pd.DataFrame, rows: pd.DataFrame) -> pd.DataFrame:
    """Pair each scale weighing with the next of the same colony, in the order of days, occasions and rows.

    Args:
        weighed: what `weighings` found; practice, hefts and rows that do not count carry no rank_scale.
        rows: the sheet Weighings, same index.

    Returns:
        a row a pair: colony_row, row_1 and row_2 (positions counted from 0), day_1 and day_2 (numbers of days).

    >>> weighed = pd.DataFrame({"colony_row": [1, 1], "rank_scale": [9.0, 5.0], "gross": [31.0, 30.0]})
    >>> rows = pd.DataFrame({"date": ["2026-09-20", "2026-09-01"]})
    >>> intervals(weighed, rows)[["row_1", "row_2", "day_2"]].to_numpy().tolist()
    [[1.0, 0.0, 46285.0]]
    """
    found = pd.DataFrame(
        {
            "colony_row": weighed["colony_row"].to_numpy(dtype=np.int64),
            "rank": numbers(weighed["rank_scale"]),
            "day": np.floor(serials(rows["date"])),
            "row": np.arange(len(weighed)),
        }
    )
    usable = (numbers(weighed["rank_scale"]) > 0) & ~np.isnan(numbers(weighed["gross"]))
    found = found[usable].sort_values(["colony_row", "rank"], kind="stable")
    colony, row, day = (found[key].to_numpy() for key in ("colony_row", "row", "day"))
    same = colony[1:] == colony[:-1]
    first, second = np.flatnonzero(same), np.flatnonzero(same) + 1
    return pd.DataFrame(
        {
            "colony_row": colony[first],
            "row_1": row[first],
            "row_2": row[second],
            "day_1": day[first],
            "day_2": day[second],
        }
    )


A_SEASON = 90.0
"""Days over which wood takes up or gives off what ``wood_moisture`` says (common practice, no source)."""


def balance(records: Records) -> pd.DataFrame:
    """Set what each interval between two scale weighings changed against what it should have.

    Args:
        records: weighings, feeds and colonies as reckoned, with their sheets.

    Returns:
        a row an interval: colony_row, row_1, row_2, day_1, day_2; changed, expected, residual and its standard
        uncertainty residual_u [kg]; the parts of what was expected: fed (taken from the feeder), driven_off, eaten,
        kit, living and wood (what it took up of the season's damp) [kg]; scatter, the variance that the later
        weighing shares with no other [kg2]; feed_u, the standard uncertainty that all hives fed alike have in common
        [kg]; judged, 0 where a colony was united in or was gone, so that nothing can be expected; surprising, false
        also for a gain while colonies gather; eaten_u, the standard uncertainty of what was eaten [kg]; allowed, up
        to where chance may take the residual [kg]; off and off_u, how far the later weighing is off by this interval
        and the next together [kg]; standing: ask, note or blank.

    Source: conservation of mass; JCGM 100:2008, 5.2 (what one scale and stand get wrong both times counts only with
    the difference).
    """
    weighed, lists = records.weighed, records.lists
    found = intervals(weighed, records.weighings)
    one, two = found["row_1"].to_numpy(), found["row_2"].to_numpy()

    def change(key: str) -> Floats:
        values = numbers(weighed[key])
        return np.asarray(values[two] - values[one])

    held = in_hive(records)
    feed = held.iloc[two].reset_index(drop=True) - held.iloc[one].reset_index(drop=True)
    found["changed"] = change("gross")
    found["fed"] = feed["given"] - change("feeder_left")
    found["driven_off"] = feed["driven_off"]
    profile, hive = (weighed[key].to_numpy(dtype=np.int64)[two] for key in ("profile_row", "type_row"))
    eats = consumption.size(pick(lists.types["bees"], hive)) * _strength(records, one, two)
    since = lists.winter.eaten_between(numbers(found["day_1"]), numbers(found["day_2"]), profile)
    found["eaten"] = eats * since
    found["kit"] = change("tare") + change("extras") + change("feeder_left")
    bees, brood = _living(records, found, hive, profile)
    found["living"] = bees + brood
    material = pick_words(lists.types["material"], hive)
    found["wood"] = kit.wood_water(found["day_2"], material) - kit.wood_water(found["day_1"], material)
    gained = found["kit"] + found["living"] + found["wood"]
    found["expected"] = found["fed"] - found["driven_off"] - found["eaten"] + gained
    found["residual"] = found["changed"] - found["expected"]
    ripening = figure("water_spread") * numbers(feed["by_time"])
    stored = figure("feed_spread") * (numbers(found["fed"]) - numbers(found["driven_off"]))
    found["feed_u"] = np.sqrt(ripening**2 + figure("feed_shared") * stored**2)
    parts: list[Floats | float] = [
        ripening,
        consumption.whole_spread() * numbers(found["eaten"]),
        stored * _alike(feed),
        figure("wood_moisture") * np.sqrt(np.minimum(1.0, numbers(found["day_2"] - found["day_1"]) / A_SEASON)),
    ]
    parts += [figure("bees_spread") * bees, figure("brood_spread") * brood]
    shared, alone = _weighing_variance(records, one, two)
    found["scatter"] = alone[two]
    spread = shared + alone[one] + alone[two] + _kit_variance(records, one, two)
    found["residual_u"] = np.sqrt(spread + sum(part**2 for part in parts))
    found["judged"] = np.where(_disturbed(records, found), 0, 1)
    gathers = _gathers(found, records)
    seen = evidence(found, (found["judged"] == 1).to_numpy() & ~gathers)
    found["off"], found["off_u"] = off_the_line(seen, numbers(found["scatter"]))
    found = _as_it_eats(found, seen)
    found["surprising"] = (found["judged"] == 1) & ~(gathers & (numbers(found["residual"]) > 0))
    found["allowed"] = _allowed(found, figure("balance_note"))
    found["standing"] = _standing(found)
    return found


def weighed_elsewhere(records: Records, seen: pd.DataFrame) -> pd.DataFrame:
    """Set what hives weighed by other sheets than Weighings against their last weighing before.

    Args:
        records: what the balance draws on.
        seen: a row a hive: colony_row, day (number), gross and its uncertainty gross_u [kg].

    Returns:
        frame of `balance` with one row for each that has a weighing before, and at, its position in `seen`.
    """
    rows = pd.DataFrame(
        {
            "colony_row": records.weighed["colony_row"].to_numpy(),
            "on": np.floor(serials(records.weighings["date"])),
            "rank": numbers(records.weighed["rank_scale"]),
            "place": np.arange(len(records.weighed)),
        }
    )
    rows = rows[(rows["rank"] > 0) & records.weighed["gross"].notna().to_numpy()]
    both = seen.assign(at=np.arange(len(seen))).merge(rows, on="colony_row")
    last = both[both["on"] < both["day"]].sort_values(["at", "rank"]).drop_duplicates("at", keep="last")
    count, place = len(last), last["place"].to_numpy(dtype=np.int64)
    before, typed = records.weighed.iloc[place], records.weighings.iloc[place]
    told: dict[str, Any] = {key: last[key].to_numpy() for key in ("gross", "gross_u")}
    told |= {"factor": 1.0, "factor_u": 0.0}
    told |= dict.fromkeys(("extras", "feeder_left", "wet_u", "line_relative", "line_away", "line_least"), 0.0)
    after = before.assign(**told, scale_row=0, way_row=-1, rank_scale=2.0 * np.arange(count) + 2)
    day = pd.to_datetime([day_of(one) for one in last["day"]])
    nobody = typed.assign(date=day, frames_bees=np.nan, frames_brood=np.nan, flow_on=None, occasion=None)
    paired = replace(
        records,
        weighed=pd.concat([before.assign(rank_scale=2.0 * np.arange(count) + 1), after], ignore_index=True),
        weighings=pd.concat([typed, nobody], ignore_index=True),
    )
    found = balance(paired)
    pairs = found[found["row_2"] == found["row_1"] + count]
    return pairs.assign(at=last["at"].to_numpy()[pairs["row_1"].to_numpy(dtype=np.int64)])


def _as_it_eats(found: pd.DataFrame, seen: Evidence) -> pd.DataFrame:
    """The intervals with what each colony is held to eat by its other intervals in place of what any would."""
    rate, spread = by_others(seen)
    eaten = numbers(found["eaten"])
    more, u = (rate - 1) * eaten, numbers(found["residual_u"])
    narrowed = np.maximum(u**2 + (spread**2 - consumption.whole_spread() ** 2) * eaten**2, 0.0)
    return found.assign(
        eaten=eaten + more,
        expected=found["expected"] - more,
        residual=found["residual"] + more,
        residual_u=np.sqrt(narrowed),
        eaten_u=spread * eaten,
    )


def _gathers(found: pd.DataFrame, records: Records) -> NDArray[np.bool_]:
    """Intervals in which colonies gather, so that a gain is no surprise: before the season opens, or after the flow."""
    flow = pick(records.stood["flow"], found["colony_row"].to_numpy())
    opens = turning("season_opens", records.lists.winter.year)
    return np.asarray((numbers(found["day_1"]) < opens) | ((flow > 0) & (numbers(found["day_2"]) > flow)))


def _standing(found: pd.DataFrame) -> NDArray[np.object_]:
    """Say which residuals are asked about, which are noted, and which are no surprise."""
    away = rounded(np.abs(numbers(found["residual"])))
    large = found["surprising"].to_numpy(dtype=np.bool_) & (away > figure("balance_least"))
    asked, noted = (
        large & (away > rounded(most)) for most in (_allowed(found, figure("interval_ask")), found["allowed"])
    )
    return np.select([asked, noted], ["ask", "note"], "").astype(object)


def _allowed(found: pd.DataFrame, times: float) -> Floats:
    """How far a residual may lie from nought at so many standard uncertainties [kg].

    What colonies eat is lognormal: it reaches further up than down, so that more may be lost than gained by chance, and
    never more gained than should have been eaten.
    """
    u, eaten, eaten_u = (numbers(found[key]) for key in ("residual_u", "eaten", "eaten_u"))
    wide = np.sqrt(np.log1p((eaten_u / np.maximum(np.maximum(eaten, eaten_u), LEAST_EATEN)) ** 2))
    sign = np.where(numbers(found["residual"]) < 0, 1.0, -1.0)
    share = np.expm1(sign * times * wide - wide**2 / 2) / times
    return np.asarray(times * np.sqrt(np.maximum(u**2 + (share * eaten) ** 2 - eaten_u**2, 0.0)))


def water_lost(water: Floats, age: Floats, fed_on: Floats) -> Floats:
    """Water that a feed has lost by an age.

    Args:
        water: what it loses in all [kg].
        age: days since it was given.
        fed_on: number of the day on which it was.

    >>> float(water_lost(np.array([2.0]), np.array([0.0]), np.array([46000.0]))[0])
    0.0
    """
    return np.asarray(water * (1 - feeds.unripe_share(age, feeds.half_time_of(fed_on))))


def _alike(feed: pd.DataFrame) -> Floats:
    """How much of the error of one feed is left in the sum of several, of which each has its own [1]."""
    given, squares = numbers(feed["given"]), numbers(feed["squares"])
    own = np.where((given > 0) & (squares > 0), squares / np.where(given > 0, given, 1.0) ** 2, 1.0)
    shared = figure("feed_shared")
    return np.asarray(np.sqrt(shared + (1 - shared) * np.minimum(1.0, own)))


def in_hive(records: Records) -> pd.DataFrame:
    """Feed given until each weighing, less what was taken back, and the water it had lost by then.

    Args:
        records: weighings and feeds as reckoned, with their sheets.

    Returns:
        a row a weighing: given and driven_off [kg]; by_time, by how much driven_off changes with the logarithm of the
        time that ripening takes [kg]; squares, of the feeds that make up given [kg2]. What still stood in the feeder
        had lost nothing; it is taken to be of the feeds of the last weeks where there were any.
    """
    fed, count = records.fed, len(records.weighed)
    fed_on = np.floor(serials(records.feedings["date"]))
    given = pd.DataFrame(
        {
            "colony": given_to(fed, fed_on),
            "fed_on": fed_on,
            "mass": fed["mass"],
            "poured": fed["poured"],
            "water": fed["water_off"],
        }
    )[fed["usable"] == 1]
    asked = pd.DataFrame(
        {
            "colony": records.weighed["colony_row"],
            "day": np.floor(serials(records.weighings["date"])),
            "occasion": occasions(records.weighings),
            "place": np.arange(1, count + 1),
        }
    )[numbers(records.weighed["rank_scale"]) > 0]
    both = asked.merge(given, on="colony")
    since = both["day"] - both["fed_on"]
    both = both[(since > 0) | ((since == 0) & (both["occasion"] != BEFORE_FEED))]
    age = numbers(both["day"] - both["fed_on"])
    place, mass = both["place"].to_numpy(dtype=np.int64), numbers(both["mass"])
    poured = both["poured"].to_numpy(dtype=np.bool_)
    water = numbers(both["water"])
    lost = water_lost(water, age, numbers(both["fed_on"]))
    turning = figure("ripening_power") * lost * (1 - lost / np.where(water > 0, water, 1.0))
    lately, ever = (
        [sum_by(np.where(which, values, 0.0), place, count) for values in (mass, lost)]
        for which in (poured & (age <= figure("old_evidence")), poured)
    )
    left = numbers(records.weighed["feeder_left"])
    stood, fresh = (np.where(lately[0] > 0, one, other) for one, other in zip(lately, ever, strict=True))
    untaken = np.where(left > 0, np.minimum(1.0, left / np.where(stood > 0, stood, 1.0)), 0.0)
    return pd.DataFrame(
        {
            "given": sum_by(mass, place, count),
            "driven_off": sum_by(lost, place, count) - untaken * fresh,
            "by_time": sum_by(turning, place, count),
            "squares": sum_by(mass**2, place, count),
        }
    )


def _strength(records: Records, one: Rows, two: Rows) -> Floats:
    """Strength over each interval by the frames of bees counted at its ends; 1 where nobody looked."""
    strength = numbers(records.weighed["strength"])
    looked = ~np.isnan(numbers(records.weighings["frames_bees"]))
    total = np.where(looked[one], strength[one], 0.0) + np.where(looked[two], strength[two], 0.0)
    ends = looked[one].astype(np.int64) + looked[two]
    return np.where(ends > 0, total / np.maximum(ends, 1), 1.0)


def _living(records: Records, found: pd.DataFrame, hive: Rows, profile: Rows) -> tuple[Floats, Floats]:
    """Change of bees and brood: as counted where both ends were, else by the month tables of the later hive type."""
    winter, types = records.lists.winter, records.lists.types
    one, two = found["row_1"].to_numpy(), found["row_2"].to_numpy()
    first, second = numbers(found["day_1"]), numbers(found["day_2"])
    october = pick(types["bees"], hive)

    def changed(counted: str, mass: str, usual: Floats) -> Floats:
        looked, seen = ~np.isnan(numbers(records.weighings[counted])), numbers(records.weighed[mass])
        return np.where(looked[one] & looked[two], seen[two] - seen[one], usual)

    bees = october * (winter.on(winter.bees, second, profile) - winter.on(winter.bees, first, profile))
    later = kit.brood_default(winter.on(winter.brood, second, profile), october)
    earlier = kit.brood_default(winter.on(winter.brood, first, profile), october)
    return changed("frames_bees", "bees", bees), changed("frames_brood", "brood", later - earlier)


def _weighing_variance(records: Records, one: Rows, two: Rows) -> tuple[Floats, Floats]:
    """Variance of a difference of two gross weights: of each pair what it shares, of each weighing what is its own.

    The slope of one and the same scale and the factor of one stand count with the difference alone; of weighings that
    share nothing both count in full, which is put into the pair's part. Of one side a part is new each time, for the
    stores of a hive move.
    """
    weighed = records.weighed
    gross, factor = numbers(weighed["gross"]), numbers(weighed["factor"])
    lifted = numbers(weighed["lifted_1"]) + numbers(weighed["lifted_2"])
    middle = numbers(weighed["line_middle"]) * np.where(numbers(weighed["lifted_2"]) > 0, 2.0, 1.0)
    relative, away = factor * numbers(weighed["line_relative"]), factor * numbers(weighed["line_away"])
    by_line = (relative * lifted) ** 2 + (away * (lifted - middle)) ** 2
    by_stand = (numbers(weighed["factor_u"]) * gross) ** 2
    least = (factor * numbers(weighed["line_least"])) ** 2
    alone = np.maximum(numbers(weighed["gross_u"]) ** 2 - by_line - by_stand, least)
    scale_row, way = weighed["scale_row"].to_numpy(), weighed["way_row"].to_numpy()
    one_scale, one_way = (scale_row[one] == scale_row[two]) & (scale_row[two] > 0), way[one] == way[two]
    slope, stand = np.hypot(relative, away)[two], numbers(weighed["factor_u"])[two]
    moved = gross[two] - gross[one]
    line = np.where(one_scale, (slope * (lifted[two] - lifted[one])) ** 2, by_line[one] + by_line[two])
    lasts = np.where(words(records.weighings["how"])[two] == "one side", figure("one_side_lasts"), 1.0)
    both = by_stand[one] + by_stand[two]
    stands = np.where(one_way, lasts * (stand * moved) ** 2 + (1 - lasts) * both, both)
    return line + stands, alone


def _kit_variance(records: Records, one: Rows, two: Rows) -> Floats:
    """Variance from wet wood, nectar coming in, and from tares that are not the same at both ends."""
    weighed = records.weighed
    tare, tare_u, wet = (numbers(weighed[key]) for key in ("tare", "tare_u", "wet_u"))
    other = np.where(tare[one] == tare[two], 0.0, tare_u[one] ** 2 + tare_u[two] ** 2)
    flow = np.where(words(records.weighings["flow_on"]) == "yes", figure("flow_spread") ** 2, 0.0)
    return np.asarray(other + wet[one] ** 2 + wet[two] ** 2 + flow[one] + flow[two])


def gone_on(records: Records) -> Floats:
    """Day from which each colony is no longer there, by Moves and After winter; NaN for those that are.

    Args:
        records: what the balance draws on.

    Returns:
        numbers of days, shape (colonies,).
    """
    colonies, count = records.lists.colonies["colony"], len(records.stood)
    day = np.full(count + 1, np.inf)
    sheets = ((records.moves, "what", GONE_BY_MOVE), (records.outcomes, "outcome", GONE_BY_OUTCOME))
    for rows, key, ends in sheets:
        said = np.isin(words(rows[key]), ends) & (words(rows["held"]) == "") & rows["date"].notna().to_numpy()
        np.minimum.at(day, match(rows["colony"], colonies)[said], np.floor(serials(rows["date"]))[said])
    return np.where(np.isinf(day[1:]), np.nan, day[1:])


def _disturbed(records: Records, found: pd.DataFrame) -> NDArray[np.bool_]:
    """Intervals of colonies that another was united into meanwhile, or that were gone at their end."""
    moves, into = records.moves, match(records.moves["into"], records.lists.colonies["colony"])
    joined = (words(moves["what"]) == "united into") & (words(moves["held"]) == "") & (into > 0)
    united = pd.DataFrame({"colony_row": into, "day": np.floor(serials(moves["date"]))})[joined]
    gone = pick(gone_on(records), found["colony_row"].to_numpy(), np.nan) < numbers(found["day_2"])
    return gone | holding(found, united)


def holding(found: pd.DataFrame, events: pd.DataFrame) -> NDArray[np.bool_]:
    """Which intervals hold an event of their colony.

    Args:
        found: intervals: colony_row, day_1 and day_2.
        events: colony_row and day of each.
    """
    asked = found[["colony_row", "day_1", "day_2"]].assign(place=np.arange(len(found)))
    both = asked.merge(events, on="colony_row")
    inside = both["place"][(both["day"] >= both["day_1"]) & (both["day"] <= both["day_2"])]
    return np.isin(asked["place"], inside)


NOBODY = -1
MOSTLY = 1.0
"""Standard uncertainties that two of three residuals stay within (normal distribution)."""
LEAST_EATEN = 1e-9
"""Kilograms under which an interval tells nothing of a rate."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What intervals say of their colonies' rates, a factor on the handbook's, shape (intervals,).

    Attributes:
        colony: row of each.
        eaten: by the handbook [kg].
        residual, u: what is left over at the handbook's rate, and the standard uncertainty of that [kg].
        alone: variance of that without the rate, but with what the rate wanders from interval to interval [kg2].
        wander: relative variance of the rate of an interval about the colony's [1].
        weight: one over the variance of the rate that it shows [1]; 0 where it shows none.
        drawn: weight times how far that rate lies from 1 [1].
    """

    colony: NDArray[np.int64]
    eaten: Floats
    residual: Floats
    u: Floats
    alone: Floats
    wander: Floats
    weight: Floats
    drawn: Floats

    def without(self, *left_out: Rows) -> tuple[Floats, Floats]:
        """How far each rate lies from 1 by the colony's other intervals, and the variance of that.

        Args:
            left_out: positions of intervals that are left out of the estimate of each, NOBODY for none, shape
                (intervals,) each.
        """
        told = pd.DataFrame({"weight": self.weight, "drawn": self.drawn}).groupby(self.colony).transform("sum")
        weight, drawn = (numbers(told[key]) for key in ("weight", "drawn"))
        for at in left_out:
            weight = weight - np.where(at == NOBODY, 0.0, self.weight[at])
            drawn = drawn - np.where(at == NOBODY, 0.0, self.drawn[at])
        variance = 1 / (1 / whole_spread() ** 2 + weight)
        return drawn * variance, variance


def evidence(found: pd.DataFrame, tells: NDArray[np.bool_]) -> Evidence:
    """Take from intervals what they say of rates.

    What one leaves over counts up to ``balance_note`` standard uncertainties, so that a slip does not make a rate.

    Args:
        found: intervals: colony_row, day_1, day_2, eaten by the handbook, residual and residual_u [kg], in which
            ``whole_spread()`` of what was eaten is held.
        tells: which of them tell of a rate, shape (intervals,).
    """
    eaten, u = np.maximum(numbers(found["eaten"]), LEAST_EATEN), numbers(found["residual_u"])
    days = np.maximum(numbers(found["day_2"] - found["day_1"]), 1.0)
    wander = figure("month_wander") ** 2 * DAYS_OF_A_MONTH / days
    alone = np.maximum(u**2 - (whole_spread() * eaten) ** 2, 0.0) + wander * eaten**2
    residual, most = numbers(found["residual"]), figure("balance_note") * u
    tells = tells & np.isfinite(residual) & np.isfinite(alone) & (alone > 0)
    shows = np.where(tells, eaten, 0.0) / np.where(tells, alone, 1.0)
    return Evidence(
        found["colony_row"].to_numpy(dtype=np.int64),
        eaten,
        residual,
        u,
        alone,
        wander,
        weight=shows * np.where(tells, eaten, 0.0),
        drawn=-shows * np.where(tells, np.clip(residual, -most, most), 0.0),
    )


def by_others(seen: Evidence) -> tuple[Floats, Floats]:
    """Give what each colony is held to eat in an interval, by what its other intervals leave over.

    An interval and the next that go opposite ways speak of the weighing between them, and not of a rate to each other.

    Returns:
        what is eaten over what the handbook has eaten, and the spread of that [1], shape (intervals,) each; 1 and
        ``whole_spread()`` where nothing tells.

    Source: normal prior and likelihood (Gelman et al., Bayesian Data Analysis, 3rd edition, 2.5), each interval left
    out of its own estimate.

    >>> two = {"colony_row": [1, 1], "day_1": [0.0, 60.0], "day_2": [60.0, 120.0], "eaten": [4.0, 4.0]}
    >>> found = pd.DataFrame(two | {"residual": [-3.0, -2.0], "residual_u": [2.1, 2.1]})
    >>> [each.round(2).tolist() for each in by_others(evidence(found, np.array([True, True])))]
    [[1.41, 1.62], [0.25, 0.25]]
    """
    own, opposite = np.arange(len(seen.colony)), _opposite(seen)
    after, before = np.where(opposite, own + 1, NOBODY), np.where(np.roll(opposite, 1), own - 1, NOBODY)
    away, variance = seen.without(own, after, before)
    return np.maximum(1 + away, 0.0), np.minimum(whole_spread(), np.sqrt(variance + seen.wander))


def _opposite(seen: Evidence) -> NDArray[np.bool_]:
    """Which intervals leave over more than chance mostly does, and the next of the colony as much the other way."""
    times = np.clip(seen.residual / np.maximum(seen.u, LEAST_EATEN), -MOSTLY, MOSTLY)
    both = np.append(times[:-1] * times[1:] == -(MOSTLY**2), np.zeros(1, dtype=np.bool_))[: len(times)]
    return np.asarray(both & (np.roll(seen.colony, -1) == seen.colony))


def off_the_line(seen: Evidence, scatter: Floats) -> tuple[Floats, Floats]:
    """Give how far the weighing at the end of each interval is off, by it and the next together.

    Args:
        seen: evidence of the intervals, sorted by colony and day.
        scatter: variance of the later weighing, which both intervals hold with opposite signs [kg2].

    Returns:
        how far it is off and the standard uncertainty of that [kg], shape (intervals,) each; NaN where no interval
        follows.

    Source: generalised least squares for the one error that both intervals hold with opposite signs.

    >>> two = {"colony_row": [1, 1], "day_1": [0.0, 60.0], "day_2": [60.0, 120.0], "eaten": [4.0, 4.0]}
    >>> found = pd.DataFrame(two | {"residual": [4.0, -4.0], "residual_u": [2.1, 2.1]})
    >>> [each.round(2).tolist() for each in off_the_line(evidence(found, np.array([True, True])), np.zeros(2))]
    [[4.0, nan], [0.65, nan]]
    """
    own = np.arange(len(seen.colony))
    after = np.roll(own, -1)
    away, variance = seen.without(own, after)
    first, second = (seen.residual[at] + away * seen.eaten[at] for at in (own, after))
    both = variance * seen.eaten * seen.eaten[after] - scatter
    u1, u2 = (np.maximum(seen.alone[at] + variance * seen.eaten[at] ** 2, LEAST_EATEN) for at in (own, after))
    whole = u1 + u2 + 2 * both
    share = (u2 + both) / whole
    off, off_u = share * first - (1 - share) * second, np.sqrt(np.maximum(u1 * u2 - both**2, 0.0) / whole)
    follows = (after > 0) & (seen.colony[after] == seen.colony)
    return np.where(follows, off, np.nan), np.where(follows, off_u, np.nan)
