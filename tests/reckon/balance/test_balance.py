"""The mass balance between two weighings: rows in, residual and standing out; and the laws of conservation.

Hive of the small book: 16 kg, 2 kg of bees in October, British winter. Expected changes are worked out by hand from the
profile's printed figures where a comment says so.
"""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apiarybook.handbook import handbook
from apiarybook.reckon.core.consumption import calendar
from apiarybook.reckon.feeding.feeds import unripe_share
from apiarybook.reckon.hive.kit import brood_default
from tests.checks.small import CLUB
from tests.reckon import many_colonies
from tests.reckon.small_season import season

if TYPE_CHECKING:
    from collections.abc import Sequence

    from apiarybook.reckon.season import Season
    from tests.checks.small import Row

FIRST, SECOND, THIRD = date(2026, 9, 15), date(2026, 10, 15), date(2026, 10, 31)
AS_AT = date(2027, 4, 30)
LIVING = 2.0 * (1.0 - 1.1) + (0.7 - 4.0) * 2 * 6.94 * 0.6 * 0.06
"""Change of bees and brood from the middle of September to that of October [kg], as the British profile has them."""
EATEN = 2.1 * 16 / 30 + 2.3 * 14 / 31
"""Eaten in these thirty days [kg]: 2.1 kg in September, 2.3 kg in October."""


def wood_water(day: date) -> float:
    """Water that the wood of a hive has taken up since mid July [kg]: 0.6 kg by mid January, by a cosine."""
    return 0.6 * (1 - float(np.cos(2 * np.pi * (day - date(2000, 7, 15)).days / 365.25))) / 2


DAMP = wood_water(SECOND) - wood_water(FIRST)
SIX_DECIMALS = 5e-5
"""What figures of the calendar may be off [kg]: a day's share stands in six decimals, and as much adds up in months."""
OF_A_DAY = 0.5e-6
"""What six decimals leave out of a day's share at most [kg]: more than that where months lie between two weighings."""


def weighing(day: date, reading: float | None, **cells: object) -> Row:
    told = {"date": day, "colony": "A1", "by": "Ann", "how": "platform", "feed_left": 0.0, "scale": "H1"}
    return told | {"reading_1": reading} | cells


def feed(day: date, amount: float, **cells: object) -> Row:
    return {"date": day, "colony": "A1", "feed_kind": "Thick", "amount": amount, "unit": "kg", **cells}


def of(*weighings: Row, **rows: list[Row]) -> pd.DataFrame:
    return season(AS_AT, Weighings=list(weighings), **rows).balance


def one(*weighings: Row, **rows: list[Row]) -> pd.Series[float]:
    found = of(*weighings, **rows)
    assert len(found) == 1
    return found.iloc[0]


def test_what_a_month_takes_is_expected() -> None:
    found = one(weighing(FIRST, 38.0), weighing(SECOND, 38.0 + LIVING + DAMP - EATEN))
    assert found["eaten"] == pytest.approx(EATEN)
    assert found["living"] == pytest.approx(LIVING)
    assert found["wood"] == pytest.approx(DAMP)
    assert found["residual"] == pytest.approx(0.0, abs=SIX_DECIMALS)
    assert found["standing"] == ""


@pytest.mark.parametrize(
    ("later", "feeds", "residual"),
    [
        pytest.param({"reading_1": 41.0}, [], 3.0, id="heavier than expected"),
        pytest.param({"reading_1": 38.0, "extra_1": "Empty super"}, [], -2.5, id="an extra that was not there before"),
        pytest.param({"reading_1": 38.0, "other_extra": 1.5}, [], -1.5, id="another extra"),
        pytest.param({"reading_1": 38.0, "hive_is": "soaked"}, [], -0.8, id="a soaked box"),
        pytest.param(
            {"reading_1": 38.0, "frames_bees": 14.0},
            [],
            EATEN * (1.4 * 1.5962 / 2.0) ** 0.521 - EATEN,
            id="more bees eat more",
        ),
        pytest.param({"reading_1": 38.0, "frames_bees": 10.0}, [], 0.0, id="ten frames are as many as print has"),
        pytest.param({"reading_1": 38.0, "hive_type_then": "Other"}, [], 3.0, id="a lighter hive by three kilograms"),
        pytest.param(
            {"reading_1": 38.0, "occasion": "before feed"}, [feed(SECOND, 5.0)], 0.0, id="fed after the weighing"
        ),
        pytest.param(
            {"reading_1": 38.0, "occasion": "after feed"}, [feed(SECOND, 5.0)], -5.0, id="fed before the weighing"
        ),
        pytest.param(
            {"reading_1": 38.0},
            [feed(SECOND, 5.0), feed(SECOND, 5.0, taken_back="yes")],
            0.0,
            id="all of it taken back",
        ),
        pytest.param(
            {"reading_1": 38.0, "feed_left": 5.0}, [feed(FIRST, 5.0)], -5.0, id="all of it still in the feeder"
        ),
        pytest.param(
            {"reading_1": 38.0},
            [feed(date(2026, 9, 20), 5.0)],
            -5.0 + 5.0 * (1 - 0.6135 * 0.9 / 0.82) * (1 - 1 / (1 + (25 / 6) ** 3.5)),
            id="twenty-five days old, the water nearly gone",
        ),
    ],
)
def test_what_the_book_knows_is_no_residual(later: Row, feeds: list[Row], residual: float) -> None:
    types = [*CLUB["Hive types"], CLUB["Hive types"][0] | {"name": "Other", "tare": 13.0}]
    first = weighing(FIRST, 38.0 - LIVING - DAMP + EATEN, occasion="before feed")
    found = one(first, weighing(SECOND, None) | later, Feedings=feeds, Hive_types=types)
    assert found["residual"] == pytest.approx(residual, abs=SIX_DECIMALS)


def test_parts_add_up_to_what_is_expected() -> None:
    rows = weighing(FIRST, 38.0), weighing(SECOND, 40.0, extra_1="Queen excluder", feed_left=1.0)
    found = one(*rows, Feedings=[feed(date(2026, 10, 1), 6.0)])
    parts = found["fed"] - found["driven_off"] - found["eaten"] + found["kit"] + found["living"] + found["wood"]
    assert found["expected"] == pytest.approx(parts)
    assert found["fed"] == pytest.approx(5.0)
    assert found["kit"] == pytest.approx(0.6 + 1.0)


def test_bees_counted_at_both_ends_count_as_seen() -> None:
    found = one(weighing(FIRST, 38.0, frames_bees=10.0), weighing(SECOND, 36.0, frames_bees=6.0))
    brood = (0.7 - 4.0) * 2 * 6.94 * 0.6 * 0.06
    assert found["living"] - brood == pytest.approx(-4 * 2 * 6.94 * 0.0115)


@pytest.mark.parametrize(
    ("away", "standing"), [(2.4, ""), (-3.2, ""), (3.0, "note"), (-4.0, "note"), (4.6, "ask"), (-7.0, "ask")]
)
def test_standing_by_size(away: float, standing: str) -> None:
    """By hand: what 2.23 kg eaten may be more is exp(2 x 0.468 - 0.110) or exp(3 x 0.468 - 0.110) times it, so that
    losses are noted from 3.5 and asked about from 6.6 kg, gains from 2.9 and 4.4 kg."""
    found = one(weighing(FIRST, 38.0), weighing(SECOND, 38.0 + LIVING - EATEN + away))
    assert 2.4 < 2 * found["residual_u"] < 3.0 < 3 * found["residual_u"] < 4.6
    assert found["standing"] == standing


def test_errors_of_one_scale_are_common_to_both_weighings() -> None:
    unchecked = [
        {"scale": "H2", "kind": "hanging", "division": 0.1},
        {"scale": "H3", "kind": "hanging", "division": 0.1},
    ]
    scales = [*CLUB["Scales"], *unchecked]
    spread = {
        pair: one(weighing(FIRST, 38.0, scale=pair[0]), weighing(FIRST, 38.0, scale=pair[1]), Scales=scales)[
            "residual_u"
        ]
        for pair in (("H2", "H2"), ("H2", "H3"), (None, None))
    }
    handling, readout, slope = 0.1, 0.1 / 12**0.5, 38.0 * 0.01 / 3**0.5
    assert spread["H2", "H2"] == pytest.approx((2 * (handling**2 + readout**2)) ** 0.5)
    assert spread["H2", "H3"] == pytest.approx((2 * (handling**2 + readout**2 + slope**2)) ** 0.5)
    assert spread[None, None] == pytest.approx((2 * (handling**2 + readout**2 + (slope / 2) ** 2)) ** 0.5)


@pytest.mark.parametrize(
    ("rows", "count"),
    [
        pytest.param([weighing(FIRST, 38.0)], 0, id="one weighing"),
        pytest.param([weighing(FIRST, 38.0), weighing(SECOND, 20.0, occasion="practice")], 0, id="practice"),
        pytest.param([weighing(FIRST, 38.0), weighing(SECOND, None, how="heft", heft="heavy")], 0, id="a heft"),
        pytest.param(
            [weighing(FIRST, 38.0), weighing(SECOND, 6.0, how="frames of food counted")], 0, id="frames counted"
        ),
        pytest.param([weighing(FIRST, 38.0), weighing(SECOND, 36.0), weighing(THIRD, 35.0)], 2, id="three"),
        pytest.param([weighing(FIRST, 38.0), weighing(FIRST, 38.2)], 1, id="twice on one day"),
    ],
)
def test_pairs_of_weighings(rows: list[Row], count: int) -> None:
    found = of(*rows)
    assert len(found) == count
    assert {"residual", "standing", "first", "second"} <= set(found.columns)


def test_spring_typed_before_autumn_is_sorted_by_day() -> None:
    found = one(weighing(date(2027, 3, 1), 30.0), weighing(FIRST, 38.0))
    assert found[["row_1", "row_2"]].tolist() == [1, 0]
    assert found["changed"] == pytest.approx(-8.0)


def test_the_leap_day_is_a_day_like_any_other() -> None:
    """Winter 2027/28; 2.3 kg in the 31 days of March, 1.3 kg in the 29 of this February."""
    before, leap, after = (weighing(day, 30.0) for day in (date(2028, 2, 28), date(2028, 2, 29), date(2028, 3, 2)))
    eaten = [float(many_day_season(2027, rows)["eaten"].iloc[0]) for rows in ([before, leap], [leap, after])]
    assert eaten == pytest.approx([1.3 / 29, 1.3 / 29 + 2.3 / 31], abs=SIX_DECIMALS)


def many_day_season(winter: int, rows: list[Row]) -> pd.DataFrame:
    from apiarybook.book.si_frames import si
    from apiarybook.reckon.core.winter import serial
    from apiarybook.reckon.season import reckon_season
    from tests.checks.small import book

    small = book(winter=float(winter), Weighings=rows)
    frames = si(small)
    return reckon_season(frames, small.settings, serial(date(winter + 1, 4, 30))).balance


def test_gains_are_no_surprise_once_the_flow_has_begun() -> None:
    spring = weighing(date(2027, 3, 20), 30.0), weighing(date(2027, 5, 20), 40.0)
    found = season(date(2027, 6, 1), Weighings=list(spring)).balance.iloc[0]
    assert found["residual"] > 3 * found["residual_u"]
    assert found["standing"] == ""
    lost = season(date(2027, 6, 1), Weighings=[spring[0], spring[1] | {"reading_1": 12.0}]).balance.iloc[0]
    assert lost["standing"] in {"note", "ask"}


@pytest.mark.parametrize(
    "rows",
    [
        {"Moves": [{"date": date(2026, 10, 1), "colony": "B1", "what": "united into", "into": "A1"}]},
        {"Moves": [{"date": date(2026, 10, 1), "colony": "A1", "what": "united into", "into": "B1"}]},
        {"Moves": [{"date": date(2026, 10, 1), "colony": "A1", "what": "given away"}]},
        {"After_winter": [{"date": date(2026, 10, 1), "colony": "A1", "outcome": "died"}]},
    ],
    ids=["another united into it", "united into another", "given away", "died"],
)
def test_nothing_is_expected_of_colonies_that_changed_or_went(rows: dict[str, list[Row]]) -> None:
    colonies = [*CLUB["Colonies"], CLUB["Colonies"][0] | {"colony": "B1"}]
    found = one(weighing(FIRST, 38.0), weighing(SECOND, 25.0), Colonies=colonies, **rows)
    assert (found["judged"], found["standing"]) == (0, "")


# Laws of conservation, of colonies without noise

DAYS = st.dates(date(2026, 8, 1), date(2027, 4, 30))
FEEDS = st.lists(st.tuples(DAYS, st.floats(0.5, 15.0)), max_size=4)
HIVE, TYPE = "National single", f"National single, {many_colonies.HOME}"
SYRUP = handbook().feeds["Syrup 2 to 1 by mass"]
TABLE = calendar(handbook().profiles[many_colonies.HOME], date(2026, 7, 1), 400).set_index("day")


def true_gross(day: date, start: float, feeds: Sequence[tuple[date, float]]) -> float:
    """Gross of a colony that does all as the handbook has it [kg]; the first of August is its start."""
    row, begun, october = (
        TABLE.loc[pd.Timestamp(day)],
        TABLE.loc[pd.Timestamp(2026, 8, 1)],
        handbook().hive_types[HIVE].bees.value,
    )
    eats = (october / 2.0) ** 0.521
    brood = float(brood_default(row["brood_frames"], october))
    gross = (
        start
        + wood_water(day)
        + october * row["bees_factor"]
        + brood
        - eats * (row["cumulative"] - begun["cumulative"])
    )
    for fed_on, mass in feeds:
        if fed_on < day:
            half = 3.0 if date(2026, 4, 1) <= fed_on <= date(2026, 9, 15) or fed_on >= date(2027, 4, 1) else 6.0
            water = mass * (1 - SYRUP.solids.value * SYRUP.eta.value / 0.82)
            gross += mass - water * (1 - float(unripe_share((day - fed_on).days, half)))
    return float(gross)


def balance_of(days: Sequence[date], grosses: Sequence[float], feeds: Sequence[tuple[date, float]]) -> pd.DataFrame:
    colonies = pd.DataFrame([{"colony": "H", "apiary": many_colonies.HOME, "hive_type": TYPE}])
    weighings = {"colony": ["H"] * len(days), "date": list(days), "how": "platform", "reading_1": list(grosses)}
    told = {
        "colony": ["H"] * len(feeds),
        "date": [day for day, _ in feeds],
        "feed_kind": SYRUP.name,
        "amount": [mass for _, mass in feeds],
        "unit": "kg",
    }
    weighings["occasion"] = "before feed"
    found: Season = many_colonies.season(AS_AT, colonies, weighings, told if feeds else None)
    return found.balance


@settings(deadline=None, max_examples=5)
@given(st.lists(DAYS, min_size=2, max_size=5, unique=True), st.floats(20.0, 60.0), FEEDS)
def test_no_event_leaves_no_residual(days: list[date], start: float, feeds: list[tuple[date, float]]) -> None:
    found = balance_of(days, [true_gross(day, start, feeds) for day in days], feeds)
    assert len(found) == len(days) - 1
    apart = max(b - a for a, b in pairwise(sorted(days))).days
    assert np.abs(found["residual"]).max() < max(SIX_DECIMALS, OF_A_DAY * apart)


@settings(deadline=None, max_examples=5)
@given(st.lists(DAYS, min_size=2, max_size=4, unique=True), FEEDS, st.floats(0.1, 20.0), st.data())
def test_feed_not_written_down_is_the_residual(
    days: list[date], feeds: list[tuple[date, float]], mass: float, data: st.DataObject
) -> None:
    """Whatever is added to one weighing and all that follow moves one interval by as much, and no other."""
    days = sorted(days)
    at = data.draw(st.integers(1, len(days) - 1))
    without, added = (
        balance_of(days, [true_gross(day, 30.0, feeds) + kilograms * (day >= days[at]) for day in days], feeds)
        for kilograms in (0.0, mass)
    )
    expected = [mass * (number == at - 1) for number in range(len(days) - 1)]
    assert (before_eating(added) - before_eating(without)).tolist() == pytest.approx(expected, abs=SIX_DECIMALS)


def before_eating(found: pd.DataFrame) -> pd.Series[float]:
    """What an interval leaves over before anything is said of eating, which its colony's other intervals tell of."""
    return found["residual"] - found["eaten"]


@settings(deadline=None, max_examples=5)
@given(st.permutations(range(4)), st.permutations(range(3)))
def test_order_of_rows_does_not_enter(rows: list[int], fed: list[int]) -> None:
    days = [date(2026, 8, 20), FIRST, SECOND, date(2027, 3, 1)]
    grosses, feeds = [38.0, 33.0, 45.0, 30.0], [(FIRST, 4.0), (date(2026, 9, 20), 6.0), (date(2026, 10, 3), 3.0)]
    wanted = balance_of(days, grosses, feeds)
    found = balance_of([days[at] for at in rows], [grosses[at] for at in rows], [feeds[at] for at in fed])
    apart = ["row_1", "row_2"]
    pd.testing.assert_frame_equal(found.drop(columns=apart), wanted.drop(columns=apart))


@settings(deadline=None, max_examples=5)
@given(
    st.lists(DAYS, min_size=3, max_size=3, unique=True), FEEDS, st.lists(st.floats(20.0, 60.0), min_size=3, max_size=3)
)
def test_residuals_add_up_over_intervals(
    days: list[date], feeds: list[tuple[date, float]], grosses: list[float]
) -> None:
    """A weighing left out joins two intervals, and what they leave over before anything was eaten."""
    days = sorted(days)
    apart, joined = balance_of(days, grosses, feeds), balance_of(days[::2], grosses[::2], feeds)
    assert before_eating(joined).iloc[0] == pytest.approx(before_eating(apart).sum(), abs=SIX_DECIMALS)


def test_days_far_apart_are_less_certain() -> None:
    near, far = (balance_of([FIRST, FIRST + timedelta(days=many)], [38.0, 36.0], []) for many in (10, 100))
    assert near["residual_u"].iloc[0] < far["residual_u"].iloc[0]


# How well it is known what feeds weigh in the hive


@pytest.mark.parametrize("days", [2, 4, 6, 10, 25])
def test_the_time_of_ripening_counts_while_it_lasts(days: int) -> None:
    """By how much water lost changes with the logarithm of its time: a difference quotient of the public law."""
    fed_on, amount = date(2026, 9, 20), 10.0
    found = one(weighing(FIRST, 38.0), weighing(fed_on + timedelta(days=days), 44.0), Feedings=[feed(fed_on, amount)])
    water, step, half = amount * (1 - 0.6135 * 0.9 / 0.82), 1e-4, 6.0
    lost = [1 - unripe_share(days, half * np.exp(way * step)) for way in (1, -1)]
    by_time = float(water * (lost[1] - lost[0]) / (2 * step))
    known = handbook()["water_spread"].value * by_time
    stored = handbook()["feed_spread"].value * (found["fed"] - found["driven_off"])
    shared = np.hypot(known, np.sqrt(handbook()["feed_shared"].value) * stored)
    assert found["feed_u"] == pytest.approx(shared, rel=2e-3)  # the mix of the list has 0.6135 in four digits


def test_errors_of_several_feeds_partly_cancel() -> None:
    """The same in one feed or in four: half of the variance is each feed's own (JCGM 100:2008, 5.1.2)."""
    fed = [date(2026, 9, 16), date(2026, 9, 17), date(2026, 9, 18), date(2026, 9, 19)]
    one_feed, four = (
        one(weighing(FIRST, 38.0), weighing(THIRD, 44.0), Feedings=feeds)
        for feeds in ([feed(fed[0], 12.0)], [feed(day, 3.0) for day in fed])
    )
    stored = handbook()["feed_spread"].value * (one_feed["fed"] - one_feed["driven_off"])
    narrower = one_feed["residual_u"] ** 2 - four["residual_u"] ** 2
    assert narrower == pytest.approx(
        stored**2 * 0.5 * (1 - 1 / 4), rel=0.02
    )  # the later ones have ripened a little less
