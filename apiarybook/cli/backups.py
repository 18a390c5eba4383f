"""Old backups of a book: thinned out after asking, never by themselves."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from pathlib import Path

ENOUGH = 10
"""Backups that can go, from which it is worth asking."""


def offer_thinning(book: Path) -> None:
    """Ask a person at the terminal whether old backups of a book may go, and remove them if so.

    Args:
        book: the book.
    """
    from apiarybook.writers.safe_replace import KEPT, spare_backups

    spare = spare_backups(book)
    if len(spare) < ENOUGH or not (sys.stdin.isatty() and sys.stdout.isatty()):
        return
    click.echo(f"{len(spare)} old backups of {book.name} can go, {spare[0].name} to {spare[-1].name};")
    if click.confirm(f"the last {KEPT} and the last of each month stay. Delete the others?", default=False):
        for path in spare:
            path.unlink(missing_ok=True)
