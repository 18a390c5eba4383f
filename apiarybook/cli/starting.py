"""The command start: a club's new book and its launchers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from apiarybook.cli.json_output import say_json

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path


def start(
    path: Path, *, club: str, winter: int, region: str, unit: str, seed: int | None, as_at: date, as_json: bool
) -> int:
    """Make the book and say what to do next.

    Args:
        path: where the book is to stand.
        club: the club's name.
        winter: the year in which the winter begins.
        region: the region, as typed.
        unit: kg or lb.
        seed: makes the book's id repeatable.
        as_at: the day for which to reckon.
        as_json: for machines.

    Returns:
        the exit code.

    Raises:
        NotForThisRegion: the region is unknown or in the southern hemisphere.
        CannotWrite: the file's name does not end in .xlsx, or something stands there.
    """
    from apiarybook.club.starting import start_club

    book_id, launchers = start_club(path, club=club, winter=winter, region=region, unit=unit, seed=seed, as_at=as_at)
    if as_json:
        say_json({"book": str(path), "book_id": book_id, "launchers": [one.name for one in launchers]})
        return 0
    click.echo(
        f"{path.name} is ready for winter {winter}/{(winter + 1) % 100:02d}, with the figures of {region} in {unit}."
    )
    click.echo("Next: open it, fill in Members, Apiaries and Colonies, then type weighings and feeds as they come.")
    click.echo(f'Then run: apiarybook check "{path.name}"    and: apiarybook reckon "{path.name}"')
    click.echo(f"Or double-click {launchers[0].name} (Windows) or {launchers[1].name} (macOS, Linux) beside the book.")
    return 0
