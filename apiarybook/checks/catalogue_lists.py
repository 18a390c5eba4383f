"""The sentences about feeds and about the lists that rows are looked up in."""

from __future__ import annotations

from apiarybook.checks.entry import Entry
from apiarybook.checks.finding import Weight

HOLD, ASK = Weight.HOLD, Weight.ASK

OF_FEEDS_AND_LISTS = (
    # Feeds
    Entry(
        "mix-without-masses",
        HOLD,
        "The feed was mixed at home, and {heading} is blank, so nobody knows how strong it is.",
        "Type the mass of sugar and the mass of water of the whole mix.",
    ),
    Entry(
        "feed-impossible",
        ASK,
        "{sugar} of sugar in {water} of water makes {solids} % sugar, more than the {most} % that stays dissolved at "
        "{temperature} degrees Celsius.",
        "Look at both masses, and at whether water was measured in litres (1 litre weighs 1 kg).",
    ),
    Entry(
        "more-than-feeder",
        ASK,
        "{volume} at one time is more than {fills} fills of this colony's feeder, {feeder} each.",
        "Look at the amount and its unit; write feeds of several days in several rows.",
    ),
    Entry(
        "more-than-comb",
        ASK,
        "This feed alone would give {stores} of stores, more than the {full} that all combs of this hive hold.",
        "Look at the amount and its unit.",
    ),
    Entry(
        "too-cold-for-liquid",
        ASK,
        "Liquid feed after {last}, the last day for it in this apiary, is hardly taken or dried, and the day's warmest "
        "is {warmest}; it should be at least {least} degrees Celsius.",
        "Write the day's warmest if it was warm enough; from now on lay fondant on top.",
    ),
    Entry(
        "liquid-under-super",
        ASK,
        "By the sheet Moves a super has stood on this hive since {since} when the liquid feed was given, and syrup "
        "would be stored in it.",
        "If none was there, write super off or super under on the sheet Moves; never extract a super fed on.",
    ),
    # Lists
    Entry(
        "want-above-comb",
        ASK,
        "{value} is wanted, and all combs of this hive together hold {full}: it can never be called enough.",
        "Lower the want, or plan one more box, and look at the figures of its frames.",
    ),
    Entry(
        "own-tare-apart",
        ASK,
        "This hive's own tare {value} {unit} lies more than {times} times the usual spread from the {tare} of hive "
        "type {hive_type}.",
        "See that nothing but floor, boxes, drawn comb, cover board and roof was weighed.",
    ),
    Entry(
        "into-itself",
        HOLD,
        "The colony {value} is said to be united into itself.",
        "Type the code of the colony it was united into.",
    ),
    Entry(
        "spring-too-light",
        HOLD,
        "The hive comes to {gross}, less than the {low} that it weighs empty at the least.{perhaps}",
        "Look at the reading and at the hive type; clear the weight if nobody knows.",
    ),
    Entry(
        "spring-too-heavy",
        HOLD,
        "The hive comes to {gross}, more than the {high} that it can weigh with every comb full.{perhaps}",
        "Look at the reading and at the hive type; a hive with supers or stones on belongs on the sheet Weighings, "
        "where they can be named as extras.",
    ),
    Entry(
        "united-back",
        HOLD,
        "By another row {value} is itself united into {colony}, so none of them would be left.",
        "See which of the two stands now, and clear or mend the row that is wrong.",
    ),
)
"""Part of the catalogue."""
