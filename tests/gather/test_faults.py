"""Whatever happens half way, the club's book is the old one or the new one, whole, and a sentence says which."""

from __future__ import annotations

import errno
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from apiarybook.errors import CannotWrite
from apiarybook.gather import collate as collating
from apiarybook.gather.collate import collate
from apiarybook.writers import safe_replace as replace
from apiarybook.writers.safe_replace import locked
from tests.gather.copies import returned
from tests.gather.small_club import AS_AT, DAY

if TYPE_CHECKING:
    from tests.gather.conftest import Evening

ROOT = Path(__file__).parents[2]
POINTS = 6
ROW = {"date": DAY, "colony": "A1", "by": "Ann Alder", "how": "full lift", "reading_1": 33.0}


@pytest.fixture
def file(evening: Evening) -> Path:
    return returned(evening.copies["M1"], evening.folder / "in" / "x.xlsx", {"Weighings": [ROW]})


def failing(number: int) -> object:
    def fail(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number))

    return fail


def left_as_it_was(evening: Evening, before: bytes, names: list[str]) -> None:
    assert evening.club.read_bytes() == before
    assert sorted(path.name for path in evening.folder.iterdir()) == names


@pytest.mark.skipif(sys.platform == "win32", reason="processes are killed in another way there")
def test_killed_at_any_moment_the_book_is_whole(evening: Evening, file: Path) -> None:
    words = [sys.executable, "-m", "tests.gather.killed", str(evening.club), str(file), str(POINTS)]
    done = subprocess.run(words, check=True, capture_output=True, cwd=ROOT, timeout=600)
    told = json.loads(done.stdout)
    assert told["differs"]
    assert told["touches"] > POINTS
    assert len(told["killed"]) == POINTS
    assert [lived for lived, _, _ in told["killed"].values()][: POINTS // 2] == [-1] * (POINTS // 2)
    assert {state for _, state, _ in told["killed"].values()} <= {"old", "new"}
    assert all(came_right for _, _, came_right in told["killed"].values()), told


@pytest.mark.parametrize(
    ("number", "said"), [(errno.ENOSPC, "the disk is full"), (errno.EROFS, "nothing may be written in the folder")]
)
def test_full_or_read_only_disk(
    evening: Evening, file: Path, monkeypatch: pytest.MonkeyPatch, number: int, said: str
) -> None:
    before, names = evening.club.read_bytes(), sorted(path.name for path in evening.folder.iterdir())
    monkeypatch.setattr(replace.os, "fsync", failing(number))
    with pytest.raises(CannotWrite, match=said):
        collate(evening.club, [file], as_at=AS_AT)
    left_as_it_was(evening, before, names)


def test_notes_that_cannot_be_written_leave_the_book_up_to_date(
    evening: Evening, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(collating, "put_text", failing(errno.ENOSPC))
    with pytest.raises(CannotWrite, match="book is up to date, but the notes could not be written"):
        collate(evening.club, [file], as_at=AS_AT)
    monkeypatch.undo()
    assert not collate(evening.club, [file], as_at=AS_AT).is_new


def test_two_at_once_exclude_each_other(evening: Evening, file: Path) -> None:
    before, names = evening.club.read_bytes(), sorted(path.name for path in evening.folder.iterdir())
    with locked(evening.club), pytest.raises(CannotWrite, match="another run is at work"):
        collate(evening.club, [file], as_at=AS_AT)
    left_as_it_was(evening, before, names)


def test_open_book_is_not_touched(evening: Evening, file: Path) -> None:
    (evening.folder / ".~lock.club.xlsx#").write_text("Sue Secretary,sue,desk,25.09.2026 20:15,file:///;")
    before, names = evening.club.read_bytes(), sorted(path.name for path in evening.folder.iterdir())
    with pytest.raises(CannotWrite, match=r"open in a spreadsheet program \(Sue Secretary\)"):
        collate(evening.club, [file], as_at=AS_AT)
    assert collate(evening.club, [file], as_at=AS_AT, dry_run=True).is_new
    left_as_it_was(evening, before, names)


def test_book_saved_meanwhile_is_not_overwritten(evening: Evening, file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    written = collating.write_book
    mark = b"saved by somebody"

    def meanwhile(*given: object) -> bytes:
        evening.club.write_bytes(mark)
        return written(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(collating, "write_book", meanwhile)
    with pytest.raises(CannotWrite, match="saved by somebody else"):
        collate(evening.club, [file], as_at=AS_AT)
    assert evening.club.read_bytes() == mark
