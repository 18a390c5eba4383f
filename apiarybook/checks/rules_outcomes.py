"""Rules on how colonies came through the winter: outcomes before it began, and outcomes that contradict each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.checks.causes import as_causes, sentence
from apiarybook.checks.context import days, flag, label
from apiarybook.checks.finding import Hit
from apiarybook.checks.rule import ASK, rule
from apiarybook.checks.rules_slips import pen, spring_lifts
from apiarybook.handbook import handbook
from apiarybook.reckon.balance.mass_balance import weighed_elsewhere
from apiarybook.reckon.balance.slips import Weighed
from apiarybook.reckon.core.arrays import figure, numbers, words
from apiarybook.reckon.core.lookup import match, pick, pick_words
from apiarybook.reckon.core.winter import day_of
from apiarybook.reckon.hive.weighings import hefts
from apiarybook.reckon.year.wintered import WINTERED

if TYPE_CHECKING:
    from collections.abc import Iterator

    from apiarybook.checks.context import Seen
    from apiarybook.reckon.core.lookup import Rows

AFTER = "After winter"


@rule(
    "outcome-before-winter",
    ASK,
    "The colony is said to have wintered by {value}, before its winter starts on {starts}.",
    "See that the date is right, and that the row is not one of another winter.",
)
def before_winter(seen: Seen) -> Iterator[Hit]:
    """A colony said to have wintered before its winter began."""
    rows, standing = seen[AFTER], seen.known.stood
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


@rule(
    "spring-apart",
    ASK,
    "By the weighing of {day_1} {colony} should weigh {expected} on {day_2}, and {value} {unit} stands here, {away} "
    "{more}; weighing and eating may be out by {allowed}.{perhaps}",
    "Look at the reading and the colony; leave it if it is right.",
)
def springs_apart(seen: Seen) -> Iterator[Hit]:
    """Spring weights that the last weighing before does not explain."""
    rows = seen[AFTER]
    gross, colony, day = numbers(rows["spring_gross"]), _colony(seen, AFTER), days(rows["date"])
    impossible = {at for at, _ in seen.once(spring_lifts)}
    known = [at for at in np.flatnonzero(~np.isnan(gross + day) & (colony > 0)).tolist() if at not in impossible]
    told = {"colony_row": colony[known], "day": day[known], "gross": gross[known]}
    spread = handbook().methods["platform"].handling_u.value
    yield from _apart(seen, AFTER, "spring_gross", known, pd.DataFrame(told).assign(gross_u=spread))


ROUNDS = "Winter rounds"


@rule(
    "round-apart",
    ASK,
    "By the weighing of {day_1} {colony} should weigh {expected} on {day_2}, and was guessed at {value} {unit}, {away} "
    "{more}; guessing and eating may be out by {allowed}.{perhaps}",
    "Look at the guess and the colony; leave it if it is right, and weigh the hive on the next warm day.",
)
def rounds_apart(seen: Seen) -> Iterator[Hit]:
    """Guesses of winter rounds that the last weighing before does not explain."""
    rows, hands = seen[ROUNDS], seen.reckoned.hefting
    guess, _ = hefts(rows)
    colony, day = _colony(seen, ROUNDS), days(rows["date"])
    known = np.flatnonzero(~np.isnan(guess + day) & (colony > 0)).tolist()
    hand = np.maximum(match(rows["by"], hands["by"]), 1)[known]
    gross = guess[known] * pick(hands["factor"], hand)
    hand_u = np.minimum(gross, figure("usual_gross")) * pick(hands["spread"], hand)
    told = {"colony_row": colony[known], "day": day[known], "gross": gross, "gross_u": hand_u}
    yield from _apart(seen, ROUNDS, "heft", known, pd.DataFrame(told))


def _colony(seen: Seen, sheet: str) -> Rows:
    return match(seen[sheet]["colony"], seen["Colonies"]["colony"])


def _apart(seen: Seen, sheet: str, key: str, at: list[int], told: pd.DataFrame) -> Iterator[Hit]:
    """Weights of another sheet that are not what the last weighing before lets expect, with what may be meant."""
    if told.empty or not len(seen["Weighings"]):
        return
    found = weighed_elsewhere(seen.reckoned.records, told)
    rows, name, factor = seen[sheet], {AFTER: "spring-apart", ROUNDS: "round-apart"}[sheet], seen.number(1.0)
    for one in found[found["standing"] == "ask"].to_dict("records"):
        place, gross = at[int(one["at"])], float(told["gross"].iloc[int(one["at"])])
        typed = float(str(rows[key].iloc[place])) * factor
        usual = gross - one["residual"], one["residual_u"]
        weighed = Weighed((typed,), "platform", gross / typed, gross, usual, seen.unit)
        behind = pen(weighed, label(rows, place), sheet, key)
        yield Hit(
            name,
            sheet,
            label(rows, place),
            key,
            {
                "colony": str(rows["colony"].iloc[place]),
                "day_1": day_of(one["day_1"]).isoformat(),
                "day_2": day_of(one["day_2"]).isoformat(),
                "expected": seen.mass(gross - one["residual"]),
                "away": seen.mass(abs(one["residual"])),
                "more": "more" if one["residual"] > 0 else "less",
                "allowed": seen.mass(one["allowed"]),
                "unit": seen.unit,
                "perhaps": f" {sentence(behind)[0]}" if behind else "",
            },
            behind[0].value if behind else "",
            round(behind[0].share, 2) if behind else None,
            causes=as_causes(behind),
        )


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
