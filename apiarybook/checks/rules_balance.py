"""Rules on what a colony gained or lost between two weighings."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.checks import rules_gather, rules_slips
from apiarybook.checks.context import Seen, days, label
from apiarybook.checks.finding import Hit
from apiarybook.checks.rule import ASK, NOTE, rule
from apiarybook.reckon.balance import causes as readings
from apiarybook.reckon.balance.causes import BEFORE_FEED, SLIP
from apiarybook.reckon.balance.mass_balance import GONE_BY_MOVE, GONE_BY_OUTCOME
from apiarybook.reckon.core.arrays import figure, words
from apiarybook.reckon.core.lookup import match, pick_words
from apiarybook.reckon.core.winter import day_of

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator, Mapping


ASKED_ALREADY = (rules_slips.impossible_readings, rules_gather.weighed_by_two)
"""Rules that ask whether a reading can be right: what follows from it is not asked as well."""
_CHANGE = (
    "From {day_1} to {day_2} {colony} should have {expected} ({parts}), and it {changed}, so that it weighs {away} "
    "{more} than the book explains; weighing and eating may be out by {allowed}. Perhaps {first}; or {second}."
)
_LOOK = "{look} Leave the row if all is as written."
RULE_OF = {"ask": "unexplained-change", "note": "small-unexplained-change"}
PARTS = (("fed", "fed", 1.0), ("driven_off", "water driven off", -1.0), ("eaten", "eaten", -1.0))
PARTS_CHANGED = (("kit", "hive and extras", 1.0), ("living", "bees and brood", 1.0))
ALWAYS = tuple(name for _, name, _ in PARTS)
"""Parts that go one way only, which their name says."""
SMALLEST_TOLD = 0.05
"""Kilograms from which a part is told: what one decimal shows."""


@rule("unexplained-change", ASK, _CHANGE, _LOOK)
@rule("small-unexplained-change", NOTE, _CHANGE, _LOOK)
def unexplained_changes(seen: Seen) -> Iterator[Hit]:
    """Intervals between two weighings whose change the book does not explain, with what may lie behind it."""
    found = seen.reckoned.balance
    told = found[(found["standing"] != "") & (found["first"] != BEFORE_FEED)]
    if told.empty:
        return
    rows, between = seen["Weighings"], _between(seen, told)
    doubted = {hit.row for rule in ASKED_ALREADY for hit in rule(seen)}
    for at, one in zip(told.index, told.to_dict("records"), strict=True):
        first, second = label(rows, int(one["row_1"])), label(rows, int(one["row_2"]))
        if first not in doubted and second not in doubted:
            ends = (("Weighings", first), ("Weighings", second))
            yield replace(_change(seen, one, second), rests_on=(*ends, *between.get(at, ())))


def _between(seen: Seen, told: pd.DataFrame) -> dict[Hashable, list[tuple[str, int]]]:
    """The feeds and moves of each interval, and those that have no date, by sheet and label of the row."""
    found: dict[Hashable, list[tuple[str, int]]] = {}
    asked = told[["colony_row", "day_1", "day_2"]].assign(at=told.index)
    for sheet in ("Feedings", "Moves"):
        rows = seen[sheet]
        row = pd.DataFrame({"colony_row": match(rows["colony"], seen["Colonies"]["colony"]), "on": days(rows["date"])})
        both = asked.merge(row.assign(label=rows.index.to_numpy()), on="colony_row")
        inside = both["on"].isna() | ((both["on"] >= both["day_1"]) & (both["on"] <= both["day_2"]))
        for at, name in zip(both["at"][inside], both["label"][inside], strict=True):
            found.setdefault(at, []).append((sheet, int(name)))
    return found


def _change(seen: Seen, one: Mapping[Hashable, object], row: int) -> Hit:
    """One such interval in words."""
    readings = [str(one[key]) for key in ("first", "second")]
    which = int(_number(one, "which"))
    key = f"reading_{which}" if readings[0] == SLIP else "reading_1"
    meant = f"{round(seen.number(_number(one, 'meant')), 2):g}"
    listed = seen["Colonies"]["colony"]
    names = pick_words(listed, np.array([int(_number(one, "colony_row")), int(_number(one, "other"))]))
    told: dict[str, object] = {
        "colony": names[0],
        "day_1": day_of(_number(one, "day_1")).isoformat(),
        "day_2": day_of(_number(one, "day_2")).isoformat(),
        "expected": _moved(seen, _number(one, "expected")),
        "changed": _moved(seen, _number(one, "changed")),
        "away": seen.mass(abs(_number(one, "residual"))),
        "more": "more" if _number(one, "residual") > 0 else "less",
        "allowed": seen.mass(figure("balance_note") * _number(one, "residual_u")),
        "parts": _parts(seen, one),
    }
    typed = f"{seen.number(float(str(seen['Weighings'][f'reading_{which}'].loc[row]))):g}"
    said = {"other": names[1], "meant": meant, "typed": typed, "day_2": told["day_2"]}
    likely = [tuple(part.format(**said) for part in LIKELY[reading]) for reading in readings]
    told |= {"first": likely[0][0], "second": likely[1][0], "look": " ".join(look for _, look in likely)}
    slip = dict(zip(readings, ("first_share", "second_share"), strict=True)).get(SLIP)
    sure = round(_number(one, slip), 2) if slip else None
    return Hit(RULE_OF[str(one["standing"])], "Weighings", row, key, told, meant if slip else "", sure)


def _number(one: Mapping[Hashable, object], key: str) -> float:
    return float(str(one[key]))


def _moved(seen: Seen, kilograms: float) -> str:
    """A change in words.

    >>> from datetime import date
    >>> from apiarybook.reckon.core.winter import winter
    >>> _moved(Seen({}, date(2026, 9, 1), winter(2026), None), -2.04)
    'lost 2 kg'
    """
    return f"{'lost' if kilograms < 0 else 'gained'} {seen.mass(abs(kilograms))}"


def _parts(seen: Seen, one: Mapping[Hashable, object]) -> str:
    """What makes up the change that was expected, in words."""
    told = [(name, sign * _number(one, key)) for key, name, sign in (*PARTS, *PARTS_CHANGED)]
    kept = [
        f"{name} {seen.mass(abs(part))}{'' if name in ALWAYS else ' more' if part > 0 else ' less'}"
        for name, part in told
        if abs(part) >= SMALLEST_TOLD
    ]
    return ", ".join(kept) or "nothing to speak of"


@rule(
    "weighed-after-gone",
    ASK,
    "By the sheet {sheet} {colony} {gone} on {day}, and it was weighed after that.",
    "Look at the code and at both dates. For a hive that was weighed empty or for practice choose practice under "
    "occasion.",
)
def weighed_after_gone(seen: Seen) -> Iterator[Hit]:
    """Colonies weighed after they died, were united or were given away."""
    rows = seen["Weighings"]
    colony, day = np.char.lower(words(rows["colony"])), days(rows["date"])
    practice = words(rows["occasion"]) == "practice"
    for at, sheet in _gone(seen):
        told, when = _end(seen, sheet, at), float(days(seen[sheet]["date"])[at])
        later = (colony == str(told["colony"]).casefold()) & (day > when) & ~practice
        for row in np.flatnonzero(later).tolist():
            end_row = ((sheet, label(seen[sheet], at)),)
            yield Hit("weighed-after-gone", "Weighings", label(rows, row), "date", told, rests_on=end_row)


@rule(
    "row-after-gone",
    ASK,
    "By the sheet {sheet} {colony} {gone} on {day}, and it was {done} after that.",
    "Look at the code and at both dates, and mend the row that is wrong.",
)
def rows_after_gone(seen: Seen) -> Iterator[Hit]:
    """Colonies fed, or seen on a winter round, after they died, were united or were given away."""
    ends = list(_gone(seen))
    for name, done in (("Feedings", "fed"), ("Winter rounds", "seen on a round")) if ends else ():
        rows = seen[name]
        colony, day = np.char.lower(words(rows["colony"])), days(rows["date"])
        for at, sheet in ends:
            told = {**_end(seen, sheet, at), "done": done}
            when = float(days(seen[sheet]["date"])[at])
            for row in np.flatnonzero((colony == str(told["colony"]).casefold()) & (day > when)).tolist():
                yield Hit(
                    "row-after-gone", name, label(rows, row), "date", told, rests_on=((sheet, label(seen[sheet], at)),)
                )


def _end(seen: Seen, sheet: str, at: int) -> dict[str, object]:
    """How a colony went, for a sentence."""
    end = seen[sheet].iloc[at]
    return {
        "sheet": sheet,
        "colony": end["colony"],
        "day": day_of(float(days(seen[sheet]["date"])[at])).isoformat(),
        "gone": GONE[str(end["what" if sheet == "Moves" else "outcome"])].format(into=end.get("into")),
    }


GONE = {
    "united into": "was united into {into}",
    "united": "was united",
    "given away": "was given away",
    "died": "died",
}
"""How a colony went, in words."""


def _gone(seen: Seen) -> Iterator[tuple[int, str]]:
    """The rows that end a colony, by position and sheet."""
    for sheet, key, ends in (("Moves", "what", GONE_BY_MOVE), ("After winter", "outcome", GONE_BY_OUTCOME)):
        rows = seen[sheet]
        known = match(rows["colony"], seen["Colonies"]["colony"]) > 0
        for at in np.flatnonzero(np.isin(words(rows[key]), ends) & known & ~np.isnan(days(rows["date"]))).tolist():
            yield at, sheet


LIKELY = {
    readings.FED: (
        "it was fed and the feed is not written down",
        "Ask who fed it in these days, and write the feed on the sheet Feedings.",
    ),
    readings.LEFT_ON: (
        "a box, a stone or something else was left on that the row does not name",
        "See what stood on the hive on {day_2} and name it as an extra.",
    ),
    readings.FLOW: (
        "a flow of nectar",
        "See whether its neighbours gained as well, and write yes under flow on if they did.",
    ),
    readings.ROBBED: (
        "it was robbed",
        "Look for fighting at the entrance and torn cappings; if so, narrow the entrance and feed in the evening only.",
    ),
    readings.LEAKED: ("feed leaked or was spilt", "Look whether the feeder drips and the ground below is wet."),
    readings.SWARMED: ("it swarmed", "Look for queen cells and how many frames the bees cover."),
    readings.TAKEN_OFF: (
        "a box or something else was taken off, and the book still counts it",
        "See what stands on the hive, and mend the extras or write the change on the sheet Moves.",
    ),
    readings.NOT_GIVEN: (
        "a feed in the book was not given, or not to this colony",
        "Look at its rows between these days on the sheet Feedings, and whether one stands twice.",
    ),
    readings.BEFORE_FEED: (
        "the feed of that day came after the weighing",
        "Choose before feed or after feed under occasion.",
    ),
    readings.HIVE_TYPE: (
        "it stands in another hive type than on the first day, and no row says so",
        "Look at its hive, and write a new hive type on the sheet Moves.",
    ),
    readings.OTHER_COLONY: (
        "the reading is that of {other}",
        "Look at your notes for both colonies, and weigh both again if in doubt.",
    ),
    readings.SLIP: (
        "a slip of the pen, {meant} for {typed}",
        "Look at your notes for the reading of {day_2}.",
    ),
}
"""What each cause is called, and what to look at for it."""
