"""An invented autumn and winter: colonies that eat, are fed, weighed, hefted and looked at, with human errors."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from apiarybook.demo.club import (
    CHECKS,
    INSET,
    KEEPERS,
    MOVES,
    PRACTISES,
    REGION,
    SCALES,
    SLAB,
    TUTOR,
    UNDER,
    UNDER_TYPE,
    UNITED,
    YEAR,
    Keeper,
    Row,
    Rows,
    colonies_of,
)
from apiarybook.handbook import handbook
from apiarybook.reckon.core.arrays import figure
from apiarybook.reckon.core.consumption import size
from apiarybook.reckon.core.winter import serial, winter
from apiarybook.reckon.feeding import feeds
from apiarybook.reckon.hive import kit
from apiarybook.reckon.hive.gross import two_sides_factor

if TYPE_CHECKING:
    from numpy.random import Generator

    from apiarybook.handbook import HiveType


SEED = 20260810
MONTHS = winter(YEAR)
PROFILE = MONTHS.profiles.index(REGION) + 1
FIRST, SECOND, THIRD, LAST = date(YEAR, 8, 8), date(YEAR, 9, 10), date(YEAR, 9, 27), date(YEAR, 10, 5)
"""Days on which the first apiary is gone round."""
WINTER_STARTS = date(YEAR, 11, 1)
MOST_PORTIONS, DAYS_BETWEEN, LEAST_FILL = 3, 5, 0.25
SQUEEZED = 2.0
"""Stores in kg that bees still find room for beyond what the combs are said to hold."""
LAID, GUESSED, BRICKED, DAMP, COUNTED, LEFT, READ_TWICE = 0.1, 0.7, 0.1, 0.05, 0.2, 0.3, 0.1
"""How often a slab is laid in time, a guess is written, a brick lies on the roof, wood is damp, frames of bees are
counted, feed is left in the feeder, and a scale is read twice."""
FARTHEST = 1.0
"""Spreads of a hand beyond which no guess of the demo lies, so that none looks like a slip that nobody made."""
LOOSE = 6
"""Days for which some feed may still stand in the feeder."""


@dataclass(slots=True, kw_only=True)
class Hive:
    """One colony as it truly is, in kg: what nobody in the club knows."""

    keeper: Keeper
    code: str
    type: HiveType
    tare: float
    bees: float
    rate: float
    pollen: float
    stores: float
    lean: float
    factor: float
    fed: list[tuple[date, float, float, float]] = field(default_factory=list)

    def on(self, block: str, day: date) -> float:
        """What the winter's calendar says for a day."""
        return float(MONTHS.on(getattr(MONTHS, block), np.array([serial(day)]), np.array([PROFILE]))[0])

    def stores_on(self, day: date) -> float:
        """Ripe stores on a day, feed taken so far counted whole."""
        given = sum(float(feeds.stores_from_feed(mass, solids, eta)) for on, mass, solids, eta in self.fed if on < day)
        eaten = self.on("eaten", day) - self.on("eaten", FIRST)
        return self.stores + given - float(size(self.type.bees.value)) * self.rate * eaten

    def unripe(self, day: date) -> float:
        """Water of feed taken that is still to be driven off."""
        water = 0.0
        for on, mass, solids, eta in self.fed:
            if on < day:
                off = feeds.water_to_drive_off(mass, solids, eta)
                water += float(off * feeds.unripe_share((day - on).days, feeds.half_time_of(serial(on))))
        return water

    def gross(self, day: date, extras: float) -> float:
        """The whole hive as it stands."""
        bees = self.bees * self.on("bees", day)
        brood = kit.brood_default(self.on("brood", day), self.bees)
        under = handbook().extras["Super with drawn comb"].mass.value * (self.code == UNDER and day >= _moved())
        kept = self.tare + under + extras + bees + float(brood) + self.pollen
        return kept + self.stores_on(day) + self.unripe(day)


def _moved() -> date:
    return next(day for row in MOVES if row.get("into") == UNDER_TYPE and isinstance(day := row["date"], date))


def hives(rng: Generator) -> list[Hive]:
    """All colonies of the club as they truly are on the first day."""
    found = []
    types = handbook().hive_types
    for keeper in KEEPERS:
        stand = rng.normal(keeper.stand_factor, 0.08)
        for code, name in colonies_of(keeper):
            hive = types[name]
            found.append(
                Hive(
                    keeper=keeper,
                    code=code,
                    type=hive,
                    tare=rng.normal(hive.tare.value, 0.5 * hive.tare_spread.value),
                    bees=hive.bees.value * rng.lognormal(0, 0.12),
                    rate=rng.lognormal(0, 0.25),
                    pollen=hive.pollen.value * rng.lognormal(0, 0.3),
                    stores=hive.want.value * rng.uniform(0.45, 0.85),
                    lean=rng.uniform(0.45, 0.55),
                    factor=stand,
                )
            )
    return found


def autumn() -> tuple[list[Hive], Rows]:
    """Every colony as it truly is once its autumn is over, and every row that the members typed before anybody slipped.

    Returns:
        the colonies; rows of Weighings, Feedings and Moves, by date.

    >>> _, rows = autumn()
    >>> len(rows["Weighings"]) >= 250, len(rows["Feedings"]) >= 120
    (True, True)
    """
    rng = np.random.default_rng(SEED)
    weighings: list[Row] = []
    feedings: list[Row] = []
    lived = hives(rng)
    for hive in lived:
        at = KEEPERS.index(hive.keeper)
        _autumn(hive, at, rng, weighings, feedings)
    weighings += _practice(rng)
    return lived, {"Weighings": dated(weighings), "Feedings": dated(feedings), "Moves": [dict(row) for row in MOVES]}


def dated(rows: list[Row]) -> list[Row]:
    """Rows in the order of their days."""
    return sorted(rows, key=lambda row: str(row["date"]))


def _autumn(hive: Hive, at: int, rng: Generator, weighings: list[Row], feedings: list[Row]) -> None:
    """One colony's autumn: weighed, fed, looked at again, topped up, weighed, hefted once more."""
    first, second = FIRST + timedelta(at), SECOND + timedelta(at // 2)
    third, last = THIRD + timedelta(at // 2), LAST + timedelta(at % 5)
    weighings.append(weigh(hive, first, rng))
    if hive.code == UNITED:
        return
    share = 0.6 if at % 2 else 0.75
    _feed(hive, first + timedelta(6), share * _lacks(hive, first, rng), rng, feedings)
    same_day = at % 4 == 0
    weighings.append(weigh(hive, second, rng, hefted=bool(at % 3), occasion="before feed" if same_day else ""))
    _feed(hive, second + timedelta(0 if same_day else 1), _lacks(hive, second, rng), rng, feedings)
    weighings.append(weigh(hive, third, rng))
    if hive.keeper.fondant == "yes" and rng.random() < LAID:
        lay_slab(hive, third + timedelta(1), feedings)
    weighings.append(weigh(hive, last, rng, hefted=True))


def _lacks(hive: Hive, day: date, rng: Generator) -> float:
    """What the keeper thinks is lacking and means to give, in stores: no more than the combs still hold."""
    held = hive.stores_on(day)
    lacking = hive.type.want.value + _until_winter(hive, day) - held + rng.normal(0.6, 1.0)
    return min(hive.keeper.fed * lacking, hive.type.comb_full + SQUEEZED - held)


def _until_winter(hive: Hive, day: date) -> float:
    """What a usual colony of this hive type eats until the day winter starts."""
    ahead = hive.on("eaten", WINTER_STARTS) - hive.on("eaten", day)
    return float(size(hive.type.bees.value)) * ahead


def _feed(hive: Hive, start: date, stores: float, rng: Generator, feedings: list[Row]) -> None:
    """Give stores in portions of one feeder, some days apart; what is left over is poured last."""
    feed = handbook().feeds[hive.keeper.feed]
    solids = feed.solids.value
    fill = min(hive.type.feeder_holds.value, hive.keeper.feeder)
    portion = float(feeds.stores_from_feed(fill * _density(solids), solids, feed.eta.value))
    for number in range(MOST_PORTIONS):
        fills = min(1.0, stores / portion - number)
        if fills < LEAST_FILL:
            return
        row, mass, strength = _poured(hive.keeper, fill * fills, solids, rng)
        day = start + timedelta(DAYS_BETWEEN * number)
        feedings.append({"date": day, "colony": hive.code, "feed_kind": hive.keeper.feed, **row})
        hive.fed.append((day, mass, strength, min(1.0, rng.normal(feed.eta.value, 0.04))))


def _density(solids: float) -> float:
    return float(feeds.density(solids)) / feeds.LITRES_PER_CUBIC_METRE


def _poured(keeper: Keeper, litres: float, solids: float, rng: Generator) -> tuple[Row, float, float]:
    """What was written down of one portion, its mass in kg and its true solids."""
    mass = litres * _density(solids)
    if not keeper.unit:
        sugar = round(mass * solids * 2) / 2
        water = round(sugar * float(rng.choice([0.63, 0.65, 0.6])), 1)
        return {"sugar": sugar, "water": water}, sugar + water, sugar / (sugar + water)
    unit = feeds.UNITS[keeper.unit]
    worth = unit.factor * {"l": _density(solids), "feeder": keeper.feeder * _density(solids)}.get(unit.stands_for, 1.0)
    amount = max(0.5, round(mass / worth * 2) / 2)
    return {"amount": amount, "unit": keeper.unit}, amount * worth, solids


def lay_slab(hive: Hive, day: date, feedings: list[Row]) -> None:
    """Lay a slab of fondant on top."""
    fondant = handbook().feeds["Fondant"]
    feedings.append({"date": day, "colony": hive.code, "feed_kind": SLAB, "amount": 1, "unit": "block"})
    hive.fed.append((day, 2.5, fondant.solids.value, fondant.eta.value))


def weigh(hive: Hive, day: date, rng: Generator, *, hefted: bool = False, occasion: str = "") -> Row:
    """What a keeper writes of one colony on one day.

    Args:
        hive: the colony.
        day: the day.
        rng: where chance comes from.
        hefted: by hand only, whatever the keeper's usual way.
        occasion: before or after feed on a feeding day.

    Returns:
        a row of Weighings.
    """
    keeper = hive.keeper
    row: Row = {"date": day, "colony": hive.code, "by": keeper.name, "how": "heft" if hefted else keeper.way}
    if occasion:
        row["occasion"] = occasion
    extras = _extras(hive, row, day, rng)
    gross = hive.gross(day, extras) + _feeder(hive, row, day, rng)
    if row["how"] == "frames of food counted":
        combs = hive.stores_on(day) / hive.type.full_comb.value * rng.normal(1, 0.1)
        return row | {"reading_1": round(combs * 4) / 4}
    if row["how"] == "heft" or rng.random() < GUESSED:
        row["heft"] = _guess(hive, gross, day, rng)
    if row["how"] != "heft":
        row["scale"] = keeper.scale
        row |= _readings(hive, gross, rng)
    return row


def _extras(hive: Hive, row: Row, day: date, rng: Generator) -> float:
    """What else stood on the hive that day: written down, and truly."""
    names = []
    if row["how"] in {"full lift", "two sides"}:
        names.append("Strap")
    if hive.fed and day < LAST and row["how"] != "frames of food counted":
        names.append("Small feeder")
    if rng.random() < BRICKED:
        names.append("Brick")
    row |= {f"extra_{number}": name for number, name in enumerate(names, 1)}
    extras = handbook().extras
    mass = sum(extras[name].mass.value * rng.normal(1, 0.1) for name in names)
    if rng.random() < DAMP:
        row["hive_is"] = "damp"
        mass += float(kit.wetness("damp", hive.type.boxes.value, hive.type.material))
    if rng.random() < COUNTED:
        side = hive.type.comb_side.value * 2 * figure("bee_mass_per_side")
        seen = hive.bees * hive.on("bees", day) / side
        row["frames_bees"] = min(hive.type.frames.value, round(seen * rng.normal(1, 0.08) * 2) / 2)
    return float(mass)


def _feeder(hive: Hive, row: Row, day: date, rng: Generator) -> float:
    """Feed left in the feeder: looked at after every liquid feed of three weeks; what is left was not taken."""
    soon = figure("old_evidence")
    fondant = handbook().feeds["Fondant"].solids.value
    poured = [at for at, (on, _, solids, _) in enumerate(hive.fed) if solids < fondant and 0 < (day - on).days <= soon]
    if not poured:
        return 0.0
    row["feed_left"] = 0
    on, mass, solids, eta = hive.fed[poured[-1]]
    if (day - on).days > LOOSE or rng.random() > LEFT:
        return 0.0
    left = round(0.2 * mass, 1)
    row["feed_left"] = left
    hive.fed[poured[-1]] = (on, mass - left, solids, eta)
    hive.fed.append((day, left, solids, eta))
    return left


def _guess(hive: Hive, gross: float, day: date, rng: Generator) -> object:
    """What the hand says: a number, or a word against the target gross of the day."""
    keeper = hive.keeper
    off = float(np.clip(rng.normal(), -FARTHEST, FARTHEST))
    felt = gross * float(np.exp(-keeper.bias - keeper.spread * off))
    if not keeper.speaks:
        return round(felt * 2) / 2
    target = gross - hive.stores_on(day) + hive.type.want.value + _until_winter(hive, day)
    return "light" if felt < 0.9 * target else "heavy" if felt > 1.08 * target else "about right"


def _readings(hive: Hive, gross: float, rng: Generator) -> Row:
    """What the scale showed."""
    keeper = hive.keeper
    if keeper.way == "two sides":
        factor, _ = two_sides_factor(keeper.stand, INSET if keeper.stand == "inset rails" else np.nan, 1.06, 0.04)
        both = (gross + rng.normal(0, 0.4)) / float(factor)
        lean = hive.lean + rng.normal(0, 0.01)
        return {"reading_1": _shown(keeper.scale, both * lean), "reading_2": _shown(keeper.scale, both * (1 - lean))}
    if keeper.way == "one side":
        return {"reading_1": _shown(keeper.scale, gross / (hive.factor * rng.normal(1, 0.02)))}
    reading = _shown(keeper.scale, gross + rng.normal(0, 0.2))
    if rng.random() < READ_TWICE:
        return {"reading_1": reading, "reading_2": _shown(keeper.scale, gross + rng.normal(0, 0.2))}
    return {"reading_1": reading}


def _shown(scale: str, mass: float) -> float:
    """What a scale shows for a mass, by its line and in its steps."""
    division = next(float(str(row["division"])) for row in SCALES if row["scale"] == scale)
    pairs = CHECKS.get(scale, ((0.0, 0.0), (1.0, 1.0)))
    slope, offset = np.polyfit([known for known, _ in pairs], [reading for _, reading in pairs], 1)
    return round(round(float(offset + slope * mass) / division) * division, 2)


def _practice(rng: Generator) -> list[Row]:
    """A hive of the teaching apiary lifted by a learner and then weighed: counts for the hand, never for the stores."""
    rows: list[Row] = []
    for number, gross in enumerate((28.4, 31.9, 36.2, 38.8, 41.5, 33.1)):
        guess = round(gross * float(np.exp(-rng.normal(0.06, 0.14))) * 2) / 2
        row: Row = {"date": date(YEAR, 9, 19), "colony": f"School {number % 5 + 1}", "by": PRACTISES, "how": "platform"}
        row |= {"reading_1": _shown("P1", gross), "heft": guess, "scale": "P1", "occasion": "practice"}
        rows.append(row | {"remarks": f"practice evening with {TUTOR}"})
    return rows


ROUND, LATE_ROUND, SPRING = date(YEAR + 1, 1, 10), date(YEAR + 1, 2, 14), date(YEAR + 1, 3, 14)
"""Days on which the first apiary is gone round in winter and spring."""
BROUGHT_BACK = date(YEAR + 1, 4, 12)
"""The evening on which members bring the club's scales back."""
CLOSED = date(YEAR + 1, 5, 1)
"""The day on which the year is closed."""
HARDER, UNLIKE = 0.25, 0.42
"""How much more than the handbook's colonies these eat in winter, and how unlike they are, as logarithms."""
EMPTY, LOW = 0.2, 5.0
"""Stores at which a colony starves, and stores under which a keeper who hefts it takes it for light [kg]."""
HEFTED, RESCUED, LOST = 0.5, 0.7, 0.07
"""How often a colony is hefted on a round, a light one is given fondant, and one is lost to other things."""
CAUSES = ("queenless or drone layer", "dwindled", "mice", "food left but out of reach", "not known")
ROBBED = {"Garden 5": 5.0, "Heath 3": 12.0, "Orchard 2": 11.0}
"""Stores in kg that robbers took from colonies in the last warm days, seen by nobody."""
JOINED, SOLD = "Towpath 5", "School 5"
"""One colony is united in March, one given away."""
SPRING_CHECKS = {"H1": ((20, 20.7), (40, 41.5)), "P1": ((20, 20.0), (40, 40.1))}
"""Known mass and reading of each check in spring, in kg: H1 has drifted."""


def winter_rows(lived: list[Hive]) -> Rows:
    """Every row that the members typed from November to April.

    Args:
        lived: every colony as it truly is once its autumn is over; the winter changes them.

    Returns:
        rows of Weighings, Feedings, Winter rounds, After winter and Scale checks, by date.

    >>> from apiarybook.demo.season import autumn
    >>> rows = winter_rows(autumn()[0])
    >>> outcomes = [row["outcome"] for row in rows["After winter"]]
    >>> len(outcomes) > 50, 0 < outcomes.count("died") < 15
    (True, True)
    """
    rng = np.random.default_rng(SEED + 1)
    rows: Rows = {name: [] for name in ("Weighings", "Feedings", "Winter rounds", "After winter")}
    for hive in lived:
        if hive.code != UNITED:
            _winter(hive, KEEPERS.index(hive.keeper), rng, rows)
    found = {name: dated(of) for name, of in rows.items()}
    found["Scale checks"] = [
        {"date": SPRING - timedelta(2), "scale": scale, "known": known, "reading": reading, "by": TUTOR}
        for scale, pairs in SPRING_CHECKS.items()
        for known, reading in pairs
    ]
    return found


def brought_back(loans: list[Row]) -> list[Row]:
    """The loans of scales once spring is over: all are back but the last.

    Args:
        loans: rows of Scale loans.
    """
    return [{**row, "back": BROUGHT_BACK} for row in loans[:-1]] + loans[-1:]


def _winter(hive: Hive, at: int, rng: Generator, rows: Rows) -> None:
    """One colony's winter: hefted on rounds, given fondant if it is light and its keeper sees it, weighed in spring."""
    _hungrier(hive, rng)
    for first in (ROUND, LATE_ROUND):
        _round(hive, first + timedelta(at), rng, rows)
    spring = SPRING + timedelta(at)
    if hive.stores_on(spring) <= EMPTY:
        _outcome(rows, hive, spring, outcome="died", seen="no food left", food_left=0)
    elif rng.random() < LOST:
        _outcome(rows, hive, spring, outcome="died", seen=str(rng.choice(CAUSES)))
    elif hive.code in {JOINED, SOLD}:
        _outcome(rows, hive, spring, outcome="united" if hive.code == JOINED else "given away")
    else:
        row = weigh(hive, spring, rng)
        rows["Weighings"].append(
            row if row["how"] == "heft" else {key: one for key, one in row.items() if key != "heft"}
        )
        _outcome(rows, hive, spring + timedelta(int(rng.integers(0, 8))), outcome="wintered")


def _hungrier(hive: Hive, rng: Generator) -> None:
    """Let a colony eat at another pace from the start of winter on; what it has then stays, if no robbers came."""
    held = hive.stores_on(WINTER_STARTS)
    hive.rate = float(rng.lognormal(HARDER, UNLIKE))
    hive.stores += held - hive.stores_on(WINTER_STARTS) - ROBBED.get(hive.code, 0.0)


def _round(hive: Hive, day: date, rng: Generator, rows: Rows) -> None:
    if hive.stores_on(day) <= EMPTY or rng.random() > HEFTED:
        return
    light = hive.stores_on(day) < LOW
    row: Row = {"date": day, "colony": hive.code, "by": hive.keeper.name, "heft": "light" if light else "about right"}
    rows["Winter rounds"].append(row | {"fondant_left": "none", "flying": "yes"})
    if light and hive.keeper.fondant == "yes" and rng.random() < RESCUED:
        lay_slab(hive, day + timedelta(1), rows["Feedings"])


def _outcome(rows: Rows, hive: Hive, day: date, **said: object) -> None:
    rows["After winter"].append({"date": day, "colony": hive.code, **said})
