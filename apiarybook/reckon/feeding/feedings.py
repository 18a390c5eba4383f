"""Every row of Feedings at once, from what was given to stores and unripe water; and what feed to order."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.handbook import handbook
from apiarybook.reckon.core.arrays import Floats, figure, numbers, rounded, words
from apiarybook.reckon.core.lookup import Rows, match, number_or, pick, pick_words, sum_by
from apiarybook.reckon.core.winter import serials
from apiarybook.reckon.feeding import feeds

if TYPE_CHECKING:
    from collections.abc import Mapping

    from apiarybook.reckon.hive.weighings import Lists
    from apiarybook.reckon.standing.standing import Rules


EVIDENCE_COLUMNS = ("fed_since", "unripe", "recent", "left_of")
HEFT_COLUMNS = ("fed_since_heft", "unripe_at_heft", "recent_at_heft", "left_at_heft")
WET_COLUMNS = ("unripe_now", "unripe_since")


def feedings(rows: pd.DataFrame, lists: Lists, standing: pd.DataFrame, as_at: float) -> pd.DataFrame:
    """Reckon all feeds against the evidence of their colonies.

    Args:
        rows: the sheet Feedings, sugar and water in kg, amounts in their own units; index is the row's number.
        lists: the book's lists.
        standing: ready, type_row, feeder_litres, evidence_day, evidence_occasion, heft_day and heft_occasion of each
            colony.
        as_at: number of the day for which to reckon.

    Returns:
        frame with the same index and the live columns of the sheet except status. A feed of a colony that was united
        into another is that other's, in its hive from the day of uniting (`joined`).
    """
    found = pd.DataFrame(index=rows.index)
    own = found["own_row"] = match(rows["colony"], lists.colonies["colony"])
    into = match(lists.colonies["united_into"], lists.colonies["colony"])
    heir = pick(into, own).astype(np.int64)
    colony = found["colony_row"] = np.where(heir > 0, heir, own)
    found["joined"] = np.where(heir > 0, np.nan_to_num(pick(lists.colonies["united_on"], own)), 0.0)
    kind = found["feed_row"] = match(rows["feed_kind"], lists.kinds["name"])
    found["unit_row"] = match(rows["unit"], list(feeds.UNITS))
    sugar, water, amount = numbers(rows["sugar"]), numbers(rows["water"]), numbers(rows["amount"])
    mixed = ~np.isnan(sugar) & ~np.isnan(water)
    day = np.floor(serials(rows["date"]))
    written = np.where(np.isnan(amount), mixed, found["unit_row"] > 0)
    placed = (kind > 0) & (pick(standing["ready"], colony) == 1) & ~np.isnan(day) & (words(rows["held"]) == "")
    found["usable"] = np.where(placed & written, 1, 0)
    blend = np.nan_to_num(feeds.solids_of_mix(sugar, water))
    found["solids"] = np.where(kind > 0, np.where(mixed, blend, pick(lists.kinds["solids"], kind)), 0.0)
    found["yields"] = pick(lists.kinds["yields"], kind)
    _mass(found, rows, lists, standing)
    off = feeds.water_to_drive_off(found["mass"], found["solids"], found["yields"])
    found["water_off"] = np.where(found["usable"] == 1, off, 0.0)
    stores = feeds.stores_from_feed(found["mass"], found["solids"], found["yields"])
    found["stores"] = np.where(found["usable"] == 1, stores, np.nan)
    found["poured"] = pick_words(lists.kinds["form"], kind) == "liquid"
    for source, ends in (("evidence", EVIDENCE_COLUMNS), ("heft", HEFT_COLUMNS)):
        seen, occasion = (pick(standing[f"{source}_{what}"], colony) for what in ("day", "occasion"))
        _against(found, day, as_at, (seen, occasion), (f"after_{source}", *ends))
    in_hive, age = (found["usable"] == 1) & (day <= as_at), as_at - day
    now = np.where(in_hive, found["water_off"] * feeds.unripe_share(age, feeds.half_time_of(day)), 0.0)
    since = found["after_evidence"] == 1
    for key, told in zip(WET_COLUMNS, (~since, since), strict=True):
        found[key] = np.where(told, now, 0.0)
    return found


def by_colony(fed: pd.DataFrame, colonies: int) -> dict[str, Floats]:
    """Sum what feeds are to the evidence of their colony, and their unripe water, by colony.

    Args:
        fed: what `feedings` found.
        colonies: how many rows Colonies has.

    Returns:
        by key, "all" before that of the column, the sums, shape (colonies,).
    """
    colony = fed["colony_row"].to_numpy()
    keys = (*EVIDENCE_COLUMNS, *HEFT_COLUMNS, *WET_COLUMNS)
    return {f"all_{key}": sum_by(numbers(fed[key]), colony, colonies) for key in keys}


def given_to(fed: pd.DataFrame, day: Floats) -> Rows:
    """Row of the colony in whose hive each feed was put: that of a colony united later was still its own.

    Args:
        fed: what `feedings` found.
        day: number of the day of each feed.

    Returns:
        rows of colonies, shape (feeds,).
    """
    return np.asarray(np.where(day < fed["joined"], fed["own_row"], fed["colony_row"]), dtype=np.int64)


def _mass(found: pd.DataFrame, rows: pd.DataFrame, lists: Lists, standing: pd.DataFrame) -> None:
    kind, colony = found["feed_row"].to_numpy(), found["own_row"].to_numpy()
    table = np.asarray(handbook().syrup_density.solids)
    row = np.minimum(np.searchsorted(table, rounded(found["solids"]), side="right"), len(table) - 1)
    found["syrup_row"] = np.where(kind > 0, row, 1)
    density = feeds.density(np.minimum(found["solids"], feeds.strongest())) / feeds.LITRES_PER_CUBIC_METRE
    found["density"] = np.where(kind > 0, density, 0.0)
    sugar, water, amount = numbers(rows["sugar"]), numbers(rows["water"]), numbers(rows["amount"])
    units = words(rows["unit"])
    known = found["unit_row"].to_numpy() > 0
    hive = pick(standing["type_row"], colony).astype(np.int64)
    given = feeds.amount_to_mass(
        np.where(known, amount, np.nan),
        np.where(known, units, "kg"),
        density=numbers(found["density"]) * feeds.LITRES_PER_CUBIC_METRE,
        block=pick(lists.types["portion_fondant"], hive),
        feeder_litres=pick(standing["feeder_litres"], colony),
        full_comb=pick(lists.types["full_comb"], hive),
    )
    sign = np.where(words(rows["taken_back"]) == "yes", -1.0, 1.0)
    found["mass"] = np.where(found["usable"] == 1, sign * np.where(np.isnan(amount), sugar + water, given), 0.0)


def _against(
    found: pd.DataFrame, day: Floats, as_at: float, evidence: tuple[Floats, Floats], names: tuple[str, ...]
) -> None:
    """Tell which feeds came after a colony's evidence, the stores from these, and what was unripe on its day."""
    (seen, occasion), (came_after, fed, unripe, recent, left) = evidence, names
    given = (found["usable"] == 1) & (day <= as_at)
    after = given & ((day > seen) | ((day == seen) & (occasion == 0)))
    found[came_after] = np.where(after, 1, 0)
    found[fed] = np.where(after, found["stores"], 0.0)
    weighed = given & ~after & (seen >= found["joined"])
    at_weighing = found["water_off"] * feeds.unripe_share(seen - day, feeds.half_time_of(day))
    found[unripe] = np.where(weighed, at_weighing, 0.0)
    lately = weighed & (seen - day <= figure("old_evidence")) & found["poured"]
    found[recent] = np.where(lately, found["mass"], 0.0)
    found[left] = np.where(lately, found["stores"], 0.0)


def unripe_then(weighings: pd.DataFrame, weighed: pd.DataFrame, rows: pd.DataFrame, fed: pd.DataFrame) -> Floats:
    """Water still to be driven off on the day of each weighing from the feeds given before it.

    Args:
        weighings: the sheet Weighings.
        weighed: what `weighings` found.
        rows: the sheet Feedings.
        fed: what `feedings` found.

    Returns:
        mass in kg, shape (weighings,), less the share that was still in the feeder; 0 for frames counted.
    """
    given = pd.DataFrame(
        {
            "colony": fed["colony_row"],
            "fed_on": np.floor(serials(rows["date"])),
            "mass": np.where(fed["poured"], fed["mass"], 0.0),
            "water": fed["water_off"],
            "joined": fed["joined"],
        }
    )[fed["usable"] == 1]
    asked = pd.DataFrame(
        {
            "colony": weighed["colony_row"],
            "day": np.floor(serials(weighings["date"])),
            "before": words(weighings["occasion"]) == "before feed",
            "left": weighed["feeder_left"],
            "place": np.arange(len(weighed)),
        }
    )[weighed["usable"] == 1]
    pairs = asked.merge(given, on="colony")
    days_since = pairs["day"] - pairs["fed_on"]
    in_hive = (days_since > 0) | ((days_since == 0) & ~pairs["before"])
    pairs = pairs[in_hive & (pairs["day"] >= pairs["joined"])]
    age = numbers(pairs["day"] - pairs["fed_on"])
    water = numbers(pairs["water"]) * feeds.unripe_share(age, feeds.half_time_of(pairs["fed_on"]))
    recent = np.where(age <= figure("old_evidence"), pairs["mass"], 0.0)
    place = pairs["place"].to_numpy(dtype=np.int64) + 1
    unripe = np.maximum(0.0, sum_by(water, place, len(weighed)))
    share = feeds.taken(sum_by(recent, place, len(weighed)), weighed["feeder_left"])
    frames = words(weighings["how"]) == "frames of food counted"
    return np.where(frames, 0.0, unripe * share)


SHARED = 0.5
"""Half of a forecast's spread is the autumn's, the same for every colony (common practice, no source)."""


def foretell(stood: pd.DataFrame, rows: pd.DataFrame, fed: pd.DataFrame, lists: Lists, rules: Rules) -> None:
    """Foretell the liquid feed of each colony before any weighing, and what the weighing changed.

    The forecast is what the hive type was fed last autumn, where the book says so, else ``forecast_share`` of its
    want. Once a colony's stores are known, what it was given so far and what it still is to get stand instead.

    Args:
        stood: the frame of all colonies after `verdict.advise`; gains forecast and change [kg of the autumn feed]
            and given [kg of stores].
        rows: the sheet Feedings.
        fed: what `feedings` found.
        lists: the book's lists.
        rules: the club's rules.
    """
    hive, ready = stood["type_row"].to_numpy(dtype=np.int64), (stood["ready"] == 1).to_numpy()
    usual = number_or(lists.types["fed_before"], figure("forecast_share") * numbers(lists.types["want"]))
    share = _share(lists, rules.autumn_feed)
    stood["forecast"] = np.where(ready & (share > 0), pick(usual, hive) / (share or 1.0), 0.0)
    so_far = np.floor(serials(rows["date"])) <= rules.as_at
    stores = np.where((fed["usable"] == 1) & so_far, numbers(fed["stores"]), 0.0)
    stood["given"] = sum_by(stores, fed["colony_row"].to_numpy(), len(stood))
    came = (stood["given"] + stood["order_stores"]) / (share or 1.0) - stood["forecast"]
    stood["change"] = np.where((stood["known"] == 1) & (share > 0), came, 0.0)


def _share(lists: Lists, feed: str) -> float:
    return float(pick(lists.kinds["stores_share"], match([feed], lists.kinds["name"]))[0])


def feed_order(frames: Mapping[str, pd.DataFrame], lists: Lists, stood: pd.DataFrame, rules: Rules) -> pd.DataFrame:
    """Feed to order for each apiary, in mass and packs; nothing for members who order elsewhere.

    Args:
        frames: the typed sheets by name.
        lists: the book's lists.
        stood: the frame of all colonies after `foretell`.
        rules: the club's rules.

    Returns:
        frame indexed like the apiaries: apiary, member, colonies; forecast, forecast_packs and change of the liquid
        feed of the whole autumn; liquid, liquid_volume [l], liquid_fills of feeders, liquid_packs, solid and
        solid_packs still to be given; to_be_sure, what to add to forecast and change so that it suffices as often as
        the club wants to be sure. Packs are those of what is bought, in parts: the club buys once for all who order,
        so that only their sum is rounded up.
    """
    apiaries, members = frames["Apiaries"], frames["Members"]
    place, count = stood["place_row"].to_numpy(dtype=np.int64), len(apiaries)
    named = apiaries["apiary"].notna().to_numpy()
    ordering = _ordering(apiaries, members)
    found = pd.DataFrame({"apiary": apiaries["apiary"], "member": apiaries["member"]}, index=apiaries.index)
    laid_on = numbers(stood["laid_on"])
    feeding = (stood["order_mass"] > 0).to_numpy() | (laid_on > 0)
    found["colonies"] = np.where(named, sum_by(feeding.astype(np.float64), place, count), np.nan)
    poured, mass = stood["liquid"].to_numpy() == 1, numbers(stood["order_mass"])
    parts = {
        "forecast": (numbers(stood["forecast"]), rules.autumn_feed),
        "change": (numbers(stood["change"]), ""),
        "liquid": (np.where(poured, mass, 0.0), rules.autumn_feed),
        "solid": (np.where(poured, 0.0, mass) + laid_on, rules.solid_feed),
    }
    for key, (amount, feed) in parts.items():
        total = ordering * sum_by(amount, place, count)
        found[key] = np.where(named, total, np.nan)
        if feed:
            found[f"{key}_packs"] = np.where(named, total * _packs(lists, feed), np.nan)
    fills = ordering * sum_by(numbers(stood["order_fills"]), place, count)
    density = float(pick(lists.kinds["density"], match([rules.autumn_feed], lists.kinds["name"]))[0])
    found["liquid_volume"] = found["liquid"] / density if density > 0 else np.where(named, 0.0, np.nan)
    found["liquid_fills"] = np.where(named, fills, np.nan)
    found["to_be_sure"] = np.where(named, ordering * order_margin(stood, lists, rules, place, count), np.nan)
    return found


def _packs(lists: Lists, feed: str) -> float:
    """Packs that a kilogram of a feed takes: of sugar, where it is mixed at home; none where no pack is known."""
    row = match([feed], lists.kinds["name"])
    mixed, solids, pack = (lists.kinds[key] for key in ("mixed", "solids", "pack"))
    bought = float(pick(solids, row)[0]) if pick_words(mixed, row)[0] == "yes" else 1.0
    size = float(pick(pack, row)[0])
    return bought / size if size > 0 else 0.0


def _ordering(apiaries: pd.DataFrame, members: pd.DataFrame) -> Floats:
    member = match(apiaries["member"], members["member"])
    return np.where(pick_words(members["orders"], member) == "no", 0.0, 1.0)


def margin_of_all(frames: Mapping[str, pd.DataFrame], lists: Lists, stood: pd.DataFrame, rules: Rules) -> float:
    """What to add to the whole club's forecast and change to be as sure as the club wants to be [kg]."""
    place = stood["place_row"].to_numpy(dtype=np.int64)
    orders = np.concatenate(([0.0], _ordering(frames["Apiaries"], frames["Members"])))[place]
    return float(order_margin(stood, lists, rules, (orders > 0).astype(np.int64), 1)[0])


def order_margin(stood: pd.DataFrame, lists: Lists, rules: Rules, group: Rows, count: int) -> Floats:
    """Give z standard uncertainties of the feed of groups of colonies.

    A colony not weighed yet may need more or less than its forecast; half of that is the autumn's own and common to
    all. One that is to be fed needs what its stores leave uncertain; the tare of its hive type is common to all of that
    type. What is common adds up, the rest in squares.

    Args:
        stood: the frame of all colonies after `foretell`.
        lists: the book's lists.
        rules: the club's rules.
        group: the group of each colony counted from 1, 0 for none, shape (colonies,).
        count: how many groups there are.

    Returns:
        mass of the autumn feed [kg], shape (count,).

    Source: JCGM 100:2008, 5.2.2.
    """
    known, share = (stood["known"] == 1).to_numpy(), _share(lists, rules.autumn_feed)
    hive = stood["type_row"].to_numpy(dtype=np.int64)
    off = figure("forecast_spread") * numbers(stood["forecast"])
    to_feed = known & (stood["order_mass"] > 0).to_numpy()
    stores = np.where(to_feed, np.nan_to_num(numbers(stood["stores_u"])), 0.0) / (share or 1.0)
    tare = np.minimum(stores, pick(lists.types["tare_spread"], hive) / (share or 1.0))
    own = np.where(known, stores**2 - tare**2, off**2 * (1 - SHARED**2))
    squares = sum_by(own, group, count) + sum_by(np.where(known, 0.0, SHARED * off), group, count) ** 2
    for one in np.unique(hive[to_feed]):
        squares = squares + sum_by(np.where(hive == one, tare, 0.0), group, count) ** 2
    return np.asarray(rules.z * np.sqrt(np.maximum(squares, 0.0)))
