"""Laws over books filled at random: whatever stands in them, no figure in view contradicts the word beside it.

That a spreadsheet program finds the same in every cell is tested in tests/engines.
"""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

import numpy as np
import pandas as pd
import pytest

from apiarybook.reckon.core.lookup import pick
from apiarybook.reckon.core.winter import serial, winter
from apiarybook.reckon.hive.lists import hive_types, not_stores, stores_wanted
from tests.engines.small_books import AS_AT, random_content
from tests.reckon.many_colonies import HIVES, HOME, lists, season, weighings_of

TOLERANCE = 1e-6


@pytest.mark.parametrize("seed", range(10))
def test_no_figure_contradicts_the_word_beside_it(seed: int) -> None:
    day = AS_AT[seed % len(AS_AT)] + timedelta(days=seed % 5)
    found = random_content(Random(seed), "lb" if seed % 2 else "kg", day).season  # noqa: S311 a seed, no secret
    stood = found.standing
    sure = 1 - found.given.rules.sure
    enough = stood[stood["verdict"] == "enough"]
    assert (enough["chance_out"] <= sure + TOLERANCE).all()
    coarse = enough[enough["coarse"] == 1]
    assert (coarse["chance_short"] <= 0.25 + TOLERANCE).all()
    assert (coarse["untried"] == 0).all()
    fed = stood[stood["feed_mass"].notna()]
    assert set(fed["verdict"]) <= {"feed", "feed, then weigh", "fondant later", "feed now"}
    assert ((fed["feed_kind"] != found.given.rules.solid_feed) | (fed["takes"] == 1)).all()
    assert (fed["by_date"] >= serial(day)).all()
    told = stood[stood["should_weigh"].notna()]
    believable = pick(found.hive_types["believable"], told["type_row"].to_numpy(dtype=np.int64))
    more = told["extras"] + told["tare_now"] - pick(found.hive_types["tare"], told["type_row"].to_numpy(dtype=np.int64))
    assert (told["should_weigh"] <= believable + more + told["unripe_now"] + TOLERANCE).all()
    assert (stood["because"][stood["known"] == 1] != "").all()


TOO_SMALL = "Langstroth five frame nucleus, north-america-south"
"""Its combs cannot hold in early September what it wants then: feed it later, or give it a second box."""


@pytest.mark.parametrize("day", [date(2026, 9, 1), date(2026, 9, 20), date(2026, 10, 1), date(2026, 10, 14)])
def test_every_hive_at_the_target_on_its_card_has_enough(day: date) -> None:
    """Where fondant can be laid; what others need more stands on the card in lines of their own."""
    months, types = winter(2026), lists()["Hive types"]
    types = types.assign(comb_full=hive_types(types, HOME, months)["comb_full"])
    rows = []
    for hive, region in HIVES:
        profile, own = months.profiles.index(region) + 1, types[types["name"] == f"{hive}, {region}"]
        starts = float(months.dates["winter_starts"][profile - 1])
        stores = stores_wanted(own, profile, months, serial(day), starts)
        gross = float((not_stores(own, profile, months, serial(day)) + stores)[0])
        rows.append({"hive_type": f"{hive}, {region}", "apiary": region, "read": gross})
    asked = pd.DataFrame(rows).assign(takes_fondant="yes", way="platform", colony=[f"H{n}" for n in range(len(rows))])
    stood = season(day, asked, weighings_of(asked, pd.Timestamp(day))).standing
    full = (stood["verdict"] == "comb full").to_numpy()
    assert set(asked["hive_type"][full]) <= {TOO_SMALL}
    assert set(stood["verdict"][~full]) == {"enough"}
    assert stood["short_by"][~full].abs().max() < TOLERANCE
