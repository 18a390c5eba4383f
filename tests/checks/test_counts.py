"""Laws that hold for any book, however it is filled."""

import re
import string
from datetime import date, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from apiarybook.book.tables import read_book
from apiarybook.checks.finding import Weight
from apiarybook.checks.loop import check_book
from apiarybook.checks.rules import CATALOGUE
from apiarybook.layout import BOOK
from apiarybook.readers.records import RawBook, RawSheet
from tests.checks.small import CLUB, DAY, Row, book, checked, feeding, weighing

CELLS = st.one_of(
    st.none(),
    st.sampled_from(["A1", "a1", "A2", "full lift", "two sides", "heft", "kg", "feeder fill", "Thick", "snow", "38,5"]),
    st.sampled_from([*CLUB["Hive types"][0].values(), "united into", "super on", "Queen excluder", "H1", "#N/A"]),
    st.sampled_from([DAY, date(2025, 2, 28), date(2024, 2, 29), date(9999, 12, 31), date(1900, 1, 1)]),
    st.sampled_from([datetime(2026, 9, 12, 8, 30), "12/09/2026", "2026-09-12", 46277.0]),  # noqa: DTZ001 cells know no zones
    st.floats(allow_nan=False, allow_infinity=False),
    st.floats(0, 60),
    st.booleans(),
    st.text(string.printable + "é漢", max_size=6),
)
SHEETS = (
    "Weighings",
    "Feedings",
    "Moves",
    "Winter rounds",
    "Colonies",
    "Hive types",
    "Feed kinds",
    "Scales",
    "Apiaries",
)


@st.composite
def rows_of(draw: st.DrawFn) -> dict[str, list[Row]]:
    found = {}
    for name in draw(st.sets(st.sampled_from(SHEETS), min_size=1, max_size=3)):
        keys = [column.key for column in BOOK[name].typed]
        chosen = st.sets(st.sampled_from(keys), min_size=1, max_size=6)
        sound = st.sampled_from([*CLUB[name], weighing() if name == "Weighings" else feeding()][:1] or [{}])
        one = st.builds(
            lambda base, keys, values: {**base, **dict(zip(keys, values, strict=False))},
            sound,
            chosen,
            st.lists(CELLS, min_size=6, max_size=6),
        )
        found[name.replace(" ", "_")] = draw(
            st.lists(one.map(lambda row, keys=keys: {k: v for k, v in row.items() if k in keys}), max_size=4)
        )
    return found


@pytest.mark.long
@settings(max_examples=20, suppress_health_check=[HealthCheck.too_slow])
@given(rows_of(), st.sampled_from(["kg", "lb", "stone", None]), st.sampled_from([2026.0, None, "soon"]))
def test_counts_close_whatever_is_typed(rows: dict[str, list[Row]], unit: str, winter: object) -> None:
    found = checked(unit=unit, winter=winter, **rows)
    for count in found.counts:
        assert count["rows"] == count["accepted"] + count["held"] + count["blank"] + count["refused"]
        if count["mass_before"] is not None:
            assert count["mass_after"] <= count["mass_before"] + 1e-6
    for finding in found.findings:
        assert finding.message.endswith((".", "?"))
        assert finding.do.endswith(".")
        assert not re.search(r"\b(nan|None|NaT)\b", finding.sentence.replace(finding.value, ""))
        assert "{" not in finding.sentence.replace(finding.value, "")
        assert finding.likelihood is None or 0 <= finding.likelihood <= 1


@pytest.mark.long
@settings(max_examples=5)
@given(rows_of())
def test_the_same_book_gives_the_same_findings(rows: dict[str, list[Row]]) -> None:
    assert checked(**rows) == checked(**rows)


def test_a_row_is_held_exactly_where_a_finding_of_that_weight_stands() -> None:
    rows = [weighing(), weighing(date=date(2026, 9, 13), reading_1="38,5"), weighing(by="Bob", hive_is="snow"), {}]
    found = checked(Weighings=rows)
    assert found.held == {"Weighings": {3: "reading 1: decimal comma", 4: "hive is: snow on roof"}}
    (count,) = [one for one in found.counts if one["sheet"] == "Weighings"]
    masses = {"mass_before": 76.0, "mass_after": 38.0}
    assert (
        count
        == {"file": "club.xlsx", "sheet": "Weighings", "rows": 3, "accepted": 1, "held": 2, "blank": 0, "refused": 0}
        | masses
    )


def test_control_total_of_feeds_counts_what_was_written_by_mass() -> None:
    rows = [feeding(amount=5000.0, unit="g"), feeding(amount=4.0, unit="l"), feeding(amount=3.0, unit="kg", sugar=1.0)]
    (count,) = [one for one in checked(Feedings=rows).counts if one["sheet"] == "Feedings"]
    assert (count["mass_before"], count["mass_after"]) == (9.0, 5.0)


def raw(**sheets: list[list[object]]) -> RawBook:
    named = {name.replace("_", " "): RawSheet(name.replace("_", " "), rows) for name, rows in sheets.items()}
    return RawBook("copy.xlsx", "", "xlsx", None, {}, named)


def test_missing_heading_holds_its_rows_and_is_said_once() -> None:
    rows: list[list[object]] = [["colony", "how", "reading 1"], ["A1", "full lift", 38.0], ["A1", "full lift", 37.0]]
    found = check_book(read_book(raw(Weighings=rows)), DAY)
    assert [one.rule for one in found.findings if one.weight is Weight.HOLD] == ["missing-heading"]
    assert found.held == {"Weighings": dict.fromkeys((2, 3), "date: missing heading")}


def test_row_under_unknown_headings_only_is_refused() -> None:
    rows: list[list[object]] = [
        ["date", "colony", "what", "weight"],
        [None, None, None, 38.0],
        [DAY, "A1", "super off", None],
    ]
    found = check_book(read_book(raw(Moves=rows)), DAY)
    (count,) = found.counts
    assert (count["rows"], count["accepted"], count["refused"]) == (2, 1, 1)
    assert [one.rule for one in found.findings if one.weight is Weight.HOLD] == ["no-place"]


def test_lists_that_a_file_lacks_are_not_looked_up(tmp_path: Path) -> None:
    target = tmp_path / "weighings.csv"
    target.write_text("date,colony,how,reading 1\n2026-09-12,Z9,full lift,38.5\n")
    found = check_book(read_book(target), DAY)
    assert [one for one in found.findings if one.weight is not Weight.NOTE] == []


SENTENCES = ("{perhaps}", "{first}", "{look}")
"""What may follow a sentence, or be one: likely causes and what to look at."""


@pytest.mark.parametrize("name", sorted(CATALOGUE))
def test_sentences_of_the_catalogue_are_sentences(name: str) -> None:
    entry = CATALOGUE[name]
    assert entry.message[0].isupper() or entry.message[0] == "{"
    assert entry.message.endswith((".", *SENTENCES))
    assert entry.do.endswith((".", "?", *SENTENCES))
    assert entry.name == entry.name.lower().replace(" ", "-")


def test_book_of_sound_rows_has_nothing_said_of_it() -> None:
    assert check_book(book(Weighings=[weighing()]), DAY).findings == []
