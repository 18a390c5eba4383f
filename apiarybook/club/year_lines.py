"""The sheet Year: one figure a line, for the secretary's own eyes, in the book's units."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from apiarybook.layout import BOOK
from apiarybook.reckon.year import year as reckoned_year

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator, Sequence

    from apiarybook.book.measure import Measure
    from apiarybook.club.closing import Facts
    from apiarybook.club.gaps import Gap

COLUMNS = [column.key for column in BOOK["Year"].columns]
Line = dict[str, object]
NAMED = 12
"""Colonies, members and rows that a line names; the sheets themselves hold all."""
CLOSING = "closing"
ON_THE_EVE = "as winter started"
WANT = "want suggested"
FED = "feed given, stores a colony"
SHARE, COUNT = "%", "count"
PER_CENT = 100.0
IN_BAND = 0.8
"""Share of spring stores that the band should hold (the band is foretold for 80 %)."""


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
    more = f" and {len(named) - NAMED} more" if len(named) > NAMED else ""
    says = f"{', '.join(named[:NAMED])}{more}" if named else ""
    return {"about": gap.what, "value": float(len(gap.names)), "unit": COUNT, "colonies": float(gap.of), "says": says}


def _losses(facts: Facts, units: Measure) -> Iterator[Line]:
    found = facts.found
    parts = (
        ("lost over winter", reckoned_year.losses(found)),
        (
            f"lost, by chance of running out {ON_THE_EVE}",
            reckoned_year.losses(found, reckoned_year.chance_bands(found, facts.sure)),
        ),
        (
            f"lost, by what was short {ON_THE_EVE}",
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
        yield _mass("lacking at the first weighings, stores in all", *told, units)
    for row in fed:
        given = row["fed_autumn"] + row["fed_winter"]
        says = f"{given / units.kg:.1f} {units.mass} in all, of it {row['fed_winter'] / units.kg:.1f} in winter"
        yield _mass(FED, row["group"], given / row["colonies"], row["colonies"], units, says=says)
    for row in reckoned_year.residuals(facts.balance).to_dict("records"):
        says = f"{row['within']:.0%} of {row['intervals']} intervals within twice their uncertainty"
        yield _mass("left unexplained between weighings, spread", row["group"], row["spread"], np.nan, units, says=says)
    for row in facts.drift.to_dict("records"):
        says = f"{row['checks']} checks over {row['days']:.0f} days"
        drifted = PER_CENT * row["drifted"]
        yield {"about": "scale drifted by", "group": row["group"], "value": drifted, "unit": SHARE, "says": says}
