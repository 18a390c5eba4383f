"""The closed lists of words that columns offer, in the order in which a drop-down shows them; and how codes look."""

RETURNS_BY = ("file", "paper", "none")
HOME_MIXED = "Home mixed syrup"
"""The feed of the handbook whose strength is known only from its own sugar and water."""
YES_NO = ("yes", "no")
STATES = ("alive", "united", "given away", "sold")
REACHES = ("yes", "fondant only", "never")
STANDS = ("solid", "flush rails", "inset rails", "unknown")
WAYS = ("full lift", "two sides", "one side", "platform", "frames of food counted", "heft")
OCCASIONS = ("routine", "before feed", "after feed", "practice")
HIVE_IS = ("dry", "damp", "soaked", "snow")
HEFT_WORDS = ("light", "about right", "heavy")
AMOUNT_UNITS = (
    "kg",
    "g",
    "l",
    "lb",
    "oz",
    "US gal",
    "US quart",
    "imp gal",
    "imp pint",
    "feeder fill",
    "block",
    "frame of food",
)
FONDANT_LEFT = ("none", "half", "full")
MOVES = (
    "super off",
    "super on",
    "super under",
    "down to single",
    "united into",
    "moved to apiary",
    "new hive type",
    "given away",
)
OUTCOMES = ("wintered", "died", "united", "given away")
SEEN = (
    "no food left",
    "food left but out of reach",
    "queenless or drone layer",
    "dwindled",
    "mice",
    "woodpecker",
    "flood or fallen",
    "stolen",
    "not known",
)
LOOKED_AT = "yes, looked at"
"""The answer to a question about something that is right as it stands."""
COMBS = ("new", "drawn", "old")
MATERIALS = ("wood", "polystyrene")
SCALE_KINDS = ("hanging", "platform")
FEED_FORMS = ("liquid", "solid", "comb", "none")
FIGURE_KINDS = ("published", "common practice", "from memory")
BOOK_UNITS = ("kg", "lb")


CODE_PATTERN = r"[^\W\d_](?:[^\W_]|[ _-])*"
"""A letter first, then letters, digits, blank, _ or -: anything else makes the functions that count by a condition
miscount in every spreadsheet program."""

MARK_PATTERN = rf"(?=[^-]+-){CODE_PATTERN}"
"""A row's mark: the copy in which it was first typed, a hyphen, the letter of its sheet and a number."""
WITH_CHART = "; chart at the right"
"""What the title of Standing says while it has a chart."""
