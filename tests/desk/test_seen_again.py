"""What the desk says of a book that is saved again and again is what a fresh process says of it."""

from __future__ import annotations

import io
import random
import re
import subprocess
import sys
import zipfile
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from apiarybook.desk.front import front
from apiarybook.desk.watching import Seen, Watch
from apiarybook.readers.package import Package
from apiarybook.readers.xlsx import worksheet_parts

if TYPE_CHECKING:
    from apiarybook.desk.questions import Question

DEMO = Path(__file__).parents[2] / "demo" / "Alder Vale 2026.xlsx"
DAY = date(2026, 10, 10)
TYPED = ("Weighings", "Feedings", "Colonies", "Moves", "Scales", "Hive types", "Settings", "Winter rounds")
STEPS = 4
CELL = re.compile(rb'(<c r="[A-Z]+\d+"(?: s="\d+")?(?P<is_word> t="s")?><v>)([^<]*)(</v></c>)')
"""A number or a word that somebody typed; formulas are written otherwise."""
FRESH = f"""
import sys
sys.stdout.reconfigure(encoding="utf-8")
from pathlib import Path
from tests.desk.{Path(__file__).stem} import shown, watch
book = watch(Path(sys.argv[1]))
book.look()
print(shown(book.seen))
"""


def watch(book: Path) -> Watch:
    return Watch(book, lambda: DAY, lambda: None, lambda: None)


def shown(seen: Seen | None) -> str:
    """All that the pages of questions and of today say of a book."""
    assert seen is not None
    assert seen.reckoned is not None, seen.said
    asked: list[Question] = [replace(one, is_new=False) for one in seen.asked]
    return f"{asked}\n{front(seen.reckoned, asked)}\n{seen.reckoned.checked.counts}"


def edited(data: bytes, rng: random.Random) -> bytes:
    """The book with one cell typed over by another or cleared, packed as some program packs it."""
    part = worksheet_parts(Package(DEMO.name, data))[rng.choice(TYPED)]
    done = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(done, "w") as new:
        for entry in old.infolist():
            content = old.read(entry)
            if entry.filename.lower() == part.lower():
                cells = list(CELL.finditer(content))
                cell = rng.choice(cells)
                words, numbers = [one[3] for one in cells if one["is_word"]], [b"0", b"3.5", b"29.4", b"359", b"-1"]
                value = rng.choice(words if cell["is_word"] else [*numbers, cell[3] + b"1", b"46300"])
                typed = rng.choice([cell[1] + value + cell[4], b""])
                content = content[: cell.start()] + typed + content[cell.end() :]
            new.writestr(entry.filename, content, zipfile.ZIP_DEFLATED, rng.choice([1, 6, 9]))
    return done.getvalue()


@pytest.mark.long
@pytest.mark.parametrize("seed", range(2))
def test_what_is_seen_again_is_what_is_seen_afresh(tmp_path: Path, seed: int) -> None:
    rng, book, states = random.Random(seed), tmp_path / "club.xlsx", [DEMO.read_bytes()]  # noqa: S311 any edits do
    book.write_bytes(states[0])
    desk = watch(book)
    desk.look()
    for _ in range(STEPS):
        states.append(edited(rng.choice(states[-2:]), rng))
        book.write_bytes(states[-1])
        desk.look()
        afresh = watch(book)
        afresh.look()
        assert shown(desk.seen) == shown(afresh.seen)
    words = [sys.executable, "-c", FRESH, str(book)]
    told = subprocess.run(words, check=True, capture_output=True, encoding="utf-8", cwd=Path(__file__).parents[2])
    assert told.stdout == shown(desk.seen) + "\n"
