"""One short sentence of figures beside each verdict: what is in the hive, what it wants, how sure that is."""

from __future__ import annotations

from math import floor
from typing import TYPE_CHECKING, Any

from apiarybook.handbook.figures import SHORT_MONTHS
from apiarybook.reckon.core.arrays import figure, rounded
from apiarybook.reckon.core.winter import day_of
from apiarybook.reckon.feeding.feeds import UNITS, VOLUMES
from apiarybook.reckon.standing.standing import BEFORE_WINTER, OUT_OF_SEASON

if TYPE_CHECKING:
    import pandas as pd

    from apiarybook.reckon.standing.standing import Rules

UNPLACED = "its apiary or hive type is not known"
UNSEEN = "not weighed or hefted yet"
CHANGED = "weigh again: the hive was changed on "
FEEDER = "what was left in the feeder on {day}? 0 if empty"
LACKING = "; then {mass} short"
SEEN = {"heft": "hefted", "frames of food counted": "counted"}
WEIGHED = "weighed"
TIE = 1e-9
"""Values are rounded to 6 decimals first; the next rounding takes a half so near as a half."""


def because(found: pd.DataFrame, rules: Rules) -> list[str]:
    """Say of each colony in one sentence on what its verdict rests, or what is missing for one.

    Args:
        found: the frame of all colonies with verdict and feed to give.
        rules: the club's rules; masses are told in the book's unit.

    Returns:
        a sentence a colony, without a full stop; the empty one for a colony that is gone and out of season.
    """
    keys = ["active", "ready", "phase", "evidence_row", "changed_on", "unlooked", "evidence_day", "stores_today"]
    keys += ["want_today", "comb", "stores_u", "way", "heft_share", "heft_day", "verdict", "stays_short", "feed_full"]
    return [_sentence(row, rules.unit) for row in found[keys].to_dict("records")]


def _sentence(row: dict[Any, Any], unit: str) -> str:
    if row["active"] == 0:
        return ""
    if row["ready"] == 0:
        return UNPLACED
    if row["phase"] == OUT_OF_SEASON:
        return ""
    if row["evidence_row"] == 0:
        return f"{CHANGED}{short_day(row['changed_on'])}" if row["changed_on"] > 0 else UNSEEN
    if row["unlooked"] == 1:
        return FEEDER.format(day=short_day(row["evidence_day"]))
    return f"{_stores(row, unit)}; {_seen(row)}{_ends(row, unit)}"


def poured(found: pd.DataFrame, rules: Rules) -> list[str]:
    """Say of each liquid feed how much that is by volume and in how many fills of the feeder.

    Args:
        found: the frame of all colonies with feed_volume [l] and fills.
        rules: the club's rules; volumes are told in the book's unit.

    Returns:
        words a colony, the empty one where nothing liquid is given.
    """
    unit = VOLUMES[rules.unit]
    return [
        _poured(litres, fills, unit) if fills > 0 else ""
        for litres, fills in zip(found["feed_volume"], found["fills"], strict=True)
    ]


def _poured(litres: float, fills: float, unit: str) -> str:
    """In words.

    >>> _poured(10.57, 3.0, "l"), _poured(0.94635, 1.0, "US quart")
    ('10.6, 3 fills', '1, 1 fill')
    """
    return f"{told(litres, unit)}, {fills:g} fill{'s' if fills != 1 else ''}"


def short_day(number: float) -> str:
    """A day without its year.

    >>> short_day(46312.0)
    '17 Oct'
    """
    day = day_of(number)
    return f"{day.day} {SHORT_MONTHS[day.month - 1]}"


def told(amount: float, unit: str) -> str:
    """A mass or volume in the book's unit to a tenth, never below nought.

    >>> told(17.849, "kg"), told(5.0, "lb")
    ('17.8', '11')
    """
    mass = float(rounded(max(0.0, amount) / UNITS[unit].factor))
    return f"{floor(mass * 10 + 0.5 + TIE) / 10:g}"


def _stores(row: dict[Any, Any], unit: str) -> str:
    wanted = f" of {told(_wanted(row), unit)}" if row["phase"] == BEFORE_WINTER else ""
    return f"{told(row['stores_today'], unit)}{wanted} {unit}, give or take {told(row['stores_u'], unit)}"


def _wanted(row: dict[Any, Any]) -> float:
    """The want as far as the combs hold it or, where it is fed beyond that so as not to run out, up to what."""
    want = float(min(row["want_today"], row["comb"]))
    return max(want, row["stores_today"] + row["feed_full"]) if row["feed_full"] > 0 else want


def _seen(row: dict[Any, Any]) -> str:
    share = rounded(row["heft_share"])
    first = "" if share == 1 else f"{SEEN.get(row['way'], WEIGHED)} {short_day(row['evidence_day'])}"
    later = "" if share == 0 else f"hefted {short_day(row['heft_day'])}"
    return ", ".join(filter(None, (first, later)))


def _ends(row: dict[Any, Any], unit: str) -> str:
    """What stays lacking; `weigh` and `comb full` say in the verdict beside it why nothing is given."""
    if row["verdict"] in {"weigh", "comb full"}:
        return ""
    lacking = rounded(row["stays_short"]) >= rounded(figure("least_worth_giving"))
    return LACKING.format(mass=f"{told(row['stays_short'], unit)} {unit}") if lacking else ""
