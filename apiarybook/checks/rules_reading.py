"""What is met while a file is read: in its cells, its headings and its sheets."""

from apiarybook.checks.rule import ASK, HOLD, NOTE, declare

declare(
    "bad-code",
    HOLD,
    "{value} cannot be a code: a code starts with a letter, and then has letters, digits, blanks, _ or - only. "
    "Spreadsheets miscount any other.",
    "Give it another code, here and wherever it is used: 7 may become C7.",
)
declare("not-a-number", HOLD, "{value} is not a number.{perhaps}", "Type the number alone, and put words into remarks.")
declare(
    "decimal-comma",
    HOLD,
    "{value} is text, because this spreadsheet wants another decimal sign; it may mean {suggestion}.",
    "Type it again with the decimal sign of your spreadsheet program; a number moves to the right of its cell.",
)
declare(
    "unit-in-cell",
    HOLD,
    "{value} has the unit {written} beside its number, so it cannot be reckoned with.",
    "Type the number alone, in {unit}.{perhaps}",
)
declare(
    "ambiguous-date", HOLD, "{value} may be {first} or {second}.", "Type the date as year-month-day, such as {first}."
)
declare("date-as-text", HOLD, "{value} is text and not a date; it may mean {suggestion}.", "Type {suggestion}.")
declare(
    "date-as-number", HOLD, "{value} is a plain number and not a date; it may mean {suggestion}.", "Type {suggestion}."
)
declare("impossible-date", HOLD, "{value} is no day of the calendar.", "Type the date as year-month-day.")
declare(
    "out-of-bounds",
    HOLD,
    "{value} cannot be: {heading} lies from {bounds}.{perhaps}",
    "Look at your notes and type what was read.",
)
declare(
    "unlikely",
    ASK,
    "{value} is unusual: {heading} mostly lies from {bounds}.",
    "Look at your notes; leave it if it is right.",
)
declare(
    "unknown-word",
    HOLD,
    "{value} is not one of the words this column knows: {choices}.{perhaps}",
    "Choose one of them from the list in the cell.",
)
declare(
    "error-cell",
    HOLD,
    "The cell shows the error {error} instead of a value.",
    "Clear the cell and type the value itself.",
)
declare(
    "formula-in-input",
    HOLD,
    "The cell holds the formula {formula}, and what it shows may change on another computer.",
    "Type the number or word itself.",
)
declare(
    "too-long",
    HOLD,
    "{heading} holds {length} characters, more than the {longest} that a cell of the book takes; only its beginning "
    "was read.",
    "Shorten it; in a csv file look for a quotation mark that is not closed.",
)
declare(
    "renamed-setting",
    HOLD,
    "There is no setting {value}; it may be {wanted}, which now counts as blank.",
    "Write {wanted} before the value if that is what it says.",
)
declare(
    "missing-sheet",
    NOTE,
    "The sheet {wanted} is not in this file.",
    "If you deleted it, copy your rows into a fresh copy of the book; otherwise there is nothing to do.",
)
declare(
    "missing-heading",
    HOLD,
    "The heading {wanted} is missing, and rows cannot be used without what stood under it.",
    "Put the heading {wanted} back over its column.",
)
declare(
    "heading-left-out",
    NOTE,
    "The heading {wanted} is missing, so nothing was read for it.",
    "Put the heading {wanted} back over its column if it was there.",
)
declare(
    "renamed-heading",
    HOLD,
    "The heading {heading} is not known; it may be {wanted}. What stands under it was not read.",
    "Write {wanted} over the column if that is what it holds.",
)
declare(
    "doubled-heading",
    HOLD,
    "The heading {heading} stands over two columns; only the first was read.",
    "Keep one of the two and rename or clear the other.",
)
declare(
    "no-place",
    HOLD,
    "The row holds something only under headings that the book does not know.",
    "Move what it says under the book's own headings, or into remarks.",
)
declare(
    "answer-not-understood",
    ASK,
    "{value} is no answer that the book understands.",
    "Choose yes, looked at from the list if the row is right; otherwise clear the answer and mend the row.",
    may_be_right=False,
)
