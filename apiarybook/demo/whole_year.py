"""The command demo: an invented club's year, from the blank book to what every colony needs and what it taught."""

from __future__ import annotations

import contextlib
import io
import textwrap
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, Any

import click

from apiarybook.cli.output import DONE, findings_json, say_counts, say_findings, say_json, standing_json
from apiarybook.cli.reckoning import say_standing
from apiarybook.cli.years import as_object, say_carried, say_year
from apiarybook.demo import club
from apiarybook.demo.club import AS_AT, CLUB, HONEY, YEAR, Row, Rows
from apiarybook.demo.season import CLOSED, autumn, brought_back, winter_rows
from apiarybook.handbook.cautions import CAUTIONS
from apiarybook.reckon.feeding.feeds import UNITS

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Mapping
    from pathlib import Path

    import pandas as pd

    from apiarybook.club.carry import Carried
    from apiarybook.club.closing import Year
    from apiarybook.club.reckoned import Reckoned
    from apiarybook.demo.season import Hive
    from apiarybook.readers.records import RawBook, RawSheet


@dataclass(frozen=True, slots=True)
class Slip:
    """One slip: the row it happens on, the cells as they were typed, and what was found when somebody looked.

    The row is the one of that number, counted from 1, among the colony's rows on the sheet.
    """

    sheet: str
    colony: str
    number: int
    typed: Callable[[Row], Row]
    found: str


def _reading(row: Row) -> float:
    return float(str(row["reading_1"]))


def _in_pounds(row: Row) -> Row:
    readings = {key: float(str(row[key])) for key in ("reading_1", "reading_2") if key in row}
    return {key: round(reading / UNITS["lb"].factor, 1) for key, reading in readings.items()}


def _digits_swapped(row: Row) -> Row:
    digits = f"{_reading(row):g}"
    return {"reading_1": float(digits[1] + digits[0] + digits[2:])}


def _as_sum(row: Row) -> Row:
    return {"reading_1": f"={_reading(row) + 0.4:g}-0.4"}


SLIPS = (
    Slip("Weighings", "Mill 2", 3, _in_pounds, "Agnes had the scale set to pounds that morning; now in kg."),
    Slip(
        "Weighings",
        "Orchard 3",
        1,
        lambda row: {"reading_2": f"{row['reading_2']}".replace(".", ",")},
        "Bram types at work, where decimals have a comma; typed again with a point.",
    ),
    Slip("Weighings", "Weir 2", 1, lambda row: {"reading_1": f"{row['reading_1']} kg"}, "Maud took the unit out."),
    Slip(
        "Weighings",
        "Glebe 2",
        1,
        lambda _: {"date": "Monday"},
        "Cora had written the day of the week; it was Monday, 10 August.",
    ),
    Slip("Weighings", "Chapel 2", 1, lambda _: {"colony": "Chapell 2"}, "Chapel 2 was meant."),
    Slip(
        "Weighings",
        "Heath 2",
        3,
        lambda row: {"reading_1": round(_reading(row) / 10, 3)},
        "The decimal point stood one place too far left; Edith's slip of paper has it right.",
    ),
    Slip("Weighings", "School 4", 4, _digits_swapped, "Two digits were swapped."),
    Slip("Weighings", "Mill 4", 3, lambda _: {"scale": "H3"}, "It was scale H1; H3 was never at the mill."),
    Slip("Weighings", "Ferry 1", 3, _as_sum, "Isla took the lid's clip off in the cell; now the number alone."),
    Slip("Weighings", "Quarry 1", 2, lambda _: {"heft": "rather light"}, "The words are light, about right and heavy."),
    Slip("Weighings", "School 1", 5, lambda _: {"feed_left": None}, "Piet had looked: the feeder was empty, 0."),
    Slip(
        "Feedings",
        "Orchard 6",
        1,
        lambda row: {"water": round(float(str(row["water"])) / 2, 1)},
        "Half the water had not been written down.",
    ),
    Slip("Feedings", "Orchard 1", 2, lambda _: {"water": None}, "The water stood on the back of the paper."),
    Slip("Feedings", "Ridge 1", 1, lambda _: {"amount": 10}, "One gallon, not ten."),
    Slip(
        "Feedings",
        "Towpath 2",
        1,
        lambda row: {"date": row["date"].replace(year=YEAR - 1)} if isinstance(row["date"], date) else {},
        "This year's feed, last year's number.",
    ),
    Slip(
        "Feedings",
        "Chapel 5",
        3,
        lambda _: {"date": date(YEAR, 10, 3)},
        "Hugh had typed the day on which he typed; his diary has the day of the feed.",
    ),
    Slip("Moves", HONEY, 2, dict.fromkeys, "The super had come off in the middle of August; its row was typed."),
)
TWICE = Slip("Feedings", "Ferry 2", 2, dict, "Isla had typed this feed twice; the second row was cleared.")


def slipped(rows: Rows) -> tuple[Rows, Rows]:
    """The rows as they were first typed, and as they stand once mended.

    Args:
        rows: the rows as they should be.

    Returns:
        both, with the same rows at the same places.
    """
    first = {sheet: [dict(row) for row in typed] for sheet, typed in rows.items()}
    mended = {sheet: list(typed) for sheet, typed in rows.items()}
    for slip in SLIPS:
        row = first[slip.sheet][_place(rows, slip)]
        row |= slip.typed(row)
    again = _place(rows, TWICE) + 1
    first[TWICE.sheet].insert(again, dict(rows[TWICE.sheet][again - 1]))
    mended[TWICE.sheet].insert(again, {})
    return first, mended


def _place(rows: Rows, slip: Slip) -> int:
    places = [at for at, row in enumerate(rows[slip.sheet]) if row["colony"] == slip.colony]
    return places[slip.number - 1]


BOOK = "Alder Vale 2026.xlsx"
TEXT = "what-it-says.txt"
WIDTH = 100
CLOSED_BOOK, NEXT_BOOK, REPORT = "Alder Vale 2026 closed.xlsx", "Alder Vale 2027.xlsx", "report"
CARRIED = date(YEAR + 1, 8, 1)
SEED = 2
"""Makes the id of the next book repeatable."""
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


def demo(into: Path, *, as_json: bool) -> int:
    """Make the invented club's book, mend and reckon it, and say step by step what was done.

    Args:
        into: folder for the book and the text; made if it is not there.
        as_json: for machines.

    Returns:
        the exit code.

    Raises:
        CannotWrite: the demo's book stands there already, or the folder cannot be written.
    """
    first, mended, year, carried = seasons()
    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        tell(first, mended)
        tell_year(year, carried)
        _say_care()
    keep(into, mended, year, carried, said.getvalue())
    if as_json:
        say_json(
            {
                "book": str(into / BOOK),
                "text": str(into / TEXT),
                "findings": findings_json(first.checked.findings),
                "counts": first.checked.counts,
                "standing": standing_json(mended.season),
                "year": as_object(year),
            }
        )
        return DONE
    click.echo(said.getvalue(), nl=False)
    click.echo(f"\nThe books and the report are in {into}, and these words stand in {into / TEXT}.")
    return DONE


def seasons() -> tuple[Reckoned, Reckoned, Year, Carried]:
    """The club's book with its slips and once they are mended; its year closed, and the next winter's book."""
    from apiarybook.book.memory import raw_book
    from apiarybook.club.blank import new_settings, new_tables
    from apiarybook.club.reckoned import read_book, reckon_book
    from apiarybook.club.starting import new_id

    told = {"book id": new_id(1, CLUB, YEAR), "copy id": f"club{YEAR % 100}"}
    tables = new_tables(club.REGION, club.UNIT, told["copy id"])
    raw = raw_book(tables, new_settings(CLUB, YEAR, club.REGION, club.UNIT), told, BOOK)
    lived, season = autumn()
    slips, rows = slipped(season)
    first, mended = (reckon_book(read_book(typed(raw, club.lists() | one)), AS_AT) for one in (slips, rows))
    return first, mended, *year_of(raw, club.lists() | rows, lived, mended.checked.held)


def typed(raw: RawBook, rows: Rows) -> RawBook:
    """A new book after people have typed rows into its blank rows; what begins with = is a formula.

    Args:
        raw: the new book.
        rows: what is typed, by sheet and column key.

    Returns:
        the book as it is then.
    """
    return replace(raw, sheets=raw.sheets | {name: _typed(raw.sheets[name], lines) for name, lines in rows.items()})


def _typed(sheet: RawSheet, lines: list[Row]) -> RawSheet:
    from apiarybook.layout import BOOK as LAYOUT

    keys = [column.key for column in LAYOUT[sheet.name].typed if column.key != "ref"]
    columns = {key: sheet.rows[0].index(LAYOUT[sheet.name][key].heading) for key in keys}
    grid, formulas = [list(row) for row in sheet.rows], {}
    first = next(at for at, row in enumerate(grid) if row[columns[keys[0]]] is None)
    grid += [[None] * len(grid[0]) for _ in range(first + len(lines) - len(grid))]
    for at, line in enumerate(lines, first):
        for key, value in line.items():
            grid[at][columns[key]] = value
            if isinstance(value, str) and value.startswith("="):
                formulas[at + 1, columns[key] + 1] = value
    return replace(sheet, rows=grid, formulas=formulas)


def tell(first: Reckoned, mended: Reckoned) -> None:
    """Say step by step what the club did, what was found, and what to do.

    Args:
        first: the book as it was first typed.
        mended: the book once mended.
    """
    click.echo(f"{CLUB}: an invented club, invented members, invented hives. Their year, step by step.")
    step(1, "The blank book", STARTING)
    step(2, "What the members typed", TYPING)
    say_counts(first.checked.counts)
    step(3, "What the checks say", CHECKING)
    say_findings(first.checked.findings)
    step(4, "How the colonies stand while rows are held", HOLDING)
    say_standing(first)
    step(5, "What was found when people looked", MENDING)
    for slip in (*SLIPS, TWICE):
        click.echo(f"  {slip.sheet}, {slip.colony}: {slip.found}")
    step(6, f"The mended book, reckoned as at {AS_AT}", MENDED)
    say_findings(mended.checked.findings)
    say_standing(mended)
    step(7, "What to do now", DOING)
    _say_work(mended.season.standing)


def _say_care() -> None:
    step(11, "With care", "The book reckons stores and nothing else.")
    for title, text in CAUTIONS:
        click.echo(textwrap.fill(f"{title}. {text}", WIDTH, initial_indent="  ", subsequent_indent="    "))


STARTING = (
    'In August the equipment secretary made the club\'s book: apiarybook start "Alder Vale 2026.xlsx" --club '
    '"Alder Vale Beekeepers" --winter 2026 --region british-isles. The hive types, feeds, extras and the winter of the '
    "region stood in it, each figure with its source. The club added members, apiaries, colonies and scales, and one "
    "feed of its own."
)
TYPING = (
    "From August to October each colony was weighed or hefted four times, in six ways, and fed as its keeper thought "
    "right. A guess was written down before the scale was read, so that hands are tried too."
)
CHECKING = (
    'apiarybook check "Alder Vale 2026.xlsx" names each slip with its cell and what to do. A held row is not used; '
    "nothing is altered, and nothing typed is lost."
)
HOLDING = "apiarybook reckon works all the same; colonies whose newest row is held stand on older evidence."
MENDING = "The secretary sent the queries round, and the members looked at their notes."
MENDED = "No row is held any more. What is still asked or noted is for somebody to know, not to mend."
DOING = (
    "Liquid feed is over for the year, so what is given now is fondant, on top of the combs. Colonies called weigh "
    "were only hefted or lifted at one side, too coarse for a verdict: a full lift by two, or both sides one at a time."
)


def step(number: int, title: str, text: str) -> None:
    """Print the heading of a step and what happened in it."""
    click.echo(f"\n{number}. {title}\n{'=' * (len(title) + len(str(number)) + 2)}")
    click.echo(textwrap.fill(text, WIDTH))


def _say_work(standing: pd.DataFrame) -> None:
    """One line a colony that calls for something."""
    from apiarybook.reckon.standing.verdict import ENOUGH

    for row in standing[~standing["verdict"].isin(["", *ENOUGH])].to_dict("records"):
        click.echo(f"  {row['colony']:11}  {row['verdict']:13}  {_work(row)}")


def _work(row: dict[Hashable, Any]) -> str:
    """What one colony calls for."""
    from apiarybook.reckon.standing.verdict import day_words

    if row["verdict"] == "weigh":
        return f"{row['because']}: too rough to tell"
    if row["verdict"] == "comb full":
        return f"{row['because']}: add a box of drawn comb, or plan fondant"
    give = f"{row['feed_mass']:.1f} kg of {row['feed_kind'].lower()} by {day_words(row['by_date'])}"
    weighs = ""
    if row["should_weigh"] > 0:
        weighs = f", then it should weigh {row['should_weigh']:.1f} kg on {day_words(row['should_on'])}"
    return f"{give}{weighs} ({row['because']})"


def keep(into: Path, mended: Reckoned, year: Year, carried: Carried, text: str) -> None:
    """Put the books, the report and the text into a folder.

    Args:
        into: the folder; made if it is not there.
        mended: the book in autumn.
        year: the closed year.
        carried: the next winter's book.
        text: what was said.

    Raises:
        CannotWrite: one of the books stands there already, or the folder cannot be written.
    """
    from apiarybook.errors import CannotWrite, in_words
    from apiarybook.pages.year_page import write_report
    from apiarybook.writers.safe_replace import locked, put_in_place
    from apiarybook.writers.workbook import write_book

    books = {BOOK: mended, CLOSED_BOOK: year.reckoned, NEXT_BOOK: carried.reckoned}
    try:
        into.mkdir(parents=True, exist_ok=True)
        for name, reckoned in books.items():
            with locked(into / name):
                data, day = write_book(reckoned.content), reckoned.content.as_at.isoformat()
                put_in_place(into / name, data, seen_sha256=None, stamp=day)
        (into / TEXT).write_bytes(text.encode())
        write_report(year, into / REPORT)
    except OSError as fault:
        if isinstance(fault, CannotWrite):
            raise
        raise CannotWrite(
            f"{into}: the demo cannot be written there ({in_words(fault)}); name another folder."
        ) from fault


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


def tell_year(year: Year, carried: Carried) -> None:
    """Say what the winter did, what it taught, and what goes on.

    Args:
        year: the closed year.
        carried: the next winter's book.
    """
    step(8, "The winter", WINTERING)
    outcomes = year.facts.found["outcome"].value_counts()
    click.echo("  " + ", ".join(f"{count} {name}" for name, count in outcomes.items() if name) + ".")
    step(9, "The year's end", CLOSING)
    say_year(year)
    step(10, "The next winter's book", CARRYING)
    say_carried(carried, NEXT_BOOK, YEAR + 1)
