"""Files that may be returns are found wherever they lie, and nothing outside is touched."""

import io
import os
import zipfile
from email.message import EmailMessage
from pathlib import Path

from apiarybook.gather.sources import Bounds, LeftAlone, Source, sources

CSV = b"ref,date,colony\n"


def book(name: str = "[Content_Types].xml") -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w") as parts:
        parts.writestr(name, "x")
    return target.getvalue()


def archive(files: dict[str, bytes]) -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as parts:
        for name, data in files.items():
            parts.writestr(name, data)
    return target.getvalue()


def message(files: dict[str, bytes]) -> EmailMessage:
    mail = EmailMessage()
    mail["Subject"] = "my hives"
    mail.set_content("Here it is.")
    for name, data in files.items():
        mail.add_attachment(data, maintype="application", subtype="octet-stream", filename=name)
    return mail


def names(*paths: Path, without: tuple[Path, ...] = (), bounds: Bounds | None = None) -> tuple[list[str], list[str]]:
    found = list(sources(paths, without=without, bounds=bounds or Bounds()))
    taken = [one.name for one in found if isinstance(one, Source)]
    return taken, [one.name for one in found if isinstance(one, LeftAlone)]


def test_folder_is_walked_and_noise_passed_over(tmp_path: Path) -> None:
    club = tmp_path / "club.xlsx"
    (tmp_path / "may").mkdir()
    (tmp_path / "notes 2026-09-25").mkdir()
    (tmp_path / "notes 2026-09-25" / "note M1.txt").write_text("RECEIVED\nOPEN QUESTIONS\nYOUR COLONIES\n")
    (tmp_path / ".DS_Store").write_bytes(b"x")
    (tmp_path / "~$a.xlsx").write_bytes(b"x")
    (tmp_path / ".~lock.a.ods#").write_bytes(b"x")
    for name in (
        "club.xlsx",
        "hives backup 2026-09-25.xlsx",
        "a.xlsx",
        "may/b.ods",
        "notes 2026-09-25/c.xlsx",
    ):
        (tmp_path / name).write_bytes(book())
    assert names(tmp_path, without=(club,)) == (
        ["a.xlsx", "hives backup 2026-09-25.xlsx", "b.ods", "c.xlsx"],
        [],
    )


def test_return_is_known_by_content_under_any_name(tmp_path: Path) -> None:
    (tmp_path / "download").write_bytes(book())
    (tmp_path / "hives.xlsx.bak").write_bytes(book("content.xml"))
    (tmp_path / "photo.jpg").write_bytes(b"\xff\xd8\xff\xe0")
    assert names(tmp_path) == (["download", "hives.xlsx.bak"], ["photo.jpg"])


def test_archives_and_messages_are_opened_one_layer(tmp_path: Path) -> None:
    inner = archive({"c.csv": CSV})
    (tmp_path / "all.zip").write_bytes(archive({"may/a.xlsx": book(), "b.csv": CSV, "more.zip": inner, "x.png": b"x"}))
    mail = message({"d.xlsx": book(), "e.zip": archive({"f.csv": CSV})})
    (tmp_path / "mail.eml").write_bytes(mail.as_bytes())
    (tmp_path / "mails.zip").write_bytes(archive({"g.eml": message({"h.csv": CSV}).as_bytes()}))
    taken, left = names(tmp_path)
    assert taken == [
        "all.zip, b.csv",
        "all.zip, a.xlsx",
        "mail.eml, d.xlsx",
        "mail.eml, e.zip, f.csv",
        "mails.zip, g.eml, h.csv",
    ]
    assert left == ["all.zip, more.zip", "all.zip, x.png"]


def test_forwarded_message_gives_its_attachments(tmp_path: Path) -> None:
    outer = message({})
    outer.add_attachment(message({"a.csv": CSV}))
    (tmp_path / "fw.eml").write_bytes(outer.as_bytes())
    assert names(tmp_path / "fw.eml") == (["fw.eml, a.csv"], [])


def test_archive_beyond_bounds_is_named_and_the_rest_read(tmp_path: Path) -> None:
    (tmp_path / "bomb.zip").write_bytes(archive({"a.csv": b"0" * 120_000_000, "b.csv": CSV}))
    assert names(tmp_path) == (["bomb.zip, b.csv"], ["bomb.zip, a.csv"])
    assert names(tmp_path, bounds=Bounds(archive=10)) == ([], ["bomb.zip, a.csv", "bomb.zip, b.csv"])


def test_broken_archive_and_message_are_named(tmp_path: Path) -> None:
    (tmp_path / "cut.zip").write_bytes(archive({"a.csv": CSV * 99})[:60])
    (tmp_path / "empty.eml").write_bytes(b"\xff\x00")
    deep = b"Content-Type: message/rfc822\r\n\r\n" * 3000
    (tmp_path / "deep.eml").write_bytes(deep)
    assert names(tmp_path) == ([], ["cut.zip", "deep.eml", "empty.eml"])


def test_names_are_made_safe_and_nothing_is_unpacked(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    evil = archive({"../../out.csv": CSV, "/abs/path.csv": CSV, "a\x01\x1b[31mb.csv": CSV})
    (tmp_path / "in" / "evil.zip").write_bytes(evil)
    taken, _ = names(tmp_path / "in")
    assert sorted(taken) == ["evil.zip, a _31mb.csv", "evil.zip, out.csv", "evil.zip, path.csv"]
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["evil.zip", "in"]


def test_one_file_named_twice_or_by_link_comes_once(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_bytes(CSV)
    (tmp_path / "b.csv").symlink_to(tmp_path / "a.csv")
    (tmp_path / "loop").symlink_to(tmp_path)
    assert names(tmp_path, tmp_path / "a.csv") == (["a.csv"], [])


def test_missing_and_strange_files_are_named(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.csv")
    taken, left = names(tmp_path)
    assert (taken, left) == ([], ["pipe.csv"])


def test_too_many_files_end_the_search(tmp_path: Path) -> None:
    for number in range(5):
        (tmp_path / f"{number}.csv").write_bytes(CSV)
    taken, left = names(tmp_path, bounds=Bounds(files=3))
    assert (len(taken), left) == (3, [tmp_path.name])


def test_locked_archive_is_named(tmp_path: Path) -> None:
    data = bytearray(archive({"a.csv": CSV}))
    data[6] |= 1
    data[data.index(b"PK\x01\x02") + 8] |= 1
    (tmp_path / "locked.zip").write_bytes(bytes(data))
    assert names(tmp_path) == ([], ["locked.zip, a.csv"])
