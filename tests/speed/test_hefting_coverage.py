"""Nine-in-ten intervals of hefts hold the truth about nine times in ten, from the first lift on.

The bounds are the club's own demand on its arithmetic, not a published figure.
"""

from importlib.resources import files

import pytest

from tests.studies.hefting_coverage import CLUBS, MOST_PAIRS, ROUGH, Clubs, coverage, page

LOW, HIGH = 0.86, 0.93


@pytest.mark.speed
def test_coverage_at_every_number_of_pairs() -> None:
    found = coverage()
    assert CLUBS >= 200
    assert found["pairs"].tolist() == list(range(MOST_PAIRS + 1))
    assert (found["draws"] >= 3000).all()
    assert found["held"].between(LOW, HIGH).all()
    assert found["held_by_sheet"].between(LOW, HIGH).all()


@pytest.mark.speed
@pytest.mark.parametrize("hands", [1, 3, 30])
def test_coverage_in_small_and_large_clubs(hands: int) -> None:
    found = coverage(Clubs(hands=hands), count=max(60, 3200 // hands), seed=11)
    assert found["held"].between(LOW - 0.015, HIGH).all()


@pytest.mark.speed
def test_the_page_shows_the_table_as_measured() -> None:
    kept = files("apiarybook.guide").joinpath("hefting-coverage.md").read_text(encoding="utf-8")
    assert kept == page()


def test_coverage_in_short() -> None:
    found = coverage(count=60, draws=2, seed=4)
    few, many = found.iloc[:6], found.iloc[20:]
    assert LOW - 0.03 <= few["held"].mean() <= HIGH
    assert LOW <= many["held"].mean() <= HIGH
    assert found["within"].iloc[40] < found["within"].iloc[0]


def test_rough_clubs_are_learned() -> None:
    """Hands wider than believed are trusted too much at first, and rightly after a score of pairs."""
    found = coverage(ROUGH, count=60, draws=2, seed=4)
    assert found["held"].iloc[:2].mean() < found["held"].iloc[20:].mean()
    assert found["held"].iloc[20:].mean() == pytest.approx(0.9, abs=0.03)


def test_the_same_seed_gives_the_same_table() -> None:
    assert coverage(count=3, draws=1, seed=1).equals(coverage(count=3, draws=1, seed=1))
