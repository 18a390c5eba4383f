"""A big evening: 500 returns of 60 rows gathered in one run, against only reading them and writing the result."""

from __future__ import annotations

import gc
import sys
import time
from dataclasses import replace
from datetime import date, datetime, timedelta
from random import Random
from typing import TYPE_CHECKING

import pytest

from apiarybook.book.memory import raw_book
from apiarybook.book.tables import read_book
from apiarybook.club.reckoned import new_book, reckon_book
from apiarybook.gather.claims import Claim, to_frame
from apiarybook.gather.collate import collate
from apiarybook.layout import BOOK
from apiarybook.readers.raw import read_raw
from apiarybook.readers.records import RawBook, RawSheet
from apiarybook.writers.workbook import write_book
from tests.gather.copies import BOOK_ID, saved

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.speed
AS_AT = date(2026, 9, 25)
FIRST = date(2026, 9, 1)
HIVE = "National single"
MEMBERS, COLONIES, WEIGHINGS, FEEDS = 500, 4, 36, 20
"""Returns of 60 rows each, the member's colonies among them."""
TIMES = 3.0
"""What the run may take, in times of only reading the returns and writing the result."""
MEGABYTES = 1_500


@pytest.fixture(scope="module")
def evening(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A club's book that has handed out its copies, and a folder of returns."""
    folder = tmp_path_factory.mktemp("evening")
    club = folder / "club.xlsx"
    club.write_bytes(_club())
    random = Random(1)  # noqa: S311 any numbers will do, the same each time
    for number in range(MEMBERS):
        saved(_return(number, random), folder / "in" / f"{number}.xlsx", datetime(2026, 9, 20))  # noqa: DTZ001 as written
    return club, folder / "in"


def _club() -> bytes:
    blank = new_book("Alder Vale", 2026, "british-isles", "kg", AS_AT, BOOK_ID)
    colonies = [_colony(number, one) for number in range(MEMBERS) for one in range(COLONIES)]
    rows = {
        "Members": [{"member": f"M{n}", "name": f"Member {n}"} for n in range(MEMBERS)],
        "Apiaries": [{"apiary": f"P{n}", "member": f"M{n}", "profile": "british-isles"} for n in range(MEMBERS)],
        "Colonies": colonies,
    }
    tables = {name: frame for name, frame in blank.content.typed.items() if name not in rows}
    import pandas as pd

    tables |= {name: pd.DataFrame(found, dtype=object) for name, found in rows.items()}
    about = {"book id": BOOK_ID, "copy id": "club26"}
    content = reckon_book(read_book(raw_book(tables, blank.content.settings, about)), AS_AT).content
    said = [
        Claim(f"M{n}a", "Colonies", str(row["colony"]), "", "handed out", f"{n}", "2", row, gathered="2026-09-01")
        for n in range(MEMBERS)
        for row in colonies[n * COLONIES : (n + 1) * COLONIES]
    ]
    returns = [{"member": f"M{n}", "copy": f"M{n}a", "handed_out": FIRST, "state": "missing"} for n in range(MEMBERS)]
    keys = [column.key for column in BOOK["Returns"].columns]
    noted = {"Claims": to_frame(said), "Returns": pd.DataFrame(returns, columns=keys, dtype=object)}
    return write_book(replace(content, told=content.told | noted))


def _colony(number: int, one: int) -> dict[str, object]:
    code = f"C{number}-{one}"
    return {"colony": code, "apiary": f"P{number}", "hive_type": HIVE, "takes_fondant": "yes", "reached": "yes"}


def _return(number: int, random: Random) -> RawBook:
    copy = f"M{number}a"
    weighings = [
        {
            "ref": f"{copy}-W{at + 1}",
            "date": FIRST + timedelta(days=at // COLONIES),
            "colony": f"C{number}-{at % COLONIES}",
            "by": f"Member {number}",
            "how": "full lift",
            "reading_1": round(random.uniform(28, 42), 1),
            "feed_left": 0.0,
        }
        for at in range(WEIGHINGS)
    ]
    feeds = [
        {
            "ref": f"{copy}-F{at + 1}",
            "date": FIRST + timedelta(days=at // COLONIES),
            "colony": f"C{number}-{at % COLONIES}",
            "feed_kind": "Fondant",
            "amount": 1.0,
            "unit": "kg",
        }
        for at in range(FEEDS)
    ]
    sheets = {
        "My colonies": _sheet("Colonies", [_colony(number, one) for one in range(COLONIES)]),
        "Weighings": _sheet("Weighings", weighings),
        "Feedings": _sheet("Feedings", feeds),
        "About": RawSheet("About", [["what", "is"], ["book id", BOOK_ID], ["copy id", copy]]),
    }
    return RawBook("", "", "xlsx", None, {"book id": BOOK_ID, "copy id": copy}, sheets)


def _sheet(name: str, rows: list[dict[str, object]]) -> RawSheet:
    columns = BOOK[name].typed
    grid = [[one.heading for one in columns], *([row.get(one.key) for one in columns] for row in rows)]
    return RawSheet(name, grid)  # type: ignore[arg-type]


def test_big_evening(evening: tuple[Path, Path]) -> None:
    import resource

    club, inbox = evening
    begun = time.perf_counter()
    done = collate(club, [inbox], as_at=AS_AT)
    took = time.perf_counter() - begun
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    assert len(done.returns) == MEMBERS
    assert done.left_alone == []
    begun = time.perf_counter()
    for file in inbox.iterdir():
        read_book(read_raw(file))
    read = time.perf_counter() - begun
    gc.collect()
    begun = time.perf_counter()
    write_book(done.rebuilt.reckoned.content)
    floor = read + time.perf_counter() - begun
    sys.stderr.write(
        f"\n{MEMBERS} returns, {MEMBERS * (COLONIES + WEIGHINGS + FEEDS):,} rows: {took:.1f} s, "
        f"{took / floor:.2f} times reading ({read:.1f} s) and writing ({floor - read:.1f} s); {peak:.0f} MB\n"
    )
    assert took <= TIMES * floor
    assert peak <= MEGABYTES
