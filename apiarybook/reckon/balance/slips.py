"""What may stand behind one odd weighing: every reading, or way of weighing, of which one slip makes what was typed."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise
from operator import itemgetter
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from apiarybook.handbook import handbook
from apiarybook.reckon.balance.clues import bell, judging, unlike
from apiarybook.reckon.core.arrays import DECIMALS, figure
from apiarybook.reckon.feeding.feeds import UNITS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

UNIT, POINT, SWAPPED, DIGIT = "other unit", "decimal", "swapped digits", "one digit"
WAY, LAST, NAMED, OTHER, LEFT_ON = "way of weighing", "last reading", "extra named", "other colony", "left on"
SIDES, ONE_SIDE = "two sides", "one side"
SHIFTS = ((10.0, 0.45), (0.1, 0.45), (100.0, 0.05), (0.01, 0.05))
"""Where the point may have gone: what the reading is then to be multiplied by, and how likely (common practice)."""
FINER = 0.05
"""How much less likely a reading is that has more decimals than scales show (common practice, no source)."""
TURNED = 0.05
"""How much less likely a reading was turned into the other unit than read in it (common practice, no source)."""
STEP = 0.1
"""Step of a scale [book's unit]: how close two readings are that are the same."""
DIGITS, MOST_DECIMALS = "0123456789", 6


@dataclass(frozen=True, slots=True)
class Weighed:
    """One weighing as it was typed.

    Attributes:
        readings: one or two, in the book's unit.
        how: the way to weigh.
        per_reading: gross per unit of a reading, of the sum for two sides, of the mean else [kg].
        gross: as reckoned [kg].
        usual: what such a hive is expected to weigh, with what stood on it [kg], and the spread of that.
        unit: kg or lb.
        extras: masses named in the row [kg].
        before: readings of the colony's weighing before this one.
        others: other hives of that visit, by row of the colony.
        usual_way: whether the colony's other weighings were done so too.
        thing: whether something left on is to be thought of.
        bounds: what the hive weighs empty and full, with what stood on it [kg].
    """

    readings: tuple[float, ...]
    how: str
    per_reading: float
    gross: float
    usual: tuple[float, float]
    unit: str
    extras: tuple[float, ...] = ()
    before: tuple[float, ...] = ()
    others: dict[int, Weighed] = field(default_factory=dict)
    usual_way: bool = True
    thing: bool = False
    bounds: tuple[float, float] = (0.0, math.inf)

    def gross_if(self, instead: Instead) -> float:
        """The gross had that been meant [kg]."""
        return self.gross + self.per_reading * (instead.counted - counted(self.readings, self.how)) + instead.more

    def as_typed(self, name: str, gross: float, weight: float, wide: float = 0.0) -> Instead:
        """A cause that makes the gross another though the readings are right."""
        own = counted(self.readings, self.how)
        return Instead(name, self.readings, own, weight, more=gross - self.gross, wide=wide)


class Instead(NamedTuple):
    """What may have been meant.

    Attributes:
        name: cause of the handbook.
        readings: as they should stand; those typed where they are right.
        counted: what those come to, as the way counts them [book's unit].
        weight: how likely among what the cause does.
        which: the reading at fault, 1 or 2; 0 for all of them, or none.
        more: what the gross then is beyond what the readings make of it [kg].
        wide: further uncertainty of the gross [kg].
        other: row of the colony whose reading it may be.
    """

    name: str
    readings: tuple[float, ...]
    counted: float
    weight: float
    which: int = 0
    more: float = 0.0
    wide: float = 0.0
    other: int = 0

    @property
    def meant(self) -> float:
        """What should stand in the cell at fault [book's unit]; NaN where that is no single reading."""
        return self.readings[max(self.which, 1) - 1] if self.name not in (LAST, NAMED, LEFT_ON, WAY) else float("nan")


def tries(one: Weighed) -> list[Instead]:
    """All that may have been meant by what was typed in one row.

    >>> row = Weighed((83.5,), "platform", 1.0, 83.5, (36.0, 6.0), "kg")
    >>> [round(row.gross_if(found), 1) for found in tries(row) if found.name == SWAPPED]
    [38.5, 85.3]
    """
    found = [*_pen(one.readings, one.how, one.unit), *_ways(one)]
    found += [one.as_typed(NAMED, one.gross + mass, 1 / len(one.extras)) for mass in one.extras if mass > 0]
    pairs = zip(one.before * 2, one.readings * 2, strict=False)  # where one weighing has two, they are held to the one
    if one.before and all(round(abs(last - this), DECIMALS) <= STEP / 2 for last, this in pairs):
        found.append(one.as_typed(LAST, one.usual[0], 1.0, one.usual[1]))
    for row, other in one.others.items():
        if len(other.readings) == len(one.readings) and not (one.how == SIDES and _apart(one.readings)):
            weight = _takes(other, one.gross) / len(one.others)
            found.append(Instead(OTHER, other.readings, counted(other.readings, one.how), weight, other=row))
    return [*found, *(_things(one) if one.thing else ())]


def _takes(other: Weighed, gross: float) -> float:
    """How much likelier, or less, another hive weighs what was typed here than what was typed for it.

    Nought where it cannot weigh that, by its tare and its combs and what one side is in doubt.
    """
    (low, high), doubt = other.bounds, handbook().methods[ONE_SIDE].multiplier_u.value
    room = 1 + doubt * (other.how == ONE_SIDE)
    if not low / room <= gross <= high * room:
        return 0.0
    middle, spread = (np.array([value]) for value in other.usual)
    return float((bell(gross - middle, spread) / unlike(other.gross - middle, spread))[0])


def counted(readings: Sequence[float], how: str) -> float:
    """What readings of one hive come to: the sum of its two sides, else their mean [unit of the readings]."""
    return sum(readings) if how == SIDES else sum(readings) / len(readings)


@lru_cache(maxsize=512)
def _pen(typed: tuple[float, ...], how: str, unit: str) -> list[Instead]:
    """Slips of the pen, and the other unit; kept, for a club's scales show the same readings time and again."""
    return [*_all_readings(typed, how, unit), *_each_reading(typed, how, unit)]


def _all_readings(typed: tuple[float, ...], how: str, unit: str) -> Iterator[Instead]:
    """Slips that befall all readings of a row alike."""
    for factor, share in SHIFTS:
        readings = tuple(round(reading * factor, 6) for reading in typed)
        yield Instead(POINT, readings, counted(readings, how), share * _finer(readings))
    for factor, share in _units(unit):
        readings = tuple(reading * factor for reading in typed)
        yield Instead(UNIT, readings, counted(readings, how), factor * share)


def _units(unit: str) -> tuple[tuple[float, float], ...]:
    """What makes a reading one of the other unit, and how likely: read off such a scale, or turned the wrong way."""
    pound = UNITS["lb"].factor
    read, turned = (pound, 1 / pound) if unit == "kg" else (1 / pound, pound)
    return (read, 1.0), (turned, TURNED)


def _finer(readings: Sequence[float]) -> float:
    """How likely it is that a scale shows such readings: they have one decimal."""
    steps = [one / STEP for one in readings]
    return 1.0 if all(math.isfinite(one) and abs(one - round(one)) < STEP for one in steps) else FINER


def _each_reading(typed: tuple[float, ...], how: str, unit: str) -> Iterator[Instead]:
    """Slips in one reading of a row."""
    for at, reading in enumerate(typed):
        kinds = [*_of_digits(reading)]
        if len(typed) > 1:
            kinds += [(POINT, [round(reading * factor, 6)], one_share) for factor, one_share in SHIFTS]
            kinds += [(UNIT, [reading * factor], share / 2) for factor, share in _units(unit)]
        for name, instead, likely in kinds:
            for value in instead:
                readings = (*typed[:at], value, *typed[at + 1 :])
                weight = likely / len(instead) / len(typed) * (_finer((value,)) if name == POINT else 1.0)
                if not (how == SIDES and _apart(readings)):
                    yield Instead(name, readings, counted(readings, how), weight, which=at + 1)


@lru_cache(maxsize=512)
def _of_digits(reading: float) -> list[tuple[str, list[float], float]]:
    """What a reading may have been before its digits suffered, with a cause and its share each; its sign stays.

    >>> [(name, values[:2]) for name, values, _ in _of_digits(-38.5)][0]
    ('swapped digits', [-83.5, -35.8])
    """
    text, sign, share = written(abs(reading)), math.copysign(1.0, reading), judging("digits")
    if not text.replace(".", "").isdecimal():  # a number so large or small that nobody writes it out
        return []
    kinds = [(SWAPPED, swapped(text), 1.0), (DIGIT, changed(text), share)]
    kinds += [(DIGIT, lengthened(text), (1 - share) / 2), (DIGIT, shortened(text), (1 - share) / 2)]
    return [(name, [sign * value for value in values], part) for name, values, part in kinds]


def _apart(readings: Sequence[float]) -> bool:
    return max(readings) > figure("sides_ratio") * min(readings)


def _ways(one: Weighed) -> Iterator[Instead]:
    """Another way of weighing than the one that was chosen."""
    factor, wide = handbook().methods[ONE_SIDE].multiplier.value, handbook().methods[ONE_SIDE].multiplier_u.value
    first, kilograms = one.readings[0], UNITS[one.unit].factor
    share = 1.0 if not one.usual_way else 1 / judging("said_weight") ** 2
    if one.how == ONE_SIDE:
        yield one.as_typed(WAY, first * kilograms, share)
    elif one.how == SIDES:
        whole = sum(one.readings) / len(one.readings) * kilograms
        if len(one.readings) > 1 and max(one.readings) - min(one.readings) <= figure("repeat_apart") / kilograms:
            yield one.as_typed(WAY, whole, share)
    elif len(one.readings) > 1:
        yield one.as_typed(WAY, sum(one.readings) * kilograms, share)
    else:
        gross = factor * first * kilograms
        yield one.as_typed(WAY, gross, share, wide * gross)


def _things(one: Weighed) -> Iterator[Instead]:
    """Something that stood on the hive and is not named: of the list of extras, or of any mass."""
    listed = [extra.mass.value for extra in handbook().extras.values() if extra.mass.value >= judging("listed_least")]
    for mass in listed:
        yield one.as_typed(LEFT_ON, one.gross - mass, judging("listed") / len(listed))
    cause = handbook().causes[LEFT_ON]
    masses = np.arange(cause.least.value, cause.most.value + 1)
    for mass in masses.tolist():
        yield one.as_typed(LEFT_ON, one.gross - mass, (1 - judging("listed")) / len(masses))


def likely(
    one: Weighed, found: Sequence[Instead], around: Sequence[tuple[float, float, float]]
) -> dict[str, tuple[float, float, Instead]]:
    """How likely each cause is by what the book expects of the hive.

    Args:
        one: the weighing.
        found: what may have been meant by it.
        around: residual and its uncertainty [kg] of the intervals that touch the weighing, and 1 for the one that
            ends with it, -1 for the one that begins with it.

    Returns:
        by cause, weight times density, as many times as likely as what was typed is by such a hive alone: the sum of
        all that was found, that of the likeliest, and the likeliest.

    Source: Bayes' rule.
    """
    usual, causes = (one.gross - one.usual[0], one.usual[1], 1.0), handbook().causes
    away, u, sign = np.array([usual, *around]).T[:, :, None]
    weight = np.array([causes[each.name].weight.value * each.weight for each in found])
    reads, more, wide = (np.array([getattr(each, key) for each in found]) for key in ("counted", "more", "wide"))
    gross = one.gross + one.per_reading * (reads - counted(one.readings, one.how)) + more
    fits = unlike(away + sign * (gross - one.gross), np.hypot(u, wide))
    fits[0] = weight * fits[0] / unlike(away[0], u[0])
    if copied := [at for at, each in enumerate(found) if each.name == LAST]:
        fits[1:2, copied] = 1 / (STEP * one.per_reading)
        fits[2:, copied] = 1 / (u[2:] * np.sqrt(2 * np.pi))
    told = defaultdict[str, list[tuple[float, Instead]]](list)
    for each, score in zip(found, fits.prod(axis=0).tolist(), strict=True):
        told[each.name].append((score, each))
    return {name: (sum(score for score, _ in of), *max(of, key=itemgetter(0))) for name, of in told.items()}


def written(value: float) -> str:
    """A reading as it is typed.

    >>> written(38.50), written(3.85)
    ('38.5', '3.85')
    """
    return f"{round(value, MOST_DECIMALS):g}"


def swapped(text: str) -> list[float]:
    """Numbers that become another when two digits side by side are swapped.

    >>> swapped("38.5")
    [83.5, 35.8]
    """
    places = [at for at, sign in enumerate(text) if sign in DIGITS]
    found = []
    for first, second in pairwise(places):
        signs = list(text)
        signs[first], signs[second] = signs[second], signs[first]
        if signs[first] != signs[second] and signs[0] != "0":
            found.append(float("".join(signs)))
    return found


def changed(text: str) -> list[float]:
    """Numbers that become another when one digit of the whole part is typed wrongly; a wrong tenth moves no kilogram.

    >>> len(changed("38.5")), changed("5.1")[:2]
    (17, [1.1, 2.1])
    """
    whole, point, rest = text.partition(".")
    others = [
        whole[:at] + digit + whole[at + 1 :]
        for at, own in enumerate(whole)
        for digit in DIGITS
        if digit != own and not (at == 0 and digit == "0")
    ]
    return [float(other + point + rest) for other in others]


def lengthened(text: str) -> list[float]:
    """Numbers that become another when one digit of the whole part is left out.

    >>> 38.5 in lengthened("8.5"), 38.5 in lengthened("3.5")
    (True, True)
    """
    whole, point, rest = text.partition(".")
    found = {
        whole[:at] + digit + whole[at:] for at in range(len(whole) + 1) for digit in DIGITS if at > 0 or digit != "0"
    }
    return sorted(float(other + point + rest) for other in found)


def shortened(text: str) -> list[float]:
    """Numbers that become another when one of their digits is typed twice.

    >>> shortened("338.5"), shortened("38.5")
    ([38.5], [])
    """
    twice = [at for at, (one, other) in enumerate(pairwise(text)) if one == other]
    return [float(text[:at] + text[at + 1 :]) for at in twice]
