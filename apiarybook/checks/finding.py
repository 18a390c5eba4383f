"""What a rule hands back, and what a person is told."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum


class Weight(StrEnum):
    """How much a finding weighs."""

    HOLD = "hold"
    ASK = "ask"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Cause:
    """What may lie behind an odd value: its name in the handbook's causes, the value then meant, and its share.

    Attributes:
        name: of the cause.
        value: what should stand in the cell, as text; empty where it is no single value.
        share: how likely it is beside the others, from 0 to 1.
        cell: where it is to be mended, as sheet, row and key; None where that is not one cell.
    """

    name: str
    value: str = ""
    share: float = 0.0
    cell: tuple[str, int, str] | None = None


@dataclass(frozen=True, slots=True)
class Hit:
    """One thing a rule found, before it is put into words.

    Attributes:
        rule: its name in the catalogue.
        sheet: name of the sheet.
        row: label of the row in the sheet's frame, the number a person sees; None speaks of the sheet as a whole.
        key: key of the column; empty speaks of the row or the sheet.
        told: what the catalogue's sentence is filled with.
        suggestion: a value that may have been meant, never applied.
        likelihood: how likely that is, from 0 to 1, where it can be told.
        beyond: kilograms by which the value lies outside the bound that it broke, where it broke one.
        rests_on: rows, by sheet and label, without any of which the hit means nothing.
        causes: what may lie behind it, the likeliest first.
        also: labels of other rows of the sheet that the same question is about.
    """

    rule: str
    sheet: str
    row: int | None
    key: str
    told: dict[str, object] = field(default_factory=dict)
    suggestion: str = ""
    likelihood: float | None = None
    beyond: float = 0.0
    rests_on: tuple[tuple[str, int], ...] = ()
    causes: tuple[Cause, ...] = ()
    also: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that the checks have to say about one place in one file.

    Attributes:
        rule: name in the catalogue.
        weight: hold, ask or note.
        file: the file's name.
        sheet: the sheet's name as it stands in the file.
        cell: the place, such as F7; empty for what is missing altogether.
        heading: the column's heading as it stands in the file.
        value: the value as typed.
        message: what is wrong, one sentence.
        do: what to do.
        suggestion: what may have been meant, never applied.
        likelihood: how likely that is, from 0 to 1, where it can be told.
        ref: the row's own mark, where it has one.
        column: key of the column in the layout.
        colony: code of the colony that it is about; empty where it is about none.
        keeper: name of the member who keeps it, or code where there is no name.
        day: the row's day, ISO; empty where it has none.
        key: tells the question from others, so that its answer goes on holding; empty where nothing can be answered.
        causes: what may lie behind it, the likeliest first.

    >>> place = ("club.xlsx", "Weighings", "F7", "reading 1")
    >>> told = ("385", "The hive cannot weigh 385 kg.", "Weigh again.")
    >>> Finding("above-comb", Weight.HOLD, *place, *told).sentence
    'club.xlsx, sheet Weighings, cell F7 (reading 1): The hive cannot weigh 385 kg. Weigh again.'
    """

    rule: str
    weight: Weight
    file: str
    sheet: str
    cell: str
    heading: str
    value: str
    message: str
    do: str
    suggestion: str = ""
    likelihood: float | None = None
    ref: str = ""
    column: str = ""
    colony: str = ""
    keeper: str = ""
    day: str = ""
    key: str = ""
    causes: tuple[Cause, ...] = ()

    @property
    def sentence(self) -> str:
        """The whole of it in words: where, what, and what to do."""
        sheet = f", sheet {self.sheet}" if self.sheet else ""
        cell = f", cell {self.cell}" if self.cell else ""
        heading = f" ({self.heading})" if self.heading else ""
        return f"{self.file}{sheet}{cell}{heading}: {self.message} {self.do}"
