"""What may have been meant by a row: what is offered, and what is not."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from apiarybook.handbook import handbook
from apiarybook.reckon.balance.causes import Rows
from apiarybook.reckon.balance.slips import LAST, NAMED, OTHER, POINT, SIDES, WAY, Weighed, tries
from tests.reckon.small_season import season, weighed

USUAL = (36.0, 6.0)
DAYS = [date(2026, 8, 20), date(2026, 9, 1), date(2026, 9, 12), date(2026, 9, 23)]


def typed(*readings: float, how: str = "platform", **more: object) -> Weighed:
    gross = sum(readings) if how == SIDES else sum(readings) / len(readings)
    return Weighed(readings, how, 1.0, gross, USUAL, "kg", **more)


def names(one: Weighed) -> set[str]:
    return {found.name for found in tries(one)}


@pytest.mark.parametrize(
    ("one", "other", "is_offered"),
    [
        pytest.param(typed(38.0), typed(31.0), True, id="another hive of that visit"),
        pytest.param(typed(38.0), typed(15.0, 16.0, how=SIDES), False, id="one reading cannot be two"),
        pytest.param(typed(18.0, 19.0, how=SIDES), typed(15.0, 16.0, how=SIDES), True, id="two sides that agree"),
        pytest.param(typed(18.0, 39.0, how=SIDES), typed(15.0, 16.0, how=SIDES), False, id="two that do not agree"),
    ],
)
def test_a_row_may_be_another_hive_s(one: Weighed, other: Weighed, is_offered: bool) -> None:  # noqa: FBT001 a column of the table
    assert (OTHER in names(replace(one, others={7: other}))) == is_offered


def test_the_last_reading_and_an_extra_are_offered_where_there_is_one() -> None:
    assert LAST in names(typed(38.0, before=(38.0,)))
    assert LAST not in names(typed(38.0, before=(37.0,)))
    assert LAST in names(typed(38.0, 38.0, before=(38.0,)))
    assert LAST not in names(typed(38.0, 37.5, before=(38.0,)))
    assert NAMED in names(typed(38.0, extras=(2.5,)))
    assert NAMED not in names(typed(38.0))


def test_where_the_point_may_have_gone_and_how_likely() -> None:
    """36.5 may be 365.0 or 3.65; scales show one decimal, so that a second makes it a twentieth as likely."""
    found = {round(one.readings[0], 4): one.weight for one in tries(typed(36.5)) if one.name == POINT}
    assert found == {365.0: 0.45, 3.65: 0.45 * 0.05, 3650.0: 0.05, 0.365: pytest.approx(0.05 * 0.05)}


def test_the_odd_way_of_weighing_is_that_of_one_row_among_others_of_one_way() -> None:
    def odd(*ways: str) -> list[bool]:
        readings = {"platform": 37.0, "one side": 18.5}
        rows = [weighed(date=day, how=way, reading_1=readings[way]) for day, way in zip(DAYS, ways, strict=False)]
        found = Rows(season(date(2026, 10, 1), Weighings=rows).records, "kg")
        return [found.is_odd_one_out(at) for at in range(len(rows))]

    assert odd("platform", "platform", "one side") == [False, False, True]
    assert odd("platform", "one side", "one side", "platform") == [False] * 4
    assert odd("platform", "one side") == [False, False]
    assert odd("platform") == [False]


def test_another_way_is_three_times_three_times_likelier_where_not_all_was_weighed_so() -> None:
    one, other = (
        next(found for found in tries(typed(18.5, usual_way=usual)) if found.name == WAY) for usual in (True, False)
    )
    assert other.weight == pytest.approx(one.weight * handbook().judging["said_weight"].value ** 2)
    assert typed(18.5).gross_if(other) == pytest.approx(18.5 * handbook().methods["one side"].multiplier.value)


@pytest.mark.parametrize(
    ("ways", "usual"), [(["platform", "platform"], True), (["platform", "heft"], False), (["platform"], True)]
)
def test_a_way_is_usual_where_the_colony_was_never_else_looked_at(ways: list[str], usual: bool) -> None:  # noqa: FBT001 a column of the table
    cells = {"platform": {"reading_1": 37.0}, "heft": {"heft": 36.0}}
    rows = [weighed(date=day, how=way, **cells[way]) for day, way in zip(DAYS, ways, strict=False)]
    one = Rows(season(date(2026, 10, 1), Weighings=rows).records, "kg").weighed(0)
    assert one is not None
    assert one.usual_way == usual
