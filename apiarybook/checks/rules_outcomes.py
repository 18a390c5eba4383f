"""Rules on how colonies came through the winter: outcomes before it began, and outcomes that contradict each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.checks.context import days, flag
from apiarybook.checks.rule import ASK, rule
from apiarybook.reckon.core.arrays import numbers, words
from apiarybook.reckon.core.lookup import match, pick, pick_words
from apiarybook.reckon.core.winter import day_of
from apiarybook.reckon.year.wintered import WINTERED

if TYPE_CHECKING:
    from collections.abc import Iterator

    from apiarybook.checks.context import Seen
    from apiarybook.checks.finding import Hit

AFTER = "After winter"


@rule(
    "outcome-before-winter",
    ASK,
    "The colony is said to have wintered by {value}, before its winter starts on {starts}.",
    "See that the date is right, and that the row is not one of another winter.",
)
def before_winter(seen: Seen) -> Iterator[Hit]:
    """A colony said to have wintered before its winter began."""
    rows, standing = seen[AFTER], seen.reckoned.standing
    if not len(rows) or not len(standing):
        return
    starts = pick(standing["winter_starts"], match(rows["colony"], standing["colony"]))
    day = days(rows["date"])
    early = (starts > 0) & (day >= seen.winter.first) & (day < starts) & (words(rows["outcome"]) == WINTERED)

    def told(at: int) -> dict[str, object]:
        return {"starts": day_of(starts[at]).isoformat()}

    yield from flag("outcome-before-winter", AFTER, rows, np.asarray(early), "date", told)


@rule(
    "two-outcomes",
    ASK,
    "{value} is said here and {other} in {place} of the same colony; the later date counts.",
    "See what became of the colony, and clear the row that is wrong.",
)
def two_outcomes(seen: Seen) -> Iterator[Hit]:
    """Another outcome of a colony of which one stands there already."""
    rows = seen[AFTER]
    said = words(rows["outcome"])
    colony = np.char.lower(np.atleast_1d(words(rows["colony"])))
    known = pd.DataFrame({"colony": colony, "outcome": said}).assign(at=np.arange(1, len(rows) + 1))
    known = known[(known["colony"] != "") & (known["outcome"] != "")]
    first = known.drop_duplicates("colony").set_index("colony")
    before = first["at"].reindex(colony).fillna(0).to_numpy(dtype=np.int64)
    other = pick_words(said, before)
    differs = (said != "") & (other != "") & (other != said) & (colony != "")

    def told(at: int) -> dict[str, object]:
        return {"other": str(other[at]), "place": seen.place(AFTER, int(rows.index[before[at] - 1]), "outcome")}

    yield from flag("two-outcomes", AFTER, rows, np.asarray(differs), "outcome", told)


STARVED = "no food left"
LITTLE_FOOD = 1.0
"""Kilograms up to which people may still say that no food was left (common practice, no source)."""


@rule(
    "starved-with-food",
    ASK,
    "{value} {unit} of food was left, and what was seen says no food left.",
    "Look at both: food left but out of reach is another cause.",
)
def starved_with_food(seen: Seen) -> Iterator[Hit]:
    """Colonies said to have had no food left beside food that was left."""
    rows = seen[AFTER]
    starved = (words(rows["seen"]) == STARVED) & (numbers(rows["food_left"]) > LITTLE_FOOD)
    yield from flag("starved-with-food", AFTER, rows, starved, "food_left", lambda _: {"unit": seen.unit})
