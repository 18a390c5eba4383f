"""Colonies worked out by hand: what each verdict, portion, day and weight must come to.

The hives are those of test_season. Common practice, no source, unless a line says otherwise.
"""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from apiarybook.handbook import handbook
from apiarybook.reckon.core.winter import serial
from tests.checks.small import HIVE, Row
from tests.reckon.small_season import FRAME_OF_BROOD, NOT_STORES, OCTOBER, SEPTEMBER, fed, season, seasons, weighed

THICK = 0.6135 * 0.9 / 0.82
"""Stores from a kilogram of thick syrup [kg]."""
WATER = 1 - THICK
TWO: Row = HIVE | {"name": "Two", "tare": 24.5, "boxes": 2, "frames": 22}
EMPTY_TWO = NOT_STORES[SEPTEMBER] + 24.5 - 16.0
HALF_RIPE = SEPTEMBER - timedelta(days=3)
MONTHS = handbook().profiles["british-isles"].consumption

SIX_DECIMALS = 2e-5
"""What a figure of the calendar may be off [kg]: each day's share stands in six decimals, and they add up."""


def stood(as_at: date, hive: str = "Eleven", colony: Row | None = None, **rows: list[Row]) -> pd.Series[float]:
    kept = {"colony": "A1", "apiary": "P1", "hive_type": hive, "stand": "solid", **(colony or {})}
    return season(as_at, Colonies=[kept], Hive_types=[HIVE, TWO], **rows).standing.iloc[0]


def test_a_hive_tilted_at_one_side_that_lacks_much_gets_five_litres_and_is_weighed() -> None:
    found = stood(SEPTEMBER, Weighings=[weighed(date=SEPTEMBER, how="one side", reading_1=10.0)])
    assert found["verdict"] == "feed, then weigh"
    assert (found["feed_volume"], found["fills"]) == (pytest.approx(5.0), 2)
    assert found["short_by"] > 19.0
    assert np.isnan(found["should_weigh"])


def test_straight_after_one_fill_the_hive_weighs_what_it_weighed_and_the_feed() -> None:
    """18 kg of stores, water half driven off from 5 kg given three days ago, and what is wanted on that day."""
    gross = EMPTY_TWO + 18.0 + 2.5 * WATER
    rows = {"Weighings": [weighed(date=SEPTEMBER, reading_1=gross)], "Feedings": [fed(date=HALF_RIPE)]}
    found = stood(SEPTEMBER, "Two", **rows)
    lacks = 18.0 + MONTHS.of(9) * 16 / 30 + MONTHS.of(10) - 18.0
    assert found["short_by"] == pytest.approx(lacks)
    assert (found["verdict"], found["fills"]) == ("feed", 1)
    assert found["feed_mass"] == pytest.approx(lacks / THICK)
    assert (found["should_weigh"], found["should_on"]) == (pytest.approx(gross + lacks / THICK), serial(SEPTEMBER))


def test_two_weeks_after_the_last_day_the_feed_is_ripe_and_some_of_it_eaten() -> None:
    """12 kg short: three fills, taken by 30 September; on 14 October six days' worth of ripening after 29 days."""
    found = stood(SEPTEMBER, "Two", Weighings=[weighed(date=SEPTEMBER, reading_1=EMPTY_TWO + 9.0)])
    on = date(2026, 10, 14)
    assert (found["by_date"], found["should_on"]) == (serial(date(2026, 9, 30)), serial(on))
    eaten = MONTHS.of(9) * 16 / 30 + MONTHS.of(10) * 13 / 31
    wet = (found["feed_mass"] - found["feed_stores"]) / (1 + (29 / 3) ** 3.5)
    calendar = handbook().profiles["british-isles"]
    bees = 2.0 * np.interp(29, [0, 30], [calendar.bees.of(9), calendar.bees.of(10)])
    brood = FRAME_OF_BROOD * np.interp(29, [0, 30], [calendar.brood.of(9), calendar.brood.of(10)])
    expected = 24.5 + 1.0 + bees + brood + 9.0 + found["feed_stores"] - eaten + wet
    assert found["should_weigh"] == pytest.approx(expected, abs=SIX_DECIMALS)


@pytest.mark.parametrize(("day", "verdict"), [(15, "feed"), (16, "fondant later")])
def test_little_is_left_to_fondant_from_a_fortnight_before_the_last_liquid_day(day: int, verdict: str) -> None:
    when = date(2026, 9, day)
    level = stood(when, "Two", Weighings=[weighed(date=when, reading_1=50.0)])
    gross = 50.0 + level["short_by"] - 2.0
    found = stood(when, "Two", {"takes_fondant": "yes"}, Weighings=[weighed(date=when, reading_1=gross)])
    assert (found["short_by"], found["verdict"]) == (pytest.approx(2.0), verdict)
    if verdict == "fondant later":
        assert found["by_date"] == found["lasts_to"] - 14
        assert (found["feed_kind"], found["feed_mass"]) == ("Fondant", 2.5)


@pytest.mark.parametrize(
    ("day", "reach"),
    [
        (date(2027, 1, 10), date(2027, 3, 1)),
        (date(2027, 2, 10), date(2027, 3, 3)),
        (date(2027, 3, 10), date(2027, 3, 31)),
        (date(2027, 4, 10), date(2027, 4, 20)),
    ],
)
def test_in_winter_a_colony_without_fondant_is_reached_in_march_or_three_weeks_on(day: date, reach: date) -> None:
    found = stood(day, Weighings=[weighed(date=day)])
    assert found["reach"] == serial(reach)
    days = pd.date_range(day, reach, inclusive="left")
    assert found["least"] == pytest.approx(5.0 + sum(MONTHS.of(one.month) / one.days_in_month for one in days))


LEFT = {"Weighings": [weighed(date=SEPTEMBER, reading_1=37.35, feed_left=4.0)]}


def test_feed_left_in_the_feeder_is_feed_of_that_day() -> None:
    """4 of 5 kg still in the feeder: a fifth was taken three days ago and is half ripe."""
    found = stood(SEPTEMBER, **LEFT, Feedings=[fed(date=HALF_RIPE)])
    assert found["stores"] == pytest.approx(37.35 - NOT_STORES[SEPTEMBER] - 4.0 - 0.5 * WATER)
    assert found["stores_today"] == pytest.approx(found["stores"] + 4.0 * THICK)
    assert found["unripe_now"] == pytest.approx(0.5 * WATER + 4.0 * WATER)


def test_feed_left_and_then_taken_back_is_taken_off_once() -> None:
    back = fed(date=SEPTEMBER + timedelta(days=1), amount=4.0, taken_back="yes")
    found = stood(SEPTEMBER + timedelta(days=1), **LEFT, Feedings=[fed(date=HALF_RIPE), back])
    assert found["fed_since"] == pytest.approx(0.0)
    assert found["stores_today"] == pytest.approx(found["stores"] - MONTHS.of(9) / 30)


def test_frames_of_bees_lessen_the_want_only_below_what_print_counts() -> None:
    """Seven to eight frames for a full-size colony (Ontario tips sheet); 2 kg would cover 12.5 of this comb fully."""
    colony = [{"colony": "A1", "apiary": "P1", "hive_type": "Two", "stand": "solid"}]
    expected = {4.0: 0.5**0.521, 8.0: 1.0, 10.0: 1.0, 12.5: 1.0, 30.0: 1.2}
    cases = {
        str(frames): {"Colonies": colony, "Weighings": [weighed(reading_1=40.0, frames_bees=frames)]}
        for frames in expected
    }
    found = seasons(cases, Hive_types=[HIVE, TWO])
    strengths = {frames: found[str(frames)].standing["strength"].iloc[0] for frames in expected}
    assert strengths == pytest.approx(expected, abs=1e-3)


def test_a_word_keeps_its_target_whatever_became_of_the_colony() -> None:
    states = ("alive", "united", "given away", "sold")
    kept: Row = {"colony": "A1", "apiary": "P1", "hive_type": "Eleven"}
    row = weighed(date=SEPTEMBER, how="platform", reading_1=30.0, heft="light")
    found = seasons({state: {"Colonies": [kept | {"state": state}], "Weighings": [row]} for state in states})
    stores = [one.weighings["card_stores"].iloc[0] for one in found.values()]
    assert stores == pytest.approx([2.3 * (11 - 0.8 - 1 - 4)] * 4)


def test_a_word_of_an_untried_hand_alone_never_makes_enough() -> None:
    practised = [weighed(date=SEPTEMBER, occasion="practice", heft=one, by="Bo") for one in (37.0, 37.5, 37.2) * 8]
    rows = {by: stood(OCTOBER, Weighings=[*practised, weighed(how="heft", heft=60.0, by=by)]) for by in ("Ann", "Bo")}
    assert (rows["Ann"]["untried"], rows["Ann"]["verdict"]) == (1, "weigh")
    assert (rows["Bo"]["untried"], rows["Bo"]["verdict"]) == (0, "enough")
    assert rows["Bo"]["chance_short"] <= 0.25


@pytest.mark.parametrize(
    ("takes", "reached", "kind"), [("yes", "yes", "Fondant"), ("no", "yes", ""), ("no", "never", "")]
)
def test_no_fondant_where_none_can_be_laid(takes: str, reached: str, kind: str) -> None:
    """The list of that club holds no frame of food."""
    day = date(2027, 1, 10)
    rows = {"Weighings": [weighed(date=day, reading_1=16.0 + 1.6 + 1.0 + 2.0)]}
    found = stood(day, colony={"takes_fondant": takes, "reached": reached}, **rows)
    assert (found["verdict"], found["feed_kind"]) == ("feed now", kind)
