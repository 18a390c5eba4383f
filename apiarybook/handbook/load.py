"""The TOML files of the handbook, read into one checked whole."""

from __future__ import annotations

import math
import re
import tomllib
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING, TypeVar

from apiarybook.errors import HandbookError
from apiarybook.handbook.figures import (
    DATES,
    KINDS,
    MONTHS,
    REGIONS,
    SIGNED_UNITS,
    UNITS,
    Cause,
    DensityTable,
    Extra,
    Feed,
    Figure,
    Frame,
    Handbook,
    HiveType,
    Method,
    MonthDay,
    Months,
    Profile,
    SaturationTable,
    ScaleKind,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from importlib.resources.abc import Traversable
    from pathlib import Path


_FIGURE_KEYS = ("value", "unit", "low", "high", "source", "kind")
_MONTHS_KEYS = (*MONTHS, "unit", "low", "high", "source", "kind", "exceptions")


@dataclass(frozen=True, slots=True)
class Entry:
    """One TOML table and where it stands.

    >>> strap = {"mass": {"value": 0.4, "unit": "kg", "low": 0.2, "high": 1.0, "kind": "from memory"}}
    >>> Entry("extras.toml", ("Strap",), strap).figure("mass", "kg")
    Traceback (most recent call last):
    apiarybook.errors.HandbookError: Handbook file extras.toml, Strap mass: source is missing; add source.
    """

    file: str
    path: tuple[str, ...]
    table: dict[str, object]

    def wrong(self, what: str, do: str) -> HandbookError:
        """Error that says where, what is wrong and what to do."""
        place = " ".join(f'"{part}"' if " " in part else part for part in self.path)
        return HandbookError(f"Handbook file {self.file}, {place or 'top level'}: {what}; {do}.")

    def only(self, keys: Iterable[str]) -> None:
        """Refuse keys that nobody reads, since they are slips of the pen."""
        known = tuple(keys)
        for key in self.table:
            if key not in known:
                raise self.wrong(f"the key {key!r} is not known", f"use one of {', '.join(known)}")

    def entry(self, key: str) -> Entry:
        """Table under a key."""
        inner = self._get(key)
        if not isinstance(inner, dict):
            raise self.wrong(f"{key} is {inner!r} where a table of figures is expected", f"write {key} = {{ ... }}")
        return Entry(self.file, (*self.path, key), inner)

    def text(self, key: str, allowed: Iterable[str] | None = None) -> str:
        """Text under a key, never empty."""
        got = self._get(key)
        if not isinstance(got, str) or not got.strip():
            raise self.wrong(f"{key} is {got!r} where text is expected", f'write {key} = "..."')
        choices = None if allowed is None else tuple(allowed)
        if choices is not None and got not in choices:
            raise self.wrong(f"{key} {got!r} is not known", f"use one of {', '.join(choices)}")
        return got

    def texts(self, key: str, allowed: Iterable[str]) -> tuple[str, ...]:
        """List of texts under a key, each one of `allowed`, at least one."""
        got, choices = self._get(key), tuple(allowed)
        if not isinstance(got, list) or not got:
            raise self.wrong(f"{key} is {got!r} where a list is expected", f'write {key} = ["...", ...]')
        for item in got:
            if item not in choices:
                raise self.wrong(f"{key} holds {item!r}, which is not known", f"use {', '.join(choices)}")
        return tuple(got)

    def flag(self, key: str) -> bool:
        """Yes or no under a key."""
        got = self._get(key)
        if not isinstance(got, bool):
            raise self.wrong(f"{key} is {got!r} where yes or no is expected", f"write {key} = true or false")
        return got

    def number(self, key: str) -> float:
        """Finite number under a key."""
        return self._finite(self._get(key), key)

    def numbers(self, key: str) -> tuple[float, ...]:
        """List of numbers under a key."""
        got = self._get(key)
        if not isinstance(got, list):
            raise self.wrong(f"{key} is {got!r} where a list of numbers is expected", f"write {key} = [ ... ]")
        return tuple(self._finite(item, key) for item in got)

    def figure(self, key: str, unit: str | None = None) -> Figure:
        """Figure under a key, in that unit where one is named.

        Raises:
            HandbookError: value, unit, range, source or kind is missing or out of order.
        """
        inner = self.entry(key)
        inner.only(_FIGURE_KEYS)
        source, kind = inner.origin()
        value, low, high = inner.number("value"), inner.number("low"), inner.number("high")
        if not low <= value <= high:
            raise inner.wrong(
                f"the value {value:g} is outside its range {low:g} to {high:g}", "put low <= value <= high"
            )
        unit_there = inner.unit(unit)
        if low < 0.0 and unit_there not in SIGNED_UNITS:
            raise inner.wrong(f"the low end {low:g} {unit_there} is below nothing", "give a low end of 0 or more")
        return Figure(value, unit_there, low, high, source, kind)

    def months(self, key: str, unit: str) -> Months:
        """Twelve figures under a key; a month that is not there is an error."""
        inner = self.entry(key)
        inner.only(_MONTHS_KEYS)
        source, kind = inner.origin()
        sources, kinds = [source] * len(MONTHS), [kind] * len(MONTHS)
        for exception in inner.exceptions():
            exception.only(("months", "source", "kind"))
            source_there, kind_there = exception.origin()
            for month in exception.texts("months", MONTHS):
                sources[MONTHS.index(month)], kinds[MONTHS.index(month)] = source_there, kind_there
        low, high = inner.number("low"), inner.number("high")
        if not 0.0 <= low <= 1.0 <= high:
            raise inner.wrong(f"the factors {low:g} and {high:g} do not enclose 1", "put low <= 1 <= high")
        values = tuple(inner.month(month) for month in MONTHS)
        return Months(values, inner.unit(unit), source, kind, low, high, tuple(sources), tuple(kinds))

    def month(self, name: str) -> float:
        """Value of a month, never negative."""
        value = self.number(name)
        if value < 0.0:
            raise self.wrong(f"{name} is {value:g}", "give a figure of 0 or more")
        return value

    def exceptions(self) -> list[Entry]:
        """Months whose figures come from elsewhere than the rest."""
        got = self.table.get("exceptions", [])
        if not isinstance(got, list) or not all(isinstance(item, dict) for item in got):
            raise self.wrong("exceptions is not a list of tables", "write exceptions = [{ months = [...], ... }]")
        return [Entry(self.file, (*self.path, "exceptions"), item) for item in got]

    def month_day(self, key: str) -> MonthDay:
        """Day of the year under a key."""
        inner = self.entry(key)
        inner.only(("month", "day", "source", "kind"))
        source, kind = inner.origin()
        month, day = inner.number("month"), inner.number("day")
        try:
            date(2001, int(month), int(day))  # a common year, so that the day exists in every year
        except ValueError as error:
            raise inner.wrong(f"month {month:g}, day {day:g} is not a day of every year", "give a real day") from error
        return MonthDay(int(month), int(day), source, kind)

    def origin(self) -> tuple[str, str]:
        """Source and kind, which every figure must have."""
        return self.text("source"), self.text("kind", KINDS)

    def unit(self, expected: str | None) -> str:
        """Unit, which must be the expected one."""
        unit = self.text("unit", UNITS)
        if expected is not None and unit != expected:
            raise self.wrong(
                f"the unit {unit!r} is not {expected!r}", f'convert the figure and write unit = "{expected}"'
            )
        return unit

    def _get(self, key: str) -> object:
        if key not in self.table:
            raise self.wrong(f"{key} is missing", f"add {key}")
        return self.table[key]

    def _finite(self, got: object, key: str) -> float:
        if isinstance(got, bool) or not isinstance(got, int | float) or not math.isfinite(got):
            raise self.wrong(f"{key} is {got!r} where a number is expected", "give a finite number")
        return float(got)


# A spreadsheet's SUMIFS takes a leading sign or digit, or a wildcard, for a condition.
_NAME = re.compile(r"[A-Za-z][A-Za-z0-9 ]*")
_NO_SCALE = "none"
_HIVE_FIGURES = {
    "frames": "count",
    "boxes": "count",
    "tare": "kg",
    "tare_spread": "kg",
    "bees": "kg",
    "pollen": "kg",
    "pollen_frames": "count",
    "want": "kg",
    "portion_liquid": "l",
    "portion_fondant": "kg",
    "feeder_holds": "l",
}
_HIVE_OTHERS = ("size", "frame", "combs", "material", "comb", "regions", "want_by_region", "in_pounds")
_HIVE_IN_POUNDS = {"portion_liquid": "US quart", "portion_fondant": "lb", "feeder_holds": "US quart"}

Made = TypeVar("Made")


def load_handbook(folder: Traversable | Path) -> Handbook:
    """Read the handbook from a folder of TOML files.

    Raises:
        HandbookError: a file cannot be read, or a figure lacks its unit, month, source or kind, lies outside its own
            range, or refers to something that is not there; one sentence with file, place and what to do.

    >>> from importlib.resources import files
    >>> load_handbook(files("apiarybook.handbook"))["reserve_floor"].value
    5.0
    """
    frames = _each(_top(folder, "frames.toml"), _frame)
    kinds = _each(_top(folder, "scale_kinds.toml"), _scale_kind)
    hives = _top(folder, "hive_types.toml")
    sizes = hives.entry("sizes")
    types = Entry(hives.file, (), {key: value for key, value in hives.table.items() if key != "sizes"})
    model = _top(folder, "model.toml")
    days = _top(folder, "days.toml")
    syrup = _top(folder, "syrup.toml")
    causes = _top(folder, "causes.toml")
    judging = causes.entry("judging")
    behind = Entry(causes.file, (), {key: value for key, value in causes.table.items() if key != "judging"})
    return Handbook(
        frames=frames,
        hive_types=_each(types, lambda name, entry: _hive_type(name, _sized(entry, sizes), frames)),
        feeds=_each(_top(folder, "feeds.toml"), _feed),
        extras=_each(_top(folder, "extras.toml"), _extra),
        profiles=_profiles(_top(folder, "profiles.toml")),
        methods=_each(_top(folder, "methods.toml"), lambda name, entry: _method(name, entry, kinds)),
        scale_kinds=kinds,
        model={name: model.figure(name) for name in model.table},
        days={name: days.month_day(name) for name in days.table},
        causes=_each(behind, _cause),
        judging={name: judging.figure(name) for name in judging.table},
        syrup_density=_density(syrup.entry("density")),
        saturation=_saturation(syrup.entry("saturation")),
    )


def _top(folder: Traversable | Path, file: str) -> Entry:
    try:
        table = tomllib.loads(folder.joinpath(file).read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise HandbookError(f"Handbook file {file} cannot be read ({error}); put the original file back.") from error
    return Entry(file, (), table)


def _each(top: Entry, make: Callable[[str, Entry], Made]) -> dict[str, Made]:
    made = {}
    for name in top.table:
        if not _NAME.fullmatch(name):
            raise top.wrong(f"the name {name!r} will not do", "use letters, digits and spaces, a letter first")
        made[name] = make(name, top.entry(name))
    return made


def _frame(name: str, entry: Entry) -> Frame:
    entry.only(("comb_side", "full_comb"))
    return Frame(name, entry.figure("comb_side", "dm2"), entry.figure("full_comb", "kg"))


def _sized(entry: Entry, sizes: Entry) -> Entry:
    """Entry with the portions that all hives of its size share."""
    shared = sizes.entry(entry.text("size", sizes.table))
    return Entry(entry.file, entry.path, {**shared.table, **entry.table})


def _hive_type(name: str, entry: Entry, frames: dict[str, Frame]) -> HiveType:
    entry.only((*_HIVE_OTHERS, *_HIVE_FIGURES))
    figures = {key: entry.figure(key, unit) for key, unit in _HIVE_FIGURES.items()}
    combs = _combs(entry, frames, figures["frames"].value)
    wants = entry.entry("want_by_region") if "want_by_region" in entry.table else Entry(entry.file, entry.path, {})
    wants.only(REGIONS)
    return HiveType(
        name=name,
        frame=entry.text("frame", frames),
        material=entry.text("material", ("wood", "polystyrene")),
        comb=entry.text("comb", ("new", "drawn", "old")),
        comb_side=_mean(combs, lambda frame: frame.comb_side),
        full_comb=_mean(combs, lambda frame: frame.full_comb),
        regions=entry.texts("regions", REGIONS),
        want_by_region={region: wants.figure(region, "kg") for region in wants.table},
        in_pounds=_in_pounds(entry, _HIVE_IN_POUNDS),
        **figures,
    )


def _combs(entry: Entry, frames: dict[str, Frame], count: float) -> list[tuple[Frame, float]]:
    """Frames of a hive with how many of each there are; only mixed hives say so themselves."""
    if "combs" not in entry.table:
        return [(frames[entry.text("frame", frames)], count)]
    inner = entry.entry("combs")
    inner.only(frames)
    combs = [(frames[name], inner.number(name)) for name in inner.table]
    total = sum(number for _, number in combs)
    if total != count:
        raise inner.wrong(f"{total:g} combs are listed for {count:g} frames", "make the two agree")
    return combs


def _mean(combs: list[tuple[Frame, float]], pick: Callable[[Frame], Figure]) -> Figure:
    """Mean figure over all frames of a hive."""
    if len(combs) == 1:
        return pick(combs[0][0])
    total = sum(number for _, number in combs)

    def over(value: Callable[[Figure], float]) -> float:
        return sum(number * value(pick(frame)) for frame, number in combs) / total

    names = " and ".join(f"{number:g} {frame.name}" for frame, number in combs)
    first = pick(combs[0][0])
    return Figure(
        value=over(lambda figure: figure.value),
        unit=first.unit,
        low=over(lambda figure: figure.low),
        high=over(lambda figure: figure.high),
        source=f"mean over {names}; {first.source}",
        kind=first.kind,
    )


def _feed(name: str, entry: Entry) -> Feed:
    entry.only(("form", "mixed", "solids", "eta", "pack", "autumn_in", "in_pounds"))
    return Feed(
        name=name,
        form=entry.text("form", ("liquid", "solid", "comb", "none")),
        mixed=entry.flag("mixed"),
        solids=entry.figure("solids", "1"),
        eta=entry.figure("eta", "1"),
        pack=entry.figure("pack", "kg"),
        autumn_in=entry.texts("autumn_in", REGIONS) if "autumn_in" in entry.table else (),
        in_pounds=_in_pounds(entry, {"pack": "lb"}),
    )


def _in_pounds(entry: Entry, units: Mapping[str, str]) -> dict[str, Figure]:
    """The round figures of a book in pounds that are no mere conversions."""
    if "in_pounds" not in entry.table:
        return {}
    inner = entry.entry("in_pounds")
    inner.only(units)
    return {key: inner.figure(key, units[key]) for key in inner.table}


def _extra(name: str, entry: Entry) -> Extra:
    entry.only(("mass",))
    return Extra(name, entry.figure("mass", "kg"))


def _profiles(top: Entry) -> dict[str, Profile]:
    top.only(REGIONS)
    for region in REGIONS:
        if region not in top.table:
            raise top.wrong(f"the winter profile of {region} is missing", f"add [{region}]")
    return {name: _profile(name, top.entry(name)) for name in top.table}


def _profile(name: str, entry: Entry) -> Profile:
    entry.only(("title", "consumption", "bees", "brood", "dates"))
    dates = entry.entry("dates")
    dates.only(DATES)
    return Profile(
        name=name,
        title=entry.text("title"),
        consumption=entry.months("consumption", "kg/month"),
        bees=entry.months("bees", "1"),
        brood=entry.months("brood", "count"),
        dates={key: dates.month_day(key) for key in DATES},
    )


def _method(name: str, entry: Entry, kinds: dict[str, ScaleKind]) -> Method:
    entry.only(("scale_kind", "multiplier", "multiplier_u", "handling_u", "coarse"))
    return Method(
        name=name,
        scale_kind=entry.text("scale_kind", (*kinds, _NO_SCALE)),
        multiplier=entry.figure("multiplier", "1"),
        multiplier_u=entry.figure("multiplier_u", "1"),
        handling_u=entry.figure("handling_u", "kg"),
        coarse=entry.flag("coarse"),
    )


def _cause(name: str, entry: Entry) -> Cause:
    entry.only(("way", "after", "weight", "least", "most", "starts", "ends"))
    return Cause(
        name=name,
        way=entry.text("way", ("gain", "loss", "either")),
        after=entry.text("after", ("stays", "goes", "either")),
        weight=entry.figure("weight", "1"),
        least=entry.figure("least", "kg"),
        most=entry.figure("most", "kg"),
        starts=entry.month_day("starts"),
        ends=entry.month_day("ends"),
    )


def _scale_kind(name: str, entry: Entry) -> ScaleKind:
    entry.only(("division", "half_width"))
    return ScaleKind(name, entry.figure("division", "kg"), entry.figure("half_width", "1"))


def _density(entry: Entry) -> DensityTable:
    entry.only(("solids", "density", "unit", "source", "kind"))
    entry.unit("kg/m3")
    solids, density = _rising(entry, "solids", "density")
    return DensityTable(solids, density, *entry.origin())


def _saturation(entry: Entry) -> SaturationTable:
    entry.only(("temperature", "solids", "unit", "source", "kind"))
    entry.unit("1")
    temperature, solids = _rising(entry, "temperature", "solids")
    return SaturationTable(temperature, solids, *entry.origin())


def _rising(entry: Entry, first: str, second: str) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Two columns of one table, both rising, as a look-up needs them."""
    columns = entry.numbers(first), entry.numbers(second)
    if len(columns[0]) != len(columns[1]) or len(columns[0]) <= 1:
        raise entry.wrong(f"{first} and {second} differ in length or are too short", "give pairs of figures")
    for name, column in zip((first, second), columns, strict=True):
        if any(after <= before for before, after in pairwise(column)):
            raise entry.wrong(f"{name} does not rise from row to row", "sort the rows")
    return columns
