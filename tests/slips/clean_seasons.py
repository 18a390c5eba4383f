"""Clean seasons as clubs would type them: every row true, in kilograms or pounds, of any region, as rows of sheets."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from apiarybook.book.memory import raw_book
from apiarybook.book.tables import Book, read_book
from apiarybook.club.blank import new_settings, new_tables
from apiarybook.handbook import handbook
from apiarybook.layout import BOOK
from apiarybook.reckon.feeding.feeds import UNITS
from tests.studies.simulated_hives import (
    AMOUNTS,
    DIVISION,
    FEED,
    FEEDING_FROM,
    FEEDING_HELD,
    HIVES_FED,
    JITTER,
    KNOWN,
    ROUNDS,
    WINTER,
    Apiary,
    Round,
    Way,
    gross_weights,
    ways,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from apiarybook.reckon.core.arrays import Floats
    from tests.studies.worlds import World

AS_AT = date(2027, 4, 1)
REGIONS = (
    ("british-isles", "kg"),
    ("central-europe", "kg"),
    ("north-america-north", "lb"),
    ("france-south-europe", "kg"),
)
NAMES = ("Ann Alder", "Bertrand Birch", "Carla Cedar", "Dorothea Dogwood", "Edgar Elm", "Frieda Fir", "Gustav Gorse")
TYPES = 4
"""Full-size hive types of a region that its clubs have."""
LIGHTEST = 2.0
"""Bees of the lightest of them in October [kg], so that no nucleus is among them."""
STORES = (0.55, 1.0)
"""Least and most stores at the first weighing, as shares of the want [1]."""
DEAD = 3.5
"""What a hive weighs beyond its tare at the least while bees live in it [kg]."""
ON_TOP, ON_TOP_SHARE = ("Stone", "Brick", "Queen excluder"), 0.15
"""Extras of which some hives have one at every weighing, and how many have."""
LIFT_SPREAD, LIFT_BIAS = 0.08, 0.05
ONE_SIDE = 0.12
"""Relative spread of one side's share of a hive about the usual; half of its variance lasts."""
SEEDS = 1_000_000


@dataclass(frozen=True, slots=True)
class OneSide(Way):
    """A hive lifted at one side only."""

    def readings(self, mass: Floats, rng: np.random.Generator) -> tuple[Floats, Floats]:
        """What the scale shows for one side: reading 1, and no reading 2."""
        usual, half = handbook().methods["one side"].multiplier.value, ONE_SIDE / np.sqrt(2)
        lasting = np.random.default_rng(int(self.slope * SEEDS)).lognormal(0.0, half, 8)[: len(mass)]
        share = 1 / (usual * lasting * rng.lognormal(0.0, half, len(mass)))
        return self.shown(share * mass), np.full(len(mass), np.nan)


@dataclass(slots=True)
class Season:
    """One club's season as typed.

    Attributes:
        region, unit: of the book.
        rows: rows by sheet, masses in the book's unit.
        places: the truth of each apiary by its code.
        missing: whether people left out what they usually leave out.
    """

    region: str
    unit: str
    rows: dict[str, list[dict[str, object]]]
    places: dict[str, Apiary] = field(default_factory=dict)
    missing: bool = False

    @property
    def per(self) -> float:
        """Kilograms in the book's unit."""
        return UNITS[self.unit].factor

    def book(self) -> Book:
        """The book as read."""
        frames = new_tables(self.region, self.unit, "t")
        for sheet, rows in self.rows.items():
            mark, keys = BOOK[sheet].mark, list(frames[sheet].columns)
            said = [{"ref": f"t-{mark}{at + 1}", **row} if "ref" in keys else row for at, row in enumerate(rows)]
            frame = frames[sheet].iloc[:0].reindex(range(len(rows)))
            for key in keys:
                frame[key] = np.array([row.get(key) for row in said], dtype=object)
            frames[sheet] = frame
        lists = {name: frame.dropna(how="all") for name, frame in frames.items()}
        settings = new_settings("", WINTER, self.region, self.unit)
        return read_book(raw_book(lists, settings, {}, "club.xlsx"))


def hive_types(region: str) -> list[str]:
    """The hive types that a region's clubs have."""
    kinds = [one for one in handbook().hive_types.values() if region in one.regions and one.bees.value >= LIGHTEST]
    return [one.name for one in kinds if one.boxes.value <= 2][:TYPES]


def clean_season(
    seed: int, apiaries: int, world: World, place: tuple[str, str] = REGIONS[0], *, missing: bool = False
) -> Season:
    """Draw a season in which everybody wrote down what was.

    Args:
        seed: of the random numbers.
        apiaries: how many, eight hives each.
        world: what colonies live in.
        place: region and unit of the book.
        missing: whether people leave out what was left in the feeder and which came first.
    """
    rng = np.random.default_rng(seed)
    used = ways(rng)
    one_side = OneSide("one side", "", 0.0, 1 + rng.uniform(-0.01, 0.01))
    sheets = ("Members", "Apiaries", "Colonies", "Scales", "Scale checks", "Weighings", "Feedings", "Winter rounds")
    season = Season(*place, {name: [] for name in (*sheets, "Moves", "After winter")}, missing=missing)
    season.rows["Members"] = [{"member": f"M{at}", "name": name} for at, name in enumerate(NAMES)]
    _write_scales(season, used)
    for number in range(apiaries):
        way = one_side if rng.random() < 0.12 else used[int(rng.integers(len(used)))]
        drawn = _apiary(f"P{number}", way, season, world, rng)
        season.places[drawn.name] = drawn
        _write(season, drawn, NAMES[number % len(NAMES)], f"M{number % len(NAMES)}", rng)
    return season


def _apiary(name: str, way: Way, season: Season, world: World, rng: np.random.Generator) -> Apiary:
    count = 8
    kept = sorted(rng.choice(len(ROUNDS), size=int(rng.integers(3, len(ROUNDS) + 1)), replace=False))
    days = [ROUNDS[at] + timedelta(days=int(rng.integers(-JITTER, JITTER + 1))) for at in kept]
    hives = [str(one) for one in rng.choice(hive_types(season.region), size=count)]
    rounds = []
    for start in FEEDING_FROM:
        day = start + timedelta(days=int(rng.integers(7)))
        if season.missing and rng.random() < 0.3:
            day = min(days, key=lambda one: abs((one - day).days))
        warm = day <= last_liquid(season.region)
        if rng.random() < FEEDING_HELD and warm and (season.missing or day not in days):
            rounds.append(Round(day, float(rng.choice(AMOUNTS)), rng.random(count) < HIVES_FED))
    want = np.array([handbook().hive_types[one].want_in(season.region).value for one in hives])
    held = want * rng.uniform(*STORES, count)
    gross = gross_weights(hives, days, rounds, world, rng, season.region, held)
    return Apiary(name, way, hives, days, gross, rounds)


def last_liquid(region: str) -> date:
    """The last day for liquid feed in a region."""
    day = handbook().profiles[region].dates["last_liquid_day"]
    return date(WINTER, day.month, day.day)


def alive(place: Apiary) -> NDArray[np.bool_]:
    """Which colonies still live at each weighing, shape (hives, weighings)."""
    empty = np.array([handbook().hive_types[one].tare.value for one in place.hives])[:, None]
    return np.asarray(np.logical_and.accumulate(place.gross > empty + DEAD, axis=1))


def _write_scales(season: Season, used: list[Way]) -> None:
    step = DIVISION if season.unit == "kg" else 2 * DIVISION
    for way in used:
        if way.code:
            kind = handbook().methods[way.how].scale_kind
            capacity = round(150 / season.per)
            season.rows["Scales"].append({"scale": way.code, "kind": kind, "capacity": capacity, "division": step})
            shown = way.shown(np.array(KNOWN)).tolist()
            for known, reading in zip(KNOWN, shown, strict=True):
                told = {"known": round(known / season.per, 2), "reading": typed(season, reading)}
                season.rows["Scale checks"].append({"date": ROUNDS[0], "scale": way.code, **told})


def typed(season: Season, kilograms: float) -> float:
    """A mass as it is read off a scale of the book's unit."""
    step = DIVISION if season.unit == "kg" else 2 * DIVISION
    return round(round(kilograms / season.per / step) * step, 1)


def _write(season: Season, place: Apiary, hand: str, member: str, rng: np.random.Generator) -> None:
    codes = [f"{place.name} H{hive}" for hive in range(len(place.hives))]
    season.rows["Apiaries"].append({"apiary": place.name, "member": member, "profile": season.region})
    lives = alive(place)
    on_top = [str(rng.choice(ON_TOP)) if rng.random() < ON_TOP_SHARE else "" for _ in codes]
    for code, kind in zip(codes, place.hives, strict=True):
        season.rows["Colonies"].append({"colony": code, "apiary": place.name, "hive_type": kind, "stand": "solid"})
    bias = rng.normal(0, LIFT_BIAS)
    for at, day in enumerate(place.days):
        stands = place.gross[:, at] + [handbook().extras[one].mass.value if one else 0.0 for one in on_top]
        pair = place.way.readings(stands, rng)
        fed_today = [one for one in place.rounds if one.day == day]
        for hive in np.flatnonzero(lives[:, at]).tolist():
            code = codes[hive]
            row: dict[str, object] = {"date": day, "colony": code, "by": hand, "how": place.way.how}
            row |= {f"reading_{n + 1}": typed(season, part[hive]) for n, part in enumerate(pair) if part[hive] > 0}
            row |= {"extra_1": on_top[hive] or None, "scale": place.way.code or None, "feed_left": 0.0}
            if any(one.given[hive] for one in fed_today):
                row["occasion"] = "after feed"
            if season.missing:
                row |= {"feed_left": None, "occasion": None}
            if place.name.endswith("3"):
                row["heft"] = round(stands[hive] * float(np.exp(rng.normal(bias, LIFT_SPREAD))) / season.per)
            season.rows["Weighings"].append(row)
    for one in place.rounds:
        for hive in np.flatnonzero(one.given).tolist():
            feed = {"feed_kind": FEED, "amount": round(one.mass / season.per, 1), "unit": season.unit}
            season.rows["Feedings"].append({"date": one.day, "colony": codes[hive], **feed})
    _write_winter(season, place, codes, hand, rng)


def _write_winter(season: Season, place: Apiary, codes: list[str], hand: str, rng: np.random.Generator) -> None:
    """Rounds of an apiary in three and what became of its colonies, where spring weights are known."""
    last, lives = place.gross[:, -1], alive(place)[:, -1]
    for hive in np.flatnonzero(lives).tolist():
        code = codes[hive]
        if place.name.endswith(("1", "4", "7")):
            guess = round(last[hive] * float(np.exp(rng.normal(0, LIFT_SPREAD))) / season.per)
            round_day = max(date(2027, 1, 10), place.days[-1]) if place.days[-1].year > WINTER else date(2026, 11, 20)
            season.rows["Winter rounds"].append({"date": round_day, "colony": code, "by": hand, "heft": guess})
        if place.days[-1].year > WINTER:
            told = {"outcome": "wintered", "spring_gross": typed(season, last[hive] + rng.normal(0, 0.3))}
            season.rows["After winter"].append({"date": place.days[-1], "colony": code, **told})
