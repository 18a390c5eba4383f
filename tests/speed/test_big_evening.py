"""A big evening: 500 returns of 60 rows gathered in one run, against only reading them and writing the result.

`python -m tests.speed.test_big_evening 330 40` gathers, reckons, checks and gathers again so many returns of so many
rows, and `... 1 20000 filled-down` one of which all rows are alike; it says what that took and whether it stayed so.
"""

from __future__ import annotations

import gc
import sys
import tempfile
import time
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from random import Random

import pytest

from apiarybook.book.memory import raw_book
from apiarybook.book.tables import read_book
from apiarybook.club.reckoned import new_book, reckon_book
from apiarybook.gather.claims import Claim, to_frame
from apiarybook.gather.collate import collate
from apiarybook.gather.on_disk import look_at_file, reckon_file
from apiarybook.layout import BOOK
from apiarybook.readers.raw import read_raw
from apiarybook.readers.records import RawBook, RawSheet
from apiarybook.writers.workbook import write_book
from tests.gather.copies import BOOK_ID, saved

pytestmark = pytest.mark.speed
AS_AT = date(2026, 9, 25)
FIRST = date(2026, 9, 1)
HIVE = "National single"
MEMBERS, COLONIES, WEIGHINGS, FEEDS = 500, 4, 36, 20
"""Returns of 60 rows each, the member's colonies among them."""
TIMES = 3.0
"""What the run may take, in times of only reading the returns and writing the result."""
MEGABYTES = 800


@pytest.fixture(scope="module")
def evening(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A club's book that has handed out its copies, and a folder of returns."""
    return made(tmp_path_factory.mktemp("evening"), MEMBERS, WEIGHINGS, FEEDS)


def made(folder: Path, members: int, weighings: int, feeds: int, *, alike: bool = False) -> tuple[Path, Path]:
    """A club's book of so many members, and a folder of a return of each; all rows alike if they are filled down."""
    club = folder / "club.xlsx"
    club.write_bytes(_club(members))
    random = Random(1)  # noqa: S311 any numbers will do, the same each time
    for number in range(members):
        raw = _return(number, random, weighings, feeds, alike=alike)
        saved(raw, folder / "in" / f"{number}.xlsx", datetime(2026, 9, 20))  # noqa: DTZ001 as written
    return club, folder / "in"


def _club(members: int) -> bytes:
    blank = new_book("Alder Vale", 2026, "british-isles", "kg", AS_AT, BOOK_ID)
    colonies = [_colony(number, one) for number in range(members) for one in range(COLONIES)]
    rows = {
        "Members": [{"member": f"M{n}", "name": f"Member {n}"} for n in range(members)],
        "Apiaries": [{"apiary": f"P{n}", "member": f"M{n}", "profile": "british-isles"} for n in range(members)],
        "Colonies": colonies,
    }
    tables = {name: frame for name, frame in blank.content.typed.items() if name not in rows}
    import pandas as pd

    tables |= {name: pd.DataFrame(found, dtype=object) for name, found in rows.items()}
    about = {"book id": BOOK_ID, "copy id": "club26"}
    content = reckon_book(read_book(raw_book(tables, blank.content.settings, about)), AS_AT).content
    said = [
        Claim(f"M{n}a", "Colonies", str(row["ref"]), "", "handed out", f"{n}", "2", row, gathered="2026-09-01")
        for n in range(members)
        for row in colonies[n * COLONIES : (n + 1) * COLONIES]
    ]
    returns = [{"member": f"M{n}", "copy": f"M{n}a", "handed_out": FIRST, "state": "missing"} for n in range(members)]
    keys = [column.key for column in BOOK["Returns"].columns]
    noted = {"Claims": to_frame(said), "Returns": pd.DataFrame(returns, columns=keys, dtype=object)}
    return write_book(replace(content, told=content.told | noted))


def _colony(number: int, one: int) -> dict[str, object]:
    about = {"colony": f"C{number}-{one}", "apiary": f"P{number}", "hive_type": HIVE}
    return about | {"takes_fondant": "yes", "reached": "yes", "ref": f"club26-C{number * COLONIES + one + 1}"}


def _return(number: int, random: Random, weighed: int, fed: int, *, alike: bool) -> RawBook:
    copy = f"M{number}a"

    def what(at: int) -> dict[str, object]:
        at = 0 if alike else at
        return {"date": FIRST + timedelta(days=at // COLONIES), "colony": f"C{number}-{at % COLONIES}"}

    weighings = [
        what(at)
        | {
            "ref": f"{copy}-W{at + 1}",
            "by": f"Member {number}",
            "how": "full lift",
            "reading_1": 33.0 if alike else round(random.uniform(28, 42), 1),
            "feed_left": 0.0,
        }
        for at in range(weighed)
    ]
    feeds = [
        what(at) | {"ref": f"{copy}-F{at + 1}", "feed_kind": "Fondant", "amount": 1.0, "unit": "kg"}
        for at in range(fed)
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


def main(members: int, rows: int, *, alike: bool) -> int:
    """Gather, reckon, check and gather again; gives 1 if anything changed or was left alone."""
    import resource

    feeds = 0 if alike else (rows - COLONIES) // 3
    with tempfile.TemporaryDirectory() as folder:
        club, inbox = made(Path(folder), members, rows - COLONIES - feeds, feeds, alike=alike)
        told, states = [], []
        steps = {
            "gathered": lambda: collate(club, [inbox], as_at=AS_AT),
            "reckoned": lambda: reckon_file(club, AS_AT),
            "checked": lambda: look_at_file(club, AS_AT),
            "gathered again": lambda: collate(club, [inbox], as_at=AS_AT),
        }
        for what, step in steps.items():
            begun = time.perf_counter()
            left = len(getattr(step(), "left_alone", ()))
            told.append(f"{what} in {time.perf_counter() - begun:.0f} s")
            states.append(club.read_bytes())
            gc.collect()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    same = "nothing changed" if len(set(states)) == 1 else "IT CHANGED"
    alone = f", {left} left alone" if left else ""
    size = len(states[-1]) / 1e6
    sys.stdout.write(
        f"{members} returns of {rows} rows: {', '.join(told)}; {same}{alone}; {size:.1f} MB, {peak:.0f} MB of memory\n"
    )
    return int(len(set(states)) > 1 or bool(left))


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]), int(sys.argv[2]), alike="filled-down" in sys.argv))
