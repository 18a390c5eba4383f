"""Counts that close: what became of every row of a file, and of the mass that stood in it."""

from __future__ import annotations

from math import fsum
from typing import TYPE_CHECKING

import numpy as np

from apiarybook.layout import BOOK, Group, Kind, Sheet
from apiarybook.reckon.core.arrays import Floats, numbers
from apiarybook.reckon.feeding.feeds import UNITS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    import pandas as pd

    from apiarybook.book.table import Table
    from apiarybook.book.tables import Book
    from apiarybook.checks.context import Mask

Count = dict[str, object]
KILOGRAM_DECIMALS = 6
"""Decimals of a control total in kg."""


def counts(book: Book, frames: Mapping[str, pd.DataFrame], held: Mapping[str, Mapping[int, str]]) -> list[Count]:
    """Count the rows of each sheet: rows = accepted + held + blank + refused.

    Args:
        book: the file as read.
        frames: its sheets in SI, nothing held back.
        held: by sheet and row, why a row is not used.

    Returns:
        a dict a sheet: file, sheet, rows, accepted, held, blank, refused, mass_before and mass_after. The masses are
        the sums in kg of all readable masses typed on the sheet, and of those on accepted rows; None for a sheet
        without masses. Refused are rows whose place could not be understood: all rows of a sheet of ours whose headings
        are gone, and rows that hold something under unknown headings only.
    """
    found = [
        _count(book, table, frames.get(name), held.get(name, {}))
        for name, table in book.tables.items()
        if is_filled_by_people(name)
    ]
    return [*found, *_lost_sheets(book)]


def is_filled_by_people(name: str) -> bool:
    """Whether people fill the rows of a sheet, so that they are counted."""
    return BOOK[name].group in (Group.TYPE_HERE, Group.SETTINGS)


def refused(table: Table) -> Mask:
    """Which rows hold something only under headings that the layout does not know."""
    if table.unknown.empty:
        return np.zeros(len(table.raw), dtype=np.bool_)
    return np.asarray(table.is_blank.to_numpy() & table.unknown.notna().to_numpy().any(axis=1))


def _count(book: Book, table: Table, frame: pd.DataFrame | None, held: Mapping[int, str]) -> Count:
    lost, rows = refused(table), len(table.raw)
    empty = table.is_blank.to_numpy() & ~lost
    kept = table.raw.index.isin(list(held)) & ~empty & ~lost
    accepted = ~(empty | lost | kept)
    before = None if frame is None else mass_total(table.sheet, frame)
    after = None if frame is None else mass_total(table.sheet, frame[accepted])
    return {
        "file": book.name,
        "sheet": table.sheet.name,
        "rows": rows,
        "accepted": int(accepted.sum()),
        "held": int(kept.sum()),
        "blank": int(empty.sum()),
        "refused": int(lost.sum()),
        "mass_before": before,
        "mass_after": after,
    }


def mass_total(sheet: Sheet, frame: pd.DataFrame) -> float | None:
    """Add up all masses that people typed on a sheet of the season: readings, feeds written by mass, food left.

    Args:
        sheet: its declaration.
        frame: its rows, masses in kg; readings that count frames of food are left out.

    Returns:
        the sum in kg, None for a list and for a sheet without masses.

    >>> import pandas as pd
    >>> rows = pd.DataFrame({"spring_gross": [28.0, None], "food_left": [6.5, 1.0]})
    >>> mass_total(BOOK["After winter"], rows)
    35.5
    """
    keys = [column.key for column in sheet.typed if column.kind is Kind.MASS]
    if not keys or sheet.group is not Group.TYPE_HERE:
        return None
    masses = frame[keys].to_numpy(dtype=np.float64)
    if "amount" in frame:
        masses = np.column_stack([masses, _fed(frame)])
    if "how" in frame:
        counted = np.isin(keys, ["reading_1", "reading_2"])
        frames = (frame["how"] == "frames of food counted").to_numpy()
        masses = np.where(np.outer(frames, counted), np.nan, masses)
    return round(fsum(masses[~np.isnan(masses)].tolist()), KILOGRAM_DECIMALS)


def _fed(feedings: pd.DataFrame) -> Floats:
    """Feeds that were written by mass in kg; NaN for the others."""
    units = {name: unit.factor for name, unit in UNITS.items() if unit.stands_for == "kg"}
    return np.asarray(numbers(feedings["amount"]) * numbers(feedings["unit"].map(units)))


def _lost_sheets(book: Book) -> Iterator[Count]:
    ours = {sheet.name.casefold(): sheet.name for sheet in BOOK.sheets}
    for name, raw in book.foreign.items():
        if name.casefold() not in ours:
            continue
        rows = sum(any(cell is not None for cell in row) for row in raw.rows)
        none = dict.fromkeys(("accepted", "held", "blank"), 0)
        known = {"file": book.name, "sheet": ours[name.casefold()], "rows": rows}
        yield {**known, **none, "refused": rows, "mass_before": None, "mass_after": None}
