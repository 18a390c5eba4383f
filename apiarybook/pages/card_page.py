"""The cards as a page and as a workbook of three sheets; made with the keepers' pages and put into a folder."""

from __future__ import annotations

import io
from dataclasses import dataclass
from itertools import count
from typing import TYPE_CHECKING, Any

from apiarybook.book.measure import measure
from apiarybook.checks.finding import Weight
from apiarybook.checks.rule import CATALOGUE
from apiarybook.club.people import Keeper, keepers, places
from apiarybook.errors import CannotRead, CannotWrite, in_words
from apiarybook.handbook.cautions import FEEDING, LIFTING, STINGS
from apiarybook.pages import card_content, card_words
from apiarybook.pages.card_words import Cards
from apiarybook.pages.environment import template
from apiarybook.pages.notes import ABOUT_FOOD, SHOWN, stands_words
from apiarybook.readers.canonical import canonical_text
from apiarybook.reckon.core.winter import turning
from apiarybook.writers.looks import BLUE, INK, PALE, Looks, checked, new_workbook, write_value
from apiarybook.writers.safe_replace import put_in_place

if TYPE_CHECKING:
    from collections.abc import Container, Iterable, Mapping, Sequence
    from datetime import date
    from pathlib import Path

    import pandas as pd
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

    from apiarybook.book.tables import Book
    from apiarybook.club.reckoned import Reckoned
    from apiarybook.pages.card_content import Line
    from apiarybook.pages.card_words import Row
    from apiarybook.pages.notes import Stands


CARE = (("Lifting", LIFTING), ("Feeding", FEEDING), ("Stings", STINGS))


@dataclass(frozen=True, slots=True)
class Page:
    """One keeper's page.

    Attributes:
        name: or the code of one without.
        reached: phone and mail, as far as they are known.
        colonies: apiary, place among those to weigh next (0 if it is none of them), and how it stands.
        questions: colony, what is wrong and what to do, of those that are open.
    """

    name: str
    reached: tuple[str, ...]
    colonies: tuple[tuple[str, int, Stands], ...]
    questions: tuple[tuple[str, str, str], ...]

    @property
    def to_weigh(self) -> str:
        """The colonies to weigh next in words, the most pressing first."""
        pressing = sorted((order, one.colony) for _, order, one in self.colonies if order)
        return ", ".join(colony for _, colony in pressing)


def keeper_pages(reckoned: Reckoned) -> list[Page]:
    """Work out the pages.

    Args:
        reckoned: the club's book, reckoned for the day of the pages.

    Returns:
        a page for each member who has a living colony, in the order of the list, and one for those without a keeper.
    """
    people = keepers(reckoned)
    standing = reckoned.season.standing
    standing = standing[standing["active"] == 1]
    codes = [str(one).casefold() for one in standing["keeper"]]
    order = [code for code in [*people, ""] if code in codes]
    order += sorted(set(codes) - set(order))
    asked = _asked(reckoned, people)
    pages = []
    for code in order:
        of, person = standing[[one == code for one in codes]], people.get(code, Keeper(code, ""))
        name = canonical_text(person.shown)
        pages.append(Page(name, person.reach, _colonies(of, reckoned), tuple(asked.get(code, ()))))
    return pages


def _colonies(standing: pd.DataFrame, reckoned: Reckoned) -> tuple[tuple[str, int, Stands], ...]:
    worth = reckoned.season.worth_weighing
    first = {str(colony): int(at) for colony, at in zip(worth["colony"], worth["order"], strict=True)}
    units = measure(reckoned.book.unit)
    rows = standing[[*SHOWN, "apiary"]].to_dict("records")
    return tuple((str(row["apiary"]), first.get(str(row["colony"]), 0), stands_words(row, units)) for row in rows)


def _asked(reckoned: Reckoned, people: Mapping[str, Keeper]) -> dict[str, list[tuple[str, str, str]]]:
    """Open questions by the code of the colony's keeper; by the keeper's name where none names a colony."""
    questions = reckoned.content.told.get("Questions")
    names = {person.name.casefold(): code for code, person in reversed([*people.items()])}
    of = {colony.casefold(): keeper.casefold() for colony, (_, keeper) in places(reckoned).items()}
    found: dict[str, list[tuple[str, str, str]]] = {}
    for row in questions.to_dict("records") if questions is not None else ():
        rule = CATALOGUE.get(str(row["rule"]))
        if not canonical_text(row["holds"]) and not (rule and rule.weight is Weight.NOTE):
            keeper, colony, *told = (canonical_text(row[key]) for key in ("keeper", "colony", "question", "do"))
            code = of.get(colony.casefold(), names.get(keeper.casefold(), ""))
            found.setdefault(code, []).append((colony, told[0], told[1]))
    return found


def keepers_page(pages: list[Page], cards: Cards) -> str:
    """The pages in HTML, one after the other; whatever anyone typed stands in them as text.

    Args:
        pages: the keepers.
        cards: says of which club and day.
    """
    return template("keepers").render(keepers=pages, cards=cards, care=CARE, about_food=ABOUT_FOOD)


def as_page(cards: Cards) -> str:
    """The cards in HTML; whatever anyone typed stands in it as text.

    Args:
        cards: what to print.

    Returns:
        the page, the same for the same cards.
    """
    return template("cards").render(
        cards=cards,
        mass=lambda kilograms: f"{cards.mass(kilograms):.1f}",
        titles=card_words.TITLES,
        nobody=card_words.NOBODY,
        lifts=card_words.LIFTS,
        read_practice=card_words.READ_PRACTICE,
        all_care=card_words.ALL_CARE,
        club_care=card_words.CLUB_CARE,
        standing_in=card_words.standing_in,
        full=card_words.FULL,
        no_apiary=card_words.NO_APIARY,
        sums=card_words.SUMS,
        rows_of=card_words.rows_of,
    )


PAPER_OF_UNIT = {"kg": "A4", "lb": "Letter"}


def make_cards(
    club_path: Path, into: Path, paper: str | None, as_at: date
) -> tuple[Cards, tuple[Path, Path, Path], Reckoned]:
    """Make the cards of a club's book.

    Args:
        club_path: the club's book.
        into: folder for the cards.
        paper: A4 or Letter; by the book's unit if None.
        as_at: the day for which to reckon.

    Returns:
        the cards; the workbook, the page and the keepers' pages; and the book reckoned for that day.

    Raises:
        CannotRead: it is no club's book.
        CannotWrite: the folder cannot be made or written.
    """
    from apiarybook.club.reckoned import read_book, reckon_book

    book = read_book(club_path)
    if book.properties.get("member"):
        raise CannotRead(f"{book.name} is the copy of a member; give the club's own book.")
    reckoned = reckon_book(book, as_at)
    made = content(reckoned, free_refs(book), paper or PAPER_OF_UNIT[book.unit])
    return made, write_cards(made, keeper_pages(reckoned), into), reckoned


def free_refs(book: Book) -> dict[str, str]:
    """The colony that stands ready in each row of Weighings that nobody has typed into, and that is the book's own.

    Args:
        book: a club's book as read.

    Returns:
        by ref in the order of the sheet the colony's code; empty where none stands ready.
    """
    table = book.tables.get("Weighings")
    if table is None:
        return {}
    rows = table.raw[table.is_blank.to_numpy() & table.raw["ref"].notna().to_numpy()]
    own = f"{book.properties.get('copy id', '')}-"
    refs, colonies = rows["ref"].astype(str), rows["ready_colony"].fillna("").astype(str)
    return {ref: colony for ref, colony in zip(refs, colonies, strict=True) if ref.startswith(own)}


def content(reckoned: Reckoned, refs: Mapping[str, str], paper: str) -> Cards:
    """Work out what to print.

    Args:
        reckoned: the club's book, reckoned for the day of the cards.
        refs: of ready-made rows that nobody has typed into, each with the colony that stands ready there.
        paper: A4 or Letter.

    Returns:
        the cards.
    """
    from apiarybook.book.si_frames import si
    from apiarybook.reckon.season import reckon_season

    book, about = reckoned.book, reckoned.content.about
    held = reckoned.checked.held
    frames = {
        name: frame.assign(held=[held.get(name, {}).get(int(row), "") for row in frame.index])
        for name, frame in si(book).items()
    }
    year = int(about["winter"].partition("/")[0])
    opening = reckon_season(frames, book.settings, turning("season_opens", year))
    targets = card_content.targets(reckoned.season, opening, year)
    return Cards(
        club=str(book.settings.get("club") or ""),
        winter=about["winter"],
        as_at=reckoned.content.as_at,
        paper=paper,
        unit=book.unit,
        targets=targets,
        lines=card_content.lines(frames, reckoned.season, refs),
        ticks=card_content.ticks(frames["Extras"], frames["Weighings"]),
        practice=card_content.practice(targets),
    )


def write_cards(made: Cards, of: list[Page], into: Path) -> tuple[Path, Path, Path]:
    """Put the cards into a folder, under names with a number where others stand already.

    Args:
        made: the cards.
        of: the keepers' pages.
        into: the folder, made where it is missing.

    Returns:
        the workbook, the page and the keepers' pages; what stands there already and is the same is not written again.

    Raises:
        CannotWrite: the folder cannot be made or written.
    """
    data = {
        "cards{}.xlsx": as_book(made),
        "cards{}.html": as_page(made).encode(),
        "keepers{}.html": keepers_page(of, made).encode(),
    }
    try:
        into.mkdir(parents=True, exist_ok=True)
        numbers = ("" if number == 1 else f" {number}" for number in count(1))
        number = next(one for one in numbers if all(_is_free(into / n.format(one), data[n]) for n in data))
    except OSError as fault:
        raise CannotWrite(
            f"{into}: this folder cannot be made or read ({in_words(fault)}); name another one."
        ) from fault
    book, page, people = (into / name.format(number) for name in data)
    for path, one in zip((book, page, people), data.values(), strict=True):
        if not path.exists():
            put_in_place(path, one, seen_sha256=None, stamp=made.as_at.isoformat())
    return book, page, people


def _is_free(path: Path, data: bytes) -> bool:
    return not path.exists() or path.read_bytes() == data


PAPERS = {"A4": 9, "Letter": 1}
"""Numbers of papers in a workbook (ISO/IEC 29500-1, 18.3.1.63)."""
LETTERS = 1.5
"""Letters of 10 point text to one unit of a column's width, on the safe side (measured with LibreOffice: 1.6)."""
LINE_HEIGHT = 13.0
"""Height of a line of 10 point text [pt]."""
WRITTEN = 24.0
"""Height of a row to write in by hand [pt]."""
EDGE = "#9AA3B5"


class Pen:
    """A sheet in the making: where the next row goes, and how wide the sheet is."""

    def __init__(self, workbook: Workbook, title: str, cards: Cards, widths: Sequence[float], *, lying: bool) -> None:
        """Add the sheet and set up its page."""
        self.sheet: Worksheet = workbook.add_worksheet(title)
        self.looks = Looks(workbook)
        self.widths = widths
        self.row = 0
        for number, width in enumerate(widths):
            self.sheet.set_column(number, number, width)
        self.sheet.set_paper(PAPERS[cards.paper])
        self.sheet.set_landscape() if lying else self.sheet.set_portrait()
        self.sheet.set_margins(left=0.4, right=0.4, top=0.4, bottom=0.5)
        self.sheet.hide_gridlines(2)
        self.sheet.set_footer("&C&8&A&R&8&P / &N")
        self.text(title, bold=True, font_size=16, font_color=BLUE)
        self.text(cards.heading, font_color="#555555")

    def text(self, text: str, *, lines: int = 0, **look: Any) -> None:
        """A paragraph over the whole width, in a row tall enough for it."""
        size = look.get("font_size", 10)
        letters = sum(self.widths) * LETTERS * 10 / size
        height = (lines or 1 + int((len(text) - 1) / letters)) * LINE_HEIGHT * size / 10 + 3
        shape = self.looks.make(text_wrap=True, **{"valign": "top", "font_color": INK, **look})
        self.sheet.set_row(self.row, height)
        checked(self.sheet.merge_range(self.row, 0, self.row, len(self.widths) - 1, "", shape))
        checked(self.sheet.write_string(self.row, 0, text, shape))
        self.row += 1

    def paragraphs(self, cautions: Iterable[tuple[str, str]]) -> None:
        """Cautions, each under its title."""
        for title, text in cautions:
            self.text(f"{title.upper()}. {text}", font_size=9)

    def dark(self, **look: Any) -> Format:
        """The look of a heading."""
        shape: dict[str, Any] = {"bold": True, "text_wrap": True, "bg_color": BLUE, "font_color": "#FFFFFF"}
        return self.looks.make(**{**shape, "border": 1, "border_color": EDGE, "font_size": 9, **look})

    def headings(self, names: Sequence[str], height: float, right: Container[int] = ()) -> None:
        """The row of headings, dark; those over numbers stand to the right."""
        start, end = self.dark(align="left", indent=1), self.dark(align="right")
        over = [end if number in right else start for number in range(len(names))]
        self.line(names, height, *over)

    def line(self, values: Sequence[object], height: float, *looks: Format) -> None:
        """A row of values; the last look holds for all columns that follow."""
        self.sheet.set_row(self.row, height)
        for number, value in enumerate(values):
            write_value(self.sheet, self.row, number, value, looks[min(number, len(looks) - 1)])
        self.row += 1


def as_book(cards: Cards) -> bytes:
    """The cards as a workbook.

    Args:
        cards: what to print.

    Returns:
        the bytes of an xlsx file, the same for the same cards.

    Raises:
        ProgramFault: the writing library refused a cell or warned.
    """
    target = io.BytesIO()
    with new_workbook(target, "cards", f"Cards, {cards.heading}", cards.as_at) as workbook:
        _targets(workbook, cards)
        _weigh_day(workbook, cards)
        _practice(workbook, cards)
    return target.getvalue()


def _targets(workbook: Workbook, cards: Cards) -> None:
    days = len(cards.days)
    pen = Pen(workbook, card_words.TITLES[0], cards, (30, 15, *[8] * days, 6), lying=False)
    pen.text(cards.about_targets)
    pen.sheet.fit_to_pages(1, 0)
    top = pen.row
    pen.headings(("hive type", "on", *cards.days, "by"), 20, right=range(2, 2 + days))
    pen.sheet.repeat_rows(top)
    for card in cards.targets:
        for group in card.reached:
            beside = (card.hive_type, *card_words.standing_in(card, group, cards))
            for at, (words, row) in enumerate(zip(beside, card_words.rows_of(group), strict=True)):
                _target_row(pen, cards, words, row, is_first=at == 0)
    if not cards.targets:
        pen.text(card_words.NOBODY, bold=True)
    pen.text("")
    pen.paragraphs(card_words.ALL_CARE)


def _target_row(pen: Pen, cards: Cards, beside: str, row: Row, *, is_first: bool) -> None:
    shape: dict[str, Any] = {"border": 1, "border_color": EDGE, "font_color": INK, "font_size": 9}
    shape |= {"top": 2, "top_color": BLUE} if is_first else {}
    shape |= {"bold": True, "bg_color": PALE} if row.is_main else {}
    words = pen.looks.make(indent=1, **shape)
    looks = [pen.looks.make(num_format=f'0.0"{card_words.FULL if full else ""}"', **shape) for full in row.full]
    masses = [cards.mass(one) for one in row.masses]
    pen.line([beside, row.shows, *masses, row.people], 15, words, words, *looks, words)


WEIGHED = ("colony", "hive type", "guess first", "how", "reading 1", "reading 2", "feed left")


def _weigh_day(workbook: Workbook, cards: Cards) -> None:
    widths = (12, 20, 9, 5.5, 9, 9, 8, *[2.8] * len(cards.ticks), 9, 8, 12)
    pen = Pen(workbook, card_words.TITLES[1], cards, widths, lying=True)
    if not cards.lines:
        pen.text(card_words.NOBODY, bold=True)
    breaks = []
    for number, (place, lines) in enumerate(cards.apiaries):
        if number:
            breaks.append(pen.row)
        _apiary(pen, cards, place, lines)
    # a sheet that is fitted to its paper would lose these breaks
    pen.sheet.set_print_scale(min(100, int(100 * LYING[cards.paper] / sum(widths))))
    pen.sheet.set_h_pagebreaks(breaks)


LYING = {"A4": 98, "Letter": 91}
"""Width of columns that a page which lies holds at full size, on the safe side (measured with LibreOffice)."""


def _apiary(pen: Pen, cards: Cards, place: str, lines: Sequence[Line]) -> None:
    """A page of the weigh-day sheet, with all that is to be known where the hives stand."""
    pen.text(place or card_words.NO_APIARY, bold=True, font_size=14, font_color=BLUE)
    fill = "date ______________  by ____________________  scale __________  hive is: dry, damp, soaked ________  "
    pen.text(f"{fill}typed in by __________", lines=2, valign="vcenter")
    after = len(WEIGHED) + len(cards.ticks)
    names = (*WEIGHED, *cards.ticks, "other extra", f"target gross, {cards.unit}", "row")
    pen.headings(names, 72, right=(after + 1,))
    for number, name in enumerate(cards.ticks, len(WEIGHED)):
        write_value(pen.sheet, pen.row - 1, number, name, pen.dark(rotation=90, align="center", bold=False))
    shape = {"border": 1, "border_color": EDGE, "font_color": INK, "text_wrap": True}
    words, small = pen.looks.make(**shape, indent=1), pen.looks.make(**shape, font_size=8, indent=1)
    strong, figures = pen.looks.make(**shape, bold=True, indent=1), pen.looks.make(**shape, num_format="0.0")
    for line in lines:
        target = None if line.target is None else cards.mass(line.target)
        row = [line.colony, line.hive_type, *[None] * (after - 1), target, line.ref]
        pen.line(row, _tall(pen.widths, row), strong, *[words] * after, figures, small)
    pen.text("")
    pen.text(f"{cards.ways} {cards.without_ref}".strip(), font_size=9)
    pen.paragraphs(card_words.CLUB_CARE)


def _tall(widths: Sequence[float], row: Sequence[object]) -> float:
    """Height of a row to write in that also holds its longest word-wrapped cell [pt]."""
    lines = max(1 + int(len(str(one or "")) / width) for width, one in zip(widths, row, strict=True))
    return max(WRITTEN, lines * LINE_HEIGHT)


def _practice(workbook: Workbook, cards: Cards) -> None:
    pen = Pen(workbook, card_words.TITLES[2], cards, (5, 13, 12, 2.5, 5, 15, 9, 9, 8, 8), lying=False)
    pen.sheet.fit_to_pages(1, 1)
    pen.text("hand __________________  partner __________________  date ______________  scale __________", lines=2)
    for number, step in enumerate(cards.do_practice, 1):
        pen.text(f"{number}. {step}")
    pen.text("")
    unit = cards.unit
    _lifts(pen, unit)
    _sums(pen)
    pen.text("What the ten lifts say", lines=2, bold=True, font_size=11, font_color=BLUE, valign="bottom")
    for one in card_words.READ_PRACTICE:
        pen.text(f"- {one}")
    pen.text("")
    pen.paragraphs(card_words.CLUB_CARE)


def _lifts(pen: Pen, unit: str) -> None:
    """Ten rows, the scale's side beyond the fold; typed figures are worked out, the fold's column stays free."""
    pen.line(("lift", f"guess, {unit}", "light, about right, heavy"), 30, pen.dark(align="center"))
    pen.row -= 1
    head = ("colony or load", f"scale, {unit}", "guess less scale", "repeat of", "gap to it")
    shape: dict[str, Any] = {"border": 1, "border_color": EDGE, "align": "center"}
    fold = pen.looks.make(left=3, left_color=INK, font_size=8, align="left", indent=1)
    cell, computed = pen.looks.make(**shape), pen.looks.make(**shape, num_format="0.0")
    write_value(pen.sheet, pen.row, 4, "fold", fold)
    for number, name in enumerate(head, 5):
        write_value(pen.sheet, pen.row, number, name, pen.dark(align="center"))
    pen.row += 1
    first, last = pen.row + 1, pen.row + card_words.LIFTS
    for number in range(1, card_words.LIFTS + 1):
        at = pen.row + 1
        pen.line([number, None, None], WRITTEN, cell)
        write_value(pen.sheet, at - 1, 4, None, fold)
        for column in (5, 6, 8):
            write_value(pen.sheet, at - 1, column, None, cell)
        both, again = f"COUNT(B{at},G{at})=2", f"COUNT(B{at},I{at})=2"
        gap = f'IFERROR(ABS(B{at}-INDEX($B${first}:$B${last},I{at})),"")'
        checked(pen.sheet.write_formula(at - 1, 7, f'=IF({both},B{at}-G{at},"")', computed, ""))
        checked(pen.sheet.write_formula(at - 1, 9, f'=IF({again},{gap},"")', computed, ""))


def _sums(pen: Pen) -> None:
    """Bias, scatter and the hand's own scatter under the ten lifts, blank until there is something to work out."""
    first, last = pen.row - card_words.LIFTS + 1, pen.row
    differences, gaps = f"$H${first}:$H${last}", f"$J${first}:$J${last}"
    shape: dict[str, Any] = {"border": 1, "border_color": EDGE}
    name = pen.looks.make(**shape, bg_color=PALE, font_size=9, indent=1)
    figure = pen.looks.make(**shape, num_format="0.0", bold=True, align="center")
    sums = (
        (7, f'IF(COUNT({differences})>0,AVERAGE({differences}),"")'),
        (7, f'IF(COUNT({differences})>1,STDEV({differences}),"")'),
        (9, f'IF(COUNT({gaps})>0,AVERAGE({gaps})*SQRT(PI())/2,"")'),
    )
    fold = pen.looks.make(left=3, left_color=INK)
    for title, (column, formula) in zip(card_words.SUMS, sums, strict=True):
        pen.sheet.set_row(pen.row, WRITTEN)
        write_value(pen.sheet, pen.row, 4, None, fold)
        checked(pen.sheet.merge_range(pen.row, 5, pen.row, 6, "", name))
        write_value(pen.sheet, pen.row, 5, title, name)
        checked(pen.sheet.write_formula(pen.row, column, f"={formula}", figure, ""))
        pen.row += 1
