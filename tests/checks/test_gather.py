"""Rules across the files of many members: tables of rows in, findings out."""

from __future__ import annotations

from datetime import date

import pytest

from apiarybook.book.tables import Book, read_book
from apiarybook.checks.loop import check_book
from apiarybook.layout import BOOK
from apiarybook.readers.records import RawBook, RawSheet
from tests.checks.small import AS_AT, CLUB, Row, book, weighing

TWO = {
    "Members": [{"member": "M1", "name": "Ann"}, {"member": "M2", "name": "Bob"}],
    "Apiaries": [
        {"apiary": "P1", "member": "M1", "profile": "british-isles"},
        {"apiary": "P2", "member": "M2", "profile": "british-isles"},
    ],
    "Colonies": [{**CLUB["Colonies"][0]}]
    + [{**CLUB["Colonies"][0], "colony": f"B{one}", "apiary": "P2"} for one in (1, 2, 3)],
}
LOANS = [
    {"scale": "H1", "member": "M2", "out": date(2026, 9, 1), "due": date(2026, 9, 10), "back": date(2026, 9, 11)},
    {"scale": "H1", "member": "M1", "out": date(2026, 9, 12), "due": date(2026, 9, 18)},
]


def club(**rows: list[Row]) -> Book:
    """Two members whose copies were handed out as M1a and M2a."""
    given = {name.replace(" ", "_"): found for name, found in TWO.items()} | rows
    made = book(**given)  # type: ignore[arg-type]
    columns = BOOK["Returns"].columns
    lines = [[{"member": f"M{n}", "copy": f"M{n}a"}.get(one.key) for one in columns] for n in (1, 2)]
    returns = RawSheet("Returns", [[one.heading for one in columns], *lines])
    members = RawSheet("Members", [["member", "name"], ["M1", "Ann"]])
    made.kept = read_book(RawBook("x.xlsx", "", "xlsx", None, {}, {"Returns": returns, "Members": members})).kept
    return made


def found(**rows: list[Row]) -> list[tuple[str, str, str]]:
    return [(one.rule, one.cell, one.value) for one in check_book(club(**rows), AS_AT).findings]


B = {"colony": "B1"}


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        # 38 kg and 30 kg by full lift lie further apart than twice their joint uncertainty (JCGM 100:2008)
        (
            [weighing(ref="M1a-W1", **B), weighing(ref="M2a-W1", by="Bob", reading_1=30.0, **B)],
            [("someone-elses-colony", "C2", "B1"), ("weighed-by-two", "F3", "30")],
        ),
        ([weighing(ref="M2a-W1", **B), weighing(ref="M2a-W2", reading_1=30.0, **B)], []),
        ([weighing(ref="club26-W1", **B), weighing(ref="M2a-W2", reading_1=37.8, **B)], []),
        (
            [weighing(ref="club26-W1", **B), weighing(ref="M2a-W2", reading_1=30.0, occasion="before feed", **B)],
            [],
        ),
        ([weighing(ref="M2a-W1", colony="A1")], [("someone-elses-colony", "C2", "A1")]),
        ([weighing(ref="club26-W1", colony="A1", typed_for="M2")], [("someone-elses-colony", "C2", "A1")]),
        ([weighing(ref="club26-W1", colony="A1", typed_for="m1")], []),
        ([weighing(ref="M1a-W1", scale="H1")], []),
        ([weighing(ref="M2a-W1", scale="H1", **B)], [("scale-not-lent", "L2", "H1")]),
        (
            [weighing(ref=f"M2a-W{one}", scale="H1", occasion="routine", **B, reading_1=38.0 + one) for one in (1, 2)],
            [("scale-not-lent", "L2", "H1")],
        ),
        ([weighing(ref="M2a-W1", scale="H1", date=date(2026, 9, 5), **B)], []),
        (
            [weighing(ref=f"M2a-W{one}", colony=f"B{one}") for one in (1, 2, 3)],
            [("copied-down", "F3", "38"), ("copied-down", "F4", "38")],
        ),
        ([weighing(ref=f"M2a-W{one}", colony=f"B{one}") for one in (1, 2)], []),
        ([weighing(ref=f"M2a-W{one}", **B, date=date(2026, 9, one)) for one in (1, 2, 3)], []),
    ],
)
def test_rules_across_files(rows: list[Row], expected: list[tuple[str, str, str]]) -> None:
    ours = {"weighed-by-two", "someone-elses-colony", "scale-not-lent", "copied-down"}
    assert [one for one in found(Weighings=rows, Scale_loans=LOANS) if one[0] in ours] == expected


def test_scale_that_should_be_back() -> None:
    assert found(Scale_loans=LOANS) == [("scale-overdue", "D3", "2026-09-18")]


def test_silent_where_no_copies_were_handed_out() -> None:
    rows = [weighing(ref=f"M2a-W{one}", colony="A1", reading_1=38.0) for one in (1, 2)]
    assert not any(one.rule == "someone-elses-colony" for one in check_book(book(Weighings=rows), AS_AT).findings)
