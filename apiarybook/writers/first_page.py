"""The first sheet: for each person the path through the book, links in order, how to send a copy back, the cautions."""

from __future__ import annotations

from datetime import date
from functools import cache
from itertools import chain
from typing import TYPE_CHECKING

from apiarybook.handbook.cautions import CAUTIONS
from apiarybook.layout import BOOK
from apiarybook.layout.model import Group
from apiarybook.readers.canonical import canonical_text
from apiarybook.reckon.core.winter import winter_words
from apiarybook.writers.fill import LINE
from apiarybook.writers.places import quoted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from xlsxwriter.format import Format
    from xlsxwriter.worksheet import Worksheet

    from apiarybook.readers.records import Place
    from apiarybook.writers.content import Content
    from apiarybook.writers.looks import Looks
    from apiarybook.writers.plan import Plan

NAME = "Start here"
Lines = tuple[tuple[str, str], ...]
MEMBER: Lines = (
    ("1. Guess", "Before you weigh, heft: write the guess in the column heft, then read the scale."),
    ("2. Weigh", "One row for each weighing on Weighings. Look into the feeder; write 0 if it is empty."),
    ("3. Feed", "One row for each feed on Feedings, on the day you gave it."),
    ("4. Read", "Standing says what each colony still lacks, what to give, and what the hive should weigh then."),
    ("5. Look again", "Anything but ok in the column status asks you to look at that row again."),
)
SECRETARY: Lines = (
    ("July", "Fill in Members, Apiaries, Colonies and Scales; look through the lists and Settings."),
    ("August", "Check the scales with a known mass. Run: apiarybook cards, apiarybook handout."),
    (
        "September",
        "After each weigh-day: apiarybook reckon. When copies come back: apiarybook collate. Order the feed.",
    ),
    ("October", "Last liquid feed. Ring those whose colonies still read feed or weigh. Collect the scales."),
    ("To March", "Look after the colonies that Till the flow names; order the fondant. Run reckon once a month."),
    ("April, May", "What became of each colony on After winter; weigh once more before the flow."),
    ("June", "Close the year with apiarybook yearend, make the next book with apiarybook carry."),
)
TUTOR: Lines = (
    ("Before", "Print target card, weigh-day sheet and practice sheet: apiarybook cards."),
    ("The evening", "Boxes strapped, each person hefts, writes the guess, and only then reads the scale."),
    ("After", "Type the lifts on Weighings, occasion practice. Hefting says whose hand may be trusted, and how far."),
)
LINKS = {Group.TYPE_HERE: "Type here", Group.READ_HERE: "Read here", Group.SETTINGS: "The club's lists"}
HIDDEN = (
    "Sheets that have no purpose this month are hidden; About says which there are and how to bring them into view."
)
HOW: Lines = (
    ("A free row", "Take the next one. Leave its ref at the far right as it is: it tells your row from all others."),
    ("A date", "Type it as a date, like 2026-09-05. A number stands alone in its cell, without kg or lb behind it."),
    ("More columns", "Press + above the columns for more: what else stood on the hive, the scale, frames of bees."),
    ("The word status", "Anything but ok asks you to look at that row again."),
)
WORDS: Lines = (
    ("enough", "It has what it needs for the winter. That is about food only: not queen, health or mites."),
    ("enough, if right", "Enough by a weighing that is asked about: answer what its row asks, then the word stands."),
    ("feed", "Give what stands under give, by the day; on the day beside it the hive should weigh what stands there."),
    ("feed, then weigh", "Give that portion now, then weigh: what it still lacks stands under because."),
    ("comb full", "It cannot hold what it needs: add a box, or plan fondant."),
    ("fondant later", "It is too late or too little for liquid feed: fondant on top, by the date."),
    ("weigh", "The evidence is too coarse or too old: weigh it, a full lift by two or both sides one at a time."),
    (
        "feed now",
        "In winter: it may run out before you come again. No fondant on top: a frame or a box of food.",
    ),
    ("lasts to ...", "In winter: nine times in ten it stays above its reserve until that day."),
)
BACK = "Save it and send the file back, under any name; you may go on with your own copy and send it again. {when}"
DUE = "It is wanted back by {day}."
UNKNOWN = "The secretary will say when."
CARE = "With care"
TITLES = ((1, 1), (2, 1))
"""Cells that name the club and the member."""
FIRST, WIDE, WIDTHS = 18, 28, 3
"""Width of the first column, and of the three others, in digits."""
LETTERS = 100
"""Letters that fit on one line of the three."""


def write(sheet: Worksheet, looks: Looks, plan: Plan, content: Content) -> None:
    """Write the first sheet of a club's book or of a member copy.

    Args:
        sheet: where.
        looks: the formats.
        plan: the sheets of the book.
        content: what it holds.
    """
    sheet.hide_gridlines(2)
    sheet.set_column(0, 0, FIRST)
    sheet.set_column(1, WIDTHS, WIDE)
    sheet.set_landscape()
    sheet.set_paper(9)
    sheet.fit_to_pages(1, 0)
    sheet.set_row(0, 30)
    sheet.write_string(0, 0, _title(content), looks.make(bold=True, font_size=18))
    page = _Page(sheet, looks)
    if content.member:
        sheet.write_string(1, 0, _whose(content), looks.make(italic=True))
        _of_member(page, plan, content)
    else:
        sheet.write_string(1, 0, "So that every colony goes into winter with enough stores.", looks.make(italic=True))
        page.block("If you keep bees", MEMBER)
        page.links(plan)
        page.block("If you run the book", SECRETARY)
        page.block("If you teach hefting", TUTOR)
    page.block(CARE, CAUTIONS)


def _of_member(page: _Page, plan: Plan, content: Content) -> None:
    shown = tuple((one.name, one.how_to) for one in plan.sheets if not one.hidden)
    for number, (title, lines) in enumerate(_member_blocks(shown, BACK.format(when=_when(content)))):
        page.block(title, lines, are_links=number == 0)


def _member_blocks(shown: Lines, back: str) -> tuple[tuple[str, Lines], ...]:
    """What a member copy says on its first page, under a title each, but for the cautions."""
    return (
        ("What to type where", shown),
        ("How to type", HOW),
        ("What the verdict means", WORDS),
        ("Sending it back", (("To the secretary", back),)),
    )


@cache
def _said_to_members() -> frozenset[str]:
    sheets = tuple((one.name, one.how_to) for one in BOOK.sheets)
    views = tuple((one.name, one.how_to) for one in BOOK.views)
    blocks = (*_member_blocks(sheets + views, ""), (CARE, CAUTIONS))
    return frozenset(canonical_text(text) for title, lines in blocks for text in (title, *chain(*lines)))


def is_ours(place: Place, text: str) -> bool:
    """Whether the first page of a member copy says so.

    >>> is_ours((9, 1), "How to type"), is_ours((9, 5), "ring Sue")
    (True, False)
    """
    return place in TITLES or text in _said_to_members() or text.startswith(BACK.partition("{")[0].strip())


class _Page:
    """Blocks of lines, one under the other."""

    def __init__(self, sheet: Worksheet, looks: Looks) -> None:
        self.sheet = sheet
        self.looks = looks
        self.row = 3
        self.link = looks.make(font_color="#1F3864", underline=1, valign="top")

    def block(self, title: str, lines: Sequence[tuple[str, str]], *, are_links: bool = False) -> None:
        """Write a title and under it its lines: a word or a sheet's name, and what is to be said of it."""
        self._title(title)
        bold, wrapped = self.looks.make(bold=True, valign="top"), self.looks.make(text_wrap=True, valign="top")
        for row, (word, text) in enumerate(lines, self.row + 1):
            self.sheet.set_row(row, LINE * (1 + (len(text) - 1) // LETTERS) + 2)
            self._word(row, 0, word, None if are_links else bold)
            self.sheet.merge_range(row, 1, row, WIDTHS, text, wrapped)
        self.row += len(lines) + 2

    def links(self, plan: Plan) -> None:
        """Write links to all sheets in view, a column for each group."""
        self._title("Where what stands")
        longest = 0
        for column, (group, title) in enumerate(LINKS.items(), 1):
            self.sheet.write_string(self.row + 1, column, title, self.looks.make(bold=True))
            shown = [planned.name for planned in plan.sheets if planned.group is group and not planned.hidden]
            for row, name in enumerate(shown, self.row + 2):
                self._word(row, column, name, None)
            longest = max(longest, len(shown))
        self.sheet.write_string(self.row + longest + 2, 1, HIDDEN, self.looks.make(italic=True))
        self._word(self.row + longest + 2, 0, "About", None)
        self.row += longest + 4

    def _title(self, title: str) -> None:
        for number in range(1, WIDTHS + 1):
            self.sheet.write_blank(self.row, number, None, self.looks.make(bottom=1))
        self.sheet.write_string(self.row, 0, title, self.looks.make(bold=True, font_size=12, bottom=1))

    def _word(self, row: int, column: int, word: str, look: Format | None) -> None:
        if look is None:
            self.sheet.write_url(row, column, f"internal:{quoted(word)}!A1", self.link, word)
        else:
            self.sheet.write_string(row, column, word, look)


def _title(content: Content) -> str:
    club = str(content.settings.get("club") or "A club's book")
    return f"{club}: winter {winter_words(content.winter)}"


def _whose(content: Content) -> str:
    members = content.typed["Members"]
    name = members["name"].iloc[0] if len(members) else None
    return f"The copy of {name or content.member}. So that every colony goes into winter with enough stores."


def _when(content: Content) -> str:
    due = content.settings.get("returns_due")
    return DUE.format(day=due.isoformat()) if isinstance(due, date) else UNKNOWN
