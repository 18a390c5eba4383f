"""What each hand's hefting is worth as a page that stands alone: a chart, and its numbers in tables."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from apiarybook.errors import CannotWrite, in_words
from apiarybook.pages.environment import template
from apiarybook.pages.hefting_words import (
    frames_line,
    hand_words,
    mass,
    measure_of,
    other_words,
    total_lines,
    worth_lines,
)
from apiarybook.pages.own_pages import HEFTING, refuse_foreign_page

if TYPE_CHECKING:
    from pathlib import Path

    from apiarybook.club.reckoned import Reckoned

WIDE, HIGH, EDGE = 560, 420, 56
"""Width and height of the chart and the space for its scales, in the picture's own units."""
STEPS = (1, 2, 5, 10, 20, 50, 100)
MOST_STEPS = 8
SHAPES = ("circle", "square", "diamond", "triangle", "cross", "plus")
INKS = ("#1F3864", "#7A1F5C", "#0B5D4B", "#5B4300")


@dataclass(frozen=True, slots=True)
class Mark:
    """One lift in the chart: where its mark stands, the path that draws it, its colour, and what it says."""

    path: str
    ink: str
    title: str


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart of guess against scale.

    Attributes:
        marks: all lifts.
        ticks: place along either axis, and the number written there.
        key: by hand the path of its mark, its colour and its name.
        first, last: ends of the line on which guess and scale agree, along either axis.
    """

    marks: tuple[Mark, ...]
    ticks: tuple[tuple[float, str], ...]
    key: tuple[tuple[str, str, str], ...]
    first: float
    last: float


def drawn(shape: str, x: float, y: float, size: float = 5.0) -> str:
    """The path of a mark.

    >>> drawn("square", 10, 20)
    'M5.0 15.0h10.0v10.0h-10.0z'
    """
    s = size
    return {
        "circle": f"M{x - s:.1f} {y:.1f}a{s} {s} 0 1 0 {2 * s} 0a{s} {s} 0 1 0 {-2 * s} 0z",
        "square": f"M{x - s:.1f} {y - s:.1f}h{2 * s}v{2 * s}h{-2 * s}z",
        "diamond": f"M{x:.1f} {y - s:.1f}l{s} {s}l{-s} {s}l{-s} {-s}z",
        "triangle": f"M{x:.1f} {y - s:.1f}l{s} {2 * s}h{-2 * s}z",
        "cross": f"M{x - s:.1f} {y - s:.1f}l{2 * s} {2 * s}m0 {-2 * s}l{-2 * s} {2 * s}",
        "plus": f"M{x - s:.1f} {y:.1f}h{2 * s}m{-s} {-s}v{2 * s}",
    }[shape]


def chart(reckoned: Reckoned) -> Chart | None:
    """Lay out the chart of all guesses that were also weighed; none without any.

    Args:
        reckoned: the club's book, reckoned.
    """
    unit, pairs = measure_of(reckoned), reckoned.season.pairs
    pairs = pairs[pairs["word"] == ""]
    if pairs.empty:
        return None
    across, up = pairs["gross"] / unit.kg, pairs["judged"] / unit.kg
    low, high = min(across.min(), up.min()), max(across.max(), up.max())
    step = next((one for one in STEPS if (high - low) / one <= MOST_STEPS), STEPS[-1])
    first, last = math.floor(low / step) * step, math.ceil(high / step) * step
    last = max(last, first + step)
    span = WIDE - EDGE, HIGH - EDGE

    def at(value: float) -> float:
        return float((value - first) / (last - first))

    names = list(dict.fromkeys(pairs["by"].str.casefold()))
    marks: list[Mark] = []
    key: list[tuple[str, str, str]] = []
    for by, x, y in zip(pairs["by"], across, up, strict=True):
        number = names.index(by.casefold())
        shape, ink = SHAPES[number % len(SHAPES)], INKS[number % len(INKS)]
        path = drawn(shape, EDGE + at(x) * span[0], span[1] - at(y) * span[1])
        marks.append(Mark(path, ink, f"{by}: guessed {y:.1f}, weighed {x:.1f} {unit.mass}"))
        if len(key) == number:
            key.append((drawn(shape, 10, 10 + 20 * number), ink, by))
    count = round((last - first) / step)
    ticks = tuple((number / count, f"{first + number * step:g}") for number in range(count + 1))
    return Chart(tuple(marks), ticks, tuple(key), first, last)


def as_page(reckoned: Reckoned, within: float | None = None) -> str:
    """The page; whatever anyone typed stands in it as text.

    Args:
        reckoned: the club's book, reckoned.
        within: how closely all feed is to be known, in the book's unit.
    """
    from apiarybook.handbook.cautions import LIFTING
    from apiarybook.reckon.core.winter import day_of

    season, unit = reckoned.season, measure_of(reckoned)
    hands = season.hefting
    lifts = [
        (
            one["by"],
            day_of(one["day"]).isoformat(),
            one["colony"],
            one["word"] or mass(one["judged"], unit),
            mass(one["gross"], unit),
            f"{round(one['off'] * 100) + 0} %",
        )
        for one in season.pairs.to_dict("records")
    ]
    return template("hefting").render(
        club=str(reckoned.content.settings.get("club") or "a club's book"),
        as_at=reckoned.content.as_at.isoformat(),
        hands=[hand_words(hand, unit) for _, hand in hands[hands["pairs"] > 0].iterrows()],
        other=other_words(hands.iloc[0], unit),
        chart=chart(reckoned),
        lifts=lifts,
        worth=[line.strip() for line in worth_lines(reckoned)],
        frames=frames_line(reckoned),
        total=[line.strip() for line in total_lines(reckoned, within)],
        caution=LIFTING,
        unit=unit.mass,
        made=HEFTING,
        wide=WIDE,
        high=HIGH,
        edge=EDGE,
    )


def write_page(path: Path, reckoned: Reckoned, within: float | None = None) -> None:
    """Write the page.

    Args:
        path: where.
        reckoned: the club's book, reckoned.
        within: how closely all feed is to be known, in the book's unit.

    Raises:
        CannotWrite: it cannot be written there, or something else stands there.
    """
    refuse_foreign_page(path)
    try:
        path.write_text(as_page(reckoned, within), encoding="utf-8")
    except OSError as fault:
        raise CannotWrite(f"{path}: the page cannot be written ({in_words(fault)}); name another place.") from fault
