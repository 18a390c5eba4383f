"""What is asked in the terminal: without a command what to do, by number; after one whether old backups may go."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from apiarybook.desk.shelf import folder_of_launcher, lately, remember

if TYPE_CHECKING:
    from datetime import date


FAILED = 2


@dataclass(frozen=True, slots=True)
class Job:
    """One thing to choose: the words of the question, and the command that does it."""

    text: str
    command: str
    opens: bool = False


JOBS = (
    Job("Check the book: what is wrong or doubtful in it", "check"),
    Job("Reckon the book: bring all result sheets up to date", "reckon", opens=True),
    Job("Make a new book for a club", "start", opens=True),
    Job("Look at an invented club's season first", "demo"),
    Job("Hand out a copy of the book to each member", "handout"),
    Job("Gather what members have sent back", "collate", opens=True),
    Job("Print target card, weigh-day sheet and practice sheet", "cards"),
    Job("Share the club's weights without names, for others to learn from", "share"),
    Job("See how good each hand is at hefting, and what to weigh next", "hefting"),
    Job("Close the year after the winter, and report what it taught", "yearend", opens=True),
    Job("Make the book for the next winter", "carry"),
)
FOLDERS = {
    "handout": ("Folder for the copies", "copies", ("--into",)),
    "cards": ("Folder for the cards", "cards", ("--into",)),
    "yearend": ("Folder for the report", "report", ("--report",)),
    "share": ("Folder for the package", "to share", ("--into",)),
    "collate": ("Folder, file or saved message with what came", "returns", ()),
}
"""What else is asked: the question, the usual folder beside the book, and the option that takes it."""


def ask(main: click.Group, today: date) -> int:
    """Ask what to do, do it, and open the result.

    Args:
        main: the commands.
        today: the day of asking.

    Returns:
        the exit code of what was done; 0 if nothing was.
    """
    click.echo("What would you like to do? Type a number and press Enter; nothing but Enter ends.")
    for number, job in enumerate(JOBS, 1):
        click.echo(f"  {number}  {job.text}")
    answer = _line("Number")
    if not answer:
        return 0
    if not answer.isdecimal() or not 1 <= int(answer) <= len(JOBS):
        click.echo(f"{answer!r} is none of the numbers 1 to {len(JOBS)}; nothing was done.", err=True)
        return FAILED
    job = JOBS[int(answer) - 1]
    words = _words(job, today)
    if words is None:
        click.echo("Nothing was done.")
        return 0
    code = _run(main, words)
    if job.opens and code != FAILED:
        show_file(Path(words[1]))
    return code


def _line(question: str, otherwise: str = "") -> str:
    shown = f"{question} [{otherwise}]: " if otherwise else f"{question}: "
    click.echo(shown, nl=False)
    line = sys.stdin.readline()
    if not sys.stdin.isatty():
        click.echo(line.rstrip("\n"))
    return line.strip() or (otherwise if line else "")


def _words(job: Job, today: date) -> list[str] | None:
    if job.command == "demo":
        return ["demo"]
    if job.command == "start":
        return _new_book(today)
    book = next(iter(lately(folder_of_launcher())), Path())
    answer = _line("Which book", str(book) if book.name else "")
    if not answer:
        return None
    remember(folder_of_launcher(), Path(answer))
    if job.command == "carry":
        return _next_book(Path(answer), today)
    folder = FOLDERS.get(job.command)
    if folder is None:
        return [job.command, answer]
    question, usual, option = folder
    return [job.command, answer, *option, _line(question, str(Path(answer).with_name(usual)))]


def _next_book(book: Path, today: date) -> list[str]:
    year = _line("Year in which the next winter begins", str(today.year))
    stem = re.sub(r"\s*\d{4}$", "", book.stem)
    name = _line("File name of the next book", str(book.with_name(f"{stem} {year}.xlsx")))
    return ["carry", str(book), name, "--winter", year]


def _new_book(today: date) -> list[str] | None:
    from apiarybook.handbook import REGIONS

    club = _line("Name of the club")
    if not club:
        return None
    year = _line("Year in which the winter begins", str(today.year))
    for number, region in enumerate(REGIONS, 1):
        click.echo(f"  {number}  {region}")
    answer = _line("Number of your region", "1")
    if not answer.isdecimal() or not 1 <= int(answer) <= len(REGIONS):
        return None
    path = Path(_line("File name of the book", f"{club} {year}.xlsx"))
    remember(folder_of_launcher(), path)
    return ["start", str(path), "--club", club, "--winter", year, "--region", REGIONS[int(answer) - 1]]


def _run(main: click.Group, words: list[str]) -> int:
    try:
        main.main(words, prog_name="apiarybook", standalone_mode=True)
    except SystemExit as ending:
        return int(ending.code or 0) if not isinstance(ending.code, str) else FAILED
    return 0


def show_file(path: Path) -> None:
    """Open a file in the program that the machine uses for it, where a person sits at the screen."""
    if not (sys.stdin.isatty() and sys.stdout.isatty() and path.is_file()):
        return
    if sys.platform == "win32":
        os.startfile(path)  # noqa: S606 the person's own file in the person's own program
        return
    opener = shutil.which("open" if sys.platform == "darwin" else "xdg-open")
    if opener:
        subprocess.Popen([opener, str(path)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)  # noqa: S603


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
