"""The round list in words and for machines."""

from __future__ import annotations

from typing import TYPE_CHECKING

from apiarybook.cli.reckoning import rounds_json, say_rounds
from tests.checks.small import CLUB
from tests.reckon.small_season import season, weighed

if TYPE_CHECKING:
    import pytest


def test_visits_are_said_short(capsys: pytest.CaptureFixture[str]) -> None:
    many = [CLUB["Colonies"][0] | {"colony": f"A{number}", "takes_fondant": "yes"} for number in range(1, 10)]
    rows = [weighed(colony=f"A{number}") for number in range(1, 9)] + [weighed(colony="A9", reading_1=25.0)]
    found = season(Colonies=many, Weighings=rows)
    say_rounds(found)
    said = capsys.readouterr().out
    assert "by 15 Oct 2026, P1: heft A9; carry fondant to A9" in said
    assert rounds_json(found)[0]["fondant"] == ["A9"]


def test_without_colonies_nothing_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    say_rounds(season(Colonies=[]))
    assert capsys.readouterr().out == ""
