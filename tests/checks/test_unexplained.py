"""What the checks say of changes that the book does not explain: rows in, rule, cell and sentence out."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from tests.checks.small import CLUB, MASSES_IN_POUNDS, checked, feeding, weighing

if TYPE_CHECKING:
    from apiarybook.checks.finding import Finding
    from tests.checks.small import Row

FIRST, SECOND, THIRD = date(2026, 8, 25), date(2026, 9, 15), date(2026, 10, 6)
AS_AT = date(2026, 10, 7)
ABOUT = {"unexplained-change", "small-unexplained-change", "weighing-out-of-line", "weighed-after-gone"}


def lift(day: date, kilograms: float | None, **cells: object) -> Row:
    return weighing(date=day, reading_1=kilograms, how="platform", scale="H1", feed_left=0.0, **cells)


def said(*rows: Row, **sheets: object) -> list[Finding]:
    return [one for one in checked(AS_AT, Weighings=list(rows), **sheets).findings if one.rule in ABOUT]


def test_sound_rows_have_nothing_said_of_them() -> None:
    assert said(lift(FIRST, 38.0), lift(SECOND, 35.5), lift(THIRD, 33.0)) == []


def test_a_gain_is_asked_about_at_the_later_reading() -> None:
    (one,) = said(lift(FIRST, 38.0), lift(SECOND, 42.0), lift(THIRD, 39.5))
    assert (one.rule, one.weight, one.cell, one.value) == ("unexplained-change", "ask", "F3", "42")
    assert "From 2026-08-25 to 2026-09-15 A1 should have lost 2.3 kg" in one.message
    assert "and it gained 4 kg, so that it weighs 6.3 kg more than the book explains" in one.message
    assert "a feed was given and not written down" in one.message
    assert "on the sheet Feedings" in one.do


def test_a_loss_is_asked_about() -> None:
    (one,) = said(lift(FIRST, 40.0), lift(SECOND, 31.3), lift(THIRD, 29.0))
    assert "less than the book explains" in one.message
    assert "there was robbing" in one.message
    assert "narrow the entrance" in one.do


def test_a_small_one_is_noted() -> None:
    (one,) = said(lift(FIRST, 38.0), lift(SECOND, 37.3), lift(THIRD, 34.8))
    assert (one.rule, one.weight) == ("small-unexplained-change", "note")


def test_the_reading_of_the_visit_before_is_asked_about_where_another_would_be_noted() -> None:
    (one,) = said(lift(FIRST, 38.0), lift(SECOND, 38.0), lift(THIRD, 33.0))
    assert (one.rule, one.causes[0].name) == ("unexplained-change", "last reading")


@pytest.mark.parametrize(
    ("middle", "rules"),
    [
        pytest.param(33.8, ["weighing-out-of-line"], id="too light by what lies before and after"),
        pytest.param(34.6, [], id="a little too light"),
        pytest.param(35.5, [], id="as foretold"),
        pytest.param(36.9, [], id="a little too heavy"),
        pytest.param(37.5, ["unexplained-change"], id="too heavy by what lies before alone"),
    ],
)
def test_a_weighing_out_of_line_is_asked_about_though_neither_interval_is(middle: float, rules: list[str]) -> None:
    found = [one.rule for one in said(lift(FIRST, 38.0), lift(SECOND, middle), lift(THIRD, 33.0))]
    assert found == rules


@pytest.mark.parametrize(
    ("gross", "asked"),
    [
        pytest.param((40.0, 36.7, 34.7, 33.4, 32.2), [], id="as the handbook says"),
        pytest.param((40.0, 34.7, 31.6, 29.5, 27.3), [], id="a colony that eats 1.8 times that"),
        pytest.param((40.0, 36.7, 34.7, 31.5, 30.3), ["F5"], id="one that ate so in one month"),
        pytest.param((40.0, 36.7, 32.0, 30.8, 29.6), ["F4"], id="one that ate so in another"),
    ],
)
def test_what_a_colony_ate_before_and_after_tells_what_it_may_have_eaten(
    gross: tuple[float, ...], asked: list[str]
) -> None:
    """Weighings a month apart from October to February."""
    days = [date(2026, 10, 6), date(2026, 11, 6), date(2026, 12, 6), date(2027, 1, 6), date(2027, 2, 6)]
    found = checked(date(2027, 2, 7), Weighings=list(map(lift, days, gross))).findings
    assert [one.cell for one in found if one.rule in ABOUT] == asked


def test_a_way_of_weighing_that_stands_alone_is_the_likeliest() -> None:
    """22 kg at one side in March are 48 kg, in doubt by 15 %, and as a full lift what is left of 38."""
    rows = [
        weighing(date=day, how=way, reading_1=read, feed_left=0.0)
        for day, way, read in (
            (FIRST, "full lift", 40.5),
            (SECOND, "full lift", 38.0),
            (date(2027, 3, 2), "one side", 22.0),
        )
    ]
    (one,) = [one for one in checked(date(2027, 3, 3), Weighings=rows).findings if one.rule in ABOUT]
    assert (one.weight, one.causes[0].name) == ("ask", "way of weighing")


def test_a_slip_suggests_what_was_meant() -> None:
    (one,) = said(lift(FIRST, 32.0), lift(SECOND, 39.6), lift(THIRD, 27.3))
    assert one.suggestion == "29.6"
    assert "a digit is wrong or missing (29.6 for 39.6)" in one.message
    assert one.likelihood is not None
    assert 0 < one.likelihood <= 1


def test_a_slip_in_pounds_is_one_of_the_pounds_typed() -> None:
    types = [
        CLUB["Hive types"][0]
        | {
            key: float(str(CLUB["Hive types"][0][key])) * MASSES_IN_POUNDS
            for key in ("tare", "tare_spread", "bees", "pollen", "want", "full_comb")
        }
    ]
    scales = [{"scale": "H1", "kind": "hanging", "capacity": 110.0, "division": 0.2}]
    rows = lift(FIRST, 75.0), lift(SECOND, 89.4), lift(THIRD, 64.0)
    (one,) = said(*rows, unit="lb", Hive_types=types, Scales=scales, Scale_checks=[])
    assert one.suggestion == "69.4"
    assert "lb more than the book explains" in one.message


def test_what_another_rule_says_of_a_reading_is_not_said_twice() -> None:
    found = checked(
        AS_AT, Weighings=[lift(FIRST, 38.0), lift(SECOND, 83.8) | {"scale": None}, lift(THIRD, 33.0)]
    ).findings
    assert [one.rule for one in found] == ["above-comb"]


def test_a_feed_that_could_not_be_used_explains_itself() -> None:
    rows = lift(FIRST, 38.0), lift(SECOND, 42.0), lift(THIRD, 39.5)
    fed = feeding(date=date(2026, 9, 5), amount="6,5")
    assert said(*rows, Feedings=[fed]) == []


def test_before_or_after_feed_is_asked_once() -> None:
    found = checked(
        AS_AT, Weighings=[lift(FIRST, 38.0), lift(SECOND, 35.5)], Feedings=[feeding(date=SECOND, amount=6.0)]
    )
    assert [one.rule for one in found.findings if one.weight == "ask"] == ["before-or-after-feed"]


@pytest.mark.parametrize(
    ("of_round", "expected"),
    [
        pytest.param(4.0, ("ask", "E2", "4"), id="the others had half of it"),
        pytest.param(None, ("note", "F3", ""), id="nobody else was fed"),
    ],
)
def test_a_feed_unlike_its_round_is_asked_about_where_the_gain_speaks_too(
    of_round: float | None, expected: tuple[str, str, str]
) -> None:
    codes, fed_on = ("A1", "A2", "A3", "A4"), date(2026, 9, 3)
    rows = [lift(day, gross, colony=code) for code in codes for day, gross in ((FIRST, 33.0), (SECOND, 32.6))]
    feeds = [feeding(date=fed_on, colony=code, amount=of_round) for code in codes[1:] if of_round]
    sheets = {"Feedings": [feeding(date=fed_on, amount=8.0), *feeds]}
    colonies = [CLUB["Colonies"][0] | {"colony": code} for code in codes]
    (one,) = said(*(rows if of_round else rows[:2]), Colonies=colonies, **sheets)
    assert (one.weight, one.cell, one.suggestion) == expected


def test_two_rows_mixed_up_are_one_question() -> None:
    colonies = [CLUB["Colonies"][0] | {"colony": code} for code in ("A1", "A2")]
    light = [lift(day, kilograms, colony="A2") for day, kilograms in ((FIRST, 30.0), (SECOND, 34.5), (THIRD, 25.0))]
    heavy = [lift(day, kilograms) for day, kilograms in ((FIRST, 37.0), (SECOND, 27.5), (THIRD, 32.0))]
    found = checked(AS_AT, Weighings=[*heavy, *light], Colonies=colonies).findings
    (one,) = [one for one in found if one.weight == "ask"]
    assert (one.rule, one.message.rpartition(": ")[2]) == ("readings-exchanged", "F3, F6.")


@pytest.mark.parametrize(
    ("sheets", "words"),
    [
        ({"Moves": [{"date": SECOND, "colony": "A1", "what": "united into", "into": "A2"}]}, "was united into A2"),
        ({"Moves": [{"date": SECOND, "colony": "A1", "what": "given away"}]}, "was given away"),
        ({"After_winter": [{"date": SECOND, "colony": "A1", "outcome": "died"}]}, "died"),
    ],
    ids=["united", "given away", "died"],
)
def test_colonies_weighed_after_they_were_gone(sheets: dict[str, list[Row]], words: str) -> None:
    colonies = [CLUB["Colonies"][0] | {"colony": code} for code in ("A1", "A2")]
    rows = lift(FIRST, 38.0), lift(SECOND, 35.5), lift(THIRD, 20.0)
    (one,) = said(*rows, Colonies=colonies, **sheets)
    assert (one.rule, one.cell) == ("weighed-after-gone", "B4")
    assert words in one.message
    assert said(*rows[:2], rows[2] | {"occasion": "practice"}, Colonies=colonies, **sheets) == []


def test_an_end_whose_row_is_held_says_nothing_of_later_weighings() -> None:
    died: Row = {"date": SECOND, "colony": "A1", "outcome": "died"}
    rows = lift(FIRST, 38.0), lift(THIRD, 33.0)
    assert [one.rule for one in said(*rows, After_winter=[died])] == ["weighed-after-gone"]
    held: Row = died | {"food_left": "2,5"}
    assert said(*rows, After_winter=[held]) == []
    assert [one.rule for one in said(*rows, After_winter=[held, died])] == ["weighed-after-gone"]
