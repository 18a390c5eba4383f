"""Single figures of a small season worked out by hand: what counts, what feed fits, what a lift would leave unknown."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm

from apiarybook.book.si_frames import si
from apiarybook.handbook import handbook
from apiarybook.reckon.core.consumption import calendar
from apiarybook.reckon.core.winter import serial, winter
from apiarybook.reckon.outlook.rate import points
from apiarybook.reckon.outlook.till_flow import winter_says
from apiarybook.reckon.season import reckon_season, scale_lines
from apiarybook.reckon.year.year import few, residuals, short_bands, wants
from tests.checks.small import CLUB, book
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


def test_frames_counted_know_nothing_of_damp_wood_nor_of_the_tare() -> None:
    rows = [weighed(), weighed(how="frames of food counted", reading_1=7.0)]
    found = season(as_at=OCTOBER, Weighings=rows)
    lists, stood = found.grounds.given.lists, found.standing
    told = points(found.frames["Weighings"], found.weighings, np.zeros(2), stood, lists, serial(OCTOBER))
    assert told["stores"].tolist() == pytest.approx([found.weighings["dry"].iloc[0] - 0.3, 7 * 2.3], abs=0.01)
    assert told["kit"].nunique() == 2


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
    in_pounds = short_bands(found, 0.45359237, "lb").astype(str).tolist()
    assert in_pounds[0] == f"had its want, within {low / 0.45359237:.0f} lb"


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


def test_the_day_a_mass_is_eaten_goes_by_each_profile() -> None:
    months, start, kilograms = winter(2026), serial(OCTOBER), np.array([4.0, 4.0, 9.0])
    together = months.lasts_to(np.full(3, start), kilograms, np.array([1, 3, 1]))
    alone = [months.lasts_to(np.array([start]), np.array([mass]), np.array([one]))[0] for mass, one in ((4, 1), (4, 3))]
    assert together[:2].tolist() == alone
    assert together[2] > together[0]
    eaten = [
        float(months.eaten_between(np.array([start]), day, np.array([1]))[0])
        for day in (together[:1], together[:1] + 1)
    ]
    assert eaten[0] <= 4.0 < eaten[1]


def test_visits_name_the_apiary_and_its_keeper() -> None:
    found = season(as_at=date(2026, 12, 20), Weighings=[weighed(reading_1=25.0)]).round_list
    assert found[["apiary", "member"]].to_numpy().tolist() == [["P1", "M1"]]


def test_feed_to_order_in_whole_fills_of_the_feeder() -> None:
    stood = season(as_at=SEPTEMBER, Weighings=[weighed(date=SEPTEMBER, reading_1=30.0)]).standing.iloc[0]
    assert stood["order_mass"] > 0
    assert stood["order_fills"] == np.ceil(round(stood["order_mass"] / (1.2945 * 4.5), 6))


def test_what_a_colony_eats_in_the_handbook_s_winter() -> None:
    """From 1 November to the flow on 20 April, by the British profile day by day; half of the bees eat 0.697 of it."""
    months = calendar(handbook().profiles["british-isles"], date(2026, 7, 1), 400).set_index("day")["cumulative"]
    whole = months[pd.Timestamp(2027, 4, 20)] - months[pd.Timestamp(2026, 11, 1)]
    types = pd.DataFrame({"name": ["Eleven", "Half"], "bees": [2.0, 1.0], "want": 18.0, "comb_full": 30.0})
    rates = pd.DataFrame({"hive_type": ["Eleven"] * 6 + ["Half"] * 6, "rate": 1.0, "rate_u": 0.1, "starved": "no"})
    found = wants(types.assign(want_then=np.nan), rates, "british-isles", winter(2026)).set_index("hive_type")
    assert found["eats"].tolist() == pytest.approx([whole, whole * 0.5**0.521], rel=1e-5)
    assert (found["low"] < found["median"]).all()
    assert (found["median"] < found["high"]).all()
    assert (found["median"] / found["eats"]).tolist() == pytest.approx([0.95, 0.95], abs=0.06)


def test_the_chance_of_lying_below_the_least_by_the_normal_law() -> None:
    found = season(as_at=SEPTEMBER, Weighings=[weighed(date=SEPTEMBER, how="heft", heft=33.0)])
    stood, told = found.standing.iloc[0], found.worth_weighing["chance_below"].iloc[0]
    assert told == pytest.approx(norm.cdf((stood["least"] - stood["stores_today"]) / stood["stores_u"]))


def test_what_changed_is_what_was_expected_and_what_is_left() -> None:
    """Also once the colony's other intervals have told how much it eats."""
    days = [date(2026, 8, 10), date(2026, 9, 1), SEPTEMBER, OCTOBER, date(2026, 11, 20)]
    rows = [weighed(date=day, reading_1=gross) for day, gross in zip(days, (40.0, 36.0, 33.5, 30.0, 27.0), strict=True)]
    found = season(as_at=date(2026, 12, 1), Weighings=rows, Feedings=[fed(date=date(2026, 9, 20), amount=2.0)]).balance
    assert (found["expected"] + found["residual"]).tolist() == pytest.approx(found["changed"].tolist())
    parts = found["fed"] - found["driven_off"] - found["eaten"] + found["kit"] + found["living"] + found["wood"]
    assert found["expected"].tolist() == pytest.approx(parts.tolist())
    assert len(found) == 4


@pytest.mark.parametrize(("guess", "share"), [(37.0, None), (20.0, 0.0)])
def test_a_heft_far_from_the_scale_leaves_the_surer_of_the_two(guess: float, share: float | None) -> None:
    rows = [weighed(date=SEPTEMBER, reading_1=38.0), weighed(date=OCTOBER, how="heft", heft=guess)]
    stood = season(as_at=OCTOBER, Weighings=rows).standing.iloc[0]
    assert (stood["apart"] == 1) == (share is not None)
    assert stood["heft_share"] == share if share is not None else 0 < stood["heft_share"] < 0.5
    both = stood["scale_today"] + stood["heft_share"] * (stood["heft_today"] - stood["scale_today"])
    assert stood["stores_today"] == pytest.approx(both)


@pytest.mark.parametrize(
    ("asked", "answer", "said"),
    [
        ("", "", "ok"),
        ("out of line", "", "look again: out of line"),
        ("out of line", "yes", "answered: counts from the next run"),
    ],
)
def test_the_words_beside_a_row_that_was_asked_about(asked: str, answer: str, said: str) -> None:
    frames = {name: frame.assign(held="") for name, frame in si(book(Weighings=[weighed()])).items()}
    frames["Weighings"] = frames["Weighings"].assign(beyond=np.nan, asked=asked, is_it_right=answer)
    found = reckon_season(frames, book().settings, serial(OCTOBER)).weighings["status"].iloc[0]
    assert found == said
