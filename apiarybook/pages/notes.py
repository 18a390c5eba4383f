"""Reply notes: what a member is told of the copy that came back, as plain text and as a page that stands alone."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import count
from typing import TYPE_CHECKING

from apiarybook.handbook.cautions import FEEDING, LIFTING, STINGS
from apiarybook.pages.environment import template
from apiarybook.readers.canonical import first_few
from apiarybook.reckon.core.winter import day_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date

    from apiarybook.book.measure import Measure

LONGEST_VALUE = 80
"""Characters of what a member typed that a note quotes."""
MORE_CELLS = 6
"""Cells that a note names of one slip repeated down a column."""
ABOUT_FOOD = (
    "These words are about food only, not about queen, health or mites; a licensed or official inspector's word stands "
    "above them."
)
_FEEDING = ("feed", "fondant", "comb full")


def _cut(text: str) -> str:
    return text if len(text) <= LONGEST_VALUE else f"{text[:LONGEST_VALUE]}..."


@dataclass(frozen=True, slots=True)
class Received:
    """A file of the member.

    Attributes:
        file: its name.
        saved: when it was saved.
        rows: what became of its rows in words.
        superseded: whether a later file stands in its place.
        unused: what stands in it where the book does not look, with its place.
    """

    file: str
    saved: str
    rows: str
    superseded: bool = False
    unused: tuple[str, ...] = ()

    @property
    def not_used(self) -> str:
        """What is not used in words, if there is anything.

        >>> Received("May.xlsx", "", "", unused=("Weighings F7: windy",)).not_used
        'The book does not use Weighings F7: windy. What the club should know, write under remarks.'
        """
        shown = [_cut(one) for one in self.unused]
        if self.superseded or not shown:
            return ""
        told = first_few(shown, MORE_CELLS, "; ")
        return f"The book does not use {told}. What the club should know, write under remarks."


@dataclass(frozen=True, slots=True)
class Question:
    """Something that the member should look at.

    Attributes:
        file: the member's file.
        sheet: the sheet in it.
        cells: all cells that it is about.
        heading: the heading over them.
        value: what was typed in the first of them.
        message: what is wrong, one sentence.
        do: what to do.
        held: whether the row is not used until it is mended.
    """

    file: str
    sheet: str
    cells: tuple[str, ...]
    heading: str
    value: str
    message: str
    do: str
    held: bool

    @property
    def where(self) -> str:
        """The place in words.

        >>> Question("May.xlsx", "Weighings", ("F7", "F8"), "reading 1", "385", "", "", True).where
        'May.xlsx, sheet Weighings, cells F7, F8 (reading 1)'
        """
        cells = f", cell{'s' if len(self.cells) > 1 else ''} {first_few(self.cells, MORE_CELLS)}" if self.cells else ""
        heading = f" ({self.heading})" if self.heading else ""
        return f"{self.file}, sheet {self.sheet}{cells}{heading}" if self.sheet else self.file

    @property
    def quoted(self) -> str:
        """What was typed, cut short."""
        return f"You typed: {_cut(self.value)}" if self.value else ""


@dataclass(frozen=True, slots=True)
class Stands:
    """How a colony stands, in words with units."""

    colony: str
    verdict: str
    should_weigh: str = ""
    should_on: str = ""
    short_by: str = ""
    feed: str = ""
    by_date: str = ""
    because: str = ""

    @property
    def when(self) -> str:
        """By which day to do what, if there is one.

        >>> Stands("A1", "feed", feed="2.5 kg", by_date="2026-10-10").when, Stands("A1", "enough").when
        ('by 2026-10-10', '')
        """
        what = "by" if self.feed else "look at it by"
        return f"{what} {self.by_date}" if self.by_date else ""


SHOWN = ["colony", "verdict", "short_by", "feed_mass", "feed_volume", "fills", "feed_kind", "by_date"]
SHOWN += ["should_weigh", "should_on", "because"]
"""Columns of Standing that a note shows."""


def stands_words(row: Mapping[object, object], units: Measure) -> Stands:
    """How a colony stands, in words with units.

    Args:
        row: of Standing, its masses in kg and volumes in litres.
        units: the book's units.
    """

    def mass(key: str) -> str:
        value = _number(row[key])
        return f"{value / units.kg:.1f} {units.mass}" if value > 0 else ""

    feed, kind, by, on = mass("feed_mass"), row["feed_kind"], _number(row["by_date"]), _number(row["should_on"])
    volume, fills = _number(row["feed_volume"]) / units.litres, _number(row["fills"])
    poured = f" ({volume:.1f} {units.volume}, {fills:.0f} fill{'s' if fills > 1 else ''})" if volume > 0 else ""
    return Stands(
        colony=str(row["colony"]),
        verdict=str(row["verdict"]),
        should_weigh=mass("should_weigh"),
        should_on=day_of(on).isoformat() if on > 0 else "",
        short_by=mass("short_by"),
        feed=f"{feed} of {kind}{poured}" if feed and kind else feed,
        by_date=day_of(by).isoformat() if by > 0 else "",
        because=str(row["because"]),
    )


def _number(value: object) -> float:
    return float(value) if isinstance(value, (int, float)) else 0.0


@dataclass(frozen=True, slots=True)
class Note:
    """All that one member is told.

    Attributes:
        club: the club's name.
        member: the member's code.
        name: the member's name.
        winter: the winter, such as 2026/27.
        as_at: the day for which was reckoned.
        received: the member's files.
        questions: what is open, the held ones first.
        colonies: how the member's colonies stand.
    """

    club: str
    member: str
    name: str
    winter: str
    as_at: date
    received: tuple[Received, ...] = ()
    questions: tuple[Question, ...] = ()
    colonies: tuple[Stands, ...] = ()

    @property
    def title(self) -> str:
        """What the note is headed."""
        return f"Your hives' winter stores, winter {self.winter}, reckoned as at {self.as_at.isoformat()}"

    @property
    def cautions(self) -> tuple[tuple[str, str], ...]:
        """The cautions that go with what is advised."""
        verdicts = [one.verdict for one in self.colonies]
        lifting = any("weigh" in one for one in (*verdicts, *(question.do.casefold() for question in self.questions)))
        feeding = any(one.startswith(_FEEDING) for one in verdicts)
        told = [("Lifting", LIFTING)] if lifting else []
        told += [("Feeding", FEEDING)] if feeding else []
        return (*told, ("Stings", STINGS)) if told else ()


def note_name(member: str, taken: Iterable[str] = ()) -> str:
    """Name of a member's note without its ending, safe on every system whatever the member's code holds.

    >>> note_name("M1"), note_name("../x"), note_name("m1", ["note M1"])
    ('note M1', 'note ___x', 'note m1 2')
    """
    name = f"note {re.sub(r'[^A-Za-z0-9 _-]', '_', member)[:40].strip()}"
    used = {one.casefold() for one in taken}
    names = (f"{name} {number}" if number > 1 else name for number in count(1))
    return next(one for one in names if one.casefold() not in used)


PARTS = ("Received", "Open questions", "Your colonies")
"""What stands over the parts of a note."""


def is_note(start: bytes) -> bool:
    """Whether a file that begins so is a note, as text or as a page.

    >>> is_note(b"Dear Ann, RECEIVED - nothing yet OPEN QUESTIONS None. Thank you. YOUR COLONIES"), is_note(b"ref,date")
    (True, False)
    """
    told = start.decode("utf-8", "replace").upper()
    return all(title.upper() in told for title in PARTS)


def as_text(note: Note) -> str:
    """The note as plain text, ready to paste into a message.

    Args:
        note: what to say.

    Returns:
        the text, lines of any length.

    >>> from datetime import date
    >>> print(as_text(Note("Alder Vale", "M1", "Ann", "2026/27", date(2026, 9, 25))).splitlines()[0])
    Dear Ann,
    """
    lines = [f"Dear {note.name or note.member},", "", f"{note.title}.", "", PARTS[0].upper()]
    lines += [line for one in note.received for line in _received(one)] or ["- nothing yet"]
    lines += ["", PARTS[1].upper()]
    lines += [line for number, one in enumerate(note.questions, 1) for line in _question(number, one)]
    lines += [] if note.questions else ["None. Thank you."]
    lines += ["", PARTS[2].upper()]
    lines += [f"- {_stands(one)}" for one in note.colonies] or ["- none is reckoned yet"]
    lines += [ABOUT_FOOD]
    for title, text in note.cautions:
        lines += ["", title.upper(), text]
    return "\n".join([*lines, "", note.club, ""])


def _received(one: Received) -> list[str]:
    saved = f", saved {one.saved}" if one.saved else ""
    told = f"- {one.file}{saved}: {SUPERSEDED if one.superseded else one.rows}"
    return [told, f"  {one.not_used}"] if one.not_used else [told]


SUPERSEDED = "a later file of yours stands in its place"


def _question(number: int, one: Question) -> list[str]:
    held = " This row is not used until it is mended." if one.held else ""
    quoted = [f"   {one.quoted}"] if one.quoted else []
    return [f"{number}. {one.where}", *quoted, f"   {one.message}{held}", f"   What to do: {one.do}"]


def _stands(one: Stands) -> str:
    told = [f"short by {one.short_by}" if one.short_by else "", f"give {one.feed}" if one.feed else ""]
    told += [
        one.when,
        f"then it should weigh {one.should_weigh} on {one.should_on}" if one.should_weigh else "",
    ]
    rest = ", ".join(filter(None, told))
    because = f" ({one.because})" if one.because else ""
    return f"{one.colony}: {one.verdict}" + (f"; {rest}" if rest else "") + because


def as_page(note: Note) -> str:
    """The note as a page that needs nothing from elsewhere; whatever anyone typed stands in it as text.

    Args:
        note: what to say.

    Returns:
        the page in HTML.

    >>> from datetime import date
    >>> page = as_page(Note("<b>", "M1", "<script>", "2026/27", date(2026, 9, 25)))
    >>> "<script>" in page, "&lt;script&gt;" in page
    (False, True)
    """
    return template("note").render(note=note, about_food=ABOUT_FOOD, superseded=SUPERSEDED)


def reminder(note: Note, due: date | None) -> str:
    """A text that asks for a copy which has not come back.

    Args:
        note: says whom it is for.
        due: the day by which copies should be back, where the club has set one.

    Returns:
        the text, ready to send.

    >>> from datetime import date
    >>> text = reminder(Note("Alder Vale", "M1", "Ann", "2026/27", date(2026, 9, 25)), date(2026, 9, 20))
    >>> text.splitlines()[2][:52]
    'your copy of the hive book for winter 2026/27 has no'
    """
    was_due = f" It was asked for by {due.isoformat()}." if due else ""
    return (
        f"Dear {note.name or note.member},\n\n"
        f"your copy of the hive book for winter {note.winter} has not come back yet.{was_due} Please save it and send "
        "it as it is, even if only a few hives are weighed: what is in it helps to order the right amount of feed. "
        f"If it is lost, ask for another one.\n\n{note.club}\n"
    )
