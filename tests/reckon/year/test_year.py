"""Small winters: what was eaten between autumn and spring, what is left out, and what follows for the want."""

from __future__ import annotations

from datetime import date
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apiarybook.book.si_frames import si
from apiarybook.reckon.core.winter import serial, winter
from apiarybook.reckon.hive.lists import hive_types
from apiarybook.reckon.year.wintered import wintered
from apiarybook.reckon.year.year import (
    Learnt,
    bands,
    causes,
    chance_bands,
    coverage,
    drift,
    evidence,
    feed_used,
    few,
    foretold,
    learn,
    left_over,
    losses,
    residuals,
    short_bands,
    suggested_want,
    wants,
)
from tests.checks.small import CLUB, book

if TYPE_CHECKING:
    from tests.checks.small import Row

OCTOBER, SPRING, MAY = date(2026, 10, 15), date(2027, 3, 20), date(2027, 5, 1)


def colonies(count: int) -> list[Row]:
    return [{**CLUB["Colonies"][0], "colony": f"A{number}"} for number in range(1, count + 1)]


def lift(colony: str = "A1", gross: float = 38.0, day: date = OCTOBER, **cells: object) -> Row:
    return {"date": day, "colony": colony, "how": "platform", "reading_1": gross, "feed_left": 0.0, **cells}


def outcome(colony: str = "A1", **cells: object) -> Row:
    return {"date": SPRING, "colony": colony, "outcome": "wintered", **cells}


def lived(as_at: date = MAY, **rows: list[Row]) -> pd.DataFrame:
    small = book(**rows)
    frames = si(small)
    return wintered(frames, small.settings, serial(as_at))


def test_what_was_eaten_is_the_change_of_stores() -> None:
    """Gross fell by 10 kg; 0.8 kg of that are bees that died, and brood took about as much the other way."""
    found = lived(Weighings=[lift(), lift(gross=28.0, day=SPRING)]).iloc[0]
    assert found["eaten"] == pytest.approx(found["autumn_stores"] - found["spring_stores"])
    assert found["eaten"] == pytest.approx(10.0, abs=1.0)
    assert found["expected"] == pytest.approx(2.3 * 17 / 31 + 1.3 + 0.9 + 0.9 + 1.3 + 2.3 * 19 / 31, rel=1e-6)
    assert found["rate"] == pytest.approx(found["eaten"] / found["expected"])


def test_spring_gross_of_after_winter_counts_as_a_weighing() -> None:
    one = lived(Weighings=[lift()], After_winter=[outcome(spring_gross=28.0)]).iloc[0]
    other = lived(Weighings=[lift(), lift(gross=28.0, day=SPRING)]).iloc[0]
    assert one["eaten"] == pytest.approx(other["eaten"])


def test_feed_between_the_weighings_was_eaten_too() -> None:
    fondant: Row = {"date": date(2027, 2, 1), "colony": "A1", "feed_kind": "Fondant", "amount": 2.5, "unit": "kg"}
    without = lived(Weighings=[lift()], After_winter=[outcome(spring_gross=28.0)]).iloc[0]
    found = lived(Weighings=[lift()], After_winter=[outcome(spring_gross=28.0)], Feedings=[fondant]).iloc[0]
    assert found["fed"] == pytest.approx(2.5 * 0.78 * 0.9 / 0.82)
    assert found["eaten"] - without["eaten"] == pytest.approx(found["fed"], abs=0.01)


@pytest.mark.parametrize(
    "rows",
    [
        {"Weighings": [lift(), lift(gross=28.0, day=date(2027, 5, 1))]},
        {"Weighings": [lift(), lift(gross=28.0, day=date(2027, 2, 1))]},
        {"Weighings": [lift(), lift(gross=28.0, day=SPRING, flow_on="yes")]},
        {"Weighings": [lift(), lift(gross=28.0, day=SPRING, occasion="practice")]},
        {"Weighings": [lift(), lift(day=SPRING, how="heft", gross=None, heft=28.0)]},
        {"Weighings": [lift(day=date(2026, 8, 10)), lift(gross=28.0, day=SPRING)]},
        {"Weighings": [lift(gross=28.0, day=SPRING)]},
        {
            "Weighings": [lift(), lift(gross=28.0, day=SPRING)],
            "Moves": [{"date": date(2027, 3, 1), "colony": "A1", "what": "super off"}],
        },
        {"Weighings": [lift(), lift(gross=28.0, day=SPRING)], "After_winter": [outcome(outcome="died", seen="mice")]},
    ],
    ids=[
        "after the flow",
        "mid winter",
        "flow on",
        "practice",
        "hefted",
        "August only",
        "no autumn",
        "moved",
        "died of mice",
    ],
)
def test_colonies_that_say_nothing_of_the_want(rows: dict[str, list[Row]]) -> None:
    assert np.isnan(lived(**rows)["rate"].iloc[0])


def test_a_colony_united_into_another_leaves_both_out() -> None:
    move: Row = {"date": date(2027, 2, 20), "colony": "A2", "what": "united into", "into": "A1"}
    weighings = [row for code in ("A1", "A2", "A3") for row in (lift(code), lift(code, 28.0, SPRING))]
    found = lived(Colonies=colonies(3), Weighings=weighings, Moves=[move]).set_index("colony")
    assert np.isfinite(found["rate"]).to_dict() == {"A1": False, "A2": False, "A3": True}


def test_a_starved_colony_ate_at_least_all_it_had() -> None:
    found = lived(Weighings=[lift()], After_winter=[outcome(outcome="died", seen="no food left")]).iloc[0]
    assert found["starved"]
    assert found["eaten"] == pytest.approx(found["autumn_stores"])


@cache
def club() -> pd.DataFrame:
    """Six colonies: two starve, one is lost to mice, one united, two winter."""
    weighings = [lift(f"A{at}", 30.0 + 2 * at) for at in range(1, 7)]
    after = [
        outcome("A1", outcome="died", seen="no food left"),
        outcome("A2", outcome="died", seen="no food left"),
        outcome("A3", outcome="died", seen="mice"),
        outcome("A4", outcome="united"),
        outcome("A5", spring_gross=31.0),
        outcome("A6", spring_gross=33.0),
    ]
    return lived(Colonies=colonies(6), Weighings=weighings, After_winter=after)


def test_losses_are_counted_of_those_that_wintered_or_died() -> None:
    found = losses(club()).iloc[0]
    assert (found["colonies"], found["lost"], found["share"]) == (5, 3, 0.6)
    assert found["low"] < 0.6 < found["high"]
    by_cause = causes(club()).set_index("group")
    assert by_cause["lost"].to_dict() == {"no food left": 2, "mice": 1}
    assert by_cause["keepers"].to_dict() == {"no food left": 1, "mice": 1}


def test_losses_by_what_was_foretold_add_up() -> None:
    found = club()
    for group in (chance_bands(found, 0.9), short_bands(found, 1.0, "kg")):
        table = losses(found, group)
        assert table["colonies"].sum() == 5
        assert table["lost"].sum() == 3
    assert losses(found, chance_bands(found, 0.9))["group"].tolist()[0] == "up to 10 %"


def test_coverage_feed_and_what_is_left() -> None:
    found = club()
    covered = coverage(bands(found)).iloc[0]
    assert covered["colonies"] == 2
    assert covered["inside"] <= 2
    assert left_over(found)["colonies"].tolist() == [2]
    assert feed_used(found)["lacked"].iloc[0] > 0
    assert coverage(bands(lived())).empty


def test_residuals_of_intervals_that_can_be_judged() -> None:
    balance = pd.DataFrame({"residual": [0.1, -0.2, 5.0, 9.0], "residual_u": 0.5, "judged": [1, 1, 1, 0]})
    assert residuals(balance.iloc[:0]).empty
    assert residuals(balance)[["intervals", "within"]].to_numpy().tolist() == [[3, pytest.approx(2 / 3)]]


def test_a_scale_that_drifts() -> None:
    scales = pd.DataFrame({"scale": ["H1", "H2"]})
    days = pd.to_datetime(["2026-08-01", "2027-04-01", "2026-08-01"]).to_numpy().astype("datetime64[s]")
    checks = pd.DataFrame(
        {"date": days, "scale": ["H1", "h1", "H2"], "known": 20.0, "reading": [20.0, 20.4, 20.0], "held": ""}
    )
    found = drift(scales, checks)
    assert found["group"].tolist() == ["H1"]
    assert found["drifted"].iloc[0] == pytest.approx(0.02)


def of_type(told: pd.DataFrame, want_then: float = np.nan) -> pd.Series[object]:
    small = book()
    types = si(small)["Hive types"]
    types = types.join(hive_types(types, "british-isles", winter(2026))).assign(want_then=want_then)
    return wants(types, told, "british-isles", winter(2026)).iloc[0]


def told(rates: list[float]) -> pd.DataFrame:
    return pd.DataFrame({"hive_type": "Eleven", "winter": 2026.0, "rate": rates, "rate_u": 0.05, "starved": "no"})


def test_fewer_than_five_colonies_keep_the_want() -> None:
    found = of_type(told([2.0] * 4))
    assert (found["suggested"], found["says"]) == (18.0, "cannot tell yet")


def test_colonies_that_eat_as_foretold_change_nothing() -> None:
    """Forty colonies at the very quantiles of the handbook's distribution."""
    sigma = np.sqrt(np.log1p(0.16))
    places = (np.arange(40) + 0.5) / 40
    rates = np.exp(-(sigma**2) / 2 + sigma * np.asarray([_normal(p) for p in places]))
    assert of_type(told(rates.tolist()))["suggested"] == 18.0


def _normal(share: float) -> float:
    from scipy.special import ndtri

    return float(ndtri(share))


def test_the_want_is_learnt_from_where_learning_began() -> None:
    """Last year's suggestion was taken, or not: the same winters lead to the same want."""
    rates = told((np.linspace(0.7, 1.1, 40) * 0.8).tolist())
    before = of_type(rates)["suggested"]
    assert before < 17.0
    assert of_type(rates, want_then=18.0)["suggested"] == before


def test_evidence_names_no_colony() -> None:
    assert evidence(club(), 2026).columns.tolist() == ["hive_type", "winter", "rate", "rate_u", "starved"]
    assert evidence(club(), 2026)["starved"].tolist() == ["yes", "yes", "no", "no"]


@settings(max_examples=15, deadline=None)
@given(st.lists(st.floats(0.3, 3.0), min_size=5, max_size=12), st.floats(10.0, 30.0), st.floats(0.0, 8.0))
def test_the_want_stays_between_floor_and_comb(rates: list[float], want: float, room: float) -> None:
    learnt = learn(rates, [0.1] * len(rates), [False] * len(rates))
    found = suggested_want(want, want + room, 9.0, 5.0, learnt)
    assert 5.0 <= found <= want + room
    assert found == want or abs(found - want) >= 1.0


def test_more_eaten_means_more_wanted() -> None:
    got = [suggested_want(18.0, 40.0, 9.0, 5.0, Learnt(0.5, 1.0, high, 20)) for high in (1.0, 1.3, 1.6, 1.9, 2.2)]
    assert got == sorted(got)
    assert suggested_want(18.0, 40.0, 9.0, 5.0, foretold()) == 18.0


def test_sums_of_few_keepers_are_hidden() -> None:
    table = pd.DataFrame({"group": ["a", "b"], "keepers": [5, 7], "lost": [1, 2]})
    assert not few(table)["few"].any()
    assert few(table.assign(keepers=[4, 3]))["lost"].isna().all()
