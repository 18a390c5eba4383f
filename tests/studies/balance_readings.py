"""How often the true cause of an unexplained change is named: simulated seasons, and the page that shows the table."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.balance.slips import DIGIT, POINT, SWAPPED, UNIT
from apiarybook.reckon.core.arrays import numbers
from tests.studies.simulated_seasons import CAUSES, ODD, SLIP, USUAL, Habits, simulate
from tests.studies.worlds import FOREIGN

if TYPE_CHECKING:
    from tests.studies.worlds import World

SEED = 20_261_101
CLUBS = 25
PEN = (SWAPPED, DIGIT, POINT, UNIT)
"""Causes of the handbook that are slips of the pen."""
APIARIES = 40
LARGE, LARGE_IN_U = 2.0, 4.3
"""An event is large from this many kilograms and this many standard uncertainties of the residual on: one of three
standard uncertainties is asked about, and chance takes away more than 1.3 of them one time in ten."""


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured: `events` has a row a planted event, `clean` a row an interval of an undisturbed colony."""

    events: pd.DataFrame
    clean: pd.DataFrame

    @property
    def large(self) -> pd.DataFrame:
        """The large events."""
        return self.events[self.events["large"]]

    @property
    def asked_clean(self) -> float:
        """Share of clean intervals that are asked about."""
        return float((self.clean["standing"] == "ask").mean())


@cache
def measure(
    habits: Habits = USUAL,
    clubs: int = CLUBS,
    seed: int = SEED,
    apiaries: int = APIARIES,
    world: World | None = None,
) -> Measured:
    """Simulate clubs and look up what the balance says of each planted event.

    Args:
        habits: what happens in the clubs.
        clubs: how many.
        seed: of the random numbers.
        apiaries: apiaries of eight colonies in each club.
        world: what colonies live in; the book's own if not given.

    Returns:
        events: cause, mass, residual, residual_u, standing, first, second; named (the true cause is among the first
        two readings), asked (asked about), found (asked or noted), large; clean: standing, residual, residual_u.
    """
    events, clean = [], []
    for club in range(clubs):
        season, planted = simulate(seed + club, apiaries, habits, world)
        colony = season.standing["colony"].to_numpy()[season.balance["colony_row"] - 1]
        events.append(planted.merge(season.balance, on="row_2"))
        clean.append(season.balance[~np.isin(colony, planted["colony"])])
    found = pd.concat(events, ignore_index=True)
    told = (found[key].replace(list(PEN), SLIP) for key in ("first", "second"))
    found["named"] = np.logical_or.reduce([one == found["cause"] for one in told])
    found["asked"], found["found"] = found["standing"] == "ask", found["standing"] != ""
    mass = np.abs(numbers(found["mass"]))
    found["large"] = mass >= np.maximum(LARGE, LARGE_IN_U * numbers(found["residual_u"]))
    return Measured(found, pd.concat(clean, ignore_index=True))


def page() -> str:
    """Make the page of the guide: what was simulated, and how often the true cause was named.

    Returns:
        Markdown; the same on every run.
    """
    parts = [INTRODUCTION.format(clubs=CLUBS, apiaries=APIARIES, seed=SEED, kilograms=LARGE, times=LARGE_IN_U)]
    for title, habits in (("Clubs as the handbook thinks", USUAL), ("Clubs in which things go otherwise", ODD)):
        parts.append(_section(title, habits))
    rows = []
    for world in FOREIGN:
        clean = measure(USUAL, CLUBS // 5, world=world).clean["standing"]
        rows.append(f"| {world.name} | {len(clean)} | {(clean == 'ask').mean():.1%} | {(clean == 'note').mean():.1%} |")
    return "\n".join([*parts, ELSEWHERE, *rows]) + "\n"


def _section(title: str, habits: Habits) -> str:
    measured = measure(habits)
    large, small = measured.large, measured.events[~measured.events["large"]]
    of = [(cause, large[large["cause"] == cause], small[small["cause"] == cause]) for cause in CAUSES]
    rows = [f"| {name} | {_cells(one)} | {_cells(other)} |" for name, one, other in (*of, ("all", large, small))]
    clean = measured.clean["standing"]
    told = HABITS.format(
        title=title,
        of_round=habits.of_round,
        listed=habits.listed,
        spread=habits.listed_spread,
        stays_on=habits.stays_on,
        swapped=habits.swapped,
    )
    after = CLEAN.format(clean=len(clean), asked=(clean == "ask").mean(), noted=(clean == "note").mean())
    return told + "\n".join(rows) + "\n\n" + after


def _cells(events: pd.DataFrame) -> str:
    return f"{len(events)} | {100 * events['named'].mean():.0f} | {100 * events['found'].mean():.0f}"


INTRODUCTION = """# How far a balance of mass can be trusted

Between two weighings of a colony the book knows what was fed, what bees eat, and what was put on or taken off. What is
left over is asked about or noted with the two likeliest readings of it. This page shows how often the true one was
among the two, in simulated seasons. It checks the reckoning against invented hives; it is no measurement of people.

{clubs} clubs of {apiaries} apiaries with eight colonies each, seed {seed}, weighed three to five times from August to
March by full lift, on a platform or by two sides. What each colony eats, its bees, its brood, its tare and the water
that its feed loses are drawn with the spreads of the handbook, what the scales show by their own lines and steps; four
scales of six were checked. The reader of the book is given what the members typed and nothing else. In three colonies
of ten one thing goes wrong in one interval: a feed that nobody wrote down, robbing, a thing left on the hive, the rows
of two colonies swapped, a slip of the pen in a reading that the hive could still weigh.

A thing is large from {kilograms:g} kg and {times:g} standard uncertainties on. Of smaller ones many cannot be told from
chance, and nothing is said of them. Swapped rows count once for each of the two colonies.
"""
HABITS = """
## {title}

{of_round:.0%} of unwritten feeds are those of a feeding round of the apiary where there was one; {listed:.0%} of things
left on are of the list of extras, within {spread:.0%}; {stays_on:.0%} of them stay for good; {swapped:.0%} of slips
swap two digits, the others change one.

| what happened | large | named, of 100 | found | smaller | named, of 100 | found |
| --- | ---: | ---: | ---: | ---: | ---: | ---: |
"""
CLEAN = """Of {clean} intervals of colonies to which nothing happened {asked:.1%} were asked about, {noted:.1%} noted.
"""
ELSEWHERE = """## Worlds that are not the book's

The same clubs in the worlds of [outlook-coverage](outlook-coverage.md): winters, wood, scales, yields of feed and
colonies that differ otherwise, and more widely, than the handbook holds. Counted are colonies to which nothing
happened.

| world | intervals | asked about | noted |
| --- | ---: | ---: | ---: |"""
