"""The sheets that formulas look things up in; the package writes them, nobody types there."""

from functools import partial

from apiarybook.handbook import handbook
from apiarybook.layout.model import Group, InCopy, Kind, ReadBack, Sheet
from apiarybook.layout.parts import live, told

PROFILE_DATES = ("winter_starts", "last_liquid_day", "fondant_reaches", "feed_reaches", "flow")
CALENDAR_UNITS = {"eaten": "kg", "bees": "1", "brood": "frames"}
CALENDAR_BLOCKS = tuple(CALENDAR_UNITS)


def profile_key(block: str, profile: str) -> str:
    """The key of a profile's column in one block of the Calendar.

    >>> profile_key("eaten", "british-isles")
    'eaten_british_isles'
    """
    return f"{block}_{profile.replace('-', '_')}"


_table = partial(Sheet, group=Group.MACHINERY, in_copy=InCopy.BEHIND, behind=True)
"""What formulas look up."""
_kept = partial(Sheet, group=Group.MACHINERY, read_back=ReadBack.AS_IT_STANDS, behind=True, hidden_when_empty=True)
"""What a run reads back as it stands."""
WINTER_PROFILES = _table(
    name="Winter profiles",
    row_is="a region's winter, with this winter's dates",
    columns=(
        told("name", Kind.TEXT, width=24),
        told("title", Kind.TEXT, width=40),
        *(told(key, Kind.DATE, width=16) for key in PROFILE_DATES),
        *(
            column
            for block, unit in CALENDAR_UNITS.items()
            for column in live(f"{block}_now", Kind.NUMBER, unit=unit, decimals=4)
        ),
        *live("eaten_by_start", Kind.NUMBER, unit="kg", heading="eaten as winter starts", decimals=4),
        told("source", Kind.TEXT, width=60),
        told("kind", Kind.TEXT, heading="kind of figures", width=18),
    ),
)

WAYS_TO_WEIGH = _table(
    name="Ways to weigh",
    row_is="a way to weigh and how sure it is",
    columns=(
        told("name", Kind.TEXT, width=24),
        told("factor", Kind.NUMBER, unit="1", decimals=3),
        told("factor_u", Kind.NUMBER, heading="factor, give or take", unit="1", decimals=3),
        told("handling_u", Kind.MASS, heading="handling, give or take"),
        told("coarse", Kind.COUNT),
        told("line_fixed", Kind.MASS),
        told("line_relative", Kind.NUMBER, unit="1", decimals=4),
        told("line_least", Kind.MASS),
        told("source", Kind.TEXT, width=60),
        told("kind", Kind.TEXT, heading="kind of figures", width=18),
    ),
)

UNITS = _table(
    name="Units",
    in_book_units=True,
    row_is="a unit in which feed is written down",
    columns=(
        told("name", Kind.TEXT, width=16),
        told("sort", Kind.COUNT, heading="sort of unit"),
        told("factor", Kind.NUMBER, heading="kg or litres in one", unit="kg or l", decimals=6),
    ),
)

SYRUP_TABLE = _table(
    name="Syrup table",
    row_is="a strength of sucrose syrup and its density at 20 degrees Celsius",
    columns=(
        told("solids", Kind.FRACTION),
        told("density", Kind.NUMBER, unit="kg/l", decimals=4),
    ),
)

FIGURES = _table(
    name="Figures",
    in_book_units=True,
    row_is="a figure of the model, with its source",
    columns=(
        told("name", Kind.TEXT, width=30),
        told("value", Kind.NUMBER, unit="as in the next column", decimals=4),
        told("unit", Kind.TEXT),
        told("low", Kind.NUMBER, unit="as in the column unit", decimals=4),
        told("high", Kind.NUMBER, unit="as in the column unit", decimals=4),
        told("kind", Kind.TEXT, heading="kind of figure", width=18),
        told("source", Kind.TEXT, width=80),
    ),
)

CALENDAR = _table(
    name="Calendar",
    row_is="a day from which the winter runs straight to the next: what a reference colony has eaten by then, bees and "
    "brood to expect, and what each adds a day",
    columns=(
        told("date", Kind.DATE, width=12),
        *(
            told(profile_key(key, name), Kind.NUMBER, unit=unit, heading=f"{heading} {name}", decimals=4, width=16)
            for block, unit in CALENDAR_UNITS.items()
            for key, heading in ((block, block), (f"daily_{block}", f"{block}/d"))
            for name in handbook().profiles
        ),
    ),
)

GUIDE = Sheet(
    name="Guide to columns",
    group=Group.MACHINERY,
    behind=True,
    row_is="a column of this book and what belongs there",
    columns=(
        told("sheet", Kind.TEXT, width=16),
        told("heading", Kind.TEXT, width=28),
        told("holds", Kind.TEXT, width=14),
        told("unit", Kind.TEXT, width=12),
        told("filled_by", Kind.TEXT, width=16),
        told("bounds", Kind.TEXT, width=24),
        told("prompt", Kind.TEXT, heading="what belongs there", width=90),
    ),
)

LISTS = _table(
    name="Lists",
    row_is="a word that a drop-down offers",
    columns=(told("list", Kind.TEXT), told("word", Kind.TEXT, width=24)),
)

ABOUT = Sheet(
    name="About",
    in_copy=InCopy.BEHIND,
    group=Group.MACHINERY,
    row_is="what this book is",
    columns=(told("what", Kind.TEXT, width=24), told("is", Kind.TEXT, width=60)),
)

CLAIMS = _kept(
    name="Claims",
    once_handed_out=True,
    row_is="what one copy says of one row",
    columns=(
        told("copy", Kind.CODE),
        told("sheet", Kind.TEXT),
        told("ref", Kind.CODE),
        told("saved", Kind.TEXT),
        told("file", Kind.TEXT),
        told("sha256", Kind.TEXT),
        told("place", Kind.TEXT),
        told("gathered", Kind.TEXT),
        told("part", Kind.COUNT, decimals=0),
        told("row", Kind.TEXT),
    ),
)

AS_CLOSED = _kept(
    name="As closed",
    row_is="a mark of a typed row on the day the year was closed",
    columns=(told("sheet", Kind.TEXT), told("ref", Kind.TEXT, width=20), told("mark", Kind.TEXT)),
)

EARLIER_LIFTS = _kept(
    name="Earlier lifts",
    of_earlier=True,
    row_is="a lift of an earlier winter that was both hefted and weighed",
    columns=(
        told("by", Kind.TEXT, heading="hand", width=20),
        told("winter", Kind.COUNT, heading="winter that began in", decimals=0),
        told("word", Kind.TEXT, heading="word said", width=14),
        told("error", Kind.NUMBER, heading="log of gross over guess", unit="1", decimals=4),
    ),
)

EARLIER_WINTERS = _kept(
    name="Earlier winters",
    of_earlier=True,
    row_is="what a colony of an earlier winter says of its hive type",
    columns=(
        told("hive_type", Kind.TEXT, width=32),
        told("winter", Kind.COUNT, heading="winter that began in", decimals=0),
        told("rate", Kind.NUMBER, heading="eaten over foretold", unit="1", decimals=4),
        told("rate_u", Kind.NUMBER, heading="give or take", unit="1", decimals=4),
        told("starved", Kind.TEXT),
        told("want_then", Kind.NUMBER, heading="want when learning began", unit="kg in every book", decimals=2),
    ),
)

SHEETS = (
    GUIDE,
    WINTER_PROFILES,
    WAYS_TO_WEIGH,
    UNITS,
    SYRUP_TABLE,
    FIGURES,
    CALENDAR,
    LISTS,
    ABOUT,
    CLAIMS,
    AS_CLOSED,
    EARLIER_LIFTS,
    EARLIER_WINTERS,
)
