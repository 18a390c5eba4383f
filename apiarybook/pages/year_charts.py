"""Charts of a year's report: a dot with its whiskers a row, the row's name over it, so that a phone shows it too."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

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
