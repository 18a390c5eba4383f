"""What hefting saves: a third of the weighings, taken as the book suggests, and the colonies in danger are found.

The demand is the club's own: of the colonies truly below their least 99 in 100 must not be called enough.
"""

from importlib.resources import files

import numpy as np
import pytest

from tests.studies.hefting_saves import RULES, THIRD, draw, page, saves, suggested, weigh_in

HEFT, SOME, LISTED, ALL = RULES


@pytest.mark.speed
def test_the_page_shows_the_table_as_measured() -> None:
    kept = files("apiarybook.guide").joinpath("hefting-saves.md").read_text(encoding="utf-8")
    assert kept == page()


@pytest.mark.speed
def test_a_third_of_the_weighings_finds_the_colonies_below_their_least() -> None:
    found = saves(count=200)
    assert found.loc[SOME, "weighed"] <= THIRD
    assert found.loc[SOME, "below_found"] >= 0.99
    assert found.loc[SOME, "wasted"] <= found.loc[ALL, "wasted"]


def test_a_few_clubs() -> None:
    found = saves(count=6, seed=3)
    assert found["weighed"].is_monotonic_increasing
    assert found.loc[SOME, "weighed"] <= THIRD
    assert found.loc[ALL, ["below_found", "below_fed"]].tolist() == [1.0, 1.0]
    assert found.loc[SOME, "left"] < found.loc[HEFT, "left"]


def test_the_same_seed_draws_the_same_clubs_and_no_club_is_asked_for_more_than_a_third() -> None:
    one, other = draw(count=2, seed=5), draw(count=2, seed=5)
    assert one.colonies.equals(other.colonies)
    assert one.practice.equals(other.practice)
    hefted = weigh_in(one, np.zeros(len(one.colonies), dtype=np.bool_))
    weighed = suggested(one, hefted, THIRD)
    by_club = one.colonies.assign(weighed=weighed).groupby("club")["weighed"].mean()
    assert (by_club <= THIRD).all()
