"""The command cards: what to print for a weigh-day and a hefting evening, as a workbook and as a page."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

import click

from apiarybook.cli.findings_text import exit_code, held_line
from apiarybook.cli.json_output import findings_json, say_json

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from apiarybook.club.reckoned import Reckoned
    from apiarybook.pages.card_words import Cards


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


def _say_json(made: Cards, files: tuple[Path, Path], reckoned: Reckoned) -> None:
    say_json(
        {
            "workbook": str(files[0]),
            "page": str(files[1]),
            "paper": made.paper,
            "targets": [asdict(one) for one in made.targets],
            "weigh_day": [asdict(one) for one in made.lines],
            "practice": asdict(made.practice) if made.practice else None,
            "findings": findings_json(reckoned.checked.findings),
            "counts": reckoned.checked.counts,
        }
    )


def _say(made: Cards, files: tuple[Path, Path], held: str) -> None:
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
        f"{made.paper}: {files[0].name} and {files[1].name} in {files[0].parent}; print either."
    )
