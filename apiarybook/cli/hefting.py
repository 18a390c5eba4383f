"""The command hefting: in plain words how good each hand is, whom to let heft alone, and what to weigh next."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import click

from apiarybook.cli.findings_text import exit_code, held_line
from apiarybook.cli.json_output import say_json
from apiarybook.pages.hefting_words import as_lines, total_of

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    import pandas as pd

    from apiarybook.club.reckoned import Reckoned


def hefting(path: Path, *, page: Path | None, within: float | None, as_at: date, as_json: bool) -> int:
    """Say what each hand's hefting is worth; nothing is written but the page, if one is asked for.

    Args:
        path: the club's book.
        page: where to put the same as a page with a chart.
        within: how closely the feed of all colonies together is to be known, in the book's unit; as the handbook has
            it if not given.
        as_at: the day for which to reckon.
        as_json: for machines.

    Returns:
        1 if any row is held, else 0.

    Raises:
        CannotRead: it is no club's book.
        CannotWrite: the page cannot be written.
    """
    from apiarybook.gather.on_disk import look_at_file

    reckoned = look_at_file(path, as_at)
    if page is not None:
        from apiarybook.pages.hefting_page import write_page

        write_page(page, reckoned, within)
    findings = reckoned.checked.findings
    if as_json:
        say_json(as_object(reckoned, within))
        return exit_code(findings)
    for line in as_lines(reckoned, within):
        click.echo(line)
    if page is not None:
        click.echo(f"\nThe same with a chart: {page.name}")
    if held := held_line(findings, path.name):
        click.echo(f"\n{held}.")
    return exit_code(findings)


def as_object(reckoned: Reckoned, within: float | None = None) -> dict[str, object]:
    """The same for machines: masses in kg, ratios as shares, days as text; null where a number does not exist."""
    from apiarybook.reckon.core.arrays import figure
    from apiarybook.reckon.hefting.trust import hands_report, words_report

    season = reckoned.season
    report = hands_report(season.pairs, figure("usual_gross"), figure("heft_wish"))
    keys = ["bias", "lower", "upper", "held", "by_size", "by_size_chance", "drift", "drift_error", "drift_chance"]
    limits = report[["by", *keys]].rename(columns={key: f"observed_{key}" for key in keys})
    hands = season.hefting.merge(limits, on="by", how="left")
    hands = hands.merge(words_report(season.pairs).drop(columns="words"), on="by", how="left")
    return {
        "hands": _records(hands),
        "lifts": _records(season.pairs.drop(columns="place")),
        "worth_weighing": _records(season.worth_weighing),
        "frames_counted": _records(season.frames_beside),
        "feed_of_all": _total_object(reckoned, within),
    }


def _total_object(reckoned: Reckoned, within: float | None) -> dict[str, object] | None:
    total, wish = total_of(reckoned, within)
    if total is None:
        return None
    regression = {"hefted": total.by_some.hefted, "weighed": total.by_some.weighed}
    return {
        "colonies": total.colonies,
        "unknown": total.unknown,
        "expected": total.expected,
        "within": total.plan.before,
        "wish": wish,
        "weigh": total.order,
        "then_within": total.plan.after,
        "by_regression": regression | {"estimate": _number(total.estimate), "standard_error": _number(total.error)},
    }


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _records(frame: pd.DataFrame) -> list[dict[str, object]]:
    from apiarybook.reckon.core.winter import day_of

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
