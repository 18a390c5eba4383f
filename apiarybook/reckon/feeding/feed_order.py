"""How much feed to order: a forecast before any weighing, the change once colonies were weighed, what is still due."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.core.arrays import Floats, figure, numbers
from apiarybook.reckon.core.lookup import Rows, match, number_or, pick, pick_words, sum_by
from apiarybook.reckon.core.winter import serials

if TYPE_CHECKING:
    from collections.abc import Mapping

    from apiarybook.reckon.hive.weighings import Lists
    from apiarybook.reckon.standing.standing import Rules

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
