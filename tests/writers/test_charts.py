"""Charts stand only where a person can tell apart what they draw, and only there is one spoken of."""

from __future__ import annotations

import io
import zipfile
from random import Random

import openpyxl
import pytest

from apiarybook.writers.charts import MOST_COLONIES
from apiarybook.writers.workbook import write_book
from tests.engines.small_books import random_content


@pytest.mark.parametrize(("colonies", "drawn"), [(20, True), (MOST_COLONIES + 1, False)])
def test_stores_are_drawn_of_colonies_that_can_be_told_apart(colonies: int, drawn: bool) -> None:  # noqa: FBT001
    data = write_book(random_content(Random(2), "kg", colonies=colonies))  # noqa: S311 a seed, no secret
    archive = zipfile.ZipFile(io.BytesIO(data))
    charts = [archive.read(name).decode() for name in archive.namelist() if name.startswith("xl/charts/chart")]
    title = openpyxl.load_workbook(io.BytesIO(data), read_only=True)["Standing"]["A1"].value
    assert ("Stores today against want and least" in "".join(charts), "chart at the right" in title) == (drawn, drawn)
