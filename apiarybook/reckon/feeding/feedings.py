"""Every row of Feedings at once: from what was given to mass, stores and unripe water."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.handbook import handbook
from apiarybook.reckon.core.arrays import Floats, figure, numbers, rounded, words
from apiarybook.reckon.core.lookup import match, pick, pick_words, sum_by
from apiarybook.reckon.core.winter import DAY_ZERO, serials
from apiarybook.reckon.feeding import feeds

if TYPE_CHECKING:
    from apiarybook.reckon.core.lookup import Rows
    from apiarybook.reckon.hive.weighings import Lists


HEFT_COLUMNS = ("fed_since_heft", "unripe_at_heft", "recent_at_heft", "left_at_heft")


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
    for source, ends in (("evidence", ("fed_since", "unripe", "recent", "left_of")), ("heft", HEFT_COLUMNS)):
        seen, occasion = (pick(standing[f"{source}_{what}"], colony) for what in ("day", "occasion"))
        _against(found, day, as_at, (seen, occasion), (f"after_{source}", *ends))
    in_hive, age = (found["usable"] == 1) & (day <= as_at), as_at - day
    found["unripe_now"] = np.where(in_hive, found["water_off"] * feeds.unripe_share(age, _half_time(day)), 0.0)
    return found


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


def _half_time(day: Floats) -> Floats:
    return feeds.half_time_of(np.datetime64(DAY_ZERO) + np.nan_to_num(day).astype(np.int64))


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
    at_weighing = found["water_off"] * feeds.unripe_share(seen - day, _half_time(day))
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
    days = np.datetime64(DAY_ZERO) + numbers(pairs["fed_on"]).astype(np.int64)
    water = numbers(pairs["water"]) * feeds.unripe_share(age, feeds.half_time_of(days))
    recent = np.where(age <= figure("old_evidence"), pairs["mass"], 0.0)
    place = pairs["place"].to_numpy(dtype=np.int64) + 1
    unripe = np.maximum(0.0, sum_by(water, place, len(weighed)))
    mass, left = sum_by(recent, place, len(weighed)), numbers(weighed["feeder_left"])
    share = np.where(left == 0, 1.0, np.where(mass > left, 1 - left / np.where(mass > left, mass, 1.0), 0.0))
    frames = words(weighings["how"]) == "frames of food counted"
    return np.where(frames, 0.0, unripe * share)
