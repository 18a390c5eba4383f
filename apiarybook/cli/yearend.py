"""The command yearend: the year's end checked, closed if it can be, and reported."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from apiarybook.cli.findings_text import DONE, HELD, say_counts, say_findings
from apiarybook.cli.json_output import findings_json, say_json

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    import pandas as pd

    from apiarybook.club.closing import Year


def yearend(path: Path, report: Path, *, as_at: date, as_json: bool) -> int:
    """Close a club's year and say what it taught.

    Args:
        path: the club's book.
        report: folder of the report.
        as_at: the day for which to reckon.
        as_json: for machines.

    Returns:
        0 if the year is closed, 1 if something stands in the way.

    Raises:
        CannotRead: it is no club's book.
        CannotWrite: the book or the report cannot be written.
    """
    from apiarybook.gather.on_disk import close_and_report

    year, target, lost, page = close_and_report(path, report, as_at)
    if as_json:
        say_json(as_object(year) | {"book": str(target), "report": str(page)})
        return HELD if year.reasons else DONE
    say_findings(year.reckoned.checked.findings)
    say_counts(year.reckoned.checked.counts)
    say_year(year)
    for sentence in lost:
        click.echo(sentence)
    click.echo(f"\nThe report is {page}, with its tables as CSV beside it; the sheet Year of {target.name} has more.")
    return HELD if year.reasons else DONE


def say_year(year: Year) -> None:
    """Print what the year taught, what is not complete, and whether it is closed.

    Args:
        year: the year's end.
    """
    from apiarybook.book.measure import measure
    from apiarybook.pages.year_words import gap_words, in_short_for_secretary

    click.echo("")
    click.echo(click.style("The winter in short", bold=True))
    for line in in_short_for_secretary(year, measure(year.reckoned.book.unit)):
        click.echo(f"  {line}")
    gaps = [gap for gap in year.facts.gaps if gap.names]
    if gaps:
        click.echo("")
        click.echo(click.style("Not complete", bold=True))
    for gap in gaps:
        click.echo(f"  {gap_words(gap)}")
    click.echo("")
    if year.reasons:
        click.echo(click.style("The year is not closed:", bold=True))
        for reason in year.reasons:
            click.echo(f"  {reason}")
    else:
        click.echo(f"The year is closed as at {year.reckoned.content.as_at}, fingerprint {year.fingerprint[:16]}.")


def as_object(year: Year) -> dict[str, object]:
    """What machines are told: masses in kg, shares from 0 to 1.

    Args:
        year: the year's end.
    """
    from apiarybook.reckon.year import year as reckoned_year

    checked = year.reckoned.checked
    return {
        "closed": not year.reasons,
        "why_not": list(year.reasons),
        "fingerprint": year.fingerprint or None,
        "losses": _rows(reckoned_year.losses(year.facts.found)),
        "causes": _rows(reckoned_year.causes(year.facts.found)),
        "wants": _rows(year.facts.wants),
        "foretold": _rows(reckoned_year.coverage(year.facts.bands)),
        "left_over": _rows(reckoned_year.left_over(year.facts.found)),
        "feed": _rows(reckoned_year.feed_used(year.facts.found)),
        "scales": _rows(year.facts.drift),
        "gaps": [{"what": one.what, "count": len(one.names), "of": one.of} for one in year.facts.gaps],
        "findings": findings_json(checked.findings),
        "counts": checked.counts,
    }


def _rows(frame: pd.DataFrame) -> list[dict[str, object]]:
    plain = frame.astype(object).where(frame.notna(), None)
    return [{str(key): _number(one) for key, one in row.items()} for row in plain.to_dict("records")]


def _number(value: object) -> object:
    """A figure as plain Python has it."""
    return value.item() if hasattr(value, "item") else value
