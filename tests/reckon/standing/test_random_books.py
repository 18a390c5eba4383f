"""Laws over books filled at random: whatever stands in them, no figure in view contradicts the word beside it.

They are held against what Python reckons, and against what LibreOffice reckons from the formulas of the same books.
"""

from __future__ import annotations

import shutil
from datetime import date, timedelta
from random import Random
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest

from apiarybook.handbook import handbook
from apiarybook.layout import BOOK
from apiarybook.reckon.core.lookup import pick
from apiarybook.reckon.core.winter import day_of, serial, winter
from apiarybook.reckon.hive.lists import hive_types, not_stores, stores_wanted
from apiarybook.writers.fill import fill, row_counts
from apiarybook.writers.plan import club_plan
from apiarybook.writers.workbook import write_book
from tests.engines.oracle import by_libreoffice, planted
from tests.engines.small_books import AS_AT, POUND, content_of, random_content
from tests.reckon.many_colonies import HIVES, HOME, lists, season, weighings_of

if TYPE_CHECKING:
    from pathlib import Path

    from apiarybook.writers.content import Content
    from tests.engines.oracle import Values
    from tests.engines.small_books import Row

TOLERANCE = 1e-6
MANY = 100
"""Colonies of a book that LibreOffice reckons: one call serves them all."""
GIVES = {"feed", "feed, then weigh", "fondant later", "feed now"}
needs_soffice = pytest.mark.skipif(shutil.which("soffice") is None, reason="not checked, soffice missing: the laws")


def no_contradiction(stood: pd.DataFrame, types: pd.DataFrame, content: Content) -> None:
    """The laws, of the sheets Standing and Hive types with masses in one unit."""
    rules = content.season.given.rules
    enough = stood[stood["verdict"] == "enough"]
    assert (enough["chance_out"] <= 1 - rules.sure + TOLERANCE).all()
    coarse = enough[enough["coarse"] == 1]
    assert (coarse["chance_short"] <= 0.25 + TOLERANCE).all()
    assert (coarse["untried"] == 0).all()
    fed = stood[stood["feed_mass"].notna()]
    assert set(fed["verdict"]) <= GIVES
    assert ((fed["feed_kind"] != rules.solid_feed) | (fed["takes"] == 1)).all()
    assert (fed["by_date"] >= rules.as_at).all()
    told = stood[stood["should_weigh"].notna()]
    hive = told["type_row"].to_numpy(dtype=np.int64)
    more = told["extras"] + told["tare_now"] - pick(types["tare"], hive) + told["unripe_now"]
    assert (told["should_weigh"] <= pick(types["believable"], hive) + more + TOLERANCE).all()
    assert (stood["because"][stood["known"] == 1] != "").all()


@pytest.mark.parametrize("seed", range(10))
def test_no_figure_contradicts_the_word_beside_it(seed: int) -> None:
    day = AS_AT[seed % len(AS_AT)] + timedelta(days=seed % 5)
    content = random_content(Random(seed), "lb" if seed % 2 else "kg", day)  # noqa: S311 a seed, no secret
    no_contradiction(content.season.standing, content.season.hive_types, content)


def sheet_of(values: Values, content: Content, name: str) -> pd.DataFrame:
    """A sheet as another program reckoned it."""
    planned = next(one for one in club_plan(row_counts(fill(content)), content.month).sheets if one.name == name)
    rows = range(planned.first_row, planned.last_row + 1)
    found = {}
    for number, (_, column) in enumerate(planned.columns, 1):
        cells = [values.get((name, row, number)) for row in rows]
        numeric = column.numeric or column.kind == "date"
        found[column.key] = pd.to_numeric(pd.Series(cells, dtype=object)) if numeric else [one or "" for one in cells]
    return pd.DataFrame(found)


def whole_packs(values: Values, content: Content, key: str, feed: str) -> None:
    """The packs to buy hold what is lacking, and are no pack too many."""
    sheet, kinds = BOOK["Feed order"], sheet_of(values, content, "Feed kinds").set_index("name").loc[feed]
    at = [column.key for column in sheet.shown]
    packs, mass = (values[sheet.name, sheet.heading_row - 2, at.index(one) + 1] for one in (f"{key}_packs", key))
    bought = float(str(mass)) * (kinds["solids"] if kinds["mixed"] == "yes" else 1.0)
    over = float(str(packs)) * kinds["pack"] - bought
    assert -TOLERANCE * kinds["pack"] <= over < kinds["pack"]


@needs_soffice
@pytest.mark.engine
@pytest.mark.parametrize(
    "days",
    [pytest.param((date(2026, 9, 8),), id="one"), pytest.param(AS_AT[2:11], id="all", marks=pytest.mark.long)],
)
def test_nor_does_any_that_another_program_reckons(tmp_path: Path, days: tuple[date, ...]) -> None:
    contents = [
        random_content(Random(1000 + at), "lb" if at % 2 else "kg", day, colonies=MANY)  # noqa: S311 a seed, no secret
        for at, day in enumerate(days)
    ]
    found = by_libreoffice([planted(write_book(content)) for content in contents], tmp_path, "xlsx")
    for content, values in zip(contents, found, strict=True):
        assert not [one for one in values.values() if str(one).startswith(("#", "Err:"))]
        no_contradiction(sheet_of(values, content, "Standing"), sheet_of(values, content, "Hive types"), content)
        for key, feed in (("liquid", "autumn_feed"), ("forecast", "autumn_feed"), ("solid", "solid_feed")):
            whole_packs(values, content, key, str(content.settings[feed]))


def weighed_on(day: date, rng: Random, region: str, per: float, count: int) -> dict[str, list[Row]]:
    """Colonies of every hive of a region, each weighed on a platform at random between a little and much."""
    hives = [hive.name for hive in handbook().hive_types.values() if region in hive.regions]
    names = [f"H{number}" for number in range(1, count + 1)]
    kit = {"takes_fondant": ("yes", "no"), "reached": ("yes", "fondant only", "never", None)}
    return {
        "Members": [{"member": "M1", "name": "Ann", "orders": "yes"}],
        "Apiaries": [{"apiary": "A1", "member": "M1", "profile": region}],
        "Colonies": [
            {"colony": name, "apiary": "A1", "hive_type": hives[at % len(hives)]}
            | {key: rng.choice(words) for key, words in kit.items()}
            for at, name in enumerate(names)
        ],
        "Weighings": [weighing(name, day, rng.uniform(10.0, 45.0) / per) for name in names],
        "Feedings": [],
        "Moves": [],
    }


def weighing(colony: str, day: date, reading: float, **also: object) -> Row:
    return {"date": day, "colony": colony, "how": "platform", "reading_1": reading, "feed_left": 0.0, **also}


def fed_as_advised(first: Content, rows: dict[str, list[Row]], on: float, per: float) -> Content:
    """The same colonies fed what they should be given, each weighing on its day what it then should weigh."""
    stood, region, unit = first.season.standing, str(first.settings["region"]), str(first.settings["unit"])
    whole = (stood["stays_short"] < TOLERANCE) & (stood["want_today"] <= stood["comb"])
    told = stood[(stood["should_on"] == on) & whole]
    feeds: list[Row] = [
        {"date": first.as_at, "colony": one.colony, "feed_kind": one.feed_kind, "amount": one.feed_mass, "unit": "kg"}
        for one in told.itertuples()
    ]
    again = [
        weighing(str(one.colony), day_of(on), float(str(one.should_weigh)) / per, occasion="after feed")
        for one in told.itertuples()
    ]
    of = [row for row in rows["Colonies"] if row["colony"] in set(told["colony"])]
    return content_of(rows | {"Colonies": of, "Weighings": again, "Feedings": feeds}, region, unit, day_of(on))


@needs_soffice
@pytest.mark.engine
@pytest.mark.parametrize(
    ("region", "unit", "day"),
    [
        ("british-isles", "kg", date(2026, 9, 10)),
        pytest.param("north-america-north", "lb", date(2026, 8, 20), marks=pytest.mark.long),
        pytest.param("central-europe", "kg", date(2026, 8, 28), marks=pytest.mark.long),
        pytest.param("scandinavia", "kg", date(2026, 9, 2), marks=pytest.mark.long),
    ],
)
def test_a_hive_fed_as_advised_that_weighs_what_it_should_has_enough(
    tmp_path: Path, region: str, unit: str, day: date
) -> None:
    per = POUND if unit == "lb" else 1.0
    rows = weighed_on(day, Random(3), region, per, MANY)  # noqa: S311 a seed, no secret
    first = content_of(rows, region, unit, day)
    days = first.season.standing["should_on"].value_counts().index[:2]
    contents = [fed_as_advised(first, rows, on, per) for on in days]
    found = by_libreoffice([planted(write_book(content)) for content in contents], tmp_path, "xlsx")
    for content, values in zip(contents, found, strict=True):
        verdicts = [word.partition(" to ")[0] for word in sheet_of(values, content, "Standing")["verdict"] if word]
        assert set(verdicts) <= {"enough", "lasts"}
        assert len(verdicts) > 4
        assert set(sheet_of(values, content, "Weighings")["status"]) <= {"ok", ""}
        assert not content.held.get("Weighings")


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
    assert set(stood["verdict"]) == {"enough"}
    assert stood["short_by"].abs().max() < TOLERANCE
