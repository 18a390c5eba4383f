"""Copies that real spreadsheet programs saved anew, and that people rearranged, gather to the same data sheets."""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import pytest

from apiarybook.gather.collate import collate
from tests.gather.copies import data, filled, saved
from tests.gather.small_club import AS_AT, Row

if TYPE_CHECKING:
    from pathlib import Path

    from apiarybook.readers.records import RawBook
    from tests.gather.conftest import Evening

DAY = date(2026, 9, 20)
ANN: dict[str, list[Row]] = {
    "Weighings": [
        {"date": DAY, "colony": "A1", "by": "Ann Alder", "how": "full lift", "reading_1": 33.25, "feed_left": 0.0},
        {"date": DAY, "colony": "A2", "by": "Ann Alder", "how": "two sides", "reading_1": 17.1, "reading_2": 16.2},
        {"date": DAY, "colony": "A2", "by": "Ann Alder", "how": "heft", "heft": "about right", "remarks": "TRUE"},
    ],
    "Feedings": [
        {"date": DAY, "colony": "A1", "feed_kind": "Fondant", "amount": 0.75, "unit": "block", "remarks": "=1+1; +x"},
        {"date": DAY, "colony": "A2", "feed_kind": "Home mixed syrup", "sugar": 2.0, "water": 1.26, "warmest": -1.5},
    ],
    "Winter rounds": [
        {"date": DAY, "colony": "A2", "by": "Ann Alder", "heft": 31.5, "fondant_left": "half", "flying": "yes"}
    ],
    "After winter": [{"date": DAY, "colony": "A1", "outcome": "wintered", "spring_gross": 27.5, "remarks": "Übung 🐝"}],
}
BOB: dict[str, list[Row]] = {
    "Weighings": [{"date": DAY, "colony": "B1", "by": "Bob Birch", "how": "one side", "reading_1": 18.4}]
}
CHANGED = {("My colonies", "A2", "state"): "sold", ("Weighings", "club26-W3", "feed_left"): 1.5}
CSV = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,-1"
"""Every sheet in a file of its own, UTF-8, cells as shown."""
needs_office = pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
needs_gnumeric = pytest.mark.skipif(shutil.which("ssconvert") is None, reason="Gnumeric is not installed")
pytestmark = pytest.mark.engine


@pytest.fixture
def inbox(evening: Evening) -> Path:
    """Both members' copies, and beside them both rearranged."""
    folder = evening.folder / "in"
    for member, rows, changes in (("M1", ANN, CHANGED), ("M2", BOB, {})):
        raw = filled(evening.copies[member], rows, changes)
        saved(raw, folder / "plain" / f"{member}.xlsx")
        saved(rearranged(raw), folder / "rearranged" / f"{member}.xlsx", folded=range(3, 40, 2))
    return folder


def rearranged(raw: RawBook) -> RawBook:
    """Columns in another order, one of them the member's own, rows sorted the other way, headings in capitals."""
    sheets = {}
    for name, sheet in raw.sheets.items():
        rows = sheet.rows
        if name not in ("Start here", "About", "Hive types"):
            at = next(at for at, row in enumerate(rows) if "colony" in [str(one).casefold() for one in row])
            wide = len(rows[at])
            whole = [[*row, *[None] * (wide - len(row))] for row in rows]
            headings = [" MY  OWN ", *(f" {str(one).upper()}  " for one in reversed(whole[at]))]
            body = [["kept" if any(row) else None, *reversed(row)] for row in reversed(whole[at + 1 :])]
            rows = [*([None, *row] for row in whole[:at]), headings, *body]
        sheets[name] = replace(sheet, rows=rows)
    return replace(raw, sheets=sheets)


def expected(evening: Evening, inbox: Path) -> dict[str, list[list[object]]]:
    collate(evening.club, [inbox / "plain"], as_at=AS_AT)
    return data(evening.club)


def gathered(evening: Evening, folder: Path) -> dict[str, list[list[object]]]:
    club = evening.another(f"book of {folder.name}")
    done = collate(club, [folder], as_at=AS_AT)
    assert {one.copy for one in done.returns} == {"M1a_00c0", "M2a_00c0"}, done.left_alone
    return data(club)


def office(into: Path, form: str, *files: Path) -> None:
    """Let LibreOffice open files and save them in another form, all in one go."""
    profile = f"-env:UserInstallation={(into.parent / 'profile').as_uri()}"
    words = ["soffice", profile, "--headless", "--convert-to", form, "--outdir", str(into), *map(str, files)]
    subprocess.run(words, check=True, capture_output=True, timeout=300)


def test_rearranged_copies_gather_alike(evening: Evening, inbox: Path) -> None:
    known = expected(evening, inbox)
    assert known["Feedings"][-2][7] == "=1+1; +x"
    assert gathered(evening, inbox / "rearranged") == known


@needs_office
def test_libreoffice_saves_them_in_any_form(evening: Evening, inbox: Path) -> None:
    known = expected(evening, inbox)
    for form in ("xlsx", "ods", "xls", CSV):
        into = evening.folder / f"office {form[:4].strip(':')}"
        office(into, form, *(inbox / "rearranged").iterdir())
        assert len(list(into.iterdir())) >= 2
        assert gathered(evening, into) == known, form


@needs_gnumeric
def test_gnumeric_saves_them_in_any_form(evening: Evening, inbox: Path) -> None:
    known = expected(evening, inbox)
    for ending, words in (("xlsx", ["-T", "Gnumeric_Excel:xlsx2"]), ("ods", []), ("csv", ["-S"])):
        into = evening.folder / f"gnumeric {ending}"
        into.mkdir()
        for file in sorted((inbox / "plain").iterdir()):
            name = f"{file.stem}-%s.csv" if ending == "csv" else f"{file.stem}.{ending}"
            subprocess.run(["ssconvert", *words, str(file), str(into / name)], check=True, capture_output=True)
        assert gathered(evening, into) == known, ending
