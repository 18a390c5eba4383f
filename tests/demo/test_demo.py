"""The demo makes the same book and says the same words each time, and what lies in the repository is what it makes."""

import json
from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner

from apiarybook.book.tables import read_book
from apiarybook.cli.commands import main
from apiarybook.demo.whole_year import BOOK, TEXT
from apiarybook.layout import BOOK as LAYOUT

FOLDER = Path(__file__).parents[2] / "demo"
MOST_BYTES = 600_000
RENEW = "stale: delete the book in demo and run apiarybook demo --into demo"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, list[dict[str, object]]]]:
    into = tmp_path_factory.mktemp("demo")
    result = CliRunner().invoke(main, ["demo", "--into", str(into), "--json"])
    assert result.exit_code == 0, result.output
    return into, json.loads(result.output)


Made = tuple[Path, dict[str, list[dict[str, object]]]]


def test_same_words(made: Made) -> None:
    assert (made[0] / TEXT).read_text("utf-8") == (FOLDER / TEXT).read_text("utf-8"), RENEW


@pytest.mark.parametrize("name", sorted(one.name for one in FOLDER.glob("*.xlsx")))
def test_same_rows(made: Made, name: str) -> None:
    """The books in the repository are those of the last release; what people typed in them is the same today."""
    now, kept = read_book(made[0] / name), read_book(FOLDER / name)
    assert kept.faults == now.faults == []
    for sheet in (one.name for one in LAYOUT.sheets if one.is_list):
        today, before = (book.tables[sheet] for book in (now, kept))
        rows, stood = (table.typed[~table.is_blank.to_numpy()].reset_index(drop=True) for table in (today, before))
        shared = [key for key in stood if key in before.columns]
        pd.testing.assert_frame_equal(rows[shared], stood[shared], check_dtype=False, obj=f"{sheet}, {RENEW}")


@pytest.mark.parametrize("name", sorted(one.name for one in FOLDER.glob("*.xlsx")))
def test_books_are_small(made: Made, name: str) -> None:
    """They are sent by mail, and opened on telephones."""
    assert (made[0] / name).stat().st_size <= MOST_BYTES


def test_same_report(made: Made) -> None:
    names = sorted(one.name for one in (FOLDER / "report").iterdir())
    assert sorted(one.name for one in (made[0] / "report").iterdir()) == names
    for name in names:
        assert (made[0] / "report" / name).read_bytes() == (FOLDER / "report" / name).read_bytes(), RENEW


def test_a_dozen_kinds_of_slip_are_named(made: Made) -> None:
    assert {
        "below-tare",
        "decimal-comma",
        "above-comb",
        "duplicate",
        "feed-impossible",
        "feeder-not-looked-at",
        "formula-in-input",
        "impossible-date",
        "liquid-under-super",
        "over-capacity",
        "too-cold-for-liquid",
        "unit-in-cell",
        "unknown-code",
        "unknown-word",
        "wrong-year",
    } <= {str(finding["rule"]) for finding in made[1]["findings"]}


def test_most_colonies_have_enough_and_some_want_something(made: Made) -> None:
    verdicts = [one["verdict"] for one in made[1]["standing"] if one["verdict"]]
    assert len(verdicts) >= 60
    assert verdicts.count("enough") > len(verdicts) / 2
    assert {"fondant later", "weigh"} <= set(verdicts)


def test_the_year_is_closed_and_goes_on(made: Made) -> None:
    year = made[1]["year"]
    assert isinstance(year, dict)
    assert year["closed"]
    assert year["causes"]
    assert {"Alder Vale 2026 closed.xlsx", "Alder Vale 2027.xlsx", "report"} <= {one.name for one in made[0].iterdir()}


def test_a_book_that_stands_there_is_left_alone(made: Made) -> None:
    (made[0] / BOOK).write_bytes(b"somebody's own")
    result = CliRunner().invoke(main, ["demo", "--into", str(made[0])])
    assert result.exit_code == 2
    assert "stands there already" in result.output
    assert (made[0] / BOOK).read_bytes() == b"somebody's own"


def test_nothing_is_held_once_people_have_looked() -> None:
    told = (FOLDER / TEXT).read_text(encoding="utf-8")
    assert "Held" in told.split("\n4. ")[0]
    assert "Held" not in told.split("\n6. ")[1]
