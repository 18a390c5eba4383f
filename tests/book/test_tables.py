"""Files in, tables out: whatever stands in them, wherever it stands."""

import io
from datetime import date, datetime

import numpy as np
import pandas as pd
import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from apiarybook.book.looked_at import ANSWER, is_yes
from apiarybook.book.si_frames import si
from apiarybook.book.tables import Book, read_book
from apiarybook.errors import CannotRead
from apiarybook.layout import BOOK, Group, Role
from apiarybook.readers.canonical import canonical_text
from apiarybook.readers.records import RawBook, RawSheet

POUND = 0.45359237  # kg, Weights and Measures Act 1985, schedule 1, part V
US_QUART = 0.946352946  # l, NIST Handbook 44, appendix C; from memory
DAY = datetime(2026, 9, 5)  # noqa: DTZ001 cells know no zones

WEIGHINGS: list[list[object]] = [
    ["ref", "date", "colony", "by", "how", "reading 1", "reading 2", "heft: guess or word", "feed left in feeder"],
    ["k1-1", DAY, "A1", "Ann", "two sides", 18.5, 19.0, "heavy", 0.0],
    ["k1-2", "05/09/2026", "A2", "Ann", "one side", "12,5", None, 38.0, None],
    ["k1-3", None, None, None, None, None, None, None, None],
    ["k1-4", DAY, "a1", "Ben", "Frames of food counted", 7.0, None, None, None],
]


def raw_book(form: str = "xlsx", **sheets: list[list[object]]) -> RawBook:
    named = {name.replace("_", " "): RawSheet(name.replace("_", " "), rows) for name, rows in sheets.items()}
    return RawBook(f"book.{form}", "", form, None, {}, named)  # type: ignore[arg-type]


def read(*, form: str = "xlsx", **sheets: list[list[object]]) -> Book:
    return read_book(raw_book(form, **sheets))


def rules(book: Book, name: str = "Weighings") -> list[tuple[str, str]]:
    table = book.tables[name]
    return [(table.place(one.row, one.key), one.fault.rule) for one in table.faults]


def told(book: Book) -> list[tuple[str, str, str, str]]:
    """What the headings and sheets have to say, without what a short file naturally lacks."""
    return [
        (one.rule, one.sheet, one.cell, one.heading)
        for one in book.faults
        if one.rule not in {"missing-sheet", "missing-heading", "heading-left-out"}
    ]


def missing(book: Book, rule: str) -> set[str]:
    return {one.heading or one.sheet for one in book.faults if one.rule == rule}


def test_rows_keep_their_numbers_and_each_value_is_of_its_kind() -> None:
    table = read(Weighings=WEIGHINGS).tables["Weighings"]
    assert table.raw.index.tolist() == [2, 3, 4, 5]
    assert table.raw.index.name == "row"
    assert table.typed["reading_1"].dtype == np.float64
    assert table.typed["date"].dtype == np.dtype("datetime64[s]")
    assert table.typed["date"].tolist()[0] == pd.Timestamp(2026, 9, 5)
    assert table.raw.loc[2, "date"] == date(2026, 9, 5)
    assert table.typed["heft"].tolist() == ["heavy", 38.0, None, None]
    assert table.typed.loc[5, "how"] == "frames of food counted"
    assert table.place(3, "reading_1") == "F3"
    assert table.is_blank.tolist() == [False, False, True, False]


def test_one_fault_hides_no_other_and_the_raw_value_stays() -> None:
    book = read(Weighings=WEIGHINGS)
    assert rules(book) == [("B3", "ambiguous-date"), ("F3", "decimal-comma")]
    assert book.tables["Weighings"].raw.loc[3, "reading_1"] == "12,5"
    assert pd.isna(book.tables["Weighings"].typed.loc[3, "reading_1"])


def test_headings_are_found_below_a_title_in_any_order_and_writing() -> None:
    rows: list[list[object]] = [
        ["Our apiary", None, None, None],
        [None, None, None, None],
        ["READING\n1 (kg)", "Hive", " Date:", "How"],
        [21.5, "A1", DAY, "one side"],
    ]
    table = read(Weighings=rows).tables["Weighings"]
    assert table.columns == {"date": 3, "colony": 2, "how": 4, "reading_1": 1}
    assert table.headings["reading_1"] == "READING 1 (kg)"
    assert table.headings["colony"] == "Hive"
    assert table.typed.loc[4, "reading_1"] == 21.5
    assert table.place(4, "reading_1") == "A4"


def test_a_renamed_heading_is_named_and_its_column_kept_unread() -> None:
    rows: list[list[object]] = [["date", "colony", "how", "readng 1"], [DAY, "A1", "one side", 21.5]]
    book = read(Weighings=rows)
    assert told(book) == [("renamed-heading", "Weighings", "D1", "readng 1")]
    table = book.tables["Weighings"]
    assert pd.isna(table.typed.loc[2, "reading_1"])
    assert table.unknown["readng 1"].tolist() == [21.5]
    assert "reading 2" in missing(book, "heading-left-out")
    assert "reading 1" not in missing(book, "missing-heading")


def test_a_doubled_heading_is_named_and_the_later_column_kept() -> None:
    rows: list[list[object]] = [["date", "colony", "date", "hive"], [DAY, "A1", "later", "A2"]]
    book = read(Weighings=rows)
    assert told(book) == [
        ("doubled-heading", "Weighings", "C1", "date"),
        ("doubled-heading", "Weighings", "D1", "colony"),
    ]
    table = book.tables["Weighings"]
    assert table.typed.loc[2, "colony"] == "A1"
    assert sorted(table.unknown.to_numpy().ravel().tolist()) == ["A2", "later"]


def test_unknown_columns_and_sheets_are_kept_with_all_that_stands_in_them() -> None:
    rows: list[list[object]] = [["date", "colony", "queen", None], [DAY, "A1", "blue", "a stray note"]]
    book = read(Weighings=rows, My_notes=[["anything"]])
    unknown = book.tables["Weighings"].unknown
    assert unknown.to_dict("list") == {"queen": ["blue"], "(column D)": ["a stray note"]}
    assert list(book.foreign) == ["My notes"]


def test_error_cells_and_formulas_in_typed_cells_are_held_with_what_stood_there() -> None:
    target = io.BytesIO()
    with xlsxwriter.Workbook(target) as workbook:
        sheet = workbook.add_worksheet("Weighings")
        day = workbook.add_format({"num_format": "yyyy-mm-dd"})
        sheet.write_row(0, 0, ["date", "colony", "reading 1", "reading 2", "gross"])
        sheet.write_datetime(1, 0, DAY, day)
        sheet.write_string(1, 1, "A1")
        sheet.write_formula(1, 2, "=20+1.5", None, 21.5)
        sheet.write_formula(1, 3, "=NA()", None, "#N/A")
        sheet.write_formula(1, 4, "=C2*2", None, 43.0)
    book = read_book(("book.xlsx", target.getvalue()))
    table = book.tables["Weighings"]
    assert rules(book) == [("C2", "formula-in-input"), ("D2", "error-cell")]
    assert table.raw.loc[2, ["reading_1", "reading_2"]].tolist() == [21.5, "#N/A"]
    assert table.typed.loc[2, ["reading_1", "reading_2"]].isna().all()
    assert table.faults[0].fault.told["formula"] == "=20+1.5"
    assert table.typed["date"].tolist() == [pd.Timestamp(2026, 9, 5)]


def test_the_books_own_formulas_below_the_last_row_are_no_rows() -> None:
    rows = [*WEIGHINGS, [None] * 9, [None] * 9]
    sheet = RawSheet("Weighings", [[*row, "gross" if at == 0 else 0.0] for at, row in enumerate(rows)])
    book = read_book(RawBook("b.xlsx", "", "xlsx", None, {}, {"Weighings": sheet}))
    assert book.tables["Weighings"].raw.index.tolist() == [2, 3, 4, 5]


def test_the_view_of_a_member_copy_is_the_sheet_colonies() -> None:
    view = BOOK.views[0]
    columns = [BOOK[name][key] for name, keys in view.parts for key in keys]
    typed = {"colony": "A1", "apiary": "Home", "hive_type": "National single", "takes_fondant": "Yes"}
    rows: list[list[object]] = [[column.heading for column in columns], [typed.get(one.key) for one in columns]]
    book = read(My_colonies=rows, Weighings=WEIGHINGS)
    table = book.tables["Colonies"]
    assert table.name == "My colonies"
    assert table.typed.loc[2, "takes_fondant"] == "yes"
    assert table.unknown.empty
    assert "Colonies" not in missing(book, "missing-sheet")
    assert missing(book, "missing-sheet") == {"Feedings", "Winter rounds", "After winter"}
    assert book.foreign == {}


def test_a_missing_sheet_is_named_with_the_sheet_that_is_probably_it() -> None:
    book = read(Weighing=WEIGHINGS, Colonies=[["colony", "apiary"], ["A1", "Home"]])
    fault = next(one for one in book.faults if one.sheet == "Weighings")
    assert (fault.rule, fault.told["suggestion"]) == ("missing-sheet", "Weighing")
    assert list(book.foreign) == ["Weighing"]
    assert "Scales" in missing(book, "missing-sheet")


def test_a_sheet_whose_headings_are_gone_is_foreign_and_each_is_missing() -> None:
    book = read(Weighings=WEIGHINGS[1:], Colonies=[["colony", "apiary"]])
    assert "Weighings" not in book.tables
    assert list(book.foreign) == ["Weighings"]
    assert {"date", "colony", "reading 1"} <= missing(book, "missing-heading") | missing(book, "heading-left-out")


def test_sheets_are_known_in_any_writing() -> None:
    assert read(**{"WEIGHINGS ": WEIGHINGS}).tables["Weighings"].name == "WEIGHINGS "


@pytest.mark.parametrize(
    "sheet", [one for one in BOOK.sheets if one.group is Group.TYPE_HERE], ids=lambda one: one.name
)
def test_a_csv_file_is_known_by_its_headings(sheet: object) -> None:
    declared = next(one for one in BOOK.sheets if one is sheet)
    head = ",".join(f'"{column.heading}"' for column in declared.columns)
    assert list(read_book(("x.csv", f"{head}\n".encode())).tables) == [declared.name]


def test_plain_numbers_in_csv_are_numbers_and_codes_stay_text() -> None:
    text = b"ref;date;colony;how;reading 1;heft: guess or word;remarks\nk1-1;2026-09-05;A1;one side;21.5;41;007\n"
    book = read_book(("w.csv", text))
    table = book.tables["Weighings"]
    assert table.typed.loc[2, ["reading_1", "heft", "remarks"]].tolist() == [21.5, 41.0, "007"]
    assert table.faults == []
    assert missing(book, "missing-sheet") == set()


def test_an_error_that_a_csv_file_shows_as_text_is_an_error_cell() -> None:
    book = read_book(("w.csv", b"date,colony,reading 1,remarks\n2026-09-05,A1,#DIV/0!,#1\n"))
    assert rules(book) == [("C2", "error-cell")]
    assert book.tables["Weighings"].typed.loc[2, "remarks"] == "#1"


def test_a_csv_in_pounds_is_known_by_its_headings() -> None:
    book = read_book(("w.csv", b"date,colony,how,reading 1 (lb)\n2026-09-05,A1,full lift,90\n"))
    assert book.unit == "lb"
    assert si(book)["Weighings"].loc[2, "reading_1"] == pytest.approx(90 * POUND)


@pytest.mark.parametrize(
    ("properties", "about", "refused"),
    [
        ({}, [], False),
        ({"layout version": "1"}, [], False),
        ({"layout version": "99"}, [], True),
        ({}, [["Layout version", 1.0]], False),
        ({}, [["layout version", "99"]], True),
    ],
)
def test_a_book_of_another_layout_is_refused(
    properties: dict[str, str], about: list[list[object]], *, refused: bool
) -> None:
    sheets = {"Weighings": RawSheet("Weighings", WEIGHINGS), "About": RawSheet("About", [["what", "is"], *about])}
    raw = RawBook("b.xlsx", "", "xlsx", None, properties, sheets)
    if refused:
        with pytest.raises(CannotRead, match=r"^b\.xlsx, sheet About: .*version 99.*versions up to 3; .*\.$"):
            read_book(raw)
    else:
        assert read_book(raw).tables


@pytest.mark.parametrize("rows", [[], [[None]], [["a", "b"], [1.0, 2.0]]])
def test_a_file_without_any_sheet_of_ours_is_refused_in_one_sentence(rows: list[list[object]]) -> None:
    for form in ("xlsx", "csv"):
        with pytest.raises(CannotRead, match=r"^book\..*no sheet of a club book.*right file\.$"):
            read(form=form, Sheet1=rows)


def test_settings_have_their_defaults_and_their_own_faults() -> None:
    rows: list[list[object]] = [
        ["setting", "value", "meaning"],
        ["club", "Hill bees", None],
        ["Unit", "LB", None],
        ["as at", DAY, None],
        ["sure in 10", 12.0, None],
        ["winter", 2026.0, None],
        ["returns due", "05/10/2026", None],
        ["autumn feed", "SYRUP 1 TO 1", None],
        ["our own", "note", None],
    ]
    book = read(Settings=rows, Feed_kinds=[["name", "form"], ["Syrup 1 to 1", "liquid"]])
    assert book.unit == "lb"
    assert book.settings["club"] == "Hill bees"
    assert book.settings["as_at"] == date(2026, 9, 5)
    assert book.settings["sure_in_10"] == 9.0
    assert book.settings["returns_due"] is None
    assert book.settings["autumn_feed"] == "Syrup 1 to 1"
    assert rules(book, "Settings") == [("B5", "out-of-bounds"), ("B7", "ambiguous-date")]


def test_a_code_is_spelt_as_its_list_spells_it_and_raw_as_typed() -> None:
    book = read(Weighings=WEIGHINGS, Colonies=[["colony", "apiary"], ["A1", "Home"]])
    assert book.tables["Weighings"].typed.loc[5, "colony"] == "A1"
    assert book.tables["Weighings"].raw.loc[5, "colony"] == "a1"
    assert book.tables["Weighings"].typed.loc[3, "colony"] == "A2"


def test_a_book_of_pounds_comes_out_in_kilograms_and_litres_and_counts_stay_counts() -> None:
    rows: list[list[object]] = [
        ["date", "colony", "how", "reading 1", "heft: guess or word"],
        [DAY, "A1", "full lift", 90.0, 88.0],
        [DAY, "A1", "frames of food counted", 7.0, "light"],
        [DAY, "A1", None, None, None],
    ]
    book = read(
        Settings=[["setting", "value"], ["unit", "lb"]],
        Weighings=rows,
        Colonies=[["colony", "feeder holds", "own tare"], ["A1", 8.0, 50.0]],
    )
    frames = si(book)
    assert frames["Weighings"]["reading_1"].tolist()[:2] == [90.0 * POUND, 7.0]
    assert frames["Weighings"]["heft"].tolist() == [88.0 * POUND, "light", None]
    assert frames["Colonies"].loc[2, ["feeder_holds", "own_tare"]].tolist() == [8.0 * US_QUART, 50.0 * POUND]
    assert frames["Weighings"]["held"].tolist() == ["", "", ""]


def test_every_sheet_that_people_fill_has_a_frame_of_its_types() -> None:
    frames = si(read(Weighings=WEIGHINGS))
    for sheet in BOOK.sheets:
        if sheet.group not in {Group.TYPE_HERE, Group.SETTINGS} or sheet.name == "Settings":
            continue
        frame = frames[sheet.name]
        assert list(frame) == [*(column.key for column in sheet.typed), "held"]
        assert all(frame[column.key].dtype == np.float64 for column in sheet.typed if column.numeric)
        assert all(frame[column.key].dtype == object for column in sheet.typed if column.kind == "text")


def test_what_only_the_package_writes_is_read_too() -> None:
    claims: list[list[object]] = [["copy", "sheet", "ref"], ["k1", "Weighings", "k1-1"]]
    decisions: list[list[object]] = [["ref", "column", "what holds"], ["k1-1", "reading 1", "A"]]
    book = read(Weighings=WEIGHINGS, Claims=claims, Decisions=decisions)
    assert book.kept["Claims"].raw.loc[2, "ref"] == "k1-1"
    assert book.tables["Questions"].typed.loc[2, "holds"] == "A"
    assert book.foreign == {}


@settings(max_examples=25, deadline=None)
@given(st.permutations(range(9)), st.integers(0, 3))
def test_moving_columns_and_the_heading_row_changes_no_value(order: list[int], above: int) -> None:
    usual = read(Weighings=WEIGHINGS).tables["Weighings"]
    moved = [[row[at] for at in order] for row in WEIGHINGS]
    table = read(Weighings=[[None] * 9] * above + moved).tables["Weighings"]
    for frame, other in ((table.typed, usual.typed), (table.raw, usual.raw)):
        pd.testing.assert_frame_equal(frame.reset_index(drop=True), other.reset_index(drop=True))


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_whatever_is_typed_every_value_is_kept_and_read_or_named(data: st.DataObject) -> None:
    sheet = data.draw(st.sampled_from([one for one in BOOK.sheets if one.group is Group.TYPE_HERE]))
    cells = st.one_of(st.none(), st.floats(allow_nan=False, allow_infinity=False), st.text(max_size=8), st.dates())
    width = len(sheet.typed)
    rows = data.draw(st.lists(st.lists(cells, min_size=width, max_size=width), max_size=4))
    heading: list[object] = [column.heading for column in sheet.typed]
    table = read(**{sheet.name: [heading, *rows]}).tables[sheet.name]
    faulty = {(one.row, one.key) for one in table.faults}
    for at, row in enumerate(rows, start=2):
        for column, typed in zip(sheet.typed, row, strict=True):
            if at in table.raw.index:
                kept = canonical_text(table.raw.loc[at, column.key])
                assert kept == canonical_text(typed) or (column.key == ANSWER and is_yes(typed) and is_yes(kept))
                is_read = pd.notna(table.typed.loc[at, column.key])
                assert is_read or (at, column.key) in faulty or not canonical_text(typed)
            else:
                assert typed is None or column.role is not Role.TYPED


@pytest.mark.parametrize(
    ("typed", "reads"), [("12,5", 12.5), ("12.5", 12.5), ("1.234,5", None), ("12,5,0", None), ("about 12,5", None)]
)
def test_where_semicolons_part_the_cells_a_comma_parts_the_decimals(typed: str, reads: float | None) -> None:
    book = read_book(("Weighings.csv", f"date;colony;how;reading 1\n2026-09-05;A1;one side;{typed}\n".encode()))
    found = book.tables["Weighings"].typed.loc[2, "reading_1"]
    assert found == reads if reads else pd.isna(found)
    assert bool(rules(book)) == (reads is None)
