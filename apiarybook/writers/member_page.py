"""The first sheet of a member copy: what to type where, what the answers mean, how to send it back, the cautions."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from apiarybook.handbook.cautions import CAUTIONS
from apiarybook.reckon.core.winter import winter_words, year_of
from apiarybook.writers.heights import LINE
from apiarybook.writers.places import quoted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from xlsxwriter.format import Format
    from xlsxwriter.worksheet import Worksheet

    from apiarybook.writers.content import Content
    from apiarybook.writers.looks import Looks
    from apiarybook.writers.plan import Plan

HOW = (
    ("A free row", "Take the next one. It has a ref already: leave that as it is, it tells your row from all others."),
    ("A date", "Type it as a date, like 2026-09-05. A number stands alone in its cell, without kg or lb behind it."),
    ("More columns", "Press + above the columns for more: what else stood on the hive, the scale, frames of bees."),
    ("The word status", "Anything but ok at the end of a row asks you to look at that row again."),
)
WORDS = (
    ("enough", "It has what it needs for the winter. That is about food only: not queen, health or mites."),
    ("feed", "Give what stands under feed to give, by the date, and stop at the gross that stands there."),
    ("comb full", "It cannot hold what it needs: add a box, or plan fondant."),
    ("fondant later", "It is too late or too little for liquid feed: fondant on top, by the date."),
    ("weigh", "The evidence is too coarse or too old: weigh it, a full lift by two or both sides one at a time."),
    ("feed now", "In winter: it may run out before you come again."),
    ("lasts to ...", "In winter: until that day it needs nothing, as far as can be foretold."),
)
BACK = "Save it and send the file back, under any name; you may go on with your own copy and send it again. {when}"
DUE = "It is wanted back by {day}."
UNKNOWN = "The secretary will say when."
WIDTHS = (18, 84)
LETTERS = 96
"""Letters that fit on one line of the second column."""


def write(sheet: Worksheet, looks: Looks, plan: Plan, content: Content) -> None:
    """Write the first sheet of a member copy.

    Args:
        sheet: where.
        looks: the formats.
        plan: the sheets of the copy.
        content: what it holds.
    """
    sheet.hide_gridlines(2)
    for number, width in enumerate(WIDTHS):
        sheet.set_column(number, number, width)
    sheet.set_paper(9)
    sheet.fit_to_pages(1, 1)
    sheet.set_row(0, 30)
    sheet.write_string(0, 0, _title(content), looks.make(bold=True, font_size=18))
    sheet.write_string(1, 0, _whose(content), looks.make(italic=True))
    bold, link = looks.make(bold=True, valign="top"), looks.make(font_color="#1F3864", underline=1, valign="top")
    page = _Page(sheet, looks, frozenset(one.name for one in plan.sheets))
    shown = [(one.name, one.how_to) for one in plan.sheets if not one.hidden]
    page.block("What to type where", shown, link)
    page.block("How to type", HOW, bold)
    page.block("What the verdict means", WORDS, bold)
    page.block("Sending it back", (("To the secretary", BACK.format(when=_when(content))),), bold)
    page.block("With care", CAUTIONS, bold)


class _Page:
    """Blocks of lines, one under the other."""

    def __init__(self, sheet: Worksheet, looks: Looks, links: frozenset[str]) -> None:
        self.sheet = sheet
        self.links = links
        self.looks = looks
        self.row = 3

    def block(self, title: str, lines: Sequence[tuple[str, str]], look: Format) -> None:
        """Write a title and under it its lines: a word, and what is to be said of it."""
        for number in range(len(WIDTHS)):
            self.sheet.write_blank(self.row, number, None, self.looks.make(bottom=1))
        self.sheet.write_string(self.row, 0, title, self.looks.make(bold=True, font_size=12, bottom=1))
        wrapped = self.looks.make(text_wrap=True, valign="top")
        for row, (word, text) in enumerate(lines, self.row + 1):
            self.sheet.set_row(row, LINE * (1 + (len(text) - 1) // LETTERS) + 2)
            if word in self.links:
                self.sheet.write_url(row, 0, f"internal:{quoted(word)}!A1", look, word)
            else:
                self.sheet.write_string(row, 0, word, look)
            self.sheet.write_string(row, 1, text, wrapped)
        self.row += len(lines) + 2


def _title(content: Content) -> str:
    winter = year_of(content.settings)
    club = str(content.settings.get("club") or "A club's book")
    return f"{club}: winter {winter_words(winter)}"


def _whose(content: Content) -> str:
    members = content.typed["Members"]
    name = members["name"].iloc[0] if len(members) else None
    return f"The copy of {name or content.member}. So that every colony goes into winter with enough stores."


def _when(content: Content) -> str:
    due = content.settings.get("returns_due")
    return DUE.format(day=due.isoformat()) if isinstance(due, date) else UNKNOWN
