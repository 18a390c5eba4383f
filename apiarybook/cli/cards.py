"""The command cards: what to print for a weigh-day and a hefting evening, as a workbook and as a page."""

from __future__ import annotations

from dataclasses import asdict
from itertools import count
from typing import TYPE_CHECKING

import click

from apiarybook.cli.findings_text import exit_code, held_line
from apiarybook.cli.json_output import findings_json, say_json
from apiarybook.errors import CannotRead, CannotWrite, in_words
from apiarybook.pages import card_content
from apiarybook.pages.card_book import as_book
from apiarybook.pages.card_page import as_page
from apiarybook.pages.card_words import Cards
from apiarybook.writers.safe_replace import put_in_place

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from apiarybook.book.tables import Book
    from apiarybook.club.reckoned import Reckoned

PAPER_OF_UNIT = {"kg": "A4", "lb": "Letter"}


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
    from apiarybook.club.reckoned import read_book, reckon_book

    book = read_book(club_path)
    if book.properties.get("member"):
        raise CannotRead(f"{book.name} is the copy of a member; give the club's own book.")
    reckoned = reckon_book(book, as_at)
    made = content(reckoned, free_refs(book), paper or PAPER_OF_UNIT[book.unit])
    files = write_cards(made, into)
    if as_json:
        _say_json(made, files, reckoned)
    else:
        _say(made, files, held_line(reckoned.checked.findings, club_path.name))
    return exit_code(reckoned.checked.findings)


def free_refs(book: Book) -> list[str]:
    """Refs of the ready-made rows of Weighings that nobody has typed into, and that are the book's own.

    Args:
        book: a club's book as read.

    Returns:
        the refs in the order of the sheet.
    """
    table = book.tables.get("Weighings")
    if table is None:
        return []
    refs = table.raw["ref"][table.is_blank.to_numpy()].dropna().astype(str)
    return list(refs[refs.str.startswith(f"{book.properties.get('copy id', '')}-")])


def content(reckoned: Reckoned, refs: list[str], paper: str) -> Cards:
    """Work out what to print.

    Args:
        reckoned: the club's book, reckoned for the day of the cards.
        refs: refs of ready-made rows that nobody has typed into.
        paper: A4 or Letter.

    Returns:
        the cards.
    """
    from apiarybook.book.si_frames import si
    from apiarybook.reckon.season import reckon_season

    book, about = reckoned.book, reckoned.content.about
    held = reckoned.checked.held
    frames = {
        name: frame.assign(held=[held.get(name, {}).get(int(row), "") for row in frame.index])
        for name, frame in si(book, {}).items()
    }
    year = int(about["winter"].partition("/")[0])
    opening = reckon_season(frames, book.settings, card_content.season_opens(year))
    targets = card_content.targets(reckoned.season, opening, year)
    return Cards(
        club=str(book.settings.get("club") or ""),
        winter=about["winter"],
        as_at=reckoned.content.as_at,
        paper=paper,
        unit=book.unit,
        targets=targets,
        lines=card_content.lines(frames, reckoned.season, refs),
        ticks=card_content.ticks(frames["Extras"], frames["Weighings"]),
        practice=card_content.practice(targets),
    )


def write_cards(made: Cards, into: Path) -> tuple[Path, Path]:
    """Put the cards into a folder, under a name with a number where other cards stand already.

    Args:
        made: the cards.
        into: the folder, made where it is missing.

    Returns:
        the workbook and the page; what stands there already and is the same is not written again.

    Raises:
        CannotWrite: the folder cannot be made or written.
    """
    data = {".xlsx": as_book(made), ".html": as_page(made).encode()}
    try:
        into.mkdir(parents=True, exist_ok=True)
        stems = (f"cards{'' if number == 1 else f' {number}'}" for number in count(1))
        stem = next(stem for stem in stems if all(_is_free(into / f"{stem}{end}", one) for end, one in data.items()))
    except OSError as fault:
        raise CannotWrite(
            f"{into}: this folder cannot be made or read ({in_words(fault)}); name another one."
        ) from fault
    paths = [into / f"{stem}{end}" for end in data]
    for path, one in zip(paths, data.values(), strict=True):
        if not path.exists():
            put_in_place(path, one, seen_sha256=None, stamp=made.as_at.isoformat())
    return paths[0], paths[1]


def _is_free(path: Path, data: bytes) -> bool:
    return not path.exists() or path.read_bytes() == data


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
    for card in made.targets:
        least = made.mass(min(one.lift.gross for one in card.least))
        target = made.mass(card.target.gross)
        click.echo(f"  {card.hive_type}: target gross {target:.1f} {made.unit}, least {least:.1f} {made.unit}")
    if made.without_ref:
        click.echo(f"  {made.without_ref}")
    if held:
        click.echo(f"  {held}")
    lines = len(made.lines)
    click.echo(
        f"\nTarget card, weigh-day sheet with {lines} {'colony' if lines == 1 else 'colonies'} and practice sheet, for "
        f"{made.paper}: {files[0].name} and {files[1].name} in {files[0].parent}; print either."
    )
