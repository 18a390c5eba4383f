"""The commands cards and hefting: what to print for an evening, how good each hand is, and what to weigh next."""

from __future__ import annotations

import math
from dataclasses import asdict
from typing import TYPE_CHECKING

import click

from apiarybook.cli.output import exit_code, findings_json, held_line, say_json
from apiarybook.pages import hefting_page
from apiarybook.reckon.core.winter import day_of

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    import pandas as pd

    from apiarybook.club.reckoned import Reckoned
    from apiarybook.pages.card_words import Cards


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
        hefting_page.write_page(page, reckoned, within)
    findings = reckoned.checked.findings
    if as_json:
        say_json(as_object(reckoned, within))
        return exit_code(findings)
    for line in hefting_page.as_lines(reckoned, within):
        click.echo(line)
    if page is not None:
        click.echo(f"\nThe same with a chart: {page.name}")
    if held := held_line(findings, path.name):
        click.echo(f"\n{held}.")
    return exit_code(findings)


def as_object(reckoned: Reckoned, within: float | None = None) -> dict[str, object]:
    """The same for machines: masses in kg, ratios as shares, days as text; null where a number does not exist."""
    from apiarybook.reckon.hefting.trust import hands_report, words_report

    season = reckoned.season
    report = hands_report(season.pairs)
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
    total, wish = hefting_page.total_of(reckoned, within)
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


def cards(club_path: Path, into: Path, paper: str | None, *, as_at: date, as_json: bool) -> int:
    """Make the cards and say where they stand.

    Args:
        club_path: the club's book.
        into: folder for the cards.
        paper: A4 or Letter; by the book's unit if None.
        as_at: the day for which to reckon.
        as_json: for machines.

    Returns:
        1 if any row is held, else 0.

    Raises:
        CannotRead: it is no club's book.
        CannotWrite: the folder cannot be made or written.
    """
    from apiarybook.pages.card_page import make_cards

    made, files, reckoned = make_cards(club_path, into, paper, as_at)
    if as_json:
        _say_json(made, files, reckoned)
    else:
        _say(made, files, held_line(reckoned.checked.findings, club_path.name))
    return exit_code(reckoned.checked.findings)


def _say_json(made: Cards, files: tuple[Path, Path, Path], reckoned: Reckoned) -> None:
    say_json(
        {
            "workbook": str(files[0]),
            "page": str(files[1]),
            "keepers": str(files[2]),
            "paper": made.paper,
            "targets": [asdict(one) for one in made.targets],
            "weigh_day": [asdict(one) for one in made.lines],
            "practice": asdict(made.practice) if made.practice else None,
            "findings": findings_json(reckoned.checked.findings),
            "counts": reckoned.checked.counts,
        }
    )


def _say(made: Cards, files: tuple[Path, Path, Path], held: str) -> None:
    from apiarybook.pages.card_words import day

    for card in made.targets:
        for group in card.reached:
            on = group.october
            target, least = made.mass(on.target.gross), made.mass(on.least.gross)
            click.echo(
                f"  {card.hive_type}, if next fed {day(group.fed_next)}: on {day(on.day)} target gross {target:.1f} "
                f"{made.unit}, least {least:.1f} {made.unit}"
            )
    if made.without_ref:
        click.echo(f"  {made.without_ref}")
    if held:
        click.echo(f"  {held}")
    lines = len(made.lines)
    click.echo(
        f"\nTarget card, weigh-day sheet with {lines} {'colony' if lines == 1 else 'colonies'} and practice sheet, for "
        f"{made.paper}: {files[0].name} and {files[1].name} in {files[0].parent}; print either.\n"
        f"{files[2].name} has a page for each keeper, with phone and mail for you alone."
    )
