"""What hefting saves: simulated clubs that weigh what the book suggests and heft the rest, reckoned by the book."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.files.blank import new_settings, new_tables
from apiarybook.files.memory import raw_book
from apiarybook.files.tables import read_book
from apiarybook.files.units import si
from apiarybook.guide.hefting_coverage import USUAL, Clubs, draw_hands
from apiarybook.handbook import handbook
from apiarybook.reckon.arrays import Floats, figure
from apiarybook.reckon.lookup import match, pick
from apiarybook.reckon.season import Season, reckon_season
from apiarybook.reckon.winter import serial
from apiarybook.reckon.worth import worth_of_hands

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

YEAR, REGION = 2026, "british-isles"
PRACTISED, AS_AT = date(YEAR, 9, 1), date(YEAR, 9, 20)
SEED, CLUBS, PAIRS = 20_260_920, 200, 15
COLONIES = 5
"""Colonies that each hand keeps."""
HIVES = ("National single", "National double", "National 14x12", "National brood and a half")
SHORT, UNLIKE = (-3.0, 7.0), 6.0
"""What a club's colonies are short of on average [kg], by club, and how unlike they are within one."""
PRACTICE = (25.0, 50.0)
"""Gross of the hives practised on [kg]."""
PARTS = ("tare", "bees", "brood", "pollen")
STEP = 0.5
"""Guesses are made to this [kg]."""


@dataclass(frozen=True, slots=True)
class Clubs200:
    """Simulated clubs one after another, a row a colony.

    Attributes:
        colonies: colony, club, hand, hive_type, takes_fondant, and the truth: short, stores, least [kg];
            what the hand guesses and the scale would show that day [kg].
        practice: the lifts that were hefted and weighed before, as rows of the sheet Weighings.
    """

    colonies: pd.DataFrame
    practice: pd.DataFrame


@cache
def _lists() -> dict[str, pd.DataFrame]:
    tables = {name: frame.dropna(how="all") for name, frame in new_tables(REGION, "kg", "t").items()}
    book = read_book(raw_book(tables, new_settings("", YEAR, REGION, "kg"), {}))
    return {name: frame.assign(held="") for name, frame in si(book, {}).items()}


def _sheet(name: str, rows: Mapping[str, object] | pd.DataFrame) -> pd.DataFrame:
    blank, told = _lists()[name].iloc[:0], pd.DataFrame(rows)
    found = told.reindex(columns=blank.columns).assign(held="")
    for key in found.columns.difference([*told.columns, "held"]):
        found[key] = found[key].astype(blank[key].dtype)
    return found.set_axis(pd.RangeIndex(2, 2 + len(found)), axis=0)


def _reckoned(colonies: pd.DataFrame, weighings: pd.DataFrame, hands: pd.DataFrame | None = None) -> Season:
    frames = _lists() | {
        "Apiaries": _sheet("Apiaries", {"apiary": ["P"], "profile": [REGION]}),
        "Colonies": _sheet("Colonies", colonies[["colony", "hive_type", "takes_fondant"]].assign(apiary="P")),
        "Weighings": _sheet("Weighings", weighings.assign(feed_left=0.0)),
        "Feedings": _sheet("Feedings", {"date": pd.to_datetime([])}),
    }
    return reckon_season(frames, new_settings("", YEAR, REGION, "kg"), serial(AS_AT), hands)


@cache
def _usual() -> pd.DataFrame:
    """Want and least of a colony of each hive type that day, and what is not stores with its spread [kg]."""
    kinds = pd.DataFrame([(hive, takes) for hive in HIVES for takes in ("yes", "no")], columns=["hive_type", "takes_fondant"])
    kinds["colony"] = kinds["hive_type"] + kinds["takes_fondant"]
    rows = {"date": pd.Timestamp(AS_AT), "colony": kinds["colony"], "by": "A", "how": "platform", "reading_1": 40.0}
    stood, types = _reckoned(kinds, pd.DataFrame(rows)).standing, _lists()["Hive types"]
    kinds[["want", "least", *PARTS]] = stood[["want_today", "least", *PARTS]].to_numpy()
    kinds["tare_u"] = pick(types["tare_spread"], match(kinds["hive_type"], types["name"]))
    for part in PARTS[1:]:
        kinds[f"{part}_u"] = figure(f"{part}_spread") * kinds[part]
    return kinds


def _scale(gross: Floats, rng: np.random.Generator) -> Floats:
    """A hanging scale nobody checked, at a full lift."""
    share = handbook().scale_kinds["hanging"].half_width.value / np.sqrt(3)
    return np.round(gross * rng.normal(1, share, len(gross)) + rng.normal(0, figure("hanging_heavy_u"), len(gross)), 1)


def _guess(gross: Floats, error: Floats) -> Floats:
    return np.maximum(np.round(gross * np.exp(-error) / STEP) * STEP, STEP)


def draw(clubs: Clubs, rng: np.random.Generator, count: int, pairs: int) -> Clubs200:
    parts = [_draw_club(clubs, rng, pairs, number) for number in range(count)]
    return Clubs200(*(pd.concat(part, ignore_index=True) for part in zip(*parts, strict=True)))


def _draw_club(clubs: Clubs, rng, pairs, number):
    hands, _ = draw_hands(clubs, rng)
    names = np.array([f"{number} {one}" for one in range(len(hands.bias))], dtype=object)
    hand = np.repeat(np.arange(len(names)), COLONIES)
    found = _usual().iloc[rng.integers(0, len(_usual()), len(hand))].reset_index(drop=True)
    found["colony"] = [f"{number} C{n}" for n in range(len(hand))]
    found["club"], found["by"] = number, names[hand]
    found["rest"] = sum(np.maximum(rng.normal(found[part], found[f"{part}_u"]), 0.0) for part in PARTS)
    found["stores"] = np.maximum(found["want"] - rng.normal(rng.uniform(*SHORT), UNLIKE, len(hand)), 0.0)
    found["short"] = found["want"] - found["stores"]
    gross = (found["stores"] + found["rest"]).to_numpy()
    error = lambda who, lift: rng.normal(hands.bias[who, lift], hands.spread[who, 0])
    found["heft"], found["reading"] = _guess(gross, error(hand, pairs)), _scale(gross, rng)
    who, lift = (part.ravel() for part in np.indices((len(names), pairs)))
    loads = rng.uniform(*PRACTICE, len(who))
    practice = {"date": pd.Timestamp(PRACTISED), "colony": found["colony"].to_numpy()[who * COLONIES], "by": names[who],
     "how": "full lift", "reading_1": _scale(loads, rng), "heft": _guess(loads, error(who, lift)), "occasion": "practice"}
    return found, pd.DataFrame(practice)


def weigh_in(drawn: Clubs200, weighed: NDArray[np.bool_]) -> Season:
    """Reckon all clubs after some colonies were hefted and weighed that day and the others hefted."""
    of = drawn.colonies
    day = {"date": pd.Timestamp(AS_AT), "colony": of["colony"], "by": of["by"], "how": np.where(weighed, "full lift", "heft"),
     "reading_1": of["reading"].where(weighed), "heft": of["heft"]}
    rows = pd.concat([drawn.practice, pd.DataFrame(day)], ignore_index=True)
    rows["heft"] = rows["heft"].astype(object)
    pairs = _reckoned(of, rows).pairs
    hands = [worth_of_hands(own) for _, own in pairs.groupby(pairs["by"].str.partition(" ")[0])]
    own = pd.concat([hands[0].iloc[:1], *(one.iloc[1:] for one in hands)], ignore_index=True)
    return _reckoned(of, rows, own)
