"""The command handout: one member copy for each member, and what to do with them."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from apiarybook.cli.findings_text import exit_code, held_line
from apiarybook.cli.json_output import findings_json, say_json
from apiarybook.club.starting import new_id

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from pathlib import Path

    from apiarybook.gather.handout import Handing


def handout(
    club_path: Path, into: Path, members: Sequence[str], *, seed: int | None, as_at: date, as_json: bool
) -> int:
    """Hand out copies and say where they stand.

    Args:
        club_path: the club's book.
        into: folder for the copies.
        members: codes of the members; all if empty.
        seed: makes the book's id repeatable.
        as_at: the day for which to reckon.
        as_json: for machines.

    Returns:
        1 if any row of the club's book is held, else 0.

    Raises:
        CannotRead: it is no club's book, or has no such member.
        CannotWrite: a book or a copy cannot be written.
    """
    from apiarybook.gather.handout import handout as hand_out

    book_id = new_id(seed, club_path.stem, as_at.year)
    with click.progressbar(length=1, label="Copies", file=sys.stderr, hidden=as_json or not sys.stderr.isatty()) as bar:

        def told(done: int, of: int) -> None:
            bar.length = of
            bar.update(done - bar.pos)

        handing = hand_out(club_path, into, members=members, as_at=as_at, book_id=book_id, told=told)
    if as_json:
        _say_json(handing)
    else:
        _say(handing, club_path, into)
    return exit_code(handing.club.checked.findings)


def _say_json(handing: Handing) -> None:
    copies = [
        {"member": copy.member, "file": str(copy.path), "copy": copy.copy, "colonies": copy.colonies, "rows": copy.rows}
        for copy in handing.copies
    ]
    checked = handing.club.checked
    say_json(
        {
            "handed_out": copies,
            "skipped": handing.skipped,
            "book": str(handing.target),
            "findings": findings_json(checked.findings),
            "counts": checked.counts,
        }
    )


def _say(handing: Handing, club_path: Path, into: Path) -> None:
    wide = max(len(copy.member) for copy in handing.copies)
    for copy in handing.copies:
        plural = "y" if copy.colonies == 1 else "ies"
        click.echo(f"  {copy.member:<{wide}}  {copy.colonies} colon{plural}  {copy.path.name}")
    for code in handing.skipped:
        click.echo(f"  {code} has no apiary yet, so no copy was made; add a row on the sheet Apiaries.")
    if held := held_line(handing.club.checked.findings, club_path.name):
        click.echo(f"  {held}")
    for sentence in handing.lost:
        click.echo(sentence)
    many = len(handing.copies)
    click.echo(
        f"\n{many} {'copy' if many == 1 else 'copies'} in {into}: send each to its member, nobody else's with it."
    )
    beside = (
        "" if handing.target == club_path else f" Go on with {handing.target.name}; {club_path.name} is the old book."
    )
    click.echo(f"{handing.target.name} knows now what was handed out; never send it to members.{beside}")
