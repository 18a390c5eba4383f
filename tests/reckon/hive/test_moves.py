"""Moves carry feed and history along: uniting, another apiary, another hive, supers on and off."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest

from apiarybook.reckon.core.winter import serial, winter
from tests.checks.small import CLUB, HIVE
from tests.reckon.small_season import OCTOBER, SEPTEMBER, fed, season, weighed

if TYPE_CHECKING:
    from apiarybook.reckon.season import Season
    from tests.checks.small import Row

TWO = [CLUB["Colonies"][0] | {"colony": name} for name in ("A1", "A2")]
UNITED: Row = {"date": date(2026, 10, 1), "colony": "A2", "what": "united into", "into": "A1"}


def moved(*moves: Row, as_at: date = OCTOBER, **rows: list[Row]) -> Season:
    return season(as_at=as_at, Moves=list(moves), Colonies=TWO, **rows)


def test_a_united_colony_ends_and_hands_over_its_feed() -> None:
    """5 kg of syrup at 61.35 % keep 5 x 0.6135 x 0.9 / 0.82 = 3.367 kg of stores; A1 was weighed before the uniting."""
    weighings, feeds = [weighed(date=date(2026, 9, 10))], [fed(colony="A2")]
    apart, joined = (moved(*moves, Weighings=weighings, Feedings=feeds).standing for moves in ((), (UNITED,)))
    assert apart["fed_since"].iloc[0] == 0
    assert joined["fed_since"].iloc[0] == pytest.approx(3.367, abs=0.001)
    assert joined["verdict"].tolist()[1] == ""
    assert joined["stores_today"].iloc[0] - apart["stores_today"].iloc[0] == pytest.approx(3.367, abs=0.001)


def test_feed_eaten_in_the_other_hive_is_not_in_this_one_before_the_uniting() -> None:
    """Weighed on 20 September, A1 holds none of the water of a feed that A2 had then; weighed in October it does."""
    feeds = [fed(colony="A2", date=date(2026, 9, 14))]
    before = moved(UNITED, Weighings=[weighed(date=date(2026, 9, 20))], Feedings=feeds).standing.iloc[0]
    assert (before["unripe_water"], before["fed_since"]) == (0, 0)
    feeds = [fed(colony="A2", date=date(2026, 9, 30))]
    after = moved(UNITED, Weighings=[weighed(date=date(2026, 10, 2))], Feedings=feeds).standing.iloc[0]
    assert after["unripe_water"] > 0.5
    assert after["fed_since"] == 0


def test_uniting_later_than_today_or_held_does_not_count() -> None:
    later = moved(UNITED, as_at=date(2026, 9, 30), Weighings=[weighed(date=SEPTEMBER, colony="A2")])
    assert later.standing["verdict"].iloc[1] != ""
    held = season(held={"Moves": {2: "asked"}}, Moves=[UNITED], Colonies=TWO, Weighings=[weighed(colony="A2")])
    assert held.standing["verdict"].iloc[1] != ""


def test_uniting_one_after_the_other_ends_in_the_last() -> None:
    three = [*TWO, TWO[0] | {"colony": "A3"}]
    on: Row = {"date": date(2026, 10, 5), "colony": "A1", "what": "united into", "into": "A3"}
    found = season(Moves=[UNITED, on], Colonies=three, Weighings=[weighed(colony="A3", date=SEPTEMBER)])
    assert found.colonies["united_into"].tolist() == ["A3", "A3", ""]


def test_of_two_that_were_united_into_each_other_one_is_left() -> None:
    back = UNITED | {"colony": "A1", "into": "A2"}
    found = moved(UNITED, back, Weighings=[weighed()])
    assert found.colonies["united_into"].tolist() == ["", "A1"]
    assert found.standing["verdict"].iloc[0] != ""


def test_a_colony_given_away_ends() -> None:
    gone: Row = {"date": date(2026, 10, 1), "colony": "A2", "what": "given away"}
    assert moved(gone, Weighings=[weighed(colony="A2")]).standing["verdict"].tolist()[1] == ""


def test_another_apiary_gives_another_winter_from_that_day() -> None:
    """Between the weighing and the move it ate by the British winter, after it by the Scandinavian."""
    apiaries: list[Row] = [*CLUB["Apiaries"], {"apiary": "P2", "member": "M1", "profile": "scandinavia"}]
    day = date(2026, 9, 25)
    move: Row = {"date": day, "colony": "A1", "what": "moved to apiary", "into": "p2"}
    found = moved(move, Apiaries=apiaries, Weighings=[weighed(date=SEPTEMBER)])
    stood, months = found.standing.iloc[0], winter(2026)
    rows = {name: np.array([months.profiles.index(name) + 1]) for name in ("british-isles", "scandinavia")}
    days = [np.array([serial(one)]) for one in (SEPTEMBER, day, OCTOBER)]
    eaten = months.eaten_between(days[0], days[1], rows["british-isles"])
    eaten = eaten + months.eaten_between(days[1], days[2], rows["scandinavia"])
    assert stood["eaten_since"] == pytest.approx(eaten[0])
    assert stood["winter_starts"] == serial(date(2026, 10, 15))
    assert found.weighings["profile_row"].iloc[0] == rows["british-isles"][0]
    assert found.feed_order["forecast"].iloc[1] > 0


CHANGES: list[Row] = [
    {"what": "new hive type", "into": "Five"},
    {"what": "super off"},
    {"what": "super on"},
    {"what": "super under"},
    {"what": "down to single"},
]
NUCLEUS = HIVE | {"name": "Five", "frames": 5, "tare": 7.0, "want": 8.0, "bees": 1.0}


@pytest.mark.parametrize("change", CHANGES, ids=[str(one["what"]) for one in CHANGES])
def test_a_hive_changed_since_it_was_weighed_is_to_be_weighed_again(change: Row) -> None:
    move: Row = {"date": date(2026, 9, 25), "colony": "A1", **change}
    rows = {"Weighings": [weighed(date=date(2026, 9, 10), reading_1=30.0)], "Feedings": [fed()]}
    after = moved(move, **rows, Hive_types=[HIVE, NUCLEUS]).standing.iloc[0]
    assert (after["verdict"], after["because"]) == ("weigh", "weigh again: the hive was changed on 25 Sep")
    assert after[["stores_today", "short_by", "feed_mass", "should_weigh"]].isna().all()


@pytest.mark.parametrize("change", CHANGES, ids=[str(one["what"]) for one in CHANGES])
def test_what_was_weighed_or_hefted_on_the_day_of_a_change_or_after_counts(change: Row) -> None:
    move: Row = {"date": date(2026, 9, 25), "colony": "A1", **change}
    before = weighed(date=date(2026, 9, 10), reading_1=30.0)
    for later in (weighed(date=date(2026, 9, 25), reading_1=20.0), weighed(how="heft", heft=20.0)):
        after = moved(move, Weighings=[before, later], Hive_types=[HIVE, NUCLEUS]).standing.iloc[0]
        assert after["known"] == 1
        assert after["evidence_day"] > serial(date(2026, 9, 20))


def test_a_change_of_hive_between_weighings_tells_nothing_of_what_was_eaten() -> None:
    weighings = [weighed(), weighed(date=date(2026, 12, 10), reading_1=33.5)]
    off: Row = {"date": date(2026, 11, 1), "colony": "A1", "what": "super off"}
    plain, changed = (moved(*moves, as_at=date(2026, 12, 20), Weighings=weighings) for moves in ((), (off,)))
    assert plain.colonies["rate"].notna().iloc[0]
    assert changed.colonies["rate"].isna().iloc[0]
