"""How long the checks of a large book take: `python -m pytest -m speed tests/speed/test_checks.py -s` prints it.

Held is the time of the processor; that of reading the file stands beside it.
"""

from __future__ import annotations

import sys
import time
from functools import partial
from statistics import median
from typing import TYPE_CHECKING

import pytest

from apiarybook.book.memory import raw_book
from apiarybook.book.tables import read_book
from apiarybook.checks.loop import check_book
from apiarybook.readers.raw import read_raw
from tests.speed.test_desk import AS_AT, TIMES, club

if TYPE_CHECKING:
    from collections.abc import Callable

pytestmark = pytest.mark.speed
WEIGHINGS = 10_000
BEFORE, AFTER = 2.5, 5.0
"""Seconds of the processor that checking may take before a book was ever reckoned, and after."""


def seconds(work: Callable[[], object]) -> float:
    """Seconds of the processor that something takes, the middle one of three times."""

    def once() -> float:
        begun = time.process_time()
        work()
        return time.process_time() - begun

    return median(once() for _ in range(TIMES))


def test_checking_a_large_book_takes_seconds() -> None:
    data = club(WEIGHINGS)
    read = seconds(partial(read_raw, ("club.xlsx", data)))
    reckoned = read_book(("club.xlsx", data))
    typed = {name: table.typed for name, table in reckoned.tables.items()}
    blank = read_book(raw_book(typed, reckoned.settings, {"book id": "00c0ffee", "copy id": "club26"}))
    before, after = (seconds(partial(check_book, book, AS_AT)) for book in (blank, reckoned))
    said = f"{WEIGHINGS:,} weighings: reading {read:.2f} s, checks before a run {before:.2f}, after it {after:.2f}"
    sys.stderr.write(f"\n{said}\n")
    assert before <= BEFORE
    assert after <= AFTER
