"""What stands in every cell: typed values, reckoned ones in the book's units, figures; and how tall each row is."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.book.measure import Measure, measure
from apiarybook.book.settings import settings_frame
from apiarybook.layout import BOOK
from apiarybook.layout.model import Column, Kind, Role
from apiarybook.reckon.balance.mass_balance import GONE_BY_OUTCOME
from apiarybook.reckon.core.arrays import words
from apiarybook.reckon.core.lookup import match, pick_words
from apiarybook.reckon.core.winter import serial, winter_of
from apiarybook.writers import machinery
from apiarybook.writers.known_rows import as_written
from apiarybook.writers.looks import LONG_TEXT

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray
    from xlsxwriter.worksheet import Worksheet

    from apiarybook.layout import Sheet
    from apiarybook.writers.content import Content
    from apiarybook.writers.plan import Planned


Cells = dict[tuple[str, str], "Sequence[object]"]


def fill(content: Content) -> Cells:
    """Give the values of all columns of a book.

    Args:
        content: what the book holds.

    Returns:
        for each sheet and column key the values from its first row down; blank is None, days are numbers where the
        book computes them and dates where they were typed.
    """
    units = measure(content.unit)
    cells: Cells = {}
    for name, frame in content.typed.items():
        for key in frame.columns:
            cells[name, key] = _plain(frame[key])
    for name, frame in (_machinery(content, units) | content.told).items():
        for key in frame.columns:
            cells[name, key] = _told(frame[key], BOOK[name][key], units, name)
    for name, frame in _reckoned(content).items():
        for column in BOOK[name].columns:
            if column.role is not Role.TYPED and column.key in frame.columns:
                cells[name, column.key] = reckoned(frame[column.key], column, units)
    cells |= _of_rows(content)
    return cells | as_written(cells)


def _of_rows(content: Content) -> Cells:
    """Why a row is held, what is asked about it, what stands ready in a blank one, and for whom that is kept."""
    cells: Cells = {}
    for name, frame in content.typed.items():
        sheet = BOOK[name]
        rows = range(sheet.first_row, sheet.first_row + len(frame))
        for key, said in (("held", content.held), ("asked", content.asked)):
            if name in said and key in sheet.by_key:
                cells[name, key] = [said[name].get(row) for row in rows]
        if name in content.beyond and "beyond" in sheet.by_key:
            per = measure(content.unit).kg
            away = content.beyond[name]
            cells[name, "beyond"] = [away[row] / per if row in away else None for row in rows]
        ready = _stands_ready(sheet, content) if sheet.made_ready else pd.DataFrame(index=frame.index)
        for key, beside in sheet.made_ready.items():
            cells[name, beside] = _plain(ready[key])
            cells[name, key] = _plain(frame[key].where(ready[key].isna(), ready[key]))
        if "row_for" in sheet.by_key:
            kept = ready["member"] if "member" in ready else pd.Series(None, frame.index, dtype=object)
            blank = frame[[one.key for one in sheet.content]].isna().all(axis=1) & kept.isna()
            banded = bands(blank.to_numpy(), members_in(content.typed))
            cells[name, "row_for"] = _plain(kept.where(kept.notna(), pd.Series(banded, frame.index, dtype=object)))
    return cells


def _reckoned(content: Content) -> dict[str, pd.DataFrame]:
    season = content.season
    return {
        "Weighings": season.weighings,
        "Feedings": season.feedings,
        "Winter rounds": season.winter_rounds,
        "Standing": season.standing,
        "Feed order": season.feed_order,
        "Hive types": season.hive_types,
        "Feed kinds": season.feed_kinds,
        "Scales": season.scales,
        "Colonies": season.colonies,
        "Hefting": _beside(
            season.hefting,
            season.worth_weighing.sort_values("order").add_prefix("next_"),
            season.pairs.add_prefix("lift_"),
        ),
        "Till the flow": _beside(season.till_the_flow, season.by_apiary.rename(columns={"apiary": "of_apiary"})),
    }


def _beside(*frames: pd.DataFrame) -> pd.DataFrame:
    """Frames of which each has rows of its own, side by side."""
    return pd.concat([one.reset_index(drop=True) for one in frames], axis=1)


def reckoned(values: pd.Series, column: Column, units: Measure) -> list[object]:
    """A reckoned column in the book's units: numbers, or words with the empty one for blank.

    Args:
        values: the column in SI.
        column: its declaration.
        units: the book's units.

    Returns:
        one value a row; None for blank.
    """
    if column.kind in {Kind.TEXT, Kind.CODE}:
        return _plain(values.where(values != ""))
    return _plain(values.astype(np.float64) * units.factor(column.kind, column.unit))


def _told(values: pd.Series, column: Column, units: Measure, sheet: str) -> list[object]:
    if not column.numeric or BOOK[sheet].in_book_units:
        return _plain(values)
    return reckoned(values, column, units)


def _plain(values: pd.Series) -> list[object]:
    found: list[object] = values.tolist()
    for at in np.flatnonzero(values.isna()).tolist():
        found[at] = None
    return found


def _machinery(content: Content, units: Measure) -> dict[str, pd.DataFrame]:
    months = winter_of(content.settings)
    about = [*content.about.items(), *machinery.about()]
    return {
        "Settings": settings_frame(content.settings | content.kept.settings),
        "Figures": machinery.with_own(machinery.figures(units), serial(content.as_at)),
        "Winter profiles": machinery.profiles(months, serial(content.as_at)),
        "Ways to weigh": machinery.ways_to_weigh(),
        "Units": machinery.units(units),
        "Syrup table": machinery.syrup(),
        "Calendar": machinery.calendar(months),
        "Lists": machinery.lists(),
        "Guide to columns": machinery.guide(units),
        "About": pd.DataFrame(about, columns=["what", "is"]),
    }


def row_counts(cells: Cells) -> dict[str, int]:
    """How many rows of each sheet are filled."""
    counts: dict[str, int] = {}
    for (name, _), values in cells.items():
        counts[name] = max(counts.get(name, 0), len(values))
    return counts


LEAST = 3
"""Rows that a band has at least; where there are fewer, no row is kept for anybody."""


def bands(blank: NDArray[np.bool_], members: Sequence[str]) -> list[str | None]:
    """Keep the blank rows of a sheet for its members, for each a band of equal size one after the other.

    Args:
        blank: which rows nobody has typed into, shape (rows,).
        members: codes of the members, in the order of their list.

    Returns:
        for each row the member for whom it is kept; None for rows that are taken, for what is left over, and for all
        rows where fewer than two members, or fewer than three rows a member, are there.

    >>> bands(np.array([False, True, True, True, True, True, True, True]), ["AF", "BT"])
    [None, 'AF', 'AF', 'AF', 'BT', 'BT', 'BT', None]
    """
    each = int(blank.sum()) // max(len(members), 1)
    kept: list[str | None] = [None] * len(blank)
    if len(members) <= 1 or each < LEAST:
        return kept
    for number, row in enumerate(np.flatnonzero(blank).tolist()[: each * len(members)]):
        kept[row] = members[number // each]
    return kept


def members_in(typed: Mapping[str, pd.DataFrame]) -> list[str]:
    """Codes of the members who have an apiary, in the order of their list."""
    if "Members" not in typed or "Apiaries" not in typed:
        return []
    keepers = {str(one).casefold() for one in typed["Apiaries"]["member"].dropna()}
    return [str(one) for one in typed["Members"]["member"].dropna() if str(one).casefold() in keepers]


def _stands_ready(sheet: Sheet, content: Content) -> pd.DataFrame:
    """What to put into the rows of a sheet into which nobody has typed.

    In a club's book each living colony has one row ready, which every run makes anew; in a copy, which nobody makes
    anew, as many as a colony needs in a season, and the rows after them have the keeper's name.

    Args:
        sheet: the sheet.
        content: what the book holds.

    Returns:
        colony, by, member (its keeper's code), feed_kind and unit for each row, None where nothing stands ready.
    """
    frame = content.typed[sheet.name]
    blank = frame[[column.key for column in sheet.content]].isna().all(axis=1).to_numpy()
    colonies = _living(content)
    rounds = sheet.ready_in_copy[1] // 2 if content.member else 1
    rows = [None if free else str(code) for free, code in zip(blank, frame["colony"], strict=True)]
    turn = pd.Series(turns(rows, colonies.index.tolist(), 1 if sheet.once else rounds, once=sheet.once), dtype=object)
    found = colonies.reindex(turn.where(turn.notna(), "")).assign(colony=turn.to_numpy()).set_axis(frame.index)
    if content.member and len(colonies):
        found.loc[blank, "by"] = colonies["by"].iloc[0]
    return found.astype(object).where(found.notna(), None)


def turns(rows: Sequence[str | None], colonies: Sequence[str], rounds: int, *, once: bool = False) -> list[str | None]:
    """Whose turn each blank row is: the colony that follows the one in the row above, round and round.

    Args:
        rows: the colony of each row into which somebody typed; None for a blank row.
        colonies: all colonies in the order in which they are gone round.
        rounds: how often each is to stand ready.
        once: whether one that has a row already is left out.

    Returns:
        for each row the colony that stands ready there; None for rows that are taken, and once all have had turns.

    >>> turns(["A1", None, None, "B1", None, None], ["A1", "A2", "B1"], 1)
    [None, 'A2', 'B1', None, 'A1', None]
    >>> turns(["A2", None, None, None], ["A1", "A2", "B1"], 1, once=True)
    [None, 'B1', 'A1', None]
    """
    place = {code.casefold(): at for at, code in enumerate(colonies)}
    taken = [place.get(code.casefold(), -1) if code is not None else -1 for code in rows]
    had = set(taken) if once else set()
    left = [0 if at in had else rounds for at in range(len(colonies))]
    found: list[str | None] = [None] * len(rows)
    last, total = -1, sum(left)
    for row, code in enumerate(rows):
        if code is not None:
            last = last if taken[row] < 0 else taken[row]
        elif total:
            last = next(at % len(left) for at in range(last + 1, last + 1 + len(left)) if left[at % len(left)])
            left[last], total = left[last] - 1, total - 1
            found[row] = colonies[last]
    return found


def _living(content: Content) -> pd.DataFrame:
    """The living colonies by code, apiary after apiary in the order of the list: the keeper's code and name."""
    members, outcomes = content.typed["Members"], content.typed["After winter"]
    stood = content.season.standing
    place = stood["place_row"].to_numpy(dtype=np.int64)
    found = pd.DataFrame(
        {"place": np.where(place > 0, place, place.max(initial=0) + 1), "member": words(stood["keeper"])}
    )
    found["by"] = pick_words(members["name"], match(stood["keeper"], members["member"]))
    lost = outcomes["colony"][np.isin(words(outcomes["outcome"]), GONE_BY_OUTCOME)]
    code = pd.Series(words(stood["colony"]), dtype=object)
    here = (stood["active"] == 1).to_numpy() & (match(code, lost) == 0) & ~code.str.casefold().duplicated().to_numpy()
    found["feed_kind"], found["unit"] = _usual_feed(content)
    by_place: pd.DataFrame = found.set_axis(code)[here].sort_values("place", kind="stable")
    return by_place.replace({"": None})


def _usual_feed(content: Content) -> tuple[NDArray[np.str_], NDArray[np.str_]]:
    """For each colony what the club usually gives it now, liquid or laid on top, and in which unit."""
    units, kinds = measure(content.unit), content.typed["Feed kinds"]["name"]
    usual = [str(content.settings[key]) for key in ("autumn_feed", "solid_feed")]
    liquid, solid = pick_words(kinds, match(usual, kinds))
    late = (content.season.standing["last_liquid_day"] < serial(content.as_at)).to_numpy()
    return np.where(late, solid, liquid), np.where(late, units.mass, units.volume)


LINE = 13.5
"""Height of a line of ten-point text [pt]."""
LETTERS = 1.12
"""Letters of running text in the width of a digit, beside an indent."""


def lines_of(text: object, width: float) -> int:
    """How many lines a text needs in a column.

    Args:
        text: what stands in the cell, None for a blank.
        width: width of the column, in digits.

    >>> lines_of("Weigh it again.", 60), lines_of("x" * 130, 60), lines_of(None, 60)
    (1, 2, 1)
    """
    most, said = int(LETTERS * width), "" if text is None else str(text)
    begin, lines = 0, 1
    while len(said) - begin > most:
        blank = said.rfind(" ", begin, begin + most + 1)
        begin, lines = blank + 1 if blank > begin else begin + most, lines + 1
    return lines


def set_heights(sheet: Worksheet, planned: Planned, cells: Cells) -> None:
    """Set the height of each row that needs more than a line.

    Programs that show a book without laying it out anew would cut long sentences off.

    Args:
        sheet: where.
        planned: its plan.
        cells: the values of all sheets.
    """
    lines = np.ones(planned.rows, dtype=np.int64)
    for name, column in planned.columns:
        if column.role is Role.VALUE and column.kind is Kind.TEXT and column.width > LONG_TEXT:
            needs = [lines_of(one, column.width) for one in cells.get((name, column.key), ())[: planned.rows]]
            lines[: len(needs)] = np.maximum(lines[: len(needs)], needs)
    for row in np.flatnonzero(lines > 1):
        sheet.set_row(planned.first_row - 1 + int(row), LINE * int(lines[row]))
