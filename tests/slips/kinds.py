"""Kinds of slip: each a small function that spoils one thing in a clean season and says what it spoiled."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING

from apiarybook.handbook import handbook
from apiarybook.reckon.feeding.feeds import UNITS

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy as np

    from tests.slips.clean_seasons import Season
    from tests.studies.simulated_hives import Apiary

Row = dict[str, object]
POUND = UNITS["lb"].factor
LEAST = 1.5
"""Smallest change of a reading that is planted [kg]."""
VALUE, WAY, VISIT, FEED, DAY, CODE, ACROSS = (
    "one value",
    "way or kit",
    "a visit",
    "a feed",
    "a date",
    "a code",
    "across sheets",
)


@dataclass(frozen=True, slots=True)
class Planted:
    """One slip.

    Attributes:
        kind: its name.
        colony: code of the colony.
        rows: sheet and position of the rows at which it may be told.
        at: position of the weighing whose gross is no longer what the hive weighed; None where there is none.
        effect: by how much it is off [kg].
        stays: whether all later weighings are off alike.
        value: what should stand in the cell; None where that is not one value.
    """

    kind: str
    colony: str
    rows: tuple[tuple[str, int], ...]
    at: int | None = None
    effect: float = float("nan")
    stays: bool = False
    value: object = None


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of slip: its group, the causes (or rules) that name it rightly, and the function that plants it."""

    name: str
    group: str
    causes: tuple[str, ...]
    plant: Callable[[Case], Planted | None]
    whole: bool = False
    """Whether it takes a whole apiary."""


KINDS: dict[str, Kind] = {}


@dataclass(slots=True)
class Case:
    """One colony of one apiary in which something is to go wrong."""

    season: Season
    place: Apiary
    colony: str
    rng: np.random.Generator
    kind: str = ""
    drop: list[tuple[str, int]] = field(default_factory=list)

    def of(self, sheet: str, colony: str = "") -> list[int]:
        """Positions of a colony's rows."""
        code = colony or self.colony
        return [at for at, row in enumerate(self.season.rows[sheet]) if row.get("colony") == code]

    def visit(self, day: object) -> list[int]:
        """Positions of the apiary's weighings of a day."""
        codes = {f"{self.place.name} H{hive}" for hive in range(len(self.place.hives))}
        rows = self.season.rows["Weighings"]
        return [at for at, row in enumerate(rows) if row["date"] == day and row["colony"] in codes]

    def row(self, at: int, sheet: str = "Weighings") -> Row:
        """One row."""
        return self.season.rows[sheet][at]

    def pick(self, *, first: bool = False, last: bool = True) -> int | None:
        """A weighing of the colony: its first, or any later one."""
        own = self.of("Weighings")
        if first:
            return own[0] if len(own) > 1 else None
        own = own[1:] if last else own[1:-1]
        return int(self.rng.choice(own)) if own else None

    def factor(self, row: Row) -> float:
        """Kilograms of gross in a unit of a reading."""
        return self.season.per * (handbook().methods["one side"].multiplier.value if row["how"] == "one side" else 1.0)

    def told(self, at: int | None, effect: float, value: object = None, **more: object) -> Planted:
        """A slip in a weighing."""
        rows = (("Weighings", at),) if at is not None else ()
        return Planted(self.kind, self.colony, (*rows, *more.pop("also", ())), at, effect, value=value, **more)  # type: ignore[arg-type, misc]


def kind(
    name: str, group: str, *causes: str, whole: bool = False
) -> Callable[[Callable[[Case], Planted | None]], object]:
    """Register a kind of slip."""

    def register(plant: Callable[[Case], Planted | None]) -> object:
        KINDS[name] = Kind(name, group, causes, plant, whole)
        return plant

    return register


def reading(name: str, causes: tuple[str, ...], change: Callable[[Case, float], float | None], **where: bool) -> None:
    """Register a kind that changes reading 1 of one weighing."""

    def plant(case: Case) -> Planted | None:
        at = case.pick(first=where.get("first", False))
        if at is None:
            return None
        row = case.row(at)
        true = float(str(row["reading_1"]))
        wrong = change(case, true)
        if wrong is None or wrong <= 0:
            return None
        effect = (wrong - true) * case.factor(row)
        if abs(effect) < LEAST:
            return None
        row["reading_1"] = round(wrong, 4)
        return case.told(at, effect, true)

    kind(name, VALUE, *causes)(plant)


def _swapped(at: int) -> Callable[[Case, float], float | None]:
    def change(_: Case, true: float) -> float | None:
        signs = f"{true:.1f}".replace(".", "")
        if len(signs) < at + 3 or signs[at] == signs[at + 1]:
            return None
        mixed = list(signs)
        mixed[at], mixed[at + 1] = mixed[at + 1], mixed[at]
        return float("".join(mixed)) / 10

    return change


def _digit(place: float) -> Callable[[Case, float], float | None]:
    def change(case: Case, true: float) -> float | None:
        digit = int(true / place) % 10
        other = int(case.rng.integers(1 if true < 10 * place else 0, 10))
        return None if other == digit or true < place else true + (other - digit) * place

    return change


def _left_out(_: Case, true: float) -> float:
    return float(f"{true:.1f}"[1:])


def _doubled(_: Case, true: float) -> float:
    text = f"{true:.1f}"
    return float(text[0] + text)


def _other_unit(case: Case, true: float) -> float:
    return round(true / POUND if case.season.unit == "kg" else true * POUND, 1)


UNIT, POINT, SWAP, DIGIT = ("other unit",), ("decimal",), ("swapped digits",), ("one digit",)
for _suffix, _first in (("", False), (" at first", True)):
    reading(f"other unit{_suffix}", UNIT, _other_unit, first=_first)
    reading(f"ten times{_suffix}", POINT, lambda _, true: true * 10, first=_first)
    reading(f"a tenth{_suffix}", POINT, lambda _, true: true / 10, first=_first)
    reading(f"tens and ones swapped{_suffix}", SWAP, _swapped(0), first=_first)
    reading(f"tens wrong{_suffix}", DIGIT, _digit(10.0), first=_first)
    reading(f"ones wrong{_suffix}", DIGIT, _digit(1.0), first=_first)
reading("a hundredth", POINT, lambda _, true: true / 100)
reading("ones and tenths swapped", SWAP, _swapped(1))
reading("a digit left out", DIGIT, _left_out)
reading("a digit doubled", DIGIT, _doubled)


@kind("last visit's reading", VALUE, "last reading")
def _last_reading(case: Case) -> Planted | None:
    own = case.of("Weighings")
    pairs = [pair for pair in pairwise(own) if abs(_gross(case, pair[0]) - _gross(case, pair[1])) > LEAST]
    if not pairs:
        return None
    before, at = pairs[int(case.rng.integers(len(pairs)))]
    effect, true = _gross(case, before) - _gross(case, at), case.row(at)["reading_1"]
    case.row(at).update({key: case.row(before).get(key) for key in ("reading_1", "reading_2")})
    return case.told(at, effect, true)


def _gross(case: Case, at: int) -> float:
    row = case.row(at)
    return (float(str(row["reading_1"])) + float(str(row.get("reading_2") or 0.0))) * case.factor(row)


def _neighbour(case: Case, at: int) -> int | None:
    beside = [one for one in case.visit(case.row(at)["date"]) if one != at]
    beside = [one for one in beside if abs(_gross(case, one) - _gross(case, at)) > LEAST]
    return int(case.rng.choice(beside)) if beside else None


@kind("reading of another colony", VALUE, "other colony", "readings-copied")
def _other_reading(case: Case) -> Planted | None:
    at = case.pick()
    other = None if at is None else _neighbour(case, at)
    if at is None or other is None:
        return None
    effect, true = _gross(case, other) - _gross(case, at), case.row(at)["reading_1"]
    case.row(at).update({key: case.row(other).get(key) for key in ("reading_1", "reading_2")})
    return case.told(at, effect, true, also=(("Weighings", other),))


@kind("two colonies mixed up", VALUE, "other colony")
def _mixed(case: Case) -> Planted | None:
    at = case.pick()
    other = None if at is None else _neighbour(case, at)
    if at is None or other is None:
        return None
    effect = _gross(case, other) - _gross(case, at)
    for key in ("reading_1", "reading_2"):
        case.row(at)[key], case.row(other)[key] = case.row(other).get(key), case.row(at).get(key)
    return case.told(at, effect, case.row(other)["reading_1"], also=(("Weighings", other),))


def _side(case: Case, wanted: str) -> tuple[int, Row] | None:
    own = [at for at in case.of("Weighings") if case.row(at)["how"] == wanted]
    return (own[-1], case.row(own[-1])) if own else None


@kind("one side as full lift", WAY, "way of weighing")
def _one_as_full(case: Case) -> Planted | None:
    found = _side(case, "two sides")
    if found is None:
        return None
    at, row = found
    before = _gross(case, at)
    row.update({"how": "full lift", "reading_2": None})
    return case.told(at, _gross(case, at) - before)


@kind("two sides named full lift", WAY, "way of weighing", "second-reading")
def _two_as_full(case: Case) -> Planted | None:
    found = _side(case, "two sides")
    if found is None:
        return None
    at, row = found
    before = _gross(case, at)
    row["how"] = "full lift"
    return case.told(at, before / 2 - before)


@kind("full lift as one side", WAY, "way of weighing")
def _full_as_one(case: Case) -> Planted | None:
    found = _side(case, "full lift")
    if found is None:
        return None
    at, row = found
    before = _gross(case, at)
    row["how"] = "one side"
    return case.told(at, _gross(case, at) - before)


@kind("full lift as two sides", WAY, "way of weighing")
def _full_as_two(case: Case) -> Planted | None:
    found = _side(case, "full lift")
    if found is None:
        return None
    at, row = found
    before = _gross(case, at)
    row.update({"how": "two sides", "reading_2": row["reading_1"]})
    return case.told(at, before)


@kind("second side missing", WAY, "missing-value")
def _side_missing(case: Case) -> Planted | None:
    found = _side(case, "two sides")
    if found is None:
        return None
    found[1]["reading_2"] = None
    return case.told(found[0], float("nan"))


def _side_slip(name: str, causes: tuple[str, ...], change: Callable[[Case, float], float]) -> None:
    def plant(case: Case) -> Planted | None:
        found = _side(case, "two sides")
        if found is None:
            return None
        at, row = found
        true = float(str(row["reading_2"]))
        row["reading_2"] = round(change(case, true), 2)
        return case.told(at, (float(str(row["reading_2"])) - true) * case.season.per, true)

    kind(name, VALUE, *causes)(plant)


_side_slip("one side in the other unit", UNIT, _other_unit)
_side_slip("one side ten times", POINT, lambda _, true: true * 10)
_side_slip("one side a tenth", POINT, lambda _, true: true / 10)


@kind("extra not named", WAY, "left on")
def _not_named(case: Case) -> Planted | None:
    at = case.pick()
    if at is None or case.row(at)["how"] == "one side":
        return None
    mass = float(case.rng.choice([one.mass.value for one in handbook().extras.values() if one.mass.value >= LEAST]))
    row = case.row(at)
    sides = 2 if row.get("reading_2") else 1
    for key in ("reading_1", "reading_2")[:sides]:
        row[key] = round(float(str(row[key])) + mass / case.season.per / sides, 1)
    return case.told(at, mass)


@kind("extra named, not there", WAY, "extra named", "taken off")
def _named(case: Case) -> Planted | None:
    at = case.pick()
    if at is None:
        return None
    name = str(case.rng.choice([one.name for one in handbook().extras.values() if one.mass.value >= 2 * LEAST]))
    case.row(at)["extra_2"] = name
    return case.told(at, -handbook().extras[name].mass.value)


@kind("hive type changed without a move", WAY, "hive type")
def _type_changed(case: Case) -> Planted | None:
    at = case.pick()
    if at is None or case.row(at)["how"] == "one side":
        return None
    own, now = case.place.hives[int(case.colony.split("H")[1])], None
    tare = {name: handbook().hive_types[name].tare.value for name in set(case.place.hives)}
    others = [name for name in tare if abs(tare[name] - tare[own]) > LEAST]
    if not others:
        return None
    now = str(case.rng.choice(sorted(others)))
    moved = tare[now] - tare[own]
    for later in [one for one in case.of("Weighings") if one >= at]:
        row, sides = case.row(later), 2 if case.row(later).get("reading_2") else 1
        for key in ("reading_1", "reading_2")[:sides]:
            row[key] = round(float(str(row[key])) + moved / case.season.per / sides, 1)
    return case.told(at, moved, stays=True)


@kind("feeder with feed called empty", WAY, "left on", "before feed", "fed")
def _feeder(case: Case) -> Planted | None:
    at = case.pick()
    if at is None or case.row(at)["how"] == "one side":
        return None
    row, mass = case.row(at), float(case.rng.uniform(2.0, 6.0))
    sides = 2 if row.get("reading_2") else 1
    for key in ("reading_1", "reading_2")[:sides]:
        row[key] = round(float(str(row[key])) + mass / case.season.per / sides, 1)
    return case.told(at, mass)


@kind("robbed", WAY, "robbed", "leaked")
def _robbed(case: Case) -> Planted | None:
    own = [at for at in case.of("Weighings")[1:] if case.row(at)["date"] < date(2026, 11, 1)]  # type: ignore[operator]
    if not own or case.row(own[0])["how"] == "one side":
        return None
    at, mass = int(case.rng.choice(own)), -float(case.rng.uniform(3.0, 7.0))
    for later in [one for one in case.of("Weighings") if one >= at]:
        row, sides = case.row(later), 2 if case.row(later).get("reading_2") else 1
        for key in ("reading_1", "reading_2")[:sides]:
            row[key] = round(float(str(row[key])) + mass / case.season.per / sides, 1)
    return case.told(at, mass, stays=True)
