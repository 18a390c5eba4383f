"""Closing a year: what stands in the way, the sheet Year without what tells on few, and the closed book's mark."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from itertools import permutations
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from apiarybook.book.fingerprint import AS_CLOSED, CLOSED, FINGERPRINT, fingerprint, rows_as_closed
from apiarybook.book.measure import measure
from apiarybook.club import year_tables as tables
from apiarybook.club.history import with_line
from apiarybook.club.reckoned import reckon_book
from apiarybook.club.year_facts import facts_of
from apiarybook.layout import BOOK
from apiarybook.readers.canonical import first_few
from apiarybook.reckon.core.lookup import match
from apiarybook.reckon.core.winter import day_of, serial, winter_of
from apiarybook.reckon.year import year as reckoned_year
from apiarybook.reckon.year.year import LEAST_KEEPERS, keepers

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator, Sequence

    from apiarybook.book.measure import Measure
    from apiarybook.book.tables import Book
    from apiarybook.club.gaps import Gap
    from apiarybook.club.reckoned import Reckoned
    from apiarybook.club.year_facts import Facts
    from apiarybook.club.year_tables import Table


NOT_SUMS = ("group", "want", "suggested", "says")
"""Columns that tell of a hive type, not of colonies."""
Group = tuple[int, int]
"""A table and a row of it, counted from 0."""
WHOLE = -1
"""Instead of a row: the colonies of which a table's shares are told."""


def suppressed(tables: Sequence[Table], found: pd.DataFrame) -> list[Table]:
    """Hide sums until no two that are shown, in whatever tables, tell by their difference of fewer than five keepers.

    A sum is taken from another, and all the groups of a table from a sum that holds them: a total goes where the groups
    that are not shown hold too few keepers.

    Args:
        tables: the tables of a report, with the colonies of each row; sums of few keepers are hidden already.
        found: the colonies, of whom the keepers are told.

    Source: the subtraction of published totals is known as differencing (Eurostat and ESSnet, Handbook on Statistical
    Disclosure Control, chapter 4, from memory).
    """
    shown = {
        (at, row): colonies
        for at, table in enumerate(tables)
        for row, (colonies, few) in enumerate(zip(table.colonies, table.rows["few"], strict=False))
        if colonies and not few
    }
    shown |= {(at, WHOLE): table.of for at, table in enumerate(tables) if table.of and not table.rows["few"].all()}
    hidden: set[Group] = set()
    while (following := next(_told(shown, found), None)) is not None:
        hidden.add(following)
        shown = {group: one for group, one in shown.items() if group != following and not _is_of(group, following)}
    return [_without(table, {row for at, row in hidden if at == number}) for number, table in enumerate(tables)]


def _is_of(group: Group, hidden: Group) -> bool:
    """Whether a sum goes with what its share would tell of."""
    return hidden[1] == WHOLE and group[0] == hidden[0]


def _told(shown: dict[Group, frozenset[int]], found: pd.DataFrame) -> Iterator[Group]:
    """The sums to hide, since few keepers follow from them."""
    for (sum_of_all, large), (small, part) in permutations(shown.items(), 2):
        if part < large and _is_few(large - part, found):
            yield sum_of_all if _holds_unshown(large, found) else small
    for whole, large in shown.items():
        for table in sorted({at for at, _ in shown}):
            parts = [part for (at, row), part in shown.items() if at == table and row != WHOLE and part < large]
            if parts and _is_few(large.difference(*parts), found):
                yield whole


def _is_few(colonies: frozenset[int], found: pd.DataFrame) -> bool:
    return bool(colonies) and keepers(found.loc[sorted(colonies)]) < LEAST_KEEPERS


def _holds_unshown(colonies: frozenset[int], found: pd.DataFrame) -> bool:
    """Whether a sum holds colonies of members who are not to be shown: it goes, not all that is part of it."""
    return bool((found.loc[sorted(colonies), "shown"] == "no").any())


def _without(table: Table, hidden: set[int]) -> Table:
    if not hidden:
        return table
    rows = table.rows.copy()
    at = rows.index if WHOLE in hidden else rows.index[sorted(hidden)]
    for heading in table.columns:
        if heading.key not in NOT_SUMS:
            rows.loc[at, heading.key] = None
    rows.loc[at, "few"] = True
    return replace(table, rows=rows)


NAMED = 6
"""Places that a reason names."""
COLUMNS = [column.key for column in BOOK["Year"].columns]
Line = dict[str, object]
NAMED_IN_LINE = 12
"""Colonies, members and rows that a line names; the sheets themselves hold all."""
CLOSING = "closing"
WANT = "want suggested"
FED = "feed given, stores a colony"
SHARE, COUNT = "%", "count"
PER_CENT = 100.0
IN_BAND = 0.8
"""Share of spring stores that the band should hold (the band is foretold for 80 %)."""


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
    told = {key: one for key, one in reckoned.content.told.items() if key != AS_CLOSED}
    told |= {"Year": year_lines(facts, reasons, units)}
    if mark:
        told[AS_CLOSED] = rows_as_closed(reckoned.book)
        about |= {CLOSED: as_at.isoformat(), FINGERPRINT: mark}
        told["Changes"] = with_line(told.get("Changes"), "closed", as_at, f"fingerprint {mark}")
    pin = {"as_at": date(as_at.year, as_at.month, as_at.day)} if mark else {}
    content = replace(reckoned.content, about=about, told=told, settings=reckoned.content.settings | pin)
    return Year(replace(reckoned, content=content), facts, reasons, report_tables(facts, reckoned), mark)


def close_year(book: Book, as_at: date) -> Year:
    """Check and reckon a whole year, and close it if nothing stands in the way.

    Args:
        book: a club's book as `read_book` gave it.
        as_at: the day for which to reckon.

    Returns:
        what the winter taught, why the year is not closed (if it is not), and the book to be written.

    Raises:
        CannotRead: the book does not say which winter it is for.
        ProgramFault: an accepted row is outside the layout's own bounds.
    """
    return close(reckon_book(book, as_at))


def reasons_of(reckoned: Reckoned, found: pd.DataFrame) -> Iterator[str]:
    """Why a year cannot be closed, a sentence each.

    Args:
        reckoned: the club's book, reckoned.
        found: the frame of `wintered`.
    """
    flow = _last_flow(reckoned, found)
    if serial(reckoned.content.as_at) < flow:
        yield f"the winter is not over before the flow, on {day_of(flow).isoformat()}; close the year after it"
    missing = [one.sheet for one in reckoned.checked.findings if one.rule == "missing-sheet"]
    if missing:
        yield f"missing from the book: {', '.join(missing)}; take the last backup that has all sheets"
    held = [one for one in reckoned.checked.findings if one.weight == "hold"]
    if held:
        places = list(dict.fromkeys(f"{one.sheet} {one.cell}".strip() for one in held))
        yield f"{len(held)} held: {first_few(places, NAMED)}; mend these rows, or clear them"
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
        yield f"{len(conflicts)} in conflict: {first_few(places, NAMED)}; answer on the sheet Questions"


def _last_flow(reckoned: Reckoned, found: pd.DataFrame) -> float:
    """Number of the day on which the last flow of the club's colonies starts; without colonies that of its region."""
    settings = reckoned.book.settings
    months = winter_of(settings)
    profile = max(int(match([str(settings["region"])], months.profiles)[0]), 1)
    flows = found.loc[found["flow"] > 0, "flow"]
    return float(flows.max() if len(flows) else months.dates["flow"][profile - 1])


def report_tables(facts: Facts, reckoned: Reckoned) -> list[Table]:
    """The tables of the report, without members who asked not to be shown, and what would tell of few keepers."""
    units = measure(reckoned.book.unit)
    found = tables.may_be_shown(facts.found.assign(at=range(len(facts.found))))
    told = [
        tables.gap_table(facts.shown_gaps),
        *tables.loss_tables(found, facts.sure, units.kg, units.mass),
        tables.want_table(facts.wants, facts.found),
        tables.foretold_table(facts.bands.loc[found.index]),
        *tables.feed_tables(found),
        tables.balance_table(facts.balance, found),
        tables.scale_table(facts.drift),
        tables.hand_table(reckoned.season.hefting, reckoned.book.tables["Members"].typed),
    ]
    return suppressed(told, facts.found)


def year_lines(facts: Facts, reasons: Sequence[str], units: Measure) -> pd.DataFrame:
    """Write the sheet Year.

    Args:
        facts: what the winter taught, of all colonies.
        reasons: why the year is not closed; none if it is.
        units: the book's units.

    Returns:
        the sheet's rows, masses in the book's unit.
    """
    said = "; ".join(reasons) if reasons else "closed"
    lines: list[Line] = [{"about": CLOSING, "says": said}]
    lines += [_gap(gap) for gap in facts.gaps]
    lines += _losses(facts, units)
    lines += _wants(facts, units)
    lines += _rest(facts, units)
    return pd.DataFrame(lines, columns=COLUMNS, dtype=object)


def _gap(gap: Gap) -> Line:
    named = [name for name in gap.names if name]
    says = first_few(named, NAMED_IN_LINE)
    return {"about": gap.what, "value": float(len(gap.names)), "unit": COUNT, "colonies": float(gap.of), "says": says}


def _losses(facts: Facts, units: Measure) -> Iterator[Line]:
    found = facts.found
    parts = (
        ("lost over winter", reckoned_year.losses(found)),
        (
            "lost, by chance of running out",
            reckoned_year.losses(found, reckoned_year.chance_bands(found, facts.sure)),
        ),
        (
            "lost, by what was short",
            reckoned_year.losses(found, reckoned_year.short_bands(found, units.kg, units.mass)),
        ),
        ("lost, by what was seen", reckoned_year.causes(found)),
    )
    for about, table in parts:
        for row in table.to_dict("records"):
            says = f"{row['lost']} of {row['colonies']} lost; 95 % Jeffreys interval"
            yield _share(about, {str(key): one for key, one in row.items()}, says)


def _share(about: str, row: dict[str, Any], says: str) -> Line:
    told = {"group": row["group"], "colonies": row["colonies"]} | {end: PER_CENT * row[end] for end in ("low", "high")}
    return {"about": about, "value": PER_CENT * row["share"], "unit": SHARE, "says": says} | told


def _mass(about: str, group: object, value: float, colonies: float, units: Measure, **also: object) -> Line:
    known = None if np.isnan(value) else value / units.kg
    return {"about": about, "group": group, "value": known, "unit": units.mass, "colonies": colonies} | also


def _wants(facts: Facts, units: Measure) -> Iterator[Line]:
    for row in facts.wants.to_dict("records"):
        group, colonies = row["hive_type"], float(row["colonies"])
        says = f"today {row['want'] / units.kg:.1f} {units.mass}; {row['says']}"
        yield _mass(WANT, group, row["suggested"], colonies, units, says=says)
    for row in facts.wants.to_dict("records"):
        ends = {"low": row["low"] / units.kg, "high": row["high"] / units.kg}
        says = f"handbook {row['eats'] / units.kg:.1f} {units.mass}; of these {row['starved']} starved"
        told = row["hive_type"], row["median"], float(row["colonies"])
        yield _mass("eaten in a winter, middle colony", *told, units, says=says, **ends)


def _held(row: dict[Hashable, Any]) -> str:
    """Whether a band held as many as it should: by the interval of the share, lest chance be taken for a fault.

    >>> _held({"low": 0.56, "high": 0.81}), _held({"low": 0.4, "high": 0.7})[:13]
    (', which should hold eight in ten: the difference may well be chance', ', fewer than ')
    """
    if row["high"] < IN_BAND:
        return ", fewer than the eight in ten it should hold: winters like this one vary more than foretold"
    if row["low"] > IN_BAND:
        return ", more than the eight in ten it should hold"
    return ", which should hold eight in ten: the difference may well be chance"


def _rest(facts: Facts, units: Measure) -> Iterator[Line]:
    for row in reckoned_year.coverage(facts.bands).to_dict("records"):
        says = f"{row['inside']} of {row['colonies']} inside the band foretold{_held(row)}"
        yield _share("spring stores as foretold", {str(key): one for key, one in row.items()}, says)
    for row in reckoned_year.left_over(facts.found).to_dict("records"):
        says = f"{row['need_not'] / units.kg:.1f} {units.mass} of all feed given need not have been fed"
        yield _mass("left at the flow above the reserve", row["group"], row["left"], row["colonies"], units, says=says)
    fed = reckoned_year.feed_used(facts.found).to_dict("records")
    for row in fed:
        told = row["group"], row["lacked"], row["colonies"]
        yield _mass("lacking at first weighings, in all", *told, units)
    for row in fed:
        given = row["fed_autumn"] + row["fed_winter"]
        says = f"{given / units.kg:.1f} {units.mass} in all, of it {row['fed_winter'] / units.kg:.1f} in winter"
        yield _mass(FED, row["group"], given / row["colonies"], row["colonies"], units, says=says)
    for row in reckoned_year.residuals(facts.balance).to_dict("records"):
        says = f"{row['within']:.0%} of {row['intervals']} intervals within twice their uncertainty"
        yield _mass("left unexplained, spread", row["group"], row["spread"], np.nan, units, says=says)
    for row in facts.drift.to_dict("records"):
        says = f"{row['checks']} checks over {row['days']:.0f} days"
        drifted = PER_CENT * row["drifted"]
        yield {"about": "scale drifted by", "group": row["group"], "value": drifted, "unit": SHARE, "says": says}
