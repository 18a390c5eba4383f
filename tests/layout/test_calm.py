"""A calm book: few tabs in any month, and the answer beside what is typed."""

import pytest

from apiarybook.layout import BOOK, MY_COLONIES, Column, Group, InCopy, Role, Sheet
from apiarybook.writers.plan import in_view, member_plan

MOST_TABS, MOST_IN_COPY = 16, 6
WINDOW = 1304
"""Pixels that a window of 1366 leaves for cells beside the sidebar's handle, at 100 % and 96 dpi (as measured)."""
ROW_NUMBERS = 37
"""Pixels that the numbers of the rows take (as measured)."""
TYPED = [sheet for sheet in BOOK.sheets if sheet.group is Group.TYPE_HERE]


def pixels(columns: list[Column]) -> int:
    """Width of columns as LibreOffice draws them: five of seven parts of a digit more are for the margins.

    Source: ECMA-376 part 1, 18.3.1.13, width; columns of 7 to 18 digits measured 60 to 146 pixels.
    """
    return round(sum(7.82 * (column.width + 5 / 7) for column in columns))


def beside(columns: list[Column]) -> list[Column]:
    """What is seen without opening or moving anything, as far as the last answer."""
    seen = [column for column in columns if column.in_view and not (column.aside or column.last)]
    assert columns[: len(seen)] == seen
    return seen


@pytest.mark.parametrize("month", range(7, 25))
def test_a_club_book_has_few_tabs_in_any_month(month: int) -> None:
    shown = {sheet.name for sheet in BOOK.sheets if in_view(sheet, month, 1)}
    assert len({"Start here", *shown}) <= MOST_TABS
    assert {"Colonies", "Weighings", "Standing", "Settings", "About"} <= shown


def test_a_copy_has_few_tabs() -> None:
    shown = [planned for planned in member_plan({}, 9).sheets if not planned.hidden]
    assert 1 + len(shown) <= MOST_IN_COPY


@pytest.mark.parametrize("sheet", TYPED, ids=lambda sheet: sheet.name)
def test_what_most_rows_need_and_the_answer_fit_into_the_window(sheet: Sheet) -> None:
    seen = beside(list(sheet.shown))
    assert ROW_NUMBERS + pixels(seen) <= WINDOW
    assert sheet.stays == "colony"
    answers = [column.key for column in sheet.columns if column.role is Role.LIVE and column.in_view]
    assert [column.key for column in seen if column.role is Role.LIVE] == answers


def test_the_verdict_fits_into_the_window() -> None:
    planned = next(one for one in member_plan({}, 9).sheets if one.name == MY_COLONIES.name)
    columns = [column for _, column in planned.columns]
    told = [column for column in BOOK["Standing"].columns if column.key != "colony" and not column.club_only]
    answer = columns[: 2 + sum(column.order == 0 for column in told)]
    assert ROW_NUMBERS + pixels(answer) <= WINDOW
    assert ROW_NUMBERS + pixels(beside(list(BOOK["Standing"].shown))) <= WINDOW


def test_a_question_its_cell_and_the_answer_fit_into_the_window() -> None:
    columns = list(BOOK["Questions"].shown)
    keys = [column.key for column in columns]
    seen = columns[: keys.index("holds") + 1]
    assert {"colony", "keeper", "question", "do", "sheet", "cell"} < set(keys[: len(seen)])
    assert ROW_NUMBERS + pixels(seen) <= WINDOW


@pytest.mark.parametrize("sheet", BOOK.sheets, ids=lambda sheet: sheet.name)
def test_the_plus_sign_opens_less_used_columns_and_workings_stay_hidden(sheet: Sheet) -> None:
    orders = [column.order for column in sheet.shown]
    assert orders == sorted(orders)
    assert not [column.key for column in sheet.columns if column.working and column.role is Role.TYPED]
    if sheet.group is Group.TYPE_HERE:
        assert {column.role for column in sheet.columns if column.folded} <= {Role.TYPED}


def test_nothing_private_goes_into_a_copy() -> None:
    private = {"phone", "mail"}
    planned = next(one for one in member_plan({}, 9).sheets if one.name == "Members")
    assert BOOK["Members"].in_copy is InCopy.BEHIND
    assert private <= BOOK["Members"].by_key.keys()
    assert not private & {column.key for _, column in planned.columns}
