"""How often the outlook's band holds the true stores: simulated winters, and the page that shows the table.

Run ``python -m tests.studies.outlook_coverage`` to print its page.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from typing import TYPE_CHECKING
from unittest.mock import patch

import numpy as np
import pandas as pd

from apiarybook.handbook.half_months import HALF_MONTHS, half_month
from apiarybook.layout import BOOK
from apiarybook.reckon.core.arrays import Floats, figure
from apiarybook.reckon.core.consumption import size
from apiarybook.reckon.core.winter import serial, winter
from apiarybook.reckon.outlook import rate
from apiarybook.reckon.outlook.till_flow import half_month_days
from apiarybook.reckon.season import reckon_season
from tests.studies.worlds import FOREIGN, book_world

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from apiarybook.reckon.season import Season
    from tests.studies.worlds import World

SEED = 20_261_101
CLUBS, COLONIES = 400, 20
"""Clubs of a row, and colonies of each; each club has a winter of its own."""
YEAR = 2026
OF_A_HAND, OF_A_PLACE = 5, 10
"""Colonies that one person hefts, and that stand at one place."""
FIVE = 5
WEIGHED, JANUARY = date(YEAR, 10, 15), date(YEAR + 1, 1, 10)
DAYS = (date(YEAR, 10, 25), date(YEAR + 1, 1, 12), date(YEAR + 1, 2, 20))
"""Days for which the outlook is asked."""
REGIONS = {
    "british-isles": "National single",
    "scandinavia": "Langstroth single deep",
    "north-america-north": "Langstroth double deep",
}
HOME = "british-isles"
STORES = (16.0, 32.0)
"""Lowest and highest stores on the day of the autumn weighing [kg]."""
HALF_PERCENT = 0.005
"""Half-width of the error of the simulated scale: one as good as most, never checked."""
HARDEST = 0.9
"""Winters beyond this quantile of how much is eaten are the hardest tenth."""


@dataclass(frozen=True, slots=True)
class Plan:
    """What is done in a simulated winter: days of full lifts, of lifts of five colonies, and of hefts on rounds."""

    name: str
    lifts: tuple[date, ...]
    of_five: tuple[date, ...]
    rounds: tuple[date, ...]


PLANS = (
    Plan("weighed once, in October", (WEIGHED,), (), ()),
    Plan("five of the club weighed in January", (WEIGHED,), (JANUARY,), ()),
    Plan("hefted on rounds as well", (WEIGHED,), (), tuple(date(YEAR, 12, 1) + timedelta(21 * n) for n in range(4))),
    Plan("all weighed in December and February", (WEIGHED, date(YEAR, 12, 10), date(YEAR + 1, 2, 10)), (), ()),
)


@dataclass(frozen=True, slots=True)
class Truth:
    """What the colonies of many clubs are, stores and gross on every day of the calendar, shape (days, colonies).

    All clubs stand in one book; `club` and `place` say whose and where each colony is, `winter` what its club's winter
    made colonies eat.
    """

    world: World
    first: float
    stores: Floats
    gross: Floats
    floor: float
    winter: Floats
    club: NDArray[np.int64]
    place: NDArray[np.int64]

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
    return si(book)


def clubs_of(world: World, region: str, clubs: int, count: int, rng: np.random.Generator) -> Truth:
    """Draw the colonies of clubs, all of a region's usual hive."""
    types, months = _lists(region)["Hive types"].set_index("name"), winter(YEAR)
    hive, column = types.loc[REGIONS[region]], months.profiles.index(region)
    club, every, days = np.repeat(np.arange(clubs), count), clubs * count, len(months.eaten)
    at_club = np.arange(count) // OF_A_PLACE
    drawn = [world.rates(at_club, days, rng) for _ in range(clubs)]
    rates = np.hstack([one for one, _ in drawn])
    daily = np.diff(months.eaten[:, column], append=months.eaten[-1, column])
    appetite = float(size(hive["bees"]))
    eaten = np.vstack([np.zeros(every), np.cumsum(daily[:, None] * appetite * rates, axis=0)[:-1]])
    weighed = int(serial(WEIGHED) - months.first)
    stores = rng.uniform(*STORES, every) + eaten[weighed] - eaten
    dwindled = 1 + rng.normal(0, world.bees, clubs)[club] * (months.bees[:, [column]] - 1)
    bees = hive["bees"] * np.maximum(0.2, rng.normal(1, figure("bees_spread"), every)) * dwindled
    bees = bees * months.bees[:, [column]]
    frame = 2 * figure("brood_reference_side") * figure("brood_share") * figure("brood_mass_per_side")
    brood = months.brood[:, [column]] * hive["bees"] / figure("reference_bees") * frame
    brood = brood * np.maximum(0.0, rng.normal(1, figure("brood_spread"), every))
    pollen = hive["pollen"] * np.maximum(0.0, rng.normal(1, figure("pollen_spread"), every))
    tare = rng.normal(hive["tare"], hive["tare_spread"], every) + world.damp(np.arange(days), every, rng)
    return Truth(
        world=world,
        first=months.first,
        stores=stores,
        gross=tare + bees + brood + pollen + np.maximum(0.0, stores),
        floor=figure("reserve_floor") * appetite,
        winter=np.array([hard for _, hard in drawn])[club],
        club=club,
        place=club * (int(at_club.max()) + 1) + np.tile(at_club, clubs),
    )


def _rows(truth: Truth, days: tuple[date, ...], told: dict[str, Floats], those: NDArray[np.bool_]) -> pd.DataFrame:
    numbers = np.arange(len(truth.club))
    names, hands = [f"H{one}" for one in numbers], [f"Hand {one // OF_A_HAND}" for one in numbers]
    parts = [
        pd.DataFrame({"date": pd.Timestamp(day), "colony": names, "by": hands} | {key: told[key][n] for key in told})[
            those
        ]
        for n, day in enumerate(days)
    ]
    return pd.concat(parts, ignore_index=True) if parts else pd.DataFrame({"colony": pd.Series(dtype=object)})


def _read(truth: Truth, days: tuple[date, ...], scale: Floats, rng: np.random.Generator) -> dict[str, Floats]:
    gross = truth.gross[np.array([serial(day) - truth.first for day in days], dtype=np.int64)]
    drift = rng.normal(0, truth.world.drift, (len(days), int(truth.club.max()) + 1))[:, truth.club]
    lifted = gross + rng.normal(0, figure("hanging_heavy_u"), gross.shape)
    return {"reading_1": np.round(lifted * scale[truth.club] + drift, 1)}


def _guess(truth: Truth, days: tuple[date, ...], rng: np.random.Generator) -> dict[str, Floats]:
    gross = truth.gross[np.array([serial(day) - truth.first for day in days], dtype=np.int64)]
    hands = -(-gross.shape[1] // OF_A_HAND)
    bias = np.repeat(rng.normal(0, figure("hand_bias_spread"), hands), OF_A_HAND)[: gross.shape[1]]
    return {"heft": np.round(gross * np.exp(bias + rng.normal(0, figure("hand_spread"), gross.shape)), 1)}


def frames_of(region: str, plan: Plan, truth: Truth, rng: np.random.Generator) -> dict[str, pd.DataFrame]:
    """The typed sheets of a simulated winter."""
    frames = dict(_lists(region))
    scale = 1 + rng.uniform(-HALF_PERCENT, HALF_PERCENT, int(truth.club.max()) + 1)
    everyone = np.ones(len(truth.club), dtype=np.bool_)
    of_club = np.arange(len(truth.club)) - np.searchsorted(truth.club, truth.club)
    weighed = [
        _rows(truth, plan.lifts, _read(truth, plan.lifts, scale, rng), everyone),
        _rows(truth, plan.of_five, _read(truth, plan.of_five, scale, rng), of_club < FIVE),
    ]
    rows = {
        "Apiaries": pd.DataFrame({"apiary": [f"A{one}" for one in np.unique(truth.place)], "profile": region}),
        "Colonies": pd.DataFrame(
            {
                "colony": [f"H{number}" for number in range(len(truth.club))],
                "apiary": [f"A{one}" for one in truth.place],
                "hive_type": REGIONS[region],
            }
        ),
        "Weighings": pd.concat(weighed, ignore_index=True).assign(how="full lift", feed_left=0.0),
    }
    if plan.rounds:
        rows["Winter rounds"] = _rows(truth, plan.rounds, _guess(truth, plan.rounds, rng), everyone)
    for name, found in rows.items():
        numeric = [column.key for column in BOOK[name].typed if column.numeric]
        whole = found.reindex(columns=frames[name].columns).assign(held="")
        frames[name] = whole.astype(dict.fromkeys(numeric, np.float64))
    return frames


def season_of(region: str, frames: dict[str, pd.DataFrame], truth: Truth, as_at: date) -> Season:
    """Reckon the one book of all clubs as it stands on a day; what a winter makes colonies eat is learnt by club."""
    from apiarybook.club.blank import new_settings

    with patch.object(rate, "winters", lambda _: truth.club + 1):
        found = reckon_season(frames, new_settings("", YEAR, region, "kg"), serial(as_at))
        assert len(found.till_the_flow) == len(truth.club)  # reckoned now, while each club has a winter of its own
    return found


def coverage(
    worlds: tuple[World, ...],
    *,
    region: str = HOME,
    seed: int = SEED,
    clubs: int = CLUBS,
    colonies: int = COLONIES,
    plans: tuple[Plan, ...] = PLANS,
) -> pd.DataFrame:
    """Simulate winters and count how often the outlook held.

    Args:
        worlds: what colonies live in.
        region: winter profile.
        seed: of the random numbers.
        clubs: how many in each world and plan.
        colonies: of each club.
        plans: what is done in the winter.

    Returns:
        one row a world, plan and day: world, plan, as_at, told (stores foretold), held (share inside the 80 % band),
        under and over (shares below and above it), late (share of colonies that reached the floor before a 10 % day
        that is not yet today), late_hard (the same in the hardest tenth of winters) and width (of the band at the
        last half-month, kg).
    """
    rows = []
    for world in worlds:
        for plan in plans:
            rng = np.random.default_rng(seed)
            truth = clubs_of(world, region, clubs, colonies, rng)
            frames = frames_of(region, plan, truth, rng)
            named = {"world": world.name, "plan": plan.name}
            rows += [
                {**named, "as_at": as_at, **_held(season_of(region, frames, truth, as_at), truth, as_at)}
                for as_at in DAYS
            ]
    return pd.DataFrame(rows)


def _held(found: Season, truth: Truth, as_at: date) -> dict[str, float]:
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
    late = (truth.floor_day() < last) & (last > serial(as_at))
    hardest = truth.winter >= np.quantile(truth.winter, HARDEST)
    return {
        "told": told,
        "held": 1 - (under + over) / told,
        "under": under / told,
        "over": over / told,
        "late": float(late.mean()),
        "late_hard": float(late[hardest].mean()),
        "width": width,
    }


WORLDS = (book_world(), *FOREIGN)


def page() -> str:
    """Make the page of the guide: what was simulated, and the table of coverage.

    Returns:
        Markdown; the same on every run.
    """
    found = coverage(WORLDS)
    rows = [
        f"| {row['world']} | {row['plan']} | {row['as_at'].isoformat()} | {100 * row['held']:.0f} "
        f"| {100 * row['under']:.0f} | {100 * row['over']:.0f} | {100 * row['late']:.0f} "
        f"| {100 * row['late_hard']:.0f} | {row['width']:.1f} |"
        for row in found.to_dict("records")
    ]
    foreign = found[found["world"] != WORLDS[0].name]
    told = WORST.format(
        least=100 * foreign["held"].min(),
        most=100 * foreign["held"].max(),
        late=100 * foreign["late"].max(),
        hard=100 * foreign.loc[(foreign["plan"] == PLANS[1].name) & (foreign["as_at"] >= JANUARY), "late_hard"].max(),
    )
    return INTRODUCTION.format(clubs=CLUBS, colonies=COLONIES, seed=SEED) + "\n".join(rows) + "\n" + told


INTRODUCTION = """# How far the outlook can be trusted

The sheet Till the flow gives each colony's stores by half-month with a band that should hold the true stores eight
times in ten, and the day to which nine in ten last. This table shows how often they did in simulated winters: in a
world as the handbook holds it, which checks the arithmetic only, and in three worlds drawn by other laws. It is no
measurement of bees.

{clubs} clubs of {colonies} colonies in each row, seed {seed}; each club has a winter of its own, which makes all its
colonies eat more or less. The worlds: *shared winters*, where winters differ by 0.3, places by 0.15, colonies by 0.38,
months by 0.15 for all alike and 0.15 for each; *wet wood, drifting scales*, where from October to January wood takes up
0.7 kg that nobody wrote down, bees dwindle otherwise than foretold, and a scale is off by 0.3 kg another way each day;
*heavy tails*, where a few colonies eat far more or less than the rest. Scales were never checked, hands never tried.
Shares are of all half-months from that day to the flow; the hardest winters are the tenth in which most was eaten.

| world | what was done | on | held, of 100 | less | more | 10 % day too late | in the hardest winters | \
band at the flow, kg |
| --- | --- | --- | ---: | ---: | ---: | ---: | ---: | ---: |
"""
WORST = """
In the three other worlds {least:.0f} to {most:.0f} of 100 held row by row, and the 10 % day was too late for at most
{late:.0f} of 100 colonies; in the hardest winters, once five hives of the club were weighed in January, for at most
{hard:.0f}.
"""


if __name__ == "__main__":
    print(page())  # noqa: T201 - a study prints
