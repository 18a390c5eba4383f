"""Laws of the canonical form, over every kind of value that a cell can hold."""

import math
import unicodedata
from datetime import date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apiarybook.readers.canonical import FIRST_DAY, canonical, canonical_text

VALUES = st.one_of(
    st.none(),
    st.text(),
    st.text(alphabet=" \t\r\n\x0b\x85\u2028a\u0301e\u00e9\u212b\u00a0\x7f"),
    st.floats(),
    st.integers(),
    st.booleans(),
    st.dates(),
    st.datetimes(),
    st.times(),
    st.timedeltas(),
)


@given(VALUES)
def test_twice_is_once(value: object) -> None:
    once = canonical(value)
    again = canonical(once)
    assert again == once
    assert type(again) is type(once)
    assert canonical_text(once) == canonical_text(value)


@given(VALUES)
def test_text_of_a_value_is_itself_canonical(value: object) -> None:
    text = canonical_text(value)
    assert canonical_text(text) == text
    assert unicodedata.is_normalized("NFC", text)
    assert not any(unicodedata.category(character) == "Cc" for character in text)


@given(st.floats(allow_nan=False, allow_infinity=False, min_value=-1e9, max_value=1e9))
def test_fifteen_digits_kept_by_a_spreadsheet_program_change_nothing(number: float) -> None:
    # Spreadsheet programs keep 15 significant digits: Microsoft, "Excel specifications and limits".
    kept = float(f"{number:.15g}")
    assert math.isclose(canonical(kept), canonical(number), rel_tol=1.1e-11)  # type: ignore[arg-type]
    assert canonical(float(f"{number:.6g}")) == float(f"{number:.6g}")


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_number_read_back_from_its_text_is_the_same_number(number: float) -> None:
    assert canonical(float(canonical_text(number))) == canonical(number)


@given(st.datetimes(min_value=datetime.combine(FIRST_DAY, time())))
def test_only_midnight_is_a_date(moment: datetime) -> None:
    form = canonical(moment)
    assert isinstance(form, date)
    assert isinstance(form, datetime) != (form == canonical(datetime.combine(form, time())))


@given(st.one_of(st.datetimes(), st.dates()))
def test_a_day_that_programs_number_differently_is_text(moment: date) -> None:
    day = canonical(moment)
    assert isinstance(day, str) == (str(day)[:10] < FIRST_DAY.isoformat())


@pytest.mark.parametrize(
    ("value", "form"),
    [
        (47, 47.0),
        (0.1 + 0.2, 0.3),
        (-0.0, 0.0),
        (True, True),
        ("  ", None),
        ("", None),
        ("\r\n", None),
        ("top\r\n\tbox", "top box"),
        ("e\u0301", "\u00e9"),
        (" 0012 ", "0012"),
        (datetime(2026, 9, 12), date(2026, 9, 12)),  # noqa: DTZ001 cells know no zones
        (time(7, 15), "07:15:00"),
        (timedelta(hours=-30), "-30:00:00"),
        (math.inf, "inf"),
        (math.nan, "nan"),
        (10**400, "1" + "0" * 400),
    ],
)
def test_examples(value: object, form: object) -> None:
    assert canonical(value) == form
    assert type(canonical(value)) is type(form)


def test_minus_nought_is_nought() -> None:
    assert canonical_text(-0.0) == "0"


def test_what_no_cell_holds_is_refused() -> None:
    with pytest.raises(TypeError, match="list"):
        canonical([])
