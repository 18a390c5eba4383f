"""Sixty kinds of file that mean harm or could do it by accident; run by a test, each read in a process of its own."""

from __future__ import annotations

import io
import json
import random
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING

from tests.readers.test_scan import MAIN, OLE, number, ods, worksheet, xlsx, zipped

if TYPE_CHECKING:
    from collections.abc import Callable

SECONDS = 20
BYTES = 1_000_000_000
MILLION = 1_000_000
Kind = tuple[str, bytes]


def cells(count: int, inside: str, columns: int = 200) -> str:
    """So many cells, all alike, in rows of so many."""
    names = [f"{chr(64 + at // 26) if at >= 26 else ''}{chr(65 + at % 26)}" for at in range(columns)]
    rows = range(1, count // columns + 1)
    return "".join(
        f'<row r="{row}">' + "".join(f'<c r="{name}{row}"{inside}</c>' for name in names) + "</row>" for row in rows
    )


def strings(*texts: str) -> str:
    return f'<sst xmlns="{MAIN}">' + "".join(f"<si><t>{text}</t></si>" for text in texts) + "</sst>"


def formulas(count: int, make: Callable[[int], str]) -> str:
    return "".join(f'<row r="{n}"><c r="A{n}"><f>{make(n)}</f><v>1</v></c></row>' for n in range(1, count + 1))


def styled(value: str) -> Kind:
    looks = '<cellXfs count="2"><xf numFmtId="0"/><xf numFmtId="46"/></cellXfs>'
    sheet = worksheet(f'<row r="1"><c r="A1" s="1"><v>{value}</v></c></row>')
    return "odd day.xlsx", xlsx(sheet, styles=f'<styleSheet xmlns="{MAIN}">{looks}</styleSheet>')


def packed(data: bytes, **changes: bytes) -> bytes:
    with zipfile.ZipFile(io.BytesIO(data)) as book:
        parts: dict[str, str | bytes] = {name: book.read(name) for name in book.namelist()}
    return zipped(parts | {name.replace("__", "/"): part for name, part in changes.items()})


def repeated(rows: int, columns: int, cell: str = 'office:value-type="float" office:value="1"') -> Kind:
    line = f'<table:table-row table:number-rows-repeated="{rows}"><table:table-cell {cell} '
    return "b.ods", ods(f'{line}table:number-columns-repeated="{columns}"/></table:table-row>')


def plain() -> bytes:
    return xlsx(worksheet(number("A1")))


def half(data: bytes, at: float) -> bytes:
    return data[: int(len(data) * at)]


def noise(seed: int, size: int) -> bytes:
    return random.Random(seed).randbytes(size)  # noqa: S311 a trial


def bent(seed: int) -> bytes:
    data, chance = bytearray(plain()), random.Random(seed)  # noqa: S311 a trial
    for _ in range(40):
        data[chance.randrange(len(data))] = chance.randrange(256)
    return bytes(data)


LONG = "x" * 32_000
EMOJI = "\U0001f41d" * 30_000
KINDS: dict[str, Callable[[], Kind]] = {
    **{
        f"one value in {cell}": lambda cell=cell: ("a.xlsx", xlsx(worksheet(number(cell))))
        for cell in ("XFD1048576", "A1048576", "XFD1", "ZZZZ1", "A0", "A99999999999")
    },
    "eight million cells": lambda: ("a.xlsx", xlsx(worksheet(cells(8 * MILLION, "><v>1</v>")))),
    "thirteen million cells": lambda: ("a.xlsx", xlsx(worksheet(cells(13 * MILLION, "><v>1</v>")))),
    "cells without a name": lambda: ("a.xlsx", xlsx(worksheet("<row>" + "<c><v>1</v></c>" * 4 * MILLION + "</row>"))),
    "a gigabyte of blanks": lambda: ("a.xlsx", xlsx(worksheet(" " * 1000 * MILLION))),
    "a part of 190 MB of blanks": lambda: ("a.xlsx", xlsx(worksheet(number("A1") + " " * 190 * MILLION))),
    "rows without cells": lambda: ("a.xlsx", xlsx(worksheet("<row/>" * 12 * MILLION))),
    "millions of strings": lambda: (
        "a.xlsx",
        xlsx(worksheet(number("A1")), sharedStrings=strings(*["x"] * 3 * MILLION)),
    ),
    "one long text in many cells": lambda: (
        "a.xlsx",
        xlsx(worksheet(cells(2 * MILLION, ' t="s"><v>0</v>')), sharedStrings=strings(LONG)),
    ),
    "one long text of wide letters": lambda: (
        "a.xlsx",
        xlsx(worksheet(cells(4000, ' t="s"><v>0</v>')), sharedStrings=strings(EMOJI)),
    ),
    "long texts in cells": lambda: ("a.xlsx", xlsx(worksheet(cells(6000, f' t="inlineStr"><is><t>{LONG}</t></is>')))),
    "a text of 100 million letters": lambda: (
        "a.xlsx",
        xlsx(worksheet(f'<row r="1"><c r="A1" t="str"><v>{"x" * 100 * MILLION}</v></c></row>')),
    ),
    "formulas that all differ": lambda: (
        "a.xlsx",
        xlsx(worksheet(formulas(60_000, lambda n: "+".join(str(n * k % 9973) for k in range(1, 200))))),
    ),
    "formulas that are alike": lambda: ("a.xlsx", xlsx(worksheet(formulas(120_000, lambda n: f"B{n}+" * 1500 + "1")))),
    "one long formula shared": lambda: (
        "a.xlsx",
        xlsx(
            worksheet(
                f'<row r="1"><c r="A1"><f t="shared" si="0" ref="A1:A9">{"B1+" * 2700}1</f></c></row>'
                + "".join(f'<row r="{n}"><c r="A{n}"><f t="shared" si="0"/></c></row>' for n in range(2, 150_000))
            )
        ),
    ),
    "formulas in no order": lambda: (
        "a.xlsx",
        xlsx(worksheet("".join(f'<row r="{n}"><c r="A{n}"><f>B{n}</f></c></row>' for n in range(100_000, 0, -1)))),
    ),
    "deep brackets": lambda: ("a.xlsx", xlsx(worksheet(formulas(1, lambda _: "(" * 8000 + "1" + ")" * 8000)))),
    "entities in entities": lambda: (
        "a.xlsx",
        xlsx('<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>' + worksheet("")),
    ),
    "an entity of a file": lambda: ("a.xlsx", xlsx('<!DOCTYPE x SYSTEM "file:///etc/passwd">' + worksheet(""))),
    "entities in an ods": lambda: ("b.ods", ods("", meta='<!DOCTYPE x [<!ENTITY a "1">]><x/>')),
    "deep elements": lambda: ("a.xlsx", xlsx(worksheet("<x>" * MILLION + "</x>" * MILLION))),
    "deep elements in an ods": lambda: ("b.ods", ods("<x>" * MILLION + "</x>" * MILLION)),
    "many attributes": lambda: (
        "a.xlsx",
        xlsx(worksheet("<row " + " ".join(f'a{n}="1"' for n in range(300_000)) + ">" + '<c r="A1"><v>1</v></c></row>')),
    ),
    "ten thousand sheets": lambda: ("a.xlsx", xlsx(*[worksheet("")] * 10_000)),
    "three hundred sheets": lambda: ("a.xlsx", xlsx(*[worksheet("")] * 300)),
    "sheets of one name": lambda: ("a.xlsx", packed(plain(), xl__workbook_xml=b"")),
    "a part given twice": lambda: ("a.xlsx", plain().replace(b"xl/workbook.xml", b"xl/WORKBOOK.xml", 1)),
    "a link to nowhere": lambda: (
        "a.xlsx",
        packed(plain(), **{"xl__workbook.xml": b"<workbook><sheets><sheet name='a'/></sheets></workbook>"}),
    ),
    "a list of sheets that is none": lambda: ("a.xlsx", packed(plain(), **{"xl__workbook.xml": b"<a><b></a>"})),
    "utf-16": lambda: ("a.xlsx", xlsx(worksheet(number("A1")).encode("utf-16").decode("latin-1"))),
    "a book locked with a password": lambda: ("a.xlsx", OLE + "EncryptedPackage".encode("utf-16-le") * 9),
    **{f"cut off at {at}": lambda at=at: ("a.xlsx", half(plain(), at)) for at in (0.1, 0.5, 0.9, 0.99)},
    **{f"bytes bent, {seed}": lambda seed=seed: ("a.xlsx", bent(seed)) for seed in range(6)},
    **{f"a day {value}": lambda value=value: styled(value) for value in ("1E+300", "-1e300", "-5", "99999999999")},
    "an ods repeated without end": lambda: repeated(10**9, 10**9),
    "an ods of ten million cells": lambda: repeated(100_000, 250),
    "a text repeated": lambda: repeated(190_000, 200, f'office:value-type="string" office:string-value="{LONG}"'),
    "an error repeated": lambda: repeated(100_000, 40, 'calcext:value-type="error" table:formula="of:=1/0"'),
    "blanks without end": lambda: (
        "b.ods",
        ods(
            '<table:table-row><table:table-cell office:value-type="string"><text:p>a'
            + '<text:s text:c="32000"/>' * 30_000
            + "</text:p></table:table-cell></table:table-row>"
        ),
    ),
    "an ods that is a drawing": lambda: (
        "b.ods",
        zipped({"mimetype": "application/vnd.oasis.opendocument.graphics", "content.xml": "<x/>"}),
    ),
    "an old book of noise": lambda: ("c.xls", OLE + noise(1, MILLION)),
    "an old book of noughts": lambda: ("c.xls", OLE + bytes(30 * MILLION)),
    "an old book in a ring": lambda: ("c.xls", OLE[:48] + bytes(28) + bytes(436) + b"\0" * 512 * 40),
    "noise": lambda: ("d.csv", noise(2, MILLION)),
    "a csv of one quotation mark": lambda: ("d.csv", b'date,remarks\n2026-09-05,"' + b"x,y\n" * MILLION),
    "a csv of commas": lambda: ("d.csv", b"," * 20 * MILLION),
    "a csv of line ends": lambda: ("d.csv", b"\n" * 25 * MILLION),
    "a csv of short lines": lambda: ("d.csv", b"a,b\n" * 7 * MILLION),
    "a csv of a hundred megabytes": lambda: ("d.csv", b"a,b,c\n" * 16 * MILLION),
    "a web page": lambda: ("d.csv", b"<html><table><tr><td>1</td></tr></table></html>"),
}


CHILD = """
import json, resource, sys
from pathlib import Path
from apiarybook.errors import CannotRead
from apiarybook.readers.raw import read_raw

resource.setrlimit(resource.RLIMIT_CPU, (int(sys.argv[2]), int(sys.argv[2])))
try:
    sheets = list(read_raw(Path(sys.argv[1])).sheets.values())[:3]
    said = "read: " + ", ".join(f"{one.name} {len(one.rows)}" for one in sheets)
except CannotRead as fault:
    said = str(fault)
used = resource.getrusage(resource.RUSAGE_SELF)
lines = Path("/proc/self/status").read_text().splitlines()  # ru_maxrss would count what the parent took before
peak = next(int(one.split()[1]) * 1024 for one in lines if one.startswith("VmHWM"))
print(json.dumps({"said": said[:400], "peak": peak, "seconds": used.ru_utime + used.ru_stime}))
"""


def look(kind: str, folder: Path) -> dict[str, object]:
    """Read one kind in a process of its own that is ended beyond its seconds."""
    name, data = KINDS[kind]()
    path = folder / name
    path.write_bytes(data)
    del data
    done = subprocess.run([sys.executable, "-c", CHILD, str(path), str(SECONDS)], capture_output=True, check=False)
    said = (
        json.loads(done.stdout) if done.returncode == 0 else {"said": f"ended {done.returncode}: {done.stderr!r:.300}"}
    )
    return {"kind": kind, "file": name, "peak": 0, "seconds": 0, **said}


def main() -> None:
    """Say of each kind that is named, else of all, what came of it."""
    with tempfile.TemporaryDirectory() as folder:
        for one in sys.argv[1:] or KINDS:
            sys.stdout.write(json.dumps(look(one, Path(folder))) + "\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
