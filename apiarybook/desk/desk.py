"""What one start of the desk knows: the folder, the open book, its watch, and long work away from the page.

One piece of work is done at a time, with its progress, and a stop leaves the book whole.
"""

from __future__ import annotations

import logging
import math
import threading
import time
from dataclasses import dataclass, field
from itertools import count
from typing import TYPE_CHECKING, Any

from apiarybook.desk.shelf import remember
from apiarybook.desk.watching import Watch
from apiarybook.errors import ApiarybookError, CannotRead, CannotWrite, ProgramFault

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import date
    from pathlib import Path

    from apiarybook.club.reckoned import Reckoned
    from apiarybook.desk.watching import Seen
    from apiarybook.gather.collate import Gathering


BUSY = "The desk is still at work: {what}. Wait until that is done, or stop it."
LOG = logging.getLogger("apiarybook.desk")


class Stopped(Exception):
    """The person pressed stop; nothing was written."""


@dataclass(slots=True)
class Job:
    """A piece of work and what became of it.

    Attributes:
        what: what it does, as a person says it.
        work: does it; is given the job to tell progress to, and returns what there is to show.
        done, of: files or steps done, and of how many.
        state: at work, done, stopped, refused, or waiting for the book to be closed elsewhere.
        said: why it was refused.
        result: what there is to show.
        is_asked_to_stop: whether the person pressed stop.
        reads_only: whether it writes nothing, so that the book may stay open elsewhere.
    """

    what: str
    work: Callable[[Job], Any]
    done: int = 0
    of: int = 0
    state: str = "at work"
    said: str = ""
    result: Any = None
    is_asked_to_stop: bool = False
    reads_only: bool = False

    def told(self, done: int, of: int) -> None:
        """Take note of progress; ends the work here if the person pressed stop.

        Raises:
            Stopped: stop was pressed.
        """
        self.done, self.of = done, of
        if self.is_asked_to_stop:
            raise Stopped


class Jobs:
    """The one worker of a desk."""

    def __init__(self, changed: Callable[[], None]) -> None:
        """Call `changed` after anything that a page should show."""
        self._changed = changed
        self._lock = threading.Lock()
        self.now: Job | None = None
        """What is at work or was last."""

    @property
    def is_busy(self) -> bool:
        """Whether something is at work."""
        return self.now is not None and self.now.state == "at work"

    def start(self, job: Job) -> Job:
        """Begin a piece of work.

        Raises:
            CannotWrite: another one is at work.
        """
        with self._lock:
            self._refuse_second()
            job.state, job.said = "at work", ""
            self.now = job
        threading.Thread(target=self._run, args=(job,), name="desk work", daemon=True).start()
        self._changed()
        return job

    def put_off(self, job: Job, said: str) -> None:
        """Take note of work that cannot begin yet; it is refused unless it is to wait.

        Raises:
            CannotWrite: another one is at work.
        """
        with self._lock:
            self._refuse_second()
            if job.state != "waiting":
                job.state, job.said = "refused", said
            self.now = job
        self._changed()

    def _refuse_second(self) -> None:
        if self.now is not None and self.is_busy:
            raise CannotWrite(BUSY.format(what=self.now.what))

    def stop(self) -> None:
        """Ask what is at work to end before it writes; what waits is forgotten."""
        if self.now is not None:
            self.now.is_asked_to_stop = True
            self.now.state = "stopped" if self.now.state == "waiting" else self.now.state
        self._changed()

    def _run(self, job: Job) -> None:
        try:
            job.result = job.work(job)
            job.state = "done"
        except Stopped:
            job.state = "stopped"
        except ApiarybookError as fault:
            job.state, job.said = "refused", str(fault)
        except Exception as fault:
            LOG.exception("%s failed", job.what)
            why = f"{job.what} ended with a fault of this program ({type(fault).__name__}); nothing was lost."
            job.state, job.said = "refused", str(ProgramFault(why))
        self._changed()


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
