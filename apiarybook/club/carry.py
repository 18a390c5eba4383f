"""The book of the next winter: what stays of a club is taken along, what happened stays behind."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.book.fingerprint import CARRIED, FINGERPRINT, fingerprint
from apiarybook.book.measure import measure
from apiarybook.book.memory import raw_book
from apiarybook.book.si_frames import earlier
from apiarybook.book.tables import read_book
from apiarybook.book.wants import question
from apiarybook.checks.answers import is_of_finding
from apiarybook.checks.rules_days import OF_THE_WINTER
from apiarybook.club.blank import new_tables
from apiarybook.club.reckoned import Reckoned, reckon_book
from apiarybook.club.year_facts import Facts, facts_of
from apiarybook.errors import CannotWrite
from apiarybook.layout import BOOK
from apiarybook.layout.model import Group, Kind
from apiarybook.layout.settings import LAST_WINTER
from apiarybook.reckon.core.arrays import numbers, words
from apiarybook.reckon.core.winter import serials, winter_words, year_of
from apiarybook.reckon.standing.standing import GONE
from apiarybook.reckon.year.wintered import WINTERED
from apiarybook.reckon.year.year import feed_used

if TYPE_CHECKING:
    from apiarybook.book.measure import Measure

LISTS = tuple(sheet.name for sheet in BOOK.sheets if sheet.group is Group.SETTINGS and sheet.name != "Settings")
LEFT_BEHIND = ("as_at", "returns_due")
"""Settings that belong to one winter."""
WINTERS_OF_HANDS = 3
"""Winters whose lifts still speak for a hand: hands change (common practice, no source)."""
LEAP_DAY = (2, 29)
FED_BEFORE = "fed_before"
"""Column of the sheet Hive types from which the feed order foretells, where the book has it."""


@dataclass(frozen=True, slots=True)
class Carried:
    """The book of the next winter.

    Attributes:
        reckoned: the book.
        colonies: codes of the colonies that go on.
        left: codes of those that do not.
        asked: hive types about whose want the secretary is asked.
        hands: people whose lifts are taken along.
        was_closed: whether the year before was closed, and not changed since.
        held: how many rows of the book before are held, and did not count.
        skipped: winters between the two books, such as 2027/28.
    """

    reckoned: Reckoned
    colonies: tuple[str, ...]
    left: tuple[str, ...]
    asked: tuple[str, ...]
    hands: tuple[str, ...]
    was_closed: bool
    held: int
    skipped: tuple[str, ...] = ()


def carry(old: Reckoned, *, year: int, as_at: date, book_id: str, facts: Facts | None = None) -> Carried:
    """Make the book of the next winter.

    Args:
        old: the club's book, reckoned.
        year: the year in which the next winter begins.
        as_at: the day for which the next book is reckoned.
        book_id: tells the next book from others.
        facts: what the winter taught, if that is known already.

    Raises:
        CannotRead: the book does not say which winter it is for.
        CannotWrite: the winter is not a later one.
    """
    before = year_of(old.book.settings)
    if year <= before:
        raise CannotWrite(
            f"{old.book.name} is for winter {winter_words(before)}; the next book must be for a later one, "
            f"such as {before + 1}."
        )
    if year > LAST_WINTER:
        raise CannotWrite(f"No winter can begin in {year}; type a year from {before + 1} to {LAST_WINTER}.")
    facts, units = facts or facts_of(old), measure(old.book.unit)
    token = f"club{year % 100:02d}"
    going = _going(old, facts)
    _refuse_doubled(old, going)
    fresh = new_tables(str(old.book.settings["region"]), old.book.unit, token)
    rows = _lists(old, years=year - before) | {"Colonies": _colonies(old, going)}
    rows["Hive types"] = _with_feed(rows["Hive types"], facts, units)
    tables = fresh | {name: _spare(name, frame, fresh[name]) for name, frame in rows.items()}
    asked = _asked(facts, units)
    told = {
        "Earlier lifts": _lifts(old, before),
        "Earlier winters": _winters(facts, old),
        "Questions": pd.concat([asked, _lasting(old)]),
    }
    settings = {key: one for key, one in old.book.settings.items() if key not in LEFT_BEHIND} | {"winter": float(year)}
    about = {"book id": book_id, "copy id": token, CARRIED: old.content.about["copy id"]}
    whole = tables | {name: frame for name, frame in told.items() if len(frame)}
    reckoned = reckon_book(read_book(raw_book(whole, settings, about, old.book.name)), as_at)
    names = words(old.book.tables["Colonies"].typed["colony"])
    return Carried(
        reckoned=reckoned,
        colonies=tuple(names[going].tolist()),
        left=tuple(names[(names != "") & ~going].tolist()),
        asked=tuple(str(one) for one in asked["ref"]),
        hands=tuple(dict.fromkeys(str(one) for one in told["Earlier lifts"]["by"])),
        was_closed=old.content.about.get(FINGERPRINT) == fingerprint(old.book),
        held=sum(map(len, old.checked.held.values())),
        skipped=tuple(f"{winter_words(one)}" for one in range(before + 1, year)),
    )


def _refuse_doubled(old: Reckoned, going: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> None:
    """Two colonies of one code would both be held in the next book from its first day."""
    codes = pd.Series(words(old.book.tables["Colonies"].typed["colony"])[going])
    doubled = codes[codes.str.casefold().duplicated()].tolist()
    if doubled:
        raise CannotWrite(
            f"{old.book.name}, sheet Colonies: {doubled[0]} stands in two rows; give each colony a code of its own, or "
            "clear one of the rows, then carry again."
        )


def _going(old: Reckoned, facts: Facts) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Which colonies go on: alive by the list, and not lost, united or given away by what was written since."""
    colonies = old.book.tables["Colonies"].typed
    moved = words(old.season.colonies["moved_state"]) != ""
    named = words(colonies["colony"]) != ""
    outcome = words(facts.found["outcome"])
    return np.asarray(named & ~np.isin(words(colonies["state"]), GONE) & np.isin(outcome, ["", WINTERED]) & ~moved)


def _colonies(old: Reckoned, going: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> pd.DataFrame:
    """The colonies that go on, each with the hive type and at the apiary where Moves left it."""
    table = old.book.tables["Colonies"]
    frame = table.raw.copy()
    moved = words(old.season.colonies["moved_type"])
    changed = (moved != "") & (moved != words(table.typed["hive_type"]))
    frame.loc[changed, "hive_type"] = moved[changed].astype(object)
    frame.loc[changed, "own_tare"] = None
    apiary = words(old.season.colonies["moved_apiary"])
    frame.loc[apiary != "", "apiary"] = apiary[apiary != ""].astype(object)
    kept: pd.DataFrame = frame.loc[going].assign(ref=None)
    return kept


def _lists(old: Reckoned, *, years: int) -> dict[str, pd.DataFrame]:
    """The lists: open loans only, of each scale its last check, dates of apiaries moved on by whole years."""
    rows = {name: old.book.tables[name].raw[~old.book.tables[name].is_blank] for name in LISTS}
    rows["Scale loans"] = rows["Scale loans"][rows["Scale loans"]["back"].isna()]
    rows["Scale checks"] = _last_checks(old)
    dated = [column.key for column in BOOK["Apiaries"].columns if column.kind is Kind.DATE]
    rows["Apiaries"] = rows["Apiaries"].copy()
    for key in dated:
        rows["Apiaries"][key] = rows["Apiaries"][key].map(lambda day: _moved_on(day, years)).astype(object)
    return rows


def _with_feed(types: pd.DataFrame, facts: Facts, units: Measure) -> pd.DataFrame:
    """Hive types with what a colony of each was fed from its first weighing to the start of winter, as stores."""
    fed = feed_used(facts.found).set_index("group")
    each = (fed["fed_autumn"] / fed["colonies"] / units.kg).round(1)
    given = [each.get(str(name)) for name in types["name"]]
    return types.assign(**{FED_BEFORE: pd.Series(given, types.index, dtype=object)})


def _moved_on(day: object, years: int) -> object:
    """The same day some years later; the leap day on the 28th where there is none."""
    if not isinstance(day, date):
        return day
    spared = day.replace(day=28) if (day.month, day.day) == LEAP_DAY else day
    return spared.replace(year=day.year + years)


def _last_checks(old: Reckoned) -> pd.DataFrame:
    table = old.book.tables["Scale checks"]
    day = pd.Series(np.floor(serials(table.typed["date"])), table.raw.index)
    last = day.groupby(words(table.typed["scale"])).transform("max")
    kept: pd.DataFrame = table.raw.loc[(day == last) & ~table.is_blank]
    return kept


def _spare(name: str, rows: pd.DataFrame, blank: pd.DataFrame) -> pd.DataFrame:
    """Rows with the last ready-made blank ones of a new book behind them."""
    spare = blank.iloc[len(blank) - BOOK[name].spare :]
    whole = pd.concat([rows.reindex(columns=blank.columns).astype(object), spare], ignore_index=True)
    return whole.where(whole.notna(), None)


def _asked(facts: Facts, units: Measure) -> pd.DataFrame:
    """The questions about wants that would change."""
    rows = [
        question(
            str(one["hive_type"]),
            round(float(one["want"]) / units.kg, 1),
            round(float(one["suggested"]) / units.kg, 1),
            units.mass,
            f"learnt from {one['colonies']} colonies",
        )
        for one in facts.wants.to_dict("records")
        if one["suggested"] != one["want"]
    ]
    return pd.DataFrame(rows, columns=[column.key for column in BOOK["Questions"].columns], dtype=object)


def _lasting(old: Reckoned) -> pd.DataFrame:
    """Answers about colonies and lists, which go on as they are."""
    said = old.content.told["Questions"]
    kept: pd.DataFrame = said[said["holds"].notna() & said["key"].notna() & ~said["sheet"].isin(OF_THE_WINTER)]
    found: pd.DataFrame = kept.loc[[is_of_finding(str(key)) for key in kept["key"]]]
    return found


def _lifts(old: Reckoned, year: int) -> pd.DataFrame:
    """Lifts that were both hefted and weighed, of this winter and of the last few before it."""
    keys = ["by", "winter", "word", "error"]
    now = old.season.pairs.assign(winter=float(year))[keys]
    before = earlier(old.book).get("Earlier lifts", now.iloc[:0])
    whole = pd.concat([before[keys].astype(object), now.astype(object)], ignore_index=True)
    kept: pd.DataFrame = whole.loc[numbers(whole["winter"]) > year - WINTERS_OF_HANDS]
    return kept.assign(word=kept["word"].where(kept["word"] != "", None))


def _winters(facts: Facts, old: Reckoned) -> pd.DataFrame:
    """What colonies of all winters said, with the want from which learning began."""
    types, kilograms = old.book.tables["Hive types"].typed, measure(old.book.unit).kg
    before = earlier(old.book).get("Earlier winters")
    first = {str(name): want * kilograms for name, want in zip(types["name"], types["want"], strict=True) if name}
    if before is not None:
        first |= dict(zip(before["hive_type"].astype(str), numbers(before["want_then"]).tolist(), strict=True))
    told = facts.told.assign(want_then=[first.get(str(name), np.nan) for name in facts.told["hive_type"]])
    return told.astype(object).where(told.notna(), None)
