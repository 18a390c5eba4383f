"""Whatever people leave in a return or a book: no traceback, and gathering or reckoning again changes nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.gather.typed_oddly import AT_ONCE, books, returns

if TYPE_CHECKING:
    from pathlib import Path

each_ten = pytest.mark.parametrize("first", range(0, 20, AT_ONCE))
"""Twenty files of each kind, with some five thousand odd cells in them and every form in which a program saves one.

It is files that take time, not cells: `python -m tests.gather.typed_oddly 1000` tries many.
"""


@each_ten
def test_law_spoilt_returns_gather_the_same_again(tmp_path: Path, first: int) -> None:
    assert returns(range(first, first + AT_ONCE), tmp_path) == []


@each_ten
def test_law_spoilt_books_reckon_the_same_again(tmp_path: Path, first: int) -> None:
    assert books(range(first, first + AT_ONCE), tmp_path) == []
