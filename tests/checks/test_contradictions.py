"""Rows of different sheets that cannot all be true, and names that are nearly those of others."""

from __future__ import annotations

from datetime import date

import pytest

from tests.checks.small import Row, feeding, found, weighing

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
