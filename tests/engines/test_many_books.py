"""The demo's book and many small books of every region agree with LibreOffice, formualizer and Gnumeric."""

from __future__ import annotations

import shutil
from datetime import timedelta
from pathlib import Path
from random import Random

import pytest

from apiarybook.writers.workbook import write_book
from tests.engines.oracle import by_formualizer, by_gnumeric, by_libreoffice, differences, planted, read_xlsx
from tests.engines.small_books import AS_AT, random_content

DEMO = next((Path(__file__).parents[2] / "demo").glob("*.xlsx"))
BOOKS = 20
needs_gnumeric = pytest.mark.skipif(shutil.which("ssconvert") is None, reason="not checked, gnumeric missing: the demo")
needs_soffice = pytest.mark.skipif(shutil.which("soffice") is None, reason="not checked, soffice missing: many books")


def test_formualizer_agrees_on_the_demo(tmp_path: Path) -> None:
    data = DEMO.read_bytes()
    assert differences(read_xlsx(data), by_formualizer(planted(data), tmp_path))[:20] == []


@needs_gnumeric
@pytest.mark.engine
def test_gnumeric_agrees_on_the_demo(tmp_path: Path) -> None:
    data = DEMO.read_bytes()
    (theirs,) = by_gnumeric([planted(data)], tmp_path)
    assert differences(read_xlsx(data), theirs)[:20] == []


@needs_soffice
@pytest.mark.engine
@pytest.mark.parametrize("suffix", ["xlsx", "ods"])
def test_libreoffice_agrees_on_the_demo(tmp_path: Path, suffix: str) -> None:
    data = DEMO.read_bytes()
    (theirs,) = by_libreoffice([planted(data)], tmp_path, suffix)
    assert differences(read_xlsx(data), theirs)[:20] == []


@needs_soffice
@pytest.mark.engine
@pytest.mark.parametrize(("suffix", "first"), [("xlsx", 100), ("ods", 200)])
def test_libreoffice_agrees_on_many_books(tmp_path: Path, suffix: str, first: int) -> None:
    contents = []
    for seed in range(first, first + BOOKS):
        day = AS_AT[seed % len(AS_AT)] + timedelta(days=seed % 3)
        unit = "lb" if seed % 2 else "kg"
        contents.append(random_content(Random(seed), unit, day, colonies=8))  # noqa: S311 a seed, no secret
    books = [write_book(content) for content in contents]
    found = by_libreoffice([planted(data) for data in books], tmp_path, suffix)
    for number, (data, theirs) in enumerate(zip(books, found, strict=True), first):
        assert (number, differences(read_xlsx(data), theirs)[:20]) == (number, [])
