"""A year's end without a file: what stands in the way, what is not complete, who is left out, and the fingerprint."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from apiarybook.book.fingerprint import fingerprint
from apiarybook.book.settle import settle
from apiarybook.club.closing import close
from apiarybook.club.reckoned import new_book
from apiarybook.pages.year_page import as_page
from tests.club.books import SPRING, lift, lived, outcome, reckoned, rows

if TYPE_CHECKING:
    from tests.checks.small import Row


def test_the_fingerprint_is_that_of_the_rows_wherever_they_stand() -> None:
    book = lived()
    assert fingerprint(book) == fingerprint(settle(book, "club26"))
    turned = rows()
    turned["Weighings"] = turned["Weighings"][::-1]
    assert fingerprint(lived(**turned)) == fingerprint(book)
    turned["Weighings"][0] = {**turned["Weighings"][0], "remarks": "with rain"}
    assert fingerprint(lived(**turned)) != fingerprint(book)


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"Weighings": [lift("P1 1", 380.0)]}, "held"),
        ({"Weighings": [lift("Q9", 38.0)]}, "held"),
    ],
)
def test_what_stands_in_the_way_is_said(changed: dict[str, list[Row]], says: str) -> None:
    year = close(reckoned(**changed))
    assert any(says in reason for reason in year.reasons)
    assert not year.fingerprint
    assert "fingerprint" not in year.reckoned.content.about


def test_what_is_not_complete_is_named() -> None:
    after = [outcome(f"P{at} 1", spring_gross=28.0) for at in range(2, 7)]
    fed: list[Row] = [{"date": SPRING, "colony": "P1 1", "feed_kind": "Fondant", "amount": 2.5, "unit": "kg"}]
    gaps = {gap.what: gap for gap in close(reckoned(After_winter=after, Feedings=fed)).facts.gaps}
    assert len(gaps["colonies without an outcome"].names) == 7
    assert gaps["feeds without a later weighing"].names == ("P1 1",)
    assert gaps["colonies without autumn evidence"].names == ()


def test_members_who_asked_not_to_be_shown_are_left_out() -> None:
    members: list[Row] = [
        {"member": f"M{at}", "name": f"Keeper {at}", "shown": "no" if at == 1 else "yes"} for at in range(1, 7)
    ]
    year = close(reckoned(Members=members))
    lost = next(table for table in year.tables if table.name == "losses-by-chance").records[-1]
    assert (lost["colonies"], lost["lost"]) == (10, 0)
    more = [{**one, "shown": "no"} if one["member"] == "M2" else one for one in members]
    year = close(reckoned(Members=more))
    few = next(table for table in year.tables if table.name == "losses-by-chance")
    assert all(row["few"] for row in few.records)
    said = as_page(year).partition('<h2 id="losses-by-chance">')[2].partition("</section>")[0]
    assert "Fewer than five keepers stand behind each of its figures" in said
    assert "<table>" not in said


def test_a_blank_book_is_not_closed_before_the_flow_either() -> None:
    blank = new_book("Alder Vale", 2026, "scandinavia", "kg", date(2026, 8, 1))
    assert close(blank).reasons == ("the winter is not over before the flow, on 2027-05-05; close the year after it",)
