"""Every sentence that the checks may say, in one place.

`{value}` is the value as typed and `{heading}` the column's heading as it stands in the file; what else stands in
braces is told by the rule. The place is not named here: each finding carries it.
"""

from __future__ import annotations

from apiarybook.checks.catalogue_balance import OVER_TIME
from apiarybook.checks.catalogue_gather import ACROSS_FILES
from apiarybook.checks.catalogue_lists import OF_FEEDS_AND_LISTS
from apiarybook.checks.entry import Entry
from apiarybook.checks.finding import Weight

HOLD, ASK, NOTE = Weight.HOLD, Weight.ASK, Weight.NOTE

_ENTRIES = (
    # What one cell holds
    Entry(
        "missing-value",
        HOLD,
        "{heading} is blank, and the row cannot be used without it.",
        "Fill it in, or clear the whole row.",
    ),
    Entry(
        "missing-code",
        HOLD,
        "{heading} is blank, so nobody can tell what the row belongs to.",
        "Type the code from the sheet {list}, or clear the whole row.",
    ),
    Entry(
        "missing-figure",
        HOLD,
        "{heading} is blank, and weights cannot be worked out without it.",
        "Type the figure, or copy it from a row that is like this one.",
    ),
    Entry(
        "unknown-code",
        HOLD,
        "{value} does not stand on the sheet {list}.{perhaps}",
        "Choose one from the list, or add it on the sheet {list} first.",
    ),
    Entry(
        "unknown-member",
        ASK,
        "{value} does not stand on the sheet {list}.{perhaps}",
        "Choose a member from the list, or add the member on the sheet {list}.",
    ),
    Entry(
        "bad-code",
        HOLD,
        "{value} cannot be a code: a code starts with a letter, and then has letters, digits, blanks, _ or - only. "
        "Spreadsheets miscount any other.",
        "Give it another code, here and wherever it is used: 7 may become C7.",
    ),
    Entry(
        "not-a-number",
        HOLD,
        "{value} is not a number.{perhaps}",
        "Type the number alone, and put words into remarks.",
    ),
    Entry(
        "decimal-comma",
        HOLD,
        "{value} is text, because this spreadsheet wants another decimal sign; it may mean {suggestion}.",
        "Type it again with the decimal sign of your spreadsheet program; a number moves to the right of its cell.",
    ),
    Entry(
        "unit-in-cell",
        HOLD,
        "{value} has the unit {written} beside its number, so it cannot be reckoned with.",
        "Type the number alone, in {unit}.{perhaps}",
    ),
    Entry(
        "ambiguous-date",
        HOLD,
        "{value} may be {first} or {second}.",
        "Type the date as year-month-day, such as {first}.",
    ),
    Entry("date-as-text", HOLD, "{value} is text and not a date; it may mean {suggestion}.", "Type {suggestion}."),
    Entry(
        "date-as-number",
        HOLD,
        "{value} is a plain number and not a date; it may mean {suggestion}.",
        "Type {suggestion}.",
    ),
    Entry("impossible-date", HOLD, "{value} is no day of the calendar.", "Type the date as year-month-day."),
    Entry(
        "out-of-bounds",
        HOLD,
        "{value} cannot be: {heading} lies from {bounds}.",
        "Look at your notes and type what was read.",
    ),
    Entry(
        "unlikely",
        ASK,
        "{value} is unusual: {heading} mostly lies from {bounds}.",
        "Look at your notes; leave it if it is right.",
    ),
    Entry(
        "unknown-word",
        HOLD,
        "{value} is not one of the words this column knows: {choices}.{perhaps}",
        "Choose one of them from the list in the cell.",
    ),
    Entry(
        "error-cell",
        HOLD,
        "The cell shows the error {error} instead of a value.",
        "Clear the cell and type the value itself.",
    ),
    Entry(
        "formula-in-input",
        HOLD,
        "The cell holds the formula {formula}, and what it shows may change on another computer.",
        "Type the number or word itself.",
    ),
    Entry(
        "too-long",
        HOLD,
        "{heading} holds {length} characters, more than the {longest} that a cell of the book takes; only its "
        "beginning was read.",
        "Shorten it; in a csv file look for a quotation mark that is not closed.",
    ),
    # The file as a whole
    Entry(
        "missing-sheet",
        NOTE,
        "The sheet {wanted} is not in this file.",
        "If you deleted it, copy your rows into a fresh copy of the book; otherwise there is nothing to do.",
    ),
    Entry(
        "missing-heading",
        HOLD,
        "The heading {wanted} is missing, and rows cannot be used without what stood under it.",
        "Put the heading {wanted} back over its column.",
    ),
    Entry(
        "heading-left-out",
        NOTE,
        "The heading {wanted} is missing, so nothing was read for it.",
        "Put the heading {wanted} back over its column if it was there.",
    ),
    Entry(
        "renamed-heading",
        HOLD,
        "The heading {heading} is not known; it may be {wanted}. What stands under it was not read.",
        "Write {wanted} over the column if that is what it holds.",
    ),
    Entry(
        "doubled-heading",
        HOLD,
        "The heading {heading} stands over two columns; only the first was read.",
        "Keep one of the two and rename or clear the other.",
    ),
    Entry(
        "no-place",
        HOLD,
        "The row holds something only under headings that the book does not know.",
        "Move what it says under the book's own headings, or into remarks.",
    ),
    # Settings
    Entry(
        "renamed-setting",
        HOLD,
        "There is no setting {value}; it may be {wanted}, which now counts as blank.",
        "Write {wanted} before the value if that is what it says.",
    ),
    Entry(
        "missing-setting",
        ASK,
        "The setting {setting} is blank; it is taken as {taken}.",
        "Fill it in, so that dates and wants are those of your club.",
    ),
    # Days
    Entry(
        "wrong-year",
        HOLD,
        "{value} lies outside winter {winter}, which is taken from {first} to {last}; it may mean {suggestion}.",
        "Correct the year if that is what was meant.",
    ),
    Entry(
        "out-of-season",
        HOLD,
        "{value} lies outside winter {winter}, which is taken from {first} to {last}.",
        "Correct the date, or clear the row if it belongs to another year's book.",
    ),
    Entry(
        "later-than-as-at",
        NOTE,
        "{value} is later than the day this book reckons for, {as_at}, so the row does not count yet.",
        "Nothing, if the date is right; otherwise correct it.",
    ),
    # Codes and rows that stand twice
    Entry(
        "duplicate-code",
        HOLD,
        "{value} stands here and in {other}, so nobody can tell which is meant.",
        "Give each its own code, or clear one of the rows.",
    ),
    Entry(
        "doubled-ref",
        ASK,
        "The row's mark {value} also stands in {other}: a row was probably copied whole.",
        "Clear the mark of the copied row; leave it if the rows are truly one.",
    ),
    Entry(
        "duplicate",
        ASK,
        "This row says the same as {other}.",
        "Clear one of them if it was typed twice; leave both if it was done twice.",
    ),
    # Scales
    Entry(
        "scale-too-small",
        NOTE,
        "The scale carries {capacity}, and a full colony can weigh more than that: a hanging scale should carry "
        "{least} or more.",
        "Never load it beyond what it carries; weigh heavy hives by two sides or with a larger scale.",
    ),
    Entry(
        "scale-slope",
        HOLD,
        "By its checks the scale shows {slope} {unit} for each {unit} that hangs on it, outside {low} to {high}.",
        "See that it is set to {unit} and check it again with known masses; its readings do not count until then.",
    ),
    Entry(
        "scale-not-trusted",
        HOLD,
        "The reading was taken with scale {scale}, which by its checks shows {slope} {unit} for each {unit}.",
        "Check the scale once more, or weigh again with another one.",
    ),
    Entry(
        "scale-unchecked",
        NOTE,
        "Nobody has checked scale {value} this season, so its readings are trusted less.",
        "Hang two known masses on it, near a hive's own, and write them on the sheet Scale checks.",
    ),
    Entry(
        "over-capacity",
        HOLD,
        "{value} {unit} is more than scale {scale} can carry, {capacity}.",
        "Look at the code of the scale and at the reading; do not load a scale beyond what it carries.",
    ),
    Entry(
        "off-division",
        NOTE,
        "{value} {unit} is no step of scale {scale}, which shows steps of {division}.",
        "Nothing, if you took the mean of several readings; otherwise look at the code of the scale.",
    ),
    # Weighings
    Entry(
        "pounds-for-kilograms",
        HOLD,
        "{value} makes a gross of {gross}, but this hive weighs from {low} empty to {high} full; read as {other_unit} "
        "it would be {meant}.",
        "See what the scale is set to, and type the weight in {unit}.",
    ),
    Entry(
        "decimal-slip",
        HOLD,
        "{value} makes a gross of {gross}, but with the decimal point one place on it would be {meant}, which fits "
        "this hive ({low} empty to {high} full).",
        "Look at your notes and type what the scale showed.",
    ),
    Entry(
        "below-tare",
        HOLD,
        "The hive comes to {gross} without what else stood on it, less than the {low} that it weighs empty.{perhaps}",
        "Look at the reading, at how it was weighed and at the hive type; weigh again if in doubt.",
    ),
    Entry(
        "above-comb",
        HOLD,
        "The hive comes to {gross} without what else stood on it, more than the {high} that it can weigh with every "
        "comb full.{perhaps}",
        "Look at the reading and the hive type, and name supers or stones as extras; weigh again if in doubt.",
    ),
    Entry(
        "sides-ratio",
        ASK,
        "One side reads {first} and the other {second}: they differ by more than {ratio} times.{perhaps}",
        "Look at both readings; leave them if the stores truly lie to one side.",
    ),
    Entry(
        "second-reading",
        ASK,
        "The two readings, {first} and {second}, differ by more than {apart} and {share} %.{perhaps}",
        "Read the scale once more; for two sides choose two sides under how.",
    ),
    Entry(
        "snow-on-roof",
        HOLD,
        "There was snow on the roof, and nobody knows what it weighed.",
        "Brush it off and weigh again.",
    ),
    Entry(
        "more-frames-than-hive",
        ASK,
        "{value} frames are more than the {frames} that hive type {hive_type} holds.",
        "Look at the count and at the hive type.",
    ),
    Entry(
        "feeder-not-looked-at",
        ASK,
        "Liquid feed was given on {fed}, within {days} days of this weighing, and nobody wrote what was left in the "
        "feeder; so this colony cannot be called enough.",
        "Type what was left by weight, or 0 if you looked and the feeder was empty.",
    ),
    Entry(
        "before-or-after-feed",
        ASK,
        "The colony was also fed on this day, and the row does not say which came first; the feed is taken as given "
        "before the weighing.",
        "Choose before feed or after feed under occasion.",
    ),
    Entry(
        "old-evidence",
        NOTE,
        "This is the newest weight of {colony}, and it is {age} days old; after {days} days much may have changed.",
        "Weigh the colony again.",
    ),
    Entry(
        "evidence-apart",
        ASK,
        "By this heft {colony} would hold {heft} of stores today, by the {how} of {day} {scale}: they lie more than "
        "{times} times as far apart as both allow. The {used} is used, being the surer one.",
        "Weigh the colony again, and see whether a box, a stone or a feed is missing from the book.",
    ),
    Entry(
        "guess-apart",
        ASK,
        "{by} guessed {guess} and the scale says {gross}: no hand is so far off, so one of them is a slip.{perhaps} "
        "The lift widens what is thought of this hand.",
        "Correct the guess or the reading; clear the guess if nobody remembers it.",
    ),
    Entry(
        "frames-apart",
        ASK,
        "{counted} of stores were counted in the frames of {colony}, and {weighed} weighed the same day: they lie more "
        "than {times} times as far apart as both allow.",
        "Count only whole frames of sealed food and part frames by their share, and look at the reading, the extras "
        "and the hive type.",
    ),
    Entry(
        "super-over-excluder",
        ASK,
        "A queen excluder and a super stand on this hive in winter: when the bees go up to the food, the queen stays "
        "below and starves.",
        "Take the excluder out, or correct the extras.",
    ),
)

CATALOGUE: dict[str, Entry] = {
    entry.name: entry for entry in (*_ENTRIES, *OF_FEEDS_AND_LISTS, *OVER_TIME, *ACROSS_FILES)
}
"""All rules by name."""
