"""Rows of different sheets that cannot all be true, and names that are nearly those of others."""

from __future__ import annotations

from datetime import date

import pytest

from tests.checks.small import Row, Sheets, checked, feeding, found, found_of_each, weighing

GONE: Row = {"date": date(2026, 9, 5), "colony": "A1", "what": "given away"}
ROUND: Row = {"date": date(2026, 9, 12), "colony": "A1", "by": "Ann", "heft": "heavy"}


def rules(**rows: list[Row]) -> set[str]:
    return {rule for rule, _, _ in found(**rows)}


def are_asked(rule: str, *cases: Sheets) -> list[bool]:
    """Of which of many small clubs a rule says anything."""
    said = found_of_each(dict(enumerate(cases)))
    return [rule in {one for one, _, _ in of} for of in said.values()]


def test_a_colony_that_is_gone_is_neither_fed_nor_seen() -> None:
    seen: list[Sheets] = [{"Feedings": [feeding()]}, {"Winter_rounds": [ROUND]}]
    cases = [{"Moves": [GONE | {"date": date(2026, 9, day)}], **rows} for day in (5, 19) for rows in seen]
    assert are_asked("row-after-gone", *cases) == [True, True, False, False]


def test_a_colony_that_starved_had_no_food_left() -> None:
    row: Row = {"date": date(2027, 3, 5), "colony": "A1", "outcome": "died", "seen": "no food left"}
    cases: list[Sheets] = [{"After_winter": [row | {"food_left": left}]} for left in (9.0, 0.5, None)]
    assert are_asked("starved-with-food", *cases) == [True, False, False]


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
