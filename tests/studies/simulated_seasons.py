"""Simulated books of clubs that leave out or mistake a few things, to see what the mass balance makes of them.

The reader of the book is told what the members would have typed, and nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.book.memory import raw_book
from apiarybook.book.si_frames import si
from apiarybook.book.tables import read_book
from apiarybook.club.blank import new_settings, new_tables
from apiarybook.handbook import handbook
from apiarybook.layout import BOOK
from apiarybook.reckon.balance import slips
from apiarybook.reckon.balance.causes import FED, LEFT_ON, OTHER_COLONY, ROBBED
from apiarybook.reckon.core.arrays import figure
from apiarybook.reckon.core.winter import serial
from apiarybook.reckon.season import Season, reckon_season
from tests.studies.simulated_hives import (
    DIVISION,
    FEED,
    KNOWN,
    REGION,
    ROUNDS,
    WINTER,
    Apiary,
    Way,
    apiary,
    ways,
    weighs,
)
from tests.studies.worlds import book_world

if TYPE_CHECKING:
    from collections.abc import Callable

    from apiarybook.reckon.core.arrays import Floats
    from tests.studies.worlds import World

AS_AT = date(2027, 4, 1)
SLIP = "slip of the pen"
CAUSES = (FED, ROBBED, LEFT_ON, OTHER_COLONY, SLIP)
LAST_ROBBED = date(2026, 11, 10)
"""No robbing between weighings of which the first is later."""
SHEETS = ("Weighings", "Feedings", "Colonies", "Apiaries", "Scales", "Scale checks")


@dataclass(frozen=True, slots=True)
class Habits:
    """What happens in a club, as shares [1] and as bounds of masses [kg].

    Attributes:
        disturbed: colonies to which something happens in one interval, each cause as often as any other.
        of_round: unwritten feeds that are those of a feeding round, the others are of any mass on any day.
        listed: things left on that stand on the list of extras, the others are of any mass.
        listed_spread: spread of their mass about the list's.
        stays_on: things left on that are still there, unwritten, at all later weighings.
        swapped: slips that swap two digits, the others change one.
        fed: least and most mass of a feed of its own.
        robbed: least and most mass that is robbed.
        left_on: least and most mass of a thing that is not listed.
    """

    disturbed: float = 0.3
    of_round: float = 0.7
    listed: float = 0.7
    listed_spread: float = 0.15
    stays_on: float = 0.5
    swapped: float = 0.5
    fed: tuple[float, float] = (1.0, 9.0)
    robbed: tuple[float, float] = (1.0, 10.0)
    left_on: tuple[float, float] = (1.0, 12.0)


USUAL = Habits()
ODD = Habits(of_round=0.2, listed=0.2, listed_spread=0.3, stays_on=0.9, swapped=0.1)
"""Clubs in which things go otherwise than the handbook thinks: what its beliefs are worth there."""


@dataclass(slots=True)
class Typed:
    """One apiary as typed: both readings by hive and weighing, feeds that are missing, and what was planted."""

    first: Floats
    second: Floats
    unwritten: set[tuple[int, date]] = field(default_factory=set)
    planted: list[tuple[int, int, str, float]] = field(default_factory=list)


@cache
def _lists() -> dict[str, pd.DataFrame]:
    tables = {name: frame.dropna(how="all") for name, frame in new_tables(REGION, "kg", "t").items()}
    book = read_book(raw_book(tables, new_settings("", WINTER, REGION, "kg"), {}))
    return si(book)


def _frame(sheet: str, rows: list[dict[str, object]]) -> pd.DataFrame:
    frame = pd.DataFrame(rows).reindex(columns=_lists()[sheet].columns).assign(held="")
    frame.index = pd.RangeIndex(2, 2 + len(frame))
    for column in BOOK[sheet].typed:
        if column.numeric and column.key != "heft":
            frame[column.key] = frame[column.key].astype(np.float64)
        elif column.key == "date":
            frame[column.key] = pd.to_datetime(frame[column.key])
    return frame


@dataclass(slots=True)
class Event:
    """Where something happens: the hive, the number of the weighing after it, and the true gross that it changes."""

    place: Apiary
    gross: Floats
    typed: Typed
    hive: int
    at: int
    habits: Habits
    rng: np.random.Generator

    @property
    def between(self) -> tuple[date, date]:
        """The days of the weighings before and after."""
        return self.place.days[self.at - 1], self.place.days[self.at]


def _unwritten_feed(event: Event) -> float:
    """A feed that is not written down: that of a round, else one of its own."""
    (first, last), rng = event.between, event.rng
    mine = [one for one in event.place.rounds if first < one.day < last and one.given[event.hive]]
    if mine and rng.random() < event.habits.of_round:
        one = mine[int(rng.integers(len(mine)))]
        event.typed.unwritten.add((event.hive, one.day))
        return weighs(one.mass, one.day, serial(last))
    day, mass = first + timedelta(days=int(rng.integers(1, (last - first).days))), float(rng.uniform(*event.habits.fed))
    event.gross[event.hive] += [weighs(mass, day, serial(then)) for then in event.place.days]
    return weighs(mass, day, serial(last))


def _robbing(event: Event) -> float:
    """Stores carried off before the winter."""
    if event.between[0] > LAST_ROBBED:
        return 0.0
    mass = float(event.rng.uniform(*event.habits.robbed))
    event.gross[event.hive, event.at :] -= mass
    return -mass


def _thing_left_on(event: Event) -> float:
    """A thing left on for one weighing or for all that follow."""
    rng, habits = event.rng, event.habits
    listed = _lists()["Extras"]["mass"].dropna().to_numpy(dtype=np.float64)
    listed = listed[listed >= habits.left_on[0]]
    if rng.random() < habits.listed:
        mass = float(rng.choice(listed) * rng.normal(1.0, habits.listed_spread))
    else:
        mass = float(rng.uniform(*habits.left_on))
    last = None if rng.random() < habits.stays_on else event.at + 1
    event.gross[event.hive, event.at : last] += mass
    return mass


_HAPPENS: dict[str, Callable[[Event], float]] = {FED: _unwritten_feed, ROBBED: _robbing, LEFT_ON: _thing_left_on}


def _type(place: Apiary, habits: Habits, rng: np.random.Generator) -> Typed:
    """Let something happen in some of the hives, then let the members weigh and write."""
    gross = place.gross.copy()
    count, many = gross.shape
    typed = Typed(gross, gross)
    disturbed = np.flatnonzero(rng.random(count) < habits.disturbed).tolist()
    written: list[tuple[Event, str]] = []
    for hive in disturbed:
        event, cause = (
            Event(place, gross, typed, hive, int(rng.integers(1, many)), habits, rng),
            str(rng.choice(CAUSES)),
        )
        if cause not in _HAPPENS:
            written.append((event, cause))
        elif mass := _HAPPENS[cause](event):
            typed.planted.append((hive, event.at, cause, mass))
    read = [place.way.readings(gross[:, at], rng) for at in range(many)]
    typed.first, typed.second = (np.column_stack([pair[number] for pair in read]) for number in (0, 1))
    busy = set(disturbed)
    for event, cause in written:
        if cause == SLIP:
            _slip(event)
        else:
            _mix_up(event, busy)
    return typed


def _slip(event: Event) -> None:
    """One digit of a reading wrong, or two swapped, so that the hive could still weigh that."""
    typed, where, rng = event.typed, (event.hive, event.at), event.rng
    first, second = float(typed.first[where]), float(typed.second[where])
    text = slips.written(first)
    swapped = rng.random() < event.habits.swapped
    sound = [one for one in (slips.swapped(text) if swapped else slips.changed(text)) if one > 0]
    if not sound:
        return
    wrong = float(rng.choice(sound))
    whole = (wrong + float(np.nan_to_num(second))) / event.place.way.slope
    hive = handbook().hive_types[event.place.hives[event.hive]]
    most = hive.tare.value + hive.bees.value + hive.pollen.value + hive.comb_full + figure("over_comb_full")
    apart = max(wrong, second) > figure("sides_ratio") * min(wrong, second)
    if hive.tare.value < whole < most and not apart:
        typed.first[where] = wrong
        typed.planted.append((*where, SLIP, wrong - first))


def _mix_up(event: Event, busy: set[int]) -> None:
    """The rows of two hives swapped on one day; nothing else happens to the other one."""
    free = [hive for hive in range(len(event.gross)) if hive not in busy]
    if not free:
        return
    hive, other, at = event.hive, int(event.rng.choice(free)), event.at
    busy.add(other)
    for readings in (event.typed.first, event.typed.second):
        readings[[hive, other], at] = readings[[other, hive], at]
    moved = float(event.gross[other, at] - event.gross[hive, at])
    event.typed.planted += [(hive, at, OTHER_COLONY, moved), (other, at, OTHER_COLONY, -moved)]


def _scale_rows(used: list[Way]) -> tuple[list[dict[str, object]], list[dict[str, object]]]:
    """Rows of the sheets Scales and Scale checks."""
    listed: list[dict[str, object]] = []
    checks: list[dict[str, object]] = []
    for way in used:
        if way.code:
            kind = handbook().methods[way.how].scale_kind
            listed.append({"scale": way.code, "kind": kind, "capacity": 100.0, "division": DIVISION})
            shown = way.shown(np.array(KNOWN)).tolist()
            check = {"date": ROUNDS[0], "scale": way.code}
            checks += [
                check | {"known": known, "reading": reading} for known, reading in zip(KNOWN, shown, strict=True)
            ]
    return listed, checks


def _write(place: Apiary, typed: Typed, sheets: dict[str, list[dict[str, object]]]) -> list[dict[str, object]]:
    """Put one apiary into the sheets; give what was planted with the positions of its rows."""
    codes = [f"{place.name} H{hive}" for hive in range(len(place.hives))]
    sheets["Apiaries"].append({"apiary": place.name, "profile": REGION})
    for code, kind in zip(codes, place.hives, strict=True):
        sheets["Colonies"].append({"colony": code, "apiary": place.name, "hive_type": kind, "stand": "solid"})
    first_row = len(sheets["Weighings"])
    told = {"by": "Ann", "how": place.way.how, "scale": place.way.code or None, "feed_left": 0.0}
    for hive, code in enumerate(codes):
        for at, day in enumerate(place.days):
            readings = {"reading_1": typed.first[hive, at], "reading_2": typed.second[hive, at]}
            sheets["Weighings"].append({"date": day, "colony": code, **told, **readings})
    for one in place.rounds:
        for hive in np.flatnonzero(one.given).tolist():
            if (hive, one.day) not in typed.unwritten:
                feed = {"feed_kind": FEED, "amount": one.mass, "unit": "kg"}
                sheets["Feedings"].append({"date": one.day, "colony": codes[hive], **feed})
    return [
        {"colony": codes[hive], "row_2": first_row + hive * len(place.days) + at, "cause": cause, "mass": mass}
        for hive, at, cause, mass in typed.planted
    ]


def simulate(
    seed: int, apiaries: int, habits: Habits = USUAL, world: World | None = None, hives: int = 8
) -> tuple[Season, pd.DataFrame]:
    """Simulate one club's season and reckon its book.

    Args:
        seed: of the random numbers.
        apiaries: how many.
        habits: what happens in the club.
        world: what colonies live in; the book's own if not given.
        hives: colonies in each apiary.

    Returns:
        the season as reckoned from the book, and what was planted: colony, row_2 (position of the later weighing),
        cause, and mass, what it adds to the residual or to a reading [kg].
    """
    rng = np.random.default_rng(seed)
    sheets: dict[str, list[dict[str, object]]] = {name: [] for name in SHEETS}
    used = ways(rng)
    sheets["Scales"], sheets["Scale checks"] = _scale_rows(used)
    planted = []
    for number in range(apiaries):
        place = apiary(f"P{number}", hives, used, rng, world or book_world())
        planted += _write(place, _type(place, habits, rng), sheets)
    frames = _lists() | {name: _frame(name, rows) for name, rows in sheets.items()}
    season = reckon_season(frames, new_settings("", WINTER, REGION, "kg"), serial(AS_AT))
    return season, pd.DataFrame(planted, columns=["colony", "row_2", "cause", "mass"])
