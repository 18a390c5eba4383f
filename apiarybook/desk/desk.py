"""What one start of the desk knows: the folder, the book that is open on it, its watch and its worker."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass, field
from itertools import count
from typing import TYPE_CHECKING

from apiarybook.desk.jobs import Job, Jobs
from apiarybook.desk.shelf import remember
from apiarybook.desk.watching import Watch
from apiarybook.errors import CannotRead

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import date
    from pathlib import Path

    from apiarybook.club.reckoned import Reckoned
    from apiarybook.desk.watching import Seen
    from apiarybook.gather.collate import Gathering

NO_BOOK = "No book is open on the desk yet; choose one of the list, or make a new one."
NOT_READ = "The book is still being read; try again in a moment."


@dataclass(frozen=True, slots=True)
class Lift:
    """One lift of the evening: whose hand, what, its guess, and what the scale said; blank until it is revealed."""

    by: str
    load: str
    guess: float
    gross: float | None = None

    @property
    def off(self) -> float:
        """By which share the guess was too high.

        >>> round(Lift("Ann", "A1", 33.0, 30.0).off, 2)
        0.1
        """
        return self.guess / self.gross - 1 if self.gross else math.nan


@dataclass
class Desk:
    """The state of the desk; all else stands in the book or beside it.

    Attributes:
        folder: the folder whose books are offered, and where new ones are made.
        day: gives the day for which to reckon.
        seed: makes ids repeatable, for trials; None for random ones.
        watch: of the book that is open on the desk.
        number: counts what a page should show anew.
        spoken: when a page was last heard of, on the computer's running clock [s].
        is_over: whether the person ended the desk.
        made: files that the desk made, by name, to look at.
        gathering: what the last look at the returns said, and whether it was only a look.
        practice: lifts of this evening that are not in the book yet.
        parts: numbers for files that are being received.
    """

    folder: Path
    day: Callable[[], date]
    seed: int | None = None
    watch: Watch | None = None
    number: int = 0
    spoken: float = field(default_factory=time.monotonic)
    is_over: bool = False
    made: dict[str, Path] = field(default_factory=dict)
    gathering: Gathering | None = None
    was_dry: bool = True
    practice: list[Lift] = field(default_factory=list)
    parts: Iterator[int] = field(default_factory=count)

    def __post_init__(self) -> None:
        """Hire the worker."""
        self.jobs = Jobs(self.changed)

    @property
    def sign(self) -> str:
        """Changes whenever a page should show anything anew; the part before the dot only with its content."""
        job = self.jobs.now
        return f"{self.number}.{job.done if job else 0}"

    def changed(self) -> None:
        """Let pages know that something changed."""
        self.number += 1

    def open(self, path: Path) -> None:
        """Put a book on the desk and begin to watch it.

        Args:
            path: the book.

        Raises:
            CannotRead: there is no such file.
        """
        if not path.is_file():
            raise CannotRead(f"{path.name}: there is no such book any more; choose another one.")
        if self.watch is not None:
            self.watch.stop()
        self.made, self.gathering, self.practice = {}, None, []
        self.watch = Watch(path.resolve(), self.day, self.changed, self._closed)
        self.watch.start()
        remember(self.folder, path)
        self.changed()

    @property
    def path(self) -> Path:
        """The book that is open on the desk.

        Raises:
            CannotRead: none is.
        """
        if self.watch is None:
            raise CannotRead(NO_BOOK)
        return self.watch.path

    @property
    def seen(self) -> Seen | None:
        """What the book said when it was last read."""
        return self.watch.seen if self.watch else None

    @property
    def reckoned(self) -> Reckoned:
        """The book, reckoned when it was last read.

        Raises:
            CannotRead: none is open, it cannot be read, or is still being read.
        """
        seen = self.seen
        if seen is None or seen.reckoned is None:
            raise CannotRead((seen.said if seen else "") or (NOT_READ if self.watch else NO_BOOK))
        return seen.reckoned

    def start(self, job: Job) -> Job:
        """Do a piece of work, or once the book is closed elsewhere if it is to wait for that.

        Args:
            job: what to do.
        """
        if self.watch is not None and self.watch.open_by and not job.reads_only:
            self.jobs.put_off(job, f"{self.watch.path.name} is open in a spreadsheet program ({self.watch.open_by}).")
            return job
        return self.jobs.start(job)

    def _closed(self) -> None:
        """The book was closed elsewhere: what waited for that begins."""
        waiting = self.jobs.now
        if waiting is not None and waiting.state == "waiting":
            self.jobs.start(waiting)
