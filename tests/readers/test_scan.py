"""Files made to end the program, each refused in one sentence; and the two ways of looking over a sheet agree."""

import contextlib
import io
import zipfile
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apiarybook.errors import CannotRead
from apiarybook.readers import xls_worker as worker
from apiarybook.readers.formula_text import FormulaTexts, from_open_formula
from apiarybook.readers.limits import Limits, column_letters, column_number
from apiarybook.readers.package import Package
from apiarybook.readers.pieces import Unusual, told_by
from apiarybook.readers.raw import read_raw
from apiarybook.readers.scan import SheetScan, _scan_usual, _scan_whole, only_rows, scan_sheet, whole_rows

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
LINKS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006/relationships"
ODS_NAMES = " ".join(
    f'xmlns:{prefix}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
    for prefix, name in (("office", "office"), ("table", "table"), ("text", "text"))
)


def zipped(parts: dict[str, str | bytes]) -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return target.getvalue()


def worksheet(rows: str, before: str = "", after: str = "") -> str:
    return f'<worksheet xmlns="{MAIN}">{before}<sheetData>{rows}</sheetData>{after}</worksheet>'


def xlsx(*sheets: str, **parts: str | bytes) -> bytes:
    """A book written by hand: sheets S1, S2 ..., and any part in place of the usual one."""
    listed = "".join(f'<sheet name="S{n}" sheetId="{n}" r:id="r{n}"/>' for n in range(1, len(sheets) + 1))
    links = "".join(
        f'<Relationship Id="r{n}" Type="{LINKS}/worksheet" Target="worksheets/sheet{n}.xml"/>'
        for n in range(1, len(sheets) + 1)
    )
    root = f'<Relationship Id="r1" Type="{LINKS}/officeDocument" Target="xl/workbook.xml"/>'
    strings = f'<Relationship Id="s" Type="{LINKS}/sharedStrings" Target="sharedStrings.xml"/>'
    usual: dict[str, str | bytes] = {
        "[Content_Types].xml": "<Types/>",
        "_rels/.rels": f'<Relationships xmlns="{PACKAGE}">{root}</Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{MAIN}" xmlns:r="{LINKS}"><sheets>{listed}</sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{PACKAGE}">{links}{strings}</Relationships>',
    }
    usual |= {f"xl/worksheets/sheet{n}.xml": sheet for n, sheet in enumerate(sheets, start=1)}
    return zipped(usual | {f"xl/{name}.xml": content for name, content in parts.items()})


def ods(rows: str, **parts: str) -> bytes:
    content = (
        f'<office:document-content {ODS_NAMES}><office:body><office:spreadsheet><table:table table:name="S1">{rows}'
        "</table:table></office:spreadsheet></office:body></office:document-content>"
    )
    mime = "application/vnd.oasis.opendocument.spreadsheet"
    return zipped({"mimetype": mime, "content.xml": content} | {f"{name}.xml": part for name, part in parts.items()})


def refused(data: bytes, limits: Limits | None = None, name: str = "return.xlsx") -> str:
    with pytest.raises(CannotRead) as caught:
        read_raw((name, data), limits or Limits())
    sentence = str(caught.value)
    assert sentence.startswith(name)
    assert sentence.endswith(".")
    assert "\n" not in sentence
    assert len(sentence) < 300
    return sentence


def scanned(sheet: str) -> SheetScan:
    return scan_sheet(Package("f", xlsx(sheet)), "S1", "xl/worksheets/sheet1.xml")


def number(cell: str, value: str = "1") -> str:
    return f'<row><c r="{cell}"><v>{value}</v></c></row>'


def test_the_book_written_by_hand_is_read() -> None:
    book = read_raw(("return.xlsx", xlsx(worksheet(number("B2", "47.5")))))
    assert book.sheets["S1"].rows == [[None, None], [None, 47.5]]


@pytest.mark.parametrize("cell", ["XFD1048576", "XFD20000", "XFD500", "IW1", "A200001", "C1048576", "ZZZZ1"])
def test_one_stray_value_is_refused_by_its_cell(cell: str) -> None:
    assert f"cell {cell}:" in refused(xlsx(worksheet(number("A1") + number(cell))))


@pytest.mark.parametrize(
    "cell",
    [
        "<c s='1' r='XFD1048576'><v>1</v></c>",
        '<c\n r="XFD1048576"><v>1</v></c>',
        '<c r = "XFD1048576"><v>1</v></c>',
        '<x:c xmlns:x="' + MAIN + '" r="XFD1048576"><v>1</v></x:c>',
        '<c r="XFD1048576" t="inlineStr"><is><t>x</t></is></c>',
        '<c r="XFD1048576"><f>A1</f></c>',
        '<c r="XFD1048576"><v>1</v></c><!-- -->',
    ],
)
def test_a_stray_value_is_found_however_it_is_written(cell: str) -> None:
    assert "cell XFD1048576:" in refused(xlsx(worksheet(f"<row>{cell}</row>")))


def test_cells_without_a_name_follow_the_one_before() -> None:
    rows = '<row r="3"><c><v>1</v></c><c t="e"><v>#N/A</v></c></row><row><c><v>2</v></c></row>'
    scan = scanned(worksheet(rows))
    assert (scan.rows, scan.columns, scan.errors) == (4, 2, {(3, 2): "#N/A"})
    assert "cell A1048576:" in refused(xlsx(worksheet('<row r="1048576"><c><v>1</v></c></row>')))


def test_a_value_at_each_end_of_a_large_area_is_refused() -> None:
    assert "used area" in refused(xlsx(worksheet(number("IV1") + number("A200000"))))


def test_large_areas_of_several_sheets_count_together() -> None:
    sheet = worksheet(number("A1") + number("J100"))
    assert read_raw(("f", xlsx(sheet, sheet)), Limits(cells=2000)).sheets["S2"].rows[99][9] == 1.0
    assert "sheet S3" in refused(xlsx(sheet, sheet, sheet), Limits(cells=2000))


def test_empty_rows_with_a_style_are_blank_however_many() -> None:
    rows = "".join(f'<row r="{row}"><c r="A{row}" s="0"/></row>' for row in range(2, 300_001))
    assert read_raw(("return.xlsx", xlsx(worksheet(number("A1") + rows)))).sheets["S1"].rows == [[1.0]]


def test_cells_without_end_are_refused() -> None:
    assert "used area" in refused(xlsx(worksheet("<row>" + "<c/>" * 5000 + "</row>")), Limits(cells=1000))


def test_tags_without_end_are_refused() -> None:
    assert "tags" in refused(xlsx(worksheet("<!-- -->" + "<x/>" * 12_100_000)))


@pytest.mark.parametrize("after", ['<mergeCells count="1"><mergeCell ref="A10:XFD1048576"/></mergeCells>', ""])
def test_a_false_dimension_or_huge_merged_range_does_no_harm(after: str) -> None:
    data = xlsx(worksheet(number("A1"), '<dimension ref="A1:XFD1048576"/>', after))
    assert read_raw(("return.xlsx", data)).sheets["S1"].rows == [[1.0]]


@pytest.mark.long
def test_a_part_that_unpacks_without_end_is_refused() -> None:
    data = xlsx(worksheet(number("A1") + " " * 201_000_000))
    assert len(data) < 1_000_000
    assert "more than the 200 MB" in refused(data)


def test_many_parts_that_unpack_without_end_are_refused() -> None:
    sheet = worksheet(number("A1") + " " * 30_000)
    assert "unpacks to more than 0 MB" in refused(xlsx(*[sheet] * 4), Limits(unpacked=100_000))


def test_a_false_size_in_the_list_of_parts_bounds_nothing() -> None:
    data = bytearray(xlsx(worksheet(number("A1") + " " * 300_000)))
    real = len(worksheet(number("A1") + " " * 300_000)).to_bytes(4, "little")
    assert data.count(real) == 2
    lying = bytes(data.replace(real, (10).to_bytes(4, "little")))
    assert "unpacks to more than" in refused(lying, Limits(unpacked=100_000))


def test_ten_thousand_sheets_are_refused() -> None:
    assert "sheets" in refused(xlsx(*[worksheet("")] * 300))
    assert "parts" in refused(xlsx(*[worksheet("")] * 10_000))


def test_one_long_text_in_many_cells_is_refused() -> None:
    strings = f'<sst xmlns="{MAIN}"><si><t>{"x" * 30_000}</t></si><si><t>y</t></si></sst>'
    rows = "".join(f'<row r="{n}"><c r="A{n}" t="s"><v>{{}}</v></c></row>' for n in range(1, 20_001))
    long = worksheet(rows.replace("{}", "0"))
    assert "texts of all cells" in refused(xlsx(long, sharedStrings=strings))
    short = xlsx(worksheet(rows.replace("{}", "1")), sharedStrings=strings)
    assert read_raw(("return.xlsx", short)).sheets["S1"].rows == [["y"]] * 20_000


def test_one_long_formula_shared_by_many_cells_is_kept_once() -> None:
    first = f'<row r="1"><c r="A1"><f t="shared" si="0" ref="A1:A999">{"B1+" * 50}1</f><v>1</v></c></row>'
    rest = "".join(f'<row r="{n}"><c r="A{n}"><f t="shared" si="0"/><v>1</v></c></row>' for n in range(2, 1000))
    formulas = read_raw(("return.xlsx", xlsx(worksheet(first + rest))), Limits(formulas=2_000)).sheets["S1"].formulas
    assert formulas[999, 1] == "=" + "B999+" * 50 + "1"
    assert sum(map(len, (formulas[place] for place in formulas))) < 10_000_000


def test_formulas_that_all_differ_are_refused_by_the_cell() -> None:
    rows = "".join(f'<row r="{n}"><c r="A{n}"><f>B{n}+{n * 7 % 1000}*{n * 3}</f></c></row>' for n in range(1, 1000))
    assert "sheet S1, cell A" in refused(xlsx(worksheet(rows)), Limits(formulas=10_000))


@pytest.mark.parametrize("value", ["1E+300", "-1e300", "-2", "99999999999"])
def test_a_number_that_can_be_no_day_is_a_number_whatever_it_looks_like(value: str) -> None:
    styles = (
        f'<styleSheet xmlns="{MAIN}"><cellXfs count="2"><xf numFmtId="0"/><xf numFmtId="14"/></cellXfs></styleSheet>'
    )
    rows = f'<row r="1"><c r="A1" s="1"><v>{value}</v></c><c r="B1" s="1"><v>46270</v></c></row>'
    read = read_raw(("return.xlsx", xlsx(worksheet(rows), styles=styles))).sheets["S1"].rows
    assert read == [[float(value), date(2026, 9, 5)]]


BOMB = '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;">]>'


@pytest.mark.parametrize(
    "declared", [BOMB, '<!DOCTYPE x SYSTEM "file:///etc/passwd">', '<!DOCTYPE x [<!ENTITY a "1">]>']
)
def test_entities_are_refused_in_every_part(declared: str) -> None:
    sheet = worksheet("<row><c r='A1' t='str'><v>&b;</v></c></row>")
    assert "document type" in refused(xlsx(declared + sheet))
    assert "document type" in refused(xlsx(worksheet(""), workbook=declared + "<workbook/>"))
    assert "document type" in refused(xlsx(worksheet(""), sharedStrings=declared + "<sst/>"))
    assert "document type" in refused(ods("", meta=declared + "<x/>"))


def test_a_part_in_utf_16_is_refused() -> None:
    assert "UTF-8" in refused(xlsx(worksheet("").encode("utf-16").decode("latin-1")))


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (xlsx(worksheet(number("A0"))), "return.xlsx"),
        (xlsx(worksheet('<row><c r="A1" t="s"><v>7</v></c></row>')), "damaged"),
        (xlsx(worksheet('<row><c r="A1"><v>1</v>')), "damaged"),
        (
            xlsx(worksheet(""), workbook='<workbook><sheets><sheet name="Gone" r:id="r9"/></sheets></workbook>'),
            "missing",
        ),
        (xlsx(worksheet(""), workbook="<workbook"), "damaged"),
    ],
)
def test_badly_formed_books_are_refused(data: bytes, says: str) -> None:
    assert says in refused(data)


def test_a_part_given_twice_is_refused() -> None:
    target = io.BytesIO(xlsx(worksheet(number("A1"))))
    with zipfile.ZipFile(target, "a") as archive:
        archive.writestr("XL/worksheets/sheet1.xml", worksheet(number("A1", "2")))
    assert "twice" in refused(target.getvalue())


def test_a_number_that_is_not_finite_is_an_error_cell() -> None:
    rows = '<row r="1"><c r="A1"><v>1e400</v></c><c r="B1"><v>NaN</v></c><c r="C1"><v>2</v></c></row>'
    sheet = read_raw(("return.xlsx", xlsx(worksheet(rows)))).sheets["S1"]
    assert sheet.rows == [[None, None, 2.0]]
    assert sheet.errors == {(1, 1): "inf", (1, 2): "nan"}


def repeated(rows: int, columns: int, content: str) -> str:
    return (
        f'<table:table-row table:number-rows-repeated="{rows}"><table:table-cell {content} '
        f'table:number-columns-repeated="{columns}"/></table:table-row>'
    )


VALUE = 'office:value-type="float" office:value="1"'


def test_ods_repeats_are_followed() -> None:
    data = ods(repeated(2, 3, "") + repeated(2, 2, VALUE) + repeated(1_048_570, 16_384, ""))
    assert read_raw(("return.ods", data)).sheets["S1"].rows == [[None] * 2] * 2 + [[1.0] * 2] * 2


@pytest.mark.parametrize(
    ("rows", "columns"), [(1_048_576, 1), (1, 16_384), (1_048_576, 16_384), (999_999_999, 999_999_999)]
)
def test_ods_repeats_without_end_are_refused(rows: int, columns: int) -> None:
    for content in (VALUE, 'table:formula="of:=1"'):
        assert f"cell {column_letters(columns)}{rows}:" in refused(ods(repeated(rows, columns, content)))


def test_a_large_repeated_area_in_ods_is_refused() -> None:
    assert "used area" in refused(ods(repeated(200_000, 256, 'table:formula="of:=1" calcext:value-type="error"')))


def test_a_stray_value_in_ods_is_refused_by_its_cell() -> None:
    assert "cell A1048576:" in refused(ods(repeated(1_048_575, 1, "") + repeated(1, 1, VALUE)))


def test_other_open_documents_and_locked_ones_are_refused() -> None:
    letter = zipped({"mimetype": "application/vnd.oasis.opendocument.text", "content.xml": "<x/>"})
    assert "no spreadsheet" in refused(letter)
    locked = ods("")
    target = io.BytesIO(locked)
    with zipfile.ZipFile(target, "a") as archive:
        archive.writestr("META-INF/manifest.xml", "<manifest><file-entry><encryption-data/></file-entry></manifest>")
    assert "password" in refused(target.getvalue())


OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 504


def test_a_reader_that_dies_is_one_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "dying.py").write_text("import os\nos.abort()\n")
    monkeypatch.setattr(worker, "_START", f"import sys; sys.path.append({str(tmp_path)!r}); import dying")
    assert "ended the process" in refused(OLE, name="return.xls")


def test_a_reader_that_never_ends_is_one_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "endless.py").write_text("while True:\n    pass\n")
    monkeypatch.setattr(worker, "_START", f"import sys; sys.path.append({str(tmp_path)!r}); import endless")
    monkeypatch.setattr(worker, "SECONDS", 0.2)
    assert "given up" in refused(OLE, name="return.xls")


def test_the_reader_takes_no_code_from_the_folder_it_runs_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "json.py").write_text("raise SystemExit('taken over')\n")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    assert "no workbook" in refused(OLE, name="return.xls")


def as_programs_share(cells: list[tuple[int, int, str, str, str]]) -> list[tuple[int, int, str, str, str]]:
    """A formula that cells share is written once, in the first of them."""
    shares = [one for one in cells if one[2] in {"shared", "follows"}]
    return [
        (*one[:2], "shared" if one == shares[0] else "follows", *one[3:]) if one in shares else one for one in cells
    ]


KINDS = {
    "number": '<c {name} s="1"><v>{figure}</v></c>',
    "blank": '<c {name} s="1"/>',
    "nothing": "<c {name}><v></v></c>",
    "no text": '<c {name} t="str"><f>A1</f><v/></c>',
    "day": '<c {name} s="2" t="n"><v>{day}</v></c>',
    "duration": '<c {name} s="3"><v>{day}</v></c>',
    "listed": '<c {name} t="s"><v>{row}</v></c>',
    "true": '<c {name} t="b"><v>1</v></c>',
    "inline": '<c {name} t="inlineStr"><is><t xml:space="preserve">{text}</t></is></c>',
    "error": '<c {name} s="1" t="e"><v>#N/A</v></c>',
    "text": '<c {name} t="str"><v>{text}</v></c>',
    "formula": "<c {name}><f>{text}</f><v>{figure}</v></c>",
    "formula by number": "<c {name}><f>A{row}+&#38;&#40;</f></c>",
    "formula error": '<c {name} t="e"><f ca="1">{text}</f><v>#DIV/0!</v></c>',
    "shared": '<c {name}><f t="shared" ref="A1:B2" si="0">A1+1</f><v>1</v></c>',
    "follows": '<c {name}><f t="shared" si="0"></f><v>{figure}</v></c>',
}
FIGURES = ("1", "46270", "46270.25", "-2.5", "1e400", "12345678", "0.1")
CELLS = st.lists(
    st.tuples(
        st.integers(1, 40),
        st.integers(1, 30),
        st.sampled_from(list(KINDS)),
        st.text(alphabet="A1+<&>\"' $é", min_size=1, max_size=8),
        st.sampled_from(FIGURES),
    ),
    max_size=12,
    unique_by=lambda cell: cell[:2],
).map(lambda cells: as_programs_share(sorted(cells)))
LISTED = f'<sst xmlns="{MAIN}">' + "".join(f"<si><t>{'' if at == 3 else at}</t></si>" for at in range(41)) + "</sst>"
LOOKS = "".join(f'<xf numFmtId="{number}"/>' for number in (0, 1, 14, 46))
STYLES = f'<styleSheet xmlns="{MAIN}"><cellXfs count="4">{LOOKS}</cellXfs></styleSheet>'


def escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def written(row: int, column: int, kind: str, text: str, figure: str) -> str:
    name = f'r="{column_letters(column)}{row}"'
    day = figure if 0 < float(figure) < 1e6 else "2"
    return f"<row>{KINDS[kind].format(name=name, row=row, text=escaped(text), figure=figure, day=day)}</row>"


def _usual(package: Package, sheet: str, part: str) -> SheetScan:
    return _scan_usual(package, sheet, map(told_by, only_rows(whole_rows(package, part))))


@given(CELLS)
def test_cells_told_apart_are_as_a_full_parser_and_a_reader_have_them(
    cells: list[tuple[int, int, str, str, str]],
) -> None:
    data = xlsx(worksheet("".join(written(*cell) for cell in cells)), sharedStrings=LISTED, styles=STYLES)
    package = Package("f", data)
    scan, exact = (of(package, "S1", "xl/worksheets/sheet1.xml") for of in (_usual, _scan_whole))
    assert (scan.rows, scan.columns, scan.errors, scan.formulas) == (
        exact.rows,
        exact.columns,
        exact.errors,
        exact.formulas,
    )
    with pytest.MonkeyPatch.context() as patch:
        quick = read_raw(("f", data))
        patch.setattr("apiarybook.readers.xlsx.scan_sheet", lambda *one: _scan_whole(*one[:3]))
        slow = read_raw(("f", data))
    assert [repr(one.rows) for one in quick.sheets.values()] == [repr(one.rows) for one in slow.sheets.values()]
    assert quick == slow


@pytest.mark.parametrize(
    "rows",
    [
        '<row r="1"><c r="B1"><v>1</v></c><c r="A1"><v>2</v></c></row>',
        '<row r="1"><c r="A1"><v>1</v></c><c r="A1"><v>2</v></c></row>',
        '<row r="1"> <c r="A1"><v>1</v></c></row>',
        '<row r="1"><c s="1" r="A1"><v>1</v></c></row>',
        '<row r="1"><c r="A1" t="str"><is><r><t>1</t></r></is></c></row>',
        '<row r="1"><c r="A1"><v>1</v><f>A2</f></c></row>',
        '<row r="1"><c r="A1"><v> 1</v></c></row>',
        '<row r="1"><c r="A1"><v>1_0</v></c></row>',
        '<row r="1"><c r="A1"><v>NaN</v></c></row>',
        '<row r="1"><c r="a1"><v>1</v></c></row>',
        '<row r="1"><c r="A01"><v>1</v></c></row>',
        '<row r="1"><c r="A1"><v>1</v></c></row><?odd?>',
        '<row r="1"><c r="A1"><v>1</v></c></row></sheetData><sheetData>',
        '<row r="1"><c r="A1" a="&gt;"><v>1</v></c></row>',
        '<row r="1"><cc r="A1"><v>1</v></cc></row>',
    ],
)
def test_what_is_written_otherwise_is_left_to_the_full_parser(rows: str) -> None:
    with pytest.raises(Unusual):
        _usual(Package("f", xlsx(worksheet(rows))), "S1", "xl/worksheets/sheet1.xml")


def test_a_shared_formula_is_shifted_to_its_cell() -> None:
    rows = (
        '<row r="2"><c r="B2"><f t="shared" ref="B2:B3" si="4">A2&amp;"A2"</f><v>1</v></c></row>'
        '<row r="3"><c r="B3"><f t="shared" si="4"/><v>1</v></c></row>'
    )
    found = scanned(worksheet(rows))
    assert (found.rows, found.columns, found.errors) == (3, 2, {})
    assert dict(found.formulas) == {(2, 2): '=A2&"A2"', (3, 2): '=A3&"A2"'}


FORMULAS = [
    "SUM(A1:$B$7)+C$3*$D4",
    'IF(\'It\'\'s A1\'!B2>0,"B2 ""C3""",LOG10(B2))',
    "SUMIFS(Weighings!$E:$E,Weighings!C:C,A2)",
    "SUM(2:$4)+A1B2_name+weights.A1",
    "INDEX(feeds,MATCH(A1,Lists!A$1:A$9,0))&TRUE",
    "1E5+2.5+AA10",
]


@given(st.sampled_from(FORMULAS), st.integers(0, 50), st.integers(0, 50))
def test_a_formula_comes_back_as_it_was_written(formula: str, down: int, right: int) -> None:
    texts, place = FormulaTexts(), (10 + down, 10 + right)
    texts.add_rows(place[1], [place[0]], "=" + formula)
    texts.add_rows(1, [3], "=" + formula, (3, 1))
    assert texts[place] == texts[3, 1] == "=" + formula
    assert set(texts) == {place, (3, 1)}


@given(st.integers(1, 16_384))
def test_column_letters_and_numbers_are_inverse(column: int) -> None:
    assert column_number(column_letters(column)) == column


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("of:=[.A1]+[.$B$2]", "=A1+$B$2"),
        ("=SUM([.A1:.B2])", "=SUM(A1:B2)"),
        ("of:=[$Lists.A1:$Lists.A9]", "=Lists!A1:A9"),
        ("of:=[.A:.A]", "=A:A"),
        ("of:=[#REF!.A1]", "=[#REF!.A1]"),
    ],
)
def test_open_formulas_are_written_in_a1_notation(written: str, meant: str) -> None:
    # OASIS, OpenDocument 1.2 part 2 (OpenFormula), section 5.8 References.
    assert from_open_formula(written) == meant


def test_text_in_ods_is_put_together_as_it_is_shown() -> None:
    cell = '<table:table-cell office:value-type="string">{}</table:table-cell>'
    cells = [
        "<text:p>two</text:p> <text:p>li<text:span>nes</text:span></text:p>",
        '<text:p>a<text:s text:c="3"/>b<text:tab/>c</text:p>',
        "<office:annotation><text:p>a note</text:p></office:annotation><text:p>typed</text:p>",
        "<text:p>beside</text:p><frame><image><text:p/></image></frame>",
    ]
    rows = "<table:table-row>" + "".join(cell.format(content) for content in cells) + "</table:table-row>"
    sheet = read_raw(("return.ods", ods(rows))).sheets["S1"]
    assert sheet.rows == [["two\nlines", "a   b\tc", "typed", "beside"]]
    assert (sheet.has_notes, sheet.has_drawing) == (True, True)


@given(st.binary(max_size=700), st.integers(0, 600), st.binary(max_size=40))
def test_the_look_for_old_errors_ends_on_any_bytes(body: bytes, place: int, patch: bytes) -> None:
    data = bytearray(OLE + body)
    data[place : place + len(patch)] = patch
    with contextlib.suppress(ValueError):
        worker.old_errors(bytes(data))


@given(st.lists(st.lists(st.integers(1, 30), min_size=1, max_size=8), max_size=6))
def test_rows_of_one_formula_taken_together_are_as_one_by_one(groups: list[list[int]]) -> None:
    together, singly = FormulaTexts(), FormulaTexts()
    for number, rows in enumerate(groups, 1):
        together.add_rows(1, rows, f"=B{number}", (number, 1))
        for row in rows:
            singly.add_rows(1, [row], f"=B{number}", (number, 1))
    assert dict(together) == dict(singly)
