"""Whether wants learnt from a club's own winters come out right: simulated clubs, and the page that shows the table.

Run ``python -m tests.studies.year_learns`` to renew the page.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from apiarybook.book.memory import raw_book
from apiarybook.book.si_frames import si
from apiarybook.book.tables import read_book
from apiarybook.club.blank import new_settings
from apiarybook.handbook import handbook
from apiarybook.layout import BOOK
from apiarybook.reckon.core.arrays import Floats, figure
from apiarybook.reckon.core.consumption import size
from apiarybook.reckon.core.winter import serial, winter
from apiarybook.reckon.hive import kit
from apiarybook.reckon.hive.lists import hive_types
from apiarybook.reckon.year.wintered import wintered
from apiarybook.reckon.year.year import LEAST_COLONIES, Learnt, evidence, foretold, suggested_want, wants

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.random import Generator

SEED, FIRST_WINTER, SEASONS, COLONIES, CLUBS = 20_270_420, 2026, 3, 40, 100
REGION, TYPE = "british-isles", "National double"
NEAR = 0.08
"""How near the want of a club should come to the one of perfect knowledge [1]."""
TARE_OFF, BEES_OFF, BROOD_OFF, POLLEN_OFF, LIFT_OFF = 0.06, 0.20, 0.40, 0.40, 0.25
"""Spread of what the book does not know of a hive: tare, bees, brood and pollen [1], and error of a lift [kg]."""
STORES, STORES_SPREAD, RESCUED, RESCUE, LOST = 20.0, 2.0, 0.5, 2.5, 0.08
"""Autumn stores and their spread [kg]; share of colonies about to starve that are fed, and what [kg]; other losses."""


@dataclass(frozen=True, slots=True)
class Truth:
    """What a simulated club's colonies truly eat: mean and spread of the rate on the handbook's [1], how many."""

    mean: float
    spread: float
    colonies: int = COLONIES


@dataclass(frozen=True, slots=True, kw_only=True)
class Winter:
    """Colonies of all clubs in one winter, as they truly are: arrays of one shape."""

    club: Floats
    tare: Floats
    bees: Floats
    pollen: Floats
    rate: Floats
    stores: Floats
    autumn: Floats
    spring: Floats


def learned(truth: Truth, *, seed: int = SEED, clubs: int = CLUBS, seasons: int = SEASONS) -> pd.DataFrame:
    """Let clubs live through winters, weigh their hives in autumn and spring, and learn their want.

    Every row goes through the book's own computation: typed rows, gross, stores, what was eaten, want.

    Args:
        truth: what their colonies truly eat.
        seed: of the random numbers.
        clubs: how many clubs; each has a hive type of its own in one large book.
        seasons: how many winters.

    Returns:
        one row a club: colonies that spoke, starved, want, suggested and perfect: what the same formula gives for
        the true rates [kg], says.
    """
    rng = np.random.default_rng(seed)
    told: list[pd.DataFrame] = []
    for year in range(FIRST_WINTER, FIRST_WINTER + seasons):
        drawn = _drawn(truth, clubs, year, rng)
        frames, settings = _book(drawn, year, rng)
        told.append(evidence(wintered(frames, settings, serial(date(year + 1, 5, 1))), year))
    months = winter(FIRST_WINTER)
    types = frames["Hive types"].join(hive_types(frames["Hive types"], REGION, months)).assign(want_then=np.nan)
    found = wants(types, pd.concat(told), REGION, months)
    one = types.iloc[0]
    least = float(size(one["bees"])) * figure("reserve_floor")
    known = Learnt(0.0, 0.0, _ninetieth(truth), LEAST_COLONIES)
    found["perfect"] = suggested_want(one["want"], one["comb_full"], found["eats"].iloc[0], least, known)
    return found


def _ninetieth(truth: Truth) -> float:
    """The true 90 % quantile of the rate: moved as the handbook's own when only the mean is another."""
    variance = np.log1p(truth.spread**2)
    held = np.log1p(figure("colony_spread") ** 2)
    z = (np.log(foretold().ninetieth) + held / 2) / np.sqrt(held)
    return float(truth.mean * np.exp(z * np.sqrt(variance) - variance / 2))


def _drawn(truth: Truth, clubs: int, year: int, rng: Generator) -> Winter:
    hive, count = handbook().hive_types[TYPE], clubs * truth.colonies
    variance = np.log1p(truth.spread**2)
    return Winter(
        club=np.repeat(np.arange(clubs, dtype=np.float64), truth.colonies),
        tare=hive.tare.value * rng.normal(1, TARE_OFF, count),
        bees=hive.bees.value * rng.normal(1, BEES_OFF, count).clip(0.4),
        pollen=hive.pollen.value * rng.normal(1, POLLEN_OFF, count).clip(0),
        rate=truth.mean * rng.lognormal(-variance / 2, np.sqrt(variance), count),
        stores=rng.normal(STORES, STORES_SPREAD, count),
        autumn=serial(date(year, 10, 3)) + rng.integers(0, 20, count).astype(np.float64),
        spring=serial(date(year + 1, 3, 12)) + rng.integers(0, 25, count).astype(np.float64),
    )


def _book(drawn: Winter, year: int, rng: Generator) -> tuple[dict[str, pd.DataFrame], Mapping[str, object]]:
    """What members type of a winter, read as a book is read."""
    hive, months, count = handbook().hive_types[TYPE], winter(year), len(drawn.club)
    profile = np.full(count, months.profiles.index(REGION) + 1)
    eaten = float(size(hive.bees.value)) * drawn.rate * months.eaten_between(drawn.autumn, drawn.spring, profile)
    left = drawn.stores - eaten
    fed = (left < RESCUE) & (rng.random(count) < RESCUED)
    starved = ~fed & (left <= 0)
    fondant = handbook().feeds["Fondant"]
    share = fondant.solids.value * fondant.eta.value / figure("ripe_solids")
    left = np.where(fed, np.maximum(left + RESCUE * share, 0.2), left)
    lost = ~starved & (rng.random(count) < LOST)
    grosses = [
        _gross(drawn, months.on(months.bees, day, profile), months.on(months.brood, day, profile), stores, rng)
        for day, stores in ((drawn.autumn, drawn.stores), (drawn.spring, left))
    ]
    code = [f"C{number}" for number in range(1, count + 1)]
    dead = starved | lost
    rows: dict[str, dict[str, Any]] = {
        "Colonies": {"colony": code, "apiary": "A", "hive_type": _names(drawn.club), "stand": "solid"},
        "Weighings": {"date": _days(drawn.autumn), "colony": code, "how": "platform", "reading_1": grosses[0].round(1)},
        "After winter": {
            "date": _days(drawn.spring),
            "colony": code,
            "outcome": np.where(dead, "died", "wintered"),
            "spring_gross": np.where(dead, np.nan, grosses[1].round(1)),
            "seen": np.select([starved, lost], ["no food left", "queenless or drone layer"], "not known"),
        },
    }
    typed = {name: pd.DataFrame(columns, dtype=object) for name, columns in rows.items()}
    given = np.flatnonzero(fed)
    typed["Feedings"] = pd.DataFrame(
        {"date": [date(year + 1, 1, 20)] * len(given), "colony": [code[at] for at in given], "feed_kind": "Fondant",
         "amount": RESCUE, "unit": "kg"},
        dtype=object,
    )  # fmt: skip
    return _frames(typed, sorted(set(_names(drawn.club))), year)


def _gross(drawn: Winter, bees: Floats, brood: Floats, stores: Floats, rng: Generator) -> Floats:
    """What the platform shows, of bees and brood as they should be that day and are not quite."""
    brooding = kit.brood_default(brood, drawn.bees) * rng.normal(1, BROOD_OFF, len(brood)).clip(0)
    shown = drawn.tare + drawn.pollen + drawn.bees * bees + brooding + stores
    return np.asarray(shown + rng.normal(0, LIFT_OFF, len(brood)))


def _names(club: Floats) -> list[str]:
    return [f"Hive of club {number:03.0f}" for number in club]


def _days(serials: Floats) -> list[date]:
    return [date(1899, 12, 30) + timedelta(days=int(one)) for one in serials]


def _frames(
    typed: dict[str, pd.DataFrame], names: list[str], year: int
) -> tuple[dict[str, pd.DataFrame], Mapping[str, object]]:
    from apiarybook.book.measure import measure
    from apiarybook.club.blank import region_lists

    lists = region_lists(REGION, measure("kg"))
    usual = lists["Hive types"].set_index("name").loc[[TYPE] * len(names)].reset_index(drop=True)
    lists["Hive types"] = usual.assign(name=names)
    lists["Apiaries"] = pd.DataFrame({"apiary": ["A"], "profile": [REGION]}, dtype=object)
    tables = {
        sheet.name: (lists | typed)[sheet.name].reindex(columns=[c.key for c in sheet.typed]).astype(object)
        for sheet in BOOK.sheets
        if sheet.name in lists | typed
    }
    settings = new_settings("Simulated clubs", year, REGION, "kg")
    book = read_book(raw_book({name: one.where(one.notna(), None) for name, one in tables.items()}, settings, {}))
    return si(book), book.settings


CASES = (
    ("eat a quarter more", Truth(1.25, 0.4)),
    ("eat a quarter less", Truth(0.75, 0.4)),
    ("eat as foretold", Truth(1.0, 0.4)),
    ("eat a quarter more, but keep only four", Truth(1.25, 0.4, 4)),
)


def figures_of(found: pd.DataFrame) -> dict[str, float]:
    """What a simulation comes to: shares of clubs within 8 % of perfect knowledge and unchanged, and wants [kg]."""
    off = (found["suggested"] - found["perfect"]).abs() / found["perfect"]
    return {
        "within": float((off <= NEAR).mean()),
        "unchanged": float((found["suggested"] == found["want"]).mean()),
        "want": float(found["want"].mean()),
        "suggested": float(found["suggested"].mean()),
        "perfect": float(found["perfect"].mean()),
        "median_off": float(off.median()),
        "most_off": float(off.quantile(0.95)),
    }


def page() -> str:
    """Make the page of the guide.

    Returns:
        Markdown; the same on every run.
    """
    rows = []
    for name, truth in CASES:
        seasons = SEASONS if truth.colonies == COLONIES else 1
        got = figures_of(learned(truth, seasons=seasons))
        rows.append(
            f"| {name} | {seasons} x {truth.colonies} | {got['want']:.1f} | {got['perfect']:.1f} | "
            f"{got['suggested']:.1f} | {got['within']:.0%} | {got['median_off']:.1%} | {got['most_off']:.1%} | "
            f"{got['unchanged']:.0%} |"
        )
    return INTRODUCTION.format(clubs=CLUBS, seed=SEED) + "\n".join(rows) + "\n"


INTRODUCTION = """# What the book learns of its wants

At the year's end the book suggests a want for each hive type from what its colonies ate between autumn and spring. This
table shows how near it comes in simulated clubs: hives are weighed in October and March or April, some colonies starve
and count as having eaten at least all they had, some are saved by fondant, some die of other things. Tare, bees,
brood and pollen of each hive are off by what books are usually off. It checks the arithmetic; it measures no bees.

{clubs} clubs in each row, seed {seed}. Perfect knowledge is what the same formula gives for the rates from which the
colonies were drawn; the want suggested is the mean of all clubs, within 8 % are the clubs so near to the perfect want,
off is how far they are from it (half of them, 95 % of them below), and same the clubs whose want stays as it is: a
change of less than a kilogram is not suggested.

| clubs whose colonies | winters | want | perfect | suggested, kg | within 8 % | off, median | off, 95 % | same |
| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |
"""

PAGE = Path(__file__).parents[2] / "apiarybook" / "guide" / "year-learns.md"

if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
