"""The command check: what is wrong or doubtful in books."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from apiarybook.cli.findings_text import exit_code, say_counts, say_findings
from apiarybook.cli.json_output import findings_json, say_json

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path


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
