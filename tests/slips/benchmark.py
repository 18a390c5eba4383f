"""How slips are caught, named and mended: kinds planted in clean seasons, and the page that shows the table.

python -m tests.slips.benchmark           prints the page; --write puts it into the guide.
"""

from __future__ import annotations

import copy
import re
import sys
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.book.si_frames import si
from apiarybook.checks.finding import Finding, Weight
from apiarybook.checks.loop import check_book, look
from tests.slips import kinds_of_rows  # noqa: F401 importing it registers its kinds
from tests.slips.clean_seasons import AS_AT, REGIONS, Season, clean_season
from tests.slips.kinds import KINDS, Case, Planted
from tests.studies.worlds import book_world

if TYPE_CHECKING:
    from collections.abc import Iterable

    from apiarybook.reckon.season import Season as Reckoned
    from tests.studies.worlds import World

SEED, BOOKS, APIARIES = 20_261_129, 84, 16
ROW = re.compile(r"[A-Z]+(\d+)")
PLACES = re.compile(r": ((?:[A-Z]+\d+, )*[A-Z]+\d+)\.$")
"""The cells that a sentence on a whole visit names at its end; colonies have names like cells."""
FIRST_ROW = 2
SURE = 4.3
"""Effects from this many standard uncertainties on are always to be caught: nine in ten of them exceed 3."""
LONE_SPREAD = 4.0
"""Spread of a gross about its target where a hive was weighed once [kg]."""
UNTOLD = (Weight.NOTE,)
TYPED_SHEETS = ("Weighings", "Feedings", "Winter rounds", "After winter", "Moves")


def told_at(finding: Finding) -> tuple[str, int] | None:
    """Sheet and position of the row that a finding is about."""
    found = ROW.fullmatch(finding.cell)
    return (finding.sheet, int(found[1]) - FIRST_ROW) if found else None


def named(finding: Finding) -> list[str]:
    """What a finding names as causes, the likeliest first; its rule where it weighs none."""
    return [cause.name for cause in finding.causes] or [finding.rule]


def asked(findings: Iterable[Finding]) -> list[Finding]:
    """Those that somebody has to answer."""
    return [one for one in findings if one.weight not in UNTOLD]


def plant(season: Season, rng: np.random.Generator, names: list[str]) -> list[Planted]:
    """Plant kinds from the head of a list into a season, two colonies of an apiary, or all of it for one kind.

    Args:
        season: is changed.
        rng: random numbers.
        names: kinds still to be planted; those that were are removed.
    """
    planted: list[Planted] = []
    for place in season.places.values():
        colonies = [f"{place.name} H{hive}" for hive in (1, 5)]
        for colony in colonies:
            for name in names[: len(KINDS)]:
                if KINDS[name].whole and colony != colonies[0]:
                    continue
                found = KINDS[name].plant(Case(season, place, colony, rng, name))
                if found is not None:
                    planted.append(found)
                    names.remove(name)
                    break
            if planted and KINDS[planted[-1].kind].whole:
                break
    return planted


@dataclass(frozen=True, slots=True)
class Measured:
    """`slips` has a row a planted slip, `clean` a row a clean book: its rows and what was held and asked."""

    slips: pd.DataFrame
    clean: pd.DataFrame


def measure(
    books: int = BOOKS,
    seed: int = SEED,
    apiaries: int = APIARIES,
    world: World | None = None,
    only: tuple[str, ...] = (),
) -> Measured:
    """Plant slips in clean books and look up what the checks say.

    Args:
        books: how many.
        seed: of the random numbers.
        apiaries: of eight colonies in each book.
        world: what colonies live in; the book's own if not given.
        only: kinds to plant; all if none are given.
    """
    rng = np.random.default_rng(seed)
    wanted: list[str] = []
    slips, clean = [], []
    for number in range(books):
        season = clean_season(seed + number, apiaries, world or book_world(), REGIONS[number % len(REGIONS)])
        spoilt = copy.deepcopy(season)
        while len(wanted) < 4 * apiaries:
            wanted += list(rng.permutation(only or list(KINDS)))
        planted = plant(spoilt, rng, wanted)
        before, after = check_book(season.book(), AS_AT), check_book(spoilt.book(), AS_AT)
        known = {(one.rule, one.sheet, one.cell) for one in before.findings}
        new = [one for one in asked(after.findings) if (one.rule, one.sheet, one.cell) not in known]
        reckoned = _reckoned(season)
        slips += [_looked_up(one, new, reckoned, spoilt) for one in planted]
        clean.append(_counted(season, before.findings))
        if number % 3 == 0:
            missing = clean_season(seed + number, apiaries, world or book_world(), REGIONS[number % 4], missing=True)
            clean.append(_counted(missing, check_book(missing.book(), AS_AT).findings))
    return Measured(pd.DataFrame(slips), pd.DataFrame(clean))


def _reckoned(season: Season) -> Reckoned:
    book = season.book()
    frames = si(book)
    return look(book, frames, AS_AT).reckoned


def _counted(season: Season, findings: list[Finding]) -> dict[str, object]:
    rows = sum(len(season.rows[sheet]) for sheet in TYPED_SHEETS)
    of = {weight: [one for one in findings if one.weight is weight] for weight in Weight}
    return {"missing": season.missing, "rows": rows, "held": len(of[Weight.HOLD]), "asked": len(of[Weight.ASK])}


def _looked_up(planted: Planted, new: list[Finding], reckoned: Reckoned, season: Season) -> dict[str, object]:
    rows = set(planted.rows)
    at_row = [one for one in new if told_at(one) in rows or _names(one, rows)]
    of_colony = [one for one in new if one.colony == planted.colony and one not in at_row]
    found = sorted([*at_row, *of_colony], key=lambda one: (one.weight is not Weight.HOLD, one not in at_row))
    causes, (away, u) = KINDS[planted.kind].causes, _strength(planted, reckoned)
    first = named(found[0])[0] if found else ""
    return {
        "kind": planted.kind,
        "group": KINDS[planted.kind].group,
        "earlier": planted.at is not None and any(reckoned.balance["row_2"] == planted.at),
        "effect_u": abs(planted.effect) / u if u else np.nan,
        "seen_u": away,
        "caught": bool(found),
        "rule": found[0].rule if found else "",
        "said": first,
        "first": first in causes,
        "two": any(name in causes for one in found for name in named(one)[:2]),
        "value": np.nan if planted.value is None or not found else float(_is_meant(planted, found[0])),
        "season": season.region,
    }


def _names(finding: Finding, rows: set[tuple[str, int]]) -> bool:
    """Whether a finding names a cell of one of these rows, though it stands at another row of the visit."""
    places = PLACES.search(finding.message)
    cells = places[1].split(", ") if places else []
    return not rows.isdisjoint((finding.sheet, int(re.sub(r"\D", "", cell)) - FIRST_ROW) for cell in cells)


def _is_meant(planted: Planted, finding: Finding) -> bool:
    """Whether the first value that a finding offers is the true one, to what a scale shows."""
    offered = finding.causes[0].value if finding.causes else finding.suggestion
    try:
        return abs(float(offered) - float(str(planted.value))) <= 0.1001
    except ValueError:
        return offered == str(planted.value)


def _strength(planted: Planted, reckoned: Reckoned) -> tuple[float, float]:
    """What an observer sees who knows the size of the slip: away, in standard uncertainties, and one of them in kg."""
    if planted.at is None or not np.isfinite(planted.effect):
        return float("nan"), 0.0
    found = reckoned.balance
    ends = found["row_2"] == planted.at, found["row_1"] == planted.at
    parts = [(found[ends[0]], 1.0)] if planted.stays else [(found[ends[0]], 1.0), (found[ends[1]], -1.0)]
    seen = [(sign * one["residual"].iloc[0], one["residual_u"].iloc[0]) for one, sign in parts if len(one)]
    if not seen:
        lone = reckoned.weighings.iloc[planted.at]
        seen = [(lone["gross"] - lone["target"], LONE_SPREAD)]
    weight = sum(1 / u**2 for _, u in seen)
    away = sum((r + planted.effect) / u**2 for r, u in seen) / np.sqrt(weight)
    return float(np.sign(planted.effect) * away), float(1 / np.sqrt(weight))


def table(measured: Measured) -> pd.DataFrame:
    """One row a kind, then one a group."""
    slips = measured.slips
    whole = measured.clean[~measured.clean["missing"]]
    alarms = max((whole["held"].sum() + whole["asked"].sum()) / whole["rows"].sum(), 1e-4)
    observer = NormalDist().inv_cdf(1 - alarms)
    slips = slips.assign(observer=np.where(np.isnan(slips["seen_u"]), np.nan, slips["seen_u"] > observer))
    slips["both"] = np.where(slips["caught"], 1.0, 0.0)
    kept = slips.assign(**{key: slips[key].where(slips["caught"]).astype(float) for key in ("first", "two")})
    columns = {"n": ("both", "size"), "caught": ("both", "mean"), "observer": ("observer", "mean")}
    columns |= {"first": ("first", "mean"), "two": ("two", "mean"), "value": ("value", "mean")}
    by_kind = kept.groupby(["group", "kind"], sort=False).agg(**columns)
    by_group = kept.groupby("group", sort=False).agg(**columns)
    by_group.index = pd.MultiIndex.from_tuples([(name, "all of them") for name in by_group.index])
    return pd.concat([by_kind, by_group])


def share(value: float) -> str:
    """A share as a table shows it."""
    return "" if np.isnan(value) else f"{100 * value:.0f}"


def page(measured: Measured | None = None) -> str:
    """The page of the guide.

    Returns:
        Markdown; the same on every run.
    """
    measured = measured or measure()
    found = table(measured)
    lines = [INTRODUCTION.format(slips=len(measured.slips), kinds=len(KINDS), books=BOOKS, seed=SEED)]
    groups = list(dict.fromkeys(kind.group for kind in KINDS.values()))
    for group in groups:
        names = [name for name, kind in KINDS.items() if kind.group == group and (group, name) in found.index]
        for name in (*names, "all of them"):
            one = found.loc[(group, name)]
            cells = " | ".join(share(one[key]) for key in ("caught", "observer", "first", "two", "value"))
            lines.append(f"| {group if name == 'all of them' else ''} | {name} | {int(one['n'])} | {cells} |")
    large = measured.slips[measured.slips["effect_u"] > SURE]
    lines.append(LARGE.format(count=len(large), caught=large["caught"].mean()))
    for is_missing, what in ((False, "nothing left out"), (True, "the usual left out")):
        clean = measured.clean[measured.clean["missing"] == is_missing]
        per = 1000 / clean["rows"].sum()
        told = f"{clean['held'].sum() * per:.2f} | {clean['asked'].sum() * per:.2f}"
        lines.append(f"| {what} | {clean['rows'].sum()} | {told} |")
    return "\n".join(lines) + "\n"


INTRODUCTION = """# How slips are caught, named and mended

{slips} slips of {kinds} kinds in {books} books of invented clubs, four regions, kilograms and pounds, seed {seed}. What
colonies eat, weigh and are fed is drawn with the spreads of the handbook; one thing goes wrong in a colony, or in all
of an apiary's rows of one visit. The checks are given the book as typed and nothing else. It checks the checks against
invented slips; it is no measurement of people.

Caught: asked about or held at the row, or asked of the colony. Observer: what somebody would have caught, at as many
false alarms, who knows all spreads and how large the slip is; blank where nothing is weighed. First, first two: of
those caught, how often the true cause stood first, or among the first two. Value: how often the first value offered
was the true one.

| group | kind | n | caught | observer | first | first two | value |
| --- | --- | ---: | ---: | ---: | ---: | ---: | ---: |"""
LARGE = """
Of {count} slips larger than 4.3 standard uncertainties {caught:.1%} were caught. Of rows with nothing wrong were held
or asked about:

| clean rows | rows | held in 1,000 | asked in 1,000 |
| --- | ---: | ---: | ---: |"""


if __name__ == "__main__":
    text = page()
    if "--write" in sys.argv:
        Path(str(files("apiarybook.guide").joinpath("slips.md"))).write_text(text, encoding="utf-8")
    print(text)  # noqa: T201 a study prints
