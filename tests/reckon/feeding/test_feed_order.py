"""The feed order: what is foretold before any weighing, what the weighing changes, and how sure the whole is."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from tests.checks.small import CLUB, HIVE
from tests.reckon.small_season import OCTOBER, fed, season, weighed

SHARE = 0.6135 * 0.9 / 0.82
"""Stores from a kilogram of the club's syrup."""
SUMMER = date(2026, 8, 5)


def colonies(count: int) -> list[dict[str, object]]:
    return [CLUB["Colonies"][0] | {"colony": f"A{number}"} for number in range(1, count + 1)]


def test_the_first_year_is_foretold_from_the_want() -> None:
    """Four tenths of the want (common practice, no source): 0.4 x 18 kg of stores for each of three colonies."""
    order = season(as_at=SUMMER, Colonies=colonies(3)).feed_order.iloc[0]
    assert order["forecast"] == pytest.approx(3 * 0.4 * 18.0 / SHARE)
    assert order["forecast_packs"] == pytest.approx(3 * 0.4 * 18.0 / SHARE / 25.0)


def test_sugar_is_bought_for_syrup_that_is_mixed_at_home() -> None:
    """705 kg of syrup of 61.35 % are 432.5 kg of sugar, 17.3 sacks of 25 kg: 18 are bought, whatever the apiaries."""
    kinds = [row | {"mixed": "yes"} for row in CLUB["Feed kinds"]]
    order = season(as_at=SUMMER, Colonies=colonies(3), Feed_kinds=kinds).feed_order.iloc[0]
    assert order["forecast_packs"] == pytest.approx(order["forecast"] * 0.6135 / 25.0)
    assert np.ceil(705.0 * order["forecast_packs"] / order["forecast"]) == 18
    assert order["change"] == 0


def test_later_years_are_foretold_from_the_last() -> None:
    order = season(as_at=SUMMER, Colonies=colonies(2), Hive_types=[HIVE | {"fed_before": 9.0}]).feed_order.iloc[0]
    assert order["forecast"] == pytest.approx(2 * 9.0 / SHARE)


def test_the_weighing_changes_the_forecast_to_what_was_given_and_is_needed() -> None:
    feeds = [fed()]
    found = season(as_at=date(2026, 9, 25), Weighings=[weighed(date=date(2026, 9, 24), reading_1=34.0)], Feedings=feeds)
    order, stood = found.feed_order.iloc[0], found.standing.iloc[0]
    assert order["forecast"] + order["change"] == pytest.approx(5.0 + stood["feed_mass"])


def test_members_who_order_elsewhere_are_left_out() -> None:
    found = season(as_at=SUMMER, Members=[{"member": "M1", "name": "Ann", "orders": "no"}])
    assert found.feed_order[["forecast", "change", "to_be_sure"]].iloc[0].tolist() == [0, 0, 0]
    assert found.order_margin == 0


def test_what_colonies_share_adds_up_and_the_rest_in_squares() -> None:
    """JCGM 100:2008, 5.2.2: with half the spread common to all, n colonies have z f sqrt(n 3/4 + n^2/4) times 0.5."""
    one, four = (season(as_at=SUMMER, Colonies=colonies(count)).order_margin for count in (1, 4))
    assert one == pytest.approx(1.2816 * 0.5 * 0.4 * 18.0 / SHARE, rel=1e-4)
    assert four == pytest.approx(one * (4 * 0.75 + 16 * 0.25) ** 0.5)


def test_a_weighing_makes_the_order_surer() -> None:
    rows = [weighed(reading_1=30.0)]
    assert season(Weighings=rows).order_margin < season(as_at=OCTOBER).order_margin


def test_in_winter_the_portion_of_fondant_is_in_the_order() -> None:
    """One block of 2.5 kg for a colony that may not last to the flow, to be on two weeks before."""
    takes = [CLUB["Colonies"][0] | {"takes_fondant": "yes"}]
    found = season(
        as_at=date(2026, 12, 1), Colonies=takes, Weighings=[weighed(date=date(2026, 11, 25), reading_1=28.0)]
    )
    stood = found.standing.iloc[0]
    assert stood["verdict"].startswith("lasts to")
    assert np.isnan(stood["feed_mass"])
    assert stood["feed_stores"] == 0
    assert (found.feed_order["solid"].iloc[0], found.feed_order["colonies"].iloc[0]) == (pytest.approx(2.5), 1)
    assert stood["by_date"] == stood["fondant_by"] == max(found.standing["lasts_to"].iloc[0] - 14, 46357)
