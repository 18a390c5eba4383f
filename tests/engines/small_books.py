"""Small books filled at random: an invented club whose few rows hold everything that a row can hold."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.book.memory import raw_book
from apiarybook.book.settings import reckoned_day
from apiarybook.book.si_frames import si
from apiarybook.book.tables import read_book
from apiarybook.checks.loop import check_book
from apiarybook.club.blank import new_settings, new_tables
from apiarybook.handbook import handbook
from apiarybook.layout import BOOK, words
from apiarybook.reckon.core.winter import serial
from apiarybook.reckon.season import reckon_season
from apiarybook.writers.content import Content

if TYPE_CHECKING:
    from collections.abc import Sequence
    from random import Random

Row = dict[str, object]
WINTER = 2026
HEAVY, THIN = 45.0, 5.0
"""Readings are drawn from a nucleus that is nearly empty to a hive that is full [kg]."""
COLONIES = 8
"""Of a book made for an engine that starts at once."""
POUND = 0.45359237
"""Kilograms in a pound (international avoirdupois pound, exact)."""
REGIONS = ("british-isles", "central-europe", "france-south-europe", "scandinavia", "north-america-north")
HIVES = tuple(handbook().hive_types)
FEEDS = tuple(handbook().feeds)
EXTRAS = tuple(handbook().extras)
AS_AT = (
    date(2026, 7, 20),
    date(2026, 8, 1),
    date(2026, 8, 28),
    date(2026, 9, 20),
    date(2026, 9, 25),
    date(2026, 10, 17),
    date(2026, 10, 31),
    date(2026, 11, 1),
    date(2026, 12, 24),
    date(2027, 2, 28),
    date(2027, 4, 19),
    date(2027, 4, 20),
    date(2027, 6, 1),
    date(2027, 11, 1),
)
"""Days on which the model turns, days between, out of season, in winter, and after the calendar's end."""


class Draw:
    """Draws cells.

    `now` is the day for which the book is to be reckoned, `kg` what one of its units of mass is, `colonies` how many
    there are.
    """

    def __init__(self, rng: Random, now: date, kg: float, colonies: int) -> None:
        self.rng, self.now, self.kg, self.colonies = rng, now, kg, colonies

    def one(self, options: Sequence[object]) -> object:
        return options[self.rng.randrange(len(options))]

    def seldom(self, value: object, one_in: int = 4) -> object:
        return value if self.rng.randrange(one_in) == 0 else None

    def mostly(self, value: object, otherwise: object = None, one_in: int = 20) -> object:
        return otherwise if self.rng.randrange(one_in) == 0 else value

    def between(self, low: float, high: float, decimals: int = 1) -> float:
        return round(low + (high - low) * self.rng.randrange(1001) / 1000, decimals)

    def mass(self, low: float, high: float) -> float:
        return round(self.between(low, high, 2) / self.kg, 2)

    def day(self) -> date:
        """Usually within the last weeks, sometimes later than as-at or months before."""
        back = self.one((0, 1, 1, 2, 2, 3, 5, 5, 8, 8, 13, 20, 21, 22, 40, 150, -1, -9))
        return self.now - timedelta(days=int(str(back)))

    def colony(self) -> object:
        return self.mostly(f"H{self.rng.randrange(self.colonies) + 1}", self.one(("h1", "H 99", None)))


def colony(draw: Draw, number: int) -> Row:
    return {
        "colony": f"H{number}",
        "apiary": draw.mostly(draw.one(("A1", "A2", "a3")), draw.one(("A9", None))),
        "hive_type": draw.mostly(draw.one(HIVES), draw.one(("Natonal", None))),
        "takes_fondant": draw.mostly(draw.one(words.YES_NO), draw.one(("perhaps", None))),
        "reached": draw.mostly(draw.one(words.REACHES), draw.one(("on foot", None))),
        "state": draw.seldom(draw.one((*words.STATES, "alive")), 6),
        "own_tare": draw.seldom(draw.mass(4, 30)),
        "stand": draw.seldom(draw.one(words.STANDS), 2),
        "rail_inset": draw.seldom(draw.between(0, 0.4, 2), 2),
        "stand_factor": draw.seldom(draw.between(1.9, 2.8, 2), 3),
        "feeder_holds": draw.seldom(draw.between(0.5, 12)),
    }


def weighing(draw: Draw) -> Row:
    how = draw.one(words.WAYS)
    counted = how == "frames of food counted"
    first = draw.between(0, 14) if counted else draw.mass(THIN, HEAVY)
    guess = draw.one((*words.HEFT_WORDS, "Light", draw.mass(THIN, HEAVY), draw.mass(THIN, HEAVY)))
    return {
        "date": draw.mostly(draw.day(), draw.one((None, "last week", "2026-09-31"))),
        "colony": draw.colony(),
        "by": draw.one(("Ann", "Bo", None)),
        "how": draw.mostly(how, draw.one(("by eye", None))),
        "reading_1": None if how == "heft" else draw.mostly(first, draw.one((None, "21,5", "?", 400.0))),
        "reading_2": draw.mostly(draw.mass(THIN, HEAVY)) if how == "two sides" else draw.seldom(first, 5),
        "heft": draw.mostly(guess, draw.one((None, "fat"))) if how == "heft" else draw.seldom(guess, 6),
        "feed_left": draw.one((0.0, None, draw.mass(0, 3))),
        "occasion": draw.one((*words.OCCASIONS, None, None)),
        "scale": draw.seldom(draw.mostly(draw.one(("S1", "S2", "S3")), "S9"), 2),
        "hive_type_then": draw.seldom(draw.mostly(draw.one(HIVES), "no such hive"), 8),
        "extra_1": draw.seldom(draw.one(EXTRAS), 3),
        "extra_2": draw.seldom(draw.mostly(draw.one(EXTRAS), "piano"), 4),
        "other_extra": draw.seldom(draw.mass(0, 3), 6),
        "hive_is": draw.seldom(draw.one(words.HIVE_IS), 3),
        "flow_on": draw.seldom(draw.one(words.YES_NO)),
        "frames_bees": draw.seldom(draw.between(0, 20), 3),
        "frames_brood": draw.seldom(draw.between(0, 8), 3),
    }


def feeding(draw: Draw) -> Row:
    mixed = draw.rng.randrange(4) == 0
    unit = draw.one(words.AMOUNT_UNITS)
    most = {"g": 5000.0, "oz": 200.0}.get(str(unit), 6.0)
    return {
        "date": draw.mostly(draw.day(), draw.one((None, "yesterday"))),
        "colony": draw.colony(),
        "feed_kind": draw.mostly(draw.one(FEEDS), draw.one(("treacle", None))),
        "amount": None if mixed and draw.rng.randrange(2) else draw.mostly(draw.between(0, most, 2), "some"),
        "unit": draw.mostly(unit, draw.one(("bucket", None))),
        "taken_back": draw.seldom(draw.one(words.YES_NO), 5),
        "sugar": draw.mass(0, 4) if mixed else draw.seldom(draw.mass(0, 4), 12),
        "water": draw.mass(0, 3) if mixed else None,
        "warmest": draw.seldom(draw.between(-3, 25), 3),
    }


def move(draw: Draw) -> Row:
    into = draw.one((*HIVES[:4], "A1", "A2", "a3", draw.colony(), draw.colony()))
    return {"date": draw.day(), "colony": draw.colony(), "what": draw.one((*words.MOVES, "united into")), "into": into}


def winter_round(draw: Draw) -> Row:
    guess = draw.one((*words.HEFT_WORDS, draw.mass(THIN, HEAVY)))
    return {
        "date": draw.mostly(draw.day()),
        "colony": draw.colony(),
        "by": draw.one(("Ann", "Bo", None)),
        "heft": draw.mostly(guess, draw.one((None, "fat")), 4),
        "fondant_left": draw.seldom(draw.one(words.FONDANT_LEFT), 2),
        "flying": draw.seldom(draw.one(words.YES_NO), 2),
    }


def check(draw: Draw) -> Row:
    known = draw.one((10.0, 20.0, 20.0, 30.0))
    reading = round(float(str(known)) * draw.between(0.96, 1.05, 3), 2)
    scale = draw.one(("S1", "S1", "S2"))
    return {"date": date(2026, 7, 5), "scale": scale, "known": known, "reading": reading}


def apiary(draw: Draw, number: int) -> Row:
    profile = draw.one(tuple(handbook().profiles))
    return {
        "apiary": f"A{number}",
        "member": draw.mostly(draw.one(("M1", "M2")), "M9"),
        "profile": draw.mostly(profile, "the moon", 30),
        "winter_starts": draw.seldom(date(2026, 10, 25)),
        "last_liquid_day": draw.seldom(date(2026, 9, 20)),
        "feed_reaches": draw.seldom(date(2027, 3, 8)),
        "flow": draw.seldom(date(2027, 4, 28)),
    }


def rows_of(draw: Draw) -> dict[str, list[Row]]:
    count = draw.rng.randrange
    kinds = [{"scale": f"S{n}", "kind": draw.one((*words.SCALE_KINDS, None))} for n in (1, 2, 3)]
    return {
        "Members": [{"member": "M1", "name": "Ann", "orders": "yes"}, {"member": "M2", "name": "Bo", "orders": "no"}],
        "Apiaries": [apiary(draw, number) for number in (1, 2, 3)],
        "Colonies": [colony(draw, number) for number in range(1, draw.colonies + 1)],
        "Weighings": [weighing(draw) for _ in range(3 * draw.colonies + count(4))],
        "Feedings": [feeding(draw) for _ in range(3 * draw.colonies // 2 + count(6))],
        "Moves": [move(draw) for _ in range(count(draw.colonies))],
        "Winter rounds": [winter_round(draw) for _ in range(count(draw.colonies))],
        "Scales": [row | {"division": draw.seldom(0.1, 2)} for row in kinds],
        "Scale checks": [check(draw) for _ in range(count(7))],
    }


@cache
def new_rows(region: str, unit: str) -> dict[str, pd.DataFrame]:
    """The sheets of a new book without their blank rows."""
    return {name: frame.dropna(how="all") for name, frame in new_tables(region, unit, "t").items()}


def content_of(rows: dict[str, list[Row]], region: str, unit: str, as_at: date, *, also_held: bool = False) -> Content:
    """Everything that stands in a book of these rows and two blank ones a sheet; the rest as a new book has it."""
    tables = dict(new_rows(region, unit))
    for name, found in rows.items():
        keys = [column.key for column in BOOK[name].typed]
        blank: list[Row] = [{"ref": f"t-{number}"} if "ref" in keys else {} for number in (1, 2)]
        frame = pd.DataFrame([*found, *blank]).reindex(columns=keys).astype(object)
        tables[name] = frame.where(frame.notna(), None)
    for name in {"Winter rounds", "After winter"} - rows.keys():
        tables[name] = tables[name].iloc[:2]
    told = {"as_at": as_at, "autumn_feed": FEEDS[5] if unit == "lb" else FEEDS[0]}
    book = read_book(raw_book(tables, new_settings("Test", WINTER, region, unit) | told, {}))
    as_at = reckoned_day(book.settings, as_at)
    book = replace(book, settings=book.settings | {"as_at": as_at})
    held = check_book(book, as_at, {"Weighings": {4: "two alike"}} if also_held else {}).held
    frames = {
        name: frame.assign(held=[held.get(name, {}).get(int(row), "") for row in frame.index])
        for name, frame in si(book).items()
    }
    frames["Weighings"]["beyond"] = np.nan
    return Content(
        settings=book.settings,
        typed={name: book.tables[name].raw for name in tables},
        told={},
        season=reckon_season(frames, book.settings, serial(as_at)),
        held=held,
        about={"book id": "t", "layout version": "1"},
        as_at=as_at,
    )


def random_content(rng: Random, unit: str, as_at: date | None = None, colonies: int = COLONIES) -> Content:
    """A small book in a unit, everything else drawn; so is the day for which it is reckoned unless one is given."""
    now = as_at or AS_AT[rng.randrange(len(AS_AT))]
    draw = Draw(rng, now, POUND if unit == "lb" else 1.0, colonies)
    region = REGIONS[rng.randrange(len(REGIONS))]
    return content_of(rows_of(draw), region, unit, now, also_held=bool(rng.randrange(2)))
