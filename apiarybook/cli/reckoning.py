"""The commands check and reckon: what is wrong in books, result sheets made anew, and how the colonies stand."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from apiarybook.cli.output import exit_code, findings_json, say_counts, say_findings, say_json, standing_json
from apiarybook.cli.questions import offer_thinning
from apiarybook.readers.canonical import first_few
from apiarybook.reckon.core.winter import day_of, serial
from apiarybook.reckon.outlook.till_flow import winter_says
from apiarybook.reckon.standing.verdict import day_words

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from apiarybook.club.reckoned import Reckoned
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
