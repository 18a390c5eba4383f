"""Whatever people leave in a return or a book: no traceback, and gathering or reckoning again changes nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.gather.typed_oddly import books, returns

if TYPE_CHECKING:
    from pathlib import Path

MANY = range(50)
"""Of each; `python -m tests.gather.typed_oddly 1000` tries ten times as many."""


def test_law_spoilt_returns_gather_the_same_again(tmp_path: Path) -> None:
    assert returns(MANY, tmp_path) == []


def test_law_spoilt_books_reckon_the_same_again(tmp_path: Path) -> None:
    assert books(MANY, tmp_path) == []
