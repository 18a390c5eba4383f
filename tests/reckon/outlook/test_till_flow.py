"""The outlook of a small season: days, half-months, the round list, and what feed, weighings and rounds do to it."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apiarybook.handbook.half_months import HALF_MONTHS, half_month
from apiarybook.reckon.core.winter import day_of, serial
from apiarybook.reckon.outlook.till_flow import stores_ahead
from tests.checks.small import CLUB
from tests.reckon.small_season import OCTOBER, season, weighed

if TYPE_CHECKING:
    import pandas as pd

    from apiarybook.reckon.season import Season
    from tests.checks.small import Row

MIDWINTER = date(2026, 12, 20)
FONDANT: list[Row] = [{"colony": "A1", "apiary": "P1", "hive_type": "Eleven", "stand": "solid", "takes_fondant": "yes"}]


def outlook(as_at: date = OCTOBER, weighings: list[Row] | None = None, **rows: list[Row]) -> pd.Series[float]:
    return season(as_at=as_at, Weighings=weighings or [weighed()], **rows).till_the_flow.iloc[0]


def told(found: pd.Series[float], what: str) -> list[float]:
    values = [float(found[half_month(what, *day)]) for day in HALF_MONTHS]
    return [value for value in values if not np.isnan(value)]


def test_half_months_stand_from_today_to_the_flow() -> None:
    """The British flow begins on 20 April; 16 October lies a day ahead of the middle of that month."""
    found = outlook()
    shown = [day for day in HALF_MONTHS if not np.isnan(found[half_month("median", *day)])]
    assert (shown[0], shown[-1]) == ((10, 16), (4, 16))


def test_the_median_is_today_less_what_is_eaten() -> None:
    """M. Bocquet: 1.3 kg in November for a colony of mean strength; the middle of a lognormal with mean 1 and spread
    0.494 is 1 over the root of 1.244: 1.09 (winters 0.3) x 1.01 (places 0.1) x 1.13 (colonies 0.36)."""
    found = outlook()
    fall = found[half_month("median", 11, 1)] - found[half_month("median", 12, 1)]
    assert fall == pytest.approx(1.3 / np.sqrt(1.09 * 1.01 * 1.1296))


def test_the_ends_of_a_band_that_counts_what_was_eaten_since_the_evidence() -> None:
    """By hand: 3 kg eaten since and 8 ahead go by one rate, 1.2816 x the root of 1 + (0.4 x 11)^2 = 5.783 under the
    mean; over the median, the rate's own 10 % end on 11 kg and 1.2816 kg in squares."""
    known = (np.array([one]) for one in (15.0, 1.0, 1.0, 0.4, 8.0, 3.0))
    median, low, high = stores_ahead(*known)
    middle = 1 / np.sqrt(1.16)
    assert low[0] == pytest.approx(15 - 8 - 5.783, abs=0.001)
    assert median[0] == pytest.approx(15 + 3 * (1 - middle) - 8 * middle)
    tenth = middle * np.exp(-1.28155 * np.sqrt(np.log(1.16)))
    assert high[0] == pytest.approx(median[0] + np.hypot(1.28155, 11 * (middle - tenth)), abs=1e-4)


def test_medians_fall_and_bands_widen() -> None:
    found = outlook()
    median, low, high = (np.array(told(found, what)) for what in ("median", "low", "high"))
    assert (np.diff(median) < 0).all()
    assert (np.diff(high - low) > 0).all()
    assert (low < median).all()
    assert (median < high).all()


@settings(deadline=None, max_examples=40)
@given(
    stores=st.floats(0.0, 40.0),
    u=st.floats(0.0, 6.0),
    rate=st.floats(0.3, 2.5),
    spread=st.floats(0.05, 0.5),
    eaten=st.floats(0.0, 20.0),
    since=st.floats(0.0, 6.0),
    more=st.floats(0.0, 5.0),
)
def test_laws_of_stores_ahead(
    stores: float, u: float, rate: float, spread: float, eaten: float, since: float, more: float
) -> None:
    args = [np.array([value]) for value in (u, rate, spread)]
    median, low, high = stores_ahead(np.array([stores]), *args, np.array([eaten]), np.array([since]))
    assert 0 <= low <= median <= high
    richer = stores_ahead(np.array([stores + more]), *args, np.array([eaten]), np.array([since]))
    later = stores_ahead(np.array([stores]), *args, np.array([eaten + more]), np.array([since]))
    for better, now in zip(richer, (median, low, high), strict=True):
        assert better >= now - 1e-9
    assert later[0] <= median
    assert later[1] <= low + 1e-9


def test_more_stores_last_longer() -> None:
    days = [outlook(weighings=[weighed(reading_1=reading)]) for reading in (28.0, 31.0, 34.0, 37.0)]
    for key in ("lasts_to", "median_out"):
        assert all(np.diff([float(one[key]) for one in days]) > 0)
    assert all(one["lasts_to"] < one["median_out"] for one in days)


def test_feed_moves_the_curve_up_by_what_it_gives() -> None:
    """2.5 kg of fondant, 78 % sugar, nine tenths of it kept, ripe at 82 %: 2.14 kg of stores."""
    block: Row = {"date": date(2026, 12, 10), "colony": "A1", "feed_kind": "Fondant", "amount": 2.5, "unit": "kg"}
    rises = np.array(told(outlook(MIDWINTER, Feedings=[block]), "median")) - told(outlook(MIDWINTER), "median")
    assert rises == pytest.approx(np.full(len(rises), 2.5 * 0.78 * 0.9 / 0.82))


@pytest.mark.parametrize(("reading", "faster"), [(33.0, True), (35.8, False)])
def test_a_later_weighing_pulls_the_rate(reading: float, faster: bool) -> None:  # noqa: FBT001 a table's column
    """From 37.35 kg in mid-October about 2.6 kg of stores should be gone by 10 December, and the brood with them."""
    rows = [weighed(), weighed(date=date(2026, 12, 10), reading_1=reading)]
    found = season(as_at=MIDWINTER, Weighings=rows)
    rate, spread = found.colonies["rate"].iloc[0], found.colonies["rate_spread"].iloc[0]
    assert (rate > 1) == faster
    assert spread < 0.4
    assert found.standing["own_rate"].iloc[0] == rate


def test_a_round_is_evidence_and_says_so() -> None:
    """A hive called light on a round holds less than the weighing of October lets believe."""
    looks: list[Row] = [{"date": date(2026, 12, 15), "colony": "A1", "by": "Ann", "heft": "light"}]
    coarse = weighed(how="one side", reading_1=16.2)
    found, before = (
        season(as_at=MIDWINTER, Weighings=[coarse], **rows).standing.iloc[0] for rows in ({"Winter_rounds": looks}, {})
    )
    assert (found["round"], found["hefted_on"]) == (1, serial(date(2026, 12, 15)))
    assert found["how"] == "one side and heft"
    assert found["stores_today"] < before["stores_today"]
    assert found["stores_u"] < before["stores_u"]


def test_a_round_before_the_weighing_or_later_than_today_does_not_count() -> None:
    for day in (date(2026, 10, 1), date(2026, 12, 24)):
        looks: list[Row] = [{"date": day, "colony": "A1", "by": "Ann", "heft": "light"}]
        assert season(as_at=MIDWINTER, Weighings=[weighed()], Winter_rounds=looks).standing["round"].iloc[0] == 0


def test_fondant_on_top_is_food() -> None:
    """A block still whole counts with what it yields: 2.5 kg give 2.14 kg of stores."""
    look: Row = {"date": date(2026, 12, 15), "colony": "A1", "by": "Ann", "heft": 34.0}
    bare, full = (
        season(as_at=MIDWINTER, Weighings=[weighed()], Winter_rounds=[look | {"fondant_left": word}]).standing.iloc[0]
        for word in ("none", "full")
    )
    assert bare["heft_today"] - full["heft_today"] == pytest.approx(2.5 * (1 - 0.78 * 0.9 / 0.82))


def plan(found: Season) -> list[tuple[str, object, object]]:
    rows = found.round_list
    return [
        (day_of(day).isoformat(), heft, fondant)
        for day, heft, fondant in zip(rows["visit_on"], rows["heft"], rows["fondant"], strict=True)
    ]


def test_rounds_begin_with_the_year_and_come_every_three_weeks() -> None:
    """Every two to three weeks once brood rearing restarts (a beekeeping columnist, UK)."""
    assert plan(season(Weighings=[weighed()], Colonies=FONDANT)) == [("2027-01-01", "A1", "")]
    late = season(as_at=date(2027, 1, 20), Weighings=[weighed(date=date(2027, 1, 15))], Colonies=FONDANT)
    assert plan(late) == [("2027-02-05", "A1", "")]


def test_a_light_colony_is_visited_before_it_may_run_out() -> None:
    found = season(Weighings=[weighed(reading_1=29.0)], Colonies=FONDANT)
    stood = found.standing.iloc[0]
    assert day_of(stood["lasts_to"]) < date(2027, 1, 15)
    assert found.till_the_flow["heft_next"].iloc[0] == max(serial(OCTOBER), stood["lasts_to"] - 14)
    assert plan(found)[0][1:] == ("A1", "A1")


def test_a_colony_of_which_nothing_is_known_is_hefted_today() -> None:
    assert plan(season(as_at=MIDWINTER, Weighings=[])) == [("2026-12-20", "A1", "")]


def test_who_runs_out_first_stands_first() -> None:
    """By hand: of two apiaries due the same day that of the lightest colony first, and in it that colony."""
    colonies = [FONDANT[0] | {"colony": name, "apiary": name[0]} for name in ("B1", "A1", "A2")]
    apiaries = [CLUB["Apiaries"][0] | {"apiary": name} for name in "BA"]
    rows = [weighed(colony=one, reading_1=read) for one, read in (("B1", 38.0), ("A1", 38.0), ("A2", 37.0))]
    found = season(Colonies=colonies, Apiaries=apiaries, Weighings=rows)
    assert found.round_list["apiary"].tolist() == ["A", "B"]
    assert found.round_list["heft"].tolist() == ["A2, A1", "B1"]


def test_out_of_season_nothing_is_planned() -> None:
    assert plan(season(as_at=date(2027, 6, 1), Weighings=[weighed()])) == []


def test_an_apiary_has_its_usual_and_its_lightest_colony() -> None:
    colonies = [FONDANT[0] | {"colony": name} for name in ("A1", "A2")]
    rows = [weighed(), weighed(colony="A2", reading_1=33.35)]
    found = season(Colonies=colonies, Weighings=rows)
    one, two = (found.till_the_flow.iloc[at] for at in (0, 1))
    apiary, day = found.by_apiary.iloc[0], (1, 1)
    assert apiary["colonies"] == 2
    medians = [one[half_month("median", *day)], two[half_month("median", *day)]]
    assert apiary[half_month("mean", *day)] == pytest.approx(np.mean(medians))
    assert apiary[half_month("lightest", *day)] == pytest.approx(min(medians))
    assert apiary[half_month("above", *day)] > 0
