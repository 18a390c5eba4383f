"""The cards as a page that needs nothing from elsewhere; made with the keepers' pages and put into a folder."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import count
from typing import TYPE_CHECKING

from apiarybook.book.measure import measure
from apiarybook.checks.finding import Weight
from apiarybook.checks.rule import CATALOGUE
from apiarybook.club.people import Keeper, keepers, places
from apiarybook.errors import CannotRead, CannotWrite, in_words
from apiarybook.handbook.cautions import FEEDING, LIFTING, STINGS
from apiarybook.pages import card_content, card_words
from apiarybook.pages.card_book import as_book
from apiarybook.pages.card_words import Cards
from apiarybook.pages.environment import template
from apiarybook.pages.notes import ABOUT_FOOD, SHOWN, stands_words
from apiarybook.readers.canonical import canonical_text
from apiarybook.writers.safe_replace import put_in_place

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from pathlib import Path

    import pandas as pd

    from apiarybook.book.tables import Book
    from apiarybook.club.reckoned import Reckoned
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
        for name, frame in si(book, {}).items()
    }
    year = int(about["winter"].partition("/")[0])
    opening = reckon_season(frames, book.settings, card_content.season_opens(year))
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
