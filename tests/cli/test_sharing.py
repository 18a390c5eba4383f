"""A package to share is valid by another's program and holds nothing that names a person, a place or a thing."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner

from apiarybook.cli.commands import main
from apiarybook.gather.anonymous import OTHER, SMALL, pseudonym
from tests.gather.small_club import AS_AT, HIVE, Row, club_book

if TYPE_CHECKING:
    from pathlib import Path

TOKEN = "Zyxwvut"  # noqa: S105 a word to look for, no secret
NUCLEUS = "Six frame nucleus polystyrene"
WEIGHING: Row = {"date": AS_AT, "how": "platform", "reading_1": 38.0, "feed_left": 0.0, "remarks": f"{TOKEN} rem"}


def planted() -> dict[str, list[Row]]:
    colony = {"apiary": f"{TOKEN} place", "takes_fondant": "yes", "reached": "yes", "stand": "solid"}
    colonies = [{"colony": f"{TOKEN} {n}", "hive_type": HIVE, **colony} for n in range(SMALL)]
    colonies.append({"colony": f"{TOKEN} x", "hive_type": NUCLEUS, **colony})
    colonies.append({"colony": f"{TOKEN} own", "hive_type": f"{TOKEN} hive", **colony})
    first = {**WEIGHING, "colony": f"{TOKEN} 0", "by": f"{TOKEN} hand"}
    return {
        "Members": [{"member": f"{TOKEN}M", "name": f"{TOKEN} name"}],
        "Apiaries": [{"apiary": f"{TOKEN} place", "member": f"{TOKEN}M", "profile": "british-isles"}],
        "Colonies": colonies,
        "Weighings": [
            first,
            {**first, "how": "heft", "reading_1": None, "heft": "light", "colony": f"{TOKEN} 1"},
            {**first, "how": "heft", "reading_1": None, "heft": f"{TOKEN} heft", "colony": f"{TOKEN} 2"},
            {**first, "colony": f"{TOKEN} nobody", "hive_type_then": NUCLEUS},
        ],
        "Feedings": [],
        "Scale checks": [],
        "Moves": [{"date": AS_AT, "colony": f"{TOKEN} 0", "what": "super off", "remarks": f"{TOKEN} rem"}],
    }


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, str]:
    folder = tmp_path_factory.mktemp("sharing")
    book = club_book(folder / f"{TOKEN}.xlsx", planted())
    return book, folder / "package", run(book, folder / "package")


def run(book: Path, into: Path, code: int = 1, *more: str) -> str:
    result = CliRunner().invoke(main, ["share", str(book), "--into", str(into), "--as-at", AS_AT.isoformat(), *more])
    assert result.exit_code == code, result.output
    return result.output


def test_it_is_valid_by_another_program(made: tuple[Path, Path, str]) -> None:
    frictionless = pytest.importorskip("frictionless")
    report = frictionless.validate(str(made[1] / "datapackage.json"))
    assert report.valid, report.flatten(["type", "message"])
    assert report.stats["tasks"] == 6


def test_no_planted_word_is_found_anywhere(made: tuple[Path, Path, str]) -> None:
    for path in made[1].iterdir():
        assert TOKEN.encode().lower() not in path.read_bytes().lower(), path.name
        assert TOKEN.lower() not in path.name.lower()


def test_the_key_stays_beside_the_book(made: tuple[Path, Path, str]) -> None:
    book, into, _ = made
    key = next(book.parent.glob("*sharing key.txt")).read_text().strip()
    assert all(key not in path.read_text("utf-8") for path in into.iterdir())
    assert pseudonym(bytes.fromhex(key), "colony", f"{TOKEN} 0") in (into / "weighings.csv").read_text()


def test_small_groups_are_merged_and_it_says_what_was_removed(made: tuple[Path, Path, str]) -> None:
    _, into, said = made
    text = (into / "colonies.csv").read_text()
    assert text.count(HIVE) == SMALL
    assert NUCLEUS not in text
    assert text.count(f",{OTHER},") == 1
    removed = (into / "what-was-removed.txt").read_text()
    assert "remarks" in removed
    assert "Colonies: 1 held row left out" in removed
    assert all(line in said for line in removed.splitlines())
    assert "british-isles" in text


def test_the_same_book_and_key_give_the_same_package(made: tuple[Path, Path, str], tmp_path: Path) -> None:
    book, into, _ = made
    told = json.loads(run(book, tmp_path / "again", 1, "--json"))
    assert told["rows"]["Weighings"] >= 2
    for path in into.iterdir():
        assert (tmp_path / "again" / path.name).read_bytes() == path.read_bytes()
    run(book, into)


def test_another_key_gives_other_pseudonyms() -> None:
    words = {pseudonym(key, kind, "A1") for key in (b"one", b"two") for kind in ("colony", "hand")}
    assert len(words) == 4
    assert pseudonym(b"one", "hand", " ") is None


def test_a_folder_with_other_things_and_a_key_that_is_none_are_one_sentence(
    made: tuple[Path, Path, str], tmp_path: Path
) -> None:
    (tmp_path / "letter.txt").write_text("to Ann", encoding="utf-8")
    assert "name a new folder" in run(made[0], tmp_path, 2)
    book = tmp_path / "club.xlsx"
    book.write_bytes(made[0].read_bytes())
    (tmp_path / "club sharing key.txt").write_text("not a key", encoding="utf-8")
    assert "no sharing key" in run(book, tmp_path / "out", 2)
