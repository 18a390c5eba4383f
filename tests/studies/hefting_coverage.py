"""How often nine-in-ten intervals of hefts hold the truth: simulated clubs, and the page that shows the table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.hefting.calibration import (
    NINE_IN_TEN,
    Calibration,
    Sums,
    belief,
    calibrate,
    half_width,
    held_to_belief,
    predicted_spread,
    priors,
    sound_pairs,
    sums,
    update,
)
from apiarybook.reckon.hefting.worth import as_if_by_chance
from apiarybook.reckon.outlook.outlook import quantile
from tests.studies.worlds import AS_BELIEVED, FOREIGN_PEOPLE

if TYPE_CHECKING:
    from apiarybook.reckon.core.arrays import Floats
    from tests.studies.worlds import People

MOST_PAIRS = 40
SHOWN = (0, 1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 35, 40)
SEED = 20_260_901
CLUBS = 400
DRAWS = 4


@dataclass(frozen=True, slots=True)
class Clubs:
    """What simulated clubs are like; all spreads are of logarithms of gross over guess [1].

    Attributes:
        hands: most hands in a club; each club has from 1 to as many.
        without: share of hands without any pair.
        within: lowest and highest usual spread within a hand, by club.
        unlike: spread of the logarithm of that spread between hands.
        between: lowest and highest spread of the bias between hands, by club.
        club: spread of the bias that a whole club shares.
        drift: spread of the change of a hand's bias over 40 lifts.
    """

    hands: int = 12
    without: float = 0.3
    within: tuple[float, float] = (0.10, 0.20)
    unlike: float = 0.3
    between: tuple[float, float] = (0.06, 0.18)
    club: float = 0.06
    drift: float = 0.05


USUAL = Clubs()
ROUGH = Clubs(within=(0.15, 0.25), between=(0.12, 0.24), club=0.10, drift=0.10)
"""Clubs whose hands are half as wide again as the handbook holds: what a wrong belief costs."""


@dataclass(frozen=True, slots=True)
class Hands:
    """Hands of one club: bias at each lift, shape (hands, lifts), and spread, shape (hands, 1)."""

    bias: Floats
    spread: Floats

    def errors(self, rng: np.random.Generator) -> Floats:
        """One error of each hand at each lift, ln(gross / guess) [1]."""
        return np.asarray(rng.normal(self.bias, self.spread))


def draw_hands(clubs: Clubs, rng: np.random.Generator) -> tuple[Hands, Floats]:
    """Draw one club's hands, and how many pairs each has.

    Args:
        clubs: what clubs are like.
        rng: the random numbers.

    Returns:
        the hands, and their pairs, shape (hands,).
    """
    hands = int(rng.integers(1, clubs.hands + 1))
    pairs = np.where(rng.random(hands) < clubs.without, 0, rng.integers(0, MOST_PAIRS + 1, hands))
    spread = rng.uniform(*clubs.within) * np.exp(rng.normal(0, clubs.unlike, (hands, 1)))
    bias = rng.normal(rng.normal(0, clubs.club), rng.uniform(*clubs.between), (hands, 1))
    lifts = np.arange(MOST_PAIRS + 1) / MOST_PAIRS
    return Hands(bias + rng.normal(0, clubs.drift, (hands, 1)) * lifts, spread), pairs.astype(np.float64)


def _known(errors: Floats, pairs: Floats) -> Calibration:
    """Calibrate each hand by its first 0, 1 ... 40 lifts, the club's others by all their pairs."""
    hands, held = len(errors), belief()
    lifts = np.arange(MOST_PAIRS + 1, dtype=np.float64)
    hand, lift = np.nonzero(lifts < pairs[:, None])
    club = priors(sums(held_to_belief(errors[hand, lift], held), hand, hands), held)
    own = Calibration(*(part[1:, None] for part in (club.mean, club.weight, club.shape, club.rate)))
    first = np.concatenate((np.zeros((hands, 1)), errors[:, :-1]), axis=1)
    mean = np.cumsum(first, axis=1) / np.maximum(lifts, 1.0)
    squares = np.maximum(np.cumsum(first**2, axis=1) - lifts * mean**2, 0.0)
    return update(own, Sums(lifts, mean, squares))


def coverage(clubs: Clubs = USUAL, *, seed: int = SEED, count: int = CLUBS, draws: int = DRAWS) -> pd.DataFrame:
    """Simulate clubs and count how often the interval of a heft of an unweighed colony holds the truth.

    Args:
        clubs: what clubs are like.
        seed: of the random numbers.
        count: how many clubs.
        draws: unweighed colonies that each hand hefts at each number of pairs.

    Returns:
        one row a number of pairs, 0 to 40: pairs, draws, held by the Student t interval and held_by_sheet, by
        give or take times the Normal quantile [1], within, mean half-width in the logarithm [1].
    """
    rng = np.random.default_rng(seed)
    held, by_sheet, width, total = (np.zeros(MOST_PAIRS + 1) for _ in range(4))
    normal = float(quantile((1 + NINE_IN_TEN) / 2))
    for _ in range(count):
        truth, pairs = draw_hands(clubs, rng)
        known = _known(truth.errors(rng), pairs)
        reach, sheet = half_width(known), normal * predicted_spread(known)
        for _ in range(draws):
            away = np.abs(truth.errors(rng) - known.mean)
            held += (away <= reach).sum(axis=0)
            by_sheet += (away <= sheet).sum(axis=0)
            width += reach.sum(axis=0)
            total += len(away)
    shares = {"held": held / total, "held_by_sheet": by_sheet / total, "within": width / total}
    return pd.DataFrame({"pairs": np.arange(MOST_PAIRS + 1), "draws": total.astype(np.int64), **shares})


HEFTED, WEIGHED, A_DAY, DOZENS = 24, 8, 6, 300
"""Colonies that each hand hefts, weighs of them, and hefts a day; clubs in which this is done."""
UNLIKE = (0.10, 0.22)
"""How unlike what hives weigh is within a club, as a share of their target: from the lowest to the highest spread."""


def foreign(people: People, *, seed: int = SEED, count: int = DOZENS) -> dict[str, float]:
    """Let hands heft all their colonies and weigh a third, and count how often the others' intervals hold the truth.

    Args:
        people: how their hands err, and which lifts they weigh.
        seed: of the random numbers.
        count: how many clubs.

    Returns:
        held, share of intervals of unweighed colonies that held; bias, mean of what their hefts were off as reckoned,
        and within, mean half-width, both in the logarithm [1].
    """
    rng = np.random.default_rng(seed)
    away, reach = [], []
    for _ in range(count):
        hands, _ = draw_hands(USUAL, rng)
        shape = (len(hands.spread), HEFTED)
        gross = rng.normal(rng.normal(0, 0.05), rng.uniform(*UNLIKE), shape)
        day = np.broadcast_to(np.arange(HEFTED) // A_DAY, shape)
        error = hands.bias[:, :HEFTED] + people.errors(hands.spread, shape, A_DAY, rng)
        order = np.argsort(gross - error if people.chosen == "light" else rng.random(shape), axis=1)
        weighed = np.argsort(order, axis=1) < WEIGHED
        who = np.broadcast_to(np.char.mod("%d", np.arange(shape[0]))[:, None], shape)
        every = pd.DataFrame({"by": who.ravel(), "light": (gross - error).ravel(), "day": day.ravel()})
        every["error"], every["word"], every["hand"] = error.ravel(), "", every["by"]
        both = every[weighed.ravel()].reset_index(drop=True)
        names = np.unique(who).astype(object)
        known = calibrate(sound_pairs(both.assign(error=as_if_by_chance(both, every))), names)
        row = 1 + np.searchsorted(names.astype(np.str_), who)
        away.append((error - known.mean[row])[~weighed])
        reach.append(half_width(known)[row][~weighed])
    off, within = np.concatenate(away), np.concatenate(reach)
    held = float((np.abs(off) <= within).mean())
    return {"held": held, "bias": float(-off.mean()), "within": float(within.mean())}


def page() -> str:
    """Make the page of the guide: what was simulated, and the table of coverage.

    Returns:
        Markdown; the same on every run.
    """
    usual, rough = coverage(USUAL).set_index("pairs"), coverage(ROUGH).set_index("pairs")
    rows = [
        f"| {pairs} | {100 * usual['held'][pairs]:.1f} | {100 * usual['held_by_sheet'][pairs]:.1f} "
        f"| {100 * np.sinh(usual['within'][pairs]):.0f} | {100 * rough['held'][pairs]:.1f} "
        f"| {100 * np.sinh(rough['within'][pairs]):.0f} |"
        for pairs in SHOWN
    ]
    told = INTRODUCTION.format(
        clubs=CLUBS,
        hands=USUAL.hands,
        draws=int(usual["draws"].min()),
        seed=SEED,
        most=MOST_PAIRS,
        without=USUAL.without,
        usual=_said(USUAL),
        rough=_said(ROUGH),
    )
    lines = []
    for people in (AS_BELIEVED, *FOREIGN_PEOPLE):
        one = foreign(people)
        bias, within = 100 * np.expm1(one["bias"]), 100 * np.sinh(one["within"])
        lines.append(f"| {people.name} | {100 * one['held']:.1f} | {bias:+.1f} | {within:.0f} |")
    otherwise = OTHERWISE.format(hefted=HEFTED, weighed=WEIGHED, day=A_DAY)
    return told + "\n".join(rows) + "\n" + otherwise + "\n".join(lines) + "\n"


def _said(clubs: Clubs) -> str:
    inside, outside = (f"{low:.0%} to {high:.0%}" for low, high in (clubs.within, clubs.between))
    return (
        f"{inside} within a hand, {outside} between hands, {clubs.club:.0%} that a whole club shares, {clubs.drift:.0%}"
    )


INTRODUCTION = """# How far a heft can be trusted

A heft of a colony that was not weighed is given with an interval that should hold the true gross nine times in ten.
This table shows how often it did in simulated clubs, by the number of lifts of that hand that were also weighed. It
checks the arithmetic against invented hands; it is no measurement of people.

{clubs} clubs of 1 to {hands} hands, {draws} hefts of unweighed colonies in each row, seed {seed}. Hands differ in bias,
in spread (each its own, a third up or down) and in how their bias drifts; {without:.0%} have no pairs, the others up
to {most}. Spreads drawn:

- usual clubs: {usual} of drift in {most} lifts;
- rough clubs: {rough} of drift. Their hands
  are wider than the handbook holds: one without pairs is trusted more than it deserves until a few lifts were weighed.

| lifts also weighed | held, of 100 | held by the sheet's figure | nine in ten within, % | rough: held | within, % |
| ---: | ---: | ---: | ---: | ---: | ---: |
"""
OTHERWISE = """
## Hands that err otherwise than the book thinks

Each hand hefts {hefted} colonies, {day} a day, and weighs {weighed} of them; counted are the others. Heavy tails are
those of Student's t with 4 degrees of freedom, absurd guesses are wrong by a factor of two in 2 of 100 hefts, errors
common to a day 8 % (6 % where all come together).

| how hands err | held, of 100 | reckoned too heavy on average, % | nine in ten within, % |
| --- | ---: | ---: | ---: |
"""
