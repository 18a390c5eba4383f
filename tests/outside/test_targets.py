"""What the book says of whole hives, against gross weights, stores and combs in print.

A new book's own list of hive types is used, with the region's wants; a hive stands on a platform on 1 October.
"""

from __future__ import annotations

from datetime import date
from functools import cache
from typing import Any

import pandas as pd
import pytest

from apiarybook.book.measure import measure
from apiarybook.club.blank import region_lists
from apiarybook.handbook import handbook
from apiarybook.reckon.core.winter import serial, winter
from apiarybook.reckon.hive.lists import hive_types, stores_wanted
from tests.reckon.small_season import season, weighed

POUND = 0.45359237
"""Kilograms, Weights and Measures Act 1985, schedule 1."""
OCTOBER = date(2026, 10, 1)
NORTH = "north-america-north"
FULL_BRITISH_HIVES = [
    "National single",
    "National double",
    "National brood and a half",
    "National with super under",
    "National 14x12",
    "Commercial",
    "Smith",
]


def listed(region: str, hive: str) -> dict[str, Any]:
    """A hive type as a new book of the region lists it."""
    types = region_lists(region, measure("kg"))["Hive types"]
    return dict(types[types["name"] == hive].iloc[0])


def target(region: str, hive: str) -> float:
    """The target gross in the middle of October that the book shows beside a hive type [kg]."""
    types = pd.DataFrame([listed(region, hive)])
    return float(hive_types(types, region, winter(2026))["target"].iloc[0])


@cache
def stood(region: str, hive: str, gross: float, takes_fondant: str = "no") -> dict[str, Any]:
    """A colony in such a hive, weighed on 1 October, and the least gross at which it is held to last."""
    rows: dict[str, Any] = {
        "Hive_types": [listed(region, hive)],
        "Apiaries": [{"apiary": "P1", "member": "M1", "profile": region}],
        "Colonies": [{"colony": "A1", "apiary": "P1", "hive_type": hive, "takes_fondant": takes_fondant}],
        "Weighings": [weighed(date=OCTOBER, reading_1=gross)],
    }
    found = dict(season(OCTOBER, **rows).standing.iloc[0])
    return found | {"least_gross": found["gross"] - found["stores_today"] + found["least"]}


@pytest.mark.parametrize(
    ("hive", "minimum", "least_if_reached", "least_if_not", "goal"),
    [("Langstroth single deep", 32.0, 30.0, 38.4, 42.2), ("Langstroth double deep", 45.0, 45.0, 56.0, 61.3)],
)
def test_ontario_gross_minimum(
    hive: str, minimum: float, least_if_reached: float, least_if_not: float, goal: float
) -> None:
    """Ontario OMAFRA, Best Management Practices in advance of winter: at least 32 kg single, 45 kg double.

    The book's least, for a colony that fondant can reach, lies 2 kg below the minimum for a single and on it for a
    double. Its target lies 10 and 16 kg above it, and a colony that nobody can feed before spring is not held to
    last on Ontario's minimum: print gives the least a hive may weigh, the want carries the margin.
    """
    fed, unfed = stood(NORTH, hive, minimum, "yes"), stood(NORTH, hive, minimum, "no")
    found = (fed["least_gross"], unfed["least_gross"], target(NORTH, hive))
    assert found == pytest.approx((least_if_reached, least_if_not, goal), abs=0.15)
    assert fed["least_gross"] < minimum + 0.1 < unfed["least_gross"] < target(NORTH, hive)
    assert (fed["verdict"], unfed["verdict"]) == ("feed", "feed")


def test_usda_gross_of_two_bodies() -> None:
    """USDA Circular 702, Farrar, 1944: not less than 130 lb (59.0 kg) on two ten-frame bodies in the northern USA.

    With the circular's own 60 lb of honey as the want the target lies within 3 kg of it, and on the heavy side.
    """
    hive = "Langstroth double deep"
    assert listed(NORTH, hive)["want"] == pytest.approx(27.2)
    assert target(NORTH, hive) - 130 * POUND == pytest.approx(2.3, abs=0.15)
    assert stood(NORTH, hive, 130 * POUND, "yes")["least_gross"] < 130 * POUND


def test_usda_honey_in_a_hive_of_130_pounds() -> None:
    """The same: 40 lb of honey in the upper body and 20 to 30 lb in the lower, so 27 to 32 kg.

    The book finds 2 kg less than the lower end in October, within the standard uncertainty of an assumed tare.
    """
    found = stood(NORTH, "Langstroth double deep", 130 * POUND)
    assert 60 * POUND - found["stores_today"] == pytest.approx(2.1, abs=0.15)
    assert 60 * POUND - found["stores_today"] < found["stores_u"]


@pytest.mark.parametrize("hive", FULL_BRITISH_HIVES)
def test_british_wants_in_print(hive: str) -> None:
    """National Bee Unit alert 2017: about 25 kg; British Beekeepers Association, August and September: at least 20.

    Print speaks of the day on which feeding begins or ends: the want of 1 November and what is eaten till then lies
    between both on 1 September, half a kilogram let alone, and no more than one kilogram below 20 on 1 October.
    """
    types = region_lists("british-isles", measure("kg"))["Hive types"]
    types = types[types["name"] == hive]
    months = winter(2026)
    types = types.assign(comb_full=hive_types(types, "british-isles", months)["comb_full"])
    first, later = (
        float(stores_wanted(types, 1, months, serial(date(2026, month, 1)), months.dates["winter_starts"][0])[0])
        for month in (9, 10)
    )
    assert 20.0 <= first <= 25.5
    assert 19.0 < later < first


def test_what_wbc_hives_are_said_to_want_lies_below_print() -> None:
    """As above; a misfit of 3 kg: ten frames and not eleven, and no printed figure for this hive alone."""
    assert 20.0 - handbook().hive_types["WBC"].want_in("british-isles").value == pytest.approx(3.2)


@pytest.mark.parametrize(
    ("frame", "low", "high"),
    [
        ("British Standard deep", 2.0, 2.5),
        ("British Standard shallow", 1.0, 1.4),
        ("Langstroth deep", 2.9, 3.2),
        ("Dadant deep", 3.5, 3.75),
        ("Swiss box", 2.85, 2.9),
    ],
)
def test_honey_in_a_full_comb(frame: str, low: float, high: float) -> None:
    """British Beekeepers Association, August and September: 2 to 2.5 kg in a deep frame, about 1 kg in a shallow one.

    The shallow frame holds 1.4 kg by its area: print and area do not agree, the list takes the area. Langstroth:
    around 3 kg (BBKA News no. 216), 7 lb (Virginia). Dadant: Bertrand, La conduite du rucher, p. 239. Swiss box: 20 kg
    over seven combs (Swiss beekeepers' advice). The area rule is 12 dm2 = 4 kg (Apiculture moderne, p. 56).
    """
    comb = handbook().frames[frame]
    assert low <= comb.full_comb.value <= high
    assert comb.full_comb.value == pytest.approx(4 / 12 * comb.comb_side.value, abs=0.08)


def test_wax_in_a_drawn_comb() -> None:
    """Ellis, American Bee Journal, July 2025: 0.37 g to the cm2 of 883 cm2 makes 327 g a frame, 3.3 kg to ten."""
    square_centimetres = 100 * handbook().frames["Langstroth deep"].comb_side.value
    assert square_centimetres == pytest.approx(883)
    assert 0.37 * square_centimetres == pytest.approx(327, abs=0.5)
    assert 10 * 0.37 * square_centimetres / 1000 == pytest.approx(3.3, abs=0.05)


def test_a_dadant_lifted_at_its_rear() -> None:
    """French members' forum, own weighings: 2.1 + 0.4 + 2.2 + 1.5 + 7.5 + 1.3 + 3.5 = 18.5 kg of hive.

    10.95 kg at the rear x 2.5 = 27.4 kg, so 8.9 kg of bees, honey and pollen.
    """
    hive, region = "Dadant 10", "france-south-europe"
    extras = region_lists(region, measure("kg"))["Extras"]
    rows: dict[str, Any] = {
        "Hive_types": [listed(region, hive)],
        "Extras": extras.to_dict("records"),
        "Apiaries": [{"apiary": "P1", "member": "M1", "profile": region}],
        "Colonies": [{"colony": "A1", "apiary": "P1", "hive_type": hive, "stand_factor": 2.5}],
        "Weighings": [weighed(how="one side", reading_1=10.95, extra_1="Large feeder", extra_2="Insulation")],
    }
    found = season(**rows).standing.iloc[0]
    assert found["tare"] + found["extras"] == pytest.approx(2.1 + 0.4 + 2.2 + 1.5 + 7.5 + 1.3 + 3.5)
    assert found["gross"] == pytest.approx(27.4, abs=0.05)
    useful = found[["bees", "brood", "pollen", "stores"]].sum()
    assert useful == pytest.approx(8.9, abs=0.05)
