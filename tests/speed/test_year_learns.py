"""Wants learnt from simulated winters come near those of perfect knowledge; the bounds are the club's own demand."""

from importlib.resources import files

import pytest

from tests.studies.year_learns import CASES, CLUBS, COLONIES, SEASONS, Truth, figures_of, learned, page


@pytest.mark.speed
@pytest.mark.parametrize("truth", [truth for _, truth in CASES[:2]])
def test_clubs_a_quarter_off_learn_it_in_three_winters(truth: Truth) -> None:
    found = learned(truth)
    assert (len(found), SEASONS, COLONIES) == (CLUBS, 3, 40)
    got = figures_of(found)
    assert got["suggested"] == pytest.approx(got["perfect"], rel=0.04)
    assert got["within"] >= 0.9


@pytest.mark.speed
def test_the_page_shows_the_table_as_measured() -> None:
    assert files("apiarybook.guide").joinpath("year-learns.md").read_text(encoding="utf-8") == page()


def test_learning_in_short() -> None:
    got = figures_of(learned(Truth(1.25, 0.4), seed=5, clubs=3))
    assert got["suggested"] == pytest.approx(got["perfect"], rel=0.08)
    assert got["suggested"] > got["want"] + 1


def test_four_colonies_cannot_tell_yet() -> None:
    found = learned(Truth(1.25, 0.4, 4), seed=5, clubs=3, seasons=1)
    assert (found["suggested"] == found["want"]).all()
    assert (found["says"] == "cannot tell yet").all()
