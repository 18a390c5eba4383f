"""A year's end in words, figures and charts as people read them: on the terminal, on the page and in its CSV files.

A chart has a dot with its whiskers a row, the row's name over it, so that a phone shows it too.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from apiarybook.club.year_tables import COUNT, FEW, FINE, MASS, SHARE
from apiarybook.readers.canonical import first_few
from apiarybook.reckon.year import year as reckoned_year
from apiarybook.reckon.year.wintered import STARVED

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from apiarybook.book.measure import Measure
    from apiarybook.club.closing import Year
    from apiarybook.club.gaps import Gap
    from apiarybook.club.year_tables import Heading, Table


WIDE, EDGE, ROW, TOP, FOOT = 420, 14, 46, 8, 34
"""Width of a chart, the space at its sides, the height of a row, and the space over and under them."""
STEPS = (0.01, 0.02, 0.05, 0.1, 0.2, 0.25, 0.5, 1, 2, 5, 10, 20, 50, 100, 200)
MOST_STEPS = 6
PER_CENT = 100


@dataclass(frozen=True, slots=True)
class Whisker:
    """One row: its name, the ends, the middle, and another figure to compare with, if there is one."""

    name: str
    low: float
    middle: float
    high: float
    other: float | None = None


@dataclass(frozen=True, slots=True)
class Mark:
    """One row as it is drawn: heights of its text and its line, and places along the axis."""

    name: str
    text: float
    line: float
    low: float
    middle: float
    high: float
    other: float | None


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart laid out.

    Attributes:
        title: what it shows.
        describes: the same for people who do not see it.
        marks: its rows.
        ticks: place and text of each number on the axis.
        high: its height.
        axis: what the axis shows.
        key: what the dot and, if there are any, the hollow squares stand for.
    """

    title: str
    describes: str
    marks: tuple[Mark, ...]
    ticks: tuple[tuple[float, str], ...]
    high: float
    axis: str
    key: tuple[str, str]


def chart(
    rows: Sequence[Whisker], title: str, axis: str, key: tuple[str, str] = ("", ""), *, is_share: bool = False
) -> Chart | None:
    """Lay out a chart.

    Args:
        rows: its rows, all figures in one unit; those of shares between 0 and 1.
        title: what it shows.
        axis: what the axis shows, with its unit.
        key: what the dots and the hollow squares stand for.
        is_share: whether the axis counts per cent.

    Returns:
        the chart; None without rows.
    """
    if not rows:
        return None
    most = max([one.high for one in rows] + [one.other or 0.0 for one in rows])
    step = next((one for one in STEPS if most / one <= MOST_STEPS), STEPS[-1])
    count = max(1, math.ceil(most / step - 1e-9))
    end = count * step

    def at(value: float) -> float:
        return round(EDGE + (WIDE - 2 * EDGE) * max(0.0, value) / end, 1)

    marks = tuple(
        Mark(
            one.name, TOP + ROW * number + 14, TOP + ROW * number + 30, at(one.low), at(one.middle), at(one.high),
            None if one.other is None else at(one.other),
        )
        for number, one in enumerate(rows)
    )  # fmt: skip
    ticks = tuple((at(number * step), _said(number * step, is_share=is_share)) for number in range(count + 1))
    told = "; ".join(_in_words(one, is_share=is_share) for one in rows)
    describes = f"{told}. The same figures stand in the table under it."
    return Chart(title, describes, marks, ticks, TOP + ROW * len(rows), axis, key)


def _said(value: float, *, is_share: bool) -> str:
    """A figure as the axis shows it.

    >>> _said(0.25, is_share=True), _said(12.5, is_share=False)
    ('25 %', '12.5')
    """
    return f"{value * PER_CENT:.0f} %" if is_share else f"{value:g}"


def _in_words(one: Whisker, *, is_share: bool) -> str:
    low, middle, high = (_said(round(value, 3), is_share=is_share) for value in (one.low, one.middle, one.high))
    return f"{one.name}: {middle}, from {low} to {high}"


Rows = list[dict[str, Any]]
DECIMALS = {COUNT: 0, SHARE: 3, FINE: 4, MASS: 1}
"""Decimals in the CSV files."""
HARMFUL = ("=", "+", "-", "@", "\t", "\r")
"""What begins a text that a spreadsheet program would take for a formula (OWASP, CSV injection)."""


def shown(row: dict[str, Any], column: Heading, units: Measure) -> str:
    """A cell as the page shows it.

    >>> from apiarybook.book.measure import measure
    >>> from apiarybook.club.year_tables import Heading
    >>> shown({"a": 0.125, "few": False}, Heading("a", "a", SHARE), measure("kg"))
    '13 %'
    """
    value = row[column.key]
    if row["few"] and column.kind != "text" and _blank(value):
        return FEW
    if _blank(value):
        return ""
    if column.kind == SHARE:
        return f"{math.floor(value * PER_CENT + 0.5):.0f} %"
    if column.kind == FINE:
        return _signed(round(value * PER_CENT, 1))
    if column.kind == MASS:
        return f"{value / units.kg:.1f}"
    return f"{value:.0f}" if column.kind == COUNT else str(value)


def _signed(number: float) -> str:
    """A change in per cent; nought has no sign.

    >>> _signed(1.2), _signed(-0.0)
    ('+1.2 %', '0.0 %')
    """
    return f"{number:+.1f} %" if number else "0.0 %"


def is_hidden(table: Table) -> bool:
    """Whether every figure of a table is hidden, because few keepers stand behind each."""
    figures = [column.key for column in table.columns if column.kind != "text"]
    hidden = [row["few"] and all(_blank(row[key]) for key in figures) for row in table.records]
    return bool(hidden) and all(hidden)


def titled(column: Heading, units: Measure) -> str:
    """The heading of a column with its unit."""
    return f"{column.title} ({units.mass})" if column.kind == MASS else column.title


def _blank(value: object) -> bool:
    return value is None or value == "" or (isinstance(value, float | np.floating) and math.isnan(value))


def csv_rows(table: Table, units: Measure) -> Iterator[list[object]]:
    """A table as the rows of a CSV file: figures as numbers, hidden ones as the word few, text made harmless.

    Args:
        table: the table.
        units: the book's units.
    """
    yield [harmless(titled(column, units)) for column in table.columns]
    for row in table.records:
        yield [_plain(row, column, units) for column in table.columns]


def _plain(row: dict[str, Any], column: Heading, units: Measure) -> object:
    value = row[column.key]
    if column.kind == "text" or _blank(value):
        return harmless(shown(row, column, units))
    number = round(float(value) / (units.kg if column.kind == MASS else 1.0), DECIMALS[column.kind])
    return int(number) if column.kind == COUNT else number


def harmless(text: str) -> str:
    """Text that no spreadsheet program takes for a formula.

    >>> harmless("=1+1"), harmless("A1"), harmless("-x")
    ("'=1+1", 'A1', "'-x")
    """
    return f"'{text}" if text.startswith(HARMFUL) else text


def in_short(year: Year, units: Measure) -> list[str]:
    """What the winter came to, for the club: nothing that a sum of few keepers would tell.

    Args:
        year: the year's end.
        units: the book's units.
    """
    tables = {table.name: table.records for table in year.tables}
    return _lines(tables["losses-by-chance"][-1:], tables["losses-by-cause"], tables["foretold"], year, units)


def in_short_for_secretary(year: Year, units: Measure) -> list[str]:
    """The same for the eyes of whoever holds the whole book anyway."""
    found = year.facts.found
    frames = (reckoned_year.losses(found), reckoned_year.causes(found), reckoned_year.coverage(year.facts.bands))
    lost, causes, foretold = (
        [{str(key): one for key, one in row.items()} for row in frame.assign(few=False).to_dict("records")]
        for frame in frames
    )
    return _lines(lost, causes, foretold, year, units)


def _lines(lost: Rows, causes: Rows, foretold: Rows, year: Year, units: Measure) -> list[str]:
    wants = year.facts.wants.to_dict("records")
    moved = [
        f"{one['hive_type']}: want {one['suggested'] / units.kg:.1f} {units.mass} instead of "
        f"{one['want'] / units.kg:.1f}; {one['says']}."
        for one in wants
        if one["suggested"] != one["want"]
    ]
    lines = [_lost(lost), _starved(causes), *(moved or ["No want needs to change by what was learnt so far."])]
    lines += [
        f"{row['inside']:.0f} of {row['colonies']:.0f} spring stores lay inside the band foretold."
        for row in foretold
        if not row["few"]
    ]
    return [line for line in lines if line]


def _lost(rows: Rows) -> str:
    if not rows:
        return "No outcome of any colony is written down yet on the sheet After winter."
    row = rows[-1]
    if row["few"]:
        return "Too few keepers wrote down outcomes for their sum to be shown."
    low, high = (f"{row[key] * PER_CENT:.0f}" for key in ("low", "high"))
    return (
        f"{row['lost']:.0f} of {row['colonies']:.0f} colonies were lost: {row['share'] * PER_CENT:.0f} % "
        f"(95 % interval {low} to {high} %)."
    )


def _starved(rows: Rows) -> str:
    hungry = [row for row in rows if row["group"] == STARVED and not row["few"]]
    return f"{hungry[0]['lost']:.0f} of them had no food left." if hungry else ""


def charts_of(tables: Sequence[Table], units: Measure) -> dict[str, Chart]:
    """The charts of the report by the name of the table under them."""
    found: dict[str, Chart | None] = {}
    for table in tables:
        rows = [row for row in table.records if not row["few"]]
        if table.name.startswith("losses-by"):
            found[table.name] = chart(
                [Whisker(str(row["group"]), row["low"], row["share"], row["high"]) for row in rows],
                table.title, "share lost", ("share lost, with its 95 % interval", ""), is_share=True,
            )  # fmt: skip
        if table.name == "wants":
            kilos = [{key: row[key] / units.kg for key in ("low", "median", "high", "eats")} for row in rows]
            found[table.name] = chart(
                [
                    Whisker(str(row["group"]), one["low"], one["median"], one["high"], one["eats"])
                    for row, one in zip(rows, kilos, strict=True)
                ],
                "Eaten in a winter", units.mass, ("middle colony, and eight in ten", "the handbook's colony"),
            )  # fmt: skip
    return {name: one for name, one in found.items() if one is not None}


def gap_words(gap: Gap) -> str:
    """One gap in words.

    >>> from apiarybook.club.gaps import Gap
    >>> gap_words(Gap("colonies without an outcome", ("A1", "A2"), 9, "Fill in the sheet After winter."))
    '2 of 9 colonies without an outcome: A1, A2. Fill in the sheet After winter.'
    >>> gap_words(Gap("colonies without an outcome", (), 9, "Fill in the sheet After winter."))
    'Colonies without an outcome: none of 9.'
    >>> gap_words(Gap("returns outstanding", (), 0, "Ask for them."))
    'Returns outstanding: nothing to look at yet.'
    """
    if not gap.names:
        return f"{gap.what.capitalize()}: {f'none of {gap.of}' if gap.of else 'nothing to look at yet'}."
    named = [name for name in gap.names if name]
    return f"{len(gap.names)} of {gap.of} {gap.what}: {first_few(named, MOST_NAMED)}. {gap.do}"


MOST_NAMED = 12
"""Names of one gap that are said."""
