"""How often the outlook's band holds the true stores: simulated winters, and the page that shows the table."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.handbook.half_months import HALF_MONTHS, half_month
from apiarybook.layout import BOOK
from apiarybook.reckon.core.arrays import Floats, figure
from apiarybook.reckon.core.consumption import size
from apiarybook.reckon.core.winter import serial, winter
from apiarybook.reckon.outlook.till_flow import half_month_days
from apiarybook.reckon.season import reckon_season

if TYPE_CHECKING:
    from apiarybook.reckon.season import Season

SEED = 20_261_101
COLONIES = 1500
YEAR = 2026
OF_A_HAND = 5
"""Colonies that one person hefts."""
WEIGHED = date(YEAR, 10, 15)
DAYS = (date(YEAR, 10, 25), date(YEAR, 12, 20), date(YEAR + 1, 2, 20))
"""Days for which the outlook is asked."""
REGIONS = {
    "british-isles": "National single",
    "scandinavia": "Langstroth single deep",
    "north-america-north": "Langstroth double deep",
}
STORES = (16.0, 32.0)
"""Lowest and highest stores on the day of the autumn weighing [kg]."""
WANDER = 0.10
"""Spread by which a colony's rate differs from month to month, beyond what it keeps all winter."""
HALF_PERCENT = 0.005
"""Half-width of the error of the simulated scale: one as good as most, never checked."""


@dataclass(frozen=True, slots=True)
class Plan:
    """What is done in a simulated winter: days of full lifts and of hefts on rounds."""

    name: str
    lifts: tuple[date, ...]
    rounds: tuple[date, ...]


PLANS = (
    Plan("weighed once, in October", (WEIGHED,), ()),
    Plan("hefted on rounds as well", (WEIGHED,), tuple(date(YEAR, 12, 1) + timedelta(21 * n) for n in range(4))),
    Plan("weighed again in December and February", (WEIGHED, date(YEAR, 12, 10), date(YEAR + 1, 2, 10)), ()),
)


@dataclass(frozen=True, slots=True)
class Truth:
    """What the simulated colonies are: stores and gross on every day of the calendar, shape (days, colonies)."""

    first: float
    stores: Floats
    gross: Floats
    floor: float

    def on(self, day: float) -> Floats:
        """Stores on a day, none under nought [kg]."""
        return np.asarray(np.maximum(0.0, self.stores[int(day - self.first)]))

    def floor_day(self) -> Floats:
        """The last day that begins with no less than the floor."""
        return np.asarray(self.first + (self.stores >= self.floor).sum(axis=0) - 1)


@cache
def _lists(region: str) -> dict[str, pd.DataFrame]:
    from apiarybook.book.memory import raw_book
    from apiarybook.book.si_frames import si
    from apiarybook.book.tables import read_book
    from apiarybook.club.blank import new_settings, new_tables

    tables = {name: frame.dropna(how="all") for name, frame in new_tables(region, "kg", "t").items()}
    book = read_book(raw_book(tables, new_settings("", YEAR, region, "kg"), {}))
    return {name: frame.assign(held="") for name, frame in si(book, {}).items()}


def colonies_of(region: str, count: int, rng: np.random.Generator) -> Truth:
    """Draw colonies of a region's usual hive by the model's own spreads."""
    types, months = _lists(region)["Hive types"].set_index("name"), winter(YEAR)
    hive, column = types.loc[REGIONS[region]], months.profiles.index(region)
    wide = np.sqrt(np.log1p(figure("consumption_spread") ** 2))
    rate = np.exp(rng.normal(-(wide**2) / 2, wide, count))
    day = np.arange(len(months.eaten))
    month = (day // 30)[:, None]
    wander = np.exp(rng.normal(-(WANDER**2) / 2, WANDER, (int(month.max()) + 1, count)))[month[:, 0]]
    daily = np.diff(months.eaten[:, column], append=months.eaten[-1, column])
    appetite = float(size(hive["bees"]))
    eaten = np.vstack([np.zeros(count), np.cumsum(daily[:, None] * appetite * rate * wander, axis=0)[:-1]])
    weighed = int(serial(WEIGHED) - months.first)
    stores = rng.uniform(*STORES, count) + eaten[weighed] - eaten
    bees = hive["bees"] * np.maximum(0.2, rng.normal(1, figure("bees_spread"), count)) * months.bees[:, [column]]
    frame = 2 * figure("brood_reference_side") * figure("brood_share") * figure("brood_mass_per_side")
    brood = months.brood[:, [column]] * hive["bees"] / figure("reference_bees") * frame
    brood = brood * np.maximum(0.0, rng.normal(1, figure("brood_spread"), count))
    pollen = hive["pollen"] * np.maximum(0.0, rng.normal(1, figure("pollen_spread"), count))
    tare = rng.normal(hive["tare"], hive["tare_spread"], count)
    return Truth(months.first, stores, tare + bees + brood + pollen + stores, figure("reserve_floor") * appetite)


def _rows(truth: Truth, days: tuple[date, ...], told: dict[str, Floats]) -> pd.DataFrame:
    numbers = range(truth.stores.shape[1])
    names, hands = [f"H{one}" for one in numbers], [f"Hand {one // OF_A_HAND}" for one in numbers]
    parts = [
        pd.DataFrame({"date": pd.Timestamp(day), "colony": names, "by": hands} | {key: told[key][n] for key in told})
        for n, day in enumerate(days)
    ]
    return pd.concat(parts, ignore_index=True) if parts else pd.DataFrame({"colony": pd.Series(dtype=object)})


def _read(truth: Truth, days: tuple[date, ...], rng: np.random.Generator) -> dict[str, Floats]:
    gross = np.array([truth.gross[int(serial(day) - truth.first)] for day in days])
    scale = 1 + rng.uniform(-HALF_PERCENT, HALF_PERCENT)
    return {"reading_1": np.round((gross + rng.normal(0, figure("hanging_heavy_u"), gross.shape)) * scale, 1)}


def _guess(truth: Truth, days: tuple[date, ...], rng: np.random.Generator) -> dict[str, Floats]:
    gross = np.array([truth.gross[int(serial(day) - truth.first)] for day in days])
    hands = -(-gross.shape[1] // OF_A_HAND)
    bias = np.repeat(rng.normal(0, figure("hand_bias_spread"), hands), OF_A_HAND)[: gross.shape[1]]
    return {"heft": np.round(gross * np.exp(bias + rng.normal(0, figure("hand_spread"), gross.shape)), 1)}


def season_of(region: str, plan: Plan, truth: Truth, as_at: date, rng: np.random.Generator) -> Season:
    """Reckon the book of a simulated winter as it stands on a day."""
    from apiarybook.club.blank import new_settings

    frames = dict(_lists(region))
    names = [f"H{number}" for number in range(truth.stores.shape[1])]
    rows = {
        "Apiaries": pd.DataFrame({"apiary": ["A1"], "profile": [region]}),
        "Colonies": pd.DataFrame({"colony": names, "apiary": "A1", "hive_type": REGIONS[region]}),
        "Weighings": _rows(truth, plan.lifts, _read(truth, plan.lifts, rng)).assign(how="full lift", feed_left=0.0),
    }
    if plan.rounds:
        rows["Winter rounds"] = _rows(truth, plan.rounds, _guess(truth, plan.rounds, rng))
    for name, found in rows.items():
        numeric = [column.key for column in BOOK[name].typed if column.numeric]
        whole = found.reindex(columns=frames[name].columns).assign(held="")
        frames[name] = whole.astype(dict.fromkeys(numeric, np.float64))
    return reckon_season(frames, new_settings("", YEAR, region, "kg"), serial(as_at))


def coverage(*, seed: int = SEED, colonies: int = COLONIES, regions: tuple[str, ...] = tuple(REGIONS)) -> pd.DataFrame:
    """Simulate winters and count how often the outlook held.

    Args:
        seed: of the random numbers.
        colonies: how many colonies in each region and plan.
        regions: winter profiles.

    Returns:
        one row a region, plan and day: region, plan, as_at, told (stores foretold), held (share inside the 80 % band),
        under and over (shares below and above it), late (share of colonies that reached the floor before a 10 % day
        that is not yet today), width (of the band at the last half-month, kg).
    """
    rng = np.random.default_rng(seed)
    rows = []
    for region in regions:
        for plan in PLANS:
            truth = colonies_of(region, colonies, rng)
            named = {"region": region, "plan": plan.name}
            rows += [{**named, "as_at": as_at, **_held(region, plan, truth, as_at, rng)} for as_at in DAYS]
    return pd.DataFrame(rows)


def _held(region: str, plan: Plan, truth: Truth, as_at: date, rng: np.random.Generator) -> dict[str, float]:
    found = season_of(region, plan, truth, as_at, rng)
    ahead, under, over, told = found.till_the_flow, 0, 0, 0
    width = np.nan
    for (month, day), when in zip(HALF_MONTHS, half_month_days(YEAR), strict=True):
        low, high = (ahead[half_month(what, month, day)].to_numpy() for what in ("low", "high"))
        shown = np.isfinite(low)
        if shown.any():
            true = truth.on(when)
            told, under, over = told + shown.sum(), under + (true < low)[shown].sum(), over + (true > high)[shown].sum()
            width = float((high - low)[shown].mean())
    last = ahead["lasts_to"].to_numpy()
    late = float(((truth.floor_day() < last) & (last > serial(as_at))).mean())
    return {
        "told": told,
        "held": 1 - (under + over) / told,
        "under": under / told,
        "over": over / told,
        "late": late,
        "width": width,
    }


def page() -> str:
    """Make the page of the guide: what was simulated, and the table of coverage.

    Returns:
        Markdown; the same on every run.
    """
    found = coverage()
    rows = [
        f"| {row['region']} | {row['plan']} | {row['as_at'].isoformat()} | {100 * row['held']:.1f} "
        f"| {100 * row['under']:.1f} | {100 * row['over']:.1f} | {100 * row['late']:.1f} | {row['width']:.1f} |"
        for row in found.to_dict("records")
    ]
    share = np.average(found["held"], weights=found["told"])
    late = 100 * found["late"].mean()
    told = (
        f"\nAll together {100 * share:.1f} of 100 held, and the 10 % day was too late for {late:.1f} of 100 colonies.\n"
    )
    return INTRODUCTION.format(colonies=COLONIES, seed=SEED) + "\n".join(rows) + "\n" + told


INTRODUCTION = """# How far the outlook can be trusted

The sheet Till the flow gives each colony's stores by half-month with a band that should hold the true stores eight
times in ten, and the day to which nine in ten last. This table shows how often they did in simulated winters. It
checks the arithmetic against colonies that differ as the handbook says they do; it is no measurement of bees.

{colonies} colonies in each row, seed {seed}. Every colony has its own rate of eating, tare, bees, brood and pollen, and
its rate wanders from month to month; it is lifted with a scale nobody checked, or hefted by a hand nobody has tried.
Shares are of all half-months from that day to the flow.

| winter profile | what was done | on | held, of 100 | less | more | 10 % day too late | band at the flow, kg |
| --- | --- | --- | ---: | ---: | ---: | ---: | ---: |
"""
