"""Worlds that clubs are simulated in: how colonies eat, what scales and wood do, how people heft.

One world is drawn as the handbook believes; the others are drawn by laws and spreads that are not the book's, so that
what its intervals are worth is not only told by its own beliefs. Their figures rest on published series where one is
named and are otherwise chosen wide of the handbook's.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from apiarybook.reckon.core.arrays import figure

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from apiarybook.reckon.core.arrays import Floats

Law = Literal["lognormal", "gamma", "heavy"]
HEAVY = 4.0
"""Degrees of freedom of Student's t where tails are heavy."""
DAYS_OF_A_MONTH = 30


@dataclass(frozen=True, slots=True)
class World:
    """What simulated clubs live in.

    Attributes:
        name: as tables show it.
        law: of the factors by which winters, places and colonies eat more or less than foretold.
        winter, place, colony: their relative spreads [1].
        weather, wander: by how much a month differs from the last, for all colonies alike and for each alone [1].
        bees: relative spread of how fast bees dwindle after October, for all colonies of a club alike [1].
        wood: what damp wood adds to a hive from October to January, goes again until April, and its spread [kg].
        drift: by how much a scale reads more or less from one day to the next [kg].
        yields: least and most stores from the sugar of a feed [1].
    """

    name: str
    law: Law
    winter: float
    place: float
    colony: float
    weather: float = 0.0
    wander: float = 0.0
    bees: float = 0.0
    wood: tuple[float, float] = (0.0, 0.0)
    drift: float = 0.0
    yields: tuple[float, float] | None = None

    def factor(self, spread: float, shape: int | tuple[int, ...], rng: np.random.Generator) -> Floats:
        """Draw factors of mean 1 with a relative spread by the world's law."""
        if spread == 0:
            return np.ones(shape)
        if self.law == "gamma":
            return rng.gamma(1 / spread**2, spread**2, shape)
        wide = float(np.sqrt(np.log1p(spread**2)))
        if self.law == "heavy":
            drawn = np.exp(wide * np.clip(rng.standard_t(HEAVY, shape) / np.sqrt(2), -3.5, 3.5))
            return np.asarray(drawn / np.exp(wide**2 / 2))
        return rng.lognormal(-(wide**2) / 2, wide, shape)

    def rates(self, place: NDArray[np.int64], days: int, rng: np.random.Generator) -> tuple[Floats, float]:
        """Draw what the colonies of one club eat against what is foretold of them.

        Args:
            place: apiary of each colony, counted from 0.
            days: of the winter.
            rng: random numbers.

        Returns:
            rate on each day, shape (days, colonies) [1], and the winter's factor.
        """
        count, months = len(place), days // DAYS_OF_A_MONTH + 1
        winter = float(self.factor(self.winter, 1, rng)[0])
        at_place = self.factor(self.place, int(place.max()) + 1, rng)[place]
        own = winter * at_place * self.factor(self.colony, count, rng)
        weather = self.factor(self.weather, (months, 1), rng) * self.factor(self.wander, (months, count), rng)
        return np.asarray(own * weather[np.arange(days) // DAYS_OF_A_MONTH]), winter

    def damp(self, day_of_winter: Floats, count: int, rng: np.random.Generator) -> Floats:
        """What damp wood adds on each day counted from 1 July, shape (days, colonies) [kg]."""
        wet = np.interp(day_of_winter, [92, 200, 290], [0.0, 1.0, 0.0])
        return np.asarray(wet[:, None] * np.maximum(0.0, rng.normal(*self.wood, count)))


def book_world() -> World:
    """The world as the handbook has it."""
    return World(
        "as the book holds", "lognormal", *(figure(f"{level}_spread") for level in ("winter", "place", "colony"))
    )


FOREIGN = (
    World("shared winters", "gamma", 0.30, 0.15, 0.38, weather=0.15, wander=0.15),
    World("wet wood, drifting scales", "lognormal", 0.20, 0.15, 0.40, 0.1, 0.15, 0.15, (0.7, 0.3), 0.3, (0.74, 1.0)),
    World("heavy tails", "heavy", 0.25, 0.10, 0.42, weather=0.10, wander=0.20),
)
"""Winters and places 0.2 to 0.3 apart and colonies 0.33 (32 colonies of Norrstrom, Niklasson and Leidenberger 2021) to
0.5; the rest invented."""


@dataclass(frozen=True, slots=True)
class People:
    """How the hands of a club err, in the logarithm of gross over guess [1].

    Attributes:
        name: as tables show it.
        day: spread of what a hand gets wrong alike all day.
        tails: degrees of freedom of a single lift's error; infinite where it is Normal.
        absurd: share of guesses that are wrong by a factor of two either way.
        chosen: which of its lifts a hand weighs: any, or the lightest by its own guess.
    """

    name: str
    day: float = 0.0
    tails: float = np.inf
    absurd: float = 0.0
    chosen: Literal["any", "light"] = "any"

    def errors(self, spread: Floats, shape: tuple[int, int], a_day: int, rng: np.random.Generator) -> Floats:
        """Draw errors of hands at lifts, so many a day, about their bias, shape (hands, lifts) [1]."""
        hands, lifts = shape
        own = rng.standard_normal(shape)
        if np.isfinite(self.tails):
            own = rng.standard_t(self.tails, shape) / np.sqrt(self.tails / (self.tails - 2))
        days = rng.normal(0, self.day, (hands, -(-lifts // a_day)))[:, np.arange(lifts) // a_day]
        wrong = np.where(rng.random(shape) < self.absurd, rng.choice([-1.0, 1.0], shape) * np.log(2), 0.0)
        return np.asarray(spread * own + days + wrong)


AS_BELIEVED = People("as the book holds")
FOREIGN_PEOPLE = (
    People("heavy tails and absurd guesses", tails=HEAVY, absurd=0.02),
    People("errors common to a day", day=0.08),
    People("only what felt light is weighed", chosen="light"),
    People("all of these", day=0.06, tails=HEAVY, absurd=0.02, chosen="light"),
)
