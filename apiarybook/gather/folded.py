"""What folding a set of claims gives: rows, and everything that a person still has to say something about."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class Said:
    """One claim that is in conflict with another, as a person is shown it.

    Attributes:
        letter: what the secretary writes to let it hold: A, B ...
        value: the canonical value; None is a cell that was cleared.
        copy: the copy in which it stands.
        file: name of the file, and its SHA-256.
        place: the cell in that file, such as F7.
    """

    letter: str
    value: object
    copy: str
    file: str
    sha256: str
    place: str


@dataclass(frozen=True, slots=True)
class Conflict:
    """Two or more copies say different things of one cell.

    Attributes:
        sheet: layout name.
        ref: the row's ref; on Colonies the colony's code.
        column: key of the column.
        claims: all of them, in the order of their letters.
        key: tells this conflict from others; another claim gives another key.
        agreed: the last agreed value; None where there was none.
        stands: what the cell shows: the last agreed value while it is open, then what was decided.
        holds: what the secretary wrote; None while it is open.
    """

    sheet: str
    ref: str
    column: str
    claims: tuple[Said, ...]
    key: str
    agreed: object = None
    stands: object = None
    holds: object = None


@dataclass(frozen=True, slots=True)
class Ask:
    """A row that is used, but at which someone should look.

    Attributes:
        rule: absent-row, same-row-twice or copied-ref.
        sheet: layout name.
        ref: the row's ref; on Colonies the colony's code.
        value: what the ask is about: the copy that lacks the row, the other ref, the ref that was copied.
        claims: who says so and where.
        key: tells it from others.
        holds: what the secretary wrote; None while it is open.
    """

    rule: str
    sheet: str
    ref: str
    value: str
    claims: tuple[Said, ...]
    key: str
    holds: object = None


@dataclass(frozen=True, slots=True)
class Wrong:
    """An entry under "what holds" that cannot be applied: its key, the entry, and what would be understood."""

    key: str
    holds: object
    understood: str


@dataclass
class Folded:
    """The club's data sheets and what is to be said of them.

    Attributes:
        values: by sheet that people type into and by ref, canonical values, blanks left out; a row that was wholly
            cleared is empty.
        rows: the same as frames of raw values, columns the typed keys of the layout in its order (`ref` too where the
            sheet has it), index `ref` (on Colonies the code), in natural order of the refs, without cleared rows.
        conflicts: decided ones too, in order of sheet, ref and column.
        changes: the sheet Changes, columns as in the layout.
        aliases: by sheet and ref of a row that was found to be another's twin, the ref under which both stand.
        held: by sheet and ref, why a row is not used.
        asks: answered ones too.
        wrong: decisions that could not be applied.
        counts: what became of each file's rows: copy, file, sha256, sheet, rows and new, same, amended, unchanged,
            conflict, superseded, blank and refused, which add up to rows.
    """

    values: dict[str, dict[str, dict[str, object]]]
    rows: dict[str, pd.DataFrame]
    conflicts: list[Conflict]
    changes: pd.DataFrame
    aliases: dict[tuple[str, str], str]
    held: dict[str, dict[str, str]]
    asks: list[Ask]
    wrong: list[Wrong]
    counts: list[dict[str, object]] = field(default_factory=list)
