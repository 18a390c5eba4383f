"""When a year was closed and opened again: lines on the sheet Changes that every later run keeps."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from apiarybook.layout import BOOK

if TYPE_CHECKING:
    from datetime import date

COLUMNS = [column.key for column in BOOK["Changes"].columns]
OF_THE_BOOK = "About"
"""Sheet that such lines name; no other line does."""


def with_line(changes: pd.DataFrame | None, what: str, as_at: date, why: str) -> pd.DataFrame:
    """Put a line behind the sheet Changes, unless it says the same as the last of its kind.

    Args:
        changes: the sheet; None where the book has none.
        what: closed or reopened.
        as_at: the day.
        why: in words.

    >>> from datetime import date
    >>> lines = with_line(None, "closed", date(2027, 5, 1), "fingerprint 0f")
    >>> len(with_line(lines, "closed", date(2027, 5, 1), "fingerprint 0f")), lines["what"].tolist()
    (1, ['closed'])
    """
    before = pd.DataFrame(columns=COLUMNS, dtype=object) if changes is None else changes.reindex(columns=COLUMNS)
    line = {"as_at": as_at, "what": what, "sheet": OF_THE_BOOK, "why": why}
    told = kept_lines(before).tail(1).to_dict("records")
    if told and (told[0]["what"], told[0]["why"]) == (what, why):
        return before
    return pd.DataFrame([*before.to_dict("records"), line], columns=COLUMNS, dtype=object)


def kept_lines(changes: pd.DataFrame) -> pd.DataFrame:
    """The lines of a sheet Changes that tell of closing and reopening, in their order.

    Args:
        changes: the sheet as it was read.
    """
    whole = changes.reindex(columns=COLUMNS)
    return whole[whole["sheet"] == OF_THE_BOOK]


def joined(folded: pd.DataFrame, changes: pd.DataFrame | None) -> pd.DataFrame:
    """The sheet Changes as the claims give it, and behind it what was kept of closing and reopening."""
    kept = kept_lines(changes) if changes is not None else pd.DataFrame(columns=COLUMNS)
    if kept.empty:
        return folded
    return pd.DataFrame([*folded.to_dict("records"), *kept.to_dict("records")], columns=COLUMNS, dtype=object)
