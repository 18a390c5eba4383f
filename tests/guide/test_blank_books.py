"""The blank books that lie in the repository are those that the package writes today."""

from pathlib import Path

import pytest

from apiarybook.guide.blank_books import template, template_name
from apiarybook.handbook import REGIONS

FOLDER = Path(__file__).parents[2] / "workbook_templates"


ONE, *OTHERS = REGIONS


@pytest.mark.parametrize("region", [ONE, *(pytest.param(region, marks=pytest.mark.long) for region in OTHERS)])
def test_blank_book_is_fresh(region: str) -> None:
    stands = (FOLDER / template_name(region)).read_bytes()
    assert stands == template(region), "stale: run python -m apiarybook.guide.blank_books workbook_templates"


def test_folder_holds_nothing_else() -> None:
    assert {path.name for path in FOLDER.iterdir()} == {template_name(region) for region in REGIONS}
