"""The secretary's sheets: settings and the lists that the other sheets draw on."""

from functools import partial
from typing import Any

from apiarybook.layout import words
from apiarybook.layout.model import Column, Group, InCopy, Kind, Sheet
from apiarybook.layout.parts import BY, DATE, REMARKS, folded, live, value, working


def _figure(
    key: str, kind: Kind, possible: tuple[float, float], likely: tuple[float, float], prompt: str, **declared: Any
) -> Column:
    """A figure without which the row cannot be reckoned: what is blank is asked about."""
    return Column(
        key=key, kind=kind, possible=possible, likely=likely, prompt=prompt, needed="missing-figure", **declared
    )


_listed = partial(Sheet, group=Group.SETTINGS, in_copy=InCopy.BEHIND)
"""A list that the other sheets draw on."""
KIND = Column(
    key="kind",
    heading="kind of figures",
    aliases=("kind of figure",),
    kind=Kind.CHOICE,
    choices=words.FIGURE_KINDS,
    width=18,
    prompt="published, common practice, or from memory: the weakest of the row's figures.",
)

SETTINGS = _listed(
    name="Settings",
    row_is="a setting of the club",
    columns=(
        Column(key="setting", kind=Kind.TEXT, width=28, prompt="The setting's name; leave it as it is."),
        Column(key="value", kind=Kind.TEXT, width=28, prompt="Type what holds for your club."),
        Column(key="meaning", kind=Kind.TEXT, width=80, prompt="What the setting does; leave it as it is."),
    ),
)

FOR_YOU_ALONE = (
    "For you alone: it goes into no member copy, reply, report or shared package, only onto the keeper's page that is "
    "made with the cards."
)
MEMBERS = _listed(
    name="Members",
    whose="member",
    row_is="a member of the club",
    spare=20,
    columns=(
        Column(
            key="member",
            kind=Kind.CODE,
            required=True,
            unique=True,
            prompt="A short code for the member: a letter first, then letters, digits, blank, _ or -.",
        ),
        Column(key="name", kind=Kind.TEXT, width=26, prompt="The name, as the member writes it in the column by."),
        Column(key="hefts", kind=Kind.YES_NO, prompt="Does this member heft hives?"),
        Column(
            key="orders",
            heading="orders through club",
            kind=Kind.YES_NO,
            prompt="Is this member's sugar ordered by the club?",
        ),
        Column(
            key="shown",
            heading="may be shown to the club",
            kind=Kind.YES_NO,
            prompt="May this member's results be shown to other members?",
        ),
        Column(
            key="returns_by",
            kind=Kind.CHOICE,
            choices=words.RETURNS_BY,
            club_only=True,
            prompt="How this member's rows come back: a file, paper, or none at all, as from who types into this book.",
        ),
        Column(
            key="phone",
            kind=Kind.TEXT,
            width=16,
            club_only=True,
            prompt=FOR_YOU_ALONE,
        ),
        Column(
            key="mail",
            kind=Kind.TEXT,
            width=26,
            club_only=True,
            prompt=FOR_YOU_ALONE,
        ),
    ),
)

APIARIES = _listed(
    name="Apiaries",
    whose="member",
    row_is="an apiary",
    spare=12,
    columns=(
        Column(
            key="apiary",
            kind=Kind.CODE,
            required=True,
            unique=True,
            prompt="A short code for the apiary: a letter first, then letters, digits, blank, _ or -.",
        ),
        Column(
            key="member",
            kind=Kind.CODE,
            refers_to="Members.member",
            prompt="The code of the member who keeps it.",
        ),
        Column(
            key="place",
            kind=Kind.TEXT,
            width=26,
            prompt="A label the member will know. Never coordinates: hives are stolen.",
        ),
        Column(
            key="profile",
            heading="winter profile",
            kind=Kind.CHOICE,
            refers_to="Winter profiles.name",
            width=22,
            prompt="How the winter runs there. Blank: as the setting region says, and the next run writes it here.",
        ),
        *(
            folded(key=key, kind=Kind.DATE, prompt=f"Only if it differs from the profile's: {text}.")
            for key, text in (
                ("winter_starts", "the day on which winter starts"),
                ("last_liquid_day", "the last day for liquid feed"),
                ("feed_reaches", "the day from which feed can reach colonies again"),
                ("flow", "the day on which the spring flow starts"),
            )
        ),
    ),
)

HIVE_TYPES = _listed(
    name="Hive types",
    months=(7, 8, *range(18, 25)),
    row_is="a kind of hive as it goes into winter",
    spare=8,
    columns=(
        Column(key="name", kind=Kind.CODE, required=True, unique=True, width=32, prompt="The hive as you call it."),
        Column(key="frame", kind=Kind.TEXT, width=20, prompt="The frame it holds."),
        _figure("frames", Kind.COUNT, (1, 80), (3, 40), "How many frames stand in it altogether in winter."),
        Column(
            key="comb", kind=Kind.CHOICE, choices=words.COMBS, prompt="new, drawn or old comb; the tare is with it."
        ),
        _figure(
            "tare",
            Kind.MASS,
            (0.5, 120.0),
            (2.0, 60.0),
            "Floor, boxes, frames with drawn comb, cover board and roof; nothing else.",
        ),
        _figure(
            "tare_spread",
            Kind.MASS,
            (0.0, 20.0),
            (0.1, 6.0),
            "Standard uncertainty of the tare: two hives of this type in three lie within it.",
            heading="tare, give or take",
        ),
        _figure(
            "bees",
            Kind.MASS,
            (0.1, 10.0),
            (0.5, 5.0),
            "Mass of bees of a usual colony in October.",
            heading="October bees",
        ),
        _figure("pollen", Kind.MASS, (0.0, 10.0), (0.0, 4.0), "Mass of pollen in the comb in October."),
        _figure(
            "want",
            Kind.MASS,
            (1.0, 80.0),
            (5.0, 50.0),
            "Stores wanted on the day winter starts. Set what your club has learnt.",
        ),
        Column(
            key="fed_before",
            heading="fed last autumn",
            kind=Kind.MASS,
            possible=(0.0, 60.0),
            likely=(0.0, 30.0),
            folded=True,
            prompt="What a colony of this type was fed last autumn on average, as stores, for the forecast of the feed "
            "order. Blank: 0.4 of the want.",
        ),
        *live("comb_full", Kind.MASS, heading="comb full"),
        *live("target", Kind.MASS, heading="target gross in October"),
        *working("feed_to", Kind.MASS, heading="most worth feeding to"),
        *working("believable", Kind.MASS, heading="highest believable gross"),
        Column(key="source", kind=Kind.TEXT, width=60, prompt="Where these figures come from."),
        KIND,
        _figure("boxes", Kind.COUNT, (1, 8), (1, 4), "How many boxes.", folded=True),
        folded(key="material", kind=Kind.CHOICE, choices=words.MATERIALS, prompt="wood or polystyrene."),
        _figure(
            "comb_side",
            Kind.NUMBER,
            (1.0, 30.0),
            (3.0, 16.0),
            "Area of one side of one comb in square decimetres, the mean over its frames.",
            unit="dm2",
            folded=True,
        ),
        _figure(
            "full_comb",
            Kind.MASS,
            (0.2, 12.0),
            (0.8, 6.0),
            "Stores in one full comb, the mean over its frames.",
            folded=True,
        ),
        _figure("pollen_frames", Kind.COUNT, (0, 10), (0, 3), "Frames' worth of comb that pollen takes.", folded=True),
        _figure(
            "portion_liquid",
            Kind.VOLUME,
            (0.2, 30.0),
            (1.0, 10.0),
            "One portion of liquid feed for this hive.",
            folded=True,
        ),
        _figure(
            "portion_fondant", Kind.MASS, (0.1, 15.0), (0.5, 5.0), "One portion of fondant for this hive.", folded=True
        ),
        _figure(
            "feeder_holds", Kind.VOLUME, (0.2, 40.0), (0.5, 20.0), "What one fill of its usual feeder is.", folded=True
        ),
    ),
)

FEED_KINDS = _listed(
    name="Feed kinds",
    months=(7,),
    row_is="a kind of feed",
    spare=5,
    columns=(
        Column(key="name", kind=Kind.CODE, required=True, unique=True, width=28, prompt="The feed as you call it."),
        Column(
            key="form",
            needed="missing-figure",
            kind=Kind.CHOICE,
            choices=words.FEED_FORMS,
            prompt="liquid, solid, comb (a frame of food), none (gives no stores).",
        ),
        _figure(
            "solids",
            Kind.FRACTION,
            (0.0, 1.0),
            (0.0, 1.0),
            "Sugar solids as a share of its mass: 0.614 for 1 kg of sugar to 630 ml of water.",
        ),
        _figure(
            "yields",
            Kind.FRACTION,
            (0.0, 1.0),
            (0.0, 1.0),
            "The share of its sugar that ends as stores; the rest feeds the bees at the work.",
        ),
        Column(
            key="mixed",
            heading="mixed at home",
            kind=Kind.YES_NO,
            prompt="yes: mixed from sugar and water; the pack is then a pack of sugar.",
        ),
        _figure(
            "pack",
            Kind.MASS,
            (0.01, 2000.0),
            (0.2, 50.0),
            "The mass of one pack, block or bag as bought.",
            heading="pack size",
        ),
        *working("density", Kind.NUMBER, unit="kg/l", decimals=3),
        *working("stores_share", Kind.FRACTION, heading="stores from one part"),
        Column(key="source", kind=Kind.TEXT, width=60, prompt="Where these figures come from."),
        KIND,
    ),
)

EXTRAS = _listed(
    name="Extras",
    months=(7,),
    row_is="a thing that may stand on or in a hive",
    spare=6,
    columns=(
        Column(key="name", kind=Kind.CODE, required=True, unique=True, width=28, prompt="The thing as you call it."),
        _figure("mass", Kind.MASS, (0.0, 60.0), (0.01, 15.0), "Its mass. Weigh your own once: they differ."),
        Column(key="source", kind=Kind.TEXT, width=100, prompt="Where this figure comes from."),
        KIND,
    ),
)

SCALES = _listed(
    name="Scales",
    months=(7, 8, 9),
    row_is="a scale of the club",
    spare=6,
    columns=(
        Column(key="scale", kind=Kind.CODE, required=True, unique=True, prompt="A code to write on the scale itself."),
        Column(
            key="kind",
            needed="missing-value",
            heading="kind of scale",
            kind=Kind.CHOICE,
            choices=words.SCALE_KINDS,
            prompt="hanging or platform.",
        ),
        Column(
            key="capacity",
            kind=Kind.MASS,
            possible=(1.0, 1000.0),
            likely=(10.0, 300.0),
            prompt="The most it may carry. A hanging scale under 50 kg is too small for full colonies.",
        ),
        Column(
            key="division",
            kind=Kind.MASS,
            possible=(0.001, 10.0),
            likely=(0.005, 1.0),
            prompt="The smallest step it shows.",
        ),
        value("checks", Kind.COUNT, heading="checks so far"),
        value("checked_on", Kind.DATE, heading="last checked"),
        value("line_offset", Kind.MASS),
        value("line_slope", Kind.NUMBER, unit="1", decimals=4),
        value("line_fixed", Kind.MASS),
        value("line_relative", Kind.NUMBER, unit="1", decimals=4),
        value("line_away", Kind.NUMBER, unit="1", decimals=4),
        value("line_middle", Kind.MASS),
        value("line_least", Kind.MASS),
    ),
)

SCALE_LOANS = _listed(
    name="Scale loans",
    months=(9,),
    whose="member",
    in_copy=InCopy.NO,
    row_is="a scale lent to a member",
    spare=12,
    columns=(
        Column(key="scale", kind=Kind.CODE, required=True, refers_to="Scales.scale", prompt="The scale's code."),
        Column(key="member", kind=Kind.CODE, required=True, refers_to="Members.member", prompt="Who has it."),
        Column(key="out", kind=Kind.DATE, prompt="The day it was lent."),
        Column(key="due", kind=Kind.DATE, prompt="The day it should be back."),
        Column(key="back", kind=Kind.DATE, prompt="The day it came back."),
        REMARKS,
    ),
)

SCALE_CHECKS = _listed(
    name="Scale checks",
    months=(8, 16, 17, 18),
    in_copy=InCopy.NO,
    row_is="one reading of a known mass",
    spare=12,
    columns=(
        DATE,
        Column(key="scale", kind=Kind.CODE, required=True, refers_to="Scales.scale", prompt="The scale's code."),
        Column(
            key="known",
            heading="known mass",
            kind=Kind.MASS,
            required=True,
            possible=(0.5, 500.0),
            likely=(2.0, 100.0),
            prompt="What truly hangs there: a certified weight, or cans of water weighed on a shop scale.",
        ),
        Column(
            key="reading",
            kind=Kind.MASS,
            required=True,
            possible=(0.0, 500.0),
            likely=(2.0, 100.0),
            prompt="What the scale shows. Check with two or more different masses, near a hive's own.",
        ),
        BY,
        REMARKS,
    ),
)

SHEETS = (
    SETTINGS,
    MEMBERS,
    APIARIES,
    HIVE_TYPES,
    FEED_KINDS,
    EXTRAS,
    SCALES,
    SCALE_LOANS,
    SCALE_CHECKS,
)
