"""Recalculation by spreadsheet programs that are not ours, of books whose every stored result was first made wrong."""

from __future__ import annotations

import io
import math
import re
import shutil
import subprocess
import zipfile
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET
from xml.sax.saxutils import escape, unescape

from openpyxl.formula.translate import Translator
from python_calamine import CalamineWorkbook

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
PACKAGE = "{http://schemas.openxmlformats.org/package/2006/relationships}"
PLANTED = 777.0
"""A result that no formula of the book has: a cell that still shows it was never recalculated."""
RELATIVE, ABSOLUTE = 1e-9, 1e-9
PATIENCE = 1800
"""Seconds after which another program is given up, on a machine with much else to do."""
CELL_WITH_FORMULA = re.compile(rb'(<c r="[A-Z]+\d+"[^>]*?)(?: t="str")?(>)(<f[^>]*(?:/>|>[^<]*</f>))<v>[^<]*</v>')
FORMULA = re.compile(rb"<f[ >]")
RECALCULATE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry"><item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop>
<prop oor:name="ODFRecalcMode" oor:op="fuse"><value>0</value></prop>
</item></oor:items>"""
"""LibreOffice settings: recalculate every file on loading, never (1) or on asking (2) would trust what is stored."""

Place = tuple[str, int, int]
"""Sheet, row and column, counted from 1."""
Values = dict[Place, object]


@dataclass(frozen=True, slots=True)
class Cells:
    """What stands in a workbook: values of all cells that hold something, and which of them are formulas."""

    values: Values
    formulas: dict[Place, str]


def read_xlsx(data: bytes) -> Cells:
    """Read a workbook's stored values from its XML, whoever wrote it."""
    archive = zipfile.ZipFile(io.BytesIO(data))
    shared = _shared(archive)
    targets = {
        one.get("Id"): str(one.get("Target")).removeprefix("/").removeprefix("xl/")
        for one in ET.fromstring(archive.read("xl/_rels/workbook.xml.rels"))  # noqa: S314 written by ourselves
    }
    cells = Cells({}, {})
    book = ET.fromstring(archive.read("xl/workbook.xml"))  # noqa: S314 written by ourselves
    for sheet in book.iter(f"{MAIN}sheet"):
        root = ET.fromstring(archive.read(f"xl/{targets[sheet.get(RELATION)]}"))  # noqa: S314 as above
        for cell in root.iter(f"{MAIN}c"):
            place = (str(sheet.get("name")), *_row_and_column(str(cell.get("r"))))
            formula = cell.find(f"{MAIN}f")
            if formula is not None:
                cells.formulas[place] = formula.text or ""
            value = _value(cell, shared)
            if value not in (None, ""):
                cells.values[place] = value
    return cells


def _shared(archive: zipfile.ZipFile) -> list[str]:
    if "xl/sharedStrings.xml" not in archive.namelist():
        return []
    root = ET.fromstring(archive.read("xl/sharedStrings.xml"))  # noqa: S314 written by ourselves
    return ["".join(text.text or "" for text in one.iter(f"{MAIN}t")) for one in root.iter(f"{MAIN}si")]


def _row_and_column(reference: str) -> tuple[int, int]:
    letters = reference.rstrip("0123456789")
    column = 0
    for letter in letters:
        column = column * 26 + ord(letter) - ord("A") + 1
    return int(reference[len(letters) :]), column


def _value(cell: ET.Element, shared: list[str]) -> object:
    kind, text = cell.get("t", "n"), cell.findtext(f"{MAIN}v")
    if kind == "inlineStr":
        return "".join(one.text or "" for one in cell.iter(f"{MAIN}t"))
    if not text:  # xlsxwriter stores the empty word as an empty number
        return None
    if kind == "s":
        return shared[int(text)]
    return float(text) if kind in {"n", "b"} else text


def read_ods(path: Path) -> Values:
    """Read an OpenDocument workbook's stored values; dates as spreadsheets count them."""
    from datetime import date, datetime

    from apiarybook.reckon.core.winter import serial

    found: Values = {}
    book = CalamineWorkbook.from_path(str(path))
    for name in book.sheet_names:
        for row, line in enumerate(book.get_sheet_by_name(name).to_python(skip_empty_area=False), 1):
            for column, value in enumerate(line, 1):
                if value == "":
                    continue
                day = isinstance(value, date)
                at = serial(value.date() if isinstance(value, datetime) else value) if day else value
                found[name, row, column] = float(at) if isinstance(at, (int, float)) else at
    return found


def planted(data: bytes) -> bytes:
    """The same book with a wrong result stored in every formula cell."""
    source, target = zipfile.ZipFile(io.BytesIO(data)), io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as made:
        for name in source.namelist():
            part = source.read(name)
            if name.startswith("xl/worksheets/sheet"):
                part, count = CELL_WITH_FORMULA.subn(rb"\1\2\3<v>%d</v>" % PLANTED, part)
                assert count == len(FORMULA.findall(part)), f"{name}: a formula kept its stored result"
            made.writestr(name, part)
    return target.getvalue()


SHARED = re.compile(rb'<c r="([A-Z]+\d+)"([^>]*)><f t="shared" si="(\d+)"(?:/>|[^>]*>([^<]*)</f>)')


NUMBERS_OF_ROWS = re.compile(rb"<f>[^<]*[^A-Z]ROW\([^()]*:[^)]*\)[^<]*</f>(?:<v>[^<]*</v>|<v ?/>)?")


def expanded(data: bytes) -> bytes:
    """The same book without what formualizer 0.13 does not know.

    Shared formulas are written out in every cell. Where the numbers of many rows are asked for it gives that of the
    first: what asks for them, whether rows have been moved, is given as a value, and they have not.
    """
    source, target = zipfile.ZipFile(io.BytesIO(data)), io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as made:
        for name in source.namelist():
            first: dict[bytes, Translator] = {}
            part = SHARED.sub(partial(_written_out, first), source.read(name))
            made.writestr(name, NUMBERS_OF_ROWS.sub(b"<v>0</v>", part))
    return target.getvalue()


def _written_out(first: dict[bytes, Translator], found: re.Match[bytes]) -> bytes:
    cell, mark = found[1].decode(), found[3]
    if found[4]:
        first[mark] = Translator(f"={unescape(found[4].decode())}", origin=cell)
    formula = first[mark].translate_formula(cell)[1:]
    return b'<c r="%s"%s><f>%s</f>' % (found[1], found[2], escape(formula).encode())


def differences(ours: Cells, theirs: Values) -> list[str]:
    """Say of every formula cell whose result differs what we and what they have; errors never agree."""
    return [
        f"{sheet}!R{row}C{column}: {ours.values.get(place)!r} here, {theirs.get(place)!r} there, ={formula[:160]}"
        for place, formula in ours.formulas.items()
        for sheet, row, column in [place]
        if not _agree(ours.values.get(place), theirs.get(place))
    ]


def _agree(ours: object, theirs: object) -> bool:
    if isinstance(ours, float) and isinstance(theirs, float):
        return math.isclose(ours, theirs, rel_tol=RELATIVE, abs_tol=ABSOLUTE)
    return type(ours) is type(theirs) and ours == theirs


def by_formualizer(data: bytes, folder: Path) -> Values:
    """Recalculate one book with formualizer."""
    import formualizer

    source, target = folder / "planted.xlsx", folder / "recalculated.xlsx"
    source.write_bytes(expanded(data))
    told = formualizer.recalculate_file(str(source), str(target))
    assert (told["errors"], told["unknown_functions"]) == (0, [])
    return read_xlsx(target.read_bytes()).values


def by_gnumeric(books: Sequence[bytes], folder: Path) -> list[Values]:
    """Recalculate many books with Gnumeric, one call each."""
    found = []
    for number, data in enumerate(books):
        source, target = folder / f"planted{number}.xlsx", folder / f"gnumeric{number}.xlsx"
        source.write_bytes(data)
        command = [str(shutil.which("ssconvert")), "--recalc", str(source), str(target)]
        subprocess.run(command, check=True, capture_output=True, timeout=PATIENCE)
        found.append(read_xlsx(target.read_bytes()).values)
    return found


def by_libreoffice(books: Sequence[bytes], folder: Path, suffix: str) -> list[Values]:
    """Recalculate many books with one call of LibreOffice, kept as xlsx or ods."""
    made = saved_by_libreoffice(books, folder, suffix)
    return [read_ods(one) if suffix == "ods" else read_xlsx(one.read_bytes()).values for one in made]


def saved_by_libreoffice(books: Sequence[bytes], folder: Path, suffix: str, *, anew: bool = True) -> list[Path]:
    """Open and save many books with one call of LibreOffice, all reckoned anew or as its own settings have it."""
    profile, out = folder / "profile", folder / suffix
    (profile / "user").mkdir(parents=True)
    if anew:
        (profile / "user" / "registrymodifications.xcu").write_text(RECALCULATE)
    sources = [folder / f"book{number}.xlsx" for number, _ in enumerate(books)]
    for source, data in zip(sources, books, strict=True):
        source.write_bytes(data)
    options = [f"-env:UserInstallation={profile.as_uri()}", "--headless", "--norestore", "--convert-to", suffix]
    command = [str(shutil.which("soffice")), *options, "--outdir", str(out), *map(str, sources)]
    subprocess.run(command, check=True, capture_output=True, timeout=PATIENCE)
    return [out / f"{source.stem}.{suffix}" for source in sources]
