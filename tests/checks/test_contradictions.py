"""Rows of different sheets that cannot all be true, and names that are nearly those of others."""

from __future__ import annotations

from datetime import date

import pytest

from tests.checks.small import Row, checked, feeding, found, weighing

GONE: Row = {"date": date(2026, 9, 5), "colony": "A1", "what": "given away"}
ROUND: Row = {"date": date(2026, 9, 12), "colony": "A1", "by": "Ann", "heft": "heavy"}


def rules(**rows: list[Row]) -> set[str]:
    return {rule for rule, _, _ in found(**rows)}


@pytest.mark.parametrize("rows", [{"Feedings": [feeding()]}, {"Winter_rounds": [ROUND]}])
def test_a_colony_that_is_gone_is_neither_fed_nor_seen(rows: dict[str, list[Row]]) -> None:
    assert "row-after-gone" in rules(Moves=[GONE], **rows)
    assert "row-after-gone" not in rules(Moves=[{**GONE, "date": date(2026, 9, 19)}], **rows)


@pytest.mark.parametrize(("left", "is_odd"), [(9.0, True), (0.5, False), (None, False)])
def test_a_colony_that_starved_had_no_food_left(left: float | None, is_odd: bool) -> None:  # noqa: FBT001 a table
    row: Row = {"date": date(2027, 3, 5), "colony": "A1", "outcome": "died", "seen": "no food left", "food_left": left}
    assert ("starved-with-food" in rules(After_winter=[row])) is is_odd


@pytest.mark.parametrize(("name", "is_odd"), [("Annabel Grey", False), ("Anabel Grey", True), ("Bob", False)])
def test_a_name_nearly_that_of_a_member_is_asked_about(name: str, is_odd: bool) -> None:  # noqa: FBT001 a table
    members: list[Row] = [{"member": "M1", "name": "Annabel Grey"}]
    assert ("name-misspelt" in rules(Members=members, Weighings=[weighing(by=name)])) is is_odd


HEFT: Row = {"date": date(2026, 9, 14), "colony": "A1", "by": "Ann", "how": "heft", "heft": 20.0}


@pytest.mark.parametrize(("reading", "is_asked"), [(44.0, True), (8.0, False)], ids=["sound", "held"])
def test_a_heft_is_not_set_against_a_weighing_that_is_held(reading: float, is_asked: bool) -> None:  # noqa: FBT001 a table
    told = rules(Weighings=[weighing(reading_1=reading), HEFT])
    assert ("below-tare" in told) is not is_asked
    assert ("evidence-apart" in told) is is_asked


def test_of_each_cell_one_thing_is_said() -> None:
    rows = [feeding(amount=45.5, unit="l"), *([weighing(reading_1=90.6, scale="H1")] * 2)]
    checks = checked(Weighings=rows[1:], Feedings=rows[:1])
    cells = [(one.sheet, one.cell) for one in checks.findings if one.cell]
    assert len(cells) == len(set(cells)) >= 3
    assert checks.held["Weighings"][2].count(";") == 1


def test_the_colony_that_lacks_most_comes_first_whatever_its_row() -> None:
    days = {"A1": date(2026, 9, 12), "B2": date(2026, 9, 14)}
    rows = [weighing(colony=code, date=day, feed_left=0.0) for code, day in days.items()]
    rows[0]["reading_1"], rows[1]["reading_1"] = 36.0, 26.0
    colonies: list[Row] = [{"colony": code, "apiary": "P1", "hive_type": "Eleven"} for code in days]
    fed = [feeding(colony=code, date=day) for code, day in days.items()]
    found = checked(Colonies=colonies, Weighings=rows, Feedings=fed).findings
    assert [one.colony for one in found if one.rule == "before-or-after-feed"] == ["B2", "A1"]


def test_only_the_weighing_on_which_stores_rest_is_asked_about() -> None:
    fed = [feeding(date=date(2026, 9, 8))]
    rows = [weighing(date=date(2026, 9, 10)), weighing(date=date(2026, 9, 12), feed_left=0.0)]
    assert rules(Weighings=rows[:1], Feedings=fed) == {"feeder-not-looked-at"}
    assert rules(Weighings=rows, Feedings=fed) == set()
