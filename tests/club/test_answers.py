"""Answers to questions: where they are typed, how long they hold, and that they go along with the book."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from apiarybook.book.tables import read_book
from apiarybook.gather.on_disk import answer_file, reckon_file
from apiarybook.readers.canonical import canonical_text
from tests.checks.small import AS_AT, DAY, Row, book, checked, weighing

if TYPE_CHECKING:
    from pathlib import Path

YES = "yes, looked at"
HEAVY = weighing(reading_1=62.0)
SIDES = weighing(how="two sides", reading_1=22.0, reading_2=5.0)


def rules(*rows: Row) -> list[str]:
    return [one.rule for one in checked(Weighings=list(rows)).findings if one.weight != "note"]


@pytest.mark.parametrize(("row", "rule"), [(HEAVY, "above-comb"), (SIDES, "sides-ratio")])
def test_a_row_that_was_looked_at_asks_no_more(row: Row, rule: str) -> None:
    assert rules(row) == [rule]
    assert rules({**row, "is_it_right": YES}) == []
    assert rules({**row, "is_it_right": "Yes"}) == []


def test_a_value_changed_after_the_answer_asks_again() -> None:
    table = book(Weighings=[{**HEAVY, "is_it_right": YES}]).tables["Weighings"]
    marked = table.raw["is_it_right"].iloc[0]
    assert str(marked).startswith(f"{YES} (")
    assert rules({**HEAVY, "is_it_right": marked}) == []
    assert rules({**HEAVY, "reading_1": 63.0, "is_it_right": marked}) == ["above-comb"]
    assert rules({**HEAVY, "remarks": "by Bob", "by": "Bob", "is_it_right": marked}) == []


def test_a_row_found_right_counts_with_its_spread_widened_to_the_bound() -> None:
    said = checked(Weighings=[{**HEAVY, "is_it_right": YES}])
    assert said.held == {}
    assert said.beyond == {"Weighings": {2: pytest.approx(62.0 - 45.16)}}


def test_what_no_answer_can_mend_stays_held() -> None:
    assert rules(weighing(hive_is="snow", is_it_right=YES)) == ["snow-on-roof"]


def test_an_answer_that_nobody_understands_is_asked_about() -> None:
    found = [one for one in checked(Weighings=[{**HEAVY, "is_it_right": "no"}]).findings if one.weight == "ask"]
    assert [(one.rule, one.value) for one in found] == [("answer-not-understood", "no")]


def test_a_finding_names_colony_keeper_and_day() -> None:
    (found,) = [one for one in checked(Weighings=[HEAVY]).findings if one.rule == "above-comb"]
    assert (found.colony, found.keeper, found.day) == ("A1", "Ann", DAY.isoformat())


@pytest.fixture
def club(tmp_path: Path) -> Path:
    """A small club's book on disk with a reading that cannot be and one that is odd."""
    from apiarybook.club.reckoned import reckon_book
    from apiarybook.writers.workbook import write_book

    target = tmp_path / "club.xlsx"
    raw = book(Weighings=[{**HEAVY, "ref": "k-W1"}, {**SIDES, "ref": "k-W2", "date": date(2026, 9, 14)}])
    target.write_bytes(write_book(reckon_book(raw, AS_AT).content))
    return target


def test_an_answer_on_the_sheet_questions_holds_until_a_value_changes(club: Path) -> None:
    reckoned, _, _ = reckon_file(club, AS_AT)
    asked = reckoned.content.told["Questions"]
    assert set(asked["colony"]) == {"A1"}
    key = asked.loc[asked["rule"] == "sides-ratio", "key"].iloc[0]
    reckoned, _, _ = answer_file(club, {key: YES}, AS_AT)
    assert "sides-ratio" not in {one.rule for one in reckoned.checked.findings}
    again, _, _ = reckon_file(club, AS_AT)
    assert "sides-ratio" not in {one.rule for one in again.checked.findings}
    said = read_book(club).tables["Questions"].raw
    (kept,) = said[said["key"] == key].to_dict("records")
    assert (canonical_text(kept["holds"]), str(kept["decided"])[:10]) == (YES, AS_AT.isoformat())


def test_an_answer_beside_the_row_is_marked_and_goes_on_holding(club: Path) -> None:
    from tests.gather.copies import edited

    edited(club, {("Weighings", "k-W2", "is_it_right"): YES})
    for _ in range(2):
        reckoned, club, _ = reckon_file(club, AS_AT)
        assert "sides-ratio" not in {one.rule for one in reckoned.checked.findings}
    edited(club, {("Weighings", "k-W2", "reading_2"): 4.0})
    reckoned, club, _ = reckon_file(club, AS_AT)
    assert "sides-ratio" in {one.rule for one in reckoned.checked.findings}


def test_a_verdict_that_rests_on_an_asked_row_is_no_bare_enough() -> None:
    from apiarybook.club.reckoned import reckon_book

    rows = [weighing(reading_1=44.0, feed_left=0.0, frames_bees=14.0)]
    odd = reckon_book(book(Weighings=rows), AS_AT)
    assert odd.season.standing["verdict"].iloc[0] == "enough, if right"
    assert odd.season.standing["asked"].iloc[0] == "frames of bees: more frames than hive"
