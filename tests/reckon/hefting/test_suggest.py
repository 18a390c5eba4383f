"""Rows in, suggestions out: what is weighed first, what all feed comes to, and frames counted beside a scale."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from statsmodels.stats.meta_analysis import combine_effects

from apiarybook.reckon.core.arrays import figure
from apiarybook.reckon.hefting import worth_weighing
from apiarybook.reckon.hefting.worth_weighing import expected_feed, feed_total
from tests.checks.small import checked
from tests.reckon.small_season import OCTOBER, season, weighed

if TYPE_CHECKING:
    from apiarybook.reckon.season import Season
    from tests.checks.small import Row

CODES = [f"A{n}" for n in range(1, 9)]


def heft(guess: object, **cells: object) -> Row:
    return weighed(how="heft", heft=guess, **cells)


def club(*rows: Row) -> Season:
    colonies = [{"colony": code, "apiary": "P1", "hive_type": "Eleven", "stand": "solid"} for code in CODES]
    return season(OCTOBER, Colonies=colonies, Weighings=list(rows))


def practised() -> list[Row]:
    return [weighed(occasion="practice", heft=37.35 + (n % 5 - 2) * 2.0) for n in range(20)]


def test_what_nobody_lifted_comes_first_and_then_what_may_be_in_danger() -> None:
    guesses = dict(zip(CODES[:7], [37.0, 37.0, 34.0, 30.0, 29.0, 44.0, 46.0], strict=True))
    found = club(*practised(), *(heft(guess, colony=code) for code, guess in guesses.items())).worth_weighing
    first = found.sort_values("order")
    assert found["order"].tolist() == sorted(found["order"])
    assert first["colony"].iloc[0] == "A8"
    waiting = first[first["verdict"].isin(["weigh", "enough"])].iloc[1:]
    pressing = waiting[waiting["chance_below"] > figure("tail_chance")]
    assert pressing["chance_below"].is_monotonic_decreasing
    assert first["colony"].tolist()[-2:] == ["A6", "A7"]


def test_a_colony_that_is_fed_a_portion_in_any_case_is_not_worth_weighing_today() -> None:
    """Twelve kilograms short by a fair hand: a portion goes on now, and the next lift tells the rest."""
    rows = [heft(26.0, colony=code) for code in CODES]
    found = club(*practised(), *rows)
    assert set(found.standing["verdict"]) == {"feed, then weigh"}
    assert found.worth_weighing.empty


def test_a_lone_heavy_guess_is_believed_less() -> None:
    """Efron and Morris 1975: the rougher the figure, the more it is drawn to the others."""
    value, spread = worth_weighing.towards_the_others([-10.0, 2.0, 3.0, 1.0, 2.0], [6.0, 1.0, 1.0, 1.0, 1.0])
    assert -10 < value[0] < 2
    assert spread[0] < 6
    assert value[1:] == pytest.approx([2, 3, 1, 2], abs=0.3)


def test_between_colonies_as_statsmodels_has_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """DerSimonian and Laird's variance between, the handbook's share left out, by another's program."""
    monkeypatch.setattr(worth_weighing, "BELIEF_WEIGHT", 0.0)
    value, spread = np.array([1.0, 7.0, -4.0, 3.0, 12.0]), np.array([1.0, 2.0, 1.5, 3.0, 2.5])
    other = combine_effects(value, spread**2, method_re="dl")
    assert worth_weighing.between_colonies(value, spread) == pytest.approx(other.tau2)


@pytest.mark.parametrize(
    ("value", "spread"), [([], []), ([1.0], [2.0]), ([1.0, 5.0], [2.0, 1.0]), ([np.nan, 3.0, 4.0], [1.0, 1.0, np.nan])]
)
def test_too_few_colonies_stay_as_they_are(value: list[float], spread: list[float]) -> None:
    found = worth_weighing.towards_the_others(value, spread)
    np.testing.assert_array_equal(found[0], value)
    np.testing.assert_array_equal(found[1], spread)


def test_expected_feed_by_simulation() -> None:
    rng = np.random.default_rng(1)
    for short, spread, room in ((3.0, 4.0, 6.0), (-2.0, 3.0, 60.0), (12.0, 2.0, 8.0)):
        drawn = rng.normal(short, spread, 200_000)
        given = np.where(drawn > 1.0, np.minimum(drawn, room), 0.0)
        assert float(expected_feed(short, spread, 1.0, room)) == pytest.approx(given.mean(), abs=0.03)


def test_the_fewest_to_weigh_until_the_feed_of_all_is_known() -> None:
    found = club(*practised(), *(heft(32.0 + n, colony=code) for n, code in enumerate(CODES)))
    rough, close = feed_total(found, 1_000.0), feed_total(found, 8.0)
    assert (rough.colonies, rough.unknown, rough.order) == (8, 0, [])
    assert 0 < len(close.order) <= 8
    assert close.plan.after < close.plan.before == rough.plan.before
    assert np.isnan(close.error)
    weighed_too = [weighed(colony=code, reading_1=32.0 + n, heft=32.5 + n) for n, code in enumerate(CODES[:5])]
    now = feed_total(club(*practised(), *weighed_too, *(heft(36.0, colony=code) for code in CODES[5:])), 8.0)
    assert (now.by_some.weighed, now.by_some.hefted) == (5, 8)
    assert now.error >= 0
    assert now.plan.before < close.plan.before


def test_a_colony_nobody_lifted_is_left_out_of_the_total_and_said() -> None:
    assert feed_total(club(heft(35.0, colony="A1")), 10.0).unknown == 7


def counted(frames: float, **cells: object) -> Row:
    return weighed(how="frames of food counted", reading_1=frames, **cells)


def test_frames_counted_are_set_against_the_scale_of_the_same_day() -> None:
    found = season(Weighings=[counted(7.0), weighed(), counted(5.0, date=OCTOBER - timedelta(days=3))]).frames_beside
    assert found["colony"].tolist() == ["A1"]
    assert found["counted"].iloc[0] == pytest.approx(7.0 * 2.3)
    assert found["weighed"].iloc[0] == pytest.approx(18.0, abs=0.05)
    assert found["apart"].iloc[0] == pytest.approx(7.0 * 2.3 - found["weighed"].iloc[0])


@pytest.mark.parametrize(("frames", "asked"), [(7.0, []), (1.0, ["2"])])
def test_a_count_far_from_the_scale_is_a_question(frames: float, asked: list[str]) -> None:
    found = checked(OCTOBER, Weighings=[counted(frames), weighed()]).findings
    assert [one.cell.lstrip("ABCDEFGHIJ") for one in found if one.rule == "frames-apart"] == asked
