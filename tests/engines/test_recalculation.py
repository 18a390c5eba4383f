"""Every formula of a book gives in other spreadsheet programs what Python wrote beside it.

The programs are formualizer (an engine written in Rust), LibreOffice Calc and Gnumeric; all stored results are made
wrong first, so that none can be right by not having been computed.
"""

from __future__ import annotations

import shutil
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from apiarybook.writers.plan import Plan, club_plan, member_plan
from apiarybook.writers.workbook import write_book
from tests.engines.oracle import by_formualizer, by_gnumeric, by_libreoffice, differences, planted, read_xlsx
from tests.engines.small_books import AS_AT, random_content

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import date

    Shape = Callable[[Mapping[str, int]], Plan]


def needs_soffice(check: str) -> pytest.MarkDecorator:
    return pytest.mark.skipif(shutil.which("soffice") is None, reason=f"not checked, soffice is not installed: {check}")


def test_a_planted_result_is_told_apart() -> None:
    data = write_book(random_content(Random(1), "kg"))  # noqa: S311 a seed, no secret
    ours = read_xlsx(data)
    assert len(ours.formulas) > 1000
    assert len(differences(ours, read_xlsx(planted(data)).values)) == len(ours.formulas)
    assert differences(ours, ours.values) == []


@pytest.mark.parametrize(("unit", "shape"), [("lb", club_plan), ("kg", member_plan)], ids=["club lb", "member kg"])
def test_formualizer_agrees_on_a_book_of_each_plan(tmp_path: Path, unit: str, shape: Shape) -> None:
    data = write_book(random_content(Random(7), unit, AS_AT[4]), shape)  # noqa: S311 a seed, no secret
    assert differences(read_xlsx(data), by_formualizer(planted(data), tmp_path))[:20] == []


@pytest.mark.parametrize(
    ("unit", "shape"),
    [
        pytest.param("kg", club_plan, marks=pytest.mark.long),
        pytest.param("lb", club_plan, marks=pytest.mark.long),
        pytest.param("kg", member_plan, marks=pytest.mark.long),
        pytest.param("lb", member_plan, marks=pytest.mark.long),
    ],
    ids=["club kg", "club lb", "member kg", "member lb"],
)
@settings(
    max_examples=8,
    deadline=None,
    derandomize=True,
    database=None,
    phases=[Phase.generate],
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.large_base_example],
)
@given(rng=st.randoms(use_true_random=True))
def test_formualizer_agrees_with_python(unit: str, shape: Shape, rng: Random) -> None:
    data = write_book(random_content(rng, unit), shape)
    with TemporaryDirectory() as folder:
        theirs = by_formualizer(planted(data), Path(folder))
    assert differences(read_xlsx(data), theirs)[:20] == []


@pytest.mark.engine
@pytest.mark.skipif(shutil.which("ssconvert") is None, reason="not checked, gnumeric is not installed: small books")
@pytest.mark.parametrize(
    ("shape", "days"), [(club_plan, AS_AT[::2]), (member_plan, AS_AT[1::2])], ids=["club", "member"]
)
def test_gnumeric_agrees_with_python(tmp_path: Path, shape: Shape, days: tuple[date, ...]) -> None:
    contents = [
        random_content(Random(seed), "lb" if seed % 2 else "kg", day)  # noqa: S311 a seed, no secret
        for seed, day in enumerate(days)
    ]
    books = [write_book(content, shape) for content in contents]
    found = by_gnumeric([planted(data) for data in books], tmp_path)
    for day, data, theirs in zip(days, books, found, strict=True):
        assert (day, differences(read_xlsx(data), theirs)[:20]) == (day, [])


@pytest.mark.engine
@pytest.mark.parametrize(
    ("suffix", "days"),
    [
        pytest.param("xlsx", AS_AT[1::3], marks=needs_soffice("books recalculated by LibreOffice and kept as xlsx")),
        pytest.param("ods", AS_AT[2::3], marks=needs_soffice("books recalculated by LibreOffice and kept as ods")),
    ],
)
def test_libreoffice_agrees_with_python(tmp_path: Path, suffix: str, days: tuple[date, ...]) -> None:
    contents = [
        random_content(Random(seed), "lb" if seed % 2 else "kg", day, colonies=24)  # noqa: S311 a seed, no secret
        for seed, day in enumerate(days)
    ]
    books = [write_book(content) for content in contents]
    found = by_libreoffice([planted(data) for data in books], tmp_path, suffix)
    for day, data, theirs in zip(days, books, found, strict=True):
        assert (day, differences(read_xlsx(data), theirs)[:20]) == (day, [])
