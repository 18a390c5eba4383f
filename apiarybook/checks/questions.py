"""The sheet Questions: what is to be looked at, in the order of what is at stake, and where the answer is typed."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.checks.finding import Finding, Weight
from apiarybook.layout import BOOK
from apiarybook.reckon.core.arrays import numbers

if TYPE_CHECKING:
    from collections.abc import Iterable

    from apiarybook.reckon.season import Season

COLUMNS = [column.key for column in BOOK["Questions"].columns]
ROW_IS = {Weight.HOLD: "not used", Weight.ASK: "used", Weight.NOTE: "used"}
"""What becomes of the row that a finding is about."""
SETTLED = ("holds", "decided", "applied", "claims")
"""What a row of the sheet keeps from the run before."""
WEIGHTS = list(Weight)


def questions_frame(findings: Iterable[Finding], said: pd.DataFrame | None = None) -> pd.DataFrame:
    """Findings as the sheet Questions lists them, with the answers given so far.

    Args:
        findings: all of them, in the order in which they are to stand.
        said: rows of the sheet whose claims and answers are kept, by their key; those that no finding asks any more
            stand last.

    Returns:
        a frame with the columns of the sheet.

    >>> place = ("club.xlsx", "Weighings", "F7", "reading 1", "99", "Too heavy.", "Look.")
    >>> frame = questions_frame([Finding("above-comb", Weight.HOLD, *place, colony="A1", key="k")])
    >>> frame[["colony", "question", "row_is", "cell"]].values.tolist()
    [['A1', 'Too heavy.', 'not used', 'F7']]
    """
    kept = [] if said is None else said.to_dict("records")
    before = {one["key"]: one for one in kept if one["key"] is not None and one["key"] == one["key"]}
    rows = [_row(finding) for finding in findings]
    for row in rows:
        known = before.pop(row["key"], {})
        row |= {key: known[key] for key in SETTLED if known.get(key) is not None}
        if known.get("claims") is not None:
            row["do"] = known["question"]
    return pd.DataFrame([*rows, *before.values()], columns=COLUMNS, dtype=object).map(_none)


def _none(value: object) -> object:
    return None if value is None or value == "" or value != value else value  # noqa: PLR0124 the test for no figure


def _row(finding: Finding) -> dict[str, object]:
    same = (
        "colony",
        "keeper",
        "do",
        "sheet",
        "cell",
        "value",
        "suggestion",
        "likelihood",
        "rule",
        "ref",
        "file",
        "key",
    )
    told: dict[str, object] = {key: getattr(finding, key) for key in same}
    return told | {
        "question": finding.message,
        "row_is": ROW_IS[finding.weight],
        "column": finding.heading,
        "day": date.fromisoformat(finding.day) if finding.day else None,
    }


def by_stake(findings: Iterable[Finding], season: Season) -> list[Finding]:
    """Findings in the order in which they are best looked at.

    Rows that are not used come first, then what is asked, then what is noted; among these the colonies that lack most,
    all that it wants where a row of it is not used or nothing is known of it; then by keeper and colony.

    Args:
        findings: all of them.
        season: what was reckoned.
    """
    stood = season.known.stood
    codes = [str(one).casefold() for one in stood["colony"]]
    want = np.nan_to_num(numbers(stood["want_today"]))
    lack = np.where(numbers(stood["known"]) == 1, np.nan_to_num(numbers(stood["short_by"])), want)
    wants, lacks = (dict(zip(codes, np.round(one, 1).tolist(), strict=True)) for one in (want, lack))

    def order(finding: Finding) -> tuple[object, ...]:
        stakes = wants if finding.weight is Weight.HOLD else lacks
        stake = max(stakes.get(finding.colony.casefold(), 0.0), 0.0)
        return WEIGHTS.index(finding.weight), -stake, finding.keeper.casefold(), finding.colony.casefold()

    return sorted(findings, key=order)
