"""A season of which only the questions changed is the one that is reckoned anew, figure by figure."""

from datetime import date
from functools import cache
from pathlib import Path

import pandas as pd
import pytest

from apiarybook.book.si_frames import earlier
from apiarybook.book.tables import read_book
from apiarybook.club.reckoned import Reckoned, frames_of, reckon_book
from apiarybook.reckon.core.winter import serial
from apiarybook.reckon.season import Season, reckon_as_asked, reckon_season

FRAMES = ("weighings", "feedings", "winter_rounds", "standing", "hefting", "pairs", "scales", "colonies")
AS_AT = date(2026, 10, 3)
DEMO = Path(__file__).parents[2] / "demo" / "Alder Vale 2026.xlsx"


@cache
def demo() -> Reckoned:
    return reckon_book(read_book(DEMO), AS_AT)


def seasons(before: Season, frames: dict[str, pd.DataFrame]) -> tuple[Season, Season]:
    told = frames | earlier(demo().book), demo().book.settings, serial(AS_AT)
    return reckon_as_asked(before, *told), reckon_season(*told)


def assert_same(one: Season, other: Season) -> None:
    for name in FRAMES:
        pd.testing.assert_frame_equal(getattr(one, name), getattr(other, name), check_exact=True, obj=name)
    pd.testing.assert_frame_equal(one.till_the_flow, other.till_the_flow, check_exact=True)
    pd.testing.assert_frame_equal(one.balance.drop(columns="likely"), other.balance.drop(columns="likely"))


@pytest.mark.parametrize(
    ("sheet", "column", "told"),
    [("", "", ""), ("Weighings", "asked", "is it so?"), ("Weighings", "held", "below tare")],
)
def test_questions_alone_change_only_what_rests_on_them(sheet: str, column: str, told: str) -> None:
    book, checked = demo().book, demo().checked
    frames = {name: frame.assign(held="", beyond=float("nan")) for name, frame in frames_of(book, checked).items()}
    before, _ = seasons(demo().season, frames)
    if sheet:
        frames[sheet] = frames[sheet].assign(**{column: told})
    again, anew = seasons(before, frames)
    assert (again.known is before.known) == (column != "held")
    assert_same(again, anew)


def test_another_day_is_reckoned_anew() -> None:
    frames = frames_of(demo().book, demo().checked)
    told = frames | earlier(demo().book), demo().book.settings, serial(date(2026, 11, 1))
    assert_same(reckon_as_asked(demo().season, *told), reckon_season(*told))
