"""An invented winter: colonies eat, some are fed in time, some starve or are lost otherwise, the rest are weighed."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from apiarybook.demo.club import KEEPERS, TUTOR, UNITED, YEAR, Row, Rows
from apiarybook.demo.season import SEED, WINTER_STARTS, dated, lay_slab, weigh

if TYPE_CHECKING:
    from numpy.random import Generator

    from apiarybook.demo.season import Hive

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
