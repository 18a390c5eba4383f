"""An answer holds through whatever a club does next with its book, and no longer than the values it was given for."""

from __future__ import annotations

import shutil
from datetime import date, datetime, time
from typing import TYPE_CHECKING, NamedTuple

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from apiarybook.gather.handout import handout
from apiarybook.gather.on_disk import answer_file, carry_file, close_file, look_at_file, reckon_file
from tests.gather.copies import BOOK_ID, edited, gathered, handed_out, returned
from tests.gather.small_club import AS_AT, DAY, ROWS, Row

if TYPE_CHECKING:
    from pathlib import Path

YES = "yes, looked at"
LATER = date(2027, 7, 20)
THAT_DAY = datetime.combine(AS_AT, time(18))


class Asked(NamedTuple):
    """A row that a rule asks about, by sheet and mark, and what makes it ask again."""

    sheet: str
    mark: str
    rule: str
    key: str
    changed: float


def lift(**cells: object) -> Row:
    return {
        "date": DAY,
        "colony": "A1",
        "by": "Ann Alder",
        "how": "full lift",
        "reading_1": 31.0,
        "feed_left": 0.0,
    } | cells


ODD = {
    "Weighings": [lift(frames_bees=14.0), lift(colony="A2", how="two sides", reading_1=22.0, reading_2=7.0)],
    "Colonies": [{**ROWS["Colonies"][0], "own_tare": 22.0}, *ROWS["Colonies"][1:]],
}
FRAMES = Asked("Weighings", "club26-W1", "more-frames-than-hive", "frames_bees", 13.0)
SIDES = Asked("Weighings", "club26-W2", "sides-ratio", "reading_2", 6.0)
TARE = Asked("Colonies", "A1", "own-tare-apart", "own_tare", 23.0)
PLACES = {
    FRAMES: ("beside the row", "on Questions", "in a copy"),
    SIDES: ("beside the row", "on Questions", "in a copy"),
    TARE: ("on Questions",),
}


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a club whose copies are out and whose book has been reckoned."""
    folder = tmp_path_factory.mktemp("begun")
    club, _ = handed_out(folder, ODD)
    reckon_file(club, AS_AT)
    return folder


def again(begun: Path, folder: Path) -> tuple[Path, Path]:
    """The club's book and a member's copy, put into a folder of their own."""
    shutil.copytree(begun, folder, dirs_exist_ok=True)
    return folder / "club.xlsx", min((folder / "out").glob("*.xlsx"))


def asks(club: Path, as_at: date = AS_AT) -> set[str]:
    return {one.rule for one in look_at_file(club, as_at).checked.findings}


def answered(club: Path, copy: Path, asked: Asked, place: str) -> None:
    """Answer a question where a member or the secretary finds it."""
    beside = {(asked.sheet, asked.mark, "is_it_right"): YES}
    if place == "beside the row":
        edited(club, beside)
    elif place == "in a copy":
        gathered(club, returned(copy, club.with_name("answer.xlsx"), {}, changes=beside))
    else:
        said = look_at_file(club, AS_AT).content.told["Questions"]
        answer_file(club, {said.loc[said["rule"] == asked.rule, "key"].iloc[0]: YES}, AS_AT)


def run(command: str, club: Path, copy: Path, number: int) -> None:
    """One thing that a club does with its book."""
    if command == "reckon":
        reckon_file(club, AS_AT)
    elif command == "collate":
        gathered(club, returned(copy, club.with_name(f"back {number}.xlsx"), {}))
    else:
        handout(club, club.with_name(f"out {number}"), as_at=AS_AT, book_id=BOOK_ID)


@pytest.mark.long
@pytest.mark.parametrize("asked", [FRAMES, SIDES, TARE], ids=lambda one: one.rule)
@settings(max_examples=2, suppress_health_check=list(HealthCheck))
@given(
    place=st.integers(0, 2),
    commands=st.lists(st.sampled_from(["reckon", "collate", "hand out"]), min_size=1, max_size=3),
)
def test_an_answer_holds_until_its_values_change(
    tmp_path_factory: pytest.TempPathFactory, begun: Path, asked: Asked, place: int, commands: list[str]
) -> None:
    club, copy = again(begun, tmp_path_factory.mktemp("answers"))
    assert asked.rule in asks(club)
    answered(club, copy, asked, PLACES[asked][place % len(PLACES[asked])])
    assert asked.rule not in asks(club)
    for number, command in enumerate(commands):
        run(command, club, copy, number)
        assert asked.rule not in asks(club), command
    edited(club, {(asked.sheet, asked.mark, asked.key): asked.changed}, when=THAT_DAY)
    assert asked.rule in asks(club)


@pytest.mark.long
def test_what_was_said_of_a_colony_goes_along_into_the_next_winter(tmp_path: Path, begun: Path) -> None:
    club, copy = again(begun, tmp_path)
    answered(club, copy, TARE, "on Questions")
    close_file(club, LATER)
    following = tmp_path / "next.xlsx"
    carry_file(club, following, year=2027, as_at=LATER, book_id="")
    assert TARE.rule not in asks(following, LATER)
    edited(following, {(TARE.sheet, TARE.mark, TARE.key): TARE.changed})
    assert TARE.rule in asks(following, LATER)
