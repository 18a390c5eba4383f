"""Books in which most colonies were weighed, fed and hefted since: other engines agree on which evidence counts."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import pytest

from apiarybook.writers.workbook import write_book
from tests.engines.oracle import by_formualizer, differences, read_xlsx
from tests.engines.small_books import AS_AT, FEEDS, HIVES, POUND, REGIONS, Draw, Row, content_of

if TYPE_CHECKING:
    from apiarybook.writers.content import Content

COLONIES = 40
IN_SEASON = AS_AT[1:11]


def hefted_content(seed: int, unit: str) -> Content:
    """Forty colonies, each weighed and then hefted, some lifts with a guess beside the reading, feeds between."""
    rng = Random(seed)  # noqa: S311 a seed, no secret
    now = IN_SEASON[rng.randrange(len(IN_SEASON))]
    draw = Draw(rng, now, POUND if unit == "lb" else 1.0, COLONIES)
    rows: dict[str, list[Row]] = {"Colonies": [], "Weighings": [], "Feedings": [], "Moves": []}
    rows["Apiaries"] = [{"apiary": "A1", "member": None, "profile": REGIONS[seed % len(REGIONS)]}]
    for number in range(COLONIES):
        name: Row = {"colony": f"H{number}"}
        hive = draw.one(HIVES)
        rows["Colonies"].append({**name, "apiary": "A1", "hive_type": hive, "takes_fondant": draw.one(("yes", "no"))})
        ages = sorted(rng.sample(range(60), 3))
        heft = draw.one(("light", "about right", "heavy", draw.mass(20, 50), draw.mass(20, 50)))
        by, left = draw.one(("Ann", "Bo", "Cy")), draw.one((0.0, 0.0, None, draw.mass(0, 2)))
        base: Row = {**name, "by": by, "occasion": draw.one((None, "before feed", "after feed")), "feed_left": left}
        way = draw.one(("platform", "full lift", "one side", "two sides", "frames of food counted"))
        read = draw.between(3, 9) if way == "frames of food counted" else draw.mass(12, 45)
        weighing: Row = {**base, "how": way, "reading_1": read, "date": now - timedelta(days=ages[2])}
        weighing |= {"reading_2": read if way == "two sides" else None, "heft": draw.seldom(heft, 2)}
        rows["Weighings"].append(weighing)
        rows["Weighings"].append({**base, "how": "heft", "heft": heft, "date": now - timedelta(days=ages[0])})
        for age in {ages[1], ages[draw.rng.randrange(3)]}:
            feed: Row = {**name, "date": now - timedelta(days=age), "feed_kind": draw.one(FEEDS)}
            rows["Feedings"].append({**feed, "amount": draw.between(0.5, 5), "unit": "kg"})
    return content_of(rows, REGIONS[seed % len(REGIONS)], unit, now)


def test_the_books_hold_every_kind_of_evidence() -> None:
    seasons = [hefted_content(seed, "kg").season for seed in range(6)]
    stood = [one.standing for one in seasons]
    assert sum(int(one["heft_counts"].sum()) for one in stood) > COLONIES
    assert sum(int(one["apart"].sum()) for one in stood) > 0
    assert {"full lift and heft", "platform and heft", "heft"} <= {how for one in stood for how in one["how"]}
    assert sum(len(one.pairs) for one in seasons) > COLONIES / 2
    assert max(len(one.hefting) for one in seasons) > 3


@pytest.mark.parametrize(
    ("seed", "unit"),
    [(0, "kg"), *(pytest.param(seed, "lb" if seed % 2 else "kg", marks=pytest.mark.long) for seed in range(1, 6))],
)
def test_formualizer_agrees_on_hefts(seed: int, unit: str) -> None:
    data = write_book(hefted_content(seed, unit))
    with TemporaryDirectory() as folder:
        theirs = by_formualizer(data, Path(folder))
    assert differences(read_xlsx(data), theirs)[:20] == []
