"""Long work away from the page: one at a time, with its progress, and a stop that leaves the book whole."""

from __future__ import annotations

import logging
import threading
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from apiarybook.errors import ApiarybookError, CannotWrite, ProgramFault

if TYPE_CHECKING:
    from collections.abc import Callable

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
            if self.now is not None and self.is_busy:
                raise CannotWrite(BUSY.format(what=self.now.what))
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
            if self.now is not None and self.is_busy:
                raise CannotWrite(BUSY.format(what=self.now.what))
            if job.state != "waiting":
                job.state, job.said = "refused", said
            self.now = job
        self._changed()

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
            job.state, job.said = (
                "refused",
                str(
                    ProgramFault(
                        f"{job.what} ended with a fault of this program ({type(fault).__name__}); nothing was lost."
                    )
                ),
            )
        self._changed()
