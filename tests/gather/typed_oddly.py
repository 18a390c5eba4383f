"""Returns and books as people leave them, by chance: `python -m tests.gather.typed_oddly 1000` tries so many.

A law is broken if gathering or reckoning raises anything but a plain sentence, or if doing it again changes a byte.
"""

from __future__ import annotations

import sys
import tempfile
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

from apiarybook.gather.on_disk import reckon_file
from apiarybook.readers.raw import read_raw
from tests.gather.copies import filled, gathered, handed_out, saved
from tests.gather.small_club import AS_AT, club_book

if TYPE_CHECKING:
    from apiarybook.readers.records import RawBook

TYPED = (
    *(None, 12.0, 1.5, -1.0, 1e300, True, False, "12", "a1", "A1", "B1", "A/1", "M2a_00c0-W1", "TRUE", "yes", "light"),
    *(date(2026, 9, 12), date(1900, 1, 1), datetime(2026, 9, 12, 7, 30), datetime(1900, 1, 1, 12)),  # noqa: DTZ001 as written
    *("#N/A", "=1+1", " ", "1,5", "12 kg", "A1\nA2", "\u202emirrored", "x" * 400, "x" * 32_000),
)
"""What stands in cells that people, pasting and other programs fill: numbers, dates, others' codes and marks."""
COPY = ("My colonies", "Weighings", "Feedings", "Winter rounds", "After winter")
BOOK = ("Colonies", "Weighings", "Feedings", "Winter rounds", "Moves", "After winter")
COLUMNS = 14


def spoilt(raw: RawBook, names: tuple[str, ...], chance: Random) -> RawBook:
    """A file in which some rows of each sheet were overtyped, copied whole or typed below the ready-made ones."""
    for name in names:
        rows = raw.sheets[name].rows
        heading = next(at for at, row in enumerate(rows) if {"colony", "apiary"} & {str(one).casefold() for one in row})
        width = max(len(row) for row in rows)
        for row in rows:
            row.extend([None] * (width - len(row)))
        for _ in range(chance.randint(1, 5)):
            at = chance.randint(heading + 1, len(rows) + 2)
            rows.extend([None] * width for _ in range(at + 1 - len(rows)))
            if chance.random() < 0.2:
                rows[at] = list(chance.choice(rows[heading + 1 :]))
            for _ in range(chance.randint(1, 5)):
                rows[at][chance.randrange(min(width, COLUMNS))] = chance.choice(TYPED)
    return replace(raw, sheets={name: replace(one, formulas={}, errors={}) for name, one in raw.sheets.items()})


def returns(seeds: range, folder: Path) -> list[str]:
    """Gather a spoilt return twice and reckon after it; gives what broke the law."""
    club, copies = handed_out(folder)
    first, broken = club.read_bytes(), []
    for seed in seeds:
        file = folder / f"in {seed}" / "x.xlsx"
        saved(spoilt(filled(copies["M1"], {}), COPY, Random(seed)), file)  # noqa: S311 any numbers will do
        club.write_bytes(first)
        states = [gathered(club, file), gathered(club, file)]
        reckon_file(club, AS_AT)
        broken += [f"return {seed}"] if len({*states, club.read_bytes()}) > 1 else []
    return broken


def books(seeds: range, folder: Path) -> list[str]:
    """Reckon a spoilt book twice; gives what broke the law."""
    broken = []
    for seed in seeds:
        path = folder / f"{seed}" / "club.xlsx"
        path.parent.mkdir()
        raw = spoilt(read_raw(club_book(path)), BOOK, Random(seed))  # noqa: S311 any numbers will do
        saved(raw, path)
        path = reckon_file(path, AS_AT)[1]
        once = path.read_bytes()
        reckon_file(path, AS_AT)
        broken += [f"book {seed}"] if path.read_bytes() != once else []
    return broken


def main(many: int) -> int:
    """Hold the laws against so many files and say which broke one."""
    seeds = range(many // 2)
    with tempfile.TemporaryDirectory() as folder:
        (inbox := Path(folder, "returns")).mkdir()
        (shelf := Path(folder, "books")).mkdir()
        broken = [*returns(seeds, inbox), *books(seeds, shelf)]
    sys.stdout.write(f"{2 * len(seeds)} files, {len(broken)} broke a law: {', '.join(broken) or 'none'}\n")
    return int(bool(broken))


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1])))
