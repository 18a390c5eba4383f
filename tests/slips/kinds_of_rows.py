"""Kinds of slip in feeds, visits, dates, codes and across sheets."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from tests.slips.clean_seasons import NAMES
from tests.slips.kinds import ACROSS, CODE, DAY, FEED, LEAST, POUND, VISIT, Case, Planted, kind

if TYPE_CHECKING:
    from collections.abc import Callable

Row = dict[str, object]
KG_PER_LITRE = 1.29
"""Density of the club's syrup, near enough for the size of a slip [kg/l]."""


def _feed(case: Case) -> tuple[int, Row, int | None] | None:
    """A feed of the colony between two weighings: its position, its row and the position of the weighing after it."""
    days = {case.row(at)["date"]: at for at in case.of("Weighings")}
    for at in case.of("Feedings"):
        row = case.row(at, "Feedings")
        after = [when for when in days if when > row["date"]]  # type: ignore[operator]
        before = [when for when in days if when < row["date"]]  # type: ignore[operator]
        if after and before:
            return at, row, days[min(after)]  # type: ignore[type-var]
    return None


def _told_feed(case: Case, at: int, after: int | None, effect: float, value: object = None) -> Planted:
    return case.told(after, effect, value, stays=True, also=(("Feedings", at),))


def amount(name: str, causes: tuple[str, ...], change: Callable[[float], float]) -> None:
    """Register a kind that changes the amount of a feed."""

    def plant(case: Case) -> Planted | None:
        found = _feed(case)
        if found is None:
            return None
        at, row, after = found
        true = float(str(row["amount"]))
        row["amount"] = round(change(true), 2)
        return _told_feed(case, at, after, (true - float(str(row["amount"]))) * case.season.per * 0.7, true)

    kind(name, FEED, *causes)(plant)


AMOUNT = ("feed amount", "more-than-feeder", "more-than-comb", "feed-unlike-its-round")
amount("feed ten times", AMOUNT, lambda true: true * 10)
amount("feed a tenth", AMOUNT, lambda true: true / 10)
amount("feed doubled", (*AMOUNT, "not given"), lambda true: true * 2)


def unit(name: str, wrong: str, per: float) -> None:
    """Register a kind that names another unit than the feed was measured in."""

    def plant(case: Case) -> Planted | None:
        found = _feed(case)
        if found is None:
            return None
        at, row, after = found
        true = float(str(row["amount"])) * case.season.per
        row["unit"] = wrong
        wrongly = float(str(row["amount"])) * per
        return _told_feed(case, at, after, (true - wrongly) * 0.7, case.season.unit)

    kind(name, FEED, *AMOUNT)(plant)


unit("feed in g", "g", 0.001)
unit("feed in l", "l", KG_PER_LITRE)
unit("feed in oz", "oz", 0.0283)


@kind("feed left out", FEED, "fed")
def _left_out(case: Case) -> Planted | None:
    found = _feed(case)
    if found is None:
        return None
    at, row, after = found
    case.season.rows["Feedings"][at] = {}
    return case.told(after, float(str(row["amount"])) * case.season.per * 0.7, stays=True)


@kind("feed typed twice", FEED, "duplicate")
def _twice(case: Case) -> Planted | None:
    found = _feed(case)
    if found is None:
        return None
    at, row, _ = found
    case.season.rows["Feedings"].append(dict(row))
    last = len(case.season.rows["Feedings"]) - 1
    return Planted(case.kind, case.colony, (("Feedings", last), ("Feedings", at)))


@kind("feed again the next day", FEED, "feed-again", "duplicate", "not given", "feed amount")
def _again(case: Case) -> Planted | None:
    found = _feed(case)
    if found is None:
        return None
    at, row, after = found
    case.season.rows["Feedings"].append({**row, "date": row["date"] + timedelta(days=1)})  # type: ignore[operator]
    last = len(case.season.rows["Feedings"]) - 1
    effect = -float(str(row["amount"])) * case.season.per * 0.7
    rows = (("Feedings", last), ("Feedings", at), ("Weighings", after or 0))
    return Planted(case.kind, case.colony, rows, after, effect, stays=True)


@kind("feed with another colony", FEED, "fed", "not given")
def _wrong_colony(case: Case) -> Planted | None:
    found = _feed(case)
    if found is None:
        return None
    at, row, after = found
    row["colony"] = f"{case.place.name} H{(int(case.colony.split('H')[1]) + 1) % 8}"
    return _told_feed(case, at, after, float(str(row["amount"])) * case.season.per * 0.7)


@kind("syrup called fondant in the mix", FEED, "feed-impossible")
def _mix(case: Case) -> Planted | None:
    found = _feed(case)
    if found is None:
        return None
    at, row, _ = found
    row.update({"feed_kind": "Home mixed syrup", "sugar": 10.0, "water": 3.0})
    return Planted(case.kind, case.colony, (("Feedings", at),))


def _visit(case: Case) -> list[int]:
    """A visit after the first, on which at least five hives were weighed, each twice or more."""
    days = sorted({case.row(at)["date"] for at in case.of("Weighings")[1:]})  # type: ignore[type-var]
    found = [case.visit(day) for day in days]
    found = [rows for rows in found if len(rows) >= 5]
    return found[int(case.rng.integers(len(found)))] if found else []


def _told_visit(case: Case, rows: list[int], effect: float = float("nan")) -> Planted:
    return Planted(case.kind, case.colony, tuple(("Weighings", at) for at in rows), rows[0], effect)


@kind("scale not zeroed", VISIT, "scale zero", whole=True)
def _zero(case: Case) -> Planted | None:
    rows = _visit(case)
    if not rows or case.row(rows[0])["how"] == "one side":
        return None
    off = float(case.rng.choice([-1, 1]) * case.rng.uniform(2.0, 4.0))
    for at in rows:
        for key in ("reading_1", "reading_2"):
            if case.row(at).get(key):
                case.row(at)[key] = round(float(str(case.row(at)[key])) + off / case.season.per, 1)
    return _told_visit(case, rows, off * (2 if case.row(rows[0]).get("reading_2") else 1))


READINGS = ("reading_1", "reading_2")


def _move(case: Case, rows: list[int], order: list[int]) -> None:
    kept = [{key: case.row(at).get(key) for key in READINGS} for at in rows]
    for at, one in zip(rows, order, strict=True):
        case.row(at).update(kept[one])


@kind("readings copied down", VISIT, "readings-copied", whole=True)
def _copied(case: Case) -> Planted | None:
    rows = _visit(case)[:4]
    if len(rows) < 4:
        return None
    _move(case, rows, [0] * len(rows))
    return _told_visit(case, rows)


@kind("block one row lower", VISIT, "readings-moved", whole=True)
def _lower(case: Case) -> Planted | None:
    rows = _visit(case)
    if not rows:
        return None
    _move(case, rows, [len(rows) - 1, *range(len(rows) - 1)])
    return _told_visit(case, rows)


@kind("readings sorted by themselves", VISIT, "readings-moved", whole=True)
def _sorted(case: Case) -> Planted | None:
    rows = _visit(case)
    if not rows:
        return None
    _move(case, rows, np.argsort([float(str(case.row(at)["reading_1"])) for at in rows]).tolist())
    return _told_visit(case, rows)


def repeated(name: str, change: Callable[[Row], Row]) -> None:
    """Register a kind that types a whole visit again."""

    def plant(case: Case) -> Planted | None:
        rows = _visit(case)
        if not rows:
            return None
        count = len(case.season.rows["Weighings"])
        case.season.rows["Weighings"] += [{**case.row(at), **change(case.row(at))} for at in rows]
        return _told_visit(case, [*rows, *range(count, count + len(rows))])

    kind(name, VISIT, "repeated-visit", "duplicate", whole=True)(plant)


repeated("visit again the next day", lambda row: {"date": row["date"] + timedelta(days=1)})  # type: ignore[operator]
repeated("visit again under another name", lambda row: {"by": NAMES[(NAMES.index(str(row["by"])) + 1) % len(NAMES)]})


@kind("one date unlike its block", VISIT, "date-unlike-its-block")
def _unlike(case: Case) -> Planted | None:
    rows = _visit(case)
    mine = [at for at in rows if case.row(at)["colony"] == case.colony]
    if not mine:
        return None
    true = case.row(mine[0])["date"]
    case.row(mine[0])["date"] = true + timedelta(days=int(case.rng.choice([-10, -1, 1, 10])))  # type: ignore[operator]
    return Planted(case.kind, case.colony, (("Weighings", mine[0]),), value=true)


@kind("one feed unlike its round", VISIT, *AMOUNT)
def _feed_unlike(case: Case) -> Planted | None:
    found = _feed(case)
    if found is None:
        return None
    at, row, after = found
    true = float(str(row["amount"]))
    row["amount"] = round(true * float(case.rng.choice([0.01, 0.1, 5.0])), 3)
    return _told_feed(case, at, after, (true - float(str(row["amount"]))) * case.season.per * 0.7, true)


def day(name: str, causes: tuple[str, ...], change: Callable[[date], object]) -> None:
    """Register a kind that spoils the date of a weighing."""

    def plant(case: Case) -> Planted | None:
        at = case.pick()
        if at is None:
            return None
        true = case.row(at)["date"]
        assert isinstance(true, date)
        wrong = change(true)
        if wrong is None:
            return None
        case.row(at)["date"] = wrong
        return Planted(case.kind, case.colony, (("Weighings", at),), value=true)

    kind(name, DAY, *causes)(plant)


def _day_and_month(true: date) -> date | None:
    if true.day > 12 or true.day == true.month:
        return None
    return date(2026 if true.day >= 7 else 2027, true.day, true.month)


YEAR = ("wrong-year",)
day("last year's date", YEAR, lambda true: true.replace(year=true.year - 1))
day("next year's date", (*YEAR, "later-than-as-at"), lambda true: true.replace(year=true.year + 1))
day("a century off", (*YEAR, "out-of-season"), lambda true: true.replace(year=true.year - 100))
day("day and month swapped", ("date", "date-unlike-its-block", "later-than-as-at"), _day_and_month)
day(
    "another month",
    ("date", "date-unlike-its-block", "later-than-as-at"),
    lambda true: true.replace(month=true.month % 12 + 1, day=min(true.day, 28)),
)
day("no such day", ("impossible-date",), lambda true: f"{true.year}-02-30")
day("a day before the winter", ("out-of-season",), lambda true: date(2026, 5, true.day))


def cell(
    name: str, key: str, causes: tuple[str, ...], change: Callable[[object], object], sheet: str = "Weighings"
) -> None:
    """Register a kind that spoils one cell of words or figures."""

    def plant(case: Case) -> Planted | None:
        rows = [at for at in case.of(sheet) if case.row(at, sheet).get(key)]
        if not rows:
            return None
        at = int(case.rng.choice(rows))
        true = case.row(at, sheet)[key]
        case.row(at, sheet)[key] = change(true)
        return Planted(case.kind, case.colony, ((sheet, at),), value=true)

    kind(name, CODE, *causes)(plant)


cell("colony unknown", "colony", ("unknown-code",), lambda true: f"{true}9")
cell("scale unknown", "scale", ("unknown-code",), lambda true: f"{true}7")
cell("extra unknown", "extra_1", ("unknown-code",), lambda true: f"{true}e")
cell("hand misspelt", "by", ("name-misspelt",), lambda true: f"{str(true)[:3]}{str(true)[4:]}")
cell("way misspelt", "how", ("unknown-word",), lambda true: f"{str(true)[:-1]}")
cell("decimal comma", "reading_1", ("decimal-comma",), lambda true: f"{true}".replace(".", ","))
cell("unit in the cell", "reading_1", ("unit-in-cell",), lambda true: f"{true} kg")
cell("letter in a figure", "reading_1", ("not-a-number",), lambda true: f"{true}O")
cell("feed unknown", "feed_kind", ("unknown-code",), lambda true: f"{true} mix", "Feedings")
cell("colony of a feed unknown", "colony", ("unknown-code",), lambda true: f"{true}9", "Feedings")
cell(
    "guess in the other unit",
    "heft",
    ("other unit", "guess-apart"),
    lambda true: round(float(str(true)) * 2.2),
    "Weighings",
)
cell("guess ten times", "heft", ("decimal", "guess-apart"), lambda true: float(str(true)) * 10)
cell("round guess ten times", "heft", ("decimal", "round-apart"), lambda true: float(str(true)) * 10, "Winter rounds")
cell(
    "round guess of another hive",
    "heft",
    ("round-apart", "one digit"),
    lambda true: float(str(true)) * 1.8,
    "Winter rounds",
)


def gone(name: str, end: Row, sheet: str, rules: tuple[str, ...]) -> None:
    """Register a kind in which a colony that is gone has rows that go on."""

    def plant(case: Case) -> Planted | None:
        rows = case.of(sheet)
        if not rows:
            return None
        at = rows[-1]
        when = case.row(at, sheet)["date"] - timedelta(days=5)  # type: ignore[operator]
        outcomes = case.of("After winter")
        told = {"date": when, "colony": case.colony, **end}
        if "into" in end:
            told["into"] = f"{case.place.name} H{(int(case.colony.split('H')[1]) + 1) % 8}"
        target = "After winter" if "outcome" in end else "Moves"
        if target == "After winter" and outcomes:
            case.row(outcomes[0], target).update({**told, "spring_gross": None})
            ended = outcomes[0]
        else:
            case.season.rows[target].append(told)
            ended = len(case.season.rows[target]) - 1
        return Planted(case.kind, case.colony, ((sheet, at), (target, ended)))

    kind(name, ACROSS, *rules)(plant)


DIED, UNITED, GIVEN = {"outcome": "died"}, {"what": "united into", "into": ""}, {"what": "given away"}
gone("died, then weighed", DIED, "Weighings", ("weighed-after-gone",))
gone("died, then fed", DIED, "Feedings", ("row-after-gone",))
gone("died, then seen on a round", DIED, "Winter rounds", ("row-after-gone",))
gone("united, then weighed", UNITED, "Weighings", ("weighed-after-gone",))
gone("united, then fed", UNITED, "Feedings", ("row-after-gone",))
gone("given away, then weighed", GIVEN, "Weighings", ("weighed-after-gone",))


@kind("starved with food left", ACROSS, "starved-with-food")
def _starved(case: Case) -> Planted | None:
    rows = case.of("After winter")
    if not rows:
        return None
    case.row(rows[0], "After winter").update(
        {"outcome": "died", "spring_gross": None, "seen": "no food left", "food_left": round(9 / case.season.per, 1)}
    )
    return Planted(case.kind, case.colony, (("After winter", rows[0]),))


@kind("two outcomes", ACROSS, "two-outcomes")
def _two(case: Case) -> Planted | None:
    rows = case.of("After winter")
    if not rows:
        return None
    first = case.row(rows[0], "After winter")
    case.season.rows["After winter"].append({"date": first["date"], "colony": case.colony, "outcome": "died"})
    return Planted(
        case.kind, case.colony, (("After winter", rows[0]), ("After winter", len(case.season.rows["After winter"]) - 1))
    )


def spring(name: str, causes: tuple[str, ...], change: Callable[[Case, float], float]) -> None:
    """Register a kind that changes a spring weight."""

    def plant(case: Case) -> Planted | None:
        rows = case.of("After winter")
        if not rows:
            return None
        row = case.row(rows[0], "After winter")
        true = float(str(row["spring_gross"]))
        row["spring_gross"] = round(change(case, true), 1)
        if abs(float(str(row["spring_gross"])) - true) * case.season.per < LEAST:
            return None
        return Planted(case.kind, case.colony, (("After winter", rows[0]),), value=true)

    kind(name, ACROSS, *causes)(plant)


spring(
    "spring weight in the other unit",
    ("other unit",),
    lambda case, true: true / POUND if case.season.unit == "kg" else true * POUND,
)
spring("spring weight ten times", ("decimal",), lambda _, true: true * 10)
spring("spring weight of another hive", ("spring-apart", "one digit"), lambda case, true: true + 9.0 / case.season.per)
