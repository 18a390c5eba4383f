"""An invented club: its members, apiaries, colonies and scales. No person, place or club here is real."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

Row = dict[str, object]
Rows = dict[str, list[Row]]
"""Typed rows by sheet: value by column key; a key that is left out is blank."""

CLUB = "Alder Vale Beekeepers"
YEAR = 2026
REGION, UNIT = "british-isles", "kg"
STARTED, AS_AT = date(YEAR, 8, 1), date(YEAR, 10, 10)
SLAB = "Fondant slab"

SINGLE, DOUBLE = "National single", "National double"
HALF, LARGE = "National brood and a half", "National 14x12"
NUCLEUS, SLATTED = "Six frame nucleus polystyrene", "WBC"


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeper:
    """One invented member: what is kept where, how it is weighed and fed, and how good the hand is.

    `bias` and `spread` are those of the hand, as logarithms; `fed` is how much of what the colonies lack is given.
    """

    code: str
    name: str
    apiary: str
    place: str
    hives: tuple[tuple[str, int], ...]
    way: str
    scale: str = ""
    stand: str = "solid"
    stand_factor: float = 2.2
    feed: str = "Syrup 1 kg to 630 ml"
    unit: str = "l"
    feeder: float = 5.0
    bias: float
    spread: float
    speaks: bool = False
    fed: float = 1.0
    fondant: str = "yes"
    orders: str = "yes"


KEEPERS = (
    Keeper(
        code="AF",
        name="Agnes Fern",
        apiary="Mill",
        place="behind the mill race",
        hives=((SINGLE, 6),),
        way="full lift",
        scale="H1",
        bias=0.04,
        spread=0.08,
        fed=1.05,
    ),
    Keeper(
        code="BT",
        name="Bram Tolley",
        apiary="Orchard",
        place="old pear orchard",
        hives=((SINGLE, 4), (DOUBLE, 2)),
        way="two sides",
        scale="H2",
        feed="Home mixed syrup",
        unit="",
        bias=-0.10,
        spread=0.10,
    ),
    Keeper(
        code="CW",
        name="Cora Winch",
        apiary="Glebe",
        place="by the glebe hedge",
        hives=((HALF, 4), (SINGLE, 1)),
        way="two sides",
        scale="H2",
        stand="inset rails",
        unit="feeder fill",
        bias=0.12,
        spread=0.12,
    ),
    Keeper(
        code="DM",
        name="Dougal Marsh",
        apiary="Quarry",
        place="quarry bank",
        hives=((SINGLE, 5),),
        way="one side",
        scale="H3",
        stand="unknown",
        stand_factor=2.3,
        unit="imp pint",
        bias=0.0,
        spread=0.18,
        speaks=True,
        fed=0.85,
    ),
    Keeper(
        code="EP",
        name="Edith Pell",
        apiary="Heath",
        place="edge of the heath",
        hives=((LARGE, 5),),
        way="platform",
        scale="P1",
        feed="Invert syrup",
        unit="kg",
        bias=-0.05,
        spread=0.07,
        fed=1.05,
    ),
    Keeper(
        code="FH",
        name="Felix Hale",
        apiary="Allotment",
        place="plot with the blue shed",
        hives=((SINGLE, 4), (NUCLEUS, 1)),
        way="heft",
        unit="kg",
        bias=0.06,
        spread=0.14,
        fed=1.15,
    ),
    Keeper(
        code="GR",
        name="Greta Rowe",
        apiary="Garden",
        place="walled garden",
        hives=((SINGLE, 3), (NUCLEUS, 2)),
        way="full lift",
        scale="H1",
        feed="Syrup 2 to 1 by mass",
        unit="kg",
        bias=0.02,
        spread=0.06,
        orders="no",
    ),
    Keeper(
        code="HS",
        name="Hugh Sallow",
        apiary="Chapel",
        place="chapel field",
        hives=((DOUBLE, 3), (SINGLE, 2)),
        way="two sides",
        scale="H2",
        stand="flush rails",
        bias=-0.15,
        spread=0.12,
    ),
    Keeper(
        code="IB",
        name="Isla Brook",
        apiary="Ferry",
        place="above the old ferry",
        hives=((SINGLE, 4), (LARGE, 1)),
        way="platform",
        scale="P1",
        unit="kg",
        bias=0.08,
        spread=0.09,
    ),
    Keeper(
        code="JK",
        name="Jonas Kemp",
        apiary="Ridge",
        place="shelf under the ridge",
        hives=((SLATTED, 4),),
        way="frames of food counted",
        stand="unknown",
        unit="imp gal",
        feeder=4.5,
        bias=0.0,
        spread=0.15,
        speaks=True,
        fed=1.1,
    ),
    Keeper(
        code="LN",
        name="Lotte Nairn",
        apiary="Towpath",
        place="lock cottage",
        hives=((HALF, 3), (SINGLE, 2)),
        way="one side",
        scale="H3",
        stand_factor=2.1,
        unit="l",
        bias=-0.08,
        spread=0.13,
        fondant="no",
    ),
    Keeper(
        code="MO",
        name="Maud Oakes",
        apiary="Weir",
        place="meadow at the weir",
        hives=((SINGLE, 4),),
        way="full lift",
        scale="H1",
        feed="Syrup 3 to 2",
        unit="l",
        bias=0.03,
        spread=0.10,
        fed=0.9,
    ),
    Keeper(
        code="PY",
        name="Piet Yarrow",
        apiary="School",
        place="teaching apiary",
        hives=((SINGLE, 5),),
        way="platform",
        scale="P1",
        unit="kg",
        bias=0.0,
        spread=0.05,
    ),
)
TUTOR, PRACTISES = "Piet Yarrow", "Felix Hale"


def colonies_of(keeper: Keeper) -> list[tuple[str, str]]:
    """Codes and hive types of one keeper's colonies.

    >>> colonies_of(KEEPERS[1])[-1]
    ('Orchard 6', 'National double')
    """
    types = [hive for hive, count in keeper.hives for _ in range(count)]
    return [(f"{keeper.apiary} {number}", hive) for number, hive in enumerate(types, 1)]


INSET = 0.08
"""How far in Cora's rails lie, as a share of the depth."""
UNITED, INTO = "Quarry 5", "Quarry 4"
UNDER, UNDER_TYPE = "Mill 6", "National with super under"
HONEY = "Ferry 3"
OWN_FACTOR = "Towpath 1"
"""A colony whose stand was found by weighing it both ways."""

SCALES: list[Row] = [
    {"scale": "H1", "kind": "hanging", "capacity": 60, "division": 0.1},
    {"scale": "H2", "kind": "hanging", "capacity": 50, "division": 0.1},
    {"scale": "H3", "kind": "hanging", "capacity": 40, "division": 0.2},
    {"scale": "P1", "kind": "platform", "capacity": 150, "division": 0.05},
]
CHECKS = {
    "H1": ((10, 10.3), (20, 20.5), (40, 40.8)),
    "H2": ((10, 9.8), (20, 19.6), (40, 39.3)),
    "P1": ((20, 20.0), (40, 40.1), (60, 60.1)),
}
"""Known mass and reading of each check, in kg; nobody has checked H3."""


def lists() -> Rows:
    """What the secretary types into the lists: members, apiaries, colonies, scales, loans, checks and one own feed."""
    members: list[Row] = [
        {"member": one.code, "name": one.name, "hefts": "yes", "orders": one.orders, "shown": "yes"} for one in KEEPERS
    ]
    apiaries: list[Row] = [
        {"apiary": one.apiary, "member": one.code, "place": one.place, "profile": REGION} for one in KEEPERS
    ]
    checks: list[Row] = [
        {"date": STARTED, "scale": scale, "known": known, "reading": reading, "by": TUTOR}
        for scale, pairs in CHECKS.items()
        for known, reading in pairs
    ]
    slab: Row = {"name": SLAB, "form": "solid", "solids": 0.78, "yields": 0.9, "mixed": "no", "pack": 2.5}
    slab |= {"source": "as Fondant; the club cuts its blocks into slabs of 2.5 kg", "kind": "common practice"}
    return {
        "Members": members,
        "Apiaries": apiaries,
        "Colonies": [_colony(one, code, hive) for one in KEEPERS for code, hive in colonies_of(one)],
        "Scales": SCALES,
        "Scale loans": _loans(),
        "Scale checks": checks,
        "Feed kinds": [slab],
    }


def _colony(keeper: Keeper, code: str, hive: str) -> Row:
    row: Row = {"colony": code, "apiary": keeper.apiary, "hive_type": hive, "takes_fondant": keeper.fondant}
    row |= {"reached": "yes", "state": "united" if code == UNITED else "alive", "stand": keeper.stand}
    if keeper.stand == "inset rails":
        row["rail_inset"] = INSET
    if code == OWN_FACTOR:
        row["stand_factor"] = keeper.stand_factor
    return row


def _loans() -> list[Row]:
    due = date(YEAR + 1, 4, 15)
    borrowed = [one for one in KEEPERS if one.scale and one.name != TUTOR]
    return [
        {"scale": one.scale, "member": one.code, "out": date(YEAR, 8, 5 + 2 * at), "due": due}
        for at, one in enumerate(borrowed)
    ]


MOVES: list[Row] = [
    {"date": date(YEAR, 8, 2), "colony": "Mill 1", "what": "super off"},
    {"date": date(YEAR, 8, 2), "colony": "Mill 2", "what": "super off"},
    {"date": date(YEAR, 8, 3), "colony": "Heath 1", "what": "super off"},
    {"date": date(YEAR, 8, 4), "colony": HONEY, "what": "super on", "remarks": "for the heather"},
    {"date": date(YEAR, 8, 15), "colony": HONEY, "what": "super off"},
    {"date": date(YEAR, 8, 16), "colony": UNDER, "what": "new hive type", "into": UNDER_TYPE},
    {"date": date(YEAR, 8, 16), "colony": UNDER, "what": "super under"},
    {"date": date(YEAR, 8, 30), "colony": UNITED, "what": "united into", "into": INTO, "remarks": "queen failing"},
]
