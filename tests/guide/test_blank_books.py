"""The blank books that lie in the repository are those of the last release, and the package reads them as its own.

They are made anew for a release only, so what is compared is their structure: sheets, headings, lists and ready rows.
"""

from pathlib import Path

import pytest

from apiarybook.book.tables import Book, read_book
from apiarybook.gather.handout import handout
from apiarybook.guide.blank_books import template, template_name
from apiarybook.handbook import REGIONS
from apiarybook.layout import BOOK, Group
from tests.gather.small_club import AS_AT, Row, club_book

FOLDER = Path(__file__).parents[2] / "workbook_templates"
MOST_BYTES, MOST_OF_COPY = 200_000, 150_000
"""Templates and copies are sent by mail and opened on telephones."""
LISTS = [sheet.name for sheet in BOOK.sheets if sheet.is_list and sheet.group is Group.SETTINGS]
ONE, *OTHERS = REGIONS
EVERY_REGION = pytest.mark.parametrize(
    "region", [ONE, *(pytest.param(region, marks=pytest.mark.long) for region in OTHERS)]
)


def names(book: Book) -> dict[str, list[object]]:
    """What each list of a book names, in order."""
    first = {name: next(iter(BOOK[name].typed)).key for name in LISTS}
    return {name: book.tables[name].typed[key].dropna().tolist() for name, key in first.items()}


@EVERY_REGION
def test_blank_book_has_the_lists_of_today_and_is_read_without_a_fault(region: str) -> None:
    stands = read_book(FOLDER / template_name(region))
    today = read_book((template_name(region), template(region)))
    assert (stands.faults, today.faults) == ([], [])
    assert names(stands) == names(today)
    assert stands.unit == today.unit


@EVERY_REGION
def test_blank_book_is_small(region: str) -> None:
    assert len(template(region)) <= MOST_BYTES


def test_copy_in_which_nothing_is_typed_yet_is_small(tmp_path: Path) -> None:
    nothing: dict[str, list[Row]] = {name: [] for name in ("Weighings", "Feedings", "Scale checks")}
    club = club_book(tmp_path / "club.xlsx", nothing)
    handing = handout(club, tmp_path / "copies", as_at=AS_AT, book_id="00c0ffee")
    assert [one.path.stat().st_size <= MOST_OF_COPY for one in handing.copies] == [True, True]


def test_folder_holds_nothing_else() -> None:
    assert {path.name for path in FOLDER.iterdir()} == {template_name(region) for region in REGIONS}
