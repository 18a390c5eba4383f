"""A book that is said to lie within the bounds of reading can be read under them."""

from __future__ import annotations

from datetime import date
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apiarybook.club.reckoned import new_book
from apiarybook.errors import CannotRead
from apiarybook.readers.limits import Limits
from apiarybook.readers.raw import read_raw
from apiarybook.readers.within import is_within
from apiarybook.writers.workbook import write_book


@cache
def written() -> bytes:
    return write_book(new_book("Alder Vale", 2026, "british-isles", "kg", date(2026, 9, 1), "k1").content)


@pytest.mark.parametrize("too_small", [{"cells": 9_000}, {"rows": 150}, {"text": 60_000}, {"packed": 9_000}])
def test_each_bound_is_seen(too_small: dict[str, int]) -> None:
    assert is_within("club.xlsx", written())
    assert not is_within("club.xlsx", written(), Limits(**too_small))


@settings(max_examples=30, deadline=None)
@given(
    st.fixed_dictionaries(
        {},
        optional={
            "packed": st.integers(10_000, 1_000_000),
            "cells": st.integers(1_000, 100_000),
            "rows": st.integers(10, 1_000),
            "part": st.integers(10_000, 2_000_000),
            "text": st.integers(10_000, 2_000_000),
        },
    )
)
def test_what_is_within_can_be_read(bounds: dict[str, int]) -> None:
    limits = Limits(**bounds)
    try:
        if is_within("club.xlsx", written(), limits):
            assert read_raw(("club.xlsx", written()), limits).sheets
    except CannotRead:  # a bound of the zip file itself is met before anything is measured
        with pytest.raises(CannotRead):
            read_raw(("club.xlsx", written()), limits)
