"""What stands on the cards: targets by hive type, one line a colony to weigh, loads to practise on; all in kg."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.handbook import handbook
from apiarybook.reckon.core.arrays import figure, numbers, rounded, words
from apiarybook.reckon.core.consumption import whole_spread
from apiarybook.reckon.core.lookup import match, pick, pick_words
from apiarybook.reckon.core.winter import day_of, serial, winter
from apiarybook.reckon.hive.lists import CARD_DAY, CARD_DAYS, comb_holds, lifted_u, not_stores, stores_wanted

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from apiarybook.reckon.core.winter import Winter
    from apiarybook.reckon.season import Season
    from apiarybook.reckon.standing.standing import Rules

TICKS = 6
"""Extras with a tick box of their own: as many as a page is wide."""
_PARTS = re.compile(r"(\d+)")


@dataclass(frozen=True, slots=True)
class Lift:
    """What a gross is when it is lifted.

    Attributes:
        stores: stores in the hive then [kg].
        gross: the whole hive, as a full lift shows it [kg].
        one_edge: what a scale shows that lifts one edge of a usual stand [kg].
        each_edge: what it shows at each of two edges of a solid stand [kg].
        two_whole: whether two people are wanted to lift it whole.
        two_edge: whether two are wanted to tilt it at an edge.
    """

    stores: float
    gross: float
    one_edge: float
    each_edge: float
    two_whole: bool
    two_edge: bool


@dataclass(frozen=True, slots=True)
class OnDay:
    """What a colony should weigh on a day, and the least that it may; `full` where its combs hold no more."""

    day: date
    target: Lift
    least: Lift
    full: bool


@dataclass(frozen=True, slots=True)
class Reached:
    """Target and least of colonies that can next be fed on a day, from early September to the day winter starts."""

    fed_next: date
    colonies: int
    days: tuple[OnDay, ...]

    @property
    def october(self) -> OnDay:
        """The day for which one figure stands: the middle of October, or the last before winter."""
        return next((one for one in self.days if (one.day.month, one.day.day) == CARD_DAY), self.days[-1])


@dataclass(frozen=True, slots=True)
class Target:
    """A hive type on the target card: how many colonies, tare and want [kg], and its figures by next feed."""

    hive_type: str
    colonies: int
    tare: float
    want: float
    reached: tuple[Reached, ...]


@dataclass(frozen=True, slots=True)
class Line:
    """A colony on the weigh-day sheet: ref of the row to type it into, and its own target gross [kg], if known."""

    ref: str
    apiary: str
    keeper: str
    colony: str
    hive_type: str
    target: float | None


@dataclass(frozen=True, slots=True)
class Practice:
    """Loads to practise on: from the lightest least gross to the heaviest target gross of the club's hives [kg]."""

    low: float
    high: float


def lift(gross: float, stores: float) -> Lift:
    """What a gross shows by a full lift, at one edge, and at both, and how many people it wants.

    Args:
        gross: the whole hive [kg].
        stores: stores in it [kg].

    Returns:
        the lift.

    Source: the factor for one edge as the handbook gives it; half at each edge by statics, for a centre of mass in
    the middle; two people as the handbook gives it, at the edge by the larger of the two readings.

    >>> one = lift(38.5, 20.0)
    >>> round(one.one_edge, 2), one.each_edge, one.two_whole, one.two_edge
    (17.5, 19.25, True, True)
    """
    one, each = gross / handbook().methods["one side"].multiplier.value, gross / 2
    edge = rounded(max(one, each))
    whole, tilted = figure("one_person_whole"), figure("one_person_edge")
    return Lift(stores, gross, one, each, bool(rounded(gross) > whole), bool(edge > tilted))


def targets(season: Season, opening: Season, year: int) -> list[Target]:
    """Work out the target card.

    Args:
        season: the season reckoned for the day of the cards.
        opening: the same reckoned for the day on which the season opens, which says when feed can next reach each
            colony in winter.
        year: the year in which the winter begins.

    Returns:
        one target a hive type that a living colony stands in, in the order of the list.
    """
    stood = season.standing.assign(fed_next=opening.standing["reach"])
    stood = stood[(stood["ready"] == 1) & (stood["fed_next"] > 0)]
    rows = sorted(set(stood["type_row"].astype(int)))
    months = winter(year)
    region = max(1, int(match([season.given.region], months.profiles)[0]))
    given = season.given.rules, months
    return [_target(season.hive_types.iloc[[row - 1]], stood[stood["type_row"] == row], region, given) for row in rows]


def _target(types: pd.DataFrame, of: pd.DataFrame, region: int, given: tuple[Rules, Winter]) -> Target:
    _, months = given
    starts = float(months.dates["winter_starts"][region - 1])
    days = [day for day in (serial(date(months.year, *one)) for one in CARD_DAYS) if day <= starts]
    hive, kinds = types.iloc[0], of[["fed_next", "profile_row", "size"]].drop_duplicates()
    return Target(
        hive_type=str(hive["name"]),
        colonies=len(of),
        tare=float(hive["tare"]),
        want=float(hive["want"]),
        reached=tuple(
            Reached(
                fed_next=day_of(float(str(fed))),
                colonies=int((of["fed_next"] == fed).sum()),
                days=tuple(_on_day(types, these, region, given, day) for day in days),
            )
            for fed, these in kinds.groupby("fed_next")
        ),
    )


def _on_day(types: pd.DataFrame, kinds: pd.DataFrame, region: int, given: tuple[Rules, Winter], day: float) -> OnDay:
    """Target and least on a day: the want, or what is needed to be sure to last where that is more.

    Combs that hold no more are filled again by the last day of liquid feed.
    """
    rules, months = given
    starts, last = (float(months.dates[key][region - 1]) for key in ("winter_starts", "last_liquid_day"))
    whole = float(not_stores(types, region, months, day)[0])
    wanted = float(stores_wanted(types, region, months, day, starts)[0])
    lifted = float(lifted_u(types, region, months, day)[0])

    def lasting(z: float, since: float) -> float:
        until, profile = kinds["fed_next"].to_numpy(), kinds["profile_row"].to_numpy()
        ahead = numbers(kinds["size"] * months.eaten_between(np.full(len(kinds), since), until, profile))
        spread = np.hypot(lifted, whole_spread() * ahead)
        return float(np.max(numbers(kinds["size"]) * figure("reserve_floor") + ahead + z * spread))

    comb = float(comb_holds(types, region, months, starts)[0])
    stores, least = min(max(wanted, lasting(rules.z, day)), comb), lasting(0.0, day)
    full = bool(rounded(lasting(rules.z, max(day, last))) > rounded(comb))
    return OnDay(day_of(day), lift(whole + stores, stores), lift(whole + least, least), full)


def lines(frames: Mapping[str, pd.DataFrame], season: Season, refs: Mapping[str, str]) -> list[Line]:
    """Work out the weigh-day sheet.

    Args:
        frames: the sheets Colonies, Apiaries and Members, masses in kg.
        season: the season, its frames in the order of those sheets.
        refs: of ready-made rows that nobody has typed into, in the order of the book, each with the colony that stands
            ready there.

    Returns:
        one line a living colony: by apiary in the order of the list, then by colony, numbers in their own order. A
        colony without a row of its own gets one in which none stands ready; lines past the last of these have no ref.
    """
    colonies, stood, types = frames["Colonies"], season.standing, season.hive_types
    hive = stood["type_row"].to_numpy()
    own_hive = pick_words(types["name"], hive) == words(colonies["hive_type"])
    more = np.where(own_hive, numbers(colonies["own_tare"]) - pick(types["tare"], hive), np.nan)
    target = pick(types["target"], hive, np.nan) + np.nan_to_num(more)
    found = pd.DataFrame(
        {
            "place": np.where(stood["place_row"] > 0, stood["place_row"], len(frames["Apiaries"]) + 1),
            "apiary": words(colonies["apiary"]),
            "keeper": _keepers(stood["keeper"], frames["Members"]),
            "colony": words(colonies["colony"]),
            "hive_type": pick_words(types["name"], hive),
            "target": target,
        }
    )[(stood["active"] == 1).to_numpy()]
    rows = sorted(
        found.to_dict("records"), key=lambda row: (row["place"], _natural(row["apiary"]), _natural(row["colony"]))
    )
    own = {colony.casefold(): ref for ref, colony in reversed([*refs.items()])}
    free = (ref for ref, colony in refs.items() if not colony)
    given = [own.get(str(row["colony"]).casefold()) or next(free, "") for row in rows]
    return [
        Line(
            ref, row["apiary"], row["keeper"], row["colony"], row["hive_type"],
            None if np.isnan(row["target"]) else row["target"],
        )
        for ref, row in zip(given, rows, strict=True)
    ]  # fmt: skip


def _keepers(codes: pd.Series, members: pd.DataFrame) -> NDArray[np.str_]:
    """The names of keepers, or the code of one without."""
    names = pick_words(members["name"], match(codes, members["member"]))
    return np.where(names == "", words(codes), names)


def _natural(code: str) -> list[tuple[int, str]]:
    """A code's order: A2 before A10.

    >>> sorted(["A10", "a2"], key=_natural)
    ['a2', 'A10']
    """
    return [(int(part) if part.isdecimal() else -1, part.casefold()) for part in _PARTS.split(code)]


def ticks(extras: pd.DataFrame, weighings: pd.DataFrame) -> list[str]:
    """Choose the extras that get a tick box: those the club noted most often, then the first of its list.

    Args:
        extras: the sheet Extras.
        weighings: the sheet Weighings.

    Returns:
        at most six names, as the list spells them.

    >>> listed = pd.DataFrame({"name": ["Strap", "Eke", None]})
    >>> noted = pd.DataFrame({"extra_1": ["Eke"], "extra_2": [None], "extra_3": [None]})
    >>> ticks(listed, noted)
    ['Eke', 'Strap']
    """
    names = extras["name"].dropna()
    rows = np.concatenate([match(weighings[f"extra_{number}"], names) for number in (1, 2, 3)])
    often = np.bincount(rows, minlength=len(names) + 1)[1:]
    order = np.argsort(-often, kind="stable")
    return [str(name) for name in names.iloc[order[:TICKS]]]


def practice(cards: Sequence[Target]) -> Practice | None:
    """The loads to practise on; none where no hive type is in use."""
    if not cards:
        return None
    return Practice(
        low=min(group.october.least.gross for card in cards for group in card.reached),
        high=max(group.october.target.gross for card in cards for group in card.reached),
    )
