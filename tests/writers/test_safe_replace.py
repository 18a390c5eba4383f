"""A whole book stands in its place whatever happens: full disks, killed runs, open books, two runs at once."""

import errno
import hashlib
import io
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from apiarybook.errors import CannotWrite
from apiarybook.writers.safe_replace import _part, backups, locked, put_in_place, spare_backups

OLD, NEW, DAY = b"the old book" * 1000, b"the new book" * 1001, "2026-09-25"
OWNER_OF_OPEN_DOCUMENT = b",ann,hill,25.09.2026 09:00,file:///books/ann;"
OWNER_OF_OFFICE = b"\x03Ann" + b" " * 161


def sha(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def replace(book: Path, data: bytes = NEW, seen: bytes | None = OLD) -> Path | None:
    return put_in_place(book, data, seen_sha256=None if seen is None else sha(seen), stamp=DAY)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = tmp_path / "club.xlsx"
    path.write_bytes(OLD)
    return path


def names(book: Path) -> list[str]:
    return sorted(path.name for path in book.parent.iterdir())


def test_the_former_book_is_kept_under_a_dated_name(book: Path) -> None:
    os.utime(book, (1_790_000_000, 1_790_000_000))
    kept = replace(book)
    assert kept is not None
    assert (book.read_bytes(), kept.read_bytes(), kept.stat().st_mtime) == (NEW, OLD, 1_790_000_000)
    assert names(book) == ["club backup 2026-09-25.xlsx", "club.xlsx"]


def test_no_backup_is_ever_overwritten(book: Path) -> None:
    for now, following in ((OLD, NEW), (NEW, b"third"), (b"third", b"fourth")):
        replace(book, following, now)
    kept = [book.with_name(f"club backup {DAY}{tail}.xlsx").read_bytes() for tail in ("", " 2", " 3")]
    assert kept == [OLD, NEW, b"third"]


def test_the_same_bytes_write_nothing_even_while_the_book_is_open(book: Path) -> None:
    book.with_name("~$club.xlsx").write_bytes(OWNER_OF_OFFICE)
    before = book.stat().st_mtime_ns
    assert replace(book, OLD) is None
    assert (book.stat().st_mtime_ns, names(book)) == (before, ["club.xlsx", "~$club.xlsx"])


def test_a_book_that_was_kept_already_is_kept_once(book: Path) -> None:
    replace(book)
    book.write_bytes(OLD)
    replace(book)
    assert names(book) == [f"club backup {DAY}.xlsx", "club.xlsx"]


def test_only_old_backups_of_this_very_book_are_spare(book: Path) -> None:
    kept = [
        f"club backup 2026-{month:02d}-{day:02d}{tail}.xlsx"
        for month in (7, 8)
        for day in (1, 9)
        for tail in ("", " 2")
    ]
    last = [f"club backup 2026-09-{day:02d}.xlsx" for day in range(1, 13)]
    for name in [*kept, *last, "club backup 2026-06-01.ods", "club 2 backup 2026-06-01.xlsx", "club backup plan.xlsx"]:
        book.with_name(name).write_bytes(OLD)
    assert [path.name for path in backups(book)] == [*kept, *last]
    of_months = {kept[3], kept[7]}
    assert [path.name for path in spare_backups(book)] == [name for name in kept if name not in of_months]


def test_two_computers_do_not_share_an_unfinished_file(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    here = _part(book)
    monkeypatch.setattr("platform.node", lambda: "another")
    assert _part(book) != here
    here.write_bytes(b"half of what another computer writes")
    replace(book)
    assert here.exists()


def test_a_new_book_takes_no_place_that_is_taken(book: Path) -> None:
    with pytest.raises(CannotWrite, match=r"^club.xlsx stands there already and was left as it is; choose another"):
        replace(book, seen=None)
    assert replace(book.with_name("other.xlsx"), seen=None) is None
    assert names(book) == ["club.xlsx", "other.xlsx"]


def test_a_link_stays_a_link(book: Path, tmp_path: Path) -> None:
    link = tmp_path / "desk" / "book.xlsx"
    link.parent.mkdir()
    link.symlink_to(book)
    kept = replace(link)
    assert link.is_symlink()
    assert (link.read_bytes(), kept) == (NEW, book.with_name(f"club backup {DAY}.xlsx"))


def test_the_new_book_may_be_read_by_whom_the_old_one_could(book: Path) -> None:
    book.chmod(0o640)
    replace(book)
    assert book.stat().st_mode & 0o777 == 0o640


@pytest.mark.parametrize(
    ("mark", "owner", "who"),
    [
        (".~lock.club.xlsx#", OWNER_OF_OPEN_DOCUMENT, "ann"),
        ("~$club.xlsx", OWNER_OF_OFFICE, "Ann"),
        ("~$club.xlsx", b"", "someone"),
    ],
)
def test_an_open_book_is_left_as_it_is_and_its_mark_named(book: Path, mark: str, owner: bytes, who: str) -> None:
    book.with_name(mark).write_bytes(owner)
    with pytest.raises(CannotWrite) as caught:
        replace(book)
    assert str(caught.value) == (
        f"club.xlsx is open in a spreadsheet program ({who}) and was left as it is; save and close it there, then run "
        f"again; if it is open nowhere, a program that died has left the file {mark} beside it: delete that file."
    )
    assert (book.read_bytes(), names(book)) == (OLD, sorted([mark, "club.xlsx"]))


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda book: book.write_bytes(b"saved by Ann"), "was saved by somebody else since it was read"),
        (lambda book: book.rename(book.with_name("elsewhere.xlsx")), "has been moved, renamed or deleted since"),
        (lambda book: book.chmod(0o444), "is marked read-only; take that mark off"),
        (lambda book: (book.unlink(), book.mkdir()), "cannot be replaced .*; choose another name"),
    ],
)
def test_what_is_no_longer_the_book_that_was_read_is_left(
    book: Path, change: Callable[[Path], object], says: str
) -> None:
    change(book)
    before = names(book)
    with pytest.raises(CannotWrite, match=says):
        replace(book)
    assert names(book) == before


def test_a_save_while_this_run_writes_is_noticed_too(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def save(_: int) -> None:
        book.write_bytes(b"saved by Ann")

    monkeypatch.setattr(os, "fsync", save)
    with pytest.raises(CannotWrite, match="was saved by somebody else since it was read"):
        replace(book)
    assert (book.read_bytes(), names(book)) == (b"saved by Ann", ["club.xlsx"])


def test_a_missing_folder_is_named(tmp_path: Path) -> None:
    with pytest.raises(CannotWrite, match=r"club.xlsx: the folder .*nowhere does not exist; make it or name another"):
        replace(tmp_path / "nowhere" / "club.xlsx", seen=None)


class Steps:
    """Counts what is asked of the disk and fails at one of these steps; a write fails with half of it done."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, fault: BaseException, at: int) -> None:
        self.fault, self.at, self.done = fault, at, 0
        for place, name in (
            (Path, "open"),
            (Path, "replace"),
            (os, "link"),
            (os, "fsync"),
            (shutil, "copymode"),
            (shutil, "copystat"),
        ):
            monkeypatch.setattr(place, name, self.counted(getattr(place, name)))

    def step(self) -> None:
        self.done += 1
        if self.done == self.at:
            raise self.fault

    def counted(self, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*given: Any, **named: Any) -> Any:
            self.step()
            result = real(*given, **named)
            return self.half(result) if isinstance(result, io.BufferedWriter) else result

        return call

    def half(self, file: io.BufferedWriter) -> io.BufferedWriter:
        steps = self

        class Half(io.BufferedWriter):
            def write(self, data: Any) -> int:
                super().write(data[: len(data) // 2])
                super().flush()
                steps.step()
                return super().write(data[len(data) // 2 :])

        return Half(file.detach())


FAULTS: list[tuple[BaseException, str]] = [
    (OSError(errno.ENOSPC, "No space left on device"), "the disk is full; the book was left as it is; make room"),
    (OSError(errno.EROFS, "Read-only file system"), "nothing may be written in the folder .*; choose a folder of your"),
    (OSError(errno.EIO, "Input/output error"), r"could not be written \(Input/output error\); the book was left as it"),
    (KeyboardInterrupt(), ""),
]


@pytest.mark.parametrize(("fault", "says"), FAULTS)
def test_a_fault_at_any_step_leaves_the_old_book_and_nothing_else(
    book: Path, monkeypatch: pytest.MonkeyPatch, fault: BaseException, says: str
) -> None:
    for at in range(1, 100):
        with monkeypatch.context() as patched:
            steps = Steps(patched, fault, at)
            try:
                replace(book)
            except (CannotWrite, KeyboardInterrupt) as caught:
                said = str(caught)
            else:
                break
        if book.read_bytes() == NEW:  # interrupted when all was done
            break
        if at > 3:  # the first steps are to read the book and to look whether it is open
            assert re.search(says, said)
        assert (book.read_bytes(), names(book)) == (OLD, ["club.xlsx"])
    assert steps.done >= 15
    assert (book.read_bytes(), names(book)) == (NEW, [f"club backup {DAY}.xlsx", "club.xlsx"])


def test_what_does_not_read_back_the_same_is_not_put_in_place(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "fsync", lambda _: _part(book).write_bytes(b"rotten"))
    with pytest.raises(CannotWrite, match="does not read back the same, the disk may be failing"):
        replace(book)
    assert (book.read_bytes(), names(book)) == (OLD, ["club.xlsx"])


@pytest.mark.parametrize("at", [1, 2])
def test_where_the_old_book_cannot_be_replaced_the_new_one_is_put_beside_it(
    book: Path, monkeypatch: pytest.MonkeyPatch, at: int
) -> None:
    """As Windows does while another program has the book open (from memory)."""
    real = Path.replace
    if at == 2:
        book.with_name(f"club new {DAY}.xlsx").write_bytes(b"of an earlier run")

    def refuse(path: Path, target: Path) -> Path:
        if target == book:
            raise PermissionError(errno.EACCES, "Access is denied")
        return real(path, target)

    monkeypatch.setattr(Path, "replace", refuse)
    beside = f"club new {DAY}.xlsx" if at == 1 else f"club new {DAY} 2.xlsx"
    with pytest.raises(CannotWrite, match=f"the new book stands beside it as {beside}; close club.xlsx and run again"):
        replace(book)
    assert (book.read_bytes(), book.with_name(beside).read_bytes()) == (OLD, NEW)
    assert len(names(book)) == 1 + at


KILLED = """
import os, signal, sys
from pathlib import Path
from apiarybook.writers.safe_replace import locked, put_in_place

book, at, old = Path(sys.argv[1]), int(sys.argv[2]), sys.argv[3]
new, seen, done = b"the new book" * 1001, 0, []

def die(event, given):
    if event in {"open", "os.rename", "os.remove", "os.link"} and str(book.parent) in str(given[0]):
        done.append(event)
        if len(done) == at:
            os.kill(os.getpid(), signal.SIGKILL)

with locked(book):
    sys.addaudithook(die)
    put_in_place(book, new, seen_sha256=old, stamp="2026-09-25")
"""


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no SIGKILL")
def test_a_killed_run_leaves_a_whole_book_and_the_next_run_goes_through(tmp_path: Path) -> None:
    """Killed before each opening, renaming and removing of a file, by the system and at once."""
    book = tmp_path / "club.xlsx"
    for at in range(1, 100):
        book.write_bytes(OLD)
        given = [sys.executable, "-c", KILLED, str(book), str(at), sha(OLD)]
        ended = subprocess.run(given, check=False, capture_output=True)
        if ended.returncode == 0:
            break
        assert ended.returncode == -9, ended.stderr
        assert book.read_bytes() in (OLD, NEW)
        for kept in tmp_path.glob("club backup*"):
            assert kept.read_bytes() == OLD
        put_in_place(book, NEW, seen_sha256=sha(book.read_bytes()), stamp=DAY)
        assert (book.read_bytes(), len(names(book))) == (NEW, 2), "the backup of the run that was cut off is this one's"
        for kept in tmp_path.glob("club backup*"):
            kept.unlink()
    assert at > 10
    assert book.read_bytes() == NEW
    assert not list(tmp_path.glob(".*")), "what killed runs left was tidied away"


def test_two_runs_on_one_book_exclude_each_other_and_leave_nothing_beside_it(book: Path) -> None:
    with locked(book), locked(book.with_name("other.xlsx")):
        again = book.parent / "." / "club.xlsx"
        with (
            pytest.raises(CannotWrite, match=r"club.xlsx: another run is at work on this book; wait until"),
            locked(again),
        ):
            pass
        assert names(book) == ["club.xlsx"]
    with locked(book):
        pass


def test_another_process_is_kept_off_too(book: Path) -> None:
    tries = "import sys; from pathlib import Path; from apiarybook.writers.safe_replace import locked; "
    tries += "locked(Path(sys.argv[1])).__enter__()"
    with locked(book):
        ended = subprocess.run([sys.executable, "-c", tries, str(book)], check=False, capture_output=True, text=True)
    assert "CannotWrite: club.xlsx: another run is at work on this book" in ended.stderr


def test_where_no_mark_can_be_set_it_is_said(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tempfile.gettempdir", lambda: str(book))
    with pytest.raises(CannotWrite, match="no mark can be set in the folder"), locked(book):
        pass
