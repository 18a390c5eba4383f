"""Rows that stand ready: colony and keeper before anybody has typed, told apart from what is typed, and never a row."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apiarybook.book.tables import read_book
from apiarybook.club.reckoned import reckon_book
from apiarybook.gather.on_disk import reckon_file
from apiarybook.layout import BOOK
from apiarybook.readers.raw import read_raw
from apiarybook.writers.fill import turns
from apiarybook.writers.workbook import write_book
from tests.gather.copies import data, gathered, handed_out, saved
from tests.gather.small_club import AS_AT, DAY, club_book
from tests.studies.cells_typed import saved as cells_saved
from tests.studies.cells_typed import year

if TYPE_CHECKING:
    from pathlib import Path

    from apiarybook.readers.records import RawBook

READY = [sheet.name for sheet in BOOK.sheets if sheet.made_ready]
CODES = ("A1", "A2", "B1")
LEAST_SAVED = 1 / 3
"""Share of the cells of a year; as counted 0.20: dates, readings and feeds are nobody's but the beekeeper's to say."""


def grid(raw: RawBook, sheet: str) -> tuple[list[list[object]], dict[str, int]]:
    rows = raw.sheets[sheet].rows
    headings = [str(one).split(" (")[0] for one in rows[0]]
    return rows, {one.key: headings.index(one.heading) for one in BOOK[sheet].columns if one.heading in headings}


def standing(raw: RawBook, sheet: str) -> list[tuple[object, object]]:
    """Mark and colony of each row in which a colony stands ready."""
    rows, at = grid(raw, sheet)
    return [(row[at["ref"]], row[at["colony"]]) for row in rows[1:] if row[at["ready_colony"]] is not None]


def plain(raw: RawBook) -> RawBook:
    return replace(raw, sheets={name: replace(one, formulas={}, errors={}) for name, one in raw.sheets.items()})


@given(
    rows=st.lists(st.sampled_from((None, "a1", "A2", "B1", "strange", "")), max_size=20),
    rounds=st.integers(1, 3),
    once=st.booleans(),
)
def test_each_colony_has_its_turns_in_blank_rows_only(rows: list[str | None], rounds: int, *, once: bool) -> None:
    found = turns(rows, CODES, rounds, once=once)
    assert all(one is None for one, row in zip(found, rows, strict=True) if row is not None)
    due = [code for code in CODES if not (once and code.casefold() in {str(row).casefold() for row in rows})]
    assert len([one for one in found if one]) == min(rows.count(None), rounds * len(due))
    assert all(found.count(code) <= rounds for code in CODES)


def test_after_winter_holds_every_living_colony_and_weighings_the_next_visit(tmp_path: Path) -> None:
    outcomes = [{"date": date(2027, 3, 1), "colony": "A1", "outcome": "died"}]
    raw = read_raw(club_book(tmp_path / "club.xlsx", {"After winter": outcomes}))
    assert [colony for _, colony in standing(raw, "After winter")] == ["A2", "B1"]
    assert [colony for _, colony in standing(raw, "Weighings")] == ["B1", "A2"]  # on from A2, the last one weighed
    rows, at = grid(raw, "Weighings")
    assert [row[at["by"]] for row in rows[5:7]] == ["Bob Birch", "Ann Alder"]
    assert [row[at["row_for"]] for row in rows[5:7]] == ["M2", "M1"]


def test_a_copy_has_rows_for_a_season_and_its_keeper_in_all_of_them(tmp_path: Path) -> None:
    _, copies = handed_out(tmp_path)
    raw = read_raw(copies["M1"])
    assert [colony for _, colony in standing(raw, "Weighings")] == ["A1", "A2"] * 4
    rows, at = grid(raw, "Weighings")
    assert {row[at["by"]] for row in rows[4:24]} == {"Ann Alder"}
    assert [colony for _, colony in standing(raw, "After winter")] == ["A1", "A2"]


@pytest.mark.parametrize("sheet", READY)
def test_what_stands_ready_is_no_row_until_something_else_is_typed(tmp_path: Path, sheet: str) -> None:
    club = club_book(tmp_path / "club.xlsx", {"Weighings": [], "Feedings": []})
    assert read_book(club).tables[sheet].is_blank.all()
    for key, typed, filled in (("colony", "A1", 0), ("colony", "B1", 1), ("remarks", "queen seen", 1)):
        raw = plain(read_raw(club))
        rows, at = grid(raw, sheet)
        rows[1][at[key]] = typed
        table = read_book(saved(raw, tmp_path / "typed.xlsx")).tables[sheet]
        assert (~table.is_blank).sum() == filled, typed
        assert not filled or table.raw.loc[2, "colony"] in {"A1", "B1"}
        assert not filled or table.raw.loc[2, key] == typed


def test_a_row_begun_keeps_its_colony_and_the_others_stay_where_they_are(tmp_path: Path) -> None:
    club = club_book(tmp_path / "club.xlsx", {"Weighings": []})
    before = standing(read_raw(club), "Weighings")
    raw = plain(read_raw(club))
    rows, at = grid(raw, "Weighings")
    for key, value in {"date": DAY, "how": "full lift", "reading_1": 33.0, "feed_left": 0.0}.items():
        rows[2][at[key]] = value
    reckoned = reckon_book(read_book(saved(raw, tmp_path / "typed.xlsx")), AS_AT)
    assert reckoned.book.tables["Weighings"].raw.loc[3, ["colony", "by"]].tolist() == ["A2", "Ann Alder"]
    assert [one.rule for one in reckoned.checked.findings if one.sheet == "Weighings"] == []
    again = read_raw(("again.xlsx", write_book(reckoned.content)))
    assert standing(again, "Weighings") == [before[0], before[2], ("club26-W4", "A2")]


def test_reckoning_again_changes_nothing_and_a_copy_comes_back_empty(tmp_path: Path) -> None:
    club, copies = handed_out(tmp_path)
    told = data(club)
    reckon_file(club, AS_AT)
    first = club.read_bytes()
    reckon_file(club, AS_AT)
    assert club.read_bytes() == first
    back = [saved(plain(read_raw(path)), tmp_path / f"{member}.xlsx") for member, path in copies.items()]
    one_way = gathered(club, *back)
    club.write_bytes(first)
    assert gathered(club, *back[::-1]) == one_way
    assert data(club) == told


def test_a_book_without_them_is_read_as_it_was(tmp_path: Path) -> None:
    """Where no run has told what stands ready, a colony alone was typed by somebody, and is asked about."""
    raw = plain(read_raw(club_book(tmp_path / "club.xlsx", {"Weighings": []})))
    rows, at = grid(raw, "Weighings")
    for row in rows:
        row[at["ready_colony"]] = row[at["ready_by"]] = None
    table = read_book(saved(raw, tmp_path / "older.xlsx")).tables["Weighings"]
    assert table.raw.loc[~table.is_blank, "colony"].tolist() == ["A1", "A2", "B1"]


@pytest.mark.long
def test_a_club_types_fewer_cells(tmp_path: Path) -> None:
    assert cells_saved(year(tmp_path)) >= LEAST_SAVED
