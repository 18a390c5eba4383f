"""The next winter's book: what goes on, what stays behind, and wants that the secretary accepts."""

from __future__ import annotations

import json
from datetime import date
from typing import TYPE_CHECKING

import openpyxl
import pytest
from click.testing import CliRunner

from apiarybook.book.tables import read_book
from apiarybook.cli.commands import main
from apiarybook.club.carry import carry
from apiarybook.club.reckoned import reckon_book
from apiarybook.gather.collate import collate
from apiarybook.gather.handout import handout
from apiarybook.gather.on_disk import close_file
from apiarybook.layout import BOOK
from apiarybook.writers.workbook import write_book
from tests.club.books import MAY, OCTOBER, SPRING, lift, on_disk, outcome, read, reckoned, rows
from tests.gather.copies import filled, saved

if TYPE_CHECKING:
    from pathlib import Path

    from tests.checks.small import Row

AUGUST = date(2027, 8, 1)


def hungry(**other: list[Row]) -> dict[str, list[Row]]:
    """A winter in which all colonies ate far more than foretold."""
    told = rows()
    after = [{**row, "spring_gross": 23.5, "outcome": "wintered", "seen": None} for row in told["After_winter"]]
    return {"After_winter": after, **other}


def run(*arguments: object) -> tuple[int, str]:
    result = CliRunner().invoke(main, [str(one) for one in arguments])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.output


@pytest.fixture(scope="module")
def carried(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, object]]:
    folder = tmp_path_factory.mktemp("carry")
    guesses = [lift(f"P{at} 2", 36.0, date(2026, 9, 20), heft=33.0, by="Keeper 1") for at in range(1, 7)]
    told = rows()
    path = on_disk(folder / "club.xlsx", **hungry(Weighings=told["Weighings"] + guesses))
    code, said = run("carry", path, folder / "next.xlsx", "--winter", 2027, "--as-at", AUGUST, "--seed", 3, "--json")
    assert code == 0, said
    return folder / "next.xlsx", json.loads(said)


def test_lists_go_on_and_events_stay_behind(carried: tuple[Path, dict[str, object]]) -> None:
    book = read(carried[0])
    assert book.settings["winter"] == 2027
    assert len(book.tables["Colonies"].typed.dropna(how="all")) >= 12
    assert all(book.tables[name].is_blank.all() for name in ("Weighings", "Feedings", "Moves", "After winter"))
    assert book.tables["Scale checks"].typed["known"].dropna().tolist() == [20.0, 40.0]
    assert {str(ref).partition("-")[0] for ref in book.tables["Weighings"].raw["ref"]} == {"club27"}


def test_hands_go_on_where_they_left_off(carried: tuple[Path, dict[str, object]]) -> None:
    assert carried[1]["hands"] == ["Keeper 1"]
    hands = reckon_book(read(carried[0]), AUGUST).season.hefting.set_index("by")
    assert hands.loc["Keeper 1", "pairs"] == 6
    assert hands.loc["Keeper 1", "factor"] > 1.04


def with_entry(path: Path, into: Path, entry: object) -> Path:
    book = openpyxl.load_workbook(path)
    layout, sheet = BOOK["Questions"], book["Questions"]
    heading = layout["holds"].heading
    column = next(cell.column for cell in sheet[layout.heading_row] if cell.value == heading)
    sheet.cell(layout.first_row, column).value = entry
    book.save(into)
    return into


@pytest.mark.parametrize(("entry", "want"), [("A", None), ("B", 18.0), ("as it stands", 18.0), (19.5, 19.5)])
def test_an_accepted_want_is_taken_over(
    carried: tuple[Path, dict[str, object]], tmp_path: Path, entry: object, want: float | None
) -> None:
    assert carried[1]["wants_asked"] == ["Eleven"]
    path = with_entry(carried[0], tmp_path / "next.xlsx", entry)
    assert run("reckon", path, "--as-at", AUGUST)[0] == 0
    book = read(path)
    got = book.tables["Hive types"].typed["want"].dropna().iloc[0]
    assert got == want if want is not None else got > 19.0
    assert book.tables["Questions"].raw["applied"].dropna().tolist() == [entry]
    before = path.read_bytes()
    run("reckon", path, "--as-at", AUGUST)
    assert path.read_bytes() == before


def test_a_want_set_by_hand_later_is_left_alone(carried: tuple[Path, dict[str, object]], tmp_path: Path) -> None:
    path = with_entry(carried[0], tmp_path / "next.xlsx", "A")
    run("reckon", path, "--as-at", AUGUST)
    book = openpyxl.load_workbook(path)
    sheet = book["Hive types"]
    column = next(cell.column for cell in sheet[1] if str(cell.value).startswith("want"))
    sheet.cell(2, column).value = 17.0
    book.save(path)
    run("reckon", path, "--as-at", AUGUST)
    assert read(path).tables["Hive types"].typed["want"].dropna().iloc[0] == 17.0


@pytest.mark.parametrize("entry", ["perhaps", 900, 0.5])
def test_an_entry_that_cannot_be_understood_is_asked_about(
    carried: tuple[Path, dict[str, object]], tmp_path: Path, entry: object
) -> None:
    path = with_entry(carried[0], tmp_path / "next.xlsx", entry)
    for command in ("check", "reckon"):
        code, told = run(command, path, "--as-at", AUGUST)
        assert code == 0
        assert f"{entry} under answer cannot be applied" in told


def test_copies_of_the_next_book_have_refs_of_their_own(
    carried: tuple[Path, dict[str, object]], tmp_path: Path
) -> None:
    first = handout(on_disk(tmp_path / "club.xlsx"), tmp_path / "one", as_at=OCTOBER, book_id="00c0ffee")
    path = with_entry(carried[0], tmp_path / "next.xlsx", "A")
    second = handout(path, tmp_path / "two", as_at=AUGUST, book_id="00c0ffee")
    assert not {copy.copy for copy in first.copies} & {copy.copy for copy in second.copies}
    book = read(path)
    assert book.tables["Hive types"].typed["want"].dropna().iloc[0] > 19.0
    assert book.tables["Questions"].raw["applied"].dropna().tolist() == ["A"]


def test_lost_colonies_stay_behind_and_moves_are_taken_into_account() -> None:
    moves: list[Row] = [
        {"date": SPRING, "colony": "P1 2", "what": "moved to apiary", "into": "P3"},
        {"date": SPRING, "colony": "P2 1", "what": "given away"},
    ]
    after = [outcome("P1 1", outcome="died", seen="mice")]
    got = carry(reckoned(Moves=moves, After_winter=after), year=2027, as_at=AUGUST, book_id="x")
    assert got.left == ("P1 1", "P2 1")
    colonies = got.reckoned.book.tables["Colonies"].typed.set_index("colony")
    assert colonies.loc["P1 2", "apiary"] == "P3"
    assert not got.was_closed


def test_a_held_row_sends_no_colony_away() -> None:
    moves: list[Row] = [
        {"date": date(2025, 10, 2), "colony": "P1 2", "what": "given away"},
        {"date": SPRING, "colony": "P2 1", "what": "united into", "into": "P2 1"},
    ]
    got = carry(reckoned(Moves=moves), year=2027, as_at=AUGUST, book_id="x")
    assert got.held == 2
    assert {"P1 2", "P2 1"} <= set(got.colonies)


def test_dates_of_apiaries_move_on_a_year() -> None:
    apiaries = rows()["Apiaries"]
    apiaries[0] = {**apiaries[0], "winter_starts": date(2026, 10, 20), "flow": date(2027, 4, 10)}
    got = carry(reckoned(Apiaries=apiaries), year=2027, as_at=AUGUST, book_id="x")
    first = got.reckoned.book.tables["Apiaries"].raw.iloc[0]
    assert (first["winter_starts"], first["flow"]) == (date(2027, 10, 20), date(2028, 4, 10))


def test_what_was_learnt_goes_on_over_the_years() -> None:
    """A second winter's suggestion rests on both, from the want with which learning began."""
    first = carry(reckoned(**hungry()), year=2027, as_at=AUGUST, book_id="x").reckoned
    again = carry(first, year=2028, as_at=date(2028, 8, 1), book_id="y").reckoned
    kept = read_book(("next.xlsx", write_book(again.content))).kept["Earlier winters"].raw
    assert kept["winter"].tolist() == [2026.0] * 12
    assert kept["want_then"].tolist() == [18.0] * 12


@pytest.mark.parametrize(
    ("target", "winter", "says"),
    [
        ("club.xlsx", 2027, "stands there already"),
        ("next.xlsx", 2026, "a later one"),
        ("next.xlsx", 9999, "type a year from 2027 to 2100"),
        ("next.csv", 2027, "ends in .xlsx"),
    ],
)
def test_what_cannot_be_done_is_said(tmp_path: Path, target: str, winter: int, says: str) -> None:
    path = on_disk(tmp_path / "club.xlsx")
    code, told = run("carry", path, tmp_path / target, "--winter", winter)
    assert code == 2
    assert says in told


def test_gathering_into_a_closed_book_opens_it_again(tmp_path: Path) -> None:
    club = on_disk(tmp_path / "club.xlsx")
    copies = handout(club, tmp_path / "out", as_at=OCTOBER, book_id="00c0ffee").copies
    year, _, _ = close_file(club, MAY)
    assert year.fingerprint
    assert collate(club, [copies[0].path], as_at=MAY, dry_run=True).reopened == "2027-05-01"
    late: Row = {"date": date(2027, 4, 2), "colony": "P1 1", "by": "Ann", "how": "platform", "reading_1": 26.0}
    data = saved(filled(copies[0].path, {"Weighings": [late]}), tmp_path / "back.xlsx")
    code, told = run("collate", club, data, "--as-at", "2027-05-03")
    assert code == 0, told
    assert "The year was closed as at 2027-05-01; it is open again." in told
    book = read(club)
    assert "fingerprint" not in book.properties
    assert book.kept["Changes"].raw["what"].tolist()[-2:] == ["closed", "reopened"]
    again, _, _ = close_file(club, date(2027, 5, 4))
    assert again.fingerprint not in {"", year.fingerprint}
    assert read(club).kept["Changes"].raw["what"].tolist()[-3:] == ["closed", "reopened", "closed"]


def test_winters_without_a_book_are_named_and_a_missing_folder_is_found_first(tmp_path: Path) -> None:
    club = on_disk(tmp_path / "club.xlsx")
    code, said = run("carry", club, tmp_path / "2029.xlsx", "--winter", 2029, "--as-at", AUGUST)
    assert code == 0
    assert "Left out between the two books: winters 2027/28, 2028/29" in said
    code, said = run("carry", tmp_path / "nobook.xlsx", tmp_path / "no" / "2029.xlsx", "--winter", 2027)
    assert (code, "is no folder" in said) == (2, True)
