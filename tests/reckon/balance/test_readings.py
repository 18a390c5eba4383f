"""What a residual may mean: planted events in small books, and a few simulated clubs with a fixed seed."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from apiarybook.handbook import handbook
from apiarybook.reckon.balance.slips import changed, lengthened, shortened, swapped
from tests.checks.small import CLUB
from tests.reckon.small_season import season
from tests.studies.balance_readings import measure
from tests.studies.simulated_seasons import simulate

if TYPE_CHECKING:
    import pandas as pd

    from tests.checks.small import Row

DAYS = (date(2026, 8, 25), date(2026, 9, 15), date(2026, 10, 6))
AS_AT = date(2027, 4, 30)
EXPECTED = (38.0, 35.5, 33.0)
"""What an undisturbed colony of the small book weighs on these days, to a few hundred grams [kg]."""


def weighings(changed: dict[int, float], colony: str = "A1", **cells: object) -> list[Row]:
    usual = {"colony": colony, "by": "Ann", "how": "platform", "feed_left": 0.0, "scale": "H1"} | cells
    return [
        usual | {"date": day, "reading_1": round(gross + changed.get(at, 0.0), 1)}
        for at, (day, gross) in enumerate(zip(DAYS, EXPECTED, strict=True))
    ]


def asked(*rows: Row, **sheets: list[Row]) -> pd.DataFrame:
    found = season(AS_AT, Weighings=list(rows), **sheets).balance
    return found[found["standing"] != ""]


def fed(colony: str, day: date, amount: float = 6.0) -> Row:
    return {"date": day, "colony": colony, "feed_kind": "Thick", "amount": amount, "unit": "kg"}


COLONIES = [CLUB["Colonies"][0] | {"colony": f"A{number}"} for number in range(1, 6)]


@pytest.mark.parametrize(
    ("changed", "cause"),
    [
        pytest.param({1: 7.0, 2: 7.0}, "fed", id="seven kilograms that stay"),
        pytest.param({1: 8.7}, "left on", id="a brood box for a day"),
        pytest.param({1: -6.0, 2: -6.0}, "robbed", id="six kilograms less, and no more come back"),
        pytest.param({1: 10.0}, "one digit", id="a wrong ten for one day"),
        pytest.param({1: -9.0}, "one digit", id="35.5 and 26.5"),
    ],
)
def test_one_event_is_asked_about_once_with_its_cause(changed: dict[int, float], cause: str) -> None:
    found = asked(*weighings(changed), Extras=[{"name": "Brood box", "mass": 8.7}])
    assert len(found) == 1
    assert found["row_2"].tolist() == [1]
    assert cause in found[["first", "second"]].iloc[0].tolist()


def test_nothing_is_asked_of_an_undisturbed_colony() -> None:
    assert asked(*weighings({})).empty


def test_rows_of_two_colonies_mixed_up_name_each_other() -> None:
    rows = [*weighings({0: 6.0, 2: 6.0}, "A1"), *weighings({1: 6.0}, "A2"), *weighings({}, "A3")]
    found = asked(*rows, Colonies=COLONIES)
    assert found["first"].tolist() == ["other colony"] * 2
    assert [one[0].other for one in found["likely"]] == [2, 1]


def test_a_round_that_left_one_out_speaks_for_feed() -> None:
    rows = [row for number in range(1, 5) for row in weighings({1: 5.3, 2: 4.5}, f"A{number}")]
    day = date(2026, 9, 8)
    found = asked(*rows, Colonies=COLONIES, Feedings=[fed(f"A{number}", day) for number in (1, 2, 3)])
    assert found["colony_row"].tolist() == [4]
    assert found["first"].tolist() == ["fed"]
    alone = asked(*rows[9:], Colonies=COLONIES)
    assert alone["first_share"].iloc[0] < found["first_share"].iloc[0]


def test_a_feed_written_for_the_wrong_colony() -> None:
    rows = [*weighings({}, "A1"), *weighings({1: 7.5, 2: 6.5}, "A2")]
    found = asked(*rows, Colonies=COLONIES, Feedings=[fed("A1", date(2026, 9, 8), 9.0)])
    assert "not given" in found[["first", "second"]].iloc[0].tolist()
    assert "fed" in found[["first", "second"]].iloc[1].tolist()


def test_neighbours_that_gained_too_speak_for_a_flow() -> None:
    rows = [row for number in range(1, 5) for row in weighings({1: 5.0, 2: 5.0}, f"A{number}", flow_on="yes")]
    found = asked(*rows, Colonies=COLONIES)
    assert set(found["second"]) | set(found["first"]) >= {"flow"}


def test_another_hive_type_without_a_move_shows() -> None:
    """A box of 8 kg was put on, and the book still has the single hive."""
    types = [*CLUB["Hive types"], CLUB["Hive types"][0] | {"name": "Double", "tare": 24.0}]
    colonies = [COLONIES[0], COLONIES[1] | {"hive_type": "Double"}]
    found = asked(*weighings({1: 8.0, 2: 8.0}), Hive_types=types, Colonies=colonies)
    assert "hive type" in found[["first", "second"]].iloc[0].tolist()
    moved: list[Row] = [{"date": date(2026, 9, 1), "colony": "A1", "what": "new hive type", "into": "Double"}]
    assert asked(*weighings({1: 8.0, 2: 8.0}), Hive_types=types, Colonies=colonies, Moves=moved).empty


def test_an_extra_that_one_row_forgot() -> None:
    """A stone of 5 kg stands on the hive on all days; the second row does not say so."""
    rows = weighings({0: 5.0, 1: 5.0, 2: 5.0}, other_extra=5.0)
    rows[1]["other_extra"] = None
    assert asked(*rows)["first"].tolist() == ["left on"]


def test_a_feed_that_may_have_come_after_the_weighing() -> None:
    found = asked(*weighings({2: 7.0})[:2], Feedings=[fed("A1", DAYS[1], 8.0)])
    assert found["first"].tolist() == ["before feed"]


def test_nothing_leaked_where_nothing_was_fed() -> None:
    found = asked(*weighings({1: -3.6, 2: -3.6}))
    assert "leaked" not in found[["first", "second"]].to_numpy()


def test_what_the_next_weighing_takes_back_is_told_once() -> None:
    found = asked(*weighings({1: -6.0}))
    assert len(found) == 1
    assert found["row_2"].tolist() == [1]


def test_the_reading_meant_is_told_with_a_slip() -> None:
    found = asked(*weighings({1: 18.0})).iloc[0]
    assert found["first"] in {"one digit", "swapped digits"}
    assert found["likely"][0].meant in (pytest.approx(35.5), pytest.approx(33.5))


@pytest.mark.parametrize(
    ("typed", "perhaps"),
    [("38.4", 34.8), ("38.4", 83.4), ("38.4", 28.4), ("38.4", 39.4), ("120.5", 210.5), ("8.4", 38.4), ("338.4", 38.4)],
)
def test_slips_of_the_pen(typed: str, perhaps: float) -> None:
    found = [*swapped(typed), *changed(typed), *lengthened(typed), *shortened(typed)]
    assert perhaps in found
    assert float(typed) not in found


@pytest.mark.parametrize("typed", ["5", "38.4", "250"])
def test_a_changed_digit_leaves_the_number_as_long(typed: str) -> None:
    assert {len(f"{one:g}") for one in changed(typed)} == {len(typed)}


def test_shares_are_shares_and_causes_are_the_handbook_s() -> None:
    found, _ = simulate(5, 12)
    told = found.balance[found.balance["standing"] != ""]
    assert len(told) > 10
    assert (told["first_share"] >= told["second_share"]).all()
    assert (told["first_share"] + told["second_share"] <= 1 + 1e-9).all()
    assert set(told["first"]) | set(told["second"]) <= set(handbook().causes)
    silent = found.balance[found.balance["standing"] == ""]
    assert set(silent["first"]) <= {""}
    assert silent["first_share"].isna().all()


def test_causes_are_named_in_short() -> None:
    """Four simulated clubs; the whole of it is a benchmark. The bounds are those asked of it, but for chance."""
    measured = measure(clubs=4, seed=7)
    assert len(measured.large) > 60
    assert measured.large["named"].mean() > 0.87
    assert measured.asked_clean < 0.02


def test_the_same_seed_gives_the_same_season() -> None:
    one, other = (simulate(3, 3)[0].balance for _ in range(2))
    assert one.equals(other)
