"""The first sheet: in a screenful what to type where, links in order, and the cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING

from apiarybook.handbook.cautions import CAUTIONS
from apiarybook.layout.model import Group
from apiarybook.reckon.core.winter import winter_words, year_of
from apiarybook.writers.heights import LINE, lines_of
from apiarybook.writers.places import quoted

if TYPE_CHECKING:
    from xlsxwriter.worksheet import Worksheet

    from apiarybook.writers.content import Content
    from apiarybook.writers.looks import Looks
    from apiarybook.writers.plan import Plan

NAME = "Start here"
WIDTH = 27
"""Width of each of its four columns, in digits."""
STEPS = (
    "1. Look through Settings, Members and Apiaries; every colony has a row on Colonies.",
    "2. Before you weigh, guess: write the guess in the column heft, then read the scale.",
    "3. One row for each weighing on Weighings, one for each feed on Feedings. The book reckons at once.",
    "4. Read Standing: what each colony still lacks, what to give, and at which gross to stop.",
    "5. A word beside a row other than ok asks you to look at that row again.",
)
TITLES = {
    Group.TYPE_HERE: "Type here",
    Group.READ_HERE: "Read here",
    Group.SETTINGS: "Settings and lists",
    Group.MACHINERY: "Machinery and sources",
}


def write(sheet: Worksheet, looks: Looks, plan: Plan, content: Content) -> None:
    """Write the first sheet.

    Args:
        sheet: where.
        looks: the formats.
        plan: the sheets of the book.
        content: what the book holds.
    """
    sheet.hide_gridlines(2)
    sheet.set_column(0, 3, WIDTH)
    sheet.set_landscape()
    sheet.set_paper(9)
    sheet.fit_to_pages(1, 1)
    winter = year_of(content.settings)
    club = str(content.settings.get("club") or "A club's book")
    sheet.set_row(0, 30)
    sheet.write_string(0, 0, f"{club}: winter {winter_words(winter)}", looks.make(bold=True, font_size=18))
    sheet.write_string(1, 0, "So that every colony goes into winter with enough stores.", looks.make(italic=True))
    for number, step in enumerate(STEPS):
        sheet.write_string(3 + number, 0, step, looks.make(font_size=11))
    top = 4 + len(STEPS)
    longest = _links(sheet, looks, plan, top)
    sheet.write_string(top + longest + 1, 0, "With care", looks.make(bold=True, font_size=12))
    look = looks.make(text_wrap=True, valign="top")
    for number, (title, text) in enumerate(CAUTIONS):
        row = top + longest + 2 + number
        sheet.set_row(row, LINE * lines_of(text, 3 * WIDTH))
        sheet.write_string(row, 0, title, looks.make(bold=True, valign="top"))
        sheet.merge_range(row, 1, row, 3, text, look)


def _links(sheet: Worksheet, looks: Looks, plan: Plan, top: int) -> int:
    longest = 0
    link = looks.make(font_color="#1F3864", underline=1)
    for column, (group, title) in enumerate(TITLES.items()):
        sheet.write_string(top, column, title, looks.make(bold=True, font_size=12, bottom=1))
        shown = [planned for planned in plan.sheets if planned.group is group and not planned.hidden]
        for row, planned in enumerate(shown, top + 1):
            sheet.write_url(row, column, f"internal:{quoted(planned.name)}!A1", link, planned.name)
        longest = max(longest, len(shown) + 1)
    return longest
