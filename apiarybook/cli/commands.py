"""The commands: one thin function each, that reads its words, calls the package and says what came of it."""

from __future__ import annotations

import errno
import gc
import math
import os
import sys
import zlib
from datetime import date, datetime
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from apiarybook import __version__
from apiarybook.cli.output import DONE
from apiarybook.errors import ApiarybookError, CannotRead, ProgramFault, in_words
from apiarybook.handbook import REGIONS

if TYPE_CHECKING:
    from collections.abc import Callable

FAILED = 2
_SAID = 120
"""Letters of a fault of the program that are said on the terminal; the file to send has all."""


class Day(click.ParamType[date]):
    """A date typed as 2026-09-25."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """Read the date, or say in one sentence how to type it."""
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(str(value))
        except ValueError:
            self.fail(f"{value!r} is no date; type it like 2026-09-25", param, ctx)


def today() -> date:
    """The day by this computer's clock, in its own time zone."""
    from apiarybook.book.settings import Today

    now = datetime.now().astimezone()
    return Today(now.year, now.month, now.day)


def common(command: Callable[..., int]) -> Callable[..., None]:
    """Give a command --json and --as-at, and end with its code."""

    @click.option(
        "--as-at",
        type=Day(),
        default=None,
        help="Reckon for this day, like 2026-09-25, and hold the book to it; without it for today.",
    )
    @click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output, for machines.")
    @wraps(command)
    def run(as_at: date | None, **given: Any) -> None:
        sys.exit(command(as_at=as_at or today(), **given))

    return run


class Closeness(click.FloatRange):
    """A number above nought; what is no number, be it spelt as one, is refused."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Read the number."""
        number = super().convert(value, param, ctx)
        return number if math.isfinite(number) else self.fail(f"{value!r} is no number", param, ctx)


class Folder(click.Path):
    """A folder to write into, as a person names one; a blank is none."""

    def __init__(self) -> None:
        """Make it give a path."""
        super().__init__(path_type=Path)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Refuse a blank, which would be the folder that the command runs in."""
        if not str(value).strip():
            self.fail("no folder is named", param, ctx)
        return super().convert(value, param, ctx)


class Commands(click.Group):
    """The commands, which answer whatever goes wrong in one sentence."""

    def main(self, *args: Any, **extra: Any) -> Any:
        """Run one command; what cannot be done ends with 2."""
        extra["standalone_mode"] = False
        try:
            code = super().main(*args, **extra)
        except click.ClickException as fault:
            said = fault.format_message().rstrip(".")
            said = said if said.endswith("?") else f"{said}."
            where = fault.ctx.command_path if isinstance(fault, click.UsageError) and fault.ctx else "apiarybook"
            click.echo(f"{said} How the command is written: {where} --help", err=True)
            code = FAILED
        except ApiarybookError as fault:
            click.echo(str(fault) + (_to_send(fault) if isinstance(fault, ProgramFault) else ""), err=True)
            code = FAILED
        except OSError as fault:
            code = _cut_off(fault)
        except click.Abort:
            click.echo("Stopped; nothing more was done.", err=True)
            code = FAILED
        except Exception as fault:  # noqa: BLE001 whatever it is, a person gets a sentence
            what = " ".join(f"{type(fault).__name__}: {fault}".split())[:_SAID]
            click.echo(f"A fault of this program stopped the command ({what}).{_to_send(fault)}", err=True)
            code = FAILED
        sys.exit(code if isinstance(code, int) else DONE)


def _to_send(fault: BaseException) -> str:
    """Write down what a fault of the program was, where it does not stand in anybody's way, and say where."""
    import platform
    import tempfile
    import traceback

    told = f"apiarybook {__version__}, Python {platform.python_version()}, {platform.platform()}"
    told += f"\n{sys.argv[1:2]}\n{''.join(traceback.format_exception(fault))}"
    path = Path(tempfile.gettempdir(), f"apiarybook fault {zlib.crc32(told.encode('utf-8', 'replace')):08x}.txt")
    whole = " Every book is whole, as it was before or as the command meant it."
    try:
        path.write_text(told, encoding="utf-8", errors="replace")
    except OSError:
        return whole
    return f"{whole} Send the file {path} to whoever looks after this program; it may quote a cell, so read it first."


def _cut_off(fault: OSError) -> int:
    """The computer refuses something that no command foresaw, mostly to take what is said: its reader has gone away."""
    sys.stdout = Path(os.devnull).open("w", encoding="utf-8")  # noqa: SIM115 the last flush needs some place to go
    if fault.errno != errno.EPIPE:
        where = f"{fault.filename}: " if fault.filename else ""
        click.echo(f"{where}the command was cut off: {in_words(fault)}.", err=True)
    return FAILED


@click.group(cls=Commands, invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="apiarybook")
@click.pass_context
def main(context: click.Context) -> None:
    """Bring every colony of a club into winter with enough stores.

    Without a command it opens the desk, a page beside the spreadsheet; where no browser can be opened it asks in plain
    words what to do.
    """
    gc.set_threshold(*SELDOM)
    if context.invoked_subcommand is None:
        from apiarybook.desk.shelf import has_screen

        if has_screen():
            context.exit(context.invoke(desk))
        from apiarybook.cli.questions import ask

        click.echo(NO_SCREEN)
        context.exit(ask(main, today()))


SELDOM = (50_000, 20, 20)
"""How seldom Python looks for objects that only hold each other: a book is made of a million that do not."""
NO_SCREEN = "No browser can be opened here; to have an address to open elsewhere on this computer: apiarybook desk"


@main.command()
@click.argument("book", required=False, type=click.Path(path_type=Path))
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Where to listen; a free port if left out.")
@click.option("--browser/--no-browser", default=True, help="Open the browser, or only print the address.")
@click.option("--seed", type=int, default=None, help="Makes ids of new books repeatable; only for trials.")
@click.option("--as-at", type=Day(), default=None, help="Reckon for this day instead of today, like 2026-09-25.")
@click.option(
    "--json", "as_json", is_flag=True, help="The address as one JSON object on standard output, for machines."
)
def desk(book: Path | None, port: int, seed: int | None, as_at: date | None, *, browser: bool, as_json: bool) -> None:
    """Open the desk: a page on this computer, beside the spreadsheet, that does what the commands do."""
    from apiarybook.desk.server import serve
    from apiarybook.desk.shelf import has_screen

    try:
        serve(
            book,
            day=today if as_at is None else lambda: as_at,
            port=port,
            browser=browser and has_screen(),
            seed=seed,
            as_json=as_json,
        )
    except ApiarybookError as error:
        click.echo(str(error), err=True)
        sys.exit(FAILED)


@main.command()
@click.option("--into", type=Folder(), default=Path("apiarybook-demo"), help="Folder for the demo.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output, for machines.")
def demo(into: Path, *, as_json: bool) -> None:
    """Show an invented club's season, from blank book to result."""
    from apiarybook.demo.whole_year import demo as run

    sys.exit(run(into, as_json=as_json))


@main.command()
@click.argument("club_book", type=click.Path(path_type=Path))
@click.option("--club", required=True, help="The club's name.")
@click.option("--winter", required=True, type=int, help="The year in which the winter begins: 2026 for 2026/27.")
@click.option("--region", required=True, help=f"One of: {', '.join(REGIONS)}.")
@click.option(
    "--unit", type=click.Choice(["kg", "lb"]), default=None, help="Unit of all masses; as usual in the region."
)
@click.option("--seed", type=int, default=None, help="Makes the book's id repeatable; only for trials.")
@common
def start(
    club_book: Path,
    club: str,
    winter: int,
    region: str,
    unit: str | None,
    seed: int | None,
    *,
    as_at: date,
    as_json: bool,
) -> int:
    """Make a club's new book, and a launcher beside it to double-click."""
    from apiarybook.cli.years import start as run
    from apiarybook.club.starting import unit_of

    return run(
        club_book,
        club=club,
        winter=winter,
        region=region,
        unit=unit or unit_of(region),
        seed=seed,
        as_at=as_at,
        as_json=as_json,
    )


@main.command()
@click.argument("books", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--why", default=None, metavar="SHEET!CELL", help="Say why this cell of a club's book says what it says.")
@common
def check(books: tuple[Path, ...], why: str | None, *, as_at: date, as_json: bool) -> int:
    """Say what is wrong or doubtful in books; exit code 1 if any row is held."""
    if why is not None:
        if len(books) > 1:
            raise CannotRead("--why looks into one book; name the club's book alone.")
        from apiarybook.cli.copies import say_trail

        return say_trail(books[0], why, as_json=as_json)
    from apiarybook.cli.reckoning import check as run

    return run(books, as_at=as_at, as_json=as_json)


@main.command()
@click.argument("book", type=click.Path(path_type=Path))
@common
def reckon(book: Path, *, as_at: date, as_json: bool) -> int:
    """Reckon all result sheets of a book in place."""
    from apiarybook.cli.reckoning import reckon as run

    return run(book, as_at=as_at, as_json=as_json)


@main.command()
@click.argument("club_book", type=click.Path(path_type=Path))
@click.option("--into", required=True, type=Folder(), help="Folder for the copies.")
@click.option("--member", "members", multiple=True, help="Code of a member; may be given again. All if left out.")
@click.option("--seed", type=int, default=None, help="Makes the book's id repeatable; only for trials.")
@common
def handout(
    club_book: Path, into: Path, members: tuple[str, ...], seed: int | None, *, as_at: date, as_json: bool
) -> int:
    """Hand out one member copy for each member of a club's book."""
    from apiarybook.cli.copies import handout as run

    return run(club_book, into, members, seed=seed, as_at=as_at, as_json=as_json)


@main.command()
@click.argument("club_book", type=click.Path(path_type=Path))
@click.argument("returns", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--dry-run", is_flag=True, help="Show what would change and write nothing.")
@click.option("--notes", "notes_into", type=Folder(), default=None, help="Folder for the notes.")
@common
def collate(
    club_book: Path,
    returns: tuple[Path, ...],
    notes_into: Path | None,
    *,
    dry_run: bool,
    as_at: date,
    as_json: bool,
) -> int:
    """Gather members' returns into the club's book, and write a reply note for each member."""
    from apiarybook.cli.copies import collate as run

    return run(club_book, returns, dry_run=dry_run, notes_into=notes_into, as_at=as_at, as_json=as_json)


@main.command()
@click.argument("club_book", type=click.Path(path_type=Path))
@click.option("--into", required=True, type=Folder(), help="Folder for the cards.")
@click.option(
    "--paper", type=click.Choice(["A4", "Letter"]), default=None, help="A4 for a book in kg, Letter for one in lb."
)
@common
def cards(club_book: Path, into: Path, paper: str | None, *, as_at: date, as_json: bool) -> int:
    """Make the target card, the weigh-day sheet and the practice sheet, to print."""
    from apiarybook.cli.hefting import cards as run

    return run(club_book, into, paper, as_at=as_at, as_json=as_json)


@main.command()
@click.argument("club_book", type=click.Path(path_type=Path))
@click.option("--page", type=click.Path(path_type=Path), default=None, help="Write the same as a page with a chart.")
@click.option(
    "--within",
    type=Closeness(min=0, min_open=True),
    default=None,
    help="Name the fewest colonies to weigh until the feed of all together is known so closely, in the book's unit.",
)
@common
def hefting(club_book: Path, page: Path | None, within: float | None, *, as_at: date, as_json: bool) -> int:
    """Say how good each hand is, whom to let heft alone, and which colonies to weigh next."""
    from apiarybook.cli.hefting import hefting as run

    return run(club_book, page=page, within=within, as_at=as_at, as_json=as_json)


@main.command()
@click.argument("club_book", type=click.Path(path_type=Path))
@click.option("--report", required=True, type=Folder(), help="Folder for the report.")
@common
def yearend(club_book: Path, report: Path, *, as_at: date, as_json: bool) -> int:
    """Check a whole year, close it, and report what it taught; exit code 1 if something stands in the way."""
    from apiarybook.cli.years import yearend as run

    return run(club_book, report, as_at=as_at, as_json=as_json)


@main.command()
@click.argument("club_book", type=click.Path(path_type=Path))
@click.argument("next_book", type=click.Path(path_type=Path))
@click.option("--winter", required=True, type=int, help="The year in which the next winter begins: 2027 for 2027/28.")
@click.option("--seed", type=int, default=None, help="Makes the book's id repeatable; only for trials.")
@common
def carry(club_book: Path, next_book: Path, winter: int, seed: int | None, *, as_at: date, as_json: bool) -> int:
    """Make the next winter's book: lists, tares, scales, hands and what was learnt; events stay behind."""
    from apiarybook.cli.years import carry as run

    return run(club_book, next_book, winter=winter, seed=seed, as_at=as_at, as_json=as_json)


@main.command()
@click.argument("club_book", type=click.Path(path_type=Path))
@click.option("--into", required=True, type=Folder(), help="New folder for the package.")
@common
def share(club_book: Path, into: Path, *, as_at: date, as_json: bool) -> int:
    """Make a Data Package of the club's rows without names, places and remarks, for others to learn from."""
    from apiarybook.cli.years import share as run

    return run(club_book, into, as_at=as_at, as_json=as_json)
