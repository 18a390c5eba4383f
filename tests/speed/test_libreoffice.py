"""How long LibreOffice takes to open a book, and until the answers in view stand after one reading is typed."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from datetime import date
from functools import partial
from pathlib import Path
from typing import NamedTuple

import pytest

from apiarybook.gather.collate import collate
from apiarybook.layout import BOOK
from apiarybook.readers.limits import column_letters
from tests.speed.test_big_evening import made

pytestmark = [
    pytest.mark.speed,
    pytest.mark.skipif(
        shutil.which("soffice") is None,
        reason="not measured, soffice is not installed: how a book opens",
    ),
]
MEMBERS = 500
"""Members with four colonies each: ten weighings and five feeds of each colony."""
OPENS, ANSWERS = 30.0, 1.0
"""Seconds in which a book of 2,000 colonies opens, and in which it answers what is typed."""
AS_AT = date(2026, 9, 25)
PATIENCE = 600
LIBRARY = """<?xml version="1.0" encoding="UTF-8"?>
<library:library xmlns:library="http://openoffice.org/2000/library" library:name="Standard" library:readonly="false"
library:passwordprotected="false"><library:element library:name="Speed"/></library:library>"""
MODULE = """<?xml version="1.0" encoding="UTF-8"?>
<script:module xmlns:script="http://openoffice.org/2000/script" script:name="Speed" script:language="StarBasic">
{}
</script:module>"""
MACRO = """
Sub Looks(document)
    document.Sheets.getByName("Standing").getCellRangeByName("A1:P45").getDataArray()
End Sub

Sub Measures(book As String, cell As String, told As String)
    Dim hidden(0) As New com.sun.star.beans.PropertyValue
    hidden(0).Name = "Hidden"
    hidden(0).Value = True
    Dim began As Long, opened As Long, answered As Long, most As Long
    began = GetSystemTicks()
    document = StarDesktop.loadComponentFromURL(book, "_blank", 0, hidden())
    opened = GetSystemTicks() - began
    Looks(document)
    typed = document.Sheets.getByName("Weighings").getCellRangeByName(cell)
    For trial = 1 To 5
        began = GetSystemTicks()
        typed.Value = typed.Value + 0.1
        Looks(document)
        answered = GetSystemTicks() - began
        If answered &gt; most Then most = answered
    Next trial
    Open told For Output As #1
    Print #1, CStr(opened) &amp; " " &amp; CStr(most)
    Close #1
    document.close(True)
    StarDesktop.terminate()
End Sub
"""


class Used(NamedTuple):
    """Seconds until a book is open, and the longest until the first rows of Standing stand after a reading is typed."""

    opens: float
    answers: float


def used(book: Path, row: int) -> Used:
    """Open a book, look at Standing, and type over the reading of a row of Weighings five times."""
    with tempfile.TemporaryDirectory() as folder:
        told, macros = Path(folder, "told.txt"), Path(folder, "user", "basic", "Standard")
        options = [f"-env:UserInstallation={Path(folder).as_uri()}", "--headless", "--norestore", "--nologo"]
        begin = partial(subprocess.run, check=True, capture_output=True, timeout=PATIENCE)
        begin([str(shutil.which("soffice")), *options, "--terminate_after_init"])
        (macros / "script.xlb").write_text(LIBRARY)
        (macros / "Speed.xba").write_text(MODULE.format(MACRO))
        letter = column_letters([one.key for one in BOOK["Weighings"].shown].index("reading_1") + 1)
        call = f'macro:///Standard.Speed.Measures("{book.as_uri()}","{letter}{row}","{told}")'
        begin([str(shutil.which("soffice")), *options, call])
        opened, answered = map(int, told.read_text().split())
    return Used(opened / 1000, answered / 1000)


def test_a_book_of_two_thousand_colonies_opens_and_answers(tmp_path: Path) -> None:
    club, returns = made(tmp_path, MEMBERS, 36, 20)
    collate(club, [returns], as_at=AS_AT)
    found = used(club, BOOK["Weighings"].first_row + MEMBERS)
    assert found.opens < OPENS
    assert found.answers < ANSWERS
