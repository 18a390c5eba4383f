"""How many cells a club types in a year, counted in its books: `python -m tests.studies.cells_typed`.

Twenty-two members keep seventy colonies. Each colony is weighed twice, guessed first and the feeder looked at, hefted
twice, fed three times, looked at on three rounds in winter, and told of in spring; every fourth hive is changed once.
Members type into the copies that a run has cut; three send paper, which the secretary types into the club's book after
each day's work and then reckons.

Before: every cell that ends up filled, as the same rows took where nothing stood ready, with the winter profile of each
apiary. Now: those cells that hold something else than what stands there already, typed into the next row that stands
ready for the colony, else into the first blank one. Marks, and answers to questions, are in neither.
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from apiarybook.book.tables import read_book
from apiarybook.club.reckoned import reckon_book
from apiarybook.gather.handout import handout
from apiarybook.layout import BOOK
from apiarybook.readers.raw import read_raw
from apiarybook.writers.workbook import write_book
from tests.gather.copies import BOOK_ID
from tests.gather.small_club import HIVE, Row, club_book

if TYPE_CHECKING:
    from collections.abc import Iterator

MEMBERS, COLONIES, PAPER = 22, 70, 3
YEAR = 2026
STARTED, SPRING = date(YEAR, 8, 1), date(YEAR + 1, 3, 20)
WEIGHED, HEFTED = (date(YEAR, 8, 20), date(YEAR, 9, 20)), (date(YEAR, 10, 5), date(YEAR, 10, 20))
FED = (date(YEAR, 8, 21), date(YEAR, 9, 3), date(YEAR, 9, 21))
FEED = "Syrup 2 to 1 by mass"
"""What the club gives in autumn: one cell on Settings."""
ROUNDS = (date(YEAR, 12, 1), date(YEAR + 1, 1, 15), date(YEAR + 1, 2, 15))
WAYS: tuple[Row, ...] = (
    {"how": "two sides", "reading_1": 17.5, "reading_2": 18.0},
    {"how": "one side", "reading_1": 16.0},
    {"how": "full lift", "reading_1": 35.0},
)
OF_CLUB = ("Members", "Apiaries", "Colonies", "Moves")
"""Sheets that the secretary alone fills."""
NOTHING_YET = ("Weighings", "Feedings", "Scales", "Scale checks", "Scale loans")
Count = dict[str, tuple[int, int]]
"""By sheet, cells typed before and now."""


def keeper(colony: int) -> int:
    """Number of the member who keeps a colony: neighbours stand together."""
    return colony * MEMBERS // COLONIES


def code(colony: int) -> str:
    return f"P{keeper(colony) + 1} {colony + 1}"


def lists() -> dict[str, list[Row]]:
    """What the secretary types once."""
    members: list[Row] = [
        {"member": f"M{at}", "name": f"Keeper {at}", "hefts": "yes", "orders": "yes", "shown": "yes"}
        for at in range(1, MEMBERS + 1)
    ]
    apiaries: list[Row] = [{"apiary": f"P{at}", "member": f"M{at}", "place": "orchard"} for at in range(1, MEMBERS + 1)]
    colonies: list[Row] = [
        {"colony": code(at), "apiary": f"P{keeper(at) + 1}", "hive_type": HIVE}
        | {"takes_fondant": "yes", "reached": "yes"}
        for at in range(COLONIES)
    ]
    return {"Members": members, "Apiaries": apiaries, "Colonies": colonies}


def season(of: range) -> dict[str, list[Row]]:
    """All rows of some colonies in the order in which they are typed: day after day, colony after colony."""
    rows: dict[str, list[Row]] = {name: [] for name in ("Weighings", "Feedings", "Winter rounds", "After winter")}

    def gone_round(name: str, day: date, cells: Row, *, by: bool) -> None:
        for at in of:
            hand: Row = {"by": f"Keeper {keeper(at) + 1}"} if by else {}
            way = WAYS[keeper(at) % len(WAYS)] if cells.get("how") == "by scale" else {}
            rows[name].append({"date": day, "colony": code(at), **hand, **cells, **way})

    for day in WEIGHED:
        gone_round("Weighings", day, {"heft": 34.0, "how": "by scale", "feed_left": 0.0}, by=True)
    for day in HEFTED:
        gone_round("Weighings", day, {"how": "heft", "heft": "about right"}, by=True)
    for day in FED:
        gone_round("Feedings", day, {"feed_kind": FEED, "amount": 5.0, "unit": "l"}, by=False)
    for day in ROUNDS:
        gone_round("Winter rounds", day, {"heft": "light", "fondant_left": "half", "flying": "yes"}, by=True)
    gone_round("After winter", SPRING, {"outcome": "wintered", "food_left": 6.0}, by=False)
    return rows


def moves() -> list[Row]:
    return [{"date": STARTED + timedelta(at), "colony": code(at), "what": "super off"} for at in range(0, COLONIES, 4)]


Line = tuple[int, Row, list[str]]
"""Number of the line that a row is typed into, the row, and the columns of it that do not stand there already."""


def placed(path: Path, name: str, rows: list[Row]) -> Iterator[Line]:
    """Where rows are typed: into the next line that stands ready for the colony, else into the first blank one."""
    grid = read_raw(path).sheets[name].rows
    at = places(grid[0], name)
    ready = at.get("ready_colony")
    free = [number for number, row in enumerate(grid[1:], 1) if row[at["date"]] is None]
    for row in rows:
        stood = {None if ready is None else grid[number][ready]: number for number in reversed(free)}
        line = stood.get(row["colony"]) or stood[None]
        free.remove(line)
        yield line, row, [key for key, value in row.items() if grid[line][at[key]] != value]


def places(headings: list[object], name: str) -> dict[str, int]:
    """Where each column of a sheet stands."""
    shown = [str(one).split(" (")[0] for one in headings]
    return {column.key: shown.index(column.heading) for column in BOOK[name].columns if column.heading in shown}


def type_and_run(path: Path, name: str, lines: list[Line], day: date) -> None:
    """Type into the club's book on a day, and reckon, as after every weigh day."""
    book = read_raw(path)
    grid = book.sheets[name].rows
    at = places(grid[0], name)
    for line, row, keys in lines:
        for key in keys:
            grid[line][at[key]] = row[key]
    path.write_bytes(write_book(reckon_book(read_book(book), day).content))


def year(folder: Path) -> Count:
    """The cells of a year, by sheet."""
    rows = lists() | {name: [] for name in NOTHING_YET}
    club = club_book(folder / "club.xlsx", rows, settings={"autumn_feed": FEED})
    copies = handout(club, folder / "out", as_at=STARTED, book_id=BOOK_ID).copies
    before: Counter[str] = Counter()
    now: Counter[str] = Counter()
    for name, of in lists().items():
        profiles = len(of) if name == "Apiaries" else 0
        now[name] = sum(len(row) for row in of)
        before[name] = now[name] + profiles
    now["Settings"] = 1
    told = [(club, {"Moves": moves()})]
    own = [[at for at in range(COLONIES) if keeper(at) == number] for number in range(MEMBERS)]
    by_copy = own[: MEMBERS - PAPER]
    told += [(copies[number].path, season(range(of[0], of[-1] + 1))) for number, of in enumerate(by_copy)]
    told += [(club, {name: rows}) for name, rows in visits(season(range(own[MEMBERS - PAPER][0], COLONIES)))]
    for path, of_sheets in told:
        for name, rows in of_sheets.items():
            found = list(placed(path, name, rows))
            before[name] += sum(len(row) for row in rows)
            now[name] += sum(len(keys) for _, _, keys in found)
            if path == club:
                type_and_run(path, name, found, max(STARTED, *(row["date"] for row in rows)))
    return {name: (before[name], now[name]) for name in now}


def visits(season: dict[str, list[Row]]) -> Iterator[tuple[str, list[Row]]]:
    """The rows of one sheet and one day, day after day."""
    days = {(row["date"], name) for name, rows in season.items() for row in rows}
    for day, name in sorted(days):
        yield name, [row for row in season[name] if row["date"] == day]


def share(before: int, now: int) -> float:
    """The share of cells that need not be typed any more; of none nothing is saved."""
    return 1 - now / before if before else 0.0


def saved(count: Count) -> float:
    """The share of cells that need not be typed any more."""
    return share(sum(before for before, _ in count.values()), sum(now for _, now in count.values()))


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        count = year(Path(folder))
    for name, (before, now) in count.items():
        sys.stdout.write(f"{name:14} {before:5} {now:5}  {share(before, now):4.0%} less\n")
    whole, typed = (sum(one[at] for one in count.values()) for at in (0, 1))
    sys.stdout.write(f"{'the year':14} {whole:5} {typed:5}  {saved(count):4.0%} less\n")


if __name__ == "__main__":
    main()
