"""A season of a few rows: the invented club of the small books, reckoned without a file or a check."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from apiarybook.book.si_frames import si
from apiarybook.reckon.core.winter import serial
from apiarybook.reckon.season import Season, reckon_season
from tests.checks.small import book

if TYPE_CHECKING:
    from tests.checks.small import Row

SEPTEMBER = date(2026, 9, 15)
"""Middle of a month, so that the winter profile's figures stand as printed: bees 1.1, four frames of brood."""
OCTOBER = date(2026, 10, 15)
"""Bees 1.0, 0.7 frames of brood."""
FRAME_OF_BROOD = 2 * 6.94 * 0.6 * 0.06
NOT_STORES = {SEPTEMBER: 16.0 + 2.2 + 4.0 * FRAME_OF_BROOD + 1.0, OCTOBER: 16.0 + 2.0 + 0.7 * FRAME_OF_BROOD + 1.0}
"""Hive, bees, brood and pollen of the small hive [kg]."""


def season(as_at: date = OCTOBER, held: dict[str, dict[int, str]] | None = None, **rows: list[Row]) -> Season:
    """Reckon a small book; `held` gives reasons by sheet and row, the first row is 2."""
    small = book(**rows)
    reasons = held or {}
    frames = {
        name: frame.assign(held=[reasons.get(name, {}).get(int(row), "") for row in frame.index])
        for name, frame in si(small, {}).items()
    }
    return reckon_season(frames, small.settings, serial(as_at))


def weighed(**cells: object) -> Row:
    """A weighing on a platform in the middle of October, 18 kg of stores, feeder empty; but for what a test gives."""
    usual = {"date": OCTOBER, "colony": "A1", "by": "Ann", "how": "platform", "feed_left": 0.0}
    return usual | {"reading_1": 37.35 if "how" not in cells else None} | cells


def fed(**cells: object) -> Row:
    """Five kilograms of thick syrup in the middle of September, but for what a test gives."""
    return {"date": SEPTEMBER, "colony": "A1", "feed_kind": "Thick", "amount": 5.0, "unit": "kg", **cells}
