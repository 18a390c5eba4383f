"""The command hefting: in plain words how good each hand is, whom to let heft alone, and what to weigh next."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import click

from apiarybook.show.machine import say_json

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    import pandas as pd

    from apiarybook.api import Reckoned
    from apiarybook.files.measure import Measure

TRUE = 0.005
"""A bias under half a per cent is called none."""
LITTLE = 0.05
"""Feed that would read 0.0 is left unsaid."""
NAMED = 12
"""Colonies of one apiary that are named."""


def hefting(path: Path, *, page: Path | None, as_at: date, as_json: bool) -> int:
    """Say what each hand's hefting is worth; nothing is written but the page, if one is asked for.

    Args:
        path: the club's book.
        page: where to put the same as a page with a chart.
        as_at: the day for which to reckon.
        as_json: for machines.

    Returns:
        0.

    Raises:
        CannotRead: it is no club's book.
        CannotWrite: the page cannot be written.
    """
    from apiarybook.api import look_at_file

    reckoned = look_at_file(path, as_at)
    if page is not None:
        from apiarybook.show.hefting_page import write_page

        write_page(page, reckoned)
    if as_json:
        say_json(as_object(reckoned))
        return 0
    for line in as_lines(reckoned):
        click.echo(line)
    if page is not None:
        click.echo(f"\nThe same with a chart: {page.name}")
    return 0


def as_lines(reckoned: Reckoned) -> list[str]:
    """What there is to say, line by line.

    Args:
        reckoned: the club's book, reckoned.
    """
    from apiarybook.reckon.worth import ALONE

    unit = measure_of(reckoned)
    hands = reckoned.season.hefting
    known = hands[hands["pairs"] > 0]
    lines = [click.style("Hands", bold=True), *(f"  {hand_words(hand, unit)}" for _, hand in known.iterrows())]
    if known.empty:
        lines.append("  No hand can be judged yet: write a guess in the column heft before reading the scale.")
    lines.append(f"  {other_words(hands.iloc[0], unit)}")
    alone = known.loc[known["says"] == ALONE, "by"]
    lines += ["", click.style("Whom to let heft alone", bold=True), f"  {', '.join(alone) or 'Nobody yet.'}"]
    return [*lines, "", click.style("Worth weighing next", bold=True), *worth_lines(reckoned)]


def measure_of(reckoned: Reckoned) -> Measure:
    """The units of the book."""
    from apiarybook.files.measure import measure

    return measure(reckoned.book.unit)


def mass(kilograms: float, unit: Measure, decimals: int = 1) -> str:
    """A mass in words in the book's unit."""
    return f"{kilograms / unit.kg:.{decimals}f} {unit.mass}"


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
    more = hand["lifts_needed"]
    needed = f"; {more:.0f} more for {mass(hand['wish'], unit)}" if math.isfinite(more) and more > 0 else ""
    return f"{told}{also}{needed}; {hand['says']}."


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
        more = f" and {len(names) - NAMED} more" if len(names) > NAMED else ""
        lines.append(f"  {place}: {', '.join(names[:NAMED])}{more}")
    feed = mass(worth["feed_hanging"].sum(), unit, 0)
    what = counted(len(worth), "colony", "colonies")
    return [*lines, f"  {what} in all; {feed} of feed, more or less, {'hangs' if len(worth) == 1 else 'hang'} on it."]


def _named(colony: pd.Series[float], unit: Measure) -> str:
    if math.isnan(colony["feed_hanging"]):
        return f"{colony['colony']} (nothing known)"
    if colony["feed_hanging"] / unit.kg < LITTLE:
        return str(colony["colony"])
    return f"{colony['colony']} ({mass(colony['feed_hanging'], unit)})"


def as_object(reckoned: Reckoned) -> dict[str, object]:
    """The same for machines: masses in kg, ratios as shares, days as text; null where a number does not exist."""
    from apiarybook.reckon.arrays import figure
    from apiarybook.reckon.trust import hands_report

    season = reckoned.season
    report = hands_report(season.pairs, figure("usual_gross"), figure("heft_wish"))
    keys = ["bias", "lower", "upper", "held", "drift", "drift_error", "drift_chance"]
    limits = report[["by", *keys]].rename(columns={key: f"observed_{key}" for key in keys})
    hands = season.hefting.merge(limits, on="by", how="left")
    return {
        "hands": _records(hands),
        "lifts": _records(season.pairs.drop(columns="place")),
        "worth_weighing": _records(season.worth_weighing),
    }


def _records(frame: pd.DataFrame) -> list[dict[str, object]]:
    from apiarybook.reckon.winter import day_of

    rows: list[dict[str, object]] = []
    for row in frame.to_dict("records"):
        told: dict[str, object] = {}
        for key, value in row.items():
            number = isinstance(value, float)
            blank = value in (None, "") or (number and not math.isfinite(value))
            day = key in ("day", "last_on") and not blank
            told[str(key)] = None if blank else day_of(float(value)).isoformat() if day else value
        rows.append(told)
    return rows
