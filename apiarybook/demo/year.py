"""The invented club's winter, its year's end and the book of the next winter."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import click

from apiarybook.cli.carrying import say_carried
from apiarybook.cli.yearend import say_year
from apiarybook.demo.club import CLUB, YEAR
from apiarybook.demo.winter import CLOSED, brought_back, winter_rows

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from apiarybook.club.carry import Carried
    from apiarybook.club.closing import Year
    from apiarybook.demo.club import Rows
    from apiarybook.demo.season import Hive
    from apiarybook.readers.records import RawBook

CLOSED_BOOK, NEXT_BOOK, REPORT = "Alder Vale 2026 closed.xlsx", "Alder Vale 2027.xlsx", "report"
CARRIED = date(YEAR + 1, 8, 1)
SEED = 2
"""Makes the id of the next book repeatable."""


def year_of(raw: RawBook, rows: Rows, lived: list[Hive], held: Mapping[str, Mapping[int, str]]) -> tuple[Year, Carried]:
    """Let the club live through its winter, close its year and make the next book.

    Args:
        raw: the blank book.
        rows: every row typed until autumn, mended.
        lived: every colony as it truly is by then.
        held: by sheet and row, what is still held: nobody could say what was meant, so these rows are cleared.
    """
    from apiarybook.club.carry import carry
    from apiarybook.club.closing import close
    from apiarybook.club.reckoned import read_book, reckon_book
    from apiarybook.club.starting import new_id
    from apiarybook.demo.whole_year import typed

    sound = {
        name: [{} if at in held.get(name, {}) else row for at, row in enumerate(of, 2)] for name, of in rows.items()
    }
    more = winter_rows(lived)
    sound["Scale loans"] = brought_back(sound["Scale loans"])
    whole = sound | {name: sound.get(name, []) + of for name, of in more.items()}
    year = close(reckon_book(read_book(typed(raw, whole)), CLOSED))
    book_id = new_id(SEED, CLUB, YEAR + 1)
    carried = carry(year.reckoned, year=YEAR + 1, as_at=CARRIED, book_id=book_id, facts=year.facts)
    return year, carried


WINTERING = (
    "From November on the colonies lived on what they had. On two rounds in January and February some were hefted, and "
    "those found light were given fondant on top. In March and April each was looked at: what became of it went on the "
    "sheet After winter, and those alive were weighed once more before the flow."
)
CLOSING = (
    'apiarybook yearend "Alder Vale 2026.xlsx" --report report looks at the whole year, says what is missing, and '
    "closes it where nothing is held, miscounted or in conflict. The report is a page to print or to read on a phone; "
    "it names no colony, and sums of fewer than five keepers read few."
)
CARRYING = (
    'apiarybook carry "Alder Vale 2026.xlsx" "Alder Vale 2027.xlsx" --winter 2027 makes the next book. The events of '
    "this winter stay behind."
)


def tell_year(year: Year, carried: Carried) -> None:
    """Say what the winter did, what it taught, and what goes on.

    Args:
        year: the closed year.
        carried: the next winter's book.
    """
    from apiarybook.demo.whole_year import step

    step(8, "The winter", WINTERING)
    outcomes = year.facts.found["outcome"].value_counts()
    click.echo("  " + ", ".join(f"{count} {name}" for name, count in outcomes.items() if name) + ".")
    step(9, "The year's end", CLOSING)
    say_year(year)
    step(10, "The next winter's book", CARRYING)
    say_carried(carried, NEXT_BOOK, YEAR + 1)


def keep_year(into: Path, year: Year, carried: Carried) -> None:
    """Put the closed book, the report and the next book into a folder.

    Args:
        into: the folder.
        year: the closed year.
        carried: the next winter's book.

    Raises:
        CannotWrite: a book stands there already, or the folder cannot be written.
    """
    from apiarybook.pages.year_page import write_report
    from apiarybook.writers.safe_replace import locked, put_in_place
    from apiarybook.writers.workbook import write_book

    for name, reckoned in ((CLOSED_BOOK, year.reckoned), (NEXT_BOOK, carried.reckoned)):
        with locked(into / name):
            data = write_book(reckoned.content)
            put_in_place(into / name, data, seen_sha256=None, stamp=reckoned.content.as_at.isoformat())
    write_report(year, into / REPORT)
