"""A book that is read again and again says what it would say if it were read for the first time."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apiarybook.errors import CannotRead
from apiarybook.readers import pieces, scan
from apiarybook.readers.pieces import Remembered
from apiarybook.readers.raw import read_raw
from tests.readers.test_scan import worksheet, xlsx

if TYPE_CHECKING:
    from collections.abc import Iterator

    from apiarybook.readers.package import Package
    from apiarybook.readers.records import RawBook

cells = st.one_of(
    st.integers(-9, 99).map(lambda number: f"<v>{number}</v>"),
    st.sampled_from(
        ("<f>A1+1</f><v>2</v>", "<f>A{row}*2</f><v>4</v>", '<f t="shared" ref="A1:A9" si="0">B1</f><v>1</v>')
    ),
    st.just('<f t="shared" si="0"/><v>7</v>'),
)
kinds = st.sampled_from(("", ' t="str"', ' t="e"', ' s="1"'))
rows = st.lists(st.lists(st.tuples(cells, kinds), max_size=3), max_size=6)
sheets = st.lists(rows, min_size=1, max_size=2)


def book(of: list[list[list[tuple[str, str]]]]) -> bytes:
    """Sheets of rows of cells, each with how it is written."""
    return xlsx(
        *(
            worksheet(
                "".join(
                    f'<row r="{at}">'
                    + "".join(
                        f'<c r="{"ABC"[n]}{at}"{kind}>{cell.format(row=at)}</c>' for n, (cell, kind) in enumerate(row)
                    )
                    + "</row>"
                    for at, row in enumerate(one, 1)
                )
            )
            for one in of
        )
    )


def said(data: bytes, remembered: Remembered | None = None) -> RawBook | str:
    """The book, or why it was refused."""
    try:
        return read_raw(("club.xlsx", data), remembered=remembered)
    except CannotRead as fault:
        return str(fault)


@pytest.fixture(autouse=True, scope="module")
def _short_pieces() -> object:
    """Pieces of a row or two."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(scan, "_ROWS", 60)
        yield


@given(st.lists(sheets, min_size=2, max_size=4))
def test_what_was_read_before_changes_nothing(saved: list[list[list[list[tuple[str, str]]]]]) -> None:
    remembered = Remembered()
    for one in saved:
        data = book(one)
        assert said(data, remembered) == said(data)


def test_only_the_rows_that_changed_are_told_apart_again(monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[bytes] = []
    tell = pieces.told_by

    def watched(data: bytes) -> pieces.Told:
        told.append(data)
        return tell(data)

    monkeypatch.setattr(pieces, "told_by", watched)
    columns = [[[(f"<v>{number}</v>", "")] for number in range(40)] for _ in range(2)]
    remembered, counts = Remembered(), []
    for value in (None, 4711, 4711, 12):
        if value is not None:
            columns[0][20] = [(f"<v>{value}</v>", "")]
        told.clear()
        read_raw(("club.xlsx", book(columns)), remembered=remembered)
        counts.append(len(told))
    assert counts[0] > 10
    assert counts[1:] == [1, 0, 1]


def test_nothing_is_unpacked_of_a_sheet_that_stayed_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    unpacked: list[str] = []
    cut = scan.whole_rows

    def watched(package: Package, part: str) -> Iterator[bytes]:
        unpacked.append(part)
        return cut(package, part)

    monkeypatch.setattr(scan, "whole_rows", watched)
    kept, remembered = [[("<v>0</v>", "")]], Remembered()
    for number in (1, 2, 2):
        read_raw(("club.xlsx", book([kept, [[(f"<v>{number}</v>", "")]]])), remembered=remembered)
    assert unpacked == ["xl/worksheets/sheet1.xml", "xl/worksheets/sheet2.xml", "xl/worksheets/sheet2.xml"]


def test_what_is_not_read_any_more_is_forgotten() -> None:
    remembered = Remembered()
    for number in range(5):
        read_raw(("club.xlsx", book([[[(f"<v>{number}</v>", "")]]])), remembered=remembered)
    assert len(remembered._last) == 3  # the part, its rows and what stands behind them
