"""A season of a few rows: the invented club of the small books, reckoned without a file or a check."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace
from typing import TYPE_CHECKING

from apiarybook.book.si_frames import si
from apiarybook.reckon.core.winter import serial
from apiarybook.reckon.season import Season, reckon_season
from tests.checks.small import book, side_by_side

if TYPE_CHECKING:
    from collections.abc import Mapping

    from tests.checks.small import Case, Row, Sheets

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
        for name, frame in si(small).items()
    }
    return reckon_season(frames, small.settings, serial(as_at))


def seasons(
    cases: Mapping[Case, Sheets],
    as_at: date = OCTOBER,
    held: Mapping[Case, dict[str, dict[int, str]]] | None = None,
    **shared: list[Row],
) -> dict[Case, SimpleNamespace]:
    """Reckon many small clubs in one book; of each, the frames with a row for each row of a sheet."""
    joined, places = side_by_side(cases)
    reasons: dict[str, dict[int, str]] = {
        sheet: {at: (held or {}).get(name, {}).get(sheet, {}).get(row, "") for at, (name, row) in enumerate(rows, 2)}
        for sheet, rows in places.items()
    }
    found = season(as_at, reasons, **shared, **joined)
    of_sheets = {"Colonies": "standing", "Weighings": "weighings", "Feedings": "feedings", "Scales": "scales"}
    return {
        name: SimpleNamespace(
            **{
                frame: getattr(found, frame)[[one == name for one, _ in places[sheet]]]
                for sheet, frame in of_sheets.items()
                if sheet in places
            }
        )
        for name in cases
    }


def weighed(**cells: object) -> Row:
    """A weighing on a platform in the middle of October, 18 kg of stores, feeder empty; but for what a test gives."""
    usual = {"date": OCTOBER, "colony": "A1", "by": "Ann", "how": "platform", "feed_left": 0.0}
    return usual | {"reading_1": 37.35 if "how" not in cells else None} | cells


def fed(**cells: object) -> Row:
    """Five kilograms of thick syrup in the middle of September, but for what a test gives."""
    return {"date": SEPTEMBER, "colony": "A1", "feed_kind": "Thick", "amount": 5.0, "unit": "kg", **cells}
