"""The sheets that the book fills: formulas where members read them, values of the last run elsewhere."""

from typing import Any

from apiarybook.handbook.half_months import HALF_MONTHS, half_month
from apiarybook.layout.model import Column, Group, InCopy, Kind, ReadBack, Role, Sheet
from apiarybook.layout.parts import behind, live, told, value, working

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def _half_month(
    what: str,
    month: int,
    day: int,
    *,
    text: str = "",
    role: Role = Role.VALUE,
    **declared: Any,
) -> Column:
    """A column of stores on one day of the winter; its unit stands above, so that headings and charts stay short."""
    return Column(
        key=half_month(what, month, day),
        kind=Kind.NUMBER,
        unit="kg",
        heading=f"{day} {MONTHS[month - 1]}{text}",
        role=role,
        width=12 if declared else 7,
        **declared,
        decimals=1,
    )


STANDING = Sheet(
    name="Standing",
    aligned="Colonies",
    frozen="colony",
    says="How each colony stands today; chart below. Enough is about food only: not queen, health or mites.",
    group=Group.READ_HERE,
    row_is="a colony and how it stands today",
    heading_row=4,
    columns=(
        *live("colony", Kind.CODE, width=13),
        *live("apiary keeper", Kind.CODE, width=10, club_only=True),
        *live("verdict", Kind.TEXT, width=18),
        *live("feed_mass", Kind.MASS, heading="give", decimals=1, width=8),
        *live("feed_volume", Kind.VOLUME, heading="that is", decimals=1, width=9),
        *live("fills", Kind.COUNT, heading="in fills", decimals=0, width=7),
        *live("feed_kind", Kind.TEXT, heading="of", width=17),
        *live("by_date", Kind.DATE, heading="by"),
        *live("should_weigh", Kind.MASS, decimals=1, width=9),
        *live("should_on", Kind.DATE, heading="on"),
        *live("chance_out", Kind.FRACTION, heading="chance of running out", percent=True, width=9),
        *live("because", Kind.TEXT, width=35),
        *behind("short_by", Kind.MASS, decimals=1),
        *behind("chance_short", Kind.FRACTION, heading="chance of a kilo short"),
        *behind("sugar water", Kind.MASS, decimals=1),
        *behind("days", Kind.NUMBER, unit="d", heading="days to take it", decimals=0),
        *behind("stays_short", Kind.MASS, decimals=1),
        *behind("weighed_on", Kind.DATE),
        *behind("hefted_on", Kind.DATE, heading="hefted since on"),
        *behind("how", Kind.TEXT, width=30),
        *behind("gross gross_u tare extras feeder_left bees brood pollen unripe_water", Kind.MASS),
        *behind("stores", Kind.MASS, heading="stores that day"),
        *behind("fed_since eaten_since stores_today", Kind.MASS),
        *behind("stores_u", Kind.MASS, heading="stores, give or take"),
        *behind("want_today least", Kind.MASS),
        *behind("lasts_to", Kind.DATE, heading="above its reserve until"),
        *behind("fondant_by", Kind.DATE),
        *working("active place_row profile_row profile_before type_row ready phase", Kind.COUNT),
        *working("here_since", Kind.DATE, heading="in this apiary since"),
        *working("winter_starts last_liquid_day reach flow", Kind.DATE),
        *working("size own_rate own_spread appetite", Kind.NUMBER, unit="1", decimals=4),
        *working("takes opens", Kind.COUNT),
        *working("changed_on", Kind.DATE, heading="evidence counts from"),
        *working("rank_scale rank_heft evidence_row evidence_day evidence_occasion", Kind.COUNT),
        *working("way", Kind.TEXT, heading="way of the weighing"),
        *working("round heft_row heft_day heft_occasion heft_counts apart", Kind.COUNT),
        *working("heft_unripe heft_fed heft_eaten scale_today heft_today", Kind.MASS),
        *working("shared_u own_u heft_u carried_u", Kind.MASS),
        *working("aged", Kind.MASS, heading="eaten since its evidence"),
        *working("still_u", Kind.MASS, heading="give or take but for that"),
        *working("heft_share", Kind.FRACTION),
        *working("strength", Kind.NUMBER, unit="1", decimals=4),
        *working("water_share", Kind.FRACTION),
        *working("evidence_type hand_known untried unlooked coarse known", Kind.COUNT),
        *working("bees_share", Kind.NUMBER, unit="1", decimals=4),
        *working("left_stores", Kind.MASS, heading="stores from feed left"),
        *working("comb", Kind.MASS, heading="combs full as winter starts"),
        *working("asked", Kind.TEXT, heading="asked about its evidence"),
        *working("floor room chance_u may_eat", Kind.MASS),
        *working("feed_row liquid", Kind.COUNT),
        *working("tare_now bees_now portion_mass portion", Kind.MASS),
        *working("litres_a_day", Kind.NUMBER, unit="l/d", heading="feed taken in a day"),
        *working("liquid_until ripe_on", Kind.DATE),
        *working("can_take most", Kind.MASS),
        *working("feed_full feed_stores unripe_now order_stores order_mass", Kind.MASS),
        *working("feeder_litres", Kind.VOLUME),
        *working("forecast", Kind.MASS, heading="feed foretold in summer"),
        *working("given change", Kind.MASS),
        *working("laid_on", Kind.MASS, heading="fondant to have ready"),
    ),
)

FEED_ORDER = Sheet(
    name="Feed order",
    months=(*range(7, 15),),
    aligned="Apiaries",
    says="Feed by apiary, of members who order through the club: in summer the forecast, later the change.",
    group=Group.READ_HERE,
    row_is="an apiary and the feed its colonies still need",
    heading_row=5,
    columns=(
        *live("apiary member", Kind.CODE, width=13),
        *live("colonies", Kind.COUNT, heading="colonies to feed", decimals=0),
        *live("forecast", Kind.MASS, heading="forecast before weighing", decimals=1),
        *live(
            "forecast_packs",
            Kind.NUMBER,
            unit="1",
            heading="forecast in packs",
            aliases=("forecast in packs of sugar", "forecast in packs of syrup"),
            decimals=1,
        ),
        *live("change", Kind.MASS, heading="change after weighing", decimals=1),
        told(
            "to_be_sure",
            Kind.MASS,
            heading="to be sure, add",
            decimals=1,
            prompt="So much on top of forecast and change, and the autumn's feed suffices as often as Settings asks.",
        ),
        *live("liquid", Kind.MASS, heading="still due: liquid feed", decimals=1),
        *live(
            "liquid_packs",
            Kind.NUMBER,
            unit="1",
            heading="still due: packs",
            aliases=("still due: packs of sugar", "still due: packs of syrup"),
            decimals=1,
        ),
        *live("solid", Kind.MASS, heading="still due: fondant", decimals=1),
        *live("solid_packs", Kind.NUMBER, unit="1", heading="still due: packs of fondant", decimals=1),
    ),
)

HEFTING = Sheet(
    name="Hefting",
    months=(9, 10, 11, 12, 13),
    in_copy=InCopy.BEHIND,
    read_back=ReadBack.ROWS,
    group=Group.READ_HERE,
    row_is="a hand and what its hefting is worth",
    columns=(
        told("by", Kind.TEXT, heading="hand", width=20),
        told("pairs", Kind.COUNT, heading="lifts also weighed"),
        told(
            "bias",
            Kind.FRACTION,
            heading="guesses high (+) or low (-)",
            aliases=("reads too heavy by",),
            percent=True,
            prompt="By how much the hand guesses too high (or, below nought, too low), as the book takes it.",
        ),
        told("spread", Kind.FRACTION, heading="give or take", percent=True),
        told(
            "within",
            Kind.MASS,
            heading="nine in ten within",
            decimals=1,
            prompt="So close to the truth lie nine in ten of its guesses, bias taken off, on a hive of so much.",
        ),
        told("hive_of", Kind.MASS, heading="on a hive of", decimals=0),
        told(
            "lifts_needed",
            Kind.COUNT,
            heading="lifts still needed",
            prompt="So many more lifts are to be weighed until nine in ten are within the next column; blank: more "
            "lifts would not do it.",
        ),
        told("wish", Kind.MASS, heading="to be within", decimals=1),
        told("says", Kind.TEXT, heading="so", width=40),
        value("guesses", Kind.COUNT, heading="of these, guesses"),
        value(
            "bias_u",
            Kind.FRACTION,
            heading="high or low, give or take",
            aliases=("reads too heavy, give or take",),
            percent=True,
        ),
        value("factor", Kind.NUMBER, heading="true weight per guess", unit="1", decimals=3),
        *(
            value(f"{word}_{what}", Kind.NUMBER, heading=f"{title}, {text}", unit="1", decimals=3)
            for word, title in (("light", "light"), ("right", "about right"), ("heavy", "heavy"))
            for what, text in (("factor", "per target"), ("spread", "give or take"))
        ),
    ),
)

LIFTS = Sheet(
    name="Hefted and weighed",
    behind=True,
    group=Group.READ_HERE,
    row_is="a lift that was both hefted and weighed",
    hidden_when_empty=True,
    columns=(
        told("by", Kind.TEXT, heading="hand", width=20),
        told("day", Kind.DATE, heading="date"),
        told("colony", Kind.CODE),
        told("word", Kind.TEXT, heading="word said", width=14),
        told("judged", Kind.MASS, heading="guess, or target of the word", decimals=1),
        told("gross", Kind.MASS, heading="gross by scale", decimals=1),
        told("off", Kind.FRACTION, heading="too high by", percent=True),
        told("practice", Kind.TEXT, width=12),
    ),
)

WORTH_WEIGHING = Sheet(
    name="Worth weighing",
    behind=True,
    group=Group.READ_HERE,
    row_is="a colony whose weighing would most change what is done",
    hidden_when_empty=True,
    columns=(
        told("apiary", Kind.CODE),
        told("colony", Kind.CODE),
        told("verdict", Kind.TEXT, width=24),
        told("how", Kind.TEXT, heading="last evidence", width=30),
        told("last_on", Kind.DATE, heading="of"),
        told(
            "order",
            Kind.COUNT,
            heading="weigh in this order",
            decimals=0,
            prompt="1 is the most pressing. If only a few can be weighed, take these.",
        ),
        told("short_by", Kind.MASS, decimals=1),
        told("stores_u", Kind.MASS, heading="stores, give or take", decimals=1),
        told(
            "chance_below",
            Kind.FRACTION,
            heading="chance of too little",
            percent=True,
            prompt="Chance that it holds less than its least, the club's other colonies seen with it.",
        ),
        told(
            "feed_hanging",
            Kind.MASS,
            heading="feed that hangs on it",
            decimals=1,
            prompt="So much more or less feed, on average, after a full lift; blank: nothing is known of it yet.",
        ),
    ),
)

TILL_THE_FLOW = Sheet(
    name="Till the flow",
    months=(10, 11, 12, 13, 14, 15, 16, 17),
    aligned="Colonies",
    says="Stores in {unit} by half-month if nothing more is fed; + opens the 80 % band, charts stand below. {winter}",
    group=Group.READ_HERE,
    row_is="a colony's stores by half-month until the flow",
    heading_row=4,
    columns=(
        *live("colony apiary", Kind.CODE, width=13),
        *live("lasts_to", Kind.DATE, heading="above its reserve until"),
        *live("median_out", Kind.DATE, heading="as likely as not until"),
        *live("heft_next", Kind.DATE, heading="heft next"),
        *live("fondant_by", Kind.DATE, heading="fondant on by"),
        *(_half_month("median", *day, role=Role.LIVE) for day in HALF_MONTHS),
        *working("start", Kind.MASS, heading="stores and all eaten before"),
        *working("eats", Kind.NUMBER, unit="1", heading="eats, of the reference", decimals=4),
        *(_half_month("low", *day, text=", one in ten less", folded=True) for day in HALF_MONTHS),
        *(_half_month("high", *day, text=", one in ten more", folded=True) for day in HALF_MONTHS),
    ),
)

BY_APIARY = Sheet(
    name="Apiaries till the flow",
    behind=True,
    says="The usual colony of an apiary in {unit}, by half-month; whiskers are its 80 % band, diamonds its lightest "
    "colony. The first {most} apiaries are shown.",
    group=Group.READ_HERE,
    row_is="an apiary's usual colony by half-month until the flow, with a chart each",
    heading_row=4,
    hidden_when_empty=True,
    columns=(
        told("apiary", Kind.CODE),
        told("colonies", Kind.COUNT, decimals=0),
        *(_half_month("mean", *day, role=Role.LIVE) for day in HALF_MONTHS),
        value("place", Kind.COUNT, heading="row on Apiaries"),
        *(_half_month("below", *day, text=", down to", working=True) for day in HALF_MONTHS),
        *(_half_month("above", *day, text=", up to", working=True) for day in HALF_MONTHS),
        *(_half_month("lightest", *day, text=", lightest colony", working=True) for day in HALF_MONTHS),
    ),
)

ROUND_LIST = Sheet(
    name="Round list",
    months=(11, 12, 13, 14, 15),
    group=Group.READ_HERE,
    row_is="the next visit to an apiary",
    hidden_when_empty=True,
    columns=(
        told("visit_on", Kind.DATE, heading="visit by"),
        told("apiary", Kind.CODE),
        told("member", Kind.CODE),
        told("heft", Kind.TEXT, heading="colonies to heft", width=60),
        told("fondant", Kind.TEXT, heading="carry fondant to", width=44),
        told("blocks", Kind.COUNT, heading="blocks of fondant", decimals=0),
        told("fondant_mass", Kind.MASS, heading="fondant", decimals=1),
    ),
)

QUESTIONS = Sheet(
    name="Questions",
    former=("Decisions", "Findings"),
    once_handed_out=True,
    read_back=ReadBack.ROWS,
    group=Group.READ_HERE,
    row_is="one thing to look at, and the answer",
    frozen="colony",
    hidden_when_empty=True,
    columns=(
        told("colony", Kind.CODE),
        told("keeper", Kind.TEXT, width=16),
        told("question", Kind.TEXT, heading="what is wrong", aliases=("question",), width=60),
        told("do", Kind.TEXT, heading="what to do", width=44),
        Column(
            key="holds",
            heading="answer",
            aliases=("what holds",),
            kind=Kind.TEXT,
            width=22,
            prompt="yes, looked at, if it is right as it stands. Of claims: a letter, as it stands, leave out, or "
            "a value. Blank stays open. Or mend the row itself.",
        ),
        told("row_is", Kind.TEXT, heading="so its row is", width=12),
        told("sheet", Kind.TEXT, width=16),
        told("cell", Kind.TEXT),
        value("column", Kind.TEXT, width=20),
        value("day", Kind.DATE),
        value("value", Kind.TEXT, heading="as typed", width=18),
        value("suggestion", Kind.TEXT, heading="perhaps", width=16),
        value("likelihood", Kind.FRACTION, heading="how likely"),
        value("claims", Kind.TEXT, heading="who says what", aliases=("claims",), width=60),
        value("rule", Kind.TEXT, width=24),
        value("ref", Kind.CODE, width=26),
        value("file", Kind.TEXT),
        value("decided", Kind.DATE, heading="answered by", aliases=("decided by",)),
        value("applied", Kind.TEXT, heading="held at the last run"),
        value("key", Kind.TEXT),
    ),
)

RETURNS = Sheet(
    name="Returns",
    once_handed_out=True,
    read_back=ReadBack.AS_IT_STANDS,
    group=Group.READ_HERE,
    row_is="a member copy and what became of it",
    hidden_when_empty=True,
    columns=(
        told("member", Kind.CODE),
        told("copy", Kind.CODE),
        told("handed_out", Kind.DATE),
        told("file", Kind.TEXT, width=30),
        told("saved", Kind.TEXT, width=20),
        told("state", Kind.TEXT, width=16),
        told("rows", Kind.COUNT, decimals=0),
        value("sha256", Kind.TEXT),
    ),
)

CHANGES = Sheet(
    name="Changes",
    behind=True,
    read_back=ReadBack.AS_IT_STANDS,
    group=Group.READ_HERE,
    row_is="one thing that was gathered, amended, withdrawn or decided",
    hidden_when_empty=True,
    columns=(
        told("as_at", Kind.DATE, width=12),
        told("what", Kind.TEXT, width=16),
        told("sheet", Kind.TEXT, width=16),
        told("ref", Kind.CODE, width=14),
        told("column", Kind.TEXT, width=20),
        told("was", Kind.TEXT, width=24),
        told("came", Kind.TEXT, width=24),
        told("why", Kind.TEXT, width=50),
        told("file", Kind.TEXT, width=30),
        told("place", Kind.TEXT, width=20),
        value("sha256", Kind.TEXT),
    ),
)

YEAR = Sheet(
    name="Year",
    months=tuple(range(17, 25)),
    read_back=ReadBack.AS_IT_STANDS,
    group=Group.READ_HERE,
    row_is="one figure of the closed year",
    hidden_when_empty=True,
    grouped_by="about",
    columns=(
        told("about", Kind.TEXT, width=40),
        told("group", Kind.TEXT, width=30),
        told("value", Kind.NUMBER, unit="as in the next column", decimals=1),
        told("unit", Kind.TEXT),
        told("low", Kind.NUMBER, unit="as in the column unit", decimals=1),
        told("high", Kind.NUMBER, unit="as in the column unit", decimals=1),
        told("colonies", Kind.COUNT, decimals=0),
        told("says", Kind.TEXT, width=60),
    ),
)

SHEETS = (
    STANDING,
    FEED_ORDER,
    HEFTING,
    LIFTS,
    WORTH_WEIGHING,
    TILL_THE_FLOW,
    BY_APIARY,
    ROUND_LIST,
    QUESTIONS,
    RETURNS,
    CHANGES,
    YEAR,
)
