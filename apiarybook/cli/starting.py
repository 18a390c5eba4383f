"""The command start: a club's new book and its launchers."""

from __future__ import annotations

import hashlib
import random
import secrets
from typing import TYPE_CHECKING

import click

from apiarybook.cli.json_output import say_json
from apiarybook.cli.launcher import write_launchers
from apiarybook.errors import CannotWrite, NotForThisRegion
from apiarybook.reckon.core.winter import winter_words

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

SOUTHERN = ("australia", "new-zealand", "southern", "south-africa", "south-america", "argentina", "chile")


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
    from apiarybook.club.reckoned import start_file

    _refuse(path, region, winter)
    book_id = new_id(seed, club, winter)
    start_file(path, club=club, winter=winter, region=region, unit=unit, as_at=as_at, book_id=book_id)
    launchers = write_launchers(path.parent)
    if as_json:
        say_json({"book": str(path), "book_id": book_id, "launchers": [one.name for one in launchers]})
        return 0
    click.echo(f"{path.name} is ready for winter {winter_words(winter)}, with the figures of {region} in {unit}.")
    click.echo("Next: open it, fill in Members, Apiaries and Colonies, then type weighings and feeds as they come.")
    click.echo(f'Then run: apiarybook check "{path.name}"    and: apiarybook reckon "{path.name}"')
    click.echo(f"Or double-click {launchers[0].name} (Windows) or {launchers[1].name} (macOS, Linux) beside the book.")
    return 0


def _refuse(path: Path, region: str, winter: int) -> None:
    from apiarybook.handbook import REGIONS
    from apiarybook.layout.settings import FIRST_WINTER, LAST_WINTER

    if any(word in region.casefold() for word in SOUTHERN):
        raise NotForThisRegion(
            f"{region}: the southern hemisphere has its winter in other months, and the handbook has no month tables "
            "for it yet; no book was made."
        )
    if region not in REGIONS:
        raise NotForThisRegion(f"{region} is no region of the handbook; choose one of {', '.join(REGIONS)}.")
    if not FIRST_WINTER <= winter <= LAST_WINTER:
        raise NotForThisRegion(f"No winter can begin in {winter}; type a year from {FIRST_WINTER} to {LAST_WINTER}.")
    if path.suffix.casefold() != ".xlsx":
        raise CannotWrite(f"{path.name}: a book's name ends in .xlsx; choose another name.")
    if path.exists():
        raise CannotWrite(f"{path.name} stands there already and was left as it is; choose another name or folder.")


def new_id(seed: int | None, club: str, winter: int) -> str:
    """A book's id: random, or repeatable from a seed.

    >>> new_id(7, "Alder Vale", 2026) == new_id(7, "Alder Vale", 2026)
    True
    """
    if seed is None:
        return secrets.token_hex(4)
    salt = random.Random(seed).getrandbits(64)  # noqa: S311 repeatable on purpose, for trials and the demo
    return hashlib.sha256(f"{salt}{club}{winter}".encode()).hexdigest()[:8]
