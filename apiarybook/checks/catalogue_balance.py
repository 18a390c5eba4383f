"""The sentences about what a colony gained or lost between two weighings, and what may lie behind it."""

from __future__ import annotations

from apiarybook.checks.entry import Entry
from apiarybook.checks.finding import Weight
from apiarybook.reckon.balance import causes as readings

ASK, NOTE = Weight.ASK, Weight.NOTE

_CHANGE = (
    "From {day_1} to {day_2} {colony} should have {expected} ({parts}), and it {changed}, so that it weighs {away} "
    "{more} than the book explains; weighing and eating may be out by {allowed}. Perhaps {first}; or {second}."
)
_LOOK = "{look} Leave the row if all is as written."

OVER_TIME = (
    Entry("unexplained-change", ASK, _CHANGE, _LOOK),
    Entry("small-unexplained-change", NOTE, _CHANGE, _LOOK),
    Entry(
        "weighed-after-gone",
        ASK,
        "By the sheet {sheet} {colony} {gone} on {day}, and it was weighed after that.",
        "Look at the code and at both dates. For a hive that was weighed empty or for practice choose practice under "
        "occasion.",
    ),
)

LIKELY = {
    readings.FED: (
        "it was fed and the feed is not written down",
        "Ask who fed it in these days, and write the feed on the sheet Feedings.",
    ),
    readings.LEFT_ON: (
        "a box, a stone or something else was left on that the row does not name",
        "See what stood on the hive on {day_2} and name it as an extra.",
    ),
    readings.FLOW: (
        "a flow of nectar",
        "See whether its neighbours gained as well, and write yes under flow on if they did.",
    ),
    readings.ROBBED: (
        "it was robbed",
        "Look for fighting at the entrance and torn cappings; if so, narrow the entrance and feed in the evening only.",
    ),
    readings.LEAKED: ("feed leaked or was spilt", "Look whether the feeder drips and the ground below is wet."),
    readings.SWARMED: ("it swarmed", "Look for queen cells and how many frames the bees cover."),
    readings.TAKEN_OFF: (
        "a box or something else was taken off, and the book still counts it",
        "See what stands on the hive, and mend the extras or write the change on the sheet Moves.",
    ),
    readings.NOT_GIVEN: (
        "a feed in the book was not given, or not to this colony",
        "Look at its rows between these days on the sheet Feedings, and whether one stands twice.",
    ),
    readings.BEFORE_FEED: (
        "the feed of that day came after the weighing",
        "Choose before feed or after feed under occasion.",
    ),
    readings.HIVE_TYPE: (
        "it stands in another hive type than on the first day, and no row says so",
        "Look at its hive, and write a new hive type on the sheet Moves.",
    ),
    readings.OTHER_COLONY: (
        "the reading is that of {other}",
        "Look at your notes for both colonies, and weigh both again if in doubt.",
    ),
    readings.SLIP: (
        "a slip of the pen, {meant} for {typed}",
        "Look at your notes for the reading of {day_2}.",
    ),
}
"""What each cause is called, and what to look at for it."""
