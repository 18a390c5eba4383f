"""The book as it was last saved: read again each time a spreadsheet program saves it, never locked, never written."""

from __future__ import annotations

import hashlib
import logging
import threading
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import TYPE_CHECKING

from apiarybook.desk.questions import questions
from apiarybook.errors import ApiarybookError
from apiarybook.readers.pieces import Remembered
from apiarybook.readers.raw import open_elsewhere

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from apiarybook.club.reckoned import Reckoned
    from apiarybook.desk.questions import Question

LOG = logging.getLogger("apiarybook.desk")
EVERY = 0.3
"""Seconds between two looks at the file's time and size."""
AGAIN = 10
"""Looks at an unchanged file after which it is said to be broken: one that is just being saved goes on changing."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What a book said when it was last read.

    Attributes:
        number: counts the readings.
        read_at: when.
        asked: what is open, and what was answered; of the last reading that could be read.
        reckoned: the book reckoned at that reading; None if there was none yet.
        said: why it cannot be read now; empty for one that was.
        gone: what the reading before asked and is mended.
    """

    number: int
    read_at: datetime
    asked: tuple[Question, ...] = ()
    reckoned: Reckoned | None = None
    said: str = ""
    gone: tuple[Question, ...] = ()


@dataclass
class Watch:
    """Watches one book on a thread of its own.

    Attributes:
        path: the book.
        day: gives the day for which to reckon.
        changed: called after anything that a page should show.
        closed: called when the book is open elsewhere no more.
        seen: the last reading.
        open_by: who has it open elsewhere; empty for nobody.
    """

    path: Path
    day: Callable[[], date]
    changed: Callable[[], None]
    closed: Callable[[], None]
    seen: Seen | None = None
    open_by: str = ""
    _mark: tuple[object, ...] = ()
    _failed: int = 0
    _tried: tuple[object, ...] = ()
    _end: threading.Event = field(default_factory=threading.Event)
    _remembered: Remembered = field(default_factory=Remembered)

    def start(self) -> None:
        """Begin to watch."""
        threading.Thread(target=self._watch, name="desk watch", daemon=True).start()

    def stop(self) -> None:
        """Watch no more."""
        self._end.set()

    def _watch(self) -> None:
        self.look()
        while not self._end.wait(EVERY):
            self.look()

    def look(self) -> None:
        """Look once: who has the book open, and whether it was saved since it was last read."""
        by = open_elsewhere(self.path) or ""
        if by != self.open_by:
            was_open, self.open_by = bool(self.open_by), by
            self.changed()
            if was_open and not by:
                self.closed()
        mark = self._marked()
        if mark != self._mark:
            self._read(mark)

    def _marked(self) -> tuple[object, ...]:
        try:
            at = self.path.stat()
        except OSError:
            return (None, self.day())
        return at.st_mtime_ns, at.st_size, at.st_ino, self.day()

    def _read(self, mark: tuple[object, ...]) -> None:
        try:
            self._take(mark)
            self._failed = 0
        except (ApiarybookError, OSError) as fault:
            self._missed(mark, str(fault))
        except Exception as fault:
            LOG.exception("%s could not be read", self.path.name)
            self._missed(
                mark, f"{self.path.name}: the desk met a fault of its own ({type(fault).__name__}) in reading it."
            )

    def _missed(self, mark: tuple[object, ...], why: str) -> None:
        """A file that cannot be read is perhaps just being saved: it is called broken once it stays as it is."""
        self._failed = self._failed + 1 if mark == self._tried else 1
        self._tried = mark
        if self._failed >= AGAIN or mark[0] is None:
            self._mark, self._failed = mark, 0
            last = self.seen or Seen(0, _now())
            self._show(replace(last, number=last.number + 1, said=why, gone=()))

    def _take(self, mark: tuple[object, ...]) -> None:
        from apiarybook.gather.on_disk import look_at_file

        last = self.seen
        known = last.reckoned if last and not last.said else None
        as_saved = hashlib.sha256(self.path.read_bytes()).hexdigest()
        if known is not None and known.book.sha256 == as_saved and known.content.as_at == self.day():
            self._mark = mark
            return
        reckoned = look_at_file(self.path, self.day(), self._remembered)
        self._mark = mark
        before = last.asked if last and last.reckoned else None
        asked = questions(reckoned, before)
        have = {one.mark for one in asked if one.is_open}
        gone = tuple(one for one in before or () if one.is_open and one.mark not in have)
        self._show(Seen(last.number + 1 if last else 1, _now(), asked, reckoned, gone=gone))

    def _show(self, seen: Seen) -> None:
        self.seen = seen
        self.changed()


def _now() -> datetime:
    return datetime.now().astimezone()
