"""What each hand's hefting is worth: in sentences, and as a page that stands alone with a chart and tables."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import click

from apiarybook.errors import CannotWrite, in_words
from apiarybook.pages.environment import template
from apiarybook.pages.own_pages import HEFTING, refuse_foreign_page
from apiarybook.readers.canonical import first_few

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd

    from apiarybook.book.measure import Measure
    from apiarybook.club.reckoned import Reckoned
    from apiarybook.reckon.hefting.worth_weighing import FeedTotal


TRUE = 0.005
"""A bias under half a per cent is called none."""
LITTLE = 0.05
"""Feed that would read 0.0 is left unsaid."""
NAMED = 12
"""Colonies of one apiary that are named."""
TELLING = 10
"""Lifts from which a slope or agreement is spoken of."""
FEW = 5
"""Colonies that are named as the most pressing."""


def as_lines(reckoned: Reckoned, within: float | None = None) -> list[str]:
    """What there is to say, line by line.

    Args:
        reckoned: the club's book, reckoned.
        within: how closely all feed is to be known, in the book's unit.
    """
    from apiarybook.reckon.hefting.worth import ALONE

    unit = measure_of(reckoned)
    hands = reckoned.season.hefting
    known = hands[hands["pairs"] > 0]
    lines = [click.style("Hands", bold=True), *(f"  {hand_words(hand, unit)}" for _, hand in known.iterrows())]
    if known.empty:
        lines.append("  No hand can be judged yet: write a guess in the column heft before reading the scale.")
    lines.append(f"  {other_words(hands.iloc[0], unit)}")
    alone = known.loc[known["says"] == ALONE, "by"]
    lines += ["", click.style("Whom to let heft alone", bold=True), f"  {', '.join(alone) or 'Nobody yet.'}"]
    lines += [f"  {said}" for said in watch_words(reckoned)]
    lines += ["", click.style("Worth weighing next", bold=True), *worth_lines(reckoned)]
    counted_frames = frames_line(reckoned)
    lines += ["", click.style("Frames of food counted", bold=True), f"  {counted_frames}"] if counted_frames else []
    total = total_lines(reckoned, within)
    return [*lines, "", click.style("Feed of all together", bold=True), *total] if total else lines


def watch_words(reckoned: Reckoned) -> list[str]:
    """What a tutor should know of hands besides: bias that follows the size or drifts, words that do not agree."""
    from apiarybook.reckon.hefting.agreement import SLOPE_CHANCE
    from apiarybook.reckon.hefting.trust import hands_report, words_report

    pairs = reckoned.season.pairs
    lines = []
    for hand in hands_report(pairs).to_dict("records"):
        if hand["pairs"] >= TELLING and hand["by_size_chance"] < SLOPE_CHANCE:
            way = "light" if hand["by_size"] < 0 else "heavy"
            lines.append(f"{hand['by']} guesses heavy hives {way} beside light ones: practise on both.")
        if hand["pairs"] >= TELLING and hand["drift_chance"] < SLOPE_CHANCE:
            way = "lighter" if hand["drift"] < 0 else "heavier"
            lines.append(f"{hand['by']} has come to guess {way} with time: weigh some of its lifts again.")
    told = words_report(pairs)
    told = told[(told["words"] >= TELLING) & told["kappa"].notna()]
    return lines + [
        f"{by}: words agree with the scale to {kappa:.2f} (weighted kappa, 1 is always), from {words:.0f} words."
        for by, words, kappa, _ in told.itertuples(index=False)
    ]


def measure_of(reckoned: Reckoned) -> Measure:
    """The units of the book."""
    from apiarybook.book.measure import measure

    return measure(reckoned.book.unit)


def mass(kilograms: float, unit: Measure, decimals: int = 1) -> str:
    """A mass in words in the book's unit."""
    return f"{round(kilograms / unit.kg, decimals) + 0.0:.{decimals}f} {unit.mass}"


def bias_words(bias: float) -> str:
    """How a hand reads.

    >>> bias_words(-0.08), bias_words(0.031), bias_words(0.001)
    ('reads 8 % light', 'reads 3 % heavy', 'reads true')
    """
    if abs(bias) < TRUE:
        return "reads true"
    return f"reads {abs(bias) * 100:.0f} % {'light' if bias < 0 else 'heavy'}"


def counted(number: float, one: str, many: str) -> str:
    """A number with its word.

    >>> counted(1.0, "lift", "lifts"), counted(11.0, "lift", "lifts")
    ('1 lift', '11 lifts')
    """
    return f"{number:.0f} {one if number == 1 else many}"


def hand_words(hand: pd.Series[float], unit: Measure) -> str:
    """One hand in a sentence.

    Args:
        hand: its row of `worth_of_hands`.
        unit: the units of the book.
    """
    words = hand["pairs"] - hand["guesses"]
    if not hand["guesses"]:
        return f"{hand['by']}: {hand['says']} ({counted(words, 'word', 'words')})."
    told = f"{hand['by']}: {bias_words(hand['bias'])}, nine in ten within {mass(hand['within'], unit)} on a "
    told += f"{mass(hand['hive_of'], unit, 0)} hive, from {counted(hand['guesses'], 'lift', 'lifts')}"
    also = f" and {counted(words, 'word', 'words')}" if words else ""
    return f"{told}{also}; {hand['says']}."


def other_words(hand: pd.Series[float], unit: Measure) -> str:
    """What is held of a hand that nobody has judged."""
    return (
        f"Any other hand: {bias_words(hand['bias'])}, nine in ten within {mass(hand['within'], unit)} on a "
        f"{mass(hand['hive_of'], unit, 0)} hive, before any of its lifts was weighed."
    )


def worth_lines(reckoned: Reckoned) -> list[str]:
    """The colonies to weigh next, a line an apiary."""
    unit, worth = measure_of(reckoned), reckoned.season.worth_weighing
    if worth.empty:
        return ["  None: no scale reading would change what is done by more than is worth giving."]
    lines = []
    for apiary, of in worth.groupby("apiary", sort=False):
        place = str(apiary) or "no apiary"
        names = [_named(colony, unit) for _, colony in of.iterrows()]
        lines.append(f"  {place}: {first_few(names, NAMED)}")
    feed = mass(worth["feed_hanging"].sum(), unit, 0)
    what = counted(len(worth), "colony", "colonies")
    lines.append(f"  {what} in all; {feed} of feed, more or less, {'hangs' if len(worth) == 1 else 'hang'} on it.")
    if len(worth) > FEW:
        first = worth.sort_values("order")["colony"].astype(str)[:FEW]
        lines.append(f"  If only a few can be weighed, these first: {', '.join(first)}.")
    return lines


def total_lines(reckoned: Reckoned, within: float | None) -> list[str]:
    """How well the feed of all colonies together is known, and the fewest to weigh to know it better."""
    unit, total, wish = measure_of(reckoned), *total_of(reckoned, within)
    if total is None:
        return []
    also = (
        f" {counted(total.unknown, 'colony is', 'colonies are')} left out: nothing is known." if total.unknown else ""
    )
    what = counted(total.colonies, "colony", "colonies")
    known = f"nine in ten within {mass(total.plan.before, unit, 0)}.{also}"
    needs = "needs" if total.colonies == 1 else "need"
    lines = [f"  {what} still {needs} {mass(total.expected, unit, 0)} together, {known}"]
    if total.order:
        reached = "" if total.plan.reached else f", as near to {mass(wish, unit, 0)} as weighing them comes"
        weigh = first_few(total.order, NAMED)
        lines.append(f"  Weigh {weigh}: then it is known within {mass(total.plan.after, unit, 0)}{reached}.")
    if math.isfinite(total.error):
        lines.append(
            f"  By the {total.by_some.weighed} of {total.by_some.hefted} hefted ones that were also weighed: "
            f"{mass(total.estimate, unit, 0)}, standard error {mass(total.error, unit, 0)}; "
            "it holds only if chance chose which were weighed, so weigh a few at random too."
        )
    return lines


def total_of(reckoned: Reckoned, within: float | None) -> tuple[FeedTotal | None, float]:
    """The feed of all together, None without colonies, and how closely it is to be known [kg]."""
    from apiarybook.reckon.core.arrays import figure
    from apiarybook.reckon.hefting.worth_weighing import feed_total

    wish = figure("total_wish") if within is None else within * measure_of(reckoned).kg
    total = feed_total(reckoned.season, wish)
    return (total if total.colonies else None), wish


def frames_line(reckoned: Reckoned) -> str:
    """How frames of food counted compare with a weighing of the same day."""
    both = reckoned.season.frames_beside
    if both.empty:
        return ""
    unit, apart = measure_of(reckoned), both["apart"]
    told = f"{counted(len(both), 'count was', 'counts were')} also weighed that day: counting finds "
    told += f"{mass(abs(apart.mean()), unit)} {'more' if apart.mean() > 0 else 'less'} stores than the scale"
    return f"{told}, give or take {mass(float(apart.std(ddof=1)), unit)}." if len(both) > 1 else f"{told}."


def _named(colony: pd.Series[float], unit: Measure) -> str:
    if math.isnan(colony["feed_hanging"]):
        return f"{colony['colony']} (nothing known)"
    if colony["feed_hanging"] / unit.kg < LITTLE:
        return str(colony["colony"])
    return f"{colony['colony']} ({mass(colony['feed_hanging'], unit)})"


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


def drawn(shape: str, x: float, y: float) -> str:
    """The path of a mark.

    >>> drawn("square", 10, 20)
    'M5.0 15.0h10.0v10.0h-10.0z'
    """
    s = 5.0
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
