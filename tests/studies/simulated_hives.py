"""Simulated hives: what an apiary truly weighs through a season, drawn with the spreads that the handbook gives."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from apiarybook.handbook import handbook
from apiarybook.reckon.balance.mass_balance import water_lost
from apiarybook.reckon.core import consumption
from apiarybook.reckon.core.arrays import figure
from apiarybook.reckon.core.winter import serial, winter
from apiarybook.reckon.feeding.feeds import water_to_drive_off
from apiarybook.reckon.hive import kit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from apiarybook.reckon.core.arrays import Floats
    from tests.studies.worlds import World

WINTER, REGION = 2026, "british-isles"
ROUNDS = (date(2026, 8, 20), date(2026, 9, 8), date(2026, 9, 25), date(2026, 10, 14), date(2027, 3, 5))
"""Days about which apiaries are weighed; each leaves out up to two of them."""
JITTER = 4
"""Days by which an apiary's weighing may be earlier or later."""
FEEDING_FROM = (date(2026, 8, 27), date(2026, 9, 14), date(2026, 9, 30))
"""Feeding rounds fall within a week from these days, if they are held at all."""
FEEDING_HELD, HIVES_FED = 0.7, 0.8
HIVES = ("National single", "National brood and a half", "Langstroth single deep")
FEED = "Syrup 2 to 1 by mass"
AMOUNTS = (3.0, 4.0, 5.0, 6.5)
"""Kilograms of feed that one round gives each hive that is fed."""
STORES = (7.0, 14.0)
"""Least and most stores at the first weighing [kg]."""
DIVISION = 0.1
"""Step of every scale [kg]."""
KNOWN = (10.0, 20.0, 20.0, 40.0)
"""Masses hung on a scale to check it [kg]."""
SCALES, CHECKED = 6, 4
"""Scales of a club, and how many of them were checked."""
REST = 0.3
"""A scale shows as much as this with nothing on it [kg]."""
SIDES = (0.42, 0.58)
"""Share of the weight that the first of two sides carries."""
WAYS = ("full lift", "platform", "two sides")


@dataclass(frozen=True, slots=True)
class Way:
    """How an apiary is weighed: the way, its scale's code (blank for one nobody checked), and how that scale reads."""

    how: str
    code: str
    offset: float
    slope: float

    def readings(self, mass: Floats, rng: np.random.Generator) -> tuple[Floats, Floats]:
        """What the scale shows for hives of a mass [kg]: reading 1, reading 2."""
        spread = np.full(len(mass), handbook().methods[self.how].handling_u.value)
        if self.how == "full lift":
            spread[mass > figure("hanging_heavy")] = figure("hanging_heavy_u")
        lifted = mass + rng.normal(0.0, spread)
        if self.how != "two sides":
            return self.shown(lifted), np.full(len(mass), np.nan)
        share = rng.uniform(*SIDES, len(mass))
        return self.shown(share * lifted), self.shown((1 - share) * lifted)

    def shown(self, lifted: Floats) -> Floats:
        """The nearest step of the scale for what hangs on it [kg]."""
        return np.asarray(np.round((self.offset + self.slope * lifted) / DIVISION) * DIVISION)


def ways(rng: np.random.Generator) -> list[Way]:
    """The club's scales with the way in which each is used."""
    found = []
    for number in range(SCALES):
        how = WAYS[number % len(WAYS)]
        half = handbook().scale_kinds[handbook().methods[how].scale_kind].half_width.value
        checked = number < CHECKED
        offset = rng.uniform(-REST, REST) if checked else 0.0
        found.append(Way(how, f"S{number}" if checked else "", offset, 1 + rng.uniform(-half, half)))
    return found


@dataclass(frozen=True, slots=True)
class Round:
    """One feeding round of an apiary: its day, the feed each hive got [kg], and which hives got it."""

    day: date
    mass: float
    given: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Apiary:
    """The truth of one apiary: `gross` by hive and weighing [kg]."""

    name: str
    way: Way
    hives: list[str]
    days: list[date]
    gross: Floats
    rounds: list[Round]


def apiary(name: str, count: int, used: list[Way], rng: np.random.Generator, world: World) -> Apiary:
    """Draw an apiary.

    Args:
        name: its code.
        count: how many hives.
        used: ways to weigh of which it has one.
        rng: random numbers.
        world: what colonies live in.
    """
    kept = sorted(rng.choice(len(ROUNDS), size=int(rng.integers(3, len(ROUNDS) + 1)), replace=False))
    days = [ROUNDS[at] + timedelta(days=int(rng.integers(-JITTER, JITTER + 1))) for at in kept]
    hives = [str(one) for one in rng.choice(HIVES, size=count)]
    rounds = []
    for start in FEEDING_FROM:
        day = start + timedelta(days=int(rng.integers(7)))
        if rng.random() < FEEDING_HELD and day not in days:
            rounds.append(Round(day, float(rng.choice(AMOUNTS)), rng.random(count) < HIVES_FED))
    gross = gross_weights(hives, days, rounds, world, rng)
    return Apiary(name, used[int(rng.integers(len(used)))], hives, days, gross, rounds)


def gross_weights(
    hives: list[str],
    days: list[date],
    rounds: list[Round],
    world: World,
    rng: np.random.Generator,
    region: str = REGION,
    begin: Floats | None = None,
) -> Floats:
    """True gross by hive and weighing [kg]; `begin` are stores at the first, shape (hives,), drawn if not given."""
    months, when, count = winter(WINTER), np.array([serial(day) for day in days]), len(hives)
    kinds = [handbook().hive_types[hive] for hive in hives]
    october = np.array([one.bees.value for one in kinds])
    tare = rng.normal([one.tare.value for one in kinds], [one.tare_spread.value for one in kinds])
    column = months.profiles.index(region)
    profile = np.full(len(when), column + 1)
    at = (when - months.first).astype(np.int64)
    dwindled = 1 + rng.normal(0, world.bees) * (months.bees[at, column] - 1)
    bees = october[:, None] * months.bees[at, column] * dwindled * _about(rng, count, "bees_spread")
    brood = kit.brood_default(months.on(months.brood, when, profile)[None, :], october[:, None])
    rates, _ = world.rates(np.zeros(count, dtype=np.int64), len(months.eaten), rng)
    daily = np.diff(months.eaten[:, column], append=months.eaten[-1, column])[:, None] * rates
    eaten = (np.cumsum(daily, axis=0)[at - 1] - np.cumsum(daily, axis=0)[at[0] - 1]).T
    held = rng.uniform(*STORES, (count, 1)) if begin is None else begin[:, None]
    stores = held - consumption.size(october)[:, None] * eaten
    stores += _fed_by(rounds, when, count, world, rng)
    pollen = np.array([one.pollen.value for one in kinds])[:, None]
    damp = world.damp(np.arange(len(months.eaten)), count, rng)[at].T + rng.normal(0, world.drift, len(when))
    return np.asarray(tare[:, None] + pollen + bees + brood * _about(rng, count, "brood_spread") + stores + damp)


def _about(rng: np.random.Generator, count: int, spread: str) -> Floats:
    return np.maximum(0.0, rng.normal(1.0, figure(spread), (count, 1)))


def _fed_by(rounds: list[Round], when: Floats, count: int, world: World, rng: np.random.Generator) -> Floats:
    """Feed in each hive at each weighing, the water that it truly lost taken off [kg]."""
    found = np.zeros((count, len(when)))
    for one in rounds:
        there = np.where(when >= serial(one.day), one.mass, 0.0)
        lost = there - np.array([weighs(one.mass, one.day, at) for at in when])
        found += one.given[:, None] * (there - lost * _lost_of_usual(world, count, rng))
    return found


def _lost_of_usual(world: World, count: int, rng: np.random.Generator) -> Floats:
    """What a feed loses on its way to stores against what the handbook has it lose [1]."""
    feed = handbook().feeds[FEED]
    held = feed.solids.value / figure("ripe_solids")
    yields = rng.uniform(*world.yields, (count, 1)) if world.yields else np.full((count, 1), feed.eta.value)
    return np.asarray((1 - held * yields) / (1 - held * feed.eta.value) * _about(rng, count, "water_spread"))


def weighs(mass: float, fed_on: date, at: float) -> float:
    """What a feed of the club's syrup weighs on a day, by the handbook.

    Args:
        mass: as given [kg].
        fed_on: day on which it was given.
        at: number of the later day.

    Returns:
        mass in kg, 0 before it was given.
    """
    feed, age = handbook().feeds[FEED], at - serial(fed_on)
    if age < 0:
        return 0.0
    water = water_to_drive_off(mass, feed.solids.value, feed.eta.value)
    return mass - float(water_lost(np.array([water]), np.array([age]), np.array([serial(fed_on)]))[0])
