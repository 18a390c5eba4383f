"""Rows in, evidence out: which lifts calibrate a hand, and what a later heft adds to a weighing.

The hive is that of test_season: empty 16 kg, 18 kg wanted. Combination by inverse variance and the sharing of
uncertainties: JCGM 100:2008, 5.1 and 5.2. Where a bound of common practice is meant (3 standard uncertainties, the
kilogram or two never chased) it is the model's own, common practice, no source.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apiarybook.reckon.hefting.calibration import default_hand
from tests.checks.small import checked
from tests.reckon.small_season import OCTOBER, SEPTEMBER, fed, season, weighed

if TYPE_CHECKING:
    import pandas as pd

    from apiarybook.reckon.season import Season
    from tests.checks.small import Row

EARLIER = OCTOBER - timedelta(days=10)


def heft(guess: object, **cells: object) -> Row:
    return weighed(how="heft", heft=guess, **cells)


def errors(*rows: Row, as_at: date = OCTOBER) -> list[float]:
    return [round(float(one), 4) for one in season(as_at, Weighings=list(rows)).pairs["error"]]


def stood(*rows: Row, feeds: list[Row] | None = None, as_at: date = OCTOBER) -> pd.Series[float]:
    return season(as_at, Weighings=list(rows), Feedings=feeds or []).standing.iloc[0]


TENTH = round(float(np.log(37.35 / 40.0)), 4)


@pytest.mark.parametrize(
    ("rows", "found"),
    [
        pytest.param([weighed(heft=40.0)], [TENTH], id="a guess beside the reading"),
        pytest.param([heft(40.0), weighed()], [TENTH], id="two rows of one day"),
        pytest.param([weighed(), heft(40.0)], [TENTH], id="in any order"),
        pytest.param([weighed(reading_1=30.0), weighed(), heft(40.0)], [TENTH], id="the day's last weighing"),
        pytest.param([heft(40.0, by="Bo"), heft(40.0), weighed()], [TENTH, TENTH], id="two hands, one weighing"),
        pytest.param([weighed(heft=40.0, occasion="practice")], [TENTH], id="practice"),
        pytest.param([heft(40.0, date=EARLIER), weighed()], [], id="another day"),
        pytest.param([heft(40.0), weighed(extra_1="Empty super")], [], id="with another kit"),
        pytest.param([heft(40.0, occasion="before feed"), weighed(occasion="after feed")], [], id="fed between"),
        pytest.param([heft(40.0, by=None), weighed()], [], id="nobody's hand"),
        pytest.param([weighed(heft=0.0)], [], id="a guess of nothing"),
        pytest.param([weighed(heft=-5.0)], [], id="a guess under nothing"),
        pytest.param([weighed(heft=40.0, how="one side", reading_1=17.0)], [], id="a weighing as rough as a hand"),
        pytest.param([weighed(heft=40.0, how="frames of food counted", reading_1=7.0)], [], id="no weighing at all"),
        pytest.param([weighed(heft=40.0, date=OCTOBER + timedelta(days=1))], [], id="later than as at"),
        pytest.param([weighed(heft=40.0, hive_is="snow")], [], id="a row that does not count"),
    ],
)
def test_pairs(rows: list[Row], found: list[float]) -> None:
    assert errors(*rows) == found


def test_a_word_is_judged_against_the_target_of_its_day() -> None:
    found = season(Weighings=[weighed(heft="light")])
    target = found.weighings["target"].iloc[0]
    assert found.pairs["error"].tolist() == pytest.approx([np.log(37.35 / target)])
    assert found.hefting["guesses"].tolist() == [0.0, 0.0]
    assert found.hefting["says"].iloc[1] == "words only so far: guess a weight before weighing"


def test_held_rows_calibrate_nobody() -> None:
    assert season(Weighings=[weighed(heft=40.0)], held={"Weighings": {2: "x"}}).pairs.empty


def test_practice_calibrates_and_never_counts_for_standing() -> None:
    found = season(Weighings=[weighed(heft=30.0, occasion="practice"), heft(30.0, date=EARLIER)])
    assert found.standing["weighed_on"].iloc[0] == found.weighings["rank_heft"].max() // 10_000_000
    assert found.standing["gross"].iloc[0] == pytest.approx(30.0 * found.hefting["factor"].iloc[1])
    assert found.hefting["factor"].iloc[1] > 1.0


def test_without_pairs_the_sheet_holds_hands_at_large_alone() -> None:
    found = season(Weighings=[weighed(), heft(33.0, date=EARLIER)])
    assert found.hefting["by"].tolist() == ["any other hand"]
    assert found.hefting["spread"].tolist() == default_hand()["spread"].tolist()


def test_evidence_of_two_kinds_is_combined_by_inverse_variance() -> None:
    found = stood(weighed(date=EARLIER), heft(40.0))
    scale, hand = found["scale_today"], found["heft_today"]
    share = found["carried_u"] ** -2.0, found["heft_u"] ** -2.0
    assert found["stores_today"] == pytest.approx((share[0] * scale + share[1] * hand) / sum(share))
    assert found["how"] == "platform and heft"
    alone = sum(share) ** -0.5
    assert found["stores_u"] == pytest.approx(np.hypot(alone, found["shared_u"]), rel=1e-3)


def test_what_both_share_is_no_more_certain_for_being_seen_twice() -> None:
    """The tare's two kilograms stay whatever is lifted."""
    rows = [weighed(heft=37.35, date=SEPTEMBER + timedelta(days=day)) for day in range(20)]
    found = stood(*rows, heft(37.35))
    assert found["shared_u"] > 1.6
    assert found["stores_u"] > found["shared_u"]


@pytest.mark.parametrize(
    ("rows", "how", "coarse"),
    [
        pytest.param([weighed()], "platform", 0, id="weighed"),
        pytest.param([heft(38.0)], "heft", 1, id="hefted"),
        pytest.param([weighed(date=EARLIER), heft(38.0)], "platform and heft", 0, id="hefted since"),
        pytest.param([weighed(date=EARLIER), heft("light")], "platform and heft", 0, id="by a word since"),
        pytest.param([heft(38.0, date=EARLIER), weighed()], "platform", 0, id="hefted before"),
        pytest.param([weighed(), heft(38.0)], "platform", 0, id="hefted the same day"),
        pytest.param(
            [weighed(date=EARLIER, how="one side", reading_1=17.0), heft(38.0)],
            "one side and heft",
            1,
            id="two rough ones",
        ),
        pytest.param(
            [weighed(date=EARLIER, how="frames of food counted", reading_1=7.0), heft(38.0)],
            "frames of food counted and heft",
            1,
            id="frames counted",
        ),
        pytest.param(
            [weighed(date=OCTOBER - timedelta(days=30)), heft(38.0)], "platform and heft", 1, id="an old weighing"
        ),
    ],
)
def test_standing_says_on_which_evidence_it_stands(rows: list[Row], how: str, coarse: int) -> None:
    found = stood(*rows)
    assert (found["how"], found["coarse"]) == (how, coarse)


def calibrated(guess: float = 37.35) -> list[Row]:
    """Twenty lifts of a steady hand on the school's hive."""
    return [weighed(occasion="practice", heft=guess + (day % 5 - 2) * 0.5, by="Ann") for day in range(20)]


def test_evidence_far_apart_is_not_averaged() -> None:
    rows = [*calibrated(), weighed(date=EARLIER, reading_1=24.0), heft(40.0)]
    found = stood(*rows)
    assert (found["apart"], found["coarse"]) == (1, 1)
    assert found["stores_today"] == found["scale_today"]
    assert found["how"] == "platform"
    assert found["stores_u"] == pytest.approx(stood(*rows[:-1])["stores_u"])


def test_evidence_far_apart_is_a_question() -> None:
    rows = [*calibrated(), weighed(date=EARLIER, reading_1=24.0), heft(40.0)]
    asked = [one for one in checked(OCTOBER, Weighings=rows).findings if one.rule == "evidence-apart"]
    assert [(one.cell, one.weight) for one in asked] == [("H23", "ask")]
    assert "The weighing is used" in asked[0].message


def test_a_heft_after_feed_counts_once_somebody_looked_into_the_feeder() -> None:
    feeds = [fed(date=OCTOBER - timedelta(days=3))]
    looked = stood(weighed(date=EARLIER), heft(40.0), feeds=feeds)
    unseen = stood(weighed(date=EARLIER), heft(40.0, feed_left=None), feeds=feeds)
    assert (looked["heft_counts"], unseen["heft_counts"]) == (1, 0)
    assert unseen["how"] == "platform"


@pytest.mark.parametrize(("days", "fed_since_heft"), [(5, False), (1, True)])
def test_feed_is_set_against_each_evidence(days: int, fed_since_heft: bool) -> None:  # noqa: FBT001 a table's column
    feeds = [fed(date=OCTOBER - timedelta(days=days))]
    found = stood(weighed(date=EARLIER), heft(40.0, date=OCTOBER - timedelta(days=3)), feeds=feeds)
    assert (found["heft_fed"] > 0) == fed_since_heft
    assert (found["heft_unripe"] > 0) == (not fed_since_heft)
    assert found["fed_since"] > 0


def test_a_weighing_and_a_heft_that_agree_change_nothing_but_how_sure_it_is() -> None:
    alone = stood(weighed(date=EARLIER, how="two sides", reading_1=18.0, reading_2=18.0))
    rows = [weighed(date=EARLIER, how="two sides", reading_1=18.0, reading_2=18.0)]
    level = heft(float(alone["scale_today"]) + 16.0 + 2.033 + 0.62 + 1.0)
    both = stood(*rows, level)
    assert both["stores_today"] == pytest.approx(alone["stores_today"], abs=0.05)
    assert both["stores_u"] < alone["stores_u"]


@settings(max_examples=8, deadline=None)
@given(read=st.floats(20, 45), guess=st.floats(20, 45), age=st.integers(1, 40))
def test_the_answer_lies_between_both_and_is_no_less_sure(read: float, guess: float, age: int) -> None:
    weighing = weighed(date=OCTOBER - timedelta(days=age), reading_1=round(read, 1))
    found, alone = stood(weighing, heft(round(guess, 1))), stood(weighing)
    ends = sorted([found["scale_today"], found["heft_today"]])
    assert ends[0] - 1e-9 <= found["stores_today"] <= ends[1] + 1e-9
    assert found["stores_u"] <= alone["stores_u"] + 1e-9
    assert found["stores_u"] >= found["shared_u"]


HANDS: dict[str, list[float]] = {
    "one lift": [40.0],
    "an absurd guess": [37.0, 38.0, 390.0],
    "all guesses alike": [40.0] * 8,
    "pounds in a book of kilograms": [82.0, 83.0, 81.0],
    "a perfect hand": [37.35] * 30,
}


@pytest.mark.parametrize("guesses", HANDS.values(), ids=HANDS.keys())
def test_hands_of_every_sort_get_a_sensible_row(guesses: list[float]) -> None:
    found = season(Weighings=[weighed(heft=guess, occasion="practice") for guess in guesses]).hefting.iloc[1]
    assert 0.01 < found["spread"] < 3.0
    assert 0.1 < found["factor"] < 1.5
    assert found["within"] > 0.5
    assert found["says"]


def worth(*rows: Row, as_at: date = OCTOBER) -> Season:
    colonies = [{"colony": f"A{n}", "apiary": "P1", "hive_type": "Eleven", "stand": "solid"} for n in (1, 2, 3)]
    return season(as_at, Colonies=colonies, Weighings=list(rows))


def test_worth_weighing_lists_what_nobody_lifted_first_and_leaves_out_what_was_weighed() -> None:
    found = worth(weighed(), heft(38.0, colony="A2")).worth_weighing
    assert found["colony"].tolist() == ["A3", "A2"]
    assert np.isnan(found["feed_hanging"].iloc[0])
    assert found["feed_hanging"].iloc[1] > 0.5


def test_no_feed_hangs_on_weighing_a_hive_far_above_its_want() -> None:
    """It stands on the list for as long as its verdict is to weigh it, and last."""
    rows = [*calibrated(), heft(55.0), heft(55.0, colony="A2"), heft(37.0, colony="A3")]
    found = worth(*rows).worth_weighing
    assert found["colony"].tolist() == ["A3", "A1", "A2"]
    assert found["feed_hanging"].tolist() == [pytest.approx(2.0, abs=0.5), 0.0, 0.0]
