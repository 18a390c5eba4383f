"""The commands as a secretary and a machine meet them: words, exit codes, JSON, refusals without a traceback."""

import json
import subprocess
import sys
import zipfile
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner, Result

from apiarybook.cli.commands import REGIONS, main
from apiarybook.cli.output import FINDING_KEYS, STANDING_KEYS
from apiarybook.handbook import REGIONS as HANDBOOK_REGIONS
from apiarybook.layout import LAYOUT_VERSION

DAY = "2026-09-25"
COUNT_KEYS = {"file", "sheet", "rows", "accepted", "held", "blank", "refused", "mass_before", "mass_after"}


def run(*words: str | Path, typed: str | None = None) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words], input=typed)


def start(folder: Path, name: str = "club.xlsx") -> Path:
    book = folder / name
    done = run("start", book, "--club", "Alder Vale", "--winter", "2026", "--region", "british-isles", "--as-at", DAY)
    assert done.exit_code == 0, done.output
    return book


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return start(tmp_path_factory.mktemp("club"))


HELP = """
import sys
from apiarybook.cli.commands import main
sys.argv = ["apiarybook", "--help"]
try:
    main()
except SystemExit:
    pass
heavy = {"pandas", "openpyxl", "numpy", "xlsxwriter", "pandera", "scipy"} & set(sys.modules)
assert not heavy, heavy
"""


def test_help_answers_without_heavy_libraries() -> None:
    done = subprocess.run([sys.executable, "-c", HELP], capture_output=True, text=True, check=True)
    assert all(name in done.stdout for name in main.commands)


def test_regions_of_the_commands_are_those_of_the_handbook() -> None:
    assert REGIONS == HANDBOOK_REGIONS


@pytest.mark.parametrize("name", sorted(main.commands))
def test_every_command_has_help_and_json(name: str) -> None:
    done = run(name, "--help")
    assert done.exit_code == 0
    assert "--json" in done.output
    assert main.commands[name].help


def test_start_writes_book_and_launchers(club: Path) -> None:
    assert {path.name for path in club.parent.iterdir()} == {"club.xlsx", "Hive stores.bat", "Hive stores.command"}


def test_same_seed_same_bytes(tmp_path: Path) -> None:
    words = ("--club", "A", "--winter", "2026", "--region", "scandinavia", "--seed", "7", "--as-at", DAY)
    for name in ("a", "b"):
        (tmp_path / name).mkdir()
        assert run("start", tmp_path / name / "x.xlsx", *words).exit_code == 0
    assert (tmp_path / "a/x.xlsx").read_bytes() == (tmp_path / "b/x.xlsx").read_bytes()


@pytest.mark.parametrize(
    ("region", "winter", "name", "said"),
    [
        ("australia", "2026", "x.xlsx", "southern hemisphere"),
        ("atlantis", "2026", "x.xlsx", "no region of the handbook"),
        ("scandinavia", "1850", "x.xlsx", "No winter can begin in 1850"),
        ("scandinavia", "2026", "x.ods", "ends in .xlsx"),
    ],
)
def test_start_refuses_in_one_sentence(tmp_path: Path, region: str, winter: str, name: str, said: str) -> None:
    done = run("start", tmp_path / name, "--club", "A", "--winter", winter, "--region", region)
    assert done.exit_code == 2
    assert said in done.output
    assert "Traceback" not in done.output
    assert list(tmp_path.iterdir()) == []


def test_start_never_overwrites(club: Path) -> None:
    before = club.read_bytes()
    done = run("start", club, "--club", "B", "--winter", "2026", "--region", "scandinavia")
    assert done.exit_code == 2
    assert "left as it is" in done.output
    assert club.read_bytes() == before


def test_check_json_has_the_keys_of_the_design(club: Path) -> None:
    told = json.loads(run("check", club, "--json", "--as-at", DAY).output)
    assert set(told) == {"findings", "counts"}
    assert all(set(finding) == set(FINDING_KEYS) for finding in told["findings"])
    assert told["counts"]
    assert all(set(count) == COUNT_KEYS for count in told["counts"])


def test_reckon_json_and_a_second_run_that_changes_nothing(club: Path, tmp_path: Path) -> None:
    book = tmp_path / "copy.xlsx"
    book.write_bytes(club.read_bytes())
    told = json.loads(run("reckon", book, "--json", "--as-at", DAY).output)
    assert set(told) == {"standing", "round_list", "findings", "counts"}
    assert all(set(colony) == set(STANDING_KEYS) for colony in told["standing"])
    once, files = book.read_bytes(), sorted(path.name for path in tmp_path.iterdir())
    assert run("reckon", book, "--as-at", DAY).exit_code == 0
    assert book.read_bytes() == once
    assert sorted(path.name for path in tmp_path.iterdir()) == files


def test_a_wrong_date_is_one_sentence(club: Path) -> None:
    done = run("check", club, "--as-at", "25.9.")
    assert done.exit_code == 2
    assert "type it like 2026-09-25" in done.output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["carry", "a.xlsx", "b.xlsx", "--winter", "soon"], "'soon' is not a valid integer"),
        (["carry", "a.xlsx"], "Missing argument"),
        (["gather"], "No such command 'gather'"),
        (["check", "a.xlsx", "b.xlsx", "--why", "Standing!C5"], "name the club's book alone"),
    ],
)
def test_words_that_cannot_be_understood_are_one_sentence(words: list[str], said: str) -> None:
    done = run(*words)
    assert done.exit_code == 2
    assert said in done.output
    assert len(done.output.splitlines()) == 1


def with_winter(club: Path, into: Path, value: object) -> Path:
    book = openpyxl.load_workbook(club)
    (cell,) = (row[1] for row in book["Settings"].iter_rows() if row[0].value == "winter")
    cell.value = value
    book.save(into)
    return into


@pytest.mark.parametrize(
    ("winter", "said"), [(None, "winter is blank"), ("soon", "winter is 'soon', which is no year from 2000 to 2100")]
)
def test_a_book_without_its_winter(club: Path, tmp_path: Path, winter: object, said: str) -> None:
    book = with_winter(club, tmp_path / "club.xlsx", winter)
    for words in (("reckon", book), ("collate", book, tmp_path)):
        done = run(*words, "--as-at", DAY)
        assert (done.exit_code, said in done.output) == (2, True), done.output


def bad_files(book: bytes) -> dict[str, bytes | None]:
    return {
        "missing.xlsx": None,
        "words.xlsx": b"date,colony\n2026-09-01,A1\n",
        "half.xlsx": book[: len(book) // 2],
        "noise.xlsx": bytes(range(256)) * 40,
        "locked.xlsx": bytes.fromhex("d0cf11e0a1b11ae1") + b"\0" * 3000,
        "nothing.xlsx": b"",
        "page.xls": b"<html><body>no book</body></html>",
        "other.csv": b"a,b\n1,2\n",
    }


@pytest.mark.parametrize("command", ["check", "reckon"])
def test_bad_files_get_one_sentence_and_nothing_is_written(club: Path, tmp_path: Path, command: str) -> None:
    for name, data in bad_files(club.read_bytes()).items():
        path = tmp_path / name
        if data is not None:
            path.write_bytes(data)
        before = sorted((one.name, one.read_bytes()) for one in tmp_path.iterdir())
        done = run(command, path)
        assert done.exit_code == 2, (name, done.output)
        assert done.output.count("\n") == 1, (name, done.output)
        assert name in done.output
        assert sorted((one.name, one.read_bytes()) for one in tmp_path.iterdir()) == before


def rewritten(book: Path, target: Path, part: str, old: bytes, new: bytes) -> Path:
    with zipfile.ZipFile(book) as source, zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as copy:
        for name in source.namelist():
            data = source.read(name)
            copy.writestr(name, data.replace(old, new) if name == part else data)
    return target


def test_another_layout_is_refused_and_a_missing_sheet_is_said(club: Path, tmp_path: Path) -> None:
    named = f'name="layout version"><vt:lpwstr>{LAYOUT_VERSION}<'.encode()
    later = named.replace(f">{LAYOUT_VERSION}<".encode(), b">99<")
    other = rewritten(club, tmp_path / "later.xlsx", "docProps/custom.xml", named, later)
    strings = rewritten(other, tmp_path / "99.xlsx", "xl/sharedStrings.xml", b"<t>layout version</t>", b"<t>layout</t>")
    done = run("check", strings)
    assert done.exit_code == 2
    assert "layout version 99" in done.output
    gone = rewritten(club, tmp_path / "gone.xlsx", "xl/workbook.xml", b'name="Feedings"', b'name="Sugar"')
    done = run("check", gone, "--as-at", DAY)
    assert "Feedings" in done.output
    assert "Traceback" not in done.output


@pytest.mark.parametrize(
    ("typed", "code", "said"),
    [
        ("", 0, "What would you like to do?"),
        ("\n", 0, "What would you like to do?"),
        ("99\n", 2, "none of the numbers"),
        ("1\n\n", 0, "Nothing was done."),
        ("3\n\n", 0, "Nothing was done."),
    ],
)
def test_asking_works_with_a_keyboard_or_a_pipe(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, typed: str, code: int, said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    done = run(typed=typed)
    assert done.exit_code == code
    assert said in done.output


def test_asking_makes_a_book_and_remembers_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    done = run(typed="3\nAlder Vale\n2026\n1\n\n")
    assert done.exit_code == 0, done.output
    assert (tmp_path / "Alder Vale 2026.xlsx").is_file()
    again = run(typed="1\n\n")
    assert "Alder Vale 2026.xlsx" in again.output
    assert again.exit_code == 0
