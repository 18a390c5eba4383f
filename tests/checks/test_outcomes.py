"""Outcomes that cannot be: before the winter, or twice and different."""

from __future__ import annotations

from datetime import date

import pytest

from tests.checks.small import checked, found

MAY = date(2027, 5, 1)


def outcome(day: date, said: str = "wintered") -> dict[str, object]:
    return {"date": day, "colony": "A1", "outcome": said}


def rules(*rows: dict[str, object]) -> list[tuple[str, str]]:
    names = {"outcome-before-winter", "two-outcomes", "wrong-year", "out-of-season"}
    return [(rule, cell) for rule, cell, _ in found(MAY, After_winter=list(rows)) if rule in names]


def test_spring_before_autumn_is_asked_about() -> None:
    assert rules(outcome(date(2026, 10, 20))) == [("outcome-before-winter", "B2")]
    assert rules(outcome(date(2027, 3, 20))) == []


def test_the_leap_day_is_a_day_and_another_winters_row_is_held() -> None:
    assert rules(outcome(date(2027, 2, 28))) == []
    assert rules(outcome(date(2026, 3, 20))) == [("wrong-year", "B2")]


@pytest.mark.parametrize(
    ("gross", "expected"),
    [
        (28.0, None),
        (11.0, "spring-too-light"),
        (13.0, None),
        (120.0, "spring-too-heavy"),
        (290.0, "out-of-bounds"),
        (62.0, "spring-too-heavy"),
        (2.8, "spring-too-light"),
    ],
)
def test_a_spring_weight_that_no_hive_has_is_held(gross: float, expected: str | None) -> None:
    """16 kg empty, at the least 12.8, believable up to 45.16 kg (small.HIVE)."""
    said = checked(MAY, After_winter=[outcome(date(2027, 4, 1)) | {"spring_gross": gross}])
    held = {one.rule for one in said.findings if one.weight == "hold"}
    assert held == ({expected} if expected else set())
    assert set(said.held.get("After winter", {})) == ({2} if expected else set())


def test_two_outcomes_of_one_colony() -> None:
    one, other = outcome(date(2027, 3, 1)), outcome(date(2027, 3, 20), "died")
    assert rules(one, other) == [("two-outcomes", "D3")]
    assert rules(one, outcome(date(2027, 3, 20))) == []
