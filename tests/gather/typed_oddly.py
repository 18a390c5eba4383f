"""Returns and books as people leave them, by chance: `python -m tests.gather.typed_oddly 1000` tries so many.

Half of them are returns, half are books; a third of each is saved by LibreOffice or Gnumeric in one of their forms
before it comes back. A law is broken if gathering or reckoning raises anything but a plain sentence, if doing it again
or in another order changes a byte, if a text that was typed is nowhere in the book, or if rows come out that nobody
typed.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from collections import defaultdict
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

from apiarybook.book.table import BEGINNING
from apiarybook.book.tables import read_book
from apiarybook.gather.claims import HANDED_OUT
from apiarybook.gather.collate import collate
from apiarybook.gather.on_disk import reckon_file
from apiarybook.readers.canonical import canonical_text
from apiarybook.readers.raw import read_raw
from tests.gather.copies import filled, handed_out, saved
from tests.gather.small_club import AS_AT, DAY, HIVE, club_book

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from apiarybook.readers.records import RawBook
    from tests.gather.small_club import Row

TYPED = (
    *(None, 12.0, 1.5, -1.0, 1e300, True, False, "12", "a1", "A1", "B1", "A/1", "M2a_00c0-W1", "TRUE", "yes", "light"),
    *(date(2026, 9, 12), date(1900, 1, 1), datetime(2026, 9, 12, 7, 30), datetime(1900, 1, 1, 12)),  # noqa: DTZ001 as written
    *("#N/A", "=1+1", " ", "1,5", "12 kg", "A1\nA2", "\u202emirrored", "x" * 400, "x" * 32_000),
)
"""What stands in cells that people, pasting and other programs fill: numbers, dates, others' codes and marks."""
COPY = ("My colonies", "Weighings", "Feedings", "Winter rounds", "After winter")
BOOK = ("Colonies", "Weighings", "Feedings", "Winter rounds", "Moves", "After winter")
COLUMNS = 14
CSV = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,-1"
"""Every sheet in a file of its own, UTF-8, cells as shown."""
OFFICE = ("xlsx", "ods", "xls", CSV)
GNUMERIC = ("xlsx:Gnumeric_Excel:xlsx2", "ods:Gnumeric_OpenCalc:odf", "xls:Gnumeric_Excel:excel_biff8", "csv:")
THIRD = 3
MOST_ROWS = 14
"""Rows of a sheet that are spoilt at the most: it is the file that takes time, not what is odd in it."""
AT_ONCE = 10
"""Members whose spoilt returns are gathered together."""
FORMS_OF_TEN = 2
"""Forms of each program that ten files come to; the next ten go on with the other ones."""


def spoilt(raw: RawBook, names: tuple[str, ...], chance: Random) -> RawBook:
    """A file in which some rows of each sheet were overtyped, copied whole or typed below the ready-made ones."""
    for name in names:
        rows = raw.sheets[name].rows
        heading = next(at for at, row in enumerate(rows) if {"colony", "apiary"} & {str(one).casefold() for one in row})
        width = max(len(row) for row in rows)
        for row in rows:
            row.extend([None] * (width - len(row)))
        for _ in range(chance.randint(1, MOST_ROWS)):
            at = chance.randint(heading + 1, len(rows) + 2)
            rows.extend([None] * width for _ in range(at + 1 - len(rows)))
            if chance.random() < 0.2:
                rows[at] = list(chance.choice(rows[heading + 1 :]))
            for _ in range(chance.randint(1, 5)):
                rows[at][chance.randrange(min(width, COLUMNS))] = chance.choice(TYPED)
    return replace(raw, sheets={name: replace(one, formulas={}, errors={}) for name, one in raw.sheets.items()})


def saved_by_programs(files: dict[int, Path], forms: tuple[str, ...] = ()) -> dict[int, list[Path]]:
    """Let the programs that are installed save every third file in one of their forms; gives the files by number.

    Args:
        files: by number; each is called by its number.
        forms: the endings that may come out; all if not given.
    """
    found = {number: [path] for number, path in files.items()}
    programs = [name for name in ("soffice", "ssconvert") if shutil.which(name)]
    by_form: dict[tuple[str, str], list[int]] = defaultdict(list)
    turn = min(files, default=0) // AT_ONCE * FORMS_OF_TEN
    for at, number in enumerate(sorted(files)[::THIRD] if programs else ()):
        program = programs[at % len(programs)]
        known = [one for one in (OFFICE if program == "soffice" else GNUMERIC) if not forms or one.startswith(forms)]
        by_form[program, known[(at // len(programs) + turn) % len(known)]].append(number)
    for (program, form), numbers in by_form.items():
        into = files[numbers[0]].parent / f"saved {program} {form[:4].strip(':')}"
        into.mkdir()
        convert = _by_office if program == "soffice" else _by_gnumeric
        convert(into, form, [files[number] for number in numbers])
        for number in numbers:
            found[number] = sorted(one for one in into.iterdir() if one.stem.partition("-")[0] == files[number].stem)
    return found


def _by_office(into: Path, form: str, files: list[Path]) -> None:
    profile = f"-env:UserInstallation={(into.parent / 'profile').as_uri()}"
    words = ["soffice", profile, "--headless", "--convert-to", form, "--outdir", str(into), *map(str, files)]
    subprocess.run(words, check=True, capture_output=True)


def _by_gnumeric(into: Path, form: str, files: list[Path]) -> None:
    ending, _, exporter = form.partition(":")
    words = ["-T", exporter] if exporter else ["-S"]
    for file in files:
        name = f"{file.stem}.{ending}" if exporter else f"{file.stem}-%s.{ending}"
        subprocess.run(["ssconvert", *words, str(file), str(into / name)], check=True, capture_output=True)


def returns(seeds: Iterable[int], folder: Path) -> list[str]:
    """Gather spoilt returns, those of ten members at a time beside a sound one; gives what broke a law."""
    club, copies = handed_out(folder, _club())
    first, spoilt_by, members = club.read_bytes(), {}, list(copies)
    other = saved(filled(copies[members[-1]], {}), folder / "other.xlsx")
    for at, seed in enumerate(seeds):
        raw = spoilt(filled(copies[members[at % AT_ONCE]], {}), COPY, Random(seed))  # noqa: S311 any numbers will do
        spoilt_by[seed] = saved(raw, folder / f"{seed}.xlsx")

    def look(files: list[Path]) -> dict[str, bool]:
        club.write_bytes(first)
        return _gathered(club, files, other)

    files, numbers = saved_by_programs(spoilt_by), list(spoilt_by)
    groups = [numbers[at : at + AT_ONCE] for at in range(0, len(numbers), AT_ONCE)]
    by_group = {group[0]: [file for seed in group for file in files[seed]] for group in groups}
    return _broken(f"{AT_ONCE} returns from", by_group, look)


def _club() -> dict[str, list[Row]]:
    """Ten members, each with two colonies weighed and fed, and one more."""
    members = [f"M{number}" for number in range(1, AT_ONCE + 2)]
    pairs = [(member, f"{letter}{member[1:]}") for member in members for letter in "AB"]
    weighed: Row = {"date": DAY, "how": "full lift", "reading_1": 31.0, "feed_left": 0.0}
    fed: Row = {"date": DAY, "feed_kind": "Fondant", "amount": 1.0, "unit": "kg"}
    hive: Row = {"hive_type": HIVE, "takes_fondant": "yes", "reached": "yes"}
    return {
        "Members": [{"member": member, "name": f"Ann {member}"} for member in members],
        "Apiaries": [{"apiary": f"P{member}", "member": member, "profile": "british-isles"} for member in members],
        "Colonies": [{"colony": colony, "apiary": f"P{member}", **hive} for member, colony in pairs],
        "Weighings": [{"colony": colony, "by": f"Ann {member}", **weighed} for member, colony in pairs],
        "Feedings": [{"colony": colony, **fed} for _, colony in pairs],
        "Scale loans": [],
    }


def _broken(kind: str, files: dict[int, list[Path]], look: Callable[[list[Path]], dict[str, bool]]) -> list[str]:
    found = []
    for seed, paths in files.items():
        try:
            told = look(paths)
        except Exception as fault:  # noqa: BLE001 whatever is raised, its seed is to be told
            told = {f"raised {fault!r:.200}": True}
        found += [f"{kind} {seed} ({paths[0].name}): {what}" for what, is_so in told.items() if is_so]
    return found


def _gathered(club: Path, files: list[Path], other: Path) -> dict[str, bool]:
    """Gather files at once, again, in another order, and in two parts into the first book; gives what is wrong."""
    first, before = club.read_bytes(), _rows(club)
    done = collate(club, [*files, other], as_at=AS_AT)
    states, told = {club.read_bytes()}, _words(read_raw(club))
    for order in ([*files, other], [other, *files[::-1]]):
        collate(club, order, as_at=AS_AT)
        states.add(club.read_bytes())
    club.write_bytes(first)
    for part in ([other, *files[1::2]], files[::2]):
        collate(club, part, as_at=AS_AT)
    reckon_file(club, AS_AT)
    states.add(club.read_bytes())
    handed = {claim.ref for claim in done.rebuilt.claims if claim.file == HANDED_OUT}
    new = sum(_typed_anew([claim.ref for claim in one.claims if claim.ref], handed) for one in done.returns)
    sound = [one for one in done.left_alone if not one.name.endswith(".csv")]
    lost = _lost([read_raw(one) for one in files], told)
    return {
        f"{len(states)} books": len(states) > 1,
        f"left alone {sound}": bool(sound),
        "rows doubled": _rows(club) > before + new,
        f"lost {lost}": bool(lost),
    }


def _typed_anew(refs: list[str], handed: set[str]) -> int:
    """How many rows of a return are none that was handed out; of a row copied whole with its mark one was."""
    return len(refs) - len(handed.intersection(refs))


def _rows(path: Path) -> int:
    """How many filled rows stand on the sheets that people type into."""
    book = read_book(path)
    return sum(int((~book.tables[name].is_blank).sum()) for name in BOOK if name in book.tables)


def _words(raw: RawBook) -> str:
    return "\x1f".join(canonical_text(one) for sheet in raw.sheets.values() for row in sheet.rows for one in row if one)


def _lost(files: list[RawBook], told: str) -> list[str]:
    """Texts in the rows of a return, cut short, that are nowhere in what a book says."""
    rows = [row for raw in files for name, sheet in raw.sheets.items() if name.endswith(COPY) for row in sheet.rows]
    texts = {canonical_text(one) for row in rows for one in row[:COLUMNS] if isinstance(one, str)} & SPOILT
    return sorted(text for text in texts if text[: BEGINNING // 2] not in told)


SPOILT = frozenset(canonical_text(one) for one in TYPED if isinstance(one, str))


def books(seeds: Iterable[int], folder: Path) -> list[str]:
    """Reckon spoilt books twice; gives what broke a law."""
    spoilt_by = {}
    first = club_book(folder / "club.xlsx")
    for seed in seeds:
        raw = spoilt(read_raw(first), BOOK, Random(seed))  # noqa: S311 any numbers will do
        spoilt_by[seed] = saved(raw, folder / f"{seed}.xlsx")
    return _broken("book", saved_by_programs(spoilt_by, ("xlsx", "ods", "xls")), _reckoned)


def _reckoned(files: list[Path]) -> dict[str, bool]:
    before = _rows(files[0])
    beside = reckon_file(files[0], AS_AT)[1]
    once = _cells(beside, files[0].name)
    again = reckon_file(beside, AS_AT)[1]
    changed = _cells(again, beside.name) != once
    return {"changed again": changed, f"{before} rows became {_rows(again)}": _rows(again) != before}


def _cells(path: Path, name: str) -> list[object]:
    """All that stands in a book, but for the name that the file had when it was reckoned."""
    sheets = read_raw(path).sheets.values()
    return [[sheet.name, [[None if one == name else one for one in row] for row in sheet.rows]] for sheet in sheets]


def main(many: int) -> int:
    """Hold the laws against so many files and say which broke one."""
    seeds = range(many // 2)
    with tempfile.TemporaryDirectory() as folder:
        (inbox := Path(folder, "returns")).mkdir()
        (shelf := Path(folder, "books")).mkdir()
        broken = [*returns(seeds, inbox), *books(seeds, shelf)]
    said = "".join(f"  {one}\n" for one in broken)
    sys.stdout.write(f"{2 * len(seeds)} files, {len(broken)} broke a law\n{said}")
    return int(bool(broken))


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1])))
