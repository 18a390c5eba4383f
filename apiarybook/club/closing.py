"""Closing a year: what the winter taught, what stands in the way, and the fingerprint of a closed book."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.book.fingerprint import CLOSED, FINGERPRINT, fingerprint
from apiarybook.book.measure import measure
from apiarybook.book.units import earlier
from apiarybook.club import year_tables as tables
from apiarybook.club.gaps import Gap, gaps
from apiarybook.club.reckoned import Reckoned, frames_of, reckon_path, replace_book
from apiarybook.club.year_lines import year_lines
from apiarybook.errors import CannotWrite
from apiarybook.gather.history import with_line
from apiarybook.readers.raw import open_elsewhere
from apiarybook.reckon.core.lookup import match, pick
from apiarybook.reckon.core.winter import day_of, serial, winter
from apiarybook.reckon.year import year as reckoned_year
from apiarybook.reckon.year.wintered import wintered
from apiarybook.writers.safe_replace import locked

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from apiarybook.club.year_tables import Table
    from apiarybook.reckon.core.winter import Winter

IN_TEN = 10.0
NAMED = 6
"""Places that a reason names."""


@dataclass(frozen=True, slots=True)
class Facts:
    """What a winter taught, of all colonies.

    Attributes:
        found: the frame of `wintered`.
        told: what colonies say of their hive types, earlier winters included.
        wants: the wants it suggests [kg].
        bands: what was foretold of the spring stores, and what came.
        balance: the mass balances of the season.
        drift: how scales drifted.
        gaps: what is not complete.
        shown_gaps: the same without colonies of members who asked not to be shown.
        sure: how sure the club wants to be [1].
    """

    found: pd.DataFrame
    told: pd.DataFrame
    wants: pd.DataFrame
    bands: pd.DataFrame
    balance: pd.DataFrame
    drift: pd.DataFrame
    gaps: list[Gap]
    shown_gaps: list[Gap]
    sure: float


@dataclass(frozen=True, slots=True)
class Year:
    """A year's end.

    Attributes:
        reckoned: the book with the sheet Year and, if it is closed, its fingerprint.
        facts: what the winter taught.
        reasons: why the year is not closed, a sentence each; none if it is.
        tables: those of the report, in its order, sums of few keepers hidden.
        fingerprint: of the closed book; empty while it is not closed.
    """

    reckoned: Reckoned
    facts: Facts
    reasons: tuple[str, ...]
    tables: list[Table]
    fingerprint: str


def close(reckoned: Reckoned) -> Year:
    """Close the year of a reckoned book, if nothing stands in the way.

    Args:
        reckoned: the club's book, reckoned for the day of closing.

    Returns:
        the year's end; its book is the one to be written.
    """
    facts = facts_of(reckoned)
    reasons = tuple(reasons_of(reckoned, facts.found))
    as_at, units = reckoned.content.as_at, measure(reckoned.book.unit)
    mark = "" if reasons else fingerprint(reckoned.book)
    about = {key: one for key, one in reckoned.content.about.items() if key not in {CLOSED, FINGERPRINT}}
    told = reckoned.content.told | {"Year": year_lines(facts, reasons, units)}
    if mark:
        about |= {CLOSED: as_at.isoformat(), FINGERPRINT: mark}
        told["Changes"] = with_line(told.get("Changes"), "closed", as_at, f"fingerprint {mark}")
    pin = {"as_at": date(as_at.year, as_at.month, as_at.day)} if mark else {}
    content = replace(reckoned.content, about=about, told=told, settings=reckoned.content.settings | pin)
    return Year(replace(reckoned, content=content), facts, reasons, report_tables(facts, reckoned), mark)


def close_file(
    path: Path, as_at: date, refuse: Callable[[Reckoned], None] | None = None
) -> tuple[Year, Path, tuple[str, ...]]:
    """Close the year of a club's book in place.

    Args:
        path: the book.
        as_at: the day for which to reckon.
        refuse: looks at the book before anything is written; what it raises leaves the book as it is.

    Returns:
        the year's end, where the book stands now, and a sentence for each thing that could not be carried over.

    Raises:
        CannotRead: it is no club's book.
        CannotWrite: it is open elsewhere, changed meanwhile, or its folder cannot be written.
    """
    with locked(path):
        who = open_elsewhere(path)
        if who:
            raise CannotWrite(
                f"{path.name} is open in a spreadsheet program ({who}) and was left as it is; save and close it there, "
                "then run again."
            )
        reckoned, lost = reckon_path(path, as_at)
        _refuse_earlier_day(reckoned)
        if refuse is not None:
            refuse(reckoned)
        year = close(reckoned)
        target = replace_book(path, year.reckoned, lost)
    return year, target, lost


def _refuse_earlier_day(reckoned: Reckoned) -> None:
    """A closed year is not opened again by looking at it from a day on which its winter was not over."""
    closed, as_at = str(reckoned.content.about.get(CLOSED) or ""), reckoned.content.as_at.isoformat()
    if as_at < closed:
        raise CannotWrite(
            f"{reckoned.book.name} was closed as at {closed} and was left as it is; {as_at} is before that, so name "
            "that day or a later one with --as-at."
        )


def facts_of(reckoned: Reckoned) -> Facts:
    """Work out what the winter taught.

    Args:
        reckoned: the club's book, reckoned.
    """
    settings, book = reckoned.book.settings, reckoned.book
    frames = frames_of(book, reckoned.checked)
    before = earlier(book)
    found = wintered(frames | before, settings, serial(reckoned.content.as_at))
    months = _months(reckoned)
    now = reckoned_year.evidence(found, months.year)
    told = with_earlier(now, before.get("Earlier winters"))
    types = frames["Hive types"].join(reckoned.season.hive_types[["comb_full"]])
    types["want_then"] = want_then(types["name"], before.get("Earlier winters"))
    return Facts(
        found=found,
        told=told,
        wants=reckoned_year.wants(types, told, str(settings["region"]), months),
        bands=reckoned_year.bands(found),
        balance=reckoned.season.balance,
        drift=reckoned_year.drift(frames["Scales"], frames["Scale checks"]),
        gaps=gaps(found, reckoned, frames),
        shown_gaps=gaps(tables.may_be_shown(found), reckoned, frames),
        sure=float(str(settings["sure_in_10"])) / IN_TEN,
    )


def with_earlier(now: pd.DataFrame, before: pd.DataFrame | None) -> pd.DataFrame:
    """Put what colonies of earlier winters said before this winter's."""
    if before is None or before.empty:
        return now
    kept = before[now.columns.tolist()]
    return kept if now.empty else pd.concat([kept, now], ignore_index=True)


def want_then(names: pd.Series[str], before: pd.DataFrame | None) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """The want of each hive type when learning began [kg]; blank for one of which no earlier winter speaks."""
    if before is None:
        return np.full(len(names), np.nan)
    first = before.drop_duplicates("hive_type")
    return pick(first["want_then"], match(names, first["hive_type"]), np.nan)


def reasons_of(reckoned: Reckoned, found: pd.DataFrame) -> Iterator[str]:
    """Why a year cannot be closed, a sentence each.

    Args:
        reckoned: the club's book, reckoned.
        found: the frame of `wintered`.
    """
    flow = _last_flow(reckoned, found)
    if serial(reckoned.content.as_at) < flow:
        yield f"the winter is not over before the flow, on {day_of(flow).isoformat()}; close the year after it"
    ends = _months(reckoned).last
    if serial(reckoned.content.as_at) > ends:
        yield f"the season ends on {day_of(ends).isoformat()}; name a day up to then with --as-at"
    missing = [one.sheet for one in reckoned.checked.findings if one.rule == "missing-sheet"]
    if missing:
        yield f"missing from the book: {', '.join(missing)}; take the last backup that has all sheets"
    held = [one for one in reckoned.checked.findings if one.weight == "hold"]
    if held:
        places = list(dict.fromkeys(f"{one.sheet} {one.cell}".strip() for one in held))
        more = f" and {len(places) - NAMED} more" if len(places) > NAMED else ""
        yield f"{len(held)} held: {', '.join(places[:NAMED])}{more}; mend these rows, or clear them"
    for count in reckoned.checked.counts:
        rows, parts = (
            int(str(count["rows"])),
            [int(str(count[key])) for key in ("accepted", "held", "blank", "refused")],
        )
        if rows != sum(parts) or parts[-1]:
            yield f"the count of {count['sheet']} is not closed: {rows} rows, {parts[-1]} of them without a place"
    conflicts = [one for one in reckoned.checked.findings if one.rule == "conflict"]
    if conflicts:
        places = [f"{one.sheet} {one.cell}".strip() for one in conflicts]
        yield f"{len(conflicts)} in conflict: {', '.join(places[:NAMED])}; write what holds on the sheet Decisions"


def _months(reckoned: Reckoned) -> Winter:
    """The winter that the book is for."""
    return winter(int(float(str(reckoned.book.settings["winter"]))))


def _last_flow(reckoned: Reckoned, found: pd.DataFrame) -> float:
    """Number of the day on which the last flow of the club's colonies starts; without colonies that of its region."""
    settings = reckoned.book.settings
    months = _months(reckoned)
    profile = max(int(match([str(settings["region"])], months.profiles)[0]), 1)
    flows = found.loc[found["flow"] > 0, "flow"]
    return float(flows.max() if len(flows) else months.dates["flow"][profile - 1])


def report_tables(facts: Facts, reckoned: Reckoned) -> list[Table]:
    """The tables of the report, without members who asked not to be shown, and sums of few keepers hidden."""
    units = measure(reckoned.book.unit)
    found = tables.may_be_shown(facts.found.assign(at=range(len(facts.found))))
    return [
        tables.gap_table(facts.shown_gaps),
        *tables.loss_tables(found, facts.sure, units.kg, units.mass),
        tables.want_table(facts.wants, facts.found),
        tables.foretold_table(facts.bands.loc[found.index]),
        *tables.feed_tables(found),
        tables.balance_table(facts.balance, found),
        tables.scale_table(facts.drift),
        tables.hand_table(reckoned.season.hefting, reckoned.book.tables["Members"].typed),
    ]
