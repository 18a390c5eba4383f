"""Outcomes that cannot be: before the winter, or twice and different."""

from __future__ import annotations

from datetime import date

from tests.checks.small import checked, findings_of_each, found_of_each

MAY = date(2027, 5, 1)


def outcome(day: date, said: str = "wintered") -> dict[str, object]:
    return {"date": day, "colony": "A1", "outcome": said}


def rules(*cases: list[dict[str, object]]) -> list[list[tuple[str, str]]]:
    names = {"outcome-before-winter", "two-outcomes", "wrong-year", "out-of-season"}
    said = found_of_each({at: {"After_winter": rows} for at, rows in enumerate(cases)}, MAY)
    return [[(rule, cell) for rule, cell, _ in of if rule in names] for of in said.values()]


def test_spring_before_autumn_is_asked_about() -> None:
    early, due = [outcome(date(2026, 10, 20))], [outcome(date(2027, 3, 20))]
    assert rules(early, due) == [[("outcome-before-winter", "B2")], []]


def test_the_leap_day_is_a_day_and_another_winters_row_is_held() -> None:
    leap_day, another = [outcome(date(2027, 2, 28))], [outcome(date(2026, 3, 20))]
    assert rules(leap_day, another) == [[], [("wrong-year", "B2")]]


SPRING_WEIGHTS = {
    28.0: None,
    11.0: "spring-too-light",
    13.0: None,
    120.0: "spring-too-heavy",
    290.0: "out-of-bounds",
    62.0: "spring-too-heavy",
    2.8: "spring-too-light",
}


def test_a_spring_weight_that_no_hive_has_is_held() -> None:
    """16 kg empty, at the least 12.8, believable up to 45.16 kg (small.HIVE)."""
    spring = date(2027, 4, 1)
    cases = {str(gross): {"After_winter": [outcome(spring) | {"spring_gross": gross}]} for gross in SPRING_WEIGHTS}
    said = findings_of_each(cases, MAY)
    held = {gross: [one.rule for one in said[str(gross)] if one.weight == "hold"] for gross in SPRING_WEIGHTS}
    assert held == {gross: [rule] if rule else [] for gross, rule in SPRING_WEIGHTS.items()}
    ((_, rows),) = checked(MAY, After_winter=[outcome(spring) | {"spring_gross": 11.0}]).held.items()
    assert set(rows) == {2}


def test_two_outcomes_of_one_colony() -> None:
    one, other = outcome(date(2027, 3, 1)), outcome(date(2027, 3, 20), "died")
    assert rules([one, other], [one, outcome(date(2027, 3, 20))]) == [[("two-outcomes", "D3")], []]
