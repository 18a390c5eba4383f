"""Rows in, figures out: whole seasons of a few rows.

The hive of the invented club: empty 16 kg, 2 kg of bees and 1 kg of pollen in October, 11 frames of 2.3 kg, want 18 kg.
Figures are worked out by hand from the model's and the handbook's; common practice, no source, unless a line says
otherwise.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apiarybook.reckon.core.winter import serial
from tests.checks.small import CLUB, HIVE, Row
from tests.reckon.small_season import FRAME_OF_BROOD, NOT_STORES, OCTOBER, SEPTEMBER, fed, season, seasons, weighed

if TYPE_CHECKING:
    from types import SimpleNamespace

    from apiarybook.reckon.season import Season
    from tests.checks.small import Case, Sheets

EMPTY = NOT_STORES[OCTOBER]
FULL_COMBS = 2.3 * (11 - 0.8 - 1)
"""Stores that the combs hold, one frame kept for the cluster and some for pollen [kg]."""
THICK = 0.6135 * 0.9 / 0.82
"""Stores from a kilogram of thick syrup [kg]."""
WATER = 1 - THICK
TWO: Row = HIVE | {"name": "Two", "tare": 24.5, "boxes": 2, "frames": 22, "bees": 2.0}


def colony(**cells: object) -> list[Row]:
    return [{"colony": "A1", "apiary": "P1", "hive_type": "Eleven", "stand": "solid", **cells}]


def hives(*more: Row) -> list[Row]:
    return [HIVE, *more]


def first(found: Season | SimpleNamespace, frame: str = "standing") -> dict[str, object]:
    return dict(getattr(found, frame).iloc[0])


# Weighings by each way: what was typed, the gross, its uncertainty, the stores, and whether the way is coarse.
WAYS: list[tuple[Row, Row, float, float, int]] = [
    ({"how": "platform", "reading_1": 37.35}, {}, 37.35, 0.150, 0),
    ({"how": "platform", "reading_1": 37.3, "reading_2": 37.4}, {}, 37.35, 0.150, 0),
    ({"how": "full lift", "reading_1": 37.35}, {}, 37.35, 0.545, 0),
    ({"how": "full lift", "reading_1": 24.0}, {}, 24.0, 0.245, 0),
    ({"how": "two sides", "reading_1": 18.0, "reading_2": 19.35}, {}, 37.35, 0.640, 0),
    ({"how": "two sides", "reading_1": 18.0, "reading_2": 17.0}, {"stand": None}, 37.10, 1.616, 1),
    ({"how": "two sides", "reading_1": 18.0, "reading_2": 17.0}, {"stand": "inset rails"}, 37.10, 1.616, 1),
    (
        {"how": "two sides", "reading_1": 18.0, "reading_2": 15.0},
        {"stand": "inset rails", "rail_inset": 0.1},
        37.125,
        0.640,
        0,
    ),
    ({"how": "one side", "reading_1": 17.0}, {}, 37.4, 5.618, 1),
    ({"how": "one side", "reading_1": 15.0}, {"stand_factor": 2.5}, 37.5, 1.900, 1),
    ({"how": "heft", "heft": 37.0}, {}, 37.0, 37.0 * 0.1921, 1),
]


def test_gross_by_each_way() -> None:
    cases = {
        at: {"Colonies": colony(**stand), "Weighings": [weighed(**cells)]} for at, (cells, stand, *_) in enumerate(WAYS)
    }
    for found, (cells, _, gross, u, coarse) in zip(seasons(cases).values(), WAYS, strict=True):
        row = first(found, "weighings")
        assert row["gross"] == pytest.approx(gross), cells
        assert row["gross_u"] == pytest.approx(u, abs=0.002), cells
        assert row["stores"] == pytest.approx(gross - EMPTY), cells
        assert (row["coarse"], row["status"]) == (coarse, "ok"), cells
        assert first(found)["stores"] == pytest.approx(gross - EMPTY), cells


def test_frames_of_food_are_stores_with_no_gross() -> None:
    found = season(Weighings=[weighed(how="frames of food counted", reading_1=8.0, feed_left=None)])
    row = first(found, "weighings")
    assert np.isnan(float(str(row["gross"])))
    assert row["stores"] == pytest.approx(18.4)
    assert first(found)["stores_u"] == pytest.approx(np.hypot(0.15 * 18.4, 0.25 * 2.3))


@pytest.mark.parametrize(("word", "factor"), [("light", np.exp(-0.2)), ("about right", 1.0)])
def test_a_word_is_measured_by_the_target_of_its_day(word: str, factor: float) -> None:
    target = EMPTY + 18.0 + 2.3 * 17 / 31
    row = first(season(Weighings=[weighed(how="heft", heft=word)]), "weighings")
    assert row["target"] == pytest.approx(target)
    assert row["gross"] == pytest.approx(target * factor)


def test_a_heft_is_held_between_an_empty_hive_and_one_with_its_combs_full() -> None:
    rows = [weighed(how="heft", heft=said, colony="A1") for said in ("heavy", 60.0, 10.0)]
    found = season(Weighings=rows).weighings
    assert found["gross"].tolist() == pytest.approx([EMPTY + FULL_COMBS, EMPTY + FULL_COMBS, EMPTY])


def test_a_word_in_august_stands_for_no_more_than_the_combs_hold_beside_brood() -> None:
    """Six frames of brood in August leave 11 - 0.8 - 1 - 6 frames of 2.3 kg."""
    august = date(2026, 8, 15)
    found = season(august, Weighings=[weighed(date=august, how="heft", heft="about right")]).weighings.iloc[0]
    assert found["card_stores"] == pytest.approx(2.3 * (11 - 0.8 - 1 - 6))
    assert found["target"] == pytest.approx(16.0 + 2.0 * 1.3 + 6 * FRAME_OF_BROOD + 1.0 + found["card_stores"])


TAKEN_OFF: list[tuple[Row, float]] = [
    ({"extra_1": "Empty super", "extra_2": "Queen excluder", "other_extra": 1.0}, 4.1),
    ({"extra_1": "Empty super", "extra_3": "Empty super"}, 5.0),
    ({"extra_1": "Nothing of the kind"}, 0.0),
    ({"hive_is": "damp"}, 0.3),
    ({"hive_is": "soaked"}, 0.8),
    ({"hive_is": "dry"}, 0.0),
    ({"feed_left": 2.0}, 2.0),
    ({"frames_bees": 6.0}, 6 * 2 * 6.94 * 0.0115 - 2.0),
    ({"frames_brood": 2.0}, 1.3 * FRAME_OF_BROOD),
    ({"frames_brood": 0.0}, -0.7 * FRAME_OF_BROOD),
]


def test_what_is_not_stores_is_taken_off() -> None:
    found = season(Weighings=[weighed(**cells) for cells, _ in TAKEN_OFF])
    assert found.weighings["stores"].tolist() == pytest.approx([37.35 - EMPTY - less for _, less in TAKEN_OFF])


def test_a_hives_own_tare_beats_its_types() -> None:
    found = season(Colonies=colony(own_tare=15.0), Weighings=[weighed()])
    assert first(found)["tare"] == 15.0
    parts = [0.1499, 0.2, 0.25 * 2.0, 0.5 * 0.7 * FRAME_OF_BROOD, 0.5 * 1.0]
    assert first(found)["stores_u"] == pytest.approx(np.sqrt(np.square(parts).sum()), abs=1e-4)


def test_nectar_costs_certainty() -> None:
    calm, flow = map(first, seasons({said: {"Weighings": [weighed(flow_on=said)]} for said in ("no", "yes")}).values())
    assert float(str(flow["stores_u"])) == pytest.approx(np.hypot(float(str(calm["stores_u"])), 1.5))
    assert flow["stores"] == calm["stores"]


# Feeds around a weighing of the same or another day: stores that day, unripe water, stores given since.
SEPTEMBER_DRY = 37.35 - NOT_STORES[SEPTEMBER]
HALF_RIPE = SEPTEMBER - timedelta(days=3)


FED_AROUND: list[tuple[str | None, list[Row], float, float]] = [
    ("before feed", [fed()], 0.0, 5 * THICK),
    ("after feed", [fed()], 5 * WATER, 0.0),
    ("routine", [fed()], 5 * WATER, 0.0),
    (None, [fed()], 5 * WATER, 0.0),
    (None, [fed(date=HALF_RIPE)], 2.5 * WATER, 0.0),
    ("before feed", [fed(date=HALF_RIPE)], 2.5 * WATER, 0.0),
    (None, [fed(date=SEPTEMBER - timedelta(days=300))], 0.0, 0.0),
    (None, [fed(date=SEPTEMBER + timedelta(days=1))], 0.0, 5 * THICK),
    (None, [fed(date=SEPTEMBER + timedelta(days=3))], 0.0, 0.0),
    ("before feed", [fed(), fed(amount=2.0, taken_back="yes")], 0.0, 3 * THICK),
    ("after feed", [fed(), fed(amount=2.0, taken_back="yes")], 3 * WATER, 0.0),
    ("before feed", [fed(amount=2.0, taken_back="yes")], 0.0, -2 * THICK),
    ("before feed", [fed(feed_kind="Fondant")], 0.0, 5 * 0.78 * 0.9 / 0.82),
    ("before feed", [fed(colony="A2")], 0.0, 0.0),
    ("before feed", [fed(feed_kind="Unheard of")], 0.0, 0.0),
    ("before feed", [fed(unit=None)], 0.0, 0.0),
]


def test_feed_before_and_after_a_weighing() -> None:
    as_at = SEPTEMBER + timedelta(days=2)
    cases = {
        at: {"Weighings": [weighed(date=SEPTEMBER, occasion=occasion)], "Feedings": feeds}
        for at, (occasion, feeds, *_) in enumerate(FED_AROUND)
    }
    eaten = 2 * 2.1 / 30
    for one, (occasion, feeds, unripe, since) in zip(seasons(cases, as_at).values(), FED_AROUND, strict=True):
        found, case = first(one), (occasion, feeds)
        assert found["unripe_water"] == pytest.approx(unripe, abs=1e-4), case
        assert found["stores"] == pytest.approx(SEPTEMBER_DRY - unripe, abs=1e-4), case
        assert found["fed_since"] == pytest.approx(since), case
        assert found["stores_today"] == pytest.approx(SEPTEMBER_DRY - unripe + since - eaten, abs=1e-4), case


def test_a_colony_stands_alike_weighed_before_or_after_its_feed() -> None:
    before = weighed(date=SEPTEMBER, occasion="before feed", reading_1=32.0)
    after = weighed(date=SEPTEMBER, occasion="after feed", reading_1=37.0)
    alone, both = (first(season(SEPTEMBER, Weighings=rows, Feedings=[fed()])) for rows in ([before], [after, before]))
    assert alone["stores_today"] == pytest.approx(both["stores_today"])
    assert both["gross"] == 37.0
    assert alone["because"] == "14.2 of 20.4 kg, give or take 2.1; weighed 15 Sep"
    assert alone["should_weigh"] == pytest.approx(both["should_weigh"])


LEFT_IN_THE_FEEDER: list[tuple[float | None, float, int]] = [
    (0.0, 1.0, 1),
    (2.0, 0.6, 1),
    (5.0, 0.0, 1),
    (7.0, 0.0, 1),
    (None, 1.0, 0),
]


def test_what_is_left_in_the_feeder_is_neither_stores_nor_unripe() -> None:
    cases = {
        at: {"Weighings": [weighed(date=SEPTEMBER, feed_left=left)], "Feedings": [fed(date=HALF_RIPE)]}
        for at, (left, *_) in enumerate(LEFT_IN_THE_FEEDER)
    }
    for one, (left, share, known) in zip(seasons(cases, SEPTEMBER).values(), LEFT_IN_THE_FEEDER, strict=True):
        found = first(one)
        assert found["water_share"] == pytest.approx(share), left
        assert found["known"] == known, left
        if known:
            assert found["stores"] == pytest.approx(SEPTEMBER_DRY - float(str(left)) - 2.5 * WATER * share, abs=1e-4)
        else:
            assert (found["verdict"], found["unlooked"]) == ("weigh", 1)
            assert np.isnan(float(str(found["stores"])))


def test_a_feeder_not_looked_at_is_no_matter_after_three_weeks_or_fondant() -> None:
    feeds = fed(date=SEPTEMBER - timedelta(days=22)), fed(feed_kind="Fondant"), fed(colony="A2")
    rows = [weighed(date=SEPTEMBER, feed_left=None)]
    cases = {at: {"Weighings": rows, "Feedings": [feed]} for at, feed in enumerate(feeds)}
    assert [first(found)["known"] for found in seasons(cases, SEPTEMBER).values()] == [1, 1, 1]


# Feeds: what was typed, the mass that was given, its solids, the stores it will give.
GIVEN: list[tuple[Row, float, float, float]] = [
    ({}, 5.0, 0.6135, 5 * THICK),
    ({"amount": 500.0, "unit": "g"}, 0.5, 0.6135, 0.5 * THICK),
    ({"amount": 10.0, "unit": "lb"}, 4.5359237, 0.6135, 4.5359237 * THICK),
    ({"amount": 2.0, "unit": "block", "feed_kind": "Fondant"}, 5.0, 0.78, 5 * 0.78 * 0.9 / 0.82),
    ({"amount": None, "unit": None, "sugar": 3.0, "water": 2.0}, 5.0, 0.6, 5 * 0.6 * 0.9 / 0.82),
    ({"amount": 2.0, "sugar": 3.0, "water": 2.0}, 2.0, 0.6, 2 * 0.6 * 0.9 / 0.82),
    ({"sugar": 3.0}, 5.0, 0.6135, 5 * THICK),
    ({"amount": None, "sugar": 3.0}, 0.0, 0.6135, np.nan),
    ({"amount": 2.0, "unit": None, "sugar": 3.0, "water": 2.0}, 0.0, 0.6, np.nan),
    ({"amount": 0.0}, 0.0, 0.6135, 0.0),
    ({"taken_back": "yes"}, -5.0, 0.6135, -5 * THICK),
    ({"taken_back": "no"}, 5.0, 0.6135, 5 * THICK),
]


def test_feeds() -> None:
    rows = [fed(feed_kind=cells.get("feed_kind", "Home mixed syrup")) | cells for cells, *_ in GIVEN]
    found = season(Feedings=rows).feedings
    for number, key in enumerate(("mass", "solids", "stores"), 1):
        wanted = [float(str(row[number])) for row in GIVEN]
        assert found[key].tolist() == pytest.approx(wanted, nan_ok=True), key


def test_a_fill_is_that_of_its_own_feeder() -> None:
    """Density of sucrose syrup at 20 degC between 60 % (1286.4) and 62 % (1298.2 kg/m3), UCL and NBS C440 tables."""
    row = fed(amount=2.0, unit="feeder fill")
    for holds, litres in ((None, 4.5), (2.0, 2.0)):
        found = first(season(Colonies=colony(feeder_holds=holds), Feedings=[row]), "feedings")
        assert found["mass"] == pytest.approx(2 * litres * 1.2944, rel=0.001)


# Rows that do not count: the reason, and what the colony then stands on.
LATER_ROWS: list[tuple[Row, str, float]] = [
    ({"reading_1": 40.0}, "", 40.0),
    ({"reading_1": 40.0}, "colony?", 37.35),
    ({"reading_1": 40.0, "occasion": "practice"}, "", 37.35),
    ({"reading_1": 40.0, "date": OCTOBER + timedelta(days=1)}, "", 37.35),
    ({"reading_1": 40.0, "hive_is": "snow"}, "", 37.35),
    ({"reading_1": 40.0, "date": None}, "", 37.35),
    ({"reading_1": None}, "", 37.35),
    ({"reading_1": 40.0, "how": "two sides"}, "", 37.35),
    ({"reading_1": 40.0, "scale": "Z9"}, "", 37.35),
    ({"reading_1": 40.0, "colony": "A2"}, "", 37.35),
    ({"how": "heft", "heft": 44.0}, "", 37.35),
    ({"how": "heft", "heft": "perhaps"}, "", 37.35),
    ({"reading_1": 40.0, "hive_type_then": "Unheard of"}, "", 37.35),
    ({"reading_1": 40.0, "date": date(2025, 10, 15)}, "", 37.35),
]


def test_only_sound_rows_of_the_day_are_evidence() -> None:
    before = weighed(date=OCTOBER - timedelta(days=5))
    cases = {at: {"Weighings": [before, weighed(**later)]} for at, (later, *_) in enumerate(LATER_ROWS)}
    held = {at: {"Weighings": {3: reason}} for at, (_, reason, _) in enumerate(LATER_ROWS)}
    for found, (later, _, evidence) in zip(seasons(cases, held=held).values(), LATER_ROWS, strict=True):
        assert first(found)["gross"] == pytest.approx(evidence), later


def test_a_heft_counts_where_nothing_was_weighed() -> None:
    found = season(Weighings=[weighed(how="heft", heft=38.0)])
    assert first(found)["gross"] == pytest.approx(38.0)
    assert first(found)["coarse"] == 1


def test_held_feed_is_not_counted() -> None:
    rows = [weighed(date=SEPTEMBER, occasion="before feed")]
    found = season(SEPTEMBER, held={"Feedings": {2: "amount?"}}, Weighings=rows, Feedings=[fed()])
    assert first(found)["fed_since"] == 0.0
    assert np.isnan(float(str(first(found, "feedings")["stores"])))


def test_of_two_weighings_of_a_day_the_later_row_counts_but_after_feed_beats_both() -> None:
    rows = [weighed(reading_1=36.0, occasion="after feed"), weighed(reading_1=37.0), weighed(reading_1=38.0)]
    assert first(season(Weighings=rows[1:]))["gross"] == 38.0
    assert first(season(Weighings=rows))["gross"] == 36.0


# Moves: from a day on the colony has another hive. What each of two weighings has for tare, and the colony today.
TENTH = date(2026, 10, 10)


MOVED: list[tuple[list[Row], str, tuple[float, float], float]] = [
    ([], "", (16.0, 16.0), 16.0),
    ([{"date": TENTH, "colony": "A1", "what": "new hive type", "into": "Two"}], "", (16.0, 24.5), 24.5),
    ([{"date": TENTH, "colony": "a1", "what": "new hive type", "into": "two"}], "", (16.0, 24.5), 24.5),
    ([{"date": TENTH, "colony": "A1", "what": "new hive type", "into": "Two"}], "into?", (16.0, 16.0), 16.0),
    ([{"date": TENTH, "colony": "A2", "what": "new hive type", "into": "Two"}], "", (16.0, 16.0), 16.0),
    ([{"date": None, "colony": "A1", "what": "new hive type", "into": "Two"}], "", (16.0, 16.0), 16.0),
    ([{"date": TENTH, "colony": "A1", "what": "moved to apiary", "into": "P1"}], "", (16.0, 16.0), 16.0),
    (
        [
            {"date": OCTOBER, "colony": "A1", "what": "down to single", "into": "Eleven"},
            {"date": date(2026, 9, 1), "colony": "A1", "what": "new hive type", "into": "Two"},
        ],
        "",
        (24.5, 16.0),
        16.0,
    ),
    (
        [{"date": date(2026, 10, 20), "colony": "A1", "what": "new hive type", "into": "Two"}],
        "",
        (16.0, 16.0),
        16.0,
    ),
]


def test_moves_change_the_hive_from_their_day_on() -> None:
    rows = [weighed(date=date(2026, 10, 5)), weighed()]
    cases = {at: {"Weighings": rows, "Moves": moves} for at, (moves, *_) in enumerate(MOVED)}
    held = {at: {"Moves": {2: reason}} for at, (_, reason, *_) in enumerate(MOVED) if reason}
    stood = seasons(cases, held=held, Hive_types=hives(TWO))
    for found, (moves, _, tares, today) in zip(stood.values(), MOVED, strict=True):
        assert tuple(found.weighings["tare"]) == tares, moves
        assert (first(found)["tare"], first(found)["type_row"]) == (today, 2 if today == TWO["tare"] else 1), moves


def test_a_row_that_names_its_hive_is_believed_over_moves() -> None:
    moves = [{"date": TENTH, "colony": "A1", "what": "new hive type", "into": "Two"}]
    found = season(Hive_types=hives(TWO), Weighings=[weighed(hive_type_then="Eleven")], Moves=moves)
    assert first(found, "weighings")["tare"] == 16.0


def test_an_own_tare_is_that_of_the_hive_it_was_weighed_in() -> None:
    moves = [{"date": TENTH, "colony": "A1", "what": "new hive type", "into": "Two"}]
    rows = [weighed(date=date(2026, 10, 5)), weighed()]
    found = season(Colonies=colony(own_tare=15.0), Hive_types=hives(TWO), Weighings=rows, Moves=moves)
    assert found.weighings["tare"].tolist() == [15.0, 24.5]


# Checks of a scale: known masses and readings, the line, and the gross of a reading of 38.097 kg.
CHECKS_OF_A_SCALE: list[tuple[list[tuple[float | None, float | None]], float, float, float, float]] = [
    ([], 0.0, 1.0, 38.097, 0.222),
    ([(20.0, 20.4)], 0.0, 1.02, 37.35, 0.061),
    ([(20.0, 20.4), (40.0, 40.8)], 0.0, 1.02, 37.35, 0.301),
    ([(20.0, 20.9), (40.0, 41.3)], 0.5, 1.02, 36.8598, 0.299),
    ([(None, 20.9), (40.0, None)], 0.0, 1.0, 38.097, 0.222),
]


def test_a_checked_scale_is_read_through_its_line() -> None:
    lift = weighed(how="full lift", reading_1=38.097, scale="h1")
    cases: dict[Case, Sheets] = {
        at: {
            "Weighings": [lift],
            "Scale_checks": [
                {"date": date(2026, 9, 1 + day), "scale": "H1", "known": known, "reading": reading}
                for day, (known, reading) in enumerate(checks)
            ],
        }
        for at, (checks, *_) in enumerate(CHECKS_OF_A_SCALE)
    }
    for found, (checks, offset, slope, gross, u) in zip(seasons(cases).values(), CHECKS_OF_A_SCALE, strict=True):
        line, row = first(found, "scales"), first(found, "weighings")
        assert (line["line_offset"], line["line_slope"]) == pytest.approx((offset, slope), abs=1e-9)
        assert row["gross"] == pytest.approx(gross, abs=1e-4)
        assert row["gross_u"] == pytest.approx(np.hypot(u, 0.5), abs=0.002)
        assert line["checks"] == sum(known is not None and reading is not None for known, reading in checks)


def test_a_scale_was_last_checked_on_its_latest_day() -> None:
    rows: list[Row] = [
        {"date": day, "scale": "H1", "known": 20.0, "reading": 20.0} for day in (SEPTEMBER, date(2026, 9, 1))
    ]
    assert first(season(Scale_checks=rows), "scales")["checked_on"] == 46280.0


# Statuses: the first thing that is amiss.
STATUSES_OF_WEIGHINGS: list[tuple[Row, str, str]] = [
    ({}, "", "ok"),
    (dict.fromkeys(weighed()), "", ""),
    ({}, "reading?", "not used before the next run: reading?"),
    ({"date": None}, "", "date?"),
    ({"colony": "A2"}, "", "colony?"),
    ({"colony": None}, "", "colony?"),
    ({"hive_type_then": "Unheard of"}, "", "hive type?"),
    ({"how": None}, "", "how?"),
    ({"hive_is": "snow"}, "", "brush off the snow and weigh again"),
    ({"scale": "Z9"}, "", "scale?"),
    ({"reading_1": None}, "", "date or reading?"),
    ({"how": "two sides", "reading_1": 18.0}, "", "date or reading?"),
    ({"how": "heft", "heft": None}, "", "date or reading?"),
    ({"date": date(2025, 10, 15)}, "", "date or reading?"),
    ({"occasion": "practice"}, "", "practice: not counted"),
    ({"date": OCTOBER + timedelta(days=1)}, "", "later than as at: not counted yet"),
    ({"reading_1": 15.9}, "", "reading 1: outside what this hive can weigh"),
    ({"reading_1": 91.0}, "", "reading 1: outside what this hive can weigh"),
    ({"reading_1": 45.2}, "", "look again: more than it can hold"),
    ({"reading_1": 45.1}, "", "ok"),
    ({"how": "frames of food counted", "reading_1": 9.0}, "", "ok"),
]


def test_statuses_of_weighings() -> None:
    rows = [weighed(**{"reading_1": 37.35, **cells}) for cells, _, _ in STATUSES_OF_WEIGHINGS]
    held = {row: reason for row, (_, reason, _) in enumerate(STATUSES_OF_WEIGHINGS, 2)}
    found = season(held={"Weighings": held}, Weighings=[*rows, weighed()])
    assert found.weighings["status"].tolist() == [*(status for _, _, status in STATUSES_OF_WEIGHINGS), "ok"]


STATUSES_OF_FEEDS: list[tuple[Row, str, str]] = [
    ({}, "", "ok"),
    (dict.fromkeys(fed()), "", ""),
    ({}, "amount?", "not used before the next run: amount?"),
    ({"date": None}, "", "date?"),
    ({"colony": "A2"}, "", "colony?"),
    ({"feed_kind": None}, "", "feed kind?"),
    ({"unit": None}, "", "amount or unit?"),
    ({"unit": "bucket"}, "", "amount or unit?"),
    ({"amount": None}, "", "amount or unit?"),
    ({"date": OCTOBER + timedelta(days=1)}, "", "later than as at: not counted yet"),
    ({"date": date(2026, 9, 30)}, "", "ok"),
    ({"date": date(2026, 10, 1)}, "", "look again: date: too cold for liquid"),
    ({"date": date(2026, 10, 1), "warmest": 9.9}, "", "look again: date: too cold for liquid"),
    ({"date": date(2026, 10, 1), "warmest": 10.0}, "", "ok"),
    ({"date": date(2026, 10, 1), "feed_kind": "Fondant"}, "", "ok"),
]


def test_statuses_of_feeds() -> None:
    rows = [fed(**cells) for cells, _, _ in STATUSES_OF_FEEDS]
    held = {row: reason for row, (_, reason, _) in enumerate(STATUSES_OF_FEEDS, 2)}
    found = season(held={"Feedings": held}, Feedings=[*rows, fed()])
    assert found.feedings["status"].tolist() == [*(status for _, _, status in STATUSES_OF_FEEDS), "ok"]


@pytest.mark.parametrize(
    ("lists", "weighing"),
    [
        ({"Colonies": colony(hive_type=None)}, "hive type?"),
        ({"Colonies": colony(apiary="P9")}, "winter profile of its apiary?"),
    ],
)
def test_statuses_name_what_the_lists_lack(lists: dict[str, Any], weighing: str) -> None:
    found = season(**lists, Weighings=[weighed()], Feedings=[fed()])
    assert found.weighings["status"].tolist() == [weighing]
    assert found.feedings["status"].tolist() == ["apiary or hive type of its colony?"]
    assert first(found)["verdict"] == "not reckoned"


# Feed order: two colonies of one apiary that hold 10 kg each, one of another that is full.
ROOM = 2.3 * (11 - 0.8 - 1) - 10.0 - 2.3 * 0.7 * 14 / 31
"""What a colony with 10 kg of stores still has room for, brood of the day winter starts left out [kg]."""
CLUB_OF_TWO: dict[str, Any] = {
    "Members": [{"member": "M1", "name": "Ann"}, {"member": "M2", "name": "Bo"}],
    "Apiaries": [
        {"apiary": "P1", "member": "M1", "profile": "british-isles"},
        {"apiary": "P2", "member": "M2", "profile": "british-isles"},
    ],
    "Colonies": [
        {"colony": "A1", "apiary": "P1", "hive_type": "Eleven"},
        {"colony": "A2", "apiary": "P1", "hive_type": "Eleven"},
        {"colony": "B1", "apiary": "P2", "hive_type": "Eleven"},
        {"colony": "B2", "apiary": "P2", "hive_type": "Eleven", "state": "united"},
    ],
}


def standing_of_three(day: date, **sheets: list[Row]) -> Season:
    hungry, full = NOT_STORES[day] + 10.0, NOT_STORES[day] + 22.0
    rows = [
        weighed(date=day, colony=code, reading_1=kilograms)
        for code, kilograms in (("A1", hungry), ("A2", hungry), ("B1", full), ("B2", hungry))
    ]
    return season(day, **(CLUB_OF_TWO | {"Weighings": rows} | sheets))


def test_the_order_adds_up_the_colonies_and_says_how_many_packs() -> None:
    found = standing_of_three(SEPTEMBER).feed_order
    liquid = 2 * ROOM / THICK
    assert found["apiary"].tolist() == ["P1", "P2"]
    assert found["colonies"].tolist() == [2.0, 0.0]
    assert found["liquid"].tolist() == pytest.approx([liquid, 0.0])
    assert found["liquid_packs"].tolist() == pytest.approx([liquid / 25, 0.0])
    assert found["solid"].tolist() == [0.0, 0.0]
    assert found["solid_packs"].tolist() == [0.0, 0.0]


def test_after_the_last_day_for_liquid_the_order_is_fondant() -> None:
    """Where fondant can be laid, in whole portions of 2.5 kg; one of them goes on now."""
    colonies = [{**row, "takes_fondant": "yes"} for row in CLUB_OF_TWO["Colonies"]]
    found = standing_of_three(OCTOBER, Colonies=colonies)
    lacks = (18.0 + 2.3 * 17 / 31 - 10.0) * 0.82 / (0.78 * 0.9)
    order = found.feed_order
    assert order["liquid"].tolist() == [0.0, 0.0]
    assert order["solid"].tolist() == pytest.approx([2 * 2.5 * np.ceil(lacks / 2.5), 0.0]) == [25.0, 0.0]
    assert order["solid_packs"].tolist() == [2.0, 0.0]
    assert found.standing["feed_mass"].iloc[:2].tolist() == pytest.approx([2.5, 2.5])


def test_a_colony_that_takes_no_fondant_goes_on_with_liquid_a_portion_at_a_time() -> None:
    found = standing_of_three(OCTOBER).standing.iloc[0]
    assert (found["verdict"], found["feed_kind"]) == ("feed", "Thick")
    assert found["feed_volume"] == pytest.approx(5.0)
    assert found["by_date"] == serial(date(2026, 10, 31))


@pytest.mark.parametrize(("orders", "share"), [("yes", 1), (None, 1), ("no", 0)])
def test_who_orders_elsewhere_is_left_out_of_the_order_but_not_of_the_count(orders: str | None, share: int) -> None:
    members: list[Row] = [{"member": "M1", "name": "Ann", "orders": orders}, {"member": "M2", "name": "Bo"}]
    found = standing_of_three(SEPTEMBER, Members=members)
    assert found.feed_order["colonies"].tolist() == [2.0, 0.0]
    assert found.feed_order["liquid"].tolist() == pytest.approx([share * 2 * ROOM / THICK, 0.0])
    assert found.feed_order["liquid_packs"].tolist() == pytest.approx([share * 2 * ROOM / THICK / 25, 0.0])
    assert found.standing["feed_mass"].iloc[0] == pytest.approx(ROOM / THICK)


def test_a_colony_that_is_gone_is_neither_judged_nor_fed() -> None:
    gone = standing_of_three(SEPTEMBER).standing.iloc[3]
    assert (gone["verdict"], gone["feed_kind"]) == ("", "")
    assert np.isnan(gone["feed_mass"])


# Laws of the sheet as a whole.
POINTERS = ["evidence_row", "heft_row", "rank_scale", "rank_heft"]
"""Columns that tell where a row stands, and so change when rows do."""
OF_A_ROW: list[Row] = [
    weighed(how="platform", reading_1=37.0),
    weighed(how="two sides", reading_1=17.0, reading_2=19.0),
    weighed(how="heft", heft="light"),
    weighed(how="frames of food counted", reading_1=7.0),
    weighed(how="one side", reading_1=16.0, frames_bees=7.0),
    weighed(how="platform", reading_1=36.0, occasion="practice"),
    weighed(how="platform", reading_1=35.0, feed_left=None),
]
ROWS = st.lists(st.sampled_from(OF_A_ROW), min_size=1, max_size=8)
FEEDS: list[Row] = [fed(date=date(2026, 9, 20)), fed(date=date(2026, 10, 3)), fed(date=date(2026, 10, 9), amount=1.0)]


def dated(rows: list[Row]) -> list[Row]:
    """Rows on days of their own, two days apart, the first on 1 October."""
    return [row | {"date": date(2026, 10, 1) + timedelta(days=2 * place)} for place, row in enumerate(rows)]


def same(found: pd.DataFrame, wanted: pd.DataFrame) -> None:
    left, right = (frame.drop(columns=POINTERS, errors="ignore").reset_index(drop=True) for frame in (found, wanted))
    pd.testing.assert_frame_equal(left, right, rtol=1e-12)


@pytest.mark.long
@settings(max_examples=8, deadline=None)
@given(rows=ROWS, data=st.data())
def test_the_order_of_weighings_does_not_matter_when_their_days_differ(rows: list[Row], data: st.DataObject) -> None:
    sheet = dated(rows)
    shuffled = data.draw(st.permutations(sheet))
    same(season(Weighings=shuffled, Feedings=FEEDS).standing, season(Weighings=sheet, Feedings=FEEDS).standing)


@pytest.mark.long
@settings(max_examples=8, deadline=None)
@given(rows=ROWS, blanks=st.lists(st.integers(0, 8), min_size=1, max_size=4))
def test_blank_rows_change_nothing(rows: list[Row], blanks: list[int]) -> None:
    sheet, feeds = dated(rows), list(FEEDS)
    moves: list[Row] = []
    wanted = season(Weighings=sheet, Feedings=feeds)
    spread: list[Row] = list(sheet)
    for place in blanks:
        spread.insert(min(place, len(spread)), {})
        feeds.insert(min(place, len(feeds)), {})
        moves.append({})
    found = season(Weighings=spread, Feedings=feeds, Moves=moves)
    same(found.standing, wanted.standing)
    pd.testing.assert_frame_equal(found.feed_order, wanted.feed_order)
    filled = found.weighings["status"] != ""
    assert filled.sum() == len(sheet)
    kept = found.weighings[filled]["stores"].tolist()
    assert kept == pytest.approx(wanted.weighings["stores"].tolist(), nan_ok=True)


def test_a_heavier_hive_never_needs_more_feed() -> None:
    """Colonies alike but for their gross, from 22 to 44 kg by half kilograms."""
    readings = np.arange(22.0, 44.5, 0.5)
    colonies = [row | {"colony": f"C{place}"} for place in range(len(readings)) for row in colony()]
    rows = [weighed(colony=f"C{place}", reading_1=float(reading)) for place, reading in enumerate(readings)]
    found = season(Colonies=colonies, Weighings=rows).standing
    assert np.all(np.diff(found["short_by"]) < 0)
    assert np.all(np.diff(found["chance_out"]) <= 0)
    assert np.all(np.diff(found["lasts_to"]) >= 0)
    assert np.all(np.diff(found["feed_mass"].fillna(0.0)) <= 0)


def test_the_club_of_these_tests_is_the_checks_own() -> None:
    assert CLUB["Hive types"] == [HIVE]
