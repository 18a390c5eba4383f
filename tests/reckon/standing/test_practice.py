"""Verdicts as experienced keepers would give them: common practice, no source."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest

from apiarybook.reckon.core.winter import serial
from tests.reckon.many_colonies import HOME, one, season

SEASON_OF_WEIGHING = date(2026, 10, 15)
SEVENTEENTH = date(2026, 10, 17)
NUCLEUS = "Six frame nucleus polystyrene"
TURN_OF_THE_YEAR = 46388.0
"""1 January 2027 as spreadsheets count days."""


def target(hive: str, day: date = SEASON_OF_WEIGHING) -> float:
    """The gross at which a colony is short of nothing that day."""
    at_40 = one(day, hive, 40.0)
    return float(40.0 + at_40["short_by"])


@pytest.mark.parametrize(
    ("hive", "low", "high"),
    [(NUCLEUS, 14, 15), ("National 14x12", 40, 45), ("National single", 37, 41), ("National double", 45, 50)],
)
def test_target_gross_in_october(hive: str, low: float, high: float) -> None:
    # common practice, no source; the card's figure, which is for the day winter starts
    day = pd.DataFrame([{"colony": "H", "apiary": HOME, "hive_type": f"{hive}, {HOME}"}])
    types = season(SEASON_OF_WEIGHING, day, {"colony": ["H"]}).hive_types.set_index("name")
    assert low <= types.loc[f"{hive}, {HOME}", "target"] <= high


def test_light_nucleus_in_mid_october_that_takes_fondant_is_given_it_later() -> None:
    # common practice, no source
    stood = one(SEVENTEENTH, NUCLEUS, 12.5, takes_fondant="yes")
    assert stood["verdict"] == "fondant later"
    assert stood["by_date"] < TURN_OF_THE_YEAR


def test_light_nucleus_in_mid_october_that_takes_no_fondant_is_given_two_kilograms_of_syrup() -> None:
    # common practice, no source
    stood = one(SEVENTEENTH, NUCLEUS, 12.5, takes_fondant="no", autumn_feed="Invert syrup")
    assert (stood["verdict"], stood["feed_kind"]) == ("feed", "Invert syrup")
    assert stood["feed_mass"] == pytest.approx(2.0, abs=0.1)
    assert (stood["should_on"], stood["fills"]) == (serial(SEVENTEENTH), 1)
    assert 14 <= stood["should_weigh"] <= 15


def test_light_nucleus_given_two_kilograms_of_invert_syrup_stands_a_little_short() -> None:
    # common practice, no source
    colony = pd.DataFrame([{"colony": "H", "apiary": HOME, "hive_type": f"{NUCLEUS}, {HOME}"}])
    weighing = {"colony": ["H"], "date": SEVENTEENTH, "how": "platform", "reading_1": 12.5, "occasion": "before feed"}
    feeding = {"colony": ["H"], "date": SEVENTEENTH, "feed_kind": "Invert syrup", "amount": 2.0, "unit": "kg"}
    stood = season(SEVENTEENTH, colony, weighing, feeding).standing.iloc[0]
    not_stores = stood["tare"] + stood["extras"] + stood["bees"] + stood["brood"] + stood["pollen"]
    assert 14 <= not_stores + stood["stores_today"] <= 15
    assert 0 < stood["short_by"] < 1.5


def test_nucleus_half_a_kilogram_over_its_target_has_enough() -> None:
    # common practice, no source
    assert one(SEVENTEENTH, NUCLEUS, 15.5)["verdict"] == "enough"


@pytest.mark.parametrize(
    ("hive", "takes"),
    [
        (NUCLEUS, "yes"),
        *(
            (hive, takes)
            for hive in ("National 14x12", "National single", "National double")
            for takes in ("yes", "no")
        ),
    ],
)
def test_a_little_under_target_is_enough(hive: str, takes: str) -> None:
    # common practice, no source: a kilogram or two is never chased; not so a nucleus that nobody feeds before spring,
    # whose chance of running out is above one in ten there
    assert one(SEVENTEENTH, hive, target(hive, SEVENTEENTH) - 0.6, takes_fondant=takes)["verdict"] == "enough"
