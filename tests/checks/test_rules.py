"""Laws of the rules themselves: each is declared once, with sentences that it can fill."""

from __future__ import annotations

import inspect

import pytest

from apiarybook.checks.finding import Weight
from apiarybook.checks.rule import declare, finds
from apiarybook.checks.rules import CATALOGUE, FINDERS, MODULES
from apiarybook.errors import ProgramFault


@pytest.fixture(autouse=True)
def tells_exactly() -> None:
    """Here rules tell too little on purpose."""


def test_every_function_that_looks_at_a_book_is_registered() -> None:
    looking = {
        found
        for module in MODULES
        for _, found in inspect.getmembers(module, inspect.isfunction)
        if found.__module__ == module.__name__
        and not found.__name__.startswith("_")
        and list(inspect.signature(found).parameters) == ["seen"]
        and inspect.signature(found).return_annotation == "Iterator[Hit]"
    }
    assert looking == set(FINDERS)


def test_a_rule_is_declared_once_and_before_anybody_finds_it() -> None:
    with pytest.raises(ProgramFault, match="two rules have the name snow-on-roof"):
        declare("snow-on-roof", Weight.NOTE, "Snow.", "Brush it off.")
    with pytest.raises(ProgramFault, match="no rule is declared"):
        finds("rain-on-roof")


def test_a_rule_that_tells_too_little_says_which_rule_it_is() -> None:
    with pytest.raises(ProgramFault, match="the rule over-capacity does not tell"):
        CATALOGUE["over-capacity"].say({"value": "80", "heading": "reading 1"})
