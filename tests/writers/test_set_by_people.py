"""What people set in a book with LibreOffice or Gnumeric is carried over or told; what a program only saved is not."""

from __future__ import annotations

import io
import shutil
import subprocess
from datetime import date
from functools import cache
from typing import TYPE_CHECKING

import openpyxl
import pytest
from openpyxl.formatting.rule import CellIsRule
from openpyxl.styles import Font, PatternFill
from openpyxl.worksheet.datavalidation import DataValidation

from apiarybook.book.tables import read_book
from apiarybook.club.reckoned import new_book, reckon_book
from apiarybook.gather.on_disk import reckon_file
from apiarybook.layout import BOOK
from apiarybook.readers.limits import column_letters
from apiarybook.readers.raw import read_raw
from apiarybook.writers.set_by_people import KINDS, set_by_people
from apiarybook.writers.user_additions import kept
from apiarybook.writers.workbook import write_book
from tests.gather.small_club import club_book

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from openpyxl import Workbook

AS_AT, LATER = date(2026, 9, 25), date(2026, 9, 28)
YELLOW = PatternFill("solid", fgColor="FFFFFF00")


@cache
def written(as_at: date = AS_AT) -> bytes:
    return write_book(new_book("Alder Vale", 2026, "british-isles", "kg", as_at, "k1").content)


def rebuilt(data: bytes) -> tuple[bytes, tuple[str, ...]]:
    raw = read_raw(("club.xlsx", data))
    added, lost = kept(raw, data, read_book(raw))
    new = write_book(reckon_book(read_book(raw), LATER, added).content)
    return new, (*lost, *set_by_people(raw, data, read_raw(("club.xlsx", new)), new))


def saved(folder: Path, data: bytes, program: str) -> bytes:
    if shutil.which(program) is None:
        pytest.skip(f"{program} is not installed")
    (folder / "club.xlsx").write_bytes(data)
    into = folder / "out" / "club.xlsx"
    into.parent.mkdir()
    if program == "soffice":
        given = [f"-env:UserInstallation=file://{folder}/profile", "--headless", "--convert-to", "xlsx"]
        given += ["--outdir", str(into.parent), str(folder / "club.xlsx")]
    else:
        given = [str(folder / "club.xlsx"), str(into)]
    subprocess.run([program, *given], check=True, capture_output=True, timeout=240)
    return into.read_bytes()


def freeze(book: Workbook) -> None:
    book["Moves"].freeze_panes = "H9"


def narrow(book: Workbook) -> None:
    book["Weighings"].auto_filter.add_filter_column(3, ["A1"])


def allow(book: Workbook) -> None:
    rule = DataValidation(type="list", formula1='"queen,drone"')
    rule.add("K2:K9")
    book["Weighings"].add_data_validation(rule)


def depend(book: Workbook) -> None:
    book["Feedings"].conditional_formatting.add("F2:F9", CellIsRule("greaterThan", ["5"], fill=YELLOW))


def colour(book: Workbook) -> None:
    book["Standing"]["A5"].fill = YELLOW


def paper(book: Workbook) -> None:
    book["Winter rounds"].page_setup.orientation = "portrait"


def tab(book: Workbook) -> None:
    book["Moves"].sheet_properties.tabColor = "FFFF00FF"


def hide(book: Workbook) -> None:
    book["Members"].row_dimensions[3].hidden = True


def heighten(book: Workbook) -> None:
    book["Apiaries"].row_dimensions[4].height = 60


def merge(book: Workbook) -> None:
    book["After winter"].merge_cells("B15:C15")


def link(book: Workbook) -> None:
    book["Scales"]["B3"].hyperlink = "https://example.org/"


SETS: dict[Callable[[Workbook], None], str] = dict(
    zip((freeze, narrow, allow, depend, colour, paper, tab, hide, heighten, merge, link), KINDS, strict=True)
)


def order(book: Workbook) -> None:
    book.move_sheet("Moves", -3)


def overtype(book: Workbook) -> None:
    sheet = book["Standing"]
    sheet.cell(6, [one.value for one in sheet[4]].index("verdict") + 1).value = "enough, says Ann"


def machinery(book: Workbook) -> None:
    book["Figures"]["B3"].value = 123456
    book["Lists"]["D2"].value = "a word of mine"


def start(book: Workbook) -> None:
    book["Start here"]["B60"].value = "ring Sue on Mondays"


def own_setting(book: Workbook) -> None:
    book["Settings"]["A40"].value = "treasurer"
    book["Settings"]["B40"].value = "Sue"


WRITES = {
    order: "the order that somebody gave to its sheets",
    overtype: "sheet Standing: the book computes these cells itself, and what somebody typed into D6",
    machinery: "sheet Figures: this sheet is made anew, and what somebody put in B3",
    start: "sheet Start here: this sheet is made anew, and what somebody put in B60",
    own_setting: "sheet Settings: what stands in A40, B40 is none of the book's settings",
}


@pytest.mark.parametrize("program", ["", pytest.param("soffice", marks=pytest.mark.engine), "ssconvert"])
def test_a_book_that_was_only_saved_has_nothing_to_tell(tmp_path: Path, program: str) -> None:
    assert rebuilt(saved(tmp_path, written(), program) if program else written())[1] == ()


@pytest.mark.engine
@pytest.mark.parametrize("program", ["soffice", "ssconvert"])
def test_a_book_with_rows_that_was_only_saved_is_reckoned_in_its_place(tmp_path: Path, program: str) -> None:
    club = club_book(tmp_path / "club.xlsx")
    club.write_bytes(saved(tmp_path, club.read_bytes(), program))
    assert reckon_file(club, AS_AT)[1:] == (club, ())


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, ...]:
    """All at once, saved by LibreOffice, which only keeps panes when it has a window."""
    book = openpyxl.load_workbook(io.BytesIO(written()))
    for change in (*SETS, *WRITES):
        change(book)
    data = io.BytesIO()
    book.save(data)
    return rebuilt(saved(tmp_path_factory.mktemp("office"), data.getvalue(), "soffice"))[1]


@pytest.mark.engine
@pytest.mark.parametrize(("change", "what"), [*list(SETS.items())[1:], *WRITES.items()])
def test_what_somebody_set_with_libreoffice_is_told(
    told: tuple[str, ...], change: Callable[[Workbook], None], what: str
) -> None:
    assert any(what in one for one in told), (change.__name__, told)


@pytest.mark.parametrize(("change", "what"), [*SETS.items(), *WRITES.items()])
def test_each_alone_is_told_in_one_sentence(change: Callable[[Workbook], None], what: str) -> None:
    book = openpyxl.load_workbook(io.BytesIO(written()))
    change(book)
    data = io.BytesIO()
    book.save(data)
    said = rebuilt(data.getvalue())[1]
    assert len(said) == (2 if change is machinery else 1)
    assert any(what in one for one in said)
    assert said[0].startswith("club.xlsx")
    assert said[0].endswith(".")


@pytest.mark.engine
def test_colours_and_letters_of_typed_cells_come_through(tmp_path: Path) -> None:
    book = openpyxl.load_workbook(io.BytesIO(written()))
    book["Members"]["A3"].fill = YELLOW
    cell = f"{column_letters([one.key for one in BOOK['Weighings'].shown].index('reading_1') + 1)}5"
    book["Weighings"][cell].font = Font(bold=True, italic=True, color="FFC00000")
    data = io.BytesIO()
    book.save(data)
    new, lost = rebuilt(saved(tmp_path, data.getvalue(), "soffice"))
    assert lost == ()
    found = openpyxl.load_workbook(io.BytesIO(new))
    letters = found["Weighings"][cell].font
    assert found["Members"]["A3"].fill.fgColor.rgb == "FFFFFF00"
    assert (letters.b, letters.i, letters.color.rgb) == (True, True, "FFC00000")
    assert rebuilt(new) == (new, ())
