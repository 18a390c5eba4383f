"""The book as it was last saved: read again each time a spreadsheet program saves it, never locked, never written."""

from __future__ import annotations

import hashlib
import threading
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import TYPE_CHECKING

from apiarybook.desk.questions import questions
from apiarybook.errors import ApiarybookError
from apiarybook.readers.raw import open_elsewhere

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from apiarybook.club.reckoned import Reckoned
    from apiarybook.desk.questions import Question

EVERY = 0.3
"""Seconds between two looks at the file's time and size."""
AGAIN = 5
"""Looks after which a file that cannot be read is said to be broken: one that is just being saved is whole by then."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What a book said when it was last read.

    Attributes:
        number: counts the readings.
        read_at: when.
        asked: what is open, and what was answered.
        reckoned: the book reckoned; None for one that cannot be read.
        said: why it cannot be read; empty for one that was.
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
    _end: threading.Event = field(default_factory=threading.Event)

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
            self._failed += 1
            if self._failed >= AGAIN or mark[0] is None:
                self._mark, self._failed = mark, 0
                self._show(Seen(self._next, _now(), said=str(fault)))

    def _take(self, mark: tuple[object, ...]) -> None:
        from apiarybook.gather.on_disk import look_at_file

        last = self.seen.reckoned if self.seen else None
        as_saved = hashlib.sha256(self.path.read_bytes()).hexdigest()
        if last is not None and last.book.sha256 == as_saved and last.content.as_at == self.day():
            self._mark = mark
            return
        reckoned = look_at_file(self.path, self.day())
        self._mark = mark
        before = self.seen.asked if self.seen and self.seen.reckoned else None
        asked = questions(reckoned, before)
        have = {one.mark for one in asked if one.is_open}
        gone = tuple(one for one in before or () if one.is_open and one.mark not in have)
        self._show(Seen(self._next, _now(), asked, reckoned, gone=gone))

    @property
    def _next(self) -> int:
        return self.seen.number + 1 if self.seen else 1

    def _show(self, seen: Seen) -> None:
        self.seen = seen
        self.changed()


def _now() -> datetime:
    return datetime.now().astimezone()
