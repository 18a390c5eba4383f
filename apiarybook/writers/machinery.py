"""The machinery sheets as frames: figures, profiles, ways to weigh, units, syrup, calendar, lists and guide."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.book.measure import local_bounds
from apiarybook.handbook import Figure, handbook
from apiarybook.handbook.figures import SHORT_MONTHS
from apiarybook.layout import BOOK
from apiarybook.layout.machinery import CALENDAR_BLOCKS, PROFILE_DATES, profile_key
from apiarybook.layout.model import Column, Group, Kind, Role, Sheet
from apiarybook.layout.words import YES_NO
from apiarybook.reckon.feeding.feeds import UNITS
from apiarybook.reckon.season import ways
from apiarybook.writers.plan import OWN_FIGURES, PACE_DAY, TODAY, UNIT_FIGURE, figure_names

if TYPE_CHECKING:
    from apiarybook.book.measure import Measure
    from apiarybook.reckon.core.winter import Winter

SORTS = {"kg": 1, "l": 2, "feeder": 3, "block": 4, "comb": 5}


def figures(measure: Measure) -> pd.DataFrame:
    """Every figure of the model in the book's units, with its kind and source."""
    book = handbook()
    days = {PACE_DAY if name in book.model else name: day for name, day in book.days.items()}
    rows: list[dict[str, object]] = []
    for name in figure_names():
        if name in days:
            day = days[name]
            number = float(day.month * 100 + day.day)
            figure = Figure(number, "month and day", number, number, day.source, day.kind)
        elif name == UNIT_FIGURE:
            figure = Figure(measure.kg, "kg", measure.kg, measure.kg, UNITS[measure.mass].source, "published")
        else:
            figure = book.model[name]
        factor = 1.0 if name == UNIT_FIGURE else measure.factor(Kind.NUMBER, figure.unit)
        rows.append(
            {
                "name": name.replace("_", " "),
                "value": figure.value * factor,
                "unit": figure.unit if name == UNIT_FIGURE else measure.shown(Kind.NUMBER, figure.unit),
                "low": figure.low * factor,
                "high": figure.high * factor,
                "kind": figure.kind,
                "source": figure.source,
            }
        )
    return pd.DataFrame(rows)


def with_own(figures: pd.DataFrame, as_at: float) -> pd.DataFrame:
    """The figures, and under them those that the book works out itself."""
    rows = [
        {"name": name.replace("_", " "), "value": as_at if name == TODAY else 0.0, "source": source}
        for name, (_, source) in OWN_FIGURES.items()
    ]
    return pd.concat([figures, pd.DataFrame(rows)], ignore_index=True)


def profiles(winter: Winter, as_at: float) -> pd.DataFrame:
    """The winter profiles with this winter's dates as numbers of days, and what the calendar says of today."""
    book = handbook().profiles.values()
    each, today = np.arange(1, len(book) + 1), np.full(len(book), as_at)
    table = {
        "name": [profile.name for profile in book],
        "title": [profile.title for profile in book],
        **{key: winter.dates[key] for key in PROFILE_DATES},
        **{f"{name}_now": winter.on(getattr(winter, name), today, each) for name in CALENDAR_BLOCKS},
        "eaten_by_start": winter.on(winter.eaten, winter.dates["winter_starts"], each),
        "source": [profile.consumption.source for profile in book],
        "kind": [profile.consumption.kind for profile in book],
    }
    return pd.DataFrame(table)


def ways_to_weigh() -> pd.DataFrame:
    """The ways to weigh, each with the source of its factor."""
    methods = handbook().methods.values()
    return ways().assign(
        source=[method.multiplier_u.source for method in methods], kind=[method.multiplier_u.kind for method in methods]
    )


def units(measure: Measure) -> pd.DataFrame:
    """The units in which feed is written down, in the book's own unit of mass and volume."""
    rows = []
    for name, unit in UNITS.items():
        factor = measure.factor(Kind.NUMBER, unit.stands_for)
        rows.append({"name": name, "sort": SORTS[unit.stands_for], "factor": unit.factor * factor})
    return pd.DataFrame(rows)


def syrup() -> pd.DataFrame:
    """Density of sucrose syrup by its strength in kg/l."""
    table = handbook().syrup_density
    return pd.DataFrame({"solids": table.solids, "density": np.asarray(table.density) / 1000.0})


def calendar(winter: Winter) -> pd.DataFrame:
    """The days on which the winter turns: what has been eaten, bees and brood to expect, and what each adds a day."""
    table: dict[str, object] = {"date": winter.first + winter.turns}
    for name in CALENDAR_BLOCKS:
        for key, block in ((name, getattr(winter, name)[winter.turns]), (f"daily_{name}", winter.daily[name])):
            table |= {profile_key(key, profile): block[:, i] for i, profile in enumerate(winter.profiles)}
    return pd.DataFrame(table)


def choices() -> dict[tuple[str, ...], str]:
    """Every closed list of the layout once, named after the first column that offers it."""
    found: dict[tuple[str, ...], str] = {}
    for sheet in BOOK.sheets:
        for column in sheet.typed:
            offered = words_of(column)
            if offered:
                found.setdefault(offered, f"{sheet.name}: {column.heading}")
    return found


def words_of(column: Column) -> tuple[str, ...]:
    """The words that a column offers, without those of another sheet's list."""
    return YES_NO if column.kind is Kind.YES_NO else column.choices


def lists() -> pd.DataFrame:
    """The closed lists one under the other, as drop-downs use them."""
    return pd.DataFrame([{"list": name, "word": word} for offered, name in choices().items() for word in offered])


def guide(measure: Measure) -> pd.DataFrame:
    """The book's own guide: every column that people type or read, and what belongs there."""
    rows = []
    for sheet in BOOK.sheets:
        if sheet.group is Group.MACHINERY:
            continue
        shown = [column for column in sheet.shown if column.role is Role.TYPED or column.in_view]
        rows += [_guide_row(sheet.name, column, measure) for column in shown]
    return pd.DataFrame(rows)


TO_SHOW = (
    "Press the right mouse button on the tab of any sheet (on a tablet hold it) and choose to show a hidden sheet. "
    "Hide it again in the same way; nothing is lost either way."
)
SOURCES = (
    "The sheets Figures, Winter profiles, Ways to weigh, Hive types, Feed kinds and Extras have a source beside each "
    "figure, and say whether it is published, common practice or from memory."
)
ABOUT = (("A hidden sheet", TO_SHOW), ("Where figures come from", SOURCES))


def about() -> list[tuple[str, str]]:
    """What the sheet About tells of the sheets that are not always in view."""
    return [*ABOUT, *((sheet.name, _when_shown(sheet)) for sheet in BOOK.sheets if sheet.behind or sheet.months)]


def _when_shown(sheet: Sheet) -> str:
    """What a sheet holds, and in which months it is in view.

    >>> _when_shown(BOOK["Winter rounds"])
    'Each row is one quick look in winter. In view from Oct to Apr.'
    """
    holds = f"Each row is {sheet.row_is}."
    if sheet.behind:
        return f"{holds} Hidden."
    months = sheet.months
    begins = [month for month in months if month - 1 not in months]
    ends = [month for month in months if month + 1 not in months]
    spans = [
        _month(first) if first == last else f"from {_month(first)} to {_month(last)}"
        for first, last in zip(begins, ends, strict=True)
    ]
    return f"{holds} In view {' and '.join(spans)}."


def _month(number: int) -> str:
    return SHORT_MONTHS[(number - 1) % 12]


FILLED_BY = {Role.TYPED: "you", Role.VALUE: "the last run", Role.LIVE: "the book itself"}


def _guide_row(sheet: str, column: Column, measure: Measure) -> dict[str, object]:
    bounds = ""
    if column.possible:
        low, high = local_bounds(column, column.possible, measure.mass)
        bounds = f"{low:g} to {high:g}"
    return {
        "sheet": sheet,
        "heading": column.heading,
        "holds": column.kind.value,
        "unit": measure.shown(column.kind, column.unit),
        "filled_by": FILLED_BY[column.role],
        "bounds": bounds,
        "prompt": column.prompt,
    }
