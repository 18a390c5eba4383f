"""Rules on what a colony gained or lost between two weighings."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from apiarybook.checks import rules_gather, rules_slips, rules_visits
from apiarybook.checks.causes import Behind, as_causes, sentence, way
from apiarybook.checks.context import Seen, days, label
from apiarybook.checks.finding import Hit
from apiarybook.checks.rule import ASK, NOTE, finds, rule
from apiarybook.checks.rules_weighings import READINGS
from apiarybook.reckon.balance.causes import AMOUNT, BEFORE_FEED
from apiarybook.reckon.balance.mass_balance import GONE_BY_MOVE, GONE_BY_OUTCOME
from apiarybook.reckon.core.arrays import figure, words
from apiarybook.reckon.core.lookup import match
from apiarybook.reckon.core.winter import day_of

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator, Mapping

    from apiarybook.reckon.balance.causes import Likely


_CHANGE = (
    "From {day_1} to {day_2} {colony} should have {expected} ({parts}), and it {changed}, so that it weighs {away} "
    "{more} than the book explains; weighing and eating may be out by {allowed}. {first}"
)
_OUT = (
    "On {day} {colony} weighed about {away} {more} than its weighings before and after explain; weighing and eating "
    "may be out by {allowed}. {first}"
)
_LOOK = "{look} Leave the row if all is as written."
RULE_OF = {"ask": "unexplained-change", "note": "small-unexplained-change"}
PARTS = (("fed", "fed", 1.0), ("driven_off", "water driven off", -1.0), ("eaten", "eaten", -1.0))
PARTS_CHANGED = (
    ("kit", "hive and extras", 1.0),
    ("living", "bees and brood", 1.0),
    ("wood", "water in the wood", 1.0),
)
ALWAYS = tuple(name for _, name, _ in PARTS)
"""Parts that go one way only, which their name says."""
SMALLEST_TOLD = 0.05
"""Kilograms from which a part is told: what one decimal shows."""


@finds("visit-off", "readings-moved", "readings-exchanged")
@rule("unexplained-change", ASK, _CHANGE, _LOOK)
@rule("small-unexplained-change", NOTE, _CHANGE, _LOOK)
@rule("weighing-out-of-line", ASK, _OUT, _LOOK)
def unexplained_changes(seen: Seen) -> Iterator[Hit]:
    """Intervals between two weighings whose change the book does not explain, with what may lie behind it."""
    found = seen.reckoned.balance
    of_visits = seen.once(rules_visits.found_of_visits)
    yield from (hit for hit, _ in of_visits)
    told = found[(found["standing"] != "") & (found["first"] != BEFORE_FEED)]
    if told.empty:
        return
    rows, between = seen["Weighings"], _between(seen, told)
    doubted = {label(rows, at) for at, _ in seen.once(rules_slips.lifts)}
    doubted |= {hit.row or 0 for hit in seen.once(rules_gather.weighed_by_two)}
    others = (rules_visits.readings_copied, rules_visits.feeds_unlike_their_round, rules_visits.visits_out_of_order)
    by_visit = [*(hit for hit, off in of_visits if not off), *(hit for other in others for hit in seen.once(other))]
    off = {row: kilograms for hit, kilograms in of_visits if kilograms for _, row in hit.rests_on}
    claimed = {end for hit in by_visit for end in hit.rests_on}
    doubted |= {row for sheet, row in claimed if sheet == "Weighings"}
    asked: set[tuple[str, int | None, str]] = set()
    for at, one in zip(told.index, told.to_dict("records"), strict=True):
        first, second = label(rows, int(one["row_1"])), label(rows, int(one["row_2"]))
        if first in doubted or second in doubted or _is_of_its_visit(one, off.get(first), off.get(second)):
            continue
        if claimed.isdisjoint(between.get(at, ())):
            ends = (("Weighings", first), ("Weighings", second))
            hit = _change(seen, one, (first, second))
            if (hit.sheet, hit.row, hit.key) in asked:  # one cell takes one question: the later is asked at its own end
                hit = replace(hit, sheet="Weighings", row=second, key="reading_1", suggestion="", likelihood=None)
            asked.add((hit.sheet, hit.row, hit.key))
            yield replace(hit, rests_on=(*ends, *between.get(at, ())))


def _is_of_its_visit(one: Mapping[Hashable, Any], first: float | None, second: float | None) -> bool:
    """Whether what an interval leaves over is no more than the visits at its ends are off, as they all are [kg]."""
    if first is None and second is None:
        return False
    left = one["residual"] + (first or 0.0) - (second or 0.0)
    return bool(one["standing"] != "ask" or abs(left) <= one["allowed"])


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


def _change(seen: Seen, one: Mapping[Hashable, Any], ends: tuple[int, int]) -> Hit:
    """One such interval in words, at the cell that is likeliest at fault; of an event at the later reading."""
    behind = [_behind(seen, cause, one, ends) for cause in one["likely"]]
    first, look = sentence(behind)
    name, said = _out_of_line(seen, one) if one["is_out"] else _said(seen, one)
    told = {**said, "colony": _code(seen, int(one["colony_row"])), "first": first, "look": look}
    sheet, row, key = behind[0].cell or ("Weighings", ends[1], "reading_1")
    sure = round(behind[0].share, 2) if behind[0].value else None
    return Hit(name, sheet, row, key, told, behind[0].value, sure, causes=as_causes(behind))


def _said(seen: Seen, one: Mapping[Hashable, Any]) -> tuple[str, dict[str, object]]:
    """What is said of what an interval alone leaves over."""
    return RULE_OF[str(one["standing"])], {
        "day_1": day_of(one["day_1"]).isoformat(),
        "day_2": day_of(one["day_2"]).isoformat(),
        "expected": _moved(seen, one["expected"]),
        "changed": _moved(seen, one["changed"]),
        "away": seen.mass(abs(one["residual"])),
        "more": "more" if one["residual"] > 0 else "less",
        "allowed": seen.mass(one["allowed"]),
        "parts": _parts(seen, one),
    }


def _out_of_line(seen: Seen, one: Mapping[Hashable, Any]) -> tuple[str, dict[str, object]]:
    """What is said of a weighing that only the intervals before and after it together call off."""
    return "weighing-out-of-line", {
        "day": day_of(one["day_2"]).isoformat(),
        "away": seen.mass(abs(one["off"])),
        "more": "more" if one["off"] > 0 else "less",
        "allowed": seen.mass(figure("balance_note") * one["off_u"]),
    }


def _behind(seen: Seen, cause: Likely, one: Mapping[Hashable, Any], ends: tuple[int, int]) -> Behind:
    """One cause with its value and cell."""
    if cause.name == AMOUNT:
        return _amount(seen, cause)
    end = cause.end or 2
    row, said = ends[end - 1], seen.once(_as_typed)[int(one[f"row_{end}"])]
    key = f"reading_{max(cause.which, 1)}"
    told = {"place": "", "way": way(str(said["how"]), sum(bool(pd.notna(said[one])) for one in READINGS))}
    told["other"] = _code(seen, cause.other)
    told["typed"] = f"{seen.number(float(said[key])):g}"
    if cause.end == 1:
        told["place"] = f" in {seen.place('Weighings', row, key)}, of {str(said['date'])[:10]}"
    value = "" if np.isnan(cause.meant) else f"{round(cause.meant, 2):g}"
    return Behind(cause.name, cause.share, value, ("Weighings", row, key) if cause.end else None, told)


def _as_typed(seen: Seen) -> Iterator[dict[Hashable, Any]]:
    """How and when each weighing was done, and what was read."""
    yield from seen["Weighings"][["how", "date", *READINGS]].to_dict("records")


def _code(seen: Seen, row: int) -> str:
    """Code of the colony at a row counted from 1; empty for none."""
    return seen.once(_codes)[row - 1] if row else ""


def _codes(seen: Seen) -> Iterator[str]:
    yield from words(seen["Colonies"]["colony"]).tolist()


def _amount(seen: Seen, cause: Likely) -> Behind:
    """A feed that was written wrongly."""
    rows, at = seen["Feedings"], cause.other - 1
    row, unit = label(rows, at), str(rows["unit"].iloc[at])
    key = "unit" if cause.text else "amount"
    typed = f"{float(rows['amount'].iloc[at]):g}"
    told = {"place": f" in {seen.place('Feedings', row, key)} of Feedings", "typed": unit if cause.text else typed}
    value = cause.text or f"{round(cause.meant, 3):g}"
    return Behind(cause.name, cause.share, value, ("Feedings", row, key), told)


def _moved(seen: Seen, kilograms: float) -> str:
    """A change in words.

    >>> from datetime import date
    >>> from apiarybook.reckon.core.winter import winter
    >>> _moved(Seen({}, date(2026, 9, 1), winter(2026), None), -2.04)
    'lost 2 kg'
    """
    return f"{'lost' if kilograms < 0 else 'gained'} {seen.mass(abs(kilograms))}"


def _parts(seen: Seen, one: Mapping[Hashable, Any]) -> str:
    """What makes up the change that was expected, in words."""
    told = [(name, sign * one[key]) for key, name, sign in (*PARTS, *PARTS_CHANGED)]
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
