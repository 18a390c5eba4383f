"""What the secretary says holds: the sheet Decisions as the fold wants it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Decision:
    """One row of the sheet Decisions.

    Attributes:
        key: tells the question from others.
        holds: the canonical value that the secretary wrote; None while the question is open.
        decided: as-at date of the run that met the answer first, ISO; empty while the question is open.
        sheet, ref, column, question, claims: the rest of the row as it stands, so that an answer whose question has
            gone is not dropped.
    """

    key: str
    holds: object = None
    decided: str = ""
    sheet: str = ""
    ref: str = ""
    column: str = ""
    question: str = ""
    claims: str = ""
