"""What people add to a book comes through its rebuilding, and what cannot is named."""

import io
import shutil
import subprocess
import zipfile
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from functools import cache
from pathlib import Path

import openpyxl
import pytest
import xlsxwriter
from openpyxl.chart import BarChart, Reference
from openpyxl.comments import Comment

from apiarybook.book.tables import read_book
from apiarybook.club.reckoned import Reckoned, new_book, reckon_book
from apiarybook.layout import BOOK
from apiarybook.readers.limits import column_letters
from apiarybook.readers.raw import read_raw
from apiarybook.writers.content import Added, Foreign, Formula, Kept
from apiarybook.writers.user_additions import kept
from apiarybook.writers.workbook import write_book

AS_AT = date(2026, 9, 25)
NOON = datetime(2026, 9, 12, 12, 30)  # noqa: DTZ001 cells know no zones

ADDED = Kept(
    columns={
        "Weighings": (
            Added(heading="queen", values={2: "blue", 3: 7.5, 40: date(2026, 9, 12), 5: Formula("=G5*2", 43.0)}),
            Added(heading="(column X)", values={3: "=1+1", 4: time(7, 15), 6: True}),
        ),
        "Colonies": (Added(heading="only a heading", values={}),),
        "Settings": (Added(heading="agreed", values={3: "by all"}),),
    },
    sheets=(
        Foreign(
            name="Rota 2026",
            cells={
                (1, 1): "day",
                (1, 2): "=not a formula",
                (2, 1): date(2026, 9, 12),
                (3, 1): NOON,
                (3, 2): timedelta(hours=30, minutes=15),
                (4, 1): Formula("=SUM(Weighings!G2:G9)+1", 22.5),
                (4, 2): Formula('=IF(A1="day","it [is]","")', "it [is]"),
                (4, 3): Formula("=1/0", "#DIV/0!"),
                (4, 4): Formula("=A2+1", date(2026, 9, 13)),
                (4, 5): Formula("=1=1", True),
                (5, 1): Formula("=#N/A", "#N/A"),
                (9, 3): " two\nlines ",
            },
            hidden=True,
            notes={(2, 2): "swap with Ben", (3, 1): "sees <nothing> & all"},
            widths={1: 30.0, 2: 5.0},
        ),
        Foreign(name="blank", cells={}),
    ),
    notes={
        "Weighings": {(1, "by"): "who lifted", (2, "reading_1"): "windy", (3, "[queen]"): "marked"},
        "Colonies": {(2, "colony"): "by the gate"},
        "Settings": {(2, "value"): "agreed in May"},
    },
    formulas={"Weighings": {(5, "reading_1"): Formula("=20+1.5", 21.5), (6, "reading_1"): Formula("=1/0", "#DIV/0!")}},
    widths={"Weighings": {"by": 33.0, "held": 12.0, "[queen]": 25.0}, "Standing": {"verdict": 40.0}},
)


@cache
def club() -> Reckoned:
    return new_book("Alder Vale", 2026, "british-isles", "kg", AS_AT, "k1")


@cache
def typed() -> Reckoned:
    content = club().content
    weighings = content.typed["Weighings"].copy()
    for row, reading in ((5, 21.5), (6, "#DIV/0!")):
        for key, value in {"date": date(2026, 9, 12), "colony": "A1", "how": "one side", "reading_1": reading}.items():
            weighings.loc[row, key] = value  # type: ignore[call-overload]
    data = write_book(replace(content, typed={**content.typed, "Weighings": weighings}))
    return reckon_book(read_book(("club.xlsx", data)), AS_AT)


@cache
def with_additions() -> bytes:
    return write_book(replace(typed().content, kept=ADDED))


def gather(data: bytes, name: str = "club.xlsx") -> tuple[Kept, tuple[str, ...]]:
    raw = read_raw((name, data))
    return kept(raw, data, read_book(raw))


def rebuilt(data: bytes) -> bytes:
    raw = read_raw(("club.xlsx", data))
    book = read_book(raw)
    return write_book(reckon_book(book, AS_AT, kept(raw, data, book)[0]).content)


def test_a_book_to_which_nothing_was_added_has_nothing_to_keep() -> None:
    assert gather(write_book(club().content)) == (Kept(), ())


def test_all_that_was_added_comes_back_from_the_written_book() -> None:
    found, lost = gather(with_additions())
    assert lost == ()
    for part in ("columns", "notes", "formulas", "widths"):
        assert getattr(found, part) == getattr(ADDED, part)
    assert found.sheets == ADDED.sheets


def test_rebuilding_again_and_again_changes_nothing() -> None:
    once = rebuilt(with_additions())
    assert gather(once) == (ADDED, ())
    assert rebuilt(once) == once


def test_a_formula_typed_for_a_value_stays_a_fault_until_somebody_mends_it() -> None:
    for data in (with_additions(), rebuilt(with_additions())):
        table = read_book(("club.xlsx", data)).tables["Weighings"]
        assert [(table.place(one.row, one.key), one.fault.rule) for one in table.faults] == [
            ("E5", "formula-in-input"),
            ("E6", "error-cell"),
        ]


def test_a_setting_that_cannot_be_used_stays_as_typed_and_a_fault() -> None:
    data = write_book(replace(typed().content, kept=Kept(settings={"sure_in_10": 12.0})))
    once = rebuilt(data)
    assert gather(once) == (Kept(settings={"sure_in_10": 12.0}), ())
    book = read_book(("club.xlsx", once))
    assert ([one.fault.rule for one in book.tables["Settings"].faults], book.settings["sure_in_10"]) == (
        ["out-of-bounds"],
        9.0,
    )


def test_a_value_decided_meanwhile_is_not_overwritten_by_the_old_formula() -> None:
    content = typed().content
    weighings = content.typed["Weighings"].copy()
    weighings.loc[5, "reading_1"] = 23.0
    data = write_book(replace(content, typed={**content.typed, "Weighings": weighings}, kept=ADDED))
    table = read_book(("club.xlsx", data)).tables["Weighings"]
    assert (table.raw.loc[5, "reading_1"], [one.row for one in table.faults]) == (23.0, [6])


@cache
def edited() -> tuple[Kept, list[str]]:
    """What is gathered after somebody changed the book in another program, without the file's name."""
    book = openpyxl.load_workbook(io.BytesIO(with_additions()))
    book["Apiaries"].insert_rows(1, 2)
    book["Apiaries"]["A1"] = "Our apiaries"
    book["Apiaries"].cell(4, len(BOOK["Apiaries"].columns) + 3, "far out")
    book["Moves"].delete_rows(1)
    book["Moves"]["A1"] = "A1 went to the heather"
    beside = len(BOOK["Feed order"].columns) + 1
    book["Feed order"].cell(5, beside, "ordered")
    book["Feed order"].cell(6, beside, "yes")
    book["Feed order"]["A5"].comment = Comment("ask Ann", "Ben")
    book["Start here"]["A5"].comment = Comment("good", "Ben")
    book["Settings"].cell(60, len(BOOK["Settings"].columns) + 1, "a stray word")
    for name in ("Standing", "Weighings", "Rota 2026"):
        chart = BarChart()
        chart.add_data(Reference(book["Rota 2026"], min_col=1, min_row=1, max_row=3))
        book[name].add_chart(chart, "H2")  # type: ignore[call-arg]
    book.create_chartsheet("Drawn")
    target = io.BytesIO()
    book.save(target)
    found, lost = gather(target.getvalue())
    return found, [one.removeprefix("club.xlsx, sheet ") for one in lost]


def test_rows_follow_the_headings_when_lines_stand_above_them() -> None:
    found, lost = edited()
    assert [one.values for one in found.columns["Apiaries"]] == [{2: "far out"}]
    assert "Apiaries: what stands above the headings in A1 was left out." in lost


@pytest.mark.parametrize(
    ("formula", "reason"),
    [
        ("='[1]Last year'!B2", "looks into another file or uses the names of a table"),
        ("=SUM(mine)", "uses a name that somebody gave to cells"),
        ("={1,2}}", "fills several cells at once"),
        ("=COUNTA(weighings!C2:C9)", "uses cells of a sheet whose columns or rows go back to their places"),
    ],
)
def test_a_formula_that_would_go_astray_is_kept_as_its_last_value_and_named(formula: str, reason: str) -> None:
    target = io.BytesIO()
    workbook = xlsxwriter.Workbook(target)
    sheet = workbook.add_worksheet("Weighings")
    sheet.write_row(0, 0, ["colony", "date", "how"])
    sheet = workbook.add_worksheet("Mine")
    for row in range(7):
        sheet.write_formula(row, 0, formula, None, 5 + row)
    workbook.define_name("Mine", "=Mine!$C$1")
    workbook.close()
    found, lost = gather(target.getvalue())
    assert found.sheets[0].cells == {(1 + row, 1): 5.0 + row for row in range(7)}
    assert lost == (
        (
            f"club.xlsx, sheet Mine: the formula in A1, A2, A3, A4, A5 and 2 more cells {reason}; in the new book its "
            "last value stands there instead."
        ),
    )


def test_drawings_of_people_are_named_and_ours_is_not() -> None:
    drawn = "the picture, chart or shape that somebody put there was left out."
    names = ("Weighings", "Standing", "Rota 2026", "Drawn")
    assert [one for one in edited()[1] if drawn in one] == [f"{name}: {drawn}" for name in names]
    assert "Drawn" not in {sheet.name for sheet in edited()[0].sheets}


def test_what_stands_on_sheets_that_are_made_anew_is_named() -> None:
    beside = f"{column_letters(len(BOOK['Feed order'].columns) + 1)}6"
    assert [one for one in edited()[1] if one.startswith(("Settings", "Feed order", "Start here"))] == [
        "Settings: what stands in D60 belongs to no row of this sheet and was left out.",
        "Feed order: the note on A5 stands where this sheet is made anew and was left out.",
        f"Feed order: this sheet is made anew, and what somebody put in {beside} was left out.",
        "Start here: this sheet is made anew, and the notes on it were left out.",
    ]


def test_a_sheet_of_ours_without_its_headings_is_kept_under_another_name() -> None:
    found, lost = edited()
    assert next(one for one in found.sheets if one.name == "Moves (2)").cells[1, 1] == "A1 went to the heather"
    assert "Moves: its name cannot stand in the new book, where it is called Moves (2)." in lost


def test_all_that_was_said_in_a_conversation_on_a_cell_is_kept() -> None:
    """Parts as Office Open XML's extension for threaded comments names them (MS-XLSX 2.6.204, from memory)."""
    shown = [column.key for column in BOOK["Weighings"].shown]
    cell = f"{column_letters(shown.index('reading_1') + 1)}2"
    said = "".join(
        f'<threadedComment ref="{cell}"><text>{one}</text></threadedComment>' for one in ("windy?", "very &amp; wet")
    )
    told = f'<ThreadedComments xmlns="x">{said}</ThreadedComments>'
    target = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(with_additions())) as old, zipfile.ZipFile(target, "w") as new:
        for name in old.namelist():
            data = old.read(name)
            if name.startswith("xl/worksheets/_rels") and b"comments" in data and b"drawing" in data:
                link = b'<Relationship Id="rId99" Type="x/threadedComment" Target="../talk.xml"/></Relationships>'
                data = data.replace(b"</Relationships>", link)
            new.writestr(name, data)
        new.writestr("xl/talk.xml", told)
    found, _ = gather(target.getvalue())
    assert found.notes["Weighings"][2, "reading_1"] == "windy?\nvery & wet"
    assert found.notes["Weighings"][1, "by"] == "who lifted"


def converted(data: bytes, folder: Path, form: str) -> bytes:
    office = shutil.which("soffice")
    if office is None:
        pytest.skip("LibreOffice is not installed")
    source = folder / "club.xlsx"
    source.write_bytes(data)
    given = [office, f"-env:UserInstallation=file://{folder}/profile", "--headless", "--convert-to", form]
    given += ["--outdir", str(folder / "out"), str(source)]
    subprocess.run(given, check=True, capture_output=True, timeout=120)
    return (folder / "out" / f"club.{form}").read_bytes()


@pytest.mark.engine
def test_a_book_saved_by_libreoffice_keeps_what_was_added(tmp_path: Path) -> None:
    found, lost = gather(converted(with_additions(), tmp_path, "xlsx"))
    assert lost == ()
    assert found == ADDED


@pytest.mark.engine
def test_an_ods_file_says_that_its_notes_are_left_out(tmp_path: Path) -> None:
    found, lost = gather(converted(with_additions(), tmp_path, "ods"), "club.ods")
    assert found.columns == ADDED.columns
    assert found.sheets[0].cells == ADDED.sheets[0].cells
    assert [one for one in lost if "notes" in one] == [
        f"club.ods, sheet {name}: notes on cells of an .ods file cannot be read and were left out."
        for name in ("Colonies", "Weighings", "Settings", "Rota 2026")
    ]


def test_the_same_content_gives_the_same_bytes() -> None:
    content = replace(typed().content, kept=ADDED)
    assert write_book(content) == write_book(content)


def test_a_book_that_the_package_wrote_has_nothing_to_lose() -> None:
    book = next((Path(__file__).parents[2] / "demo").glob("*.xlsx"))
    assert gather(book.read_bytes())[1] == ()
