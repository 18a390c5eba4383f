"""Every colony at once: evidence, stores today, want, least, chance of running out, and what can be foretold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.core import consumption
from apiarybook.reckon.core.arrays import Floats, figure, numbers, rounded, words
from apiarybook.reckon.core.lookup import Rows, match, number_or, pick, pick_words
from apiarybook.reckon.core.winter import month_day, serials, turning, year_day
from apiarybook.reckon.feeding import feeds
from apiarybook.reckon.hive.weighings import RANK_OF_DAY, UNTIMED, comb_on, occasions
from apiarybook.reckon.outlook import outlook

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from apiarybook.reckon.core.winter import Winter
    from apiarybook.reckon.hive.weighings import Lists


GONE = ("united", "given away", "sold")
OUT_OF_SEASON, BEFORE_WINTER, IN_WINTER = 0, 1, 2


@dataclass(frozen=True, slots=True)
class Rules:
    """What the club has set: the day to reckon for, how sure it wants to be (0 to 1), its feeds, its unit of mass."""

    as_at: float
    sure: float
    autumn_feed: str
    solid_feed: str
    unit: str = "kg"

    @property
    def z(self) -> float:
        """Standard normal quantile of how sure the club wants to be."""
        return float(outlook.quantile(self.sure))


def begin(lists: Lists, apiaries: pd.DataFrame, rules: Rules) -> pd.DataFrame:
    """What can be said of each colony before any weighing is looked at.

    Args:
        lists: the book's lists.
        apiaries: the sheet Apiaries.
        rules: the club's rules.

    Returns:
        frame indexed like the colonies: active, place_row, profile_row, type_row, ready, dates of its winter,
        takes, changed_on, phase, reach, size, feeder_litres.
    """
    colonies, winter = lists.colonies, lists.winter
    found = pd.DataFrame(index=colonies.index)
    found["colony"] = colonies["colony"]
    state = words(colonies["state"])
    here = ~np.isin(state, GONE) & (words(colonies["moved_state"]) == "")
    found["active"] = np.where((words(colonies["colony"]) != "") & here, 1, 0)
    _places(found, colonies, apiaries, winter)
    place, profile = (found[key].to_numpy() for key in ("place_row", "profile_row"))
    moved = words(colonies["moved_type"])
    now = np.where(moved != "", moved, words(colonies["hive_type"]))
    hive = found["type_row"] = match(now, lists.types["name"])
    ready = (found["active"] == 1) & (profile > 0) & (hive > 0)
    found["ready"] = np.where(ready, 1, 0)
    for key in ("winter_starts", "last_liquid_day", "feed_reaches", "flow"):
        own = pick(serials(apiaries[key]), place, np.nan)
        own = np.where((own >= winter.first) & (own <= winter.last), own, np.nan)
        found[key] = np.where(ready, number_or(own, pick(winter.dates[key], profile)), 0.0)
    found["eaten_by_start"] = winter.on(winter.eaten, found["winter_starts"].to_numpy(), np.where(ready, profile, 0))
    reached = words(colonies["reached"])
    found["takes"] = np.where((words(colonies["takes_fondant"]) == "yes") & (reached != "never"), 1, 0)
    found["changed_on"] = np.nan_to_num(numbers(colonies["changed_on"]))
    _season(found, reached, pick(winter.dates["fondant_reaches"], profile), winter.year, rules.as_at)
    bees = pick(lists.types["bees"], hive)
    found["size"] = np.where(ready, consumption.size(bees), 0.0)
    feeder = number_or(colonies["feeder_holds"], pick(lists.types["feeder_holds"], hive))
    found["feeder_litres"] = np.where(hive > 0, feeder, 0.0)
    found["own_rate"], found["own_spread"] = 1.0, consumption.whole_spread()
    return found


def _places(found: pd.DataFrame, colonies: pd.DataFrame, apiaries: pd.DataFrame, winter: Winter) -> None:
    """Where each colony stands now by the list and its Moves, and whose winter it had before it came there."""
    moved = words(colonies["moved_apiary"])
    listed = np.where(moved != "", moved, words(colonies["apiary"]))
    place = found["place_row"] = match(listed, apiaries["apiary"])
    found["apiary"], found["keeper"] = (pick_words(apiaries[key], place) for key in ("apiary", "member"))
    now = found["profile_row"] = match(pick_words(apiaries["profile"], place), winter.profiles)
    before = match(colonies["apiary_before"], apiaries["apiary"])
    was = match(pick_words(apiaries["profile"], before), winter.profiles)
    there = (moved != "") & (was > 0)
    found["profile_before"] = np.where(there, was, now)
    day = numbers(colonies["moved_on"])
    inside = there & (day >= winter.first) & (day <= winter.last)
    found["here_since"] = np.where(inside, np.nan_to_num(day), 0.0)


def _eaten(found: pd.DataFrame, start: Floats, lists: Lists, rules: Rules) -> Floats:
    """What the reference colony ate since a day, by the winter of each place where the colony stood."""
    winter, today = lists.winter, np.full(len(found), rules.as_at)
    now, was, moved = (found[key].to_numpy() for key in ("profile_row", "profile_before", "here_since"))
    on_the_way = winter.eaten_between(start, moved, was) + winter.eaten_between(moved, today, now)
    return np.where(moved > start, on_the_way, winter.eaten_between(start, today, now))


def _season(found: pd.DataFrame, reached: object, fondant_reaches: Floats, year: int, as_at: float) -> None:
    opens = turning("season_opens", year)
    ready, flow = found["ready"] == 1, found["flow"].to_numpy()
    in_season = ready & (as_at >= opens) & (as_at < flow)
    begun = np.where(as_at < found["winter_starts"], BEFORE_WINTER, IN_WINTER)
    found["phase"] = np.where(in_season, begun, OUT_OF_SEASON)
    never, only, takes = reached == "never", reached == "fondant only", found["takes"] == 1
    soon = as_at + figure("round_days")
    before = np.select([never, takes, only], [flow, fondant_reaches, flow], found["feed_reaches"])
    within = np.select([never, takes, only], [flow, soon, flow], np.maximum(found["feed_reaches"], soon))
    reach = np.minimum(flow, np.maximum(as_at, np.where(found["phase"] == BEFORE_WINTER, before, within)))
    found["reach"] = np.where(found["phase"] == OUT_OF_SEASON, 0.0, reach)


def evidence(found: pd.DataFrame, rows: pd.DataFrame, weighed: pd.DataFrame, rounds: pd.DataFrame) -> None:
    """Point each colony at the latest evidence of the hive it is in now, scale before heft, and copy what it says.

    Args:
        found: the frame of `begin`; gains the pointers and the columns of the evidence.
        rows: the sheet Weighings.
        weighed: what `weighings` found.
        rounds: the frame of `weighings.latest_round`.
    """
    count = len(found)
    colony = weighed["colony_row"].to_numpy()
    for rank in ("rank_scale", "rank_heft"):
        best = pd.Series(weighed[rank].to_numpy()).groupby(colony).max()
        best = best.reindex(np.arange(1, count + 1)).fillna(0.0)
        of_this_hive = best.to_numpy() > found["changed_on"] * RANK_OF_DAY
        found[rank] = np.where((words(found["colony"]) != "") & of_this_hive, best.to_numpy(), 0.0)
    by_scale, by_heft = found["rank_scale"] > 0, found["rank_heft"] > 0
    ready, hefted = found["ready"] == 1, _row(found, weighed, "rank_heft")
    row = np.select([by_scale, by_heft], [_row(found, weighed, "rank_scale"), hefted], 0)
    row = found["evidence_row"] = np.where(ready, row, 0)
    none = row == 0
    day, order = np.floor(serials(rows["date"])), occasions(rows)
    found["evidence_day"] = np.nan_to_num(pick(day, row))
    found["evidence_occasion"] = pick(order, row, UNTIMED).astype(np.int64)
    found["weighed_on"] = np.where(none, np.nan, found["evidence_day"])
    later = ready & by_scale & by_heft & (np.nan_to_num(pick(day, hefted)) > found["evidence_day"])
    latest = np.where(later, np.nan_to_num(pick(day, hefted)), found["evidence_day"])
    rounded_on = np.nan_to_num(rounds["round_day"])
    going = found["round"] = np.where(
        ready & ~none & (rounded_on > found["evidence_day"]) & (rounded_on >= latest), 1, 0
    )
    heft = found["heft_row"] = np.where(later & (going == 0), hefted, 0)
    found["heft_day"] = np.where(going == 1, rounded_on, np.nan_to_num(pick(day, heft)))
    found["heft_occasion"] = pick(order, heft, UNTIMED).astype(np.int64)
    found["hefted_on"] = np.where(found["heft_day"] == 0, np.nan, found["heft_day"])
    found["way"] = pick_words(rows["how"], row)
    found["strength"] = pick(weighed["strength"], row, 1.0)
    for key in ("gross", "gross_u", "tare", "extras", "feeder_left", "bees", "brood", "pollen"):
        found[key] = pick(weighed[key], row, np.nan)
    found["looked"] = ~np.isnan(pick(rows["feed_left"], row, np.nan))
    found["heft_looked"] = ~np.isnan(pick(rows["feed_left"], heft, np.nan))
    found["heft_left"] = pick(weighed["feeder_left"], heft)
    for key in ("dry", "dry_u", "kit_u"):
        found[key] = pick(weighed[key], row)
        found[f"heft_{key}"] = np.where(going == 1, numbers(rounds[f"round_{key}"]), pick(weighed[key], heft))
    found["way_coarse"] = pick(weighed["coarse"], row)
    found["evidence_type"] = pick(weighed["type_row"], row).astype(np.int64)
    usual = pick(weighed["month_bees"], row)
    found["bees_share"] = np.where(usual > 0, found["bees"] / np.where(usual > 0, usual, 1.0), 1.0)
    found["hand_known"] = pick(weighed["own_hand"], np.where(found["way"] == "heft", row, heft))


def _row(found: pd.DataFrame, weighed: pd.DataFrame, rank: str) -> Rows:
    ranks = pd.Series(np.arange(1, len(weighed) + 1), index=weighed[rank].to_numpy())
    ranks = ranks[(ranks.index > 0) & ~ranks.index.duplicated()]
    return np.asarray(ranks.reindex(found[rank].to_numpy()).fillna(0).to_numpy(dtype=np.int64))


def stores(found: pd.DataFrame, fed: Mapping[str, Floats], lists: Lists, rules: Rules) -> None:
    """Carry the evidence to today and set it against want, least and what the comb holds.

    Feed left in the feeder that day is feed given that day.

    Args:
        found: the frame of `evidence`; gains all columns up to room, coarse and lasts_to.
        fed: what `feedings.by_colony` found.
        lists: the book's lists.
        rules: the club's rules.
    """
    for key, sums in fed.items():
        found[key] = sums
    none, frames = found["evidence_row"] == 0, found["way"] == "frames of food counted"
    recent, left = found["all_recent"], number_or(found["feeder_left"], 0.0)
    found["unlooked"] = np.where(~none & ~frames & ~found["looked"] & (recent > 0), 1, 0)
    known = (found["phase"] > 0) & ~none & (found["unlooked"] == 0)
    found["known"] = np.where(known, 1, 0)
    found["water_share"] = np.where(none | frames, 0.0, feeds.taken(recent, left))
    unripe = np.maximum(0.0, found["all_unripe"]) * found["water_share"]
    found["unripe_water"] = np.where(none, np.nan, unripe)
    found["stores"] = np.where(known, found["dry"] - unripe, np.nan)
    yields = _yields(recent, found["all_left_of"], lists, rules)
    found["left_stores"] = np.where(known, left * yields, 0.0)
    found["left_water"] = np.where(known, left * np.maximum(0.0, 1 - yields), 0.0)
    found["fed_since"] = np.where(known, found["all_fed_since"] + found["left_stores"], np.nan)
    _wet_now(found, rules)
    found["appetite"] = found["size"] * found["strength"] * found["own_rate"]
    since = _eaten(found, found["evidence_day"].to_numpy(), lists, rules)
    found["eaten_since"] = np.where(known, found["appetite"] * since, np.nan)
    _later_heft(found, lists, rules)
    _combine(found)
    _held_by_comb(found, lists, rules)
    _wanted(found, lists, rules)
    _lasting(found, lists, rules)


def _yields(recent: pd.Series, stores: pd.Series, lists: Lists, rules: Rules) -> Floats:
    """Stores from a part of what is left in the feeder: as of what was given lately, else as of the autumn feed."""
    usual = pick(lists.kinds["stores_share"], match([rules.autumn_feed], lists.kinds["name"]))
    return np.where(recent > 0, stores / np.where(recent > 0, recent, 1.0), usual)


def _wet_now(found: pd.DataFrame, rules: Rules) -> None:
    """Water still to be driven off today: of feed taken before the evidence, left in the feeder then, given since."""
    day = found["evidence_day"].to_numpy()
    age = np.where(found["known"] == 1, rules.as_at - day, 0.0)
    left = found["left_water"] * feeds.unripe_share(age, feeds.half_time_of(day))
    wet = found["all_unripe_now"] * found["water_share"] + found["all_unripe_since"] + left
    found["unripe_now"] = np.where(found["known"] == 1, np.maximum(0.0, wet), 0.0)


def _later_heft(found: pd.DataFrame, lists: Lists, rules: Rules) -> None:
    """Carry a heft that came after the weighing to today; it counts if somebody looked into the feeder."""
    recent = found["all_recent_at_heft"]
    counts = (found["known"] == 1) & (found["heft_day"] > 0) & (found["heft_looked"] | (recent <= 0))
    found["heft_counts"] = np.where(counts, 1, 0)
    unripe = np.maximum(0.0, found["all_unripe_at_heft"])
    found["heft_unripe"] = np.where(counts, unripe * feeds.taken(recent, found["heft_left"]), 0.0)
    left = found["heft_left"] * _yields(recent, found["all_left_at_heft"], lists, rules)
    found["heft_fed"] = np.where(counts, found["all_fed_since_heft"] + left, 0.0)
    since = _eaten(found, found["heft_day"].to_numpy(), lists, rules)
    found["heft_eaten"] = np.where(counts, found["appetite"] * since, 0.0)


def _wanted(found: pd.DataFrame, lists: Lists, rules: Rules) -> None:
    known, hive, profile = found["known"] == 1, found["type_row"].to_numpy(), found["profile_row"].to_numpy()
    today = np.full(len(found), rules.as_at)
    until = lists.winter.eaten_between(today, found["winter_starts"].to_numpy(), profile)
    want = found["strength"] * pick(lists.types["want"], hive) + found["appetite"] * until
    found["want_today"] = np.where(known & (found["phase"] == BEFORE_WINTER), want, np.nan)
    found["short_by"] = np.minimum(found["want_today"], found["comb"]) - found["stores_today"]
    scaled = found["size"] * found["strength"]
    found["floor"] = np.where(known, figure("reserve_floor") * scaled, 0.0)
    till_reach = found["appetite"] * lists.winter.eaten_between(_again(found, rules), numbers(found["reach"]), profile)
    found["least"] = np.where(known, found["floor"] + till_reach, np.nan)
    ahead = found["own_spread"] * (found["aged"] + found["least"] - found["floor"])
    found["chance_u"] = np.where(known, np.hypot(found["still_u"], ahead), 0.0)
    found["chance_out"] = outlook.chance_below(
        found["least"], found["stores_today"], np.where(known, found["chance_u"], np.nan)
    )
    worth = figure("least_worth_giving")
    found["chance_short"] = outlook.chance_below(found["short_by"], worth, found["stores_u"])


def _again(found: pd.DataFrame, rules: Rules) -> Floats:
    """The day from which stores have to last till the next feed: today.

    Where the combs are full while liquid feed is on it is the last day for that: what is eaten until then makes room,
    and can be fed again.
    """
    full = (found["phase"] == BEFORE_WINTER) & (rounded(found["room"]) < rounded(figure("least_worth_giving")))
    last = np.minimum(found["reach"], np.maximum(rules.as_at, found["last_liquid_day"]))
    return np.where(full, last, rules.as_at)


def _held_by_comb(found: pd.DataFrame, lists: Lists, rules: Rules) -> None:
    """What the combs hold on the day winter starts, the room left, and whether the evidence is coarse."""
    known, hive = found["known"] == 1, found["type_row"].to_numpy()
    comb = comb_on(lists, hive, found["profile_row"].to_numpy(), found["winter_starts"].to_numpy())
    found["comb"] = np.where(known, comb, 0.0)
    found["room"] = np.where(known, found["comb"] - found["stores_today"], 0.0)
    today = year_day(rules.as_at)
    ages = bool(month_day("evidence_ages_from") <= today <= month_day("evidence_ages_until"))
    old = ages & (rules.as_at - found["evidence_day"] > figure("old_evidence"))
    by_hand = (found["apart"] == 1) | (rounded(found["heft_share"]) > HALF)
    found["coarse"] = np.where(known & (old | (found["way_coarse"] == 1) | by_hand), 1, 0)
    hefted = (found["way"] == "heft") | (rounded(found["heft_share"]) > HALF)
    found["untried"] = np.where(known & hefted & (found["hand_known"] == 0), 1, 0)


def _lasting(found: pd.DataFrame, lists: Lists, rules: Rules) -> None:
    known = found["known"] == 1
    spare = found["stores_today"] - found["floor"]
    may = outlook.ten_percent_eaten(spare + found["aged"], found["still_u"], rules.z, found["own_spread"])
    found["may_eat"] = np.where(known, np.maximum(0.0, may - found["aged"]), 0.0)
    scaled = np.where(known, found["appetite"], 1.0)
    profile = np.where(known, found["profile_row"], 0)
    last = lists.winter.lasts_to(np.full(len(found), rules.as_at), found["may_eat"].to_numpy() / scaled, profile)
    found["lasts_to"] = np.where(known, last, np.nan)
    lead = np.maximum(rules.as_at, found["lasts_to"] - figure("fondant_lead"))
    late = (found["takes"] == 1) & (rules.as_at > found["last_liquid_day"]) & (last < found["flow"])
    found["fondant_by"] = np.where(known & late, lead, np.nan)


HALF = 0.5


def _combine(found: pd.DataFrame) -> None:
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
