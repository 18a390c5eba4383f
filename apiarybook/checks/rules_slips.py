"""Readings that cannot be this hive's, and what may have been meant."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import exp
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from apiarybook.checks.context import days, label
from apiarybook.checks.finding import Hit
from apiarybook.checks.rule import ASK, CATALOGUE, HOLD, rule
from apiarybook.handbook.status import OUTSIDE as OUTSIDE_WORDS
from apiarybook.reckon.core.arrays import figure, numbers, words
from apiarybook.reckon.core.lookup import match, number_or, pick, pick_words
from apiarybook.reckon.feeding.feeds import UNITS
from apiarybook.reckon.hive.kit import tare
from apiarybook.reckon.hive.moves import type_on_days

if TYPE_CHECKING:
    from collections.abc import Iterator

    from apiarybook.checks.context import Mask, Seen
    from apiarybook.reckon.core.arrays import Floats

AFTER = "After winter"
OUTSIDE = {"Weighings": ("above-comb", "below-tare"), AFTER: ("spring-too-heavy", "spring-too-light")}
"""Rules on a gross above and below what the hive can weigh, by sheet."""
POUND = UNITS["lb"].factor
TEN = 10.0
"""What a slip of the decimal sign multiplies or divides by."""
MOST_DECIMALS = 6
"""Decimals of a reading, in the book's unit, that are looked at."""


class Slip(NamedTuple):
    """What may have happened to one row: kind of slip, the cell to mend, its value in kg, the gross then in kg."""

    rule: str
    key: str
    meant: float
    gross: float


@dataclass(frozen=True, slots=True)
class Lift:
    """One weighed hive: its readings by key, its gross, what else stood on it, and its bounds; all in kg."""

    readings: dict[str, float]
    sides: bool
    gross: float
    others: float
    low: float
    high: float
    target: float
    unit: str
    sheet: str = "Weighings"

    def gross_of(self, readings: dict[str, float]) -> float:
        """The gross had other readings been typed."""
        typed = sum(self.readings.values())
        return self.gross * sum(readings.values()) / typed if typed else 0.0

    def too_high(self, gross: float) -> bool:
        """Whether a gross lies above what the hive can weigh full."""
        return gross - self.others > self.high

    def too_low(self, gross: float) -> bool:
        """Whether a gross lies below what the hive weighs empty."""
        return gross - self.others < self.low

    @property
    def beyond(self) -> float:
        """By how much the gross lies outside what the hive can weigh [kg]."""
        return max(self.gross - self.others - self.high, self.low - self.gross + self.others, 0.0)

    def agree(self, readings: dict[str, float]) -> bool:
        """Whether both readings can belong to one hive."""
        pair = list(readings.values())
        if len(pair) == 1:
            return True
        small, large = sorted(pair)
        if self.sides:
            return bool(large <= figure("sides_ratio") * small)
        return large - small <= max(figure("repeat_apart"), figure("repeat_share") * large)

    def fits(self, readings: dict[str, float]) -> bool:
        """Whether readings could be this hive's."""
        gross = self.gross_of(readings)
        return self.agree(readings) and not self.too_high(gross) and not self.too_low(gross)

    def weight(self, gross: float) -> float:
        """How well a gross agrees with what is expected of the hive, 1 for its target."""
        spread = figure("slip_spread") * (self.high - self.low)
        return exp(-(((gross - self.others - self.target) / spread) ** 2) / 2)


def swapped(text: str) -> list[str]:
    """Numbers that a number becomes when two digits side by side are swapped.

    >>> swapped("38.5")
    ['83.5', '35.8']
    """
    places = [at for at, sign in enumerate(text) if sign != "."]
    found = []
    for first, second in pairwise(places):
        signs = list(text)
        signs[first], signs[second] = signs[second], signs[first]
        if signs[first] != signs[second]:
            found.append("".join(signs))
    return found


def slips(lift: Lift) -> list[Slip]:
    """All slips that would explain a row, the likeliest first."""
    found = [
        Slip(rule, key, readings[key], lift.gross_of(readings))
        for rule, key, readings in _tries(lift)
        if lift.fits(readings)
    ]
    return sorted(found, key=lambda slip: -lift.weight(slip.gross))


def _tries(lift: Lift) -> Iterator[tuple[str, str, dict[str, float]]]:
    first = next(iter(lift.readings))
    high, low = lift.too_high(lift.gross), lift.too_low(lift.gross)
    if (high and lift.unit == "kg") or (low and lift.unit == "lb"):
        factor = POUND if lift.unit == "kg" else 1 / POUND
        yield "pounds-for-kilograms", first, {key: factor * one for key, one in lift.readings.items()}
    if high or low:
        factor = 1 / TEN if high else TEN
        yield "decimal-slip", first, {key: factor * one for key, one in lift.readings.items()}
    for key, one in lift.readings.items():
        if len(lift.readings) > 1:
            yield "decimal-slip", key, {**lift.readings, key: one / TEN}
            yield "decimal-slip", key, {**lift.readings, key: one * TEN}
        factor = UNITS[lift.unit].factor
        for text in swapped(f"{round(one / factor, MOST_DECIMALS):g}"):
            yield "swapped-digits", key, {**lift.readings, key: float(text) * factor}


def likelihood(lift: Lift, slip: Slip, others: list[Slip]) -> float:
    """How likely one slip is among all that would explain the row, leaving room for any other cause."""
    whole = sum(lift.weight(other.gross) for other in others) + exp(-(figure("slip_distant") ** 2) / 2)
    return round(lift.weight(slip.gross) / whole, 2)


def lifts(seen: Seen) -> Iterator[tuple[int, Lift]]:
    """Rows whose readings cannot all be their hive's."""
    rows, weighed = seen["Weighings"], seen.reckoned.weighings
    gross, low = number_or(weighed["said"], weighed["gross"]), numbers(weighed["tare"])
    high = pick(seen.reckoned.hive_types["believable"], weighed["type_row"].to_numpy(), np.nan)
    others = (
        numbers(weighed["extras"]) + numbers(weighed["feeder_left"]) + np.nan_to_num(numbers(weighed["unripe_then"]))
    )
    hefted, sides = words(rows["how"]) == "heft", words(rows["how"]) == "two sides"
    guess = numbers(_numeric(rows["heft"].tolist()))
    first, second = np.where(hefted, guess, numbers(rows["reading_1"])), numbers(rows["reading_2"])
    second = np.where(hefted, np.nan, second)
    leeway = np.where(hefted, 1 + figure("slip_distant") * numbers(weighed["heft_u"]), 1.0)
    bound = (gross - others > high * leeway) | (gross - others < low / leeway)
    asked = (bound | _apart(sides, first, second)) & ~np.isnan(gross) & ~np.isnan(first)
    asked &= words(rows["occasion"]) != "practice"
    target = numbers(weighed["target"])
    for at in np.flatnonzero(asked):
        readings = {"heft" if hefted[at] else "reading_1": float(first[at])}
        if not np.isnan(second[at]):
            readings["reading_2"] = float(second[at])
        yield (
            int(at),
            Lift(
                readings=readings,
                sides=bool(sides[at]),
                gross=float(gross[at]),
                others=float(others[at]),
                low=float(low[at]),
                high=float(high[at]),
                target=float(target[at]),
                unit=seen.unit,
            ),
        )


def _apart(sides: Mask, first: Floats, second: Floats) -> Mask:
    """Which pairs of readings differ too much to be of one hive."""
    large, small = np.fmax(first, second), np.fmin(first, second)
    repeat = large - small > np.maximum(figure("repeat_apart"), figure("repeat_share") * large)
    both = ~np.isnan(first) & ~np.isnan(second)
    return np.asarray(both & np.where(sides, large > figure("sides_ratio") * small, repeat))


def _numeric(cells: list[object]) -> list[float]:
    return [float(cell) if isinstance(cell, (int, float)) else float("nan") for cell in cells]


@rule(
    "pounds-for-kilograms",
    HOLD,
    "{value} makes a gross of {gross}, but this hive weighs from {low} empty to {high} full; read as {other_unit} "
    "it would be {meant}.",
    "See what the scale is set to, and type the weight in {unit}.",
    beside=OUTSIDE_WORDS,
    may_be_right=True,
)
@rule(
    "decimal-slip",
    HOLD,
    "{value} makes a gross of {gross}, but with the decimal point one place on it would be {meant}, which fits "
    "this hive ({low} empty to {high} full).",
    "Look at your notes and type what the scale showed.",
    beside=OUTSIDE_WORDS,
    may_be_right=True,
)
@rule(
    "below-tare",
    HOLD,
    "The hive comes to {gross} without what else stood on it, less than the {low} that it weighs empty.{perhaps}",
    "Look at the reading, at how it was weighed and at the hive type; weigh again if in doubt.",
    beside=OUTSIDE_WORDS,
    may_be_right=True,
)
@rule(
    "above-comb",
    HOLD,
    "The hive comes to {gross} without what else stood on it, more than the {high} that it can weigh with every "
    "comb full.{perhaps}",
    "Look at the reading and the hive type, and name supers or stones as extras; weigh again if in doubt.",
    beside=OUTSIDE_WORDS,
    may_be_right=True,
)
@rule(
    "sides-ratio",
    ASK,
    "One side reads {first} and the other {second}: they differ by more than {ratio} times.{perhaps}",
    "Look at both readings; leave them if the stores truly lie to one side.",
)
@rule(
    "second-reading",
    ASK,
    "The two readings, {first} and {second}, differ by more than {apart} and {share} %.{perhaps}",
    "Read the scale once more; for two sides choose two sides under how.",
)
def impossible_readings(seen: Seen) -> Iterator[Hit]:
    """Readings outside what the hive weighs empty or full, or apart from each other, with what may have been meant."""
    for at, lift in lifts(seen):
        yield from _impossible(seen, at, lift)


def spring_lifts(seen: Seen) -> Iterator[tuple[int, Lift]]:
    """Rows of After winter whose spring gross cannot be their hive's; the hive of a starved colony weighs its tare."""
    rows, colonies, types = seen[AFTER], seen["Colonies"], seen["Hive types"]
    gross, colony = numbers(rows["spring_gross"]), match(rows["colony"], colonies["colony"])
    moved = type_on_days(seen["Moves"], colonies, types, colony, days(rows["date"]))
    listed = match(pick_words(colonies["hive_type"], colony), types["name"])
    hive = np.where(moved != "", match(moved, types["name"]), listed)
    own = np.where(hive == listed, pick(colonies["own_tare"], colony, np.nan), np.nan)
    empty, spread = tare(own, pick(types["tare"], hive, np.nan), pick(types["tare_spread"], hive, np.nan))
    low = empty - figure("slip_distant") * np.nan_to_num(spread)
    high, target = (pick(seen.reckoned.hive_types[key], hive, np.nan) for key in ("believable", "target"))
    for at in np.flatnonzero((gross > high) | (gross < low)):
        bounds = {"low": float(low[at]), "high": float(high[at]), "target": float(target[at])}
        typed = float(gross[at])
        yield (
            int(at),
            Lift({"spring_gross": typed}, sides=False, gross=typed, others=0.0, **bounds, unit=seen.unit, sheet=AFTER),
        )


@rule(
    "spring-too-light",
    HOLD,
    "The hive comes to {gross}, less than the {low} that it weighs empty at the least.{perhaps}",
    "Look at the reading and at the hive type; clear the weight if nobody knows.",
    may_be_right=True,
)
@rule(
    "spring-too-heavy",
    HOLD,
    "The hive comes to {gross}, more than the {high} that it can weigh with every comb full.{perhaps}",
    "Look at the reading and at the hive type; a hive with supers or stones on belongs on the sheet Weighings, "
    "where they can be named as extras.",
    may_be_right=True,
)
def impossible_springs(seen: Seen) -> Iterator[Hit]:
    """Spring weights outside what the hive weighs empty or full, with what may have been meant."""
    for at, lift in spring_lifts(seen):
        yield from _impossible(seen, at, lift)


def _impossible(seen: Seen, at: int, lift: Lift) -> Iterator[Hit]:
    """What is said of one such row."""
    found, row = slips(lift), label(seen[lift.sheet], at)
    best = next((slip for slip in found if slip.rule != "swapped-digits"), None)
    if best is not None:
        yield _slipped(seen, row, lift, best, found)
    else:
        yield from _unexplained(seen, row, lift, found)


def _slipped(seen: Seen, row: int, lift: Lift, slip: Slip, found: list[Slip]) -> Hit:
    told: dict[str, object] = {
        "gross": seen.mass(lift.gross),
        "meant": seen.mass(slip.gross),
        "low": seen.mass(lift.low),
        "high": seen.mass(lift.high),
        "unit": seen.unit,
        "other_unit": "pounds" if seen.unit == "kg" else "kilograms",
    }
    told = {key: told[key] for key in CATALOGUE[slip.rule].tells}
    return Hit(
        slip.rule, lift.sheet, row, slip.key, told, _typed(seen, slip.meant), likelihood(lift, slip, found), lift.beyond
    )


def _typed(seen: Seen, kilograms: float) -> str:
    return f"{round(seen.number(kilograms), 2):g}"


def _unexplained(seen: Seen, row: int, lift: Lift, found: list[Slip]) -> Iterator[Hit]:
    key = found[0].key if found else next(iter(lift.readings))
    suggestion = _typed(seen, found[0].meant) if found else ""
    sure = likelihood(lift, found[0], found) if found else None
    told: dict[str, object] = {
        "gross": seen.mass(lift.gross - lift.others),
        "low": seen.mass(lift.low),
        "high": seen.mass(lift.high),
        "perhaps": f" Perhaps two digits were swapped: {suggestion}?" if found else "",
    }
    heavy, light = OUTSIDE[lift.sheet]
    apart = "sides-ratio" if lift.sides else "second-reading"
    if not lift.agree(lift.readings):
        told |= {
            name: seen.mass(value) for name, value in zip(("first", "second"), lift.readings.values(), strict=True)
        }
        told |= {"ratio": f"{figure('sides_ratio'):g}", "apart": seen.mass(figure("repeat_apart"))}
        told["share"] = f"{100 * figure('repeat_share'):g}"
    broken = {heavy: lift.too_high(lift.gross), light: lift.too_low(lift.gross), apart: not lift.agree(lift.readings)}
    for name, is_broken in broken.items():
        if is_broken:
            said = {one: told[one] for one in (*CATALOGUE[name].tells, "perhaps")}
            yield Hit(name, lift.sheet, row, key, said, suggestion, sure, lift.beyond)
