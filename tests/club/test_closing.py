"""A year is closed when nothing stands in the way, and a closed book knows when it was changed."""

from __future__ import annotations

import csv
import json
import re
import shutil
import subprocess
from datetime import date
from typing import TYPE_CHECKING

import openpyxl
import pytest
from click.testing import CliRunner

from apiarybook.book.fingerprint import changed_since, fingerprint, is_closed, was_changed
from apiarybook.checks.loop import check_book
from apiarybook.cli.commands import main
from apiarybook.gather.handout import handout
from apiarybook.pages.own_pages import HEFTING, report_mark
from tests.club.books import MAY, OCTOBER, lift, on_disk, read
from tests.gather.copies import filled, saved

if TYPE_CHECKING:
    from pathlib import Path

    from tests.checks.small import Row


def run(*arguments: object) -> tuple[int, str]:
    result = CliRunner().invoke(main, [str(one) for one in arguments])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.output


@pytest.fixture(scope="module")
def closed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, object]]:
    folder = tmp_path_factory.mktemp("year")
    path = on_disk(folder / "club.xlsx")
    code, told = run("yearend", path, "--report", folder / "report", "--as-at", MAY, "--json")
    assert code == 0, told
    return path, json.loads(told)


def test_a_sound_year_is_closed(closed: tuple[Path, dict[str, object]]) -> None:
    path, told = closed
    assert told["closed"]
    book = read(path)
    assert book.properties["fingerprint"] == told["fingerprint"] == fingerprint(book)
    assert book.kept["Year"].raw["about"].iloc[0] == "closing"
    assert book.kept["Changes"].raw["what"].tolist() == ["closed"]
    assert told["losses"] == [
        {"group": "all colonies", "colonies": 12, "keepers": 6, "lost": 1}
        | {key: pytest.approx(value, abs=0.001) for key, value in (("share", 1 / 12), ("low", 0.009), ("high", 0.328))}
    ]


def test_closing_again_changes_nothing(closed: tuple[Path, dict[str, object]], tmp_path: Path) -> None:
    path = shutil.copy(closed[0], tmp_path / "club.xlsx")
    before = path.read_bytes()
    assert run("yearend", path, "--report", tmp_path / "report", "--as-at", MAY)[0] == 0
    assert path.read_bytes() == before


def test_a_look_from_an_earlier_day_leaves_it_closed(closed: tuple[Path, dict[str, object]], tmp_path: Path) -> None:
    path = shutil.copy(closed[0], tmp_path / "club.xlsx")
    before = path.read_bytes()
    code, told = run("yearend", path, "--report", tmp_path / "report", "--as-at", "2026-12-01")
    assert code == 2
    assert f"was closed as at {MAY}" in str(told)
    assert path.read_bytes() == before


def test_reckoning_leaves_a_book_closed(closed: tuple[Path, dict[str, object]], tmp_path: Path) -> None:
    path = shutil.copy(closed[0], tmp_path / "club.xlsx")
    assert run("reckon", path, "--as-at", date(2027, 6, 1))[0] == 0
    assert is_closed(read(path))
    assert not was_changed(read(path))


def test_a_change_by_hand_is_told(closed: tuple[Path, dict[str, object]], tmp_path: Path) -> None:
    book = openpyxl.load_workbook(closed[0])
    sheet = book["Weighings"]
    heading = next(cell.column for cell in sheet[1] if str(cell.value).startswith("reading 1"))
    sheet.cell(3, heading).value = 36.5
    book.save(tmp_path / "club.xlsx")
    code, told = run("check", tmp_path / "club.xlsx", "--as-at", MAY)
    assert code == 0
    assert "closed as at 2027-05-01" in told
    assert "what it was then: Weighings row 3." in told
    assert was_changed(read(tmp_path / "club.xlsx"))


def test_rows_that_are_new_gone_or_set_otherwise_are_named(closed: tuple[Path, dict[str, object]]) -> None:
    book = read(closed[0])
    assert changed_since(book) == []
    table = book.tables["Weighings"]
    for frame in (table.raw, table.typed):
        frame.loc[2] = None
        frame.loc[4, "ref"] = "club26-W99"
    book.settings["sure_in_10"] = 8.0
    gone = ["Weighings club26-W1 is gone", "Weighings club26-W3 is gone"]
    assert changed_since(book) == ["setting sure in 10", "Weighings row 4", *gone]


def test_sorting_or_saving_elsewhere_is_no_change(closed: tuple[Path, dict[str, object]], tmp_path: Path) -> None:
    book = openpyxl.load_workbook(closed[0])
    sheet = book["Weighings"]
    first, second = [[cell.value for cell in sheet[row]] for row in (2, 3)]
    for column, (one, other) in enumerate(zip(first, second, strict=True), 1):
        sheet.cell(2, column).value, sheet.cell(3, column).value = other, one
    book.save(tmp_path / "club.xlsx")
    assert not was_changed(read(tmp_path / "club.xlsx"))


@pytest.mark.skipif(not shutil.which("soffice"), reason="LibreOffice is not installed")
def test_libreoffice_leaves_the_fingerprint_true(closed: tuple[Path, dict[str, object]], tmp_path: Path) -> None:
    home = f"-env:UserInstallation=file://{tmp_path}/profile"
    command = ["soffice", home, "--headless", "--convert-to", "xlsx", "--outdir", str(tmp_path), str(closed[0])]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    book = read(tmp_path / "club.xlsx")
    assert is_closed(book)
    assert not was_changed(book)


def test_before_the_flow_no_year_is_closed(tmp_path: Path) -> None:
    path = on_disk(tmp_path / "club.xlsx", date(2026, 12, 1))
    code, told = run("yearend", path, "--report", tmp_path / "report", "--as-at", "2026-12-01")
    assert code == 1
    assert "the winter is not over before the flow, on 2027-04-20" in told
    assert not is_closed(read(path))


def test_the_report_is_written_beside_its_tables(closed: tuple[Path, dict[str, object]]) -> None:
    page = closed[0].parent / "report" / "winter 2026-27.html"
    text = page.read_text("utf-8")
    assert "1 of 12 colonies were lost: 8 %" in text
    assert not re.search(r"""(?:src|href)\s*=\s*["'](?!#)|@import|url\(|<script""", text)
    with (page.parent / "wants.csv").open(encoding="utf-8-sig", newline="") as file:
        table = list(csv.reader(file))
    assert table[0][:5] == ["hive type", "want today (kg)", "want suggested (kg)", "so", "colonies that speak"]
    assert [table[1][at] for at in (0, 1, 4)] == ["Eleven", "18.0", "12"]


@pytest.mark.parametrize(
    ("name", "holds"),
    [
        ("scales.csv", "mine"),
        ("mine.html", "mine"),
        ("winter 2025-26.html", report_mark("")),
        ("winter 2026-27.html", HEFTING),
        ("winter 2026-27.html", report_mark("another club's")),
    ],
)
def test_a_report_replaces_nothing_but_a_report(tmp_path: Path, name: str, holds: str) -> None:
    path, folder = on_disk(tmp_path / "club.xlsx"), tmp_path / "out"
    folder.mkdir()
    (folder / name).write_text(holds)
    before = path.read_bytes()
    code, told = run("yearend", path, "--report", folder, "--as-at", MAY)
    assert code == 2
    assert f"{name} stands there already" in told
    assert (path.read_bytes(), [one.name for one in folder.iterdir()]) == (before, [name])


def test_a_book_without_one_of_its_sheets_is_not_closed(tmp_path: Path) -> None:
    path = on_disk(tmp_path / "club.xlsx")
    book = openpyxl.load_workbook(path)
    del book["Weighings"]
    book.save(path)
    code, told = run("yearend", path, "--report", tmp_path / "report", "--as-at", MAY)
    assert code == 1
    assert "missing from the book: Weighings" in told
    assert not is_closed(read(path))


def test_a_year_closed_late_is_closed_as_at_its_last_day(tmp_path: Path) -> None:
    path = on_disk(tmp_path / "club.xlsx")
    code, told = run("yearend", path, "--report", tmp_path / "report", "--as-at", "2072-05-01")
    assert code == 0
    assert "closed as at 2027-09-30" in told


def test_text_that_looks_like_a_formula_stays_text(tmp_path: Path) -> None:
    members: list[Row] = [{"member": f"M{at}", "name": "=1+1<b>", "shown": "yes"} for at in range(1, 7)]
    guesses = [lift("P1 1", 36.0, date(2026, 9, 1 + at), heft=35.0, by="=1+1<b>") for at in range(3)]
    path = on_disk(tmp_path / "club.xlsx", Members=members, Weighings=guesses)
    run("yearend", path, "--report", tmp_path / "report", "--as-at", MAY)
    assert "'=1+1<b>" in (tmp_path / "report" / "hands.csv").read_text("utf-8-sig")
    page = (tmp_path / "report" / "winter 2026-27.html").read_text("utf-8")
    assert "=1+1&lt;b&gt;" in page
    assert "=1+1<b>" not in page


def test_a_changed_closed_book_is_asked_about(closed: tuple[Path, dict[str, object]]) -> None:
    book = read(closed[0])
    assert not [one for one in check_book(book, MAY).findings if one.rule == "closed-book-changed"]
    book.properties["fingerprint"] = "0" * 64
    assert [one.rule for one in check_book(book, MAY).findings if one.rule == "closed-book-changed"]


def test_an_open_conflict_keeps_the_year_open(tmp_path: Path) -> None:
    club = on_disk(tmp_path / "club.xlsx")
    copy = next(one for one in handout(club, tmp_path / "out", as_at=OCTOBER, book_id="00c0ffee").copies)
    for number, reading in enumerate((31.0, 32.0)):
        changes = {("Weighings", "club26-W1", "reading_1"): reading}
        back = saved(filled(copy.path, {}, changes), tmp_path / f"back {number}.xlsx")
        run("collate", club, back, "--as-at", OCTOBER)
    code, told = run("yearend", club, "--report", tmp_path / "report", "--as-at", MAY, "--json")
    assert code == 1
    assert any("1 in conflict: Weighings" in reason for reason in json.loads(told)["why_not"])


def test_a_members_copy_is_no_year(tmp_path: Path) -> None:
    club = on_disk(tmp_path / "club.xlsx")
    copy = next(one for one in handout(club, tmp_path / "out", as_at=OCTOBER, book_id="00c0ffee").copies)
    code, told = run("yearend", copy.path, "--report", tmp_path / "report", "--as-at", MAY)
    assert code == 2
    assert "is the copy of a member" in told
