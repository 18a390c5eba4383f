"""A season through all commands: few tabs in every month, rows where they were typed, and no mark but numbered ones."""

import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from apiarybook.book.tables import read_book
from apiarybook.gather.claims import SHEETS
from apiarybook.gather.handout import handout
from apiarybook.gather.on_disk import carry_file, close_file, reckon_file
from apiarybook.layout import BOOK
from apiarybook.readers.raw import read_raw
from apiarybook.writers.set_by_people import LAYOUT_MARK
from tests.gather.copies import BOOK_ID, gathered, handed_out, returned, saved
from tests.gather.small_club import AS_AT, DAY, Row

MOST_TABS, MOST_IN_COPY = 16, 6
NUMBERED = re.compile(r"[A-Za-z][A-Za-z0-9_]*-[A-Z][1-9][0-9]*")
COLONIES = ("A2", "B1", "A1")
AMOUNT = [one.key for one in BOOK["Feedings"].typed if one.key != "ref"].index("amount")
Rows = dict[str, list[list[object]]]


def feed(colony: str, amount: float) -> Row:
    return {"date": DAY, "colony": colony, "feed_kind": "Fondant", "amount": amount, "unit": "kg"}


def rows(club: Path) -> Rows:
    """The rows of each sheet as they stand, without their marks."""
    tables = read_book(club).tables
    return {
        name: tables[name]
        .raw[~tables[name].is_blank][[one.key for one in BOOK[name].typed if one.key != "ref"]]
        .astype(object)
        .to_numpy()
        .tolist()
        for name in SHEETS
    }


def marks(club: Path) -> list[str]:
    tables = read_book(club).tables
    return [str(mark) for name in SHEETS for mark in tables[name].raw["ref"].dropna()]


def in_order(before: Rows, after: Rows) -> None:
    """What stood before stands there still, in the same order, and what is new stands after it."""
    for name, of in before.items():
        assert after[name][: len(of)] == of, name


def in_view(path: Path) -> list[str]:
    return [name for name, sheet in read_raw(path).sheets.items() if not sheet.hidden]


def typed(club: Path, sheet: str, new: list[Row], at: int) -> None:
    """Type rows into a club's book: the first ones into a line put in between, without a mark, the others below."""
    raw = read_raw(club)
    grid = raw.sheets[sheet].rows
    keys = {"date": "date", "colony": "colony", "feed_kind": "feed kind", "amount": "amount", "unit": "unit"}
    columns = {key: [str(one).split(" (")[0] for one in grid[0]].index(heading) for key, heading in keys.items()}
    used = next(number for number, row in enumerate(grid) if row[columns["date"]] is None)
    for number, row in enumerate(new):
        line: list[object] = [None] * len(grid[0])
        if number == 0:
            grid.insert(min(1 + at, used), line)
        else:
            grid[used + number] = line if number % 2 else [*grid[used + number]]
            line = grid[used + number]
        for key, value in row.items():
            line[columns[key]] = value
    sheets = {name: replace(one, formulas={}, errors={}) for name, one in raw.sheets.items()}
    unmarked = {name: one for name, one in raw.properties.items() if name != LAYOUT_MARK}
    saved(replace(raw, sheets=sheets, properties=unmarked), club)


@pytest.mark.long
@settings(max_examples=2, suppress_health_check=list(HealthCheck))
@given(
    amounts=st.lists(st.floats(1, 9).map(lambda one: round(one, 2)), min_size=3, max_size=9, unique=True),
    at=st.integers(0, 3),
)
def test_nothing_moves_through_a_season(
    tmp_path_factory: pytest.TempPathFactory, amounts: list[float], at: int
) -> None:
    folder = tmp_path_factory.mktemp("season")
    new = [feed(COLONIES[number % 3], amount) for number, amount in enumerate(amounts)]
    club, copies = handed_out(folder, {"Feedings": new})
    assert len(in_view(copies["M1"])) <= MOST_IN_COPY
    typed(club, "Feedings", [feed("B1", 10 + one) for one in amounts], at)
    stood = rows(club)
    _, target, _ = reckon_file(club, AS_AT)
    assert target == club
    assert rows(club) == stood
    past_the_ready = [feed("A1", 20 + number) for number in range(40)]
    gathered(club, returned(copies["M1"], folder / "back.xlsx", {"Feedings": past_the_ready}))
    in_order(stood, rows(club))
    came = rows(club)["Feedings"][len(stood["Feedings"]) :]
    assert [row[AMOUNT] for row in came] == [row["amount"] for row in past_the_ready]
    stood = rows(club)
    handout(club, folder / "again", as_at=AS_AT, members=["M1"], book_id=BOOK_ID)
    assert rows(club) == stood
    for month in (9, 11, 12, 14, 16, 19):
        reckon_file(club, date(2026 + (month > 12), (month - 1) % 12 + 1, 28))
        assert rows(club) == stood
        assert len(in_view(club)) <= MOST_TABS, month
    assert [mark for mark in marks(club) if not NUMBERED.fullmatch(mark)] == []
    close_file(club, date(2027, 7, 20))
    assert rows(club) == stood
    assert len(in_view(club)) <= MOST_TABS
    following = folder / "next.xlsx"
    carry_file(club, following, year=2027, as_at=date(2027, 7, 25), book_id="")
    assert [row[0] for row in rows(following)["Colonies"]] == [row[0] for row in stood["Colonies"]]
    assert len(in_view(following)) <= MOST_TABS
