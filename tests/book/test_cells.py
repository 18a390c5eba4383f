"""One cell in, a value or a named fault out."""

from datetime import date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apiarybook.book.cells import counted, is_number_text, parse
from apiarybook.book.measure import to_si
from apiarybook.layout import BOOK, Column, Kind

READING = BOOK["Weighings"]["reading_1"]
HEFT = BOOK["Weighings"]["heft"]
DATE = BOOK["Weighings"]["date"]
CODE = BOOK["Colonies"]["colony"]
HOW = BOOK["Weighings"]["how"]
FLYING = BOOK["Winter rounds"]["flying"]
HOLDS = BOOK["Colonies"]["feeder_holds"]
REMARKS = BOOK["Weighings"]["remarks"]
SOLIDS = BOOK["Feed kinds"]["solids"]
AMOUNT = BOOK["Feedings"]["amount"]
BROOD = BOOK["Weighings"]["frames_brood"]
POUND = 0.45359237  # kg, Weights and Measures Act 1985, schedule 1, part V
US_QUART = 0.946352946  # l, 57.75 cubic inches of 16.387064 ml each (NIST Handbook 44, appendix C; from memory)

CELLS = st.one_of(
    st.none(),
    st.booleans(),
    st.floats(),
    st.integers(),
    st.text(),
    st.dates(),
    st.datetimes(),
    st.times(),
    st.timedeltas(),
)
COLUMNS = [(sheet, column) for sheet in BOOK.sheets for column in sheet.typed]


@pytest.mark.parametrize(
    ("column", "typed", "value"),
    [
        (READING, 38.5, 38.5),
        (READING, 38, 38.0),
        (BOOK["Weighings"]["feed_left"], 0.0, 0.0),
        (READING, "  ", None),
        (READING, None, None),
        (DATE, date(2026, 9, 5), date(2026, 9, 5)),
        (DATE, datetime(2026, 9, 5), date(2026, 9, 5)),  # noqa: DTZ001 cells know no zones
        (DATE, datetime(2026, 9, 5, 7, 30), date(2026, 9, 5)),  # noqa: DTZ001
        (DATE, "2026-09-05", date(2026, 9, 5)),
        (DATE, " 2026-09-05T07:30:00 ", date(2026, 9, 5)),
        (CODE, "B 12-a_3", "B 12-a_3"),
        (CODE, " Žoë1 ", "Žoë1"),
        (HOW, "ONE  side ", "one side"),
        (FLYING, True, "yes"),
        (FLYING, False, "no"),
        (FLYING, "FALSE", "no"),
        (FLYING, "Yes", "yes"),
        (HEFT, "Heavy", "heavy"),
        (HEFT, 41.0, 41.0),
        (REMARKS, 7.0, "7"),
        (REMARKS, 7.5, "7.5"),
        (REMARKS, "two\nlines", "two lines"),
        (REMARKS, "Cafe\u0301", "Café"),
        (REMARKS, "NA", "NA"),
    ],
)
def test_what_is_plain_is_read(column: Column, typed: object, value: object) -> None:
    assert parse(column, typed, unit="kg") == (value, None)


@pytest.mark.parametrize(
    ("column", "typed", "rule", "suggestion"),
    [
        (READING, "12,5", "decimal-comma", "12.5"),
        (READING, "1.250,5", "decimal-comma", "1250.5"),
        (READING, "1,250", "decimal-comma", "1.250 or 1250"),
        (READING, "38.5", "not-a-number", "38.5"),
        (READING, "38.5 kg", "unit-in-cell", "38.5"),
        (READING, "38,5kg", "unit-in-cell", "38.5"),
        (READING, "85 lb", "unit-in-cell", "38.56"),  # 85 x 0.45359237
        (READING, "38 stone", "not-a-number", ""),
        (READING, "about 38", "not-a-number", ""),
        (READING, "inf", "not-a-number", ""),
        (READING, float("nan"), "not-a-number", ""),
        (READING, float("inf"), "not-a-number", ""),
        (READING, True, "not-a-number", ""),
        (READING, date(2026, 5, 12), "not-a-number", "12.5"),
        (READING, datetime(1900, 2, 7, 12), "not-a-number", ""),  # noqa: DTZ001
        (HOLDS, "6 l", "unit-in-cell", "6"),
        (SOLIDS, "61.4 %", "unit-in-cell", "0.614"),
        (AMOUNT, "5 kg", "unit-in-cell", "5"),
        (BROOD, "4 frames", "unit-in-cell", "4"),
        (DATE, "05/09/2026", "ambiguous-date", "2026-09-05 or 2026-05-09"),
        (DATE, "5.9.26", "ambiguous-date", "2026-09-05 or 2026-05-09"),
        (DATE, "25/09/2026", "date-as-text", "2026-09-25"),
        (DATE, "09/25/2026", "date-as-text", "2026-09-25"),
        (DATE, "05/05/2026", "date-as-text", "2026-05-05"),
        (DATE, "2026.09.05", "date-as-text", "2026-09-05"),
        (DATE, "5 Sept 2026", "date-as-text", "2026-09-05"),
        (DATE, 46270.0, "date-as-number", "2026-09-05"),  # day 46270 of the 1900 calendar, by LibreOffice Calc
        (DATE, 20260905.0, "date-as-number", "2026-09-05"),
        (DATE, "46270", "date-as-number", "2026-09-05"),
        (DATE, "31/02/2026", "impossible-date", ""),
        (DATE, "2026-02-30", "impossible-date", ""),
        (DATE, "Sept 5", "impossible-date", ""),
        (DATE, "soon", "impossible-date", ""),
        (DATE, 5.0, "impossible-date", ""),
        (DATE, True, "impossible-date", ""),
        (DATE, time(7, 30), "impossible-date", ""),
        (CODE, 7.0, "bad-code", ""),
        (CODE, "7A", "bad-code", ""),
        (CODE, "A*", "bad-code", ""),
        (CODE, ">5", "bad-code", ""),
        (HOW, "one sdie", "unknown-word", "one side"),
        (HOW, "crane", "unknown-word", ""),
        (FLYING, 1.0, "unknown-word", ""),
        (HEFT, "hevy", "unknown-word", "heavy"),
        (HEFT, "41,5", "decimal-comma", "41.5"),
        (HEFT, "41 kg", "unit-in-cell", "41"),
        (HEFT, timedelta(hours=41), "unknown-word", ""),
    ],
)
def test_what_is_not_plain_is_named_and_never_applied(
    column: Column, typed: object, rule: str, suggestion: str
) -> None:
    value, fault = parse(column, typed, unit="kg")
    assert value is None
    assert fault is not None
    assert (fault.rule, fault.told["suggestion"]) == (rule, suggestion)


def test_both_readings_of_an_ambiguous_date_are_told() -> None:
    _, fault = parse(DATE, "05/09/2026", unit="kg")
    assert fault is not None
    assert (fault.told["first"], fault.told["second"]) == ("2026-09-05", "2026-05-09")


def test_a_value_out_of_bounds_is_refused_and_an_unlikely_one_is_kept() -> None:
    value, fault = parse(READING, 250.1, unit="kg")
    assert value is None
    assert fault is not None
    assert (fault.rule, fault.told["bounds"]) == ("out-of-bounds", "0 to 250 kg")
    value, fault = parse(READING, 120.0, unit="kg")
    assert value == 120.0
    assert fault is not None
    assert (fault.rule, fault.told["bounds"]) == ("unlikely", "2 to 90 kg")


def test_bounds_are_in_pounds_and_quarts_in_a_book_of_pounds() -> None:
    assert parse(READING, 190.0, unit="lb") == (190.0, None)
    value, fault = parse(READING, 250 / POUND + 0.01, unit="lb")
    assert value is None
    assert fault is not None
    assert fault.told["bounds"] == "0 to 550 lb"
    assert parse(HOLDS, 0.2 / US_QUART + 1, unit="lb")[1] is None
    assert to_si(HOLDS, "lb") == US_QUART


def test_a_pound_in_a_book_of_pounds_is_no_other_number() -> None:
    _, fault = parse(READING, "85 lbs", unit="lb")
    assert fault is not None
    assert fault.told["suggestion"] == "85"


def test_frames_of_food_are_counts_without_mass_bounds() -> None:
    frames = counted(READING)
    assert parse(frames, 1.0, unit="lb") == (1.0, None)
    assert parse(frames, -1.0, unit="kg")[1] is not None
    _, fault = parse(frames, "6 frames", unit="kg")
    assert fault is not None
    assert fault.told["suggestion"] == "6"


@given(CELLS, st.sampled_from(COLUMNS), st.sampled_from(["kg", "lb"]))
def test_any_cell_is_a_value_or_a_fault_and_a_value_lies_in_its_bounds(
    typed: object, place: tuple[object, Column], unit: str
) -> None:
    column = place[1]
    value, fault = parse(column, typed, unit=unit)
    if isinstance(value, float) and column.possible:
        assert column.possible[0] <= value * to_si(column, unit) <= column.possible[1]
    if value is not None:
        assert fault is None or fault.rule == "unlikely"
    if fault:
        assert isinstance(fault.told["suggestion"], str)


@given(CELLS, st.sampled_from(COLUMNS))
def test_what_was_read_reads_as_itself(typed: object, place: tuple[object, Column]) -> None:
    value, _ = parse(place[1], typed, unit="kg")
    assert parse(place[1], value, unit="kg")[0] == value


@given(st.floats(allow_nan=False, allow_infinity=False, min_value=-1e9, max_value=1e9))
def test_a_number_is_known_by_its_text(number: float) -> None:
    assert is_number_text(f"{number:.12g}")


@given(st.dates(min_value=date(1000, 1, 1)))
def test_iso_text_is_its_day_and_the_other_way_round_is_never_taken(day: date) -> None:
    assert parse(DATE, day.isoformat(), unit="kg") == (day, None)
    value, fault = parse(DATE, day.strftime("%d/%m/%Y"), unit="kg")
    assert value is None
    assert fault is not None
    assert day.isoformat() in str(fault.told["suggestion"])


@pytest.mark.parametrize(
    "column", [one for _, one in COLUMNS if one.choices and one.kind is not Kind.TEXT], ids=lambda one: one.key
)
def test_every_word_of_a_list_reads_as_itself(column: Column) -> None:
    for word in column.choices:
        assert parse(column, word.upper(), unit="kg") == (word, None)
