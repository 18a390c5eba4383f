"""The command share: a club's rows for others to learn from, without names, places and remarks."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from apiarybook.cli.findings_text import exit_code, held_line
from apiarybook.cli.json_output import say_json

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from apiarybook.gather.anonymous import Anonymous


def share(club_path: Path, into: Path, *, as_at: date, as_json: bool) -> int:
    """Make a package to share, and say what was removed.

    Args:
        club_path: the club's book; nothing in it is changed.
        into: folder for the package.
        as_at: the day for which to reckon which rows are held.
        as_json: for machines.

    Returns:
        1 if any row is held and so left out, else 0.

    Raises:
        CannotRead: it is no club's book, or the key beside it is none.
        CannotWrite: the key or the package cannot be written.
    """
    from apiarybook.gather.sharing import share_file

    shared, key_path, reckoned, files = share_file(club_path, into, as_at)
    if as_json:
        rows = {name: len(frame) for name, frame in shared.rows.items()}
        say_json({"folder": str(into), "files": files, "rows": rows, "removed": shared.removed})
    else:
        _say(shared, into, key_path)
        if held := held_line(reckoned.checked.findings, club_path.name):
            click.echo(f"\n{held}.")
    return exit_code(reckoned.checked.findings)


def _say(shared: Anonymous, into: Path, key_path: Path) -> None:
    for name, rows in shared.rows.items():
        click.echo(f"  {name}: {len(rows)} rows")
    click.echo("\nRemoved or replaced:")
    for sentence in shared.removed:
        click.echo(f"  {sentence}")
    click.echo(
        f"\nThe package is {into}: look through it before you send it. Keep {key_path.name} to yourself: with it the "
        "same colonies have the same pseudonyms next year, and whoever has it can try names out."
    )
