"""The sheets that the book fills: formulas where members read them, values of the last run elsewhere."""

from dataclasses import replace
from typing import Any

from apiarybook.handbook.figures import SHORT_MONTHS
from apiarybook.handbook.half_months import HALF_MONTHS, half_month
from apiarybook.layout.model import Column, Group, InCopy, Kind, ReadBack, Role, Sheet
from apiarybook.layout.parts import behind, live, told, value, working
from apiarybook.layout.type_here import SUMMED


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
        heading=f"{day} {SHORT_MONTHS[month - 1]}{text}",
        role=role,
        width=12 if declared else 7,
        **declared,
        decimals=1,
    )


DAY_WIDTH = 9
"""Digits of a column of days of the one winter, shown without their year."""
BESIDE_DAYS = 10.5
"""The same under a heading of longer words: still less than a day with its year is given (`ROOM_FOR_YEAR`)."""

WITH_CHART = "; chart at the right"
"""What is said of Standing while it has a chart."""
STANDING = Sheet(
    name="Standing",
    aligned="Colonies",
    frozen="colony",
    says=f"How each colony stands today{WITH_CHART}. Enough is about food only: not queen, health or mites.",
    group=Group.READ_HERE,
    row_is="a colony and how it stands today",
    heading_row=4,
    columns=(
        *live("colony", Kind.CODE, width=12),
        *live("apiary", Kind.CODE, width=9, club_only=True),
        *live("keeper", Kind.CODE, width=8, club_only=True),
        *live("verdict", Kind.TEXT, width=18),
        *live("feed_mass", Kind.MASS, heading="give", decimals=1, width=7),
        *live("poured", Kind.TEXT, unit="l", heading="that is", width=10),
        *live("feed_kind", Kind.TEXT, heading="of", width=18),
        *live("by_date", Kind.DATE, heading="by", width=7),
        *live("should_weigh", Kind.MASS, decimals=1, width=9),
        *live("should_on", Kind.DATE, heading="on", width=7),
        *live("chance_out", Kind.FRACTION, heading="chance of running out", percent=True, width=9),
        *live("because", Kind.TEXT, width=39),
        *behind("feed_volume", Kind.VOLUME, heading="give, by volume", decimals=1),
        *behind("fills", Kind.COUNT, decimals=0),
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
        *working("eaten_by_start", Kind.NUMBER, unit="kg"),
        *working("size own_rate own_spread appetite", Kind.NUMBER, unit="1", decimals=4),
        *working("takes", Kind.COUNT),
        *working("changed_on", Kind.DATE, heading="evidence counts from"),
        *working("here", Kind.COUNT, heading="rows as at the last run"),
        *working(" ".join(f"all_{key}" for key in SUMMED), Kind.MASS),
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
        *working("order_fills", Kind.COUNT),
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
        *live("colonies", Kind.COUNT, heading="colonies to feed", decimals=0, no_nought=True),
        *live("forecast", Kind.MASS, heading="forecast before weighing", decimals=1, no_nought=True),
        *live(
            "forecast_packs",
            Kind.NUMBER,
            unit="1",
            heading="forecast in packs",
            aliases=("forecast in packs of sugar", "forecast in packs of syrup"),
            decimals=1,
            no_nought=True,
            width=13,
        ),
        *live("change", Kind.MASS, heading="change after weighing", decimals=1, no_nought=True),
        told(
            "to_be_sure",
            Kind.MASS,
            heading="to be sure, add",
            decimals=1,
            no_nought=True,
            prompt="So much on top of forecast and change, and the autumn's feed suffices as often as Settings asks. "
            "All together need less than the sum: they hardly fall short all at once.",
        ),
        *live("liquid", Kind.MASS, heading="still due: liquid feed", decimals=1, no_nought=True),
        *live("liquid_volume", Kind.VOLUME, heading="that is", decimals=0, width=8, no_nought=True),
        *live("liquid_fills", Kind.COUNT, heading="in fills", decimals=0, width=8, no_nought=True),
        *live(
            "liquid_packs",
            Kind.NUMBER,
            unit="1",
            heading="still due: packs",
            aliases=("still due: packs of sugar", "still due: packs of syrup"),
            decimals=1,
            no_nought=True,
            width=13,
        ),
        *live("solid", Kind.MASS, heading="still due: fondant", decimals=1, no_nought=True),
        *live("solid_packs", Kind.NUMBER, unit="1", heading="still due: packs of fondant", decimals=1, no_nought=True),
    ),
)

HEFTING = Sheet(
    name="Hefting",
    former=("Hefted and weighed", "Worth weighing"),
    months=(9, 10, 11, 12, 13),
    in_copy=InCopy.BEHIND,
    read_back=ReadBack.ROWS,
    says="Left: what each hand's hefting is worth. Right: which colonies to weigh next, the most pressing first.",
    group=Group.READ_HERE,
    row_is="a hand and what its hefting is worth; beside them, in rows of their own, the colonies to weigh next",
    side_by_side=True,
    heading_row=4,
    columns=(
        told("by", Kind.TEXT, heading="hand", width=18),
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
        told("says", Kind.TEXT, heading="so", width=34),
        *(
            replace(one, club_only=True)
            for one in (
                told(
                    "next_order",
                    Kind.COUNT,
                    heading="weigh next",
                    decimals=0,
                    prompt="1 is the most pressing. If only a few can be weighed, take these first.",
                ),
                told("next_colony", Kind.CODE, heading="colony to weigh", width=11),
                told("next_apiary", Kind.CODE, heading="in apiary", width=11),
                told("next_verdict", Kind.TEXT, heading="its verdict", width=15),
                told(
                    "next_chance_below",
                    Kind.FRACTION,
                    heading="chance of too little",
                    percent=True,
                    prompt="Chance that it holds less than its least, the club's other colonies seen with it.",
                ),
                told(
                    "next_feed_hanging",
                    Kind.MASS,
                    heading="feed that hangs on it",
                    decimals=1,
                    prompt="So much more or less feed, on average, after a full lift; blank: nothing is known yet.",
                ),
                value("lift_by", Kind.TEXT, heading="hand that lifted"),
                value("lift_day", Kind.DATE, heading="day of the lift"),
                value("lift_colony", Kind.CODE, heading="colony lifted"),
                value("lift_word", Kind.TEXT, heading="word said"),
                value("lift_judged", Kind.MASS, heading="guess, or target of the word"),
                value("lift_gross", Kind.MASS, heading="gross by scale"),
                value("lift_off", Kind.FRACTION, heading="too high by"),
                value("lift_practice", Kind.TEXT, heading="practice"),
            )
        ),
        value("hive_of", Kind.MASS, heading="on a hive of"),
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

TILL_THE_FLOW = Sheet(
    name="Till the flow",
    former=("Apiaries till the flow", "Round list"),
    months=(10, 11, 12, 13, 14, 15, 16, 17),
    aligned="Colonies",
    frozen="colony",
    says="Stores in {unit} by half-month if nothing more is fed; + opens the 80 % band, charts stand below.\n{winter}",
    group=Group.READ_HERE,
    row_is="a colony, the next visit to it, and its stores by half-month until the flow",
    heading_row=5,
    columns=(
        *live("colony", Kind.CODE, width=13),
        *live("apiary", Kind.CODE, width=10),
        told(
            "visit_on",
            Kind.DATE,
            heading="visit by",
            width=DAY_WIDTH,
            prompt="Of all colonies in one apiary the same day, as the last run planned it; filter by it for a round.",
        ),
        told("visit_for", Kind.TEXT, heading="to do there", width=14),
        told("visit_fondant", Kind.MASS, heading="fondant to take along", decimals=1),
        *live("heft_next", Kind.DATE, heading="heft next", width=DAY_WIDTH),
        *live("fondant_by", Kind.DATE, heading="fondant on by", width=BESIDE_DAYS),
        *live("lasts_to", Kind.DATE, heading="above its reserve until", width=BESIDE_DAYS),
        *live("median_out", Kind.DATE, heading="as likely as not until", width=BESIDE_DAYS),
        *(_half_month("median", *day, role=Role.LIVE) for day in HALF_MONTHS),
        *working("start", Kind.MASS, heading="stores and all eaten before"),
        *working("eats", Kind.NUMBER, unit="1", heading="eats, of the reference", decimals=4),
        *(_half_month("low", *day, text=", one in ten less", folded=True) for day in HALF_MONTHS),
        *(_half_month("high", *day, text=", one in ten more", folded=True) for day in HALF_MONTHS),
        value("of_apiary", Kind.CODE, heading="apiary with a chart"),
        value("place", Kind.COUNT, heading="row on Apiaries"),
        value("colonies", Kind.COUNT),
        *(_half_month("mean", *day, text=", usual", role=Role.LIVE, working=True) for day in HALF_MONTHS),
        *(_half_month("below", *day, text=", down to", working=True) for day in HALF_MONTHS),
        *(_half_month("above", *day, text=", up to", working=True) for day in HALF_MONTHS),
        *(_half_month("lightest", *day, text=", lightest colony", working=True) for day in HALF_MONTHS),
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
        told("keeper", Kind.TEXT, width=14),
        told("question", Kind.TEXT, heading="what is wrong", aliases=("question",), width=52),
        told("do", Kind.TEXT, heading="what to do", width=39),
        told("sheet", Kind.TEXT, width=14),
        told("cell", Kind.TEXT, leads_on="sheet"),
        Column(
            key="holds",
            heading="answer",
            aliases=("what holds",),
            kind=Kind.TEXT,
            width=18,
            prompt="yes, looked at, if it is right as it stands. Of claims: a letter, as it stands, leave out, or "
            "a value. Blank stays open. Or mend the row itself.",
        ),
        told("row_is", Kind.TEXT, heading="so its row is", width=12),
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
        told("about", Kind.TEXT, width=35),
        told("group", Kind.TEXT, width=27),
        told("value", Kind.NUMBER, unit="as in the next column", decimals=1, width=8),
        told("unit", Kind.TEXT, width=7),
        told("low", Kind.NUMBER, unit="as in the column unit", decimals=1, width=7),
        told("high", Kind.NUMBER, unit="as in the column unit", decimals=1, width=7),
        told("colonies", Kind.COUNT, decimals=0, width=9),
        told("says", Kind.TEXT, heading="so", aliases=("says",), width=56),
    ),
)

SHEETS = (
    STANDING,
    FEED_ORDER,
    HEFTING,
    TILL_THE_FLOW,
    QUESTIONS,
    RETURNS,
    CHANGES,
    YEAR,
)
