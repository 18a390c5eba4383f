"""Columns that several sheets share, and short ways to declare the computed ones."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Any

from apiarybook.layout.model import Column, Group, Kind, Role, Sheet
from apiarybook.layout.words import LOOKED_AT

REF = Column(
    key="ref",
    kind=Kind.CODE,
    unique=True,
    last=True,
    width=12,
    prompt="The row's own mark. Leave it as it is: it tells your row from all others.",
)
HIDDEN_REF = replace(REF, folded=True)
DATE = Column(
    key="date",
    kind=Kind.DATE,
    required=True,
    width=11,
    prompt="The day, typed as a date (2026-09-05 is understood everywhere).",
)
COLONY = Column(
    key="colony",
    kind=Kind.CODE,
    required=True,
    refers_to="Colonies.colony",
    width=11,
    prompt="The colony's code, from the sheet Colonies.",
    aliases=("hive",),
)
BY = Column(
    key="by",
    kind=Kind.TEXT,
    offers="Members.name",
    width=14,
    aliases=("hand", "weighed by"),
    prompt="Who lifted. Always write the same name: hefting is judged by the hand.",
)
REMARKS = Column(
    key="remarks",
    kind=Kind.TEXT,
    width=30,
    aside=True,
    aliases=("remark",),
    prompt="Anything worth knowing. No doses of medicines: those belong where local law wants them.",
)
TYPED_FOR = Column(
    key="typed_for",
    kind=Kind.CODE,
    refers_to="Members.member",
    folded=True,
    prompt="Only if you typed this row for a member who sent paper or a picture: that member's code.",
)
HELD = Column(key="held", kind=Kind.TEXT, heading="held since the last run", role=Role.VALUE, working=True, width=30)
ROW_FOR = Column(
    key="row_for",
    heading="kept for",
    aliases=("row for",),
    kind=Kind.CODE,
    role=Role.VALUE,
    club_only=True,
    last=True,
    prompt="The member for whom this blank row is kept, so that two people typing at once do not take one row.",
)
ASKED = Column(key="asked", kind=Kind.TEXT, heading="asked since the last run", role=Role.VALUE, working=True, width=30)
BEYOND = Column(key="beyond", kind=Kind.MASS, heading="right, beyond its bound by", role=Role.VALUE, working=True)
IS_IT_RIGHT = Column(
    key="is_it_right",
    heading="is it right?",
    kind=Kind.TEXT,
    choices=(LOOKED_AT,),
    aside=True,
    width=18,
    prompt="If a question was asked about this row and it is right as it stands: yes, looked at. The run adds a mark, "
    "so that values changed later are asked about again.",
)
AS_WRITTEN = Column(
    key="as_written", kind=Kind.COUNT, heading="row and colony at last run", role=Role.VALUE, working=True
)
ROW_BEGINS = (REF, ROW_FOR, DATE)
"""How a row of the season begins."""
ROW_ENDS = (TYPED_FOR, HELD, ASKED)
"""What is known of it besides: for whom it was typed, and what the last run says of it."""
STATUS = Column(key="status", kind=Kind.TEXT, role=Role.LIVE, width=32)


def folded(**declared: Any) -> Column:
    """A typed column that is grouped and closed until somebody opens it."""
    return Column(folded=True, **declared)


def value(key: str, kind: Kind, heading: str = "", **declared: Any) -> Column:
    """A hidden column that the last run fills with values."""
    return Column(key=key, kind=kind, heading=heading, role=Role.VALUE, working=True, **declared)


def ready(column: Column) -> tuple[Column, Column]:
    """A typed column in which something stands ready in blank rows, and the one that remembers what a run put there."""
    beside = f"ready_{column.key}"
    return replace(column, stands_ready=beside), value(beside, Kind.TEXT, f"{column.heading} that stood ready")


def told(key: str, kind: Kind, heading: str = "", **declared: Any) -> Column:
    """A column in view that the last run fills with values."""
    return Column(key=key, kind=kind, heading=heading, role=Role.VALUE, **declared)


def live(keys: str, kind: Kind, **declared: Any) -> tuple[Column, ...]:
    """Columns in view that the book computes by formula, one for each of the given keys."""
    return tuple(Column(key=key, kind=kind, role=Role.LIVE, **declared) for key in keys.split())


def working(keys: str, kind: Kind, **declared: Any) -> tuple[Column, ...]:
    """Hidden columns that the book computes by formula on the way to what it answers."""
    return live(keys, kind, working=True, **declared)


def behind(keys: str, kind: Kind, **declared: Any) -> tuple[Column, ...]:
    """Columns that the book computes by formula, and that a person sees who presses the plus sign."""
    return live(keys, kind, folded=True, **declared)


of_colonies = partial(Sheet, group=Group.TYPE_HERE, of_winter=True, whose="colony", shared=True, frozen="colony")
"""A sheet on which each row says what befell a colony on a day of the winter."""
