"""The command hefting says what each hand is worth, and the page beside it holds the same and no more."""

from __future__ import annotations

import io
import json
import zipfile
from datetime import date, timedelta
from random import Random
from typing import TYPE_CHECKING

import pandas as pd
import pytest
from click.testing import CliRunner

from apiarybook.book.measure import measure
from apiarybook.book.tables import read_book
from apiarybook.cli.commands import main
from apiarybook.layout import BOOK
from apiarybook.pages.hefting_page import hand_words
from apiarybook.readers.raw import read_raw
from apiarybook.reckon.hefting.calibration import log_error
from apiarybook.reckon.hefting.worth import worth_of_hands
from apiarybook.writers.workbook import write_book
from tests.engines.small_books import Row, content_of

if TYPE_CHECKING:
    from pathlib import Path

AS_AT = date(2026, 9, 25)
HOSTILE = "<script>alert(1)</script>"


def lift(by: str, day: int, gross: float, guess: object, **cells: object) -> Row:
    when = AS_AT - timedelta(days=40 - day)
    usual: Row = {"date": when, "colony": "H1", "by": by, "how": "platform", "reading_1": gross, "feed_left": 0.0}
    return {**usual, "heft": guess, "occasion": "practice", **cells}


def club_rows() -> dict[str, list[Row]]:
    rng = Random(1)  # noqa: S311 a seed, no secret
    lifts = [lift("Ann", day, 30.0 + day, round((30.0 + day) * 0.92 + rng.gauss(0, 0.6), 1)) for day in range(11)]
    lifts += [lift("Bo", day, 35.0, word) for day, word in enumerate(("light", "about right"))]
    lifts.append(lift(HOSTILE, 3, 36.0, 40.0))
    lifts.append(lift("Ann", 39, 0, 34.0, how="heft", reading_1=None, occasion=None))
    colony: Row = {"apiary": "A1", "hive_type": "National single", "takes_fondant": "yes", "stand": "solid"}
    return {
        "Apiaries": [{"apiary": "A1", "profile": "british-isles"}],
        "Colonies": [{"colony": "H1", **colony}, {"colony": "H2", **colony}],
        "Weighings": lifts,
    }


@pytest.fixture(scope="module", params=["kg", "lb"])
def book(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("hefting") / "club.xlsx"
    path.write_bytes(write_book(content_of(club_rows(), "british-isles", request.param, AS_AT)))
    return path


def run(book: Path, *more: str) -> str:
    result = CliRunner().invoke(main, ["hefting", str(book), "--as-at", AS_AT.isoformat(), *more])
    assert result.exit_code == 0, result.output
    return result.output


def test_words(book: Path) -> None:
    said = run(book)
    unit = read_book(book).unit
    assert "Ann: reads" in said
    assert f"{'40 kg' if unit == 'kg' else '88 lb'} hive, from 11 lifts" in said
    assert "Bo: words only so far" in said
    assert "Any other hand" in said
    assert "H2 (nothing known)" in said


def test_json(book: Path) -> None:
    told = json.loads(run(book, "--json"))
    assert [one["by"] for one in told["hands"]] == ["any other hand", HOSTILE, "Ann", "Bo"]
    assert told["hands"][2]["pairs"] == 11
    assert told["hands"][3]["observed_bias"] is None
    assert len(told["lifts"]) == 14
    assert told["worth_weighing"][0]["colony"] == "H2"


def test_feed_of_all_and_whom_to_weigh_to_know_it_better(book: Path) -> None:
    said = run(book, "--within", "1")
    assert "1 colony still needs" in said
    assert "1 colony is left out: nothing is known." in said
    told = json.loads(run(book, "--json", "--within", "1"))["feed_of_all"]
    assert (told["colonies"], told["unknown"], told["weigh"]) == (1, 1, ["H1"])
    assert told["then_within"] < told["within"]


def test_page_stands_alone_and_holds_what_was_typed_as_text(book: Path, tmp_path: Path) -> None:
    page = tmp_path / "hands.html"
    assert page.name in run(book, "--page", str(page))
    text = page.read_text("utf-8")
    assert "<svg" in text
    assert "<script" not in text
    assert "http" not in text
    assert text.count('<th scope="row">') == 14


def test_a_page_replaces_nothing_but_a_page(book: Path, tmp_path: Path) -> None:
    own, page, before = tmp_path / "notes.txt", tmp_path / "hands.html", book.read_bytes()
    own.write_text("mine")
    for there in (own, book):
        result = CliRunner().invoke(main, ["hefting", str(book), "--page", str(there)])
        assert result.exit_code == 2
        assert "was left as it is" in result.output
    assert (own.read_text(), book.read_bytes()) == ("mine", before)
    run(book, "--page", str(page))
    run(book, "--page", str(page))


def test_page_that_cannot_be_written_is_one_sentence(book: Path, tmp_path: Path) -> None:
    given = ["hefting", str(book), "--page", str(tmp_path / "no" / "x.html")]
    result = CliRunner().invoke(main, given)
    assert result.exit_code == 2
    assert "cannot be written" in result.output


def test_the_book_is_left_as_it_is(book: Path) -> None:
    before = book.read_bytes()
    run(book)
    assert book.read_bytes() == before


def sentence(guesses: list[float], gross: float = 40.0, unit: str = "kg") -> str:
    pairs = pd.DataFrame({"by": "Ann", "error": log_error(gross, guesses), "word": ""})
    return hand_words(worth_of_hands(pairs).iloc[1], measure(unit))


@pytest.mark.parametrize(
    ("guesses", "begins", "ends"),
    [
        pytest.param([36.8] * 60, "Ann: reads 8 % light", "from 60 lifts; may heft alone.", id="steady, light"),
        pytest.param([40.0] * 12, "Ann: reads true", "more, then it may heft alone.", id="nearly there"),
        pytest.param([32.0, 50.0] * 10, "Ann: reads", "from 20 lifts; spread too wide to heft alone.", id="wild"),
        pytest.param([50.0], "Ann: reads", "from 1 lift; go on weighing too.", id="one lift"),
    ],
)
def test_a_hand_in_a_sentence(guesses: list[float], begins: str, ends: str) -> None:
    said = sentence(guesses)
    assert said.startswith(begins)
    assert said.endswith(ends)


def test_the_sheet_holds_a_chart_and_what_it_shows() -> None:
    data = write_book(content_of(club_rows(), "british-isles", "kg", AS_AT))
    archive = zipfile.ZipFile(io.BytesIO(data))
    charts = [archive.read(name).decode() for name in archive.namelist() if name.startswith("xl/charts/chart")]
    scatters = [one for one in charts if "scatterChart" in one]
    assert {one.count("<c:ser>") for one in scatters} == {2}, "guesses, and the line on which they would lie"
    assert all("Hefting!$" in one for one in scatters)
    raw = read_raw(("book.xlsx", data)).sheets["Hefting"]
    lifted = raw.rows[BOOK["Hefting"].heading_row - 1].index("hand that lifted")
    assert raw.rows[BOOK["Hefting"].first_row][lifted] == "Ann"
