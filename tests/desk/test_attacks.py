"""Things that mean harm, or do it by accident: nothing leaks, nothing is lost, and each is told why."""

from __future__ import annotations

import contextlib
import http.client
import json
import os
import re
import signal
import subprocess
import sys
from typing import TYPE_CHECKING
from urllib.parse import quote

import pytest

from apiarybook.desk import guard
from apiarybook.desk.guard import LOOPBACK
from apiarybook.desk.server import PAGES
from tests.desk.small import Client, desk
from tests.gather.small_club import AS_AT, ROWS, Row, club_book

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

EVIL = "<script>alert(1)</script><img src=x onerror=alert(2)>\"'{{ 7*7 }}"
TEXTS = {
    "Members": [{"member": "M1", "name": EVIL}, {"member": "M2", "name": EVIL}],
    "Apiaries": [{**row, "place": EVIL} for row in ROWS["Apiaries"]],
    "Weighings": [{**row, "by": EVIL, "remarks": EVIL} for row in ROWS["Weighings"]]
    + [{**ROWS["Weighings"][0], "colony": EVIL, "how": EVIL, "heft": EVIL, "reading_1": EVIL}],
    "Feedings": [{**row, "feed_kind": EVIL, "remarks": EVIL} for row in ROWS["Feedings"]],
}
NAMES = (
    "../../out.xlsx",
    "..\\..\\out.xlsx",
    "/etc/out.csv",
    ".hidden.csv",
    "con\x00.csv",
    f"{'a' * 400}.csv",
    "",
    "..",
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    rows: dict[str, list[Row]] = {name: [dict(row) for row in of] for name, of in TEXTS.items()}
    made = tmp_path_factory.mktemp("hostile")
    club_book(made / "club.xlsx", rows)
    return made


@pytest.fixture(scope="module")
def client(folder: Path) -> Iterator[Client]:
    with desk(folder, AS_AT, folder / "club.xlsx") as one:
        one.until(lambda: one.desk.seen is not None and one.desk.seen.reckoned is not None)
        yield one


ASKED = ("/why?colony=A1", "/why?cell=Weighings!E2", f"/colonies?keeper={quote(EVIL)}")


@pytest.mark.parametrize("path", [*PAGES, *ASKED])
def test_every_text_stays_text(client: Client, path: str) -> None:
    text = client.get(path).text
    assert "<script>alert" not in text
    assert "<img src=x" not in text
    assert not re.search(r"<[^>]*onerror=alert\(2\)>", text)
    assert "{{" not in text or "{{ 7*7 }}" in text
    assert "49" not in re.findall(r"&#34;&#39;(\d+)", text)


@pytest.mark.parametrize("name", NAMES)
def test_a_received_file_stays_in_its_folder(client: Client, folder: Path, name: str) -> None:
    before = {path for path in folder.parent.rglob("*") if "returns" not in path.parts}
    told = client.ask("POST", f"/gather/received?name={quote(name)}", b"colony\nA1\n")
    assert told.code == 200, told.text
    assert {path for path in folder.parent.rglob("*") if "returns" not in path.parts} == before
    assert not list((folder / "returns").glob("*.part"))


def test_what_is_sent_without_end_is_cut_off(client: Client, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guard, "MOST_SENT", 300_000)
    line = http.client.HTTPConnection(LOOPBACK, client.keys.port, timeout=60)
    headers = {
        "Host": client.host,
        "Origin": f"http://{client.host}",
        "Cookie": f"{client.keys.cookie}={client.keys.kept}",
        "X-Desk-Token": client.keys.token,
    }
    line.request("POST", "/gather/received?name=endless.csv", iter([b"x" * 100_000] * 5), headers, encode_chunked=True)
    assert line.getresponse().status == 413
    line.close()
    client.until(lambda: not list((folder / "returns").glob(".*.part")))
    assert not (folder / "returns" / "endless.csv").exists()


def test_only_offered_books_are_opened(client: Client, folder: Path) -> None:
    for book in ("/etc/passwd", str(folder / ".." / "club.xlsx"), "club.xlsx", ""):
        assert client.post("/open", book=book).code == 409
    assert client.desk.path == (folder / "club.xlsx").resolve()


def test_a_foreign_answer_changes_nothing(client: Client, folder: Path) -> None:
    before = (folder / "club.xlsx").read_bytes()
    client.post("/answer", key="no such question", text="A")
    client.until(lambda: client.desk.jobs.now is not None and client.desk.jobs.now.state == "refused")
    assert (folder / "club.xlsx").read_bytes() == before


def test_an_open_book_is_left_alone_until_it_is_closed(tmp_path: Path) -> None:
    book = club_book(tmp_path / "club.xlsx")
    with desk(tmp_path, AS_AT, book) as client:
        lock = tmp_path / ".~lock.club.xlsx#"
        lock.write_text(",ann,desk,,;", encoding="utf-8")
        client.until(lambda: client.desk.watch is not None and bool(client.desk.watch.open_by))
        before = book.read_bytes()
        client.post("/reckon")
        job = client.desk.jobs.now
        assert job is not None
        assert job.state == "refused"
        assert "open in a spreadsheet program (ann)" in job.said
        assert "Do it once it is closed there" in client.get("/").text
        client.post("/again")
        assert client.desk.jobs.now is not None
        assert client.desk.jobs.now.state == "waiting"
        assert book.read_bytes() == before
        lock.unlink()
        client.done("Reckon the book")


def test_a_book_that_goes_away_is_named_and_found_again(tmp_path: Path) -> None:
    book = club_book(tmp_path / "club.xlsx")
    with desk(tmp_path, AS_AT, book) as client:
        client.until(lambda: client.desk.seen is not None and client.desk.seen.reckoned is not None)
        data = book.read_bytes()
        book.unlink()
        client.until(lambda: bool(client.desk.seen and client.desk.seen.said))
        assert "cannot be read" in client.get("/").text
        book.write_bytes(b"no book at all")
        client.until(lambda: bool(client.desk.seen and client.desk.seen.said))
        book.write_bytes(data)
        client.until(lambda: bool(client.desk.seen and not client.desk.seen.said))
        assert "cannot be read" not in client.get("/").text


def test_a_desk_that_is_killed_at_work_leaves_a_whole_book(tmp_path: Path) -> None:
    from apiarybook.book.tables import read_book

    book = club_book(tmp_path / "club.xlsx")
    before = book.read_bytes()
    words = [sys.executable, "-m", "apiarybook", "desk", str(book), "--no-browser", "--json", "--as-at", str(AS_AT)]
    running = subprocess.Popen(words, stdout=subprocess.PIPE, text=True, cwd=tmp_path, env={**os.environ})
    with running, contextlib.ExitStack() as calls:
        try:
            assert running.stdout is not None
            told = json.loads(running.stdout.readline())
            line = calls.enter_context(
                contextlib.closing(http.client.HTTPConnection(LOOPBACK, told["port"], timeout=60))
            )
            line.request("GET", "/" + told["address"].rpartition("/")[2])
            answer = line.getresponse()
            cookie = str(answer.getheader("set-cookie")).partition(";")[0]
            answer.read()
            line.request("GET", "/", headers={"Cookie": cookie})
            token = re.search(r'X-Desk-Token": "([^"]+)', line.getresponse().read().decode())
            assert token is not None
            origin = told["address"].rpartition("/")[0]
            line.request("POST", "/reckon", b"", {"Cookie": cookie, "Origin": origin, "X-Desk-Token": token[1]})
            line.getresponse().read()
        finally:
            running.send_signal(signal.SIGKILL)
    assert read_book(book).name == "club.xlsx"
    assert before in {one.read_bytes() for one in tmp_path.glob("club*.xlsx")}
