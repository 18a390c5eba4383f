"""The sentences about many members' files, and about questions that a person has to settle."""

from __future__ import annotations

from apiarybook.checks.entry import Entry
from apiarybook.checks.finding import Weight

HOLD, ASK, NOTE = Weight.HOLD, Weight.ASK, Weight.NOTE

ACROSS_FILES = (
    Entry(
        "weighed-by-two",
        ASK,
        "The colony comes to {gross} here and to {other_gross} in {other}, weighed on the same day by somebody else: "
        "both cannot be right.",
        "Look at both readings, at the scales and at how it was weighed; weigh again if in doubt.",
    ),
    Entry(
        "someone-elses-colony",
        ASK,
        "{value} stands in another member's apiary.",
        "See that the code is right; leave it if the work was done for that member.",
    ),
    Entry(
        "scale-not-lent",
        ASK,
        "By the sheet Scale loans the scale {value} was not with this member on {date}.",
        "See that the code of the scale is right, or mend the sheet Scale loans.",
    ),
    Entry(
        "scale-overdue",
        NOTE,
        "Scale {scale}, lent to {member}, was due back on {value} and is not back on {as_at}.",
        "Ask for it, and write the day it came back.",
    ),
    Entry(
        "copied-down",
        ASK,
        "{value} stands in {rows} rows running, for different colonies.",
        "See that the cell was not filled down by accident; leave it if each was truly read.",
    ),
    Entry(
        "own-hive-type",
        ASK,
        "The hive type {name} is {told}; the club's own figure is used.",
        "Ask the member where the figure comes from, and mend the sheet Hive types if it is better.",
    ),
    Entry(
        "conflict",
        HOLD,
        "Two or more people say different things of this cell: {claims}. It shows what was last agreed.",
        "Say on the sheet Decisions which of them holds.",
    ),
    Entry(
        "absent-row",
        ASK,
        "The newest file of copy {value} no longer has this row; it was kept as it was.",
        "Say on the sheet Decisions: as it stands, or leave out.",
    ),
    Entry(
        "same-row-twice",
        ASK,
        "The row {value} of another person says the same, so both were taken for one.",
        "If it was done twice, say on the sheet Decisions that they are two.",
    ),
    Entry(
        "two-rows-one-mark",
        ASK,
        "Another file of this copy has a row of {value} under the same mark, so one of the two does not count.",
        "Say on the sheet Decisions: as it stands, both, or leave out.",
    ),
    Entry(
        "copied-ref",
        ASK,
        "This row came with the mark {value} of another row, so it was taken for a new one.",
        "See that it is a new row; clear it if it was only copied.",
    ),
    Entry(
        "outcome-before-winter",
        ASK,
        "The colony is said to have wintered by {value}, before its winter starts on {starts}.",
        "See that the date is right, and that the row is not one of another winter.",
    ),
    Entry(
        "two-outcomes",
        ASK,
        "{value} is said here and {other} in {place} of the same colony; the later date counts.",
        "See what became of the colony, and clear the row that is wrong.",
    ),
    Entry(
        "closed-book-changed",
        ASK,
        "The year was closed as at {value}, and what was typed is not any more what it was then.",
        "See what was changed; take the last backup, or run yearend to close the year anew.",
    ),
    Entry(
        "decision-not-understood",
        ASK,
        "{value} under what holds cannot be applied; understood are {understood}, within the column's bounds.",
        "Write one of these.",
    ),
)
"""Part of the catalogue."""
