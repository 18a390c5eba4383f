"""A law over every check: a rule tells exactly what its sentences take."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from apiarybook.checks.rule import OF_EVERY_FINDING, Rule

if TYPE_CHECKING:
    from collections.abc import Mapping


@pytest.fixture(autouse=True)
def tells_exactly(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let a rule that tells more, or less, than its sentences take fail the test in which it speaks."""
    say = Rule.say

    def strict(rule: Rule, told: Mapping[str, object]) -> tuple[str, str]:
        assert told.keys() - OF_EVERY_FINDING == rule.tells, rule.name
        return say(rule, told)

    monkeypatch.setattr(Rule, "say", strict)
