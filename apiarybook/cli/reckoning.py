"""The commands check, reckon, hefting, cards: what is wrong, how colonies stand, how good hands are, what to print."""

from __future__ import annotations

import math
from dataclasses import asdict
from typing import TYPE_CHECKING

import click

from apiarybook.cli.output import exit_code, findings_json, held_line, say_counts, say_findings, say_json, standing_json
from apiarybook.cli.questions import offer_thinning
from apiarybook.readers.canonical import first_few
from apiarybook.reckon.core.winter import day_of, serial
from apiarybook.reckon.outlook.till_flow import winter_says
from apiarybook.reckon.standing.verdict import day_words

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    import pandas as pd

    from apiarybook.club.reckoned import Reckoned
    from apiarybook.pages.card_words import Cards
    from apiarybook.reckon.season import Season


VISITS, COLONIES = 6, 6
"""Visits that are printed, and colonies named in each; the sheet Till the flow has all."""


def say_rounds(season: Season) -> None:
    """Print the next visits; nothing out of season.

    Args:
        season: what was reckoned.
    """
    rows = season.round_list.to_dict("records")
    if not rows:
        return
    click.echo(click.style("Next rounds", bold=True))
    for row in rows[:VISITS]:
        fondant = f"; carry fondant to {first_few(str(row['fondant']).split(', '), COLONIES)}" if row["fondant"] else ""
        hefted = f"heft {first_few(str(row['heft']).split(', '), COLONIES)}" if row["heft"] else "nothing to heft"
        click.echo(f"  by {day_words(row['visit_on'])}, {row['apiary']}: {hefted}{fondant}")
    if len(rows) > VISITS:
        click.echo(f"  and {len(rows) - VISITS} more: see the sheet Till the flow")
    click.echo(f"  {winter_says(season.standing)}")


def rounds_json(season: Season) -> list[dict[str, object]]:
    """One object a visit: masses in kg, dates as text.

    Args:
        season: what was reckoned.

    Returns:
        the visits, the soonest first.
    """
    return [
        {
            "visit_on": day_of(row["visit_on"]).isoformat(),
            "apiary": row["apiary"],
            "member": row["member"] or None,
            "heft": str(row["heft"]).split(", ") if row["heft"] else [],
            "fondant": str(row["fondant"]).split(", ") if row["fondant"] else [],
            "fondant_mass": float(row["fondant_mass"]),
        }
        for row in season.round_list.to_dict("records")
    ]


VERDICTS = (
    ("feed now", "to feed now"),
    ("feed, then weigh", "to feed a portion and weigh again"),
    ("feed", "to feed"),
    ("comb full", "with comb full: add a box, or plan fondant"),
    ("fondant later", "to give fondant later"),
    ("weigh", "to weigh: the evidence is too coarse"),
    ("enough, if right", "with enough, if what was asked about is right"),
    ("enough", "with enough"),
    ("lasts to", "that last for now"),
    ("out of season", "out of season: nothing is said of stores before August or after the flow"),
    ("not reckoned", "not reckoned: apiary, winter profile or hive type is missing"),
)
EXAMPLES = 12


def reckon(path: Path, *, as_at: date, as_json: bool) -> int:
    """Reckon a book in place and say how the colonies stand.

    Args:
        path: the book.
        as_at: the day for which to reckon.
        as_json: for machines.

    Returns:
        1 if any row is held, else 0.

    Raises:
        CannotRead: it is no club's book.
        CannotWrite: it cannot be replaced.
    """
    from apiarybook.gather.on_disk import reckon_file

    reckoned, target, lost = reckon_file(path, as_at)
    if as_json:
        say_json(
            {
                "standing": standing_json(reckoned.season),
                "round_list": rounds_json(reckoned.season),
                "findings": findings_json(reckoned.checked.findings),
                "counts": reckoned.checked.counts,
            }
        )
        return exit_code(reckoned.checked.findings)
    say_findings(reckoned.checked.findings)
    say_counts(reckoned.checked.counts)
    say_standing(reckoned)
    say_rounds(reckoned.season)
    for sentence in lost:
        click.echo(sentence)
    beside = "" if target == path else f" The old book {path.name} was left as it is."
    click.echo(f"\nReckoned as at {said_day(reckoned)}: {target.name} is up to date; read the sheet Standing.{beside}")
    offer_thinning(path)
    return exit_code(reckoned.checked.findings)


def said_day(reckoned: Reckoned) -> str:
    """The day for which a book was reckoned, and where to let go of it if the book is held there."""
    day = reckoned.content.as_at.isoformat()
    is_held = reckoned.content.settings.get("as_at") is not None
    return f"{day} (held there; clear the cell after pinned to on Standing to go on with today)" if is_held else day


def say_standing(reckoned: Reckoned) -> None:
    """Print how many colonies stand how, and which.

    Args:
        reckoned: the reckoned book.
    """
    from apiarybook.book.measure import measure

    standing = reckoned.season.standing
    click.echo("")
    click.echo(click.style("Colonies", bold=True))
    left = standing[standing["verdict"] != ""].sort_values("lasts_to", kind="stable", na_position="first")
    for word, text in VERDICTS:
        of = left[left["verdict"].str.startswith(word)]
        left = left.drop(of.index)
        if len(of):
            click.echo(f"  {len(of)} {text}: {first_few(of['colony'].astype(str).tolist(), EXAMPLES)}")
    order = reckoned.season.feed_order.sum(numeric_only=True)
    unit, kg = reckoned.book.unit, measure(reckoned.book.unit).kg
    masses = {"liquid feed": order["liquid"] / kg, "fondant": order["solid"] / kg}
    feed = " and ".join(f"{mass:.0f} {unit} of {name}" for name, mass in masses.items() if round(mass))
    click.echo(f"  Feed to order: {feed or 'none'}.")
    if not (standing["known"] == 1).any() and (standing["winter_starts"] > serial(reckoned.content.as_at)).any():
        foretold, more = order["forecast"] / kg, reckoned.season.order_margin / kg
        click.echo(f"  Foretold before any weighing: {foretold:.0f} {unit} of liquid feed; {more:.0f} more to be sure.")


def check(paths: tuple[Path, ...], *, as_at: date, as_json: bool) -> int:
    """Check books and say what was found.

    Args:
        paths: the books.
        as_at: the day for which they are reckoned.
        as_json: for machines.

    Returns:
        1 if any row is held, else 0.

    Raises:
        CannotRead: a file is no book.
    """
    from apiarybook.book.settings import reckoned_day
    from apiarybook.club.reckoned import check_book, read_book

    findings, counts = [], []
    for path in paths:
        book = read_book(path)
        checked = check_book(book, as_at)
        findings += checked.findings
        counts += checked.counts
        if not as_json:
            click.echo(click.style(f"{book.name}, reckoned as at {reckoned_day(book.settings, as_at)}", bold=True))
            for remark in book.remarks:
                click.echo(f"  {remark}")
            say_findings(checked.findings)
            say_counts(checked.counts)
            click.echo("")
    held = sum(finding.weight == "hold" for finding in findings)
    if as_json:
        say_json({"findings": findings_json(findings), "counts": counts})
    else:
        click.echo("Nothing is held." if not held else f"{held} held; mend them in the book, then check again.")
    return exit_code(findings)


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
    from apiarybook.pages import hefting_page

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
    from apiarybook.pages.hefting_page import total_of

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
