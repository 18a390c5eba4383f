"""What may lie behind an odd value, in words: the likeliest first, each with the value then meant and its cell."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from apiarybook.checks.finding import Cause
from apiarybook.reckon.balance import causes as events
from apiarybook.reckon.balance import slips

if TYPE_CHECKING:
    from collections.abc import Sequence

TOLD = 2
"""Causes that a sentence names."""
SMALL = 0.05
"""Share of all that was weighed from which a second cause is worth a word (common practice, no source)."""


class Behind(NamedTuple):
    """One cause as a rule knows it.

    Attributes:
        name: of the cause in the handbook.
        share: of all that was weighed.
        value: what should stand in the cell; empty where that is not one value.
        cell: sheet, row and key of the cell at fault; None where that is not one.
        told: what its words need besides: typed, other, way, day, place.
    """

    name: str
    share: float
    value: str = ""
    cell: tuple[str, int, str] | None = None
    told: dict[str, str] = {}  # noqa: RUF012 never changed


def sentence(behind: Sequence[Behind]) -> tuple[str, str]:
    """The likeliest causes in words, and what to look at.

    Args:
        behind: causes, the likeliest first.

    >>> sentence([Behind("swapped digits", 0.8, "38.5", told={"typed": "83.5"}), Behind("robbed", 0.2)])[0]
    'Perhaps two digits were swapped (38.5 for 83.5); or there was robbing.'
    """
    worth = [one for at, one in enumerate(behind[:TOLD]) if at == 0 or one.share >= SMALL]
    if not worth:
        return "", "Look at the reading, the hive type and the extras; weigh again if in doubt."
    said = [WORDS[one.name][0].format(**{"meant": one.value, "place": "", **one.told}) for one in worth]
    look = dict.fromkeys(WORDS[one.name][1].format(**{"meant": one.value, **one.told}) for one in worth)
    return f"Perhaps {'; or '.join(said)}.", " ".join(look)


def as_causes(behind: Sequence[Behind]) -> tuple[Cause, ...]:
    """The same for machines and for the sheet Questions."""
    return tuple(Cause(one.name, one.value, round(one.share, 2), one.cell) for one in behind)


_NOTES = "Look at your notes for the reading; weigh again if in doubt."
WORDS = {
    slips.UNIT: ("the scale was read in the other unit ({meant} for {typed}{place})", "See what the scale is set to."),
    slips.POINT: ("the decimal point went astray ({meant} for {typed}{place})", _NOTES),
    slips.SWAPPED: ("two digits were swapped ({meant} for {typed}{place})", _NOTES),
    slips.DIGIT: ("a digit is wrong or missing ({meant} for {typed}{place})", _NOTES),
    slips.WAY: ("{way}{place}", "See how it was weighed, and choose that under how."),
    slips.LAST: ("the reading{place} is that of the visit before, typed again", _NOTES),
    slips.NAMED: ("an extra is named{place} that was not on the hive", "See what stood on the hive that day."),
    events.AMOUNT: (
        "a feed{place} is written wrongly ({meant} for {typed})",
        "Look at the amount and the unit of that feed.",
    ),
    events.SCALE: (
        "the scale was not set to nought",
        "Hang something of known weight on that scale, and see whether it shows nought with nothing on it.",
    ),
    events.FED: (
        "a feed was given and not written down",
        "Ask who fed in these days, and write the feed on the sheet Feedings.",
    ),
    events.LEFT_ON: (
        "a box, a stone or something else was left on that the row does not name",
        "See what stood on the hive that day and name it as an extra.",
    ),
    events.FLOW: (
        "a flow of nectar",
        "See whether its neighbours gained as well, and write yes under flow on if they did.",
    ),
    events.ROBBED: (
        "there was robbing",
        "Look for fighting at the entrance and torn cappings; if so, narrow the entrance and feed in the evening only.",
    ),
    events.LEAKED: ("feed leaked or was spilt", "Look whether the feeder drips and the ground below is wet."),
    events.SWARMED: ("it swarmed", "Look for queen cells and how many frames the bees cover."),
    events.TAKEN_OFF: (
        "a box or something else was taken off, and the book still counts it",
        "See what stands on the hive, and mend the extras or write the change on the sheet Moves.",
    ),
    events.NOT_GIVEN: (
        "a feed in the book was not given, or not to this colony",
        "Look at its rows between these days on the sheet Feedings, and whether one stands twice.",
    ),
    events.BEFORE_FEED: (
        "the feed of that day came after the weighing",
        "Choose before feed or after feed under occasion.",
    ),
    events.HIVE_TYPE: (
        "a box was added or taken off, so that it is another hive type than the book has",
        "Look at its hive, and write a new hive type on the sheet Moves.",
    ),
    events.OTHER_COLONY: (
        "the reading{place} is that of {other}",
        "Look at your notes for both colonies, and weigh both again if in doubt.",
    ),
}
"""What each cause is called, and what to look at for it."""
WAYS = {
    slips.ONE_SIDE: "the whole hive was lifted, and not one side",
    slips.SIDES: "each of the readings is of the whole hive",
    "two readings": "the two readings are of two sides",
}
"""What other way of weighing may have been meant, by the one that was typed."""
LIFTED_WHOLE = "only one side was lifted, and not the whole hive"


def way(how: str, readings: int) -> str:
    """Another way of weighing in words."""
    if how in WAYS:
        return WAYS[how]
    return WAYS["two readings"] if readings > 1 else LIFTED_WHOLE
