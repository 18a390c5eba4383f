"""Hands of every sort through the whole book: typed rows in, findings and figures out.

The hive is that of test_season, 37.35 kg as it stands. Bounds are the book's own, common practice, no source.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest

from apiarybook.club.reckoned import reckon_book
from tests.checks.small import MASSES_IN_POUNDS, book
from tests.reckon.small_season import OCTOBER, weighed

if TYPE_CHECKING:
    import pandas as pd

    from tests.checks.small import Row

DAYS = [OCTOBER - timedelta(days=30 - day) for day in range(9)]


def heft(guess: object, **cells: object) -> Row:
    return weighed(how="heft", heft=guess, **cells)


def practised(guesses: list[float]) -> list[Row]:
    return [weighed(heft=guess, occasion="practice", date=day) for guess, day in zip(guesses, DAYS, strict=True)]


STEADY = practised([37.0, 38.0, 39.0] * 3)


def read(rows: list[Row]) -> tuple[list[tuple[str, str, str]], pd.DataFrame, pd.Series[float]]:
    """Findings on the column heft as rule, weight and suggestion; hands by name; the colony."""
    found = reckon_book(book(Weighings=rows), OCTOBER)
    hefts = [one for one in found.checked.findings if one.heading.startswith("heft")]
    told = [(one.rule, one.weight.value, one.suggestion) for one in hefts]
    return told, found.season.hefting.set_index("by"), found.season.standing.iloc[0]


def test_a_new_hand_is_taken_as_any_other_and_never_for_sure() -> None:
    told, hands, colony = read([heft(38.0, by="Eve")])
    assert told == []
    assert hands.index.tolist() == ["any other hand"]
    assert colony["stores_u"] > 5
    assert colony["verdict"] == "weigh"


def test_one_lift_counts_for_little() -> None:
    told, hands, _ = read([weighed(heft=45.0, by="Eve", date=DAYS[0]), heft(38.0, by="Eve")])
    assert told == []
    assert np.log(37.35 / 45.0) < np.log(hands.loc["Eve", "factor"]) < 0
    assert hands.loc["Eve", "spread"] > 0.1
    assert hands.loc["Eve", "says"] == "go on weighing too"


@pytest.mark.parametrize("guess", [390.0, 0.0, -5.0, "so so"])
def test_a_guess_that_is_none_is_held_and_moves_nothing(guess: object) -> None:
    usual = read(STEADY)[1]
    for row in (heft(guess), weighed(heft=guess)):
        told, hands, colony = read([*STEADY, row])
        assert [weight for _, weight, _ in told] == ["hold"]
        assert hands.loc["Ann"].equals(usual.loc["Ann"])
        assert colony["verdict"] == "weigh"


def test_an_absurd_guess_beside_a_reading_is_asked_about_and_widens_its_hand_by_a_bounded_amount() -> None:
    """A guess held to three spreads of its hand's middle error widens the hand, and no guess widens it further."""
    told, hands, _ = read([*STEADY, weighed(heft=15.0)])
    assert told == [("guess-apart", "ask", "")]
    usual, wider = read(STEADY)[1].loc["Ann", "spread"], hands.loc["Ann", "spread"]
    assert 1.2 * usual < wider == pytest.approx(read([*STEADY, weighed(heft=10.0)])[1].loc["Ann", "spread"])


def test_guesses_all_alike_are_no_perfect_hand() -> None:
    """Forty kilograms whatever is lifted: steady in word, wide in truth."""
    rows = [weighed(heft=40.0, occasion="practice", date=day, reading_1=30.0 + n) for n, day in enumerate(DAYS)]
    told, hands, colony = read([*rows, heft(40.0)])
    assert told == []
    assert hands.loc["Ann", "spread"] > 0.1
    assert colony["stores_u"] > 4


def test_guesses_always_right_are_still_given_a_spread() -> None:
    _, hands, colony = read([*practised([37.35] * 9), heft(37.35)])
    assert hands.loc["Ann", "spread"] > 0.04
    assert colony["stores_u"] > 2


@pytest.mark.parametrize("before", [[], STEADY], ids=["new hand", "known hand"])
def test_pounds_in_a_book_of_kilograms(before: list[Row]) -> None:
    pounds = round(37.35 * MASSES_IN_POUNDS)
    told, _, colony = read([*before, heft(float(pounds))])
    assert [(rule, weight) for rule, weight, _ in told] == [("above-comb", "hold")]
    assert float(told[0][2]) == pytest.approx(37.35, abs=0.4)
    assert colony["verdict"] == "weigh"


def test_pounds_beside_a_reading_in_kilograms() -> None:
    told, _, colony = read([*STEADY, weighed(heft=82.0)])
    assert told == [("guess-apart", "ask", "37.2")]
    assert colony["how"] == "platform"
