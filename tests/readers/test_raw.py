"""Files of every kind, good and bad, read as they stand."""

import contextlib
import io
import os
import shutil
import subprocess
import zipfile
from datetime import date, datetime, time, timedelta
from pathlib import Path

import pytest
import xlsxwriter

from apiarybook.errors import CannotRead
from apiarybook.readers.limits import Limits
from apiarybook.readers.raw import is_lock_file, open_elsewhere, read_raw

SAVED = datetime(2026, 9, 14, 18, 30)  # noqa: DTZ001 cells know no zones

TYPED: list[list[object]] = [
    ["colony", "value", "kind"],
    ["A1", "0012", "code"],
    ["A2", "12,5", "decimal comma"],
    ["A3", "NA", "a word"],
    ["A4", "=1+1", "text that looks like a formula"],
    ["A5", date(2026, 9, 12), "date"],
    ["A6", datetime(2026, 9, 12, 8, 30), "date and time"],  # noqa: DTZ001 cells know no zones
    ["A7", 47.25, "float"],
    ["A8", 47.0, "whole"],
    ["A9", True, "boolean"],
    ["B1", None, "blank"],
    ["B2", "2026-09-12", "date as text"],
    ["B3", "two\nlines", "line end"],
    ["B4", " Žoë & <co> ", "signs"],
    ["B5", time(7, 15), "time"],
    ["B6", "None", "a word"],
]


def book(rows: list[list[object]], first_row: int = 0, first_column: int = 0) -> bytes:
    """A book of one sheet, Weighings, and an empty hidden one, written by xlsxwriter."""
    target = io.BytesIO()
    workbook = xlsxwriter.Workbook(target, {"strings_to_formulas": False, "strings_to_numbers": False})
    workbook.set_properties({"created": SAVED})
    workbook.set_custom_property("book id", "club-7f", "text")
    formats = {
        date: workbook.add_format({"num_format": "yyyy-mm-dd"}),
        datetime: workbook.add_format({"num_format": "yyyy-mm-dd hh:mm"}),
        time: workbook.add_format({"num_format": "hh:mm"}),
        timedelta: workbook.add_format({"num_format": "[h]:mm"}),
    }
    sheet = workbook.add_worksheet("Weighings")
    for row, values in enumerate(rows, start=first_row):
        for column, value in enumerate(values, start=first_column):
            if value is not None:
                sheet.write(row, column, value, formats.get(type(value)))
    workbook.add_worksheet("Lists").hide()
    workbook.close()
    return target.getvalue()


def calc(data: bytes, ending: str, folder: Path) -> bytes:
    """The same book saved by LibreOffice under another format."""
    if shutil.which("soffice") is None:
        pytest.skip("LibreOffice is not installed")
    source = folder / "book.xlsx"
    source.write_bytes(data)
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    command = ["soffice", profile, "--headless", "--norestore", "--convert-to", ending, "--outdir", str(folder)]
    subprocess.run([*command, str(source)], timeout=120, check=True, capture_output=True)
    return (folder / f"book.{ending}").read_bytes()


def refused(name: str, data: bytes, limits: Limits | None = None) -> str:
    """The one sentence with which a file is refused."""
    with pytest.raises(CannotRead) as caught:
        read_raw((name, data), limits or Limits())
    sentence = str(caught.value)
    assert sentence.startswith(name)
    assert sentence.endswith(".")
    assert "\n" not in sentence
    assert len(sentence) < 300
    return sentence


def test_what_xlsxwriter_wrote_comes_back_as_it_was() -> None:
    raw = read_raw(("return.xlsx", book(TYPED)))
    assert raw.sheets["Weighings"].rows == TYPED
    assert [type(row[1]) for row in raw.sheets["Weighings"].rows] == [type(row[1]) for row in TYPED]
    assert (raw.format, raw.saved, raw.properties) == ("xlsx", SAVED, {"book id": "club-7f"})
    assert [(sheet.name, sheet.hidden) for sheet in raw.sheets.values()] == [("Weighings", False), ("Lists", True)]
    assert raw.remarks == ()
    assert raw.sheets["Lists"].rows == []


def test_nothing_is_shifted() -> None:
    rows = read_raw(("return.xlsx", book([["here"]], first_row=4, first_column=3))).sheets["Weighings"].rows
    assert rows == [[None] * 4] * 4 + [[None, None, None, "here"]]


def test_a_duration_is_a_duration() -> None:
    value = timedelta(hours=30, minutes=15)
    assert read_raw(("return.xlsx", book([[value]]))).sheets["Weighings"].rows == [[value]]


def decorated() -> bytes:
    target = io.BytesIO()
    workbook = xlsxwriter.Workbook(target)
    sheet = workbook.add_worksheet("Colonies")
    sheet.write_formula(1, 2, "=1/0", None, "#DIV/0!")
    sheet.write_formula(2, 2, '=IF(A1<>"",A1&"&",0)', None, 7)
    sheet.write_comment(0, 0, "a note")
    drawn = workbook.add_worksheet("Drawn")
    chart = workbook.add_chart({"type": "line"})
    chart.add_series({"values": "=Colonies!$C$2:$C$3"})
    drawn.insert_chart("B2", chart)
    workbook.close()
    return target.getvalue()


def test_errors_formulas_notes_and_drawings_are_seen() -> None:
    sheets = read_raw(("return.xlsx", decorated())).sheets
    colonies, drawn = sheets["Colonies"], sheets["Drawn"]
    assert colonies.errors == {(2, 3): "#DIV/0!"}
    assert colonies.formulas == {(2, 3): "=1/0", (3, 3): '=IF(A1<>"",A1&"&",0)'}
    assert colonies.rows[1:] == [[None, None, None], [None, None, 7.0]]
    assert (colonies.has_notes, colonies.has_drawing) == (True, False)
    assert (drawn.has_notes, drawn.has_drawing) == (False, True)


def test_the_same_book_from_libreoffice_as_ods(tmp_path: Path) -> None:
    raw = read_raw(("return.ods", calc(book(TYPED), "ods", tmp_path)))
    assert raw.format == "ods"
    assert raw.sheets["Weighings"].rows == [[1.0 if v is True else v for v in row] for row in TYPED] or (
        raw.sheets["Weighings"].rows == TYPED
    )
    assert [(sheet.name, sheet.hidden) for sheet in raw.sheets.values()] == [("Weighings", False), ("Lists", True)]
    assert raw.properties["book id"] == "club-7f"
    assert raw.saved is not None


def test_errors_formulas_notes_and_drawings_from_libreoffice_as_ods(tmp_path: Path) -> None:
    sheets = read_raw(("return.ods", calc(decorated(), "ods", tmp_path))).sheets
    colonies, drawn = sheets["Colonies"], sheets["Drawn"]
    assert colonies.errors == {(2, 3): "#DIV/0!"}
    assert colonies.formulas == {(2, 3): "=1/0", (3, 3): '=IF(A1<>"",A1&"&",0)'}
    assert (colonies.has_notes, colonies.has_drawing) == (True, False)
    assert (drawn.has_notes, drawn.has_drawing) == (False, True)


def test_the_same_book_from_libreoffice_as_xls(tmp_path: Path) -> None:
    raw = read_raw(("return.xls", calc(book(TYPED), "xls", tmp_path)))
    assert raw.format == "xls"
    assert raw.sheets["Weighings"].rows == TYPED
    assert [(sheet.name, sheet.hidden) for sheet in raw.sheets.values()] == [("Weighings", False), ("Lists", True)]
    assert "formulas" in raw.remarks[0]


def test_error_cells_from_libreoffice_as_xls(tmp_path: Path) -> None:
    raw = read_raw(("return.xls", calc(decorated(), "xls", tmp_path)))
    assert raw.sheets["Colonies"].errors == {(2, 3): "#DIV/0!"}
    assert raw.sheets["Colonies"].rows[2] == [None, None, 7.0]
    assert len(raw.remarks) == 1


def test_libreoffice_saving_xlsx_again_keeps_the_values(tmp_path: Path) -> None:
    (tmp_path / "once").mkdir()
    again = calc(calc(book(TYPED), "ods", tmp_path / "once"), "xlsx", tmp_path)
    values = [row[1] for row in read_raw(("return.xlsx", again)).sheets["Weighings"].rows]
    assert [1.0 if value is True else value for value in values] == [1.0 if row[1] is True else row[1] for row in TYPED]


CSV = [["colony", "reading 1"], ["A1", "12,5"], [None, None], ["0012", "NA"]]


@pytest.mark.parametrize(
    ("text", "encoding"),
    [
        ('colony,reading 1\r\nA1,"12,5"\r\n,\r\n0012,NA\r\n', "utf-8"),
        ("colony;reading 1\nA1;12,5\n\n0012;NA\n;;\n", "utf-8-sig"),
        ("colony\treading 1\nA1\t12,5\n\t\n0012\tNA", "utf-16"),
        ("sep=;\ncolony;reading 1\nA1;12,5\n\n0012;NA", "cp1252"),
    ],
)
def test_csv_of_every_dialect_gives_the_same_text(text: str, encoding: str) -> None:
    raw = read_raw(("apiary.csv", text.encode(encoding)))
    assert raw.sheets["apiary"].rows == CSV
    assert raw.format == "csv"


def test_csv_in_windows_text_is_said_so() -> None:
    raw = read_raw(("apiary.csv", "by;colony\nZoë;A1\n".encode("cp1252")))
    assert raw.sheets["apiary"].rows[1] == ["Zoë", "A1"]
    assert "Windows text" in raw.remarks[0]


def test_a_book_under_a_wrong_name_is_read_by_its_content() -> None:
    for name in ("return.xls", "return.csv", "return.ods", "return"):
        assert read_raw((name, book(TYPED))).sheets["Weighings"].rows == TYPED


def test_the_same_bytes_have_the_same_digest(tmp_path: Path) -> None:
    path = tmp_path / "return.xlsx"
    path.write_bytes(book(TYPED))
    assert read_raw(path) == read_raw(("return.xlsx", path.read_bytes()))


@pytest.mark.parametrize(
    ("name", "data", "says"),
    [
        ("a.xlsx", b"", "empty"),
        ("a.xlsx", b"colony,by\nA1,Ann\n", "give it the ending .csv"),
        ("a.xls", b"<html><table><tr><td>1</td></tr></table></html>", "web page"),
        ("a.xml", b'<?xml version="1.0"?><x/>', "another XML file"),
        ("a.csv", b"colony\0,by", "neither a workbook nor plain text"),
        ("a.csv", bytes(range(128, 256)) * 4, "neither a workbook nor text"),
        ("a.pdf", b"%PDF-1.7\nrest", "neither a workbook nor plain text"),
        ("a.xlsx", b"PK\x03\x04 and no more", "cut short or damaged"),
        ("a.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "damaged"),
        ("a.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\xff" * 5000, "damaged"),
        ("a.xlsx", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + "EncryptedPackage".encode("utf-16-le"), "password"),
    ],
)
def test_what_is_no_book_is_refused_in_one_sentence(name: str, data: bytes, says: str) -> None:
    assert says in refused(name, data)


def test_a_zip_without_a_workbook_is_refused() -> None:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w") as archive:
        archive.writestr("word/document.xml", "<document/>")
    assert "not a workbook" in refused("letter.xlsx", target.getvalue())


def test_an_encoding_that_nobody_knows_is_one_sentence() -> None:
    target = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(book(TYPED))) as there, zipfile.ZipFile(target, "w") as archive:
        for part in there.namelist():
            archive.writestr(part, there.read(part).replace(b'encoding="UTF-8"', b'encoding="UTFE8"'))
    assert "is damaged" in refused("a.xlsx", target.getvalue())


def test_every_way_of_cutting_a_book_short_is_one_sentence() -> None:
    data = book(TYPED)
    for length in range(4, len(data), 97):
        refused("a.xlsx", data[:length])


def test_every_damaged_byte_is_read_or_refused_but_never_a_fault_of_the_program() -> None:
    data = book(TYPED)
    for place in range(0, len(data), 41):
        damaged = bytearray(data)
        damaged[place] ^= 0x55
        with contextlib.suppress(CannotRead):
            assert read_raw(("a.xlsx", bytes(damaged))).sheets


def test_missing_files_folders_and_pipes_are_refused(tmp_path: Path) -> None:
    with pytest.raises(CannotRead, match="no such file"):
        read_raw(tmp_path / "missing.xlsx")
    with pytest.raises(CannotRead, match="folder"):
        read_raw(tmp_path)
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe.xlsx")
        with pytest.raises(CannotRead, match="not an ordinary file"):
            read_raw(tmp_path / "pipe.xlsx")


def test_a_file_that_may_not_be_read_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "closed.xlsx"
    path.write_bytes(book(TYPED))

    def deny(_: Path) -> bytes:
        raise PermissionError(13, "denied")

    monkeypatch.setattr(Path, "read_bytes", deny)
    with pytest.raises(CannotRead, match="does not allow"):
        read_raw(path)


def test_a_file_of_too_many_bytes_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "large.xlsx"
    path.write_bytes(book(TYPED))
    with pytest.raises(CannotRead, match="MB that are read"):
        read_raw(path, Limits(packed=100))


def test_lock_files_name_who_has_the_book_open(tmp_path: Path) -> None:
    path = tmp_path / "club.xlsx"
    assert open_elsewhere(path) is None
    office = tmp_path / "~$club.xlsx"
    office.write_bytes(bytes([9]) + b"Ann Other" + b" " * 44)
    assert is_lock_file(office)
    assert open_elsewhere(path) == "Ann Other"
    free = tmp_path / ".~lock.club.xlsx#"
    free.write_text(",ann,desk,25.11.2026 15:00,file:///profile;")
    assert is_lock_file(free)
    assert open_elsewhere(path) == "ann"
    free.write_text("")
    assert open_elsewhere(path) == "someone"
    assert not is_lock_file(path)
