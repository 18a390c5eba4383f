"""Rows of one visit side by side: three that a rule asks about, and three near misses of which it says nothing."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest

from tests.checks.small import CLUB, checked, feeding, weighing

if TYPE_CHECKING:
    from apiarybook.checks.finding import Finding
    from tests.checks.small import Row

AS_AT = date(2026, 10, 20)
FIRST, SECOND, THIRD = date(2026, 8, 25), date(2026, 9, 15), date(2026, 10, 6)
USUAL = (31.0, 34.0, 37.0, 40.0, 43.0)
"""What five hives weigh at the first visit; each loses 2.5 kg until the next [kg]."""
COLONIES = [CLUB["Colonies"][0] | {"colony": f"A{number}"} for number in range(1, 6)]


def visit(day: date, kilograms: tuple[float | None, ...], **cells: object) -> list[Row]:
    usual = {"how": "platform", "scale": "H1", "feed_left": 0.0, "date": day} | cells
    return [
        weighing(colony=f"A{at + 1}", reading_1=one, **usual) for at, one in enumerate(kilograms) if one is not None
    ]


def less(kilograms: float, of: tuple[float, ...] = USUAL) -> tuple[float, ...]:
    return tuple(one - kilograms for one in of)


SOUND = visit(SECOND, less(2.5))


def said(*visits: list[Row], **sheets: list[Row]) -> list[Finding]:
    rows = [row for one in visits for row in one]
    found = checked(
        AS_AT, Weighings=rows, Colonies=COLONIES, Scales=[{**CLUB["Scales"][0], "capacity": 90.0}], **sheets
    )
    return [one for one in found.findings if one.weight != "note"]


@pytest.mark.parametrize(
    ("second", "rule"),
    [
        pytest.param(less(2.5), "", id="a sound visit"),
        pytest.param(less(-2.0), "visit-off", id="all too heavy"),
        pytest.param(less(6.5), "visit-off", id="all too light"),
        pytest.param(less(-1.0), "visit-off", id="all heavy"),
        pytest.param(less(3.5), "", id="all a little light"),
        pytest.param(
            (28.5, 31.5, 34.5, 37.5, 45.0), "unexplained-change", id="one too heavy is that hive's own matter"
        ),
        pytest.param((40.5, 28.5, 31.5, 34.5, 37.5), "readings-moved", id="one row lower"),
        pytest.param((31.5, 34.5, 37.5, 40.5, 28.5), "readings-moved", id="one row higher"),
        pytest.param((40.5, 37.5, 34.5, 31.5, 28.5), "readings-moved", id="in another order"),
        pytest.param((31.5, 28.5, 34.5, 37.5, 40.5), "readings-exchanged", id="two exchanged"),
        pytest.param((30.0, 30.5, 34.5, 37.5, 40.5), "", id="two that may be exchanged, or not"),
        pytest.param((31.5, 31.5, 31.5, 31.5, 40.5), "readings-copied", id="four the same"),
        pytest.param((31.5, 31.5, 31.5, 37.5, 40.5), "readings-copied", id="three the same"),
        pytest.param((28.5, 31.5, 34.5, 34.5, 34.5), "readings-copied", id="the last three the same"),
        pytest.param((30.0, 30.0, 34.5, 37.5, 40.5), "", id="two the same by chance"),
        pytest.param((30.0, 30.1, 34.5, 37.5, 40.5), "", id="nearly the same"),
    ],
)
def test_what_befell_a_whole_visit_is_one_question(second: tuple[float, ...], rule: str) -> None:
    found = said(visit(FIRST, USUAL), visit(SECOND, second))
    assert {one.rule for one in found} == ({rule} if rule else set())
    if rule not in {"", "unexplained-change"}:
        assert len(found) == 1


def test_two_hives_exchanged_are_one_question_beside_a_third_that_is_too_heavy() -> None:
    found = said(visit(FIRST, USUAL), visit(SECOND, (31.5, 28.5, 34.5, 43.5, 40.5)))
    assert {one.rule: one.cell for one in found} == {"readings-exchanged": "F8", "unexplained-change": "F10"}


def test_a_scale_that_was_off_on_one_visit_is_asked_about_once() -> None:
    """The visit after takes back what the one in the middle had more, hive by hive too little to be asked about."""
    (one,) = said(visit(FIRST, USUAL), visit(SECOND, less(0.8)), visit(THIRD, less(5.0)))
    assert (one.rule, [cause.name for cause in one.causes]) == ("visit-off", ["scale zero"])


def test_readings_in_another_order_are_asked_about_once_and_only_those_that_moved() -> None:
    (one,) = said(visit(FIRST, USUAL), visit(SECOND, less(2.5)[::-1]), visit(THIRD, less(5.0)))
    assert one.rule == "readings-moved"
    assert SECOND.isoformat() in one.message
    assert one.message.endswith(": F7, F8, F10, F11.")


def test_a_scale_that_was_not_set_to_nought_is_named() -> None:
    (one,) = said(visit(FIRST, USUAL), visit(SECOND, less(-2.0)))
    assert "the scale was not set to nought" in one.message
    assert [cause.name for cause in one.causes][:2] == ["scale zero", "fed"]


@pytest.mark.parametrize(
    ("again", "expected"),
    [
        pytest.param(visit(SECOND + timedelta(days=1), less(2.5)), True, id="the next day"),
        pytest.param(visit(SECOND, less(2.5), by="Bob"), True, id="under another name"),
        pytest.param(visit(SECOND + timedelta(days=3), less(2.5)), True, id="three days later"),
        pytest.param(visit(SECOND + timedelta(days=1), (28.5, 31.5, None, None, None)), False, id="two hives only"),
        pytest.param(visit(SECOND + timedelta(days=1), less(2.6)), False, id="other readings"),
        pytest.param(visit(SECOND + timedelta(days=7), less(2.5)), False, id="a week later"),
    ],
)
def test_a_visit_typed_twice(again: list[Row], expected: bool) -> None:  # noqa: FBT001 a table
    rules = {one.rule for one in said(visit(FIRST, USUAL), SOUND, again)}
    assert ("repeated-visit" in rules) is expected


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        pytest.param(date(2026, 9, 5), "2026-09-15", id="another day"),
        pytest.param(date(2026, 10, 15), "2026-09-15", id="another month"),
        pytest.param(date(2026, 9, 16), "2026-09-15", id="the day after"),
        pytest.param(SECOND, "", id="the same day"),
        pytest.param(date(2026, 7, 20), "", id="two months before"),
    ],
)
def test_a_date_unlike_its_block(day: date, expected: str) -> None:
    rows = visit(SECOND, less(2.5))
    rows[2]["date"] = day
    found = [one for one in said(visit(FIRST, USUAL), rows) if one.rule == "date-unlike-its-block"]
    assert [one.suggestion for one in found] == ([expected] if expected else [])


@pytest.mark.parametrize(
    ("days", "expected"),
    [
        pytest.param((0, 35, 21, 28), ["2026-09-29"], id="late"),
        pytest.param((7, 21, 0, 28), ["2026-08-25"], id="early"),
        pytest.param((0, 7, 14, 51, 21, 28), ["2026-10-15"], id="a month late"),
        pytest.param((0, 51, 21, 56), [], id="one is early, or the other late"),
        pytest.param((0, 21, 42, 56), [], id="day by day"),
        pytest.param((0, 21, 19, 28), [], id="two days, as two people type"),
        pytest.param((0, 42, 56, 21), [], id="a forgotten visit at the end"),
        pytest.param((56, 42, 21, 0), [], id="a sheet that goes backwards"),
    ],
)
def test_a_visit_out_of_the_order_of_its_sheet(days: tuple[int, ...], expected: list[str]) -> None:
    visits = [visit(FIRST + timedelta(days=one), less(0.1 * one)) for one in days]
    rows = [one for one in said(*visits) if one.rule == "visit-out-of-order"]
    assert [one.message.split(" are of ")[1][:10] for one in rows] == expected


def test_a_hive_weighed_again_on_its_own_is_no_slip() -> None:
    again = visit(SECOND + timedelta(days=4), (None, None, 34.0, None, None))
    assert said(visit(FIRST, USUAL), SOUND, again) == []


@pytest.mark.parametrize(
    ("cells", "value"),
    [
        pytest.param({"amount": 5.0, "unit": "g"}, "kg", id="grams beside kilograms"),
        pytest.param({"amount": 50.0}, "5", id="ten times"),
        pytest.param({"amount": 0.5}, "5", id="a tenth"),
        pytest.param({"amount": 5.0}, "", id="like the others"),
        pytest.param({"amount": 10.0}, "", id="twice as much may be"),
        pytest.param({"amount": 2.0}, "", id="less for a strong one"),
        pytest.param({"amount": None, "sugar": 0.6, "water": 0.4}, "", id="mixed at home"),
    ],
)
def test_a_feed_unlike_its_round(cells: Row, value: str) -> None:
    feeds = [feeding(colony=f"A{number}", date=date(2026, 9, 5)) for number in range(1, 6)]
    feeds[1] |= cells
    found = [one for one in said(Feedings=feeds) if one.rule == "feed-unlike-its-round"]
    assert [one.suggestion for one in found] == ([value] if value else [])


@pytest.mark.parametrize(
    ("more", "expected"),
    [
        pytest.param({"colony": "A2"}, True, id="one colony the next day"),
        pytest.param({"colony": "A2", "amount": 4.0}, False, id="another amount"),
        pytest.param({"colony": "A2", "date": date(2026, 9, 8)}, False, id="three days later"),
    ],
)
def test_a_feed_typed_again_the_next_day(more: Row, expected: bool) -> None:  # noqa: FBT001 a table
    feeds = [feeding(colony=f"A{number}", date=date(2026, 9, 5)) for number in range(1, 6)]
    found = said(Feedings=[*feeds, feeding(date=date(2026, 9, 6)) | more])
    assert ("feed-again" in {one.rule for one in found}) is expected


def test_a_second_round_the_next_day_is_no_slip() -> None:
    feeds = [feeding(colony=f"A{number}", date=date(2026, 9, 5 + day)) for day in (0, 1) for number in range(1, 6)]
    assert "feed-again" not in {one.rule for one in said(Feedings=feeds)}


@pytest.mark.parametrize(
    ("again", "expected"),
    [
        pytest.param({"colony": "A3", "reading_1": 34.5, "date": SECOND + timedelta(days=1)}, True, id="the next day"),
        pytest.param({"colony": "A3", "reading_1": 34.5, "date": SECOND + timedelta(days=3)}, True, id="in three days"),
        pytest.param({"colony": "A3", "reading_1": 34.5, "date": SECOND - timedelta(days=2)}, True, id="days before"),
        pytest.param(
            {"colony": "A3", "reading_1": 34.2, "date": SECOND + timedelta(days=1)}, False, id="other reading"
        ),
        pytest.param({"colony": "A2", "reading_1": 34.5, "date": SECOND + timedelta(days=1)}, False, id="other hive"),
        pytest.param({"colony": "A3", "reading_1": 34.5, "date": SECOND + timedelta(days=9)}, False, id="a week later"),
    ],
)
def test_a_weighing_typed_again_under_another_day(again: Row, expected: bool) -> None:  # noqa: FBT001 a table
    row = {**SOUND[0], **again}
    found = said(visit(FIRST, USUAL), SOUND, [row])
    assert ("weighing-again" in {one.rule for one in found}) is expected


@pytest.mark.parametrize(
    ("cells", "expected"),
    [
        pytest.param({"unit": "lb"}, "kg", id="pounds for kilograms"),
        pytest.param({"unit": "l"}, "kg", id="litres for kilograms"),
        pytest.param({"unit": "lb", "amount": 11.0}, "", id="as much, in pounds"),
        pytest.param({"amount": 4.0}, "", id="a little less"),
    ],
)
def test_a_feed_with_the_number_of_the_others_in_another_unit(cells: Row, expected: str) -> None:
    feeds = [feeding(colony=f"A{number}", date=date(2026, 9, 5), amount=5.0, unit="kg") for number in range(1, 6)]
    feeds[1] |= cells
    found = [one for one in said(Feedings=feeds) if one.rule == "feed-unlike-its-round"]
    assert [one.suggestion for one in found] == ([expected] if expected else [])


def test_the_feeder_is_asked_about_once_a_visit() -> None:
    feeds = [feeding(colony=f"A{number}", date=date(2026, 9, 5), amount=2.0) for number in range(1, 6)]
    rows = visit(SECOND, less(2.5), feed_left=None)
    (one,) = [one for one in said(rows, Feedings=feeds) if one.rule == "feeder-not-looked-at"]
    assert one.cell == "I2"
    assert "The same of I3, I4, I5, I6." in one.message


@pytest.mark.parametrize(
    ("gross", "rule"),
    [
        pytest.param(30.0, "", id="as foretold"),
        pytest.param(25.0, "", id="a hungry winter"),
        pytest.param(33.0, "", id="a mild one"),
        pytest.param(60.0, "spring-too-heavy", id="more than it can weigh is held"),
        pytest.param(44.0, "spring-apart", id="heavier than in autumn"),
        pytest.param(17.5, "", id="a very hungry one"),
        pytest.param(45.0, "spring-apart", id="all combs full"),
        pytest.param(42.5, "spring-apart", id="that of another hive"),
    ],
)
def test_a_spring_weight_against_the_autumn_s(gross: float, rule: str) -> None:
    spring: Row = {"date": date(2027, 3, 5), "colony": "A1", "outcome": "wintered", "spring_gross": gross}
    rows = [weighing(date=THIRD, reading_1=38.0, how="platform", scale="H1", feed_left=0.0)]
    found = checked(date(2027, 3, 10), Weighings=rows, After_winter=[spring]).findings
    assert {one.rule for one in found if one.column == "spring_gross"} == ({rule} if rule else set())


@pytest.mark.parametrize(
    ("guess", "rule"),
    [
        pytest.param(33.0, set(), id="as foretold"),
        pytest.param(26.0, set(), id="a light hand"),
        pytest.param(40.0, set(), id="a heavy hand"),
        pytest.param(110.0, {"round-apart"}, id="pounds for kilograms, and more"),
        pytest.param(75.0, {"round-apart"}, id="pounds for kilograms"),
        pytest.param(3.3, {"round-apart"}, id="a tenth"),
    ],
)
def test_a_round_s_guess_against_the_last_weighing(guess: float, rule: set[str]) -> None:
    seen: Row = {"date": date(2027, 1, 10), "colony": "A1", "by": "Ann", "heft": guess}
    rows = [weighing(date=THIRD, reading_1=38.0, how="platform", scale="H1", feed_left=0.0)]
    found = checked(date(2027, 1, 20), Weighings=rows, Winter_rounds=[seen]).findings
    assert {one.rule for one in found if one.sheet == "Winter rounds" and one.weight != "note"} == rule
