"""Readings that cannot be this hive's, and what may have been meant."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from apiarybook.checks.causes import Behind, as_causes, sentence, way
from apiarybook.checks.context import days, label
from apiarybook.checks.finding import Hit
from apiarybook.checks.rule import ASK, CATALOGUE, HOLD, rule
from apiarybook.checks.rules_weighings import READINGS
from apiarybook.handbook.status import OUTSIDE as OUTSIDE_WORDS
from apiarybook.reckon.balance.clues import judging, unlike
from apiarybook.reckon.balance.slips import (
    DIGIT,
    POINT,
    SIDES,
    SWAPPED,
    UNIT,
    WAY,
    Instead,
    Weighed,
    counted,
    likely,
    tries,
)
from apiarybook.reckon.core.arrays import figure, numbers, words
from apiarybook.reckon.core.lookup import match, number_or, pick, pick_words
from apiarybook.reckon.feeding.feeds import UNITS
from apiarybook.reckon.hive.kit import tare
from apiarybook.reckon.hive.moves import type_on_days
from apiarybook.reckon.hive.weighings import leeway

if TYPE_CHECKING:
    from collections.abc import Iterator

    from apiarybook.checks.context import Mask, Seen
    from apiarybook.reckon.core.arrays import Floats

AFTER = "After winter"
OUTSIDE = {"Weighings": ("above-comb", "below-tare"), AFTER: ("spring-too-heavy", "spring-too-light")}
"""Rules on a gross above and below what the hive can weigh, by sheet."""
OUT_OF_BOUNDS = "out-of-bounds"
READ = (*(("Weighings", key) for key in (*READINGS, "heft")), (AFTER, "spring_gross"), ("Winter rounds", "heft"))
"""Cells of a hive's weight, by sheet and key."""
PEN = (UNIT, POINT, SWAPPED, DIGIT)
"""Causes that are slips of the pen, or the other unit."""
HALF = 0.2
"""Share from which the likeliest slip of the pen is worth a word where much else may be (common practice)."""
ROOM = 1e-3
"""What is left for causes that nobody thought of, beside the scores of those that were (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Lift:
    """One weighed hive whose readings cannot all be its own.

    Attributes:
        keys: of its readings.
        weighed: the row as it was typed.
        others: what else stood on the hive [kg].
        low, high: what the hive weighs empty and full [kg].
        sheet: on which it stands.
    """

    keys: tuple[str, ...]
    weighed: Weighed
    others: float
    low: float
    high: float
    sheet: str = "Weighings"

    def too_high(self, gross: float) -> bool:
        """Whether a gross lies above what the hive can weigh full."""
        return gross - self.others > self.high

    def too_low(self, gross: float) -> bool:
        """Whether a gross lies below what the hive weighs empty."""
        return gross - self.others < self.low

    @property
    def beyond(self) -> float:
        """By how much the gross lies outside what the hive can weigh [kg]."""
        gross = self.weighed.gross - self.others
        return max(gross - self.high, self.low - gross, 0.0)

    def agree(self, readings: tuple[float, ...]) -> bool:
        """Whether both readings can belong to one hive."""
        small, large = min(readings), max(readings)
        if self.weighed.how == SIDES:
            return bool(large <= figure("sides_ratio") * small)
        kilograms = UNITS[self.weighed.unit].factor
        return (large - small) * kilograms <= max(figure("repeat_apart"), figure("repeat_share") * large * kilograms)

    def fits(self, instead: Instead) -> bool:
        """Whether the hive could weigh that, and both readings belong to one hive."""
        agree = instead.name == WAY or self.agree(instead.readings)
        if not self.agree(self.weighed.readings) and self.beyond == 0 and instead.which == 0 and instead.name != WAY:
            return False
        gross = self.weighed.gross_if(instead)
        return agree and not self.too_high(gross) and not self.too_low(gross)


def ranked(lift: Lift, around: list[tuple[float, float, float]]) -> list[tuple[Instead, float]]:
    """The likeliest of each cause that would explain a row, with the share of that cause, in order.

    Args:
        lift: the row.
        around: residuals of the intervals that touch it, as `likely` takes them.
    """
    fitting = [one for one in tries(lift.weighed) if lift.fits(one)]
    found = likely(lift.weighed, fitting, around).values() if fitting else ()
    whole = sum(score for score, _, _ in found) + ROOM * max((most for _, most, _ in found), default=0.0)
    whole += np.finfo(np.float64).tiny
    return sorted(((best, score / whole) for score, _, best in found), key=lambda pair: -pair[1])


def lifts(seen: Seen) -> Iterator[tuple[int, Lift]]:
    """Rows whose readings cannot all be their hive's."""
    rows, weighed = seen["Weighings"], seen.known.weighed
    gross, low = number_or(weighed["said"], weighed["gross"]), numbers(weighed["tare"])
    high = pick(seen.reckoned.hive_types["believable"], weighed["type_row"].to_numpy(), np.nan)
    others = (
        numbers(weighed["extras"]) + numbers(weighed["feeder_left"]) + np.nan_to_num(numbers(weighed["unripe_then"]))
    )
    hefted, sides = words(rows["how"]) == "heft", words(rows["how"]) == "two sides"
    guess = numbers(_numeric(rows["heft"].tolist()))
    first, second = np.where(hefted, guess, numbers(rows["reading_1"])), numbers(rows["reading_2"])
    second = np.where(hefted, np.nan, second)
    high, low = high * leeway(weighed), low / leeway(weighed)
    bound = (gross - others > high) | (gross - others < low)
    asked = (bound | _apart(sides, first, second)) & ~np.isnan(gross) & ~np.isnan(first)
    asked &= words(rows["occasion"]) != "practice"
    for at in np.flatnonzero(asked).tolist():
        keys = ("heft",) if hefted[at] else READINGS[: 1 if np.isnan(second[at]) else 2]
        one = _typed_row(seen, at, float(first[at]) if hefted[at] else None)
        if one is not None:
            one = replace(one, thing=bool(gross[at] - others[at] > high[at]))
            yield at, Lift(keys, one, float(others[at]), float(low[at]), float(high[at]))


def _typed_row(seen: Seen, at: int, guess: float | None) -> Weighed | None:
    """One row as it was typed, with the readings of the other hives of its visit."""
    typed, weighed = seen.reckoned.typed, seen.known.weighed
    if guess is None:
        return typed.weighed(at, others=typed.beside(at))
    gross, factor = float(weighed["said"].iloc[at]), UNITS[seen.unit].factor
    usual = float(weighed["target"].iloc[at] + weighed["extras"].iloc[at])
    per = gross / guess * factor
    return Weighed((guess / factor,), "heft", per, gross, (usual, figure("hand_spread") * usual), seen.unit)


def _apart(sides: Mask, first: Floats, second: Floats) -> Mask:
    """Which pairs of readings differ too much to be of one hive."""
    large, small = np.fmax(first, second), np.fmin(first, second)
    repeat = large - small > np.maximum(figure("repeat_apart"), figure("repeat_share") * large)
    both = ~np.isnan(first) & ~np.isnan(second)
    return np.asarray(both & np.where(sides, large > figure("sides_ratio") * small, repeat))


def _numeric(cells: list[object]) -> list[float]:
    return [float(cell) if isinstance(cell, (int, float)) else float("nan") for cell in cells]


@rule(
    "below-tare",
    HOLD,
    "The hive comes to {gross} without what else stood on it, less than the {low} that such a weighing can "
    "show of it empty.{perhaps}",
    "{look}",
    beside=OUTSIDE_WORDS,
    may_be_right=True,
)
@rule(
    "above-comb",
    HOLD,
    "The hive comes to {gross} without what else stood on it, more than the {high} that such a weighing can "
    "show of it with every comb full.{perhaps}",
    "{look}",
    beside=OUTSIDE_WORDS,
    may_be_right=True,
)
@rule(
    "sides-ratio",
    ASK,
    "One side reads {first} and the other {second}: they differ by more than {ratio} times.{perhaps}",
    "{look} Leave them if the stores truly lie to one side.",
)
@rule(
    "second-reading",
    ASK,
    "The two readings, {first} and {second}, differ by more than {apart} and {share} %.{perhaps}",
    "{look}",
)
def impossible_readings(seen: Seen) -> Iterator[Hit]:
    """Readings outside what the hive weighs empty or full, or apart from each other, with what may have been meant."""
    found = seen.once(lifts)
    around = _around(seen, [at for at, _ in found]) if found else {}
    for at, lift in found:
        yield from _impossible(seen, at, lift, around.get(at, []))


def _around(seen: Seen, at: list[int]) -> dict[int, list[tuple[float, float, float]]]:
    """Residuals of the intervals between rows that cannot be and those that can."""
    found = seen.reckoned.balance
    touching = found[found["row_1"].isin(at) ^ found["row_2"].isin(at)]
    told: dict[int, list[tuple[float, float, float]]] = {}
    for one in touching[touching["judged"] == 1].to_dict("records"):
        place, sign = (one["row_2"], 1.0) if one["row_2"] in at else (one["row_1"], -1.0)
        told.setdefault(int(place), []).append((one["residual"], one["residual_u"], sign))
    return told


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
    factor = UNITS[seen.unit].factor
    for at in np.flatnonzero((gross > high) | (gross < low)).tolist():
        usual = float(target[at]), figure("slip_spread") * float(high[at] - low[at])
        one = Weighed((float(gross[at]) / factor,), "platform", factor, float(gross[at]), usual, seen.unit)
        one = replace(one, thing=bool(gross[at] > high[at]))
        yield at, Lift(("spring_gross",), one, 0.0, float(low[at]), float(high[at]), AFTER)


@rule(
    "spring-too-light",
    HOLD,
    "The hive comes to {gross}, less than the {low} that it weighs empty at the least.{perhaps}",
    "{look} Clear the weight if nobody knows.",
    may_be_right=True,
)
@rule(
    "spring-too-heavy",
    HOLD,
    "The hive comes to {gross}, more than the {high} that it can weigh with every comb full.{perhaps}",
    "{look} A hive with supers or stones on belongs on the sheet Weighings, where they can be named as extras.",
    may_be_right=True,
)
def impossible_springs(seen: Seen) -> Iterator[Hit]:
    """Spring weights outside what the hive weighs empty or full, with what may have been meant."""
    for at, lift in seen.once(spring_lifts):
        yield from _impossible(seen, at, lift, [])


def _impossible(seen: Seen, at: int, lift: Lift, around: list[tuple[float, float, float]]) -> Iterator[Hit]:
    """What is said of one such row."""
    row, found = label(seen[lift.sheet], at), ranked(lift, around)
    behind = [_behind(seen, row, lift, instead, share) for instead, share in found]
    perhaps, look = sentence(behind)
    told: dict[str, object] = {"perhaps": f" {perhaps}" if perhaps else "", "look": look}
    gross, one = lift.weighed.gross - lift.others, lift.weighed
    told |= {"gross": seen.mass(gross), "low": seen.mass(lift.low), "high": seen.mass(lift.high)}
    if len(one.readings) > 1:
        told |= {name: f"{value:g} {one.unit}" for name, value in zip(("first", "second"), one.readings, strict=True)}
        told |= {"ratio": f"{figure('sides_ratio'):g}", "apart": seen.mass(figure("repeat_apart"))}
        told["share"] = f"{100 * figure('repeat_share'):g}"
    heavy, light = OUTSIDE[lift.sheet]
    apart = "sides-ratio" if one.how == SIDES else "second-reading"
    broken = {heavy: lift.too_high(one.gross), light: lift.too_low(one.gross), apart: not lift.agree(one.readings)}
    key = lift.keys[max(found[0][0].which, 1) - 1] if found else lift.keys[0]
    suggestion = behind[0].value if behind else ""
    for name in (name for name, is_broken in broken.items() if is_broken):
        said = {one: told[one] for one in (*CATALOGUE[name].tells, "perhaps")}
        sure = round(behind[0].share, 2) if suggestion else None
        yield Hit(name, lift.sheet, row, key, said, suggestion, sure, lift.beyond, causes=as_causes(behind))


def pen(one: Weighed, row: int, sheet: str, key: str) -> list[Behind]:
    """Slips of the pen, or the other unit, that make one weight what the book expects; none where that is unlikely.

    Args:
        one: the weight as typed, with what is expected of the hive.
        row: label of its row.
        sheet: on which it stands.
        key: of its column.
    """
    typed = float(unlike(np.array([one.gross - one.usual[0]]), np.array([one.usual[1]]))[0])
    scores = likely(one, [each for each in tries(one) if each.name in PEN], [])
    found = sorted(scores.values(), key=lambda each: -each[0])
    whole = sum(score for score, _, _ in found) + judging("unlike") / judging("span") / typed
    lift = Lift((key,), one, 0.0, 0.0, 0.0, sheet)
    behind = [_behind_row(row, lift, best, score / whole) for score, _, best in found]
    return behind if behind and behind[0].share >= HALF else []


def explained(seen: Seen, hit: Hit) -> Hit:
    """What was found of a cell while it was read, with what may have been meant by a weight that nothing has.

    Args:
        seen: the book.
        hit: as the reader gave it.
    """
    place = (hit.sheet, hit.row or 0, hit.key)
    if hit.rule != OUT_OF_BOUNDS or place not in seen.beyond or (hit.sheet, hit.key) not in READ:
        return hit
    rows = seen[hit.sheet]
    at, factor = int(np.flatnonzero(rows.index == hit.row)[0]), UNITS[seen.unit].factor
    keys = READINGS if hit.key in READINGS else (hit.key,)
    kilograms = [seen.beyond.get((hit.sheet, place[1], key), _numeric([rows[key].iloc[at]])[0]) for key in keys]
    readings = tuple(one / factor for one in kilograms if not np.isnan(one))
    how = str(rows["how"].iloc[at]) if hit.key in READINGS else "platform"
    per = float(seen.known.weighed["factor"].iloc[at]) * factor if hit.key in READINGS else factor
    gross = per * counted(readings, how)
    usual = _usual(seen, str(rows["colony"].iloc[at]))
    lift = Lift(
        keys, Weighed(readings, how, per, gross, usual, seen.unit), 0.0, 0.0, usual[0] + 3 * usual[1], hit.sheet
    )
    behind = [_behind(seen, place[1], lift, instead, share) for instead, share in ranked(lift, [])]
    if not behind:
        return hit
    told = {**hit.told, "perhaps": f" {sentence(behind)[0]}"}
    sure = round(behind[0].share, 2) if behind[0].value else None
    return replace(hit, told=told, suggestion=behind[0].value, likelihood=sure, causes=as_causes(behind))


def _usual(seen: Seen, colony: str) -> tuple[float, float]:
    """What a colony weighed at its other weighings, else any of the club, and how far from it another may lie [kg]."""
    gross = numbers(seen.known.weighed["gross"])
    own = gross[(np.char.lower(words(seen["Weighings"]["colony"])) == colony.casefold()) & ~np.isnan(gross)]
    if len(own):
        return float(np.median(own)), figure("colonies_spread")
    return figure("usual_gross"), figure("colonies_spread") * 2


def _behind(seen: Seen, row: int, lift: Lift, instead: Instead, share: float) -> Behind:
    """One cause of such a row with its value, its cell and the other colony."""
    behind = _behind_row(row, lift, instead, share)
    other = str(pick_words(seen["Colonies"]["colony"], np.array([instead.other]))[0])
    return behind._replace(told={**behind.told, "other": other})


def _behind_row(row: int, lift: Lift, instead: Instead, share: float) -> Behind:
    key = lift.keys[max(instead.which, 1) - 1]
    typed = lift.weighed.readings[max(instead.which, 1) - 1]
    told = {"typed": f"{typed:g}", "way": way(lift.weighed.how, len(lift.weighed.readings))}
    value = "" if np.isnan(instead.meant) else f"{round(instead.meant, 2):g}"
    return Behind(instead.name, share, value, (lift.sheet, row, key), told)
