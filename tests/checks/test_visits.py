"""Rows of one visit side by side: three that a rule asks about, and three near misses of which it says nothing."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest

from tests.checks.small import CLUB, checked, feeding, findings_of_each, weighing

if TYPE_CHECKING:
    from apiarybook.checks.finding import Finding
    from tests.checks.small import Row, Sheets

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
IN_AUTUMN = [weighing(date=THIRD, reading_1=38.0, how="platform", scale="H1", feed_left=0.0)]
LARGE_SCALE = [{**CLUB["Scales"][0], "capacity": 90.0}]


def said(*visits: list[Row], **sheets: list[Row]) -> list[Finding]:
    rows = [row for one in visits for row in one]
    found = checked(AS_AT, Weighings=rows, Colonies=COLONIES, Scales=LARGE_SCALE, **sheets)
    return [one for one in found.findings if one.weight != "note"]


def said_of_sheets(cases: dict[str, Sheets]) -> dict[str, list[Finding]]:
    """What `said` gives of each of many clubs."""
    hives: Sheets = {"Colonies": COLONIES, "Scales": LARGE_SCALE}
    found = findings_of_each({name: hives | sheets for name, sheets in cases.items()}, AS_AT)
    return {name: [one for one in of if one.weight != "note"] for name, of in found.items()}


def said_of_each(cases: dict[str, list[list[Row]]]) -> dict[str, list[Finding]]:
    return said_of_sheets({name: {"Weighings": [row for one in of for row in one]} for name, of in cases.items()})


def suggestions(rule: str, found: dict[str, list[Finding]]) -> dict[str, list[str]]:
    return {name: [one.suggestion for one in of if one.rule == rule] for name, of in found.items()}


def fed_alike(cells: Row) -> list[Row]:
    """Five kilograms for each of five colonies, but for what one row says."""
    feeds = [feeding(colony=f"A{number}", date=date(2026, 9, 5)) for number in range(1, 6)]
    feeds[1] |= cells
    return feeds


WHOLE_VISITS: dict[str, tuple[tuple[float, ...], str]] = {
    "a sound visit": (less(2.5), ""),
    "all too heavy": (less(-2.0), "visit-off"),
    "all too light": (less(6.5), "visit-off"),
    "all heavy": (less(-1.0), "visit-off"),
    "all a little light": (less(3.5), ""),
    "one too heavy is that hive's own matter": ((28.5, 31.5, 34.5, 37.5, 45.0), "unexplained-change"),
    "one row lower": ((40.5, 28.5, 31.5, 34.5, 37.5), "readings-moved"),
    "one row higher": ((31.5, 34.5, 37.5, 40.5, 28.5), "readings-moved"),
    "in another order": ((40.5, 37.5, 34.5, 31.5, 28.5), "readings-moved"),
    "two exchanged": ((31.5, 28.5, 34.5, 37.5, 40.5), "readings-exchanged"),
    "two that may be exchanged, or not": ((30.0, 30.5, 34.5, 37.5, 40.5), ""),
    "four the same": ((31.5, 31.5, 31.5, 31.5, 40.5), "readings-copied"),
    "three the same": ((31.5, 31.5, 31.5, 37.5, 40.5), "readings-copied"),
    "the last three the same": ((28.5, 31.5, 34.5, 34.5, 34.5), "readings-copied"),
    "two the same by chance": ((30.0, 30.0, 34.5, 37.5, 40.5), ""),
    "nearly the same": ((30.0, 30.1, 34.5, 37.5, 40.5), ""),
}


def test_what_befell_a_whole_visit_is_one_question() -> None:
    found = said_of_each({name: [visit(FIRST, USUAL), visit(SECOND, one)] for name, (one, _) in WHOLE_VISITS.items()})
    for name, (_, rule) in WHOLE_VISITS.items():
        assert {one.rule for one in found[name]} == ({rule} if rule else set()), name
        if rule not in {"", "unexplained-change"}:
            assert len(found[name]) == 1, name


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


TYPED_TWICE: dict[str, tuple[list[Row], bool]] = {
    "the next day": (visit(SECOND + timedelta(days=1), less(2.5)), True),
    "under another name": (visit(SECOND, less(2.5), by="Bob"), True),
    "three days later": (visit(SECOND + timedelta(days=3), less(2.5)), True),
    "two hives only": (visit(SECOND + timedelta(days=1), (28.5, 31.5, None, None, None)), False),
    "other readings": (visit(SECOND + timedelta(days=1), less(2.6)), False),
    "a week later": (visit(SECOND + timedelta(days=7), less(2.5)), False),
}


def test_a_visit_typed_twice() -> None:
    found = said_of_each({name: [visit(FIRST, USUAL), SOUND, again] for name, (again, _) in TYPED_TWICE.items()})
    asked = {name: "repeated-visit" in {one.rule for one in of} for name, of in found.items()}
    assert asked == {name: expected for name, (_, expected) in TYPED_TWICE.items()}


DATES_OF_ONE_ROW: dict[str, tuple[date, str]] = {
    "another day": (date(2026, 9, 5), "2026-09-15"),
    "another month": (date(2026, 10, 15), "2026-09-15"),
    "the day after": (date(2026, 9, 16), "2026-09-15"),
    "the same day": (SECOND, ""),
    "two months before": (date(2026, 7, 20), ""),
}


def test_a_date_unlike_its_block() -> None:
    cases = {}
    for name, (day, _) in DATES_OF_ONE_ROW.items():
        rows = visit(SECOND, less(2.5))
        rows[2]["date"] = day
        cases[name] = [visit(FIRST, USUAL), rows]
    suggested = suggestions("date-unlike-its-block", said_of_each(cases))
    assert suggested == {name: [expected] if expected else [] for name, (_, expected) in DATES_OF_ONE_ROW.items()}


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


FEEDS_OF_ONE_ROW: dict[str, tuple[Row, str]] = {
    "grams beside kilograms": ({"amount": 5.0, "unit": "g"}, "kg"),
    "ten times": ({"amount": 50.0}, "5"),
    "a tenth": ({"amount": 0.5}, "5"),
    "like the others": ({"amount": 5.0}, ""),
    "twice as much may be": ({"amount": 10.0}, ""),
    "less for a strong one": ({"amount": 2.0}, ""),
    "mixed at home": ({"amount": None, "sugar": 0.6, "water": 0.4}, ""),
}


def test_a_feed_unlike_its_round() -> None:
    cases = {name: {"Feedings": fed_alike(cells)} for name, (cells, _) in FEEDS_OF_ONE_ROW.items()}
    suggested = suggestions("feed-unlike-its-round", said_of_sheets(cases))
    assert suggested == {name: [value] if value else [] for name, (_, value) in FEEDS_OF_ONE_ROW.items()}


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


TYPED_AGAIN: dict[str, tuple[Row, bool]] = {
    "the next day": ({"colony": "A3", "reading_1": 34.5, "date": SECOND + timedelta(days=1)}, True),
    "in three days": ({"colony": "A3", "reading_1": 34.5, "date": SECOND + timedelta(days=3)}, True),
    "days before": ({"colony": "A3", "reading_1": 34.5, "date": SECOND - timedelta(days=2)}, True),
    "other reading": ({"colony": "A3", "reading_1": 34.2, "date": SECOND + timedelta(days=1)}, False),
    "other hive": ({"colony": "A2", "reading_1": 34.5, "date": SECOND + timedelta(days=1)}, False),
    "a week later": ({"colony": "A3", "reading_1": 34.5, "date": SECOND + timedelta(days=9)}, False),
}


def test_a_weighing_typed_again_under_another_day() -> None:
    found = said_of_each(
        {name: [visit(FIRST, USUAL), SOUND, [{**SOUND[0], **again}]] for name, (again, _) in TYPED_AGAIN.items()}
    )
    asked = {name: "weighing-again" in {one.rule for one in of} for name, of in found.items()}
    assert asked == {name: expected for name, (_, expected) in TYPED_AGAIN.items()}


UNITS_OF_ONE_ROW: dict[str, tuple[Row, str]] = {
    "pounds for kilograms": ({"unit": "lb"}, "kg"),
    "litres for kilograms": ({"unit": "l"}, "kg"),
    "as much, in pounds": ({"unit": "lb", "amount": 11.0}, ""),
    "a little less": ({"amount": 4.0}, ""),
}


def test_a_feed_with_the_number_of_the_others_in_another_unit() -> None:
    cases = {name: {"Feedings": fed_alike(cells)} for name, (cells, _) in UNITS_OF_ONE_ROW.items()}
    suggested = suggestions("feed-unlike-its-round", said_of_sheets(cases))
    assert suggested == {name: [unit] if unit else [] for name, (_, unit) in UNITS_OF_ONE_ROW.items()}


def test_the_feeder_is_asked_about_once_a_visit() -> None:
    feeds = [feeding(colony=f"A{number}", date=date(2026, 9, 5), amount=2.0) for number in range(1, 6)]
    rows = visit(SECOND, less(2.5), feed_left=None)
    (one,) = [one for one in said(rows, Feedings=feeds) if one.rule == "feeder-not-looked-at"]
    assert one.cell == "I2"
    assert "The same of I3, I4, I5, I6." in one.message


SPRING_WEIGHTS: dict[str, tuple[float, str]] = {
    "as foretold": (30.0, ""),
    "a hungry winter": (25.0, ""),
    "a mild one": (33.0, ""),
    "more than it can weigh is held": (60.0, "spring-too-heavy"),
    "heavier than in autumn": (44.0, "spring-apart"),
    "a very hungry one": (17.5, ""),
    "all combs full": (45.0, "spring-apart"),
    "that of another hive": (42.5, "spring-apart"),
}


def test_a_spring_weight_against_the_autumn_s() -> None:
    spring: Row = {"date": date(2027, 3, 5), "colony": "A1", "outcome": "wintered"}
    cases: dict[str, Sheets] = {
        name: {"Weighings": IN_AUTUMN, "After_winter": [spring | {"spring_gross": gross}]}
        for name, (gross, _) in SPRING_WEIGHTS.items()
    }
    found = findings_of_each(cases, date(2027, 3, 10))
    rules = {name: {one.rule for one in of if one.column == "spring_gross"} for name, of in found.items()}
    assert rules == {name: {rule} if rule else set() for name, (_, rule) in SPRING_WEIGHTS.items()}


GUESSES_OF_A_ROUND: dict[str, tuple[float, set[str]]] = {
    "as foretold": (33.0, set()),
    "a light hand": (26.0, set()),
    "a heavy hand": (40.0, set()),
    "pounds for kilograms, and more": (110.0, {"round-apart"}),
    "pounds for kilograms": (75.0, {"round-apart"}),
    "a tenth": (3.3, {"round-apart"}),
}


def test_a_round_s_guess_against_the_last_weighing() -> None:
    seen: Row = {"date": date(2027, 1, 10), "colony": "A1", "by": "Ann"}
    cases: dict[str, Sheets] = {
        name: {"Weighings": IN_AUTUMN, "Winter_rounds": [seen | {"heft": guess}]}
        for name, (guess, _) in GUESSES_OF_A_ROUND.items()
    }
    found = findings_of_each(cases, date(2027, 1, 20))
    rules = {
        name: {one.rule for one in of if one.sheet == "Winter rounds" and one.weight != "note"}
        for name, of in found.items()
    }
    assert rules == {name: rule for name, (_, rule) in GUESSES_OF_A_ROUND.items()}
