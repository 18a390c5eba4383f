"""Single figures of a small season worked out by hand: what counts, what feed fits, what a lift would leave unknown."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest

from apiarybook.handbook import handbook
from apiarybook.reckon.core.winter import serial
from apiarybook.reckon.outlook.rate import points
from apiarybook.reckon.outlook.till_flow import winter_says
from apiarybook.reckon.season import scale_lines
from apiarybook.reckon.year.year import few, residuals, short_bands
from tests.checks.small import CLUB
from tests.reckon.small_season import OCTOBER, SEPTEMBER, fed, season, weighed

if TYPE_CHECKING:
    from tests.checks.small import Row

FIRST_DAY, LAST_DAY = date(2026, 7, 1), date(2027, 9, 30)
"""Of the winter of 2026, as the book takes it."""


@pytest.mark.parametrize(
    ("cells", "usable"),
    [
        pytest.param({}, 1, id="a sound row"),
        pytest.param({"colony": "Z9"}, 0, id="no such colony"),
        pytest.param({"colony": "A2"}, 0, id="a colony of an apiary without a winter profile"),
        pytest.param({"hive_type_then": "Skep"}, 0, id="no such hive type"),
        pytest.param({"how": "by eye", "reading_1": 37.0}, 0, id="no such way"),
        pytest.param({"scale": "H9"}, 0, id="no such scale"),
        pytest.param({"hive_is": "snow"}, 0, id="under snow"),
        pytest.param({"hive_is": "soaked"}, 1, id="soaked"),
        pytest.param({"how": "two sides", "reading_1": 18.0}, 0, id="one of two sides"),
        pytest.param({"how": "two sides", "reading_1": 18.0, "reading_2": 19.0}, 1, id="both sides"),
        pytest.param({"date": FIRST_DAY}, 1, id="the first day of the winter"),
        pytest.param({"date": LAST_DAY}, 1, id="its last day"),
        pytest.param({"date": date(2026, 6, 30)}, 0, id="the day before it"),
        pytest.param({"date": date(2027, 10, 1)}, 0, id="the day after it"),
    ],
)
def test_what_can_be_reckoned(cells: Row, usable: int) -> None:
    apiaries = [*CLUB["Apiaries"], {"apiary": "P2", "member": "M1", "profile": "moon"}]
    colonies = [*CLUB["Colonies"], CLUB["Colonies"][0] | {"colony": "A2", "apiary": "P2"}]
    found = season(as_at=LAST_DAY, Apiaries=apiaries, Colonies=colonies, Weighings=[weighed(**cells)])
    assert found.weighings["usable"].tolist() == [usable]


@pytest.mark.parametrize(("later", "count"), [(0, 1), (-1, 0)])
def test_a_point_of_the_day_itself_tells_of_the_rate(later: int, count: int) -> None:
    found = season(as_at=OCTOBER, Weighings=[weighed()])
    lists, stood, rows = found.grounds.given.lists, found.standing, found.frames["Weighings"]
    told = points(rows, found.weighings, np.zeros(len(rows)), stood, lists, serial(OCTOBER) + later)
    assert len(told) == count


@pytest.mark.parametrize(("key", "square"), [("flow_on", "flow_spread"), ("hive_is", "soaked_box")])
def test_nectar_and_wet_wood_widen_what_may_have_changed(key: str, square: str) -> None:
    days = (SEPTEMBER, OCTOBER)
    said = {"flow_on": "yes", "hive_is": "soaked"}[key]
    plain, wide = (
        season(as_at=OCTOBER, Weighings=[weighed(date=day, **cells) for day, cells in zip(days, each, strict=True)])
        for each in (({}, {}), ({}, {key: said}))
    )
    more = wide.balance["residual_u"].iloc[0] ** 2 - plain.balance["residual_u"].iloc[0] ** 2
    assert more == pytest.approx(handbook()[square].value ** 2, rel=1e-3)


def test_what_a_full_lift_today_would_leave_unknown() -> None:
    """Half a kilogram of a heavy hanging hive, the tare of the list, bees and pollen, in squares (JCGM 100:2008)."""
    figures = handbook()
    parts = [figures["hanging_heavy_u"].value, 1.6, figures["bees_spread"].value * 2.0, figures["pollen_spread"].value]
    found = season(as_at=SEPTEMBER).standing["left_by_scale"]
    assert found.tolist() == pytest.approx([sum(part**2 for part in parts) ** 0.5])


def test_no_liquid_feed_goes_where_none_is_given_or_nothing_is_known() -> None:
    known, unknown, winter = (
        season(as_at=day, Weighings=rows).standing
        for day, rows in (
            (SEPTEMBER, [weighed(date=SEPTEMBER, reading_1=33.0)]),
            (SEPTEMBER, []),
            (date(2026, 12, 20), [weighed(reading_1=28.0)]),
        )
    )
    assert 0 < known["most"].iloc[0] <= known["room"].iloc[0]
    assert (unknown["most"].iloc[0], winter["most"].iloc[0]) == (0.0, 0.0)


def test_worth_weighing_says_how_well_each_is_known() -> None:
    found = season(as_at=SEPTEMBER, Weighings=[weighed(date=SEPTEMBER, how="heft", heft=33.0)])
    assert found.worth_weighing["stores_u"].tolist() == pytest.approx(found.standing["stores_u"].tolist())


def test_a_scale_of_no_known_kind_is_taken_as_a_hanging_one() -> None:
    scales = pd.DataFrame({"scale": ["H1", "H2", "H3"], "kind": ["hanging", "spring arm", None], "division": np.nan})
    checks = pd.DataFrame({"scale": [], "known": [], "reading": [], "date": pd.to_datetime([])})
    lines = scale_lines(scales, checks).drop(columns="checked_on")
    assert lines.iloc[1].tolist() == lines.iloc[0].tolist() == lines.iloc[2].tolist()


def test_liquid_feed_to_order_in_litres_too() -> None:
    weighings = [weighed(date=SEPTEMBER, reading_1=30.0)]
    order = season(as_at=SEPTEMBER, Weighings=weighings).feed_order.iloc[0]
    density = season(as_at=SEPTEMBER, Feedings=[fed()]).feedings["density"].iloc[0]
    assert order["liquid"] > 0
    assert order["liquid_volume"] == pytest.approx(order["liquid"] / density)


@pytest.mark.parametrize(
    ("factor", "weights", "said"),
    [
        (1.0, [0.0, 0.0], "nobody has seen yet; it may be 30 % more or less than usual"),
        (1.25, [4.0, 0.0], "eat 25 % more than usual, give or take 38 %, as seen at 1 colony;"),
        (0.9, [4.0, 2.0], "eat 10 % less than usual, give or take 27 %, as seen at 2 colonies;"),
        (1.001, [4.0, 2.0], "eat as usual, give or take 30 %, as seen at 2 colonies;"),
    ],
)
def test_what_is_said_of_the_winter(factor: float, weights: list[float], said: str) -> None:
    """0.3 of a spread of 0.5 is a share of 0.36; without it 0.4 would be left, and 0.5 is 25 % wider than that."""
    stood = pd.DataFrame({"winter_rate": factor, "winter_spread": 0.3, "own_spread": 0.5, "rate_weight": weights})
    told = winter_says(stood.assign(known=1, profile_row=1))
    assert said in told
    assert "that alone widens what is foretold by 25 %" in told
    assert winter_says(stood.assign(known=0, profile_row=1)) == ""


def test_bands_of_what_colonies_were_short_by() -> None:
    found = pd.DataFrame({"short_by": [-3.0, 0.5, 1.5, 9.0, np.nan]})
    low, high = (handbook()[name].value for name in ("least_worth_giving", "fondant_later_short_by"))
    named = short_bands(found, 1.0, "kg").astype(str).tolist()
    within, over = f"had its want, within {low:.0f} kg", f"short by over {high:.0f} kg"
    assert named == [within, within, f"short by {low:.0f} to {high:.0f} kg", over, "not known"]


def test_of_two_groups_both_are_hidden_where_one_would_be_of_few() -> None:
    table = pd.DataFrame({"group": ["a", "b"], "keepers": [4, 9], "lost": [1, 2]})
    assert few(table)["few"].tolist() == [True, True]
    assert few(table.iloc[:1])["few"].tolist() == [True]


def test_residuals_within_twice_their_spread() -> None:
    balance = pd.DataFrame({"residual": [0.9, -1.1, 0.2, -0.1], "residual_u": 0.5, "judged": 1})
    told = residuals(balance).iloc[0]
    assert (told["intervals"], told["within"]) == (4, 0.75)
    assert told["middle"] == pytest.approx(0.05)
    assert told["spread"] == pytest.approx(np.std([0.9, -1.1, 0.2, -0.1]))
