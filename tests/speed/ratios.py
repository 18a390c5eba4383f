"""How long a club's evening takes, in times of only reading and writing its files: `python -m tests.speed.ratios`.

Each job runs three times in a process of its own, jobs taking turns, so that a busy computer slows all alike; the
middle one counts. The floor beside it reads the same files with python-calamine and writes the cells of the book that
comes out with plain xlsxwriter; the plain way is a loop of pandas.read_excel over four sheets, concat and to_excel,
without a formula, a check or a merge.

    python -m tests.speed.ratios                     the demo's club; ends with 1 if anything takes longer than `MOST`
    python -m tests.speed.ratios 30 120 500          so many returns of 60 rows besides
    python -m tests.speed.ratios 30 120 500 --write  and keeps the ratios in the guide
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from datetime import date
from functools import partial
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable

HERE = Path(__file__).parents[2]
PAGE = HERE / "apiarybook" / "guide" / "speed.md"
AS_AT = date(2026, 10, 10)
BOOK_ID = "00c0ffee"
TIMES = 3
"""Trials of which the middle one counts."""
ROWS = ("My colonies", "Weighings", "Feedings", "Winter rounds")
MOST = {"check": 30.0, "reckon": 3.2, "hand out": 2.5, "gather its copies": 4.3}
"""Times of the floor that the demo's club may take, 1.6 times what was measured: starting takes a second of each."""
Cells = dict[str, list[tuple[int, int, object]]]
"""The cells of a book by sheet: row, column, and value or formula."""
TYPES = (str, int, float, type(None))


class Took(NamedTuple):
    """Seconds of the processor that a process took, and the most memory that it held [MB]."""

    seconds: float
    megabytes: float


def check(folder: Path) -> None:
    from apiarybook.gather.on_disk import look_at_file

    look_at_file(folder / "club.xlsx", AS_AT)


def reckon(folder: Path) -> None:
    from apiarybook.gather.on_disk import reckon_file

    reckon_file(folder / "club.xlsx", AS_AT)


def hand_out(folder: Path) -> None:
    from apiarybook.gather.handout import handout

    handout(folder / "club.xlsx", folder / "in", as_at=AS_AT, book_id=BOOK_ID)


def gather(folder: Path) -> None:
    from apiarybook.gather.collate import collate

    collate(folder / "club.xlsx", [folder / "in"], as_at=AS_AT)


def learn(folder: Path) -> None:
    """Note the cells of each book that comes out: row, column, and value or formula."""
    from openpyxl import load_workbook

    for path in sorted((folder / "out").glob("*.xlsx")):
        cells = {
            sheet.title: [[one.row - 1, one.column - 1, _plain(one.value)] for row in sheet for one in row]
            for sheet in load_workbook(path)
        }
        path.with_suffix(".json").write_text(json.dumps(cells), encoding="utf-8")


def _plain(value: object) -> object:
    """A cell's value, a day as a number, a formula of several cells as its text."""
    return (
        46_000.0 if isinstance(value, date) else value if isinstance(value, TYPES) else str(getattr(value, "text", ""))
    )


def read(paths: list[Path]) -> None:
    from python_calamine import CalamineWorkbook

    for book in (CalamineWorkbook.from_path(path) for path in paths):
        for name in book.sheet_names:
            book.get_sheet_by_name(name).to_python()


def write(book: Cells, path: Path) -> None:
    import xlsxwriter
    from xlsxwriter.worksheet import Worksheet

    class Bare(Worksheet):  # type: ignore[misc]  # the library carries no types
        """A sheet that looks for no newer functions in its formulas, which takes the library longer than all else."""

        def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:  # noqa: ARG002, FBT001, FBT002 as inherited
            return formula.removeprefix("=")

    with xlsxwriter.Workbook(path, {"strings_to_urls": False}) as made:
        look = made.add_format({"border": 1})
        for name, cells in book.items():
            sheet = made.add_worksheet(name, worksheet_class=Bare)
            for row, column, value in cells:
                sheet.write(row, column, value, look)


def floor(folder: Path, *, reads: str = "*.xlsx", writes: str = "") -> float:
    """Only read the files, and write the cells of those that come out; gives the seconds to learn of these cells."""
    begun = time.process_time()
    found = sorted((folder / "out").glob(writes)) if writes else []
    cells = [json.loads(path.read_text(encoding="utf-8")) for path in found]
    learnt = time.process_time() - begun
    read([folder / "club.xlsx", *(sorted((folder / "in").glob(reads)) if reads else [])])
    for number, book in enumerate(cells):
        write(book, folder / f"plain {number}.xlsx")
    return learnt


def plain(folder: Path) -> None:
    import pandas as pd

    found: dict[str, list[pd.DataFrame]] = {name: [] for name in ROWS}
    for path in sorted((folder / "in").glob("*.xlsx")):
        book = pd.read_excel(path, sheet_name=None, engine="calamine")
        for name in ROWS:
            found[name] += [book[name]] if name in book else []
    with pd.ExcelWriter(folder / "plain.xlsx", engine="xlsxwriter") as out:
        for name, frames in found.items():
            if frames:
                pd.concat(frames).to_excel(out, sheet_name=name)


JOBS: dict[str, tuple[Callable[[Path], object], Callable[[Path], float]]] = {
    "check": (check, partial(floor, reads="")),
    "reckon": (reckon, partial(floor, reads="", writes="club.json")),
    "hand out": (hand_out, partial(floor, reads="", writes="*.json")),
    "gather": (gather, partial(floor, writes="club.json")),
}
"""Each job with its floor; the folder `out` holds what comes out of it."""


def prepared(folder: Path, returns: int) -> None:
    """A club's book and its returns: the demo's with its own copies, or a club of so many members."""
    from tests.speed.test_big_evening import made

    if returns:
        made(folder, returns, 36, 20)
        return
    shutil.copy(HERE / "demo" / "Alder Vale 2026.xlsx", folder / "club.xlsx")
    hand_out(folder)


def measured(job: str, folder: Path) -> Took:
    """Run one job in a process of its own on a copy of a folder."""
    with tempfile.TemporaryDirectory() as one:
        room = Path(one) / "room"
        shutil.copytree(folder, room)
        if job == "hand out":
            shutil.rmtree(room / "in")
        took = started(job, room)
        if not (folder / "out").exists() and job == "gather":
            (folder / "out").mkdir()
            shutil.copy(room / "club.xlsx", folder / "out")
        return took


def started(job: str, folder: Path) -> Took:
    """Do one thing in a process of its own; this one stays small, for the other begins with its memory."""
    words = [sys.executable, "-m", "tests.speed.ratios", "--job", job, str(folder)]
    with subprocess.Popen(words, cwd=HERE, stdout=subprocess.PIPE, text=True, env={**os.environ}) as process:
        assert process.stdout is not None
        left_out = float(process.stdout.read() or 0)
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode == 0, f"{job} failed"
    return Took(used.ru_utime + used.ru_stime - left_out, used.ru_maxrss / 1024)


def alone(job: str, folder: Path) -> None:
    """One job, in this process; prints the seconds that are not to be counted."""
    name, _, kind = job.partition(", ")
    told: object = None
    if name == "prepare":
        prepared(folder, int(kind))
    elif name == "learn":
        learn(folder)
    elif kind == "plain":
        plain(folder)
    else:
        told = JOBS[name][kind == "floor"](folder)
    sys.stdout.write(str(told) if isinstance(told, float) else "0")


Line = tuple[str, Took, Took, "Took | None"]


def lines(returns: int) -> list[Line]:
    """What each job of a club takes, its floor, and the plain way of gathering."""
    with tempfile.TemporaryDirectory() as one:
        folder = Path(one)
        started(f"prepare, {returns}", folder)
        measured("gather", folder)
        if not returns:
            for path in (folder / "in").glob("*.xlsx"):
                shutil.copy(path, folder / "out" / f"copy {path.name}")
        started("learn", folder)
        jobs = ["gather"] if returns else list(JOBS)
        kinds = [(job, kind) for job in jobs for kind in ("", ", floor", *([", plain"] if job == "gather" else []))]
        took: dict[str, list[Took]] = {job + kind: [] for job, kind in kinds}
        for _ in range(TIMES):
            for name, found in took.items():
                found.append(measured(name, folder))
        middle = {name: Took(*map(median, zip(*found, strict=True))) for name, found in took.items()}
        count = len(list((folder / "in").glob("*.xlsx")))
    told = {job: job for job in jobs} | {"gather": f"gather {count} returns" if returns else "gather its copies"}
    return [(told[job], middle[job], middle[f"{job}, floor"], middle.get(f"{job}, plain")) for job in jobs]


HEAD = """# How long it takes

Seconds of the processor for whole processes, in times of a floor that only reads the same files (python-calamine) and
writes the cells of the books that come out, formulas among them (plain xlsxwriter, without its search for functions
newer than the file format, which would treble the floor). The plain way reads four sheets of each return with pandas,
puts them together and writes them, without a formula, a check, a reply or a merge. Returns have 60 rows each, of
readings drawn at random, so that nearly every change of weight is asked about.
`python -m tests.speed.ratios` measures the first lines, and with numbers of returns behind it the others; the middle
one of three trials counts.

| what | times the floor | the plain way | memory, times the floor's |
| --- | ---: | ---: | ---: |
"""


def page(found: list[Line]) -> str:
    """The ratios as they are kept."""
    return HEAD + "".join(
        f"| {what} | {took.seconds / least.seconds:.1f} | {f'{way.seconds / least.seconds:.1f}' if way else ''} | "
        f"{took.megabytes / least.megabytes:.1f} |\n"
        for what, took, least, way in found
    )


def main(words: list[str]) -> int:
    """Measure, print, and say whether the demo's club stays within its bounds."""
    found, beyond = [], []
    for returns in (0, *(int(word) for word in words if word.isdecimal())):
        for line in lines(returns):
            what, took, least, way = line
            times = took.seconds / least.seconds
            beside = f", the plain way {way.seconds:.1f} s" if way else ""
            sys.stdout.write(
                f"{what}: {took.seconds:.1f} s, {times:.2f} times the floor of {least.seconds:.1f} s{beside}; "
                f"{took.megabytes:.0f} MB, the floor {least.megabytes:.0f}\n"
            )
            sys.stdout.flush()
            found.append(line)
            beyond += [what] if times > MOST.get(what, times) else []
    if "--write" in words:
        PAGE.write_text(page(found), encoding="utf-8")
    if beyond:
        sys.stdout.write(f"longer than held: {', '.join(beyond)}\n")
    return int(bool(beyond))


if __name__ == "__main__":
    if sys.argv[1:2] == ["--job"]:
        alone(sys.argv[2], Path(sys.argv[3]))
    else:
        sys.exit(main(sys.argv[1:]))
