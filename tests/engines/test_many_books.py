"""The demo's books, a copy for each of many members, and club books of every region agree in every cell.

They are reckoned anew by LibreOffice, formualizer and Gnumeric; a cell that one of them cannot compute differs.
"""

from __future__ import annotations

import shutil
from datetime import timedelta
from functools import cache
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

import pytest

from apiarybook.writers.plan import club_plan, member_plan
from apiarybook.writers.workbook import write_book
from tests.engines.oracle import by_formualizer, by_gnumeric, by_libreoffice, differences, planted, read_xlsx
from tests.engines.small_books import AS_AT, random_content

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from apiarybook.writers.plan import Plan
    from tests.engines.oracle import Values

    Shape = Callable[[Mapping[str, int], int], Plan]

DEMO = tuple(sorted((Path(__file__).parents[2] / "demo").glob("*.xlsx")))
COPIES, BOOKS = 14, 8
ENGINES = {
    "formualizer": lambda books, folder: [by_formualizer(data, folder) for data in books],
    "gnumeric": by_gnumeric,
    "xlsx": lambda books, folder: by_libreoffice(books, folder, "xlsx"),
    "ods": lambda books, folder: by_libreoffice(books, folder, "ods"),
}
NEEDS = {"formualizer": "python3", "gnumeric": "ssconvert", "xlsx": "soffice", "ods": "soffice"}
engines = pytest.mark.parametrize(
    "engine",
    [
        pytest.param(
            name, marks=[pytest.mark.engine, pytest.mark.skipif(not shutil.which(NEEDS[name]), reason="not checked")]
        )
        for name in ENGINES
    ],
)


@cache
def small_books(first: int, count: int, shape: Shape) -> tuple[bytes, ...]:
    """Books filled at random, each of a seed, unit and day of its own."""
    made = []
    for seed in range(first, first + count):
        day, unit = AS_AT[seed % len(AS_AT)] + timedelta(days=seed % 3), "lb" if seed % 2 else "kg"
        made.append(write_book(random_content(Random(seed), unit, day), shape))  # noqa: S311 a seed, no secret
    return tuple(made)


def differing(books: tuple[bytes, ...], engine: str, folder: Path) -> list[tuple[int, str]]:
    found: list[Values] = ENGINES[engine]([planted(data) for data in books], folder)
    pairs = zip(books, found, strict=True)
    return [(at, one) for at, (data, theirs) in enumerate(pairs) for one in differences(read_xlsx(data), theirs)]


@engines
def test_every_engine_agrees_on_the_demo(tmp_path: Path, engine: str) -> None:
    assert differing(tuple(book.read_bytes() for book in DEMO), engine, tmp_path)[:20] == []


@engines
def test_every_engine_agrees_on_many_copies(tmp_path: Path, engine: str) -> None:
    books = small_books(300, COPIES, member_plan)
    assert sum(len(read_xlsx(data).formulas) for data in books) > 1000 * COPIES
    assert differing(books, engine, tmp_path)[:20] == []


@engines
def test_every_engine_agrees_on_many_books(tmp_path: Path, engine: str) -> None:
    assert differing(small_books(100, BOOKS, club_plan), engine, tmp_path)[:20] == []
