"""Every row of Weighings, and every winter round as a heft: from reading to gross, what is not stores, and rank."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.core import consumption
from apiarybook.reckon.core.arrays import Floats, figure, numbers, words
from apiarybook.reckon.core.lookup import Rows, match, number_or, one_of_each, pick, pick_words
from apiarybook.reckon.core.winter import serials
from apiarybook.reckon.hive import gross, kit, scale

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from apiarybook.reckon.core.winter import Winter

    Mask = NDArray[np.bool_]

HEFT_WORDS = ("light", "about right", "heavy")
RANK_OF_DAY = 10_000_000
"""A day outweighs any occasion and row in a rank; a sheet ends at row 1,048,576 (ISO/IEC 29500)."""
RANK_OF_OCCASION = 2_000_000
ON_EVEN, ON_INSET = 1, 2
"""How a colony stands, where that says how much two sides weigh of the whole; 0 where it does not."""
BEFORE_FEED, UNTIMED, AFTER_FEED = 0, 1, 2
"""Where in the feeds of its day a weighing stands; untimed where nobody said."""


@dataclass(frozen=True, slots=True)
class Lists:
    """The lists that rows are looked up in; `types` and `kinds` carry their computed columns."""

    colonies: pd.DataFrame
    types: pd.DataFrame
    kinds: pd.DataFrame
    extras: pd.DataFrame
    scales: pd.DataFrame
    ways: pd.DataFrame
    winter: Winter


def type_then(rows: pd.DataFrame, colony: Rows, lists: Lists) -> Rows:
    """Row of the hive type on each weighing's day: its own, else by Moves, else the colony's."""
    own, moved = words(rows["hive_type_then"]), words(rows["moved_type"])
    now = pick_words(lists.colonies["moved_type"], colony)
    listed = pick_words(lists.colonies["hive_type"], colony)
    name = np.where(own != "", own, np.where(moved != "", moved, np.where(now != "", now, listed)))
    return match(np.where(colony > 0, name, ""), lists.types["name"])


def readable(rows: pd.DataFrame) -> NDArray[np.bool_]:
    """Whether a row carries the readings that its way of weighing needs."""
    how = words(rows["how"])
    first, second = ~np.isnan(numbers(rows["reading_1"])), ~np.isnan(numbers(rows["reading_2"]))
    guess, word = hefts(rows)
    heft = (guess > 0) | np.isin(word, HEFT_WORDS)
    return np.where(how == "heft", heft, np.where(how == "two sides", first & second, first))


def occasions(rows: pd.DataFrame) -> NDArray[np.int64]:
    """Where in the feeds of its day each weighing stands: 0 before, 1 not said, 2 after."""
    said = words(rows["occasion"])
    return np.where(said == "before feed", BEFORE_FEED, np.where(said == "after feed", AFTER_FEED, UNTIMED))


def hefts(rows: pd.DataFrame) -> tuple[Floats, NDArray[np.str_]]:
    """The hefts of a frame apart: guesses as numbers, words as words."""
    guess = numbers(pd.to_numeric(rows["heft"], errors="coerce"))
    return guess, np.where(np.isnan(guess), np.char.lower(words(rows["heft"])), "")


def lifts(rows: pd.DataFrame, lists: Lists, standing: pd.DataFrame) -> pd.DataFrame:
    """Reckon what of all weighings rests neither on hands nor on feeds.

    Args:
        rows: the sheet Weighings, masses in kg (frames counted stay counts); index is the row's number.
        lists: the book's lists.
        standing: profile_row, profile_before, here_since, size and winter_starts of each colony.

    Returns:
        frame with the same index: what the scale says (by_scale, by_scale_u), the kit, and the target gross.
    """
    found = pd.DataFrame(index=rows.index)
    colony = found["colony_row"] = match(rows["colony"], lists.colonies["colony"])
    day = np.floor(serials(rows["date"]))
    moved = day < pick(standing["here_since"], colony)
    was, now = (pick(standing[key], colony).astype(np.int64) for key in ("profile_before", "profile_row"))
    profile = found["profile_row"] = np.where(moved, was, now)
    found["type_row"] = type_then(rows, colony, lists)
    way = found["way_row"] = match(rows["how"], lists.ways["name"])
    listed = found["scale_row"] = match(rows["scale"], lists.scales["scale"])
    inside = (day >= lists.winter.first) & (day <= lists.winter.last)
    known = (found["type_row"] > 0) & (profile > 0) & (way > 0) & ~((words(rows["scale"]) != "") & (listed == 0))
    clear = (words(rows["held"]) == "") & (words(rows["hive_is"]) != "snow")
    found["usable"] = np.where(known & clear & inside & readable(rows), 1, 0)
    turn, since = lists.winter.since_turn(day)
    found["turn"], found["days_since"] = (np.where(found["usable"] == 1, one, 0) for one in (turn, since))
    _lines(found, lists)
    _kit(found, rows, lists, day)
    _target(found, lists, standing, day)
    _by_scale(found, rows, lists)
    return found


def comb_on(lists: Lists, hive: Rows, profile: Rows, day: Floats) -> Floats:
    """Stores that the combs of hive types hold on days with the brood expected then, in kg; 0 without a type."""
    frames = lists.winter.on(lists.winter.brood, day, profile)
    side = np.where(hive > 0, pick(lists.types["comb_side"], hive), 1.0)
    brood = kit.brood_frames_used(frames, pick(lists.types["bees"], hive), side)
    return np.asarray(pick(lists.types["comb_full"], hive) - pick(lists.types["full_comb"], hive) * brood)


def weighings(found: pd.DataFrame, rows: pd.DataFrame, lists: Lists, hands: pd.DataFrame, as_at: float) -> None:
    """Reckon gross, stores before unripe water, and rank of all weighings.

    Args:
        found: the frame of `lifts`; gains the live columns of the sheet except stores and status.
        rows: the sheet Weighings.
        lists: the book's lists.
        hands: what the hefts of each hand are worth, any other hand first.
        as_at: number of the day for which to reckon.
    """
    _hefted(found, rows, hands, lists)
    how, usable = words(rows["how"]), found["usable"] == 1
    hefted, frames = how == "heft", how == "frames of food counted"
    found["gross"] = np.where(usable & ~frames, np.where(hefted, found["hefted"], found["by_scale"]), np.nan)
    by_hand = found["hefted"] * found["heft_u"]
    by_scale = np.hypot(found["by_scale_u"], number_or(rows["beyond"], 0.0) if "beyond" in rows else 0.0)
    found["gross_u"] = np.where(usable, np.where(hefted, by_hand, np.where(frames, 0.0, by_scale)), 0.0)
    _dry(found, rows, lists)
    _ranks(found, rows, as_at)


def _lines(found: pd.DataFrame, lists: Lists) -> None:
    listed, way = found["scale_row"].to_numpy(), found["way_row"].to_numpy()
    checked = np.nan_to_num(pick(lists.scales["line_slope"], listed)) > 0
    found["lined"] = np.where(checked, 1, 0)
    usual = {"line_offset": 0.0, "line_slope": 1.0, "line_away": 0.0, "line_middle": 0.0}
    for key in ("offset", "slope", "fixed", "relative", "away", "middle", "least"):
        name = f"line_{key}"
        otherwise = usual[name] if name in usual else pick(lists.ways[name], way)
        found[name] = np.where(checked, pick(lists.scales[name], listed), otherwise)


def _kit(found: pd.DataFrame, rows: pd.DataFrame, lists: Lists, day: Floats) -> None:
    colony, hive = found["colony_row"].to_numpy(), found["type_row"].to_numpy()
    own_hive = pick_words(lists.types["name"], hive) == pick_words(lists.colonies["hive_type"], colony)
    own = np.where(own_hive, pick(lists.colonies["own_tare"], colony, np.nan), np.nan)
    tare, tare_u = kit.tare(own, pick(lists.types["tare"], hive), pick(lists.types["tare_spread"], hive))
    found["tare"], found["tare_u"] = np.where(hive > 0, tare, 0.0), np.where(hive > 0, tare_u, 0.0)
    state = np.where(np.isin(words(rows["hive_is"]), ["damp", "soaked"]), words(rows["hive_is"]), "dry")
    wet = kit.wetness(state, pick(lists.types["boxes"], hive), pick_words(lists.types["material"], hive))
    found["wet_u"] = np.where(hive > 0, np.nan_to_num(wet), 0.0)
    named = sum(pick(lists.extras["mass"], match(rows[f"extra_{n}"], lists.extras["name"])) for n in (1, 2, 3))
    found["extras"] = named + number_or(rows["other_extra"], 0.0) + found["wet_u"]
    found["feeder_left"] = number_or(rows["feed_left"], 0.0)
    bees = lists.winter.on(lists.winter.bees, day, found["profile_row"].to_numpy())
    month = pick(lists.types["bees"], hive) * bees
    side = pick(lists.types["comb_side"], hive)
    counted = kit.bees_mass(numbers(rows["frames_bees"]), side)
    frames = lists.winter.on(lists.winter.brood, day, found["profile_row"].to_numpy())
    usual = kit.brood_default(frames, pick(lists.types["bees"], hive))
    seen = kit.brood_mass(numbers(rows["frames_brood"]), side)
    usable = found["usable"] == 1
    found["month_bees"] = np.where(usable, month, 0.0)
    found["bees"] = np.where(usable, number_or(counted, month), 0.0)
    found["month_brood"] = np.where(usable, usual, 0.0)
    found["brood"] = np.where(usable, number_or(seen, usual), 0.0)
    found["pollen"] = np.where(usable, pick(lists.types["pollen"], hive), 0.0)
    least = kit.bees_mass(figure("covered_frames") * bees, side)
    found["usual_bees"] = np.where(usable, np.minimum(month, least), 0.0)
    one = kit.bees_mass(1.0, np.where(usable, side, 1.0))
    found["frames_usual"] = np.where(usable, found["usual_bees"] / one, np.nan)
    strength = consumption.strength(counted, np.where(usable, least, 1.0), np.where(usable, month, 1.0))
    found["strength"] = np.where(usable, strength, 1.0)


def _target(found: pd.DataFrame, lists: Lists, standing: pd.DataFrame, day: Floats) -> None:
    """The gross on the card for that hive type and day, never more than its combs hold with that day's brood."""
    colony, hive = found["colony_row"].to_numpy(), found["type_row"].to_numpy()
    profile = found["profile_row"].to_numpy()
    own = pick(standing["winter_starts"], colony)
    here = (own > 0) & (pick(standing["profile_row"], colony) == profile)
    starts = np.where(here, own, pick(lists.winter.dates["winter_starts"], profile))
    eats = consumption.size(np.where(hive > 0, pick(lists.types["bees"], hive), 1.0))
    wanted = pick(lists.types["want"], hive) + eats * lists.winter.eaten_between(day, starts, profile)
    stores = np.maximum(0.0, np.minimum(wanted, comb_on(lists, hive, profile, day)))
    usable = found["usable"] == 1
    found["card_stores"] = np.where(usable, stores, 0.0)
    whole = found["tare"] + found["month_bees"] + found["month_brood"] + found["pollen"] + stores
    found["target"] = np.where(usable, whole, 0.0)


def _hefted(found: pd.DataFrame, rows: pd.DataFrame, hands: pd.DataFrame, lists: Lists) -> None:
    """What a heft says, held between an empty hive and one with its combs full."""
    hand = np.maximum(match(rows["by"], hands["by"]), 1)
    guess, word = hefts(rows)
    kinds = np.select([~np.isnan(guess), word == "light", word == "heavy"], [0, 1, 2], 3)
    words_of = ("light", "heavy", "right")
    names = (("factor", "spread"), *((f"{word}_factor", f"{word}_spread") for word in words_of))
    factor = np.choose(kinds, [pick(hands[name], hand) for name, _ in names])
    spread = np.choose(kinds, [pick(hands[name], hand) for _, name in names])
    lifted = (found["usable"] == 1) & (words(rows["how"]) == "heft")
    found["hand_row"], found["hand_factor"] = hand, np.where(lifted, factor, 0.0)
    empty = found[["tare", "extras", "feeder_left", "bees", "brood", "pollen"]].sum(axis=1)
    full = empty + pick(lists.types["comb_full"], found["type_row"].to_numpy())
    said = found["said"] = np.where(lifted, number_or(guess, found["target"]) * factor, np.nan)
    found["hefted"] = np.where(lifted, np.maximum(empty, np.minimum(full, said)), 0.0)
    found["heft_u"] = np.where(lifted, spread, 0.0)
    pairs, guesses = pick(hands["pairs"], hand), pick(hands["guesses"], hand)
    found["own_hand"] = np.where(lifted & (np.where(kinds == 0, guesses, pairs - guesses) > 0), 1, 0)


def _by_scale(found: pd.DataFrame, rows: pd.DataFrame, lists: Lists) -> None:
    how, way, usable = words(rows["how"]), found["way_row"].to_numpy(), found["usable"] == 1
    line = scale.ScaleLine(**{key: numbers(found[f"line_{key}"]) for key in scale.ScaleLine.__slots__})
    sides, hefted, frames = how == "two sides", how == "heft", how == "frames of food counted"
    first, second = numbers(rows["reading_1"]), numbers(rows["reading_2"])
    reading = np.where(sides, first, (first + number_or(second, first)) / 2)
    lifted_1, u_1 = scale.mass(np.where(usable & ~hefted & ~frames, reading, np.nan), line)
    lifted_2, u_2 = scale.mass(np.where(usable & sides, second, np.nan), line)
    found["lifted_1"], found["lifted_2"] = np.nan_to_num(lifted_1), np.nan_to_num(lifted_2)
    resting = scale.mass(line.offset, line)[1]
    found["lifted_u"] = np.where(usable, number_or(u_1, resting) + np.nan_to_num(u_2), 0.0)
    _factors(found, how, lists)
    whole = found["by_scale"] = found["factor"] * (found["lifted_1"] + found["lifted_2"])
    handling = pick(lists.ways["handling_u"], way)
    handling = np.where(how == "full lift", gross.hanging_handling(found["lifted_1"], handling), handling)
    parts = (found["factor"] * found["lifted_u"]) ** 2 + (found["factor_u"] * whole) ** 2 + handling**2
    found["by_scale_u"] = np.where(frames, 0.0, np.sqrt(parts))


def _factors(found: pd.DataFrame, how: NDArray[np.str_], lists: Lists) -> None:
    colony, way = found["colony_row"].to_numpy(), found["way_row"].to_numpy()
    usual, usual_u = pick(lists.ways["factor"], way), pick(lists.ways["factor_u"], way)
    stand, inset = pick_words(lists.colonies["stand"], colony), pick(lists.colonies["rail_inset"], colony, np.nan)
    rails = (stand == "inset rails") & ~np.isnan(inset)
    found["even"] = np.select([np.isin(stand, ["solid", "flush rails"]), rails], [ON_EVEN, ON_INSET], 0)
    unknown = figure("unknown_stand_factor"), figure("unknown_stand_factor_u")
    both, both_u = gross.two_sides_factor(stand, inset, *unknown)
    one, one_u = gross.one_side_factor(pick(lists.colonies["stand_factor"], colony, np.nan), usual, usual_u)
    found["factor"] = np.where(colony == 0, 1.0, np.select([how == "two sides", how == "one side"], [both, one], 1.0))
    found["factor_u"] = np.where(
        colony == 0, 0.0, np.select([how == "two sides", how == "one side"], [both_u, one_u], 0.0)
    )
    coarse = np.where(how == "two sides", np.where(both_u > 0, 1.0, 0.0), pick(lists.ways["coarse"], way))
    found["coarse"] = np.where(way == 0, 0.0, np.where((colony == 0) & (how == "two sides"), 1.0, coarse))


def _dry(found: pd.DataFrame, rows: pd.DataFrame, lists: Lists) -> None:
    usable, frames = found["usable"] == 1, words(rows["how"]) == "frames of food counted"
    full = pick(lists.types["full_comb"], found["type_row"].to_numpy())
    counted, counted_u = gross.stores_from_frames(numbers(rows["reading_1"]), full)
    taken_off = found[["tare", "extras", "feeder_left", "bees", "brood", "pollen"]].sum(axis=1)
    found["dry"] = np.where(usable, np.where(frames, counted, found["gross"] - taken_off), 0.0)
    flow = np.where(words(rows["flow_on"]) == "yes", figure("flow_spread"), 0.0)
    parts = found["gross_u"] ** 2 + found["tare_u"] ** 2 + found["wet_u"] ** 2 + flow**2
    for part in ("bees", "brood", "pollen"):
        parts = parts + (figure(f"{part}_spread") * found[part]) ** 2
    stays = [(figure(f"{part}_spread") * found[part]) ** 2 for part in ("bees", "pollen")]
    found["kit_u"] = np.where(usable & ~frames, np.sqrt(found["tare_u"] ** 2 + sum(stays)), 0.0)
    found["dry_u"] = np.where(usable, np.where(frames, counted_u, np.sqrt(parts)), 0.0)


def _ranks(found: pd.DataFrame, rows: pd.DataFrame, as_at: float) -> None:
    occasion, day = words(rows["occasion"]), np.floor(serials(rows["date"]))
    counted = (found["usable"] == 1) & (occasion != "practice") & (day <= as_at)
    rank = day * RANK_OF_DAY + occasions(rows) * float(RANK_OF_OCCASION) + rows.index.to_numpy(dtype=np.float64)
    hefted = words(rows["how"]) == "heft"
    found["rank_scale"] = np.where(counted & ~hefted, rank, 0.0)
    found["rank_heft"] = np.where(counted & hefted, rank, 0.0)


def leeway(found: pd.DataFrame) -> Floats:
    """By how many times a hive may seem heavier than full, or lighter than empty, so coarse is a heft or one side.

    Args:
        found: heft_u and factor_u of weighings, relative [1].
    """
    return 1 + figure("slip_distant") * (numbers(found["heft_u"]) + numbers(found["factor_u"]))


def against_the_hive(rows: pd.DataFrame, found: pd.DataFrame, lists: Lists) -> tuple[Mask, Mask, Mask]:
    """Which rows weigh far more than their hive can, more than it can, and less than it does when empty.

    Args:
        rows: the sheet Weighings.
        found: what `weighings` found, with unripe_then.
        lists: the book's lists.
    """
    hefted = words(rows["how"]) == "heft"
    judged = ~np.isnan(numbers(found["gross"])) & (words(rows["occasion"]) != "practice")
    judged &= ~hefted | np.array([isinstance(one, (int, float)) for one in rows["heft"]], dtype=bool)
    others = found["extras"] + found["feeder_left"] + np.nan_to_num(numbers(found["unripe_then"]))
    alone = number_or(found["said"], found["gross"]) - numbers(others)
    high = pick(lists.types["believable"], found["type_row"].to_numpy()) * leeway(found)
    over, low = alone > high + figure("over_comb_full"), alone < numbers(found["tare"]) / leeway(found)
    return judged & over, judged & (alone > high), judged & low


def outside(rows: pd.DataFrame, found: pd.DataFrame, lists: Lists) -> Mask:
    """Which rows do not count because no such hive weighs so, by what the other rows now say of hands.

    Args:
        rows: the sheet Weighings once it was checked; before that, without its column beyond, nothing is left out.
        found: what `weighings` found, with unripe_then.
        lists: the book's lists.
    """
    if "beyond" not in rows:
        return np.zeros(len(rows), dtype=np.bool_)
    over, _, low = against_the_hive(rows, found, lists)
    return np.asarray((over | low) & np.isnan(numbers(rows["beyond"])))


ROUND = ("rank_round", "round_day", "round_dry", "round_dry_u", "round_kit_u")
LEFT = {"none": 0.0, "half": 0.5, "full": 1.0}
"""How much of a block is still on top by the words of the sheet Winter rounds."""


def hefted_rounds(rounds: pd.DataFrame, weighings: pd.DataFrame, lists: Lists, solid_feed: str) -> pd.DataFrame:
    """Write the rounds as rows of Weighings; those on which nobody hefted have no reading.

    Fondant still on top is food of the colony and stays in; what it will not yield as stores is taken off as if it
    were left in a feeder.

    Args:
        rounds: the sheet Winter rounds.
        weighings: the sheet Weighings, for its columns.
        lists: the book's lists.
        solid_feed: the club's feed that is laid on top.

    Returns:
        frame with the columns of `weighings`; index as in `rounds`.
    """
    kind = match([solid_feed], lists.kinds["name"])
    lost = 1.0 - float(pick(lists.kinds["stores_share"], kind, 1.0)[0])
    colony = match(rounds["colony"], lists.colonies["colony"])
    moved = np.concatenate(([""], words(lists.colonies["moved_type"])))[colony]
    listed = np.concatenate(([""], words(lists.colonies["hive_type"])))[colony]
    block = pick(lists.types["portion_fondant"], match(np.where(moved != "", moved, listed), lists.types["name"]))
    left = np.array([LEFT.get(word, 0.0) for word in words(rounds["fondant_left"])]) * block * lost
    told: dict[str, object] = {key: rounds[key] for key in ("date", "colony", "by", "heft")}
    told |= {"how": "heft", "feed_left": left, "held": rounds.get("held", "")}
    return pd.DataFrame(told, index=rounds.index).reindex(columns=weighings.columns)


def latest_round(rows: pd.DataFrame, found: pd.DataFrame, count: int) -> pd.DataFrame:
    """Give the last round of each colony that counts, as a heft carried to its own day.

    Args:
        rows: the frame of `hefted_rounds`.
        found: what was reckoned of it, as of Weighings.
        count: how many colonies there are.

    Returns:
        one row a colony, index from 0: rank_round, round_day (number), round_dry, round_dry_u and round_kit_u [kg];
        0 and NaN where nobody hefted it on a round.
    """
    counts = (found["rank_heft"] > 0).to_numpy()
    last = pd.DataFrame(
        {
            "colony": found["colony_row"].to_numpy(),
            "round_day": np.floor(serials(rows["date"])),
            **{f"round_{key}": found[key].to_numpy() for key in ("dry", "dry_u", "kit_u")},
            "rank_round": found["rank_heft"].to_numpy(),
        }
    )[counts]
    last = one_of_each(last, count, "rank_round")[list(ROUND)].reset_index(drop=True)
    return last.fillna({"rank_round": 0.0})
