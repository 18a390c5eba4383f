"""Rules on what is blank, on codes, and on the lists that the other sheets draw on."""

from __future__ import annotations

import difflib
from collections import Counter
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from apiarybook.checks.context import Seen, blank, days, flag, label
from apiarybook.checks.finding import Hit
from apiarybook.checks.rule import ASK, HOLD, NOTE, finds, rule
from apiarybook.handbook import handbook
from apiarybook.layout import BOOK, Column, Kind, Role
from apiarybook.reckon.core.arrays import figure, numbers, words
from apiarybook.reckon.core.lookup import match, pick
from apiarybook.reckon.hive.moves import closes_a_ring, type_on_days

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import pandas as pd

    from apiarybook.checks.context import Mask

GOES_INTO = {
    "united into": "Colonies.colony",
    "moved to apiary": "Apiaries.apiary",
    "new hive type": "Hive types.name",
}
"""Where the second word of a Move must stand."""


def _lacking(seen: Seen, rule: str, sheet: str, key: str, asked: Mask) -> Iterator[Hit]:
    """Hits for the blank cells of a column among the rows asked for, but not for cells that could not be read."""
    rows = seen[sheet]
    empty = asked & rows[key].isna().to_numpy()
    if not empty.any():
        return
    told: dict[str, object] = {}
    if rule == "missing-code":
        told["list"] = BOOK[sheet][key].refers_to.split(".")[0] or sheet
    rule = "missing-heading" if (sheet, key) in seen.absent else rule
    for hit in flag(rule, sheet, rows, empty, key, lambda _: told):
        if (sheet, hit.row, key) not in seen.unread:
            yield hit


@rule(
    "missing-value",
    HOLD,
    "{heading} is blank, and the row cannot be used without it.",
    "Fill it in, or clear the whole row.",
)
@rule(
    "missing-code",
    HOLD,
    "{heading} is blank, so nobody can tell what the row belongs to.",
    "Type the code from the sheet {list}, or clear the whole row.",
)
@rule(
    "missing-figure",
    HOLD,
    "{heading} is blank, and weights cannot be worked out without it.",
    "Type the figure, or copy it from a row that is like this one.",
)
def missing_values(seen: Seen) -> Iterator[Hit]:
    """Required cells left blank on a row that holds anything."""
    for sheet in seen.with_rows:
        asked = seen.filled(sheet)
        for column in BOOK[sheet].typed:
            if column.required:
                rule = "missing-code" if column.kind is Kind.CODE else "missing-value"
                yield from _lacking(seen, rule, sheet, column.key, asked)
            elif column.needed:
                yield from _lacking(seen, column.needed, sheet, column.key, asked)


@finds("missing-value")
def missing_readings(seen: Seen) -> Iterator[Hit]:
    """Weighings that do not say how, or lack the reading that their way of weighing needs."""
    rows, filled = seen["Weighings"], seen.filled("Weighings")
    how = words(rows["how"])
    lack = partial(_lacking, seen, "missing-value", "Weighings")
    yield from lack("how", filled)
    yield from lack("heft", filled & (how == "heft"))
    yield from lack("reading_1", filled & ~np.isin(how, ["", "heft"]))
    yield from lack("reading_2", filled & (how == "two sides"))


@finds("missing-value")
def missing_feeds(seen: Seen) -> Iterator[Hit]:
    """Feeds without kind, amount or unit; an amount may be left out where sugar and water are given."""
    rows, filled = seen["Feedings"], seen.filled("Feedings")
    lack = partial(_lacking, seen, "missing-value", "Feedings")
    mixed = rows[["sugar", "water"]].notna().all(axis=1).to_numpy()
    yield from lack("feed_kind", filled)
    yield from lack("amount", filled & ~mixed)
    yield from lack("unit", filled & rows["amount"].notna().to_numpy())


@finds("missing-value")
def missing_place(seen: Seen) -> Iterator[Hit]:
    """Moves that do not say into which colony, to which apiary or to which hive type."""
    what = words(seen["Moves"]["what"])
    yield from _lacking(seen, "missing-value", "Moves", "into", np.isin(what, list(GOES_INTO)))


def known_words(seen: Seen, reference: str) -> list[str] | None:
    """Words that a list such as `Feed kinds.name` holds; None where the file does not hold the list."""
    sheet, key = reference.split(".")
    if sheet == "Winter profiles":
        return list(handbook().profiles)
    if sheet not in seen.frames:
        return None
    return [str(word) for word in seen[sheet][key].dropna()]


def _strangers(seen: Seen, sheet: str, column: Column, reference: str, asked: Mask) -> Iterator[Hit]:
    known = known_words(seen, reference)
    if known is None:
        return
    rows, listed = seen[sheet], reference.partition(".")[0]
    folded = {word.casefold() for word in known}
    cells = words(rows[column.key])
    strange = {word for word in np.unique(cells) if word and word.casefold() not in folded}
    rule = "unknown-member" if listed == "Members" else "unknown-code"

    def told(position: int) -> dict[str, object]:
        near = nearest(str(cells[position]), known)
        return {"list": listed, "suggestion": near}

    yield from flag(rule, sheet, rows, asked & np.isin(cells, list(strange)), column.key, told)


def nearest(word: str, known: Sequence[str]) -> str:
    """The known word most like a word, or the empty word where none is like it.

    >>> nearest("Natoinal single", ["National single", "Dadant 10"]), nearest("X", ["National single"])
    ('National single', '')
    """
    folded = {one.casefold(): one for one in known}
    found = difflib.get_close_matches(word.casefold(), list(folded), n=1)
    return folded[found[0]] if found else ""


@rule(
    "unknown-code",
    HOLD,
    "{value} does not stand on the sheet {list}.{perhaps}",
    "Choose one from the list, or add it on the sheet {list} first.",
)
@rule(
    "unknown-member",
    ASK,
    "{value} does not stand on the sheet {list}.{perhaps}",
    "Choose a member from the list, or add the member on the sheet {list}.",
)
def unknown_codes(seen: Seen) -> Iterator[Hit]:
    """Codes and names that stand on no list, case ignored as every spreadsheet program ignores it."""
    for sheet in seen.with_rows:
        for column in BOOK[sheet].columns:
            if column.refers_to and column.role is Role.TYPED:
                everywhere = np.ones(len(seen[sheet]), dtype=np.bool_)
                yield from _strangers(seen, sheet, column, column.refers_to, everywhere)


@finds("unknown-code")
def unknown_places(seen: Seen) -> Iterator[Hit]:
    """Moves into a colony, an apiary or a hive type that stands on no list."""
    what = words(seen["Moves"]["what"])
    for word, reference in GOES_INTO.items():
        yield from _strangers(seen, "Moves", BOOK["Moves"]["into"], reference, what == word)


@rule(
    "into-itself",
    HOLD,
    "The colony {value} is said to be united into itself.",
    "Type the code of the colony it was united into.",
)
def united_into_itself(seen: Seen) -> Iterator[Hit]:
    """A colony that is said to be united into itself."""
    rows = seen["Moves"]
    same = np.char.lower(words(rows["into"])) == np.char.lower(words(rows["colony"]))
    yield from flag("into-itself", "Moves", rows, same & (words(rows["what"]) == "united into"), "into")


@rule(
    "united-back",
    HOLD,
    "By another row {value} is itself united into {colony}, so none of them would be left.",
    "See which of the two stands now, and clear or mend the row that is wrong.",
)
def united_back(seen: Seen) -> Iterator[Hit]:
    """Colonies united into one that by other rows is united into them: none would be left."""
    rows, listed = seen["Moves"], seen["Colonies"]["colony"]
    colony, into = (match(rows[key], listed) for key in ("colony", "into"))
    day = days(rows["date"])
    in_winter = (day >= seen.winter.first) & (day <= seen.winter.last)
    united = (words(rows["what"]) == "united into") & (colony != into) & (colony > 0) & (into > 0) & in_winter
    at = np.flatnonzero(united)
    back = np.isin(np.arange(len(rows)), at[closes_a_ring(colony[at], into[at], day[at])])
    yield from flag("united-back", "Moves", rows, back, "into", lambda row: {"colony": rows["colony"].iloc[row]})


@rule(
    "single-by-name-only",
    ASK,
    "{colony} went down to a single box, and by the book it still stands in a {hive_type} of {boxes} boxes, whose "
    "tare is taken off its weight.",
    "Write the hive type that it is now under into or to of this row.",
)
def single_by_name_only(seen: Seen) -> Iterator[Hit]:
    """Colonies that went down to a single box, and no row says in which hive type they stand now."""
    rows, colonies, types = seen["Moves"], seen["Colonies"], seen["Hive types"]
    colony = match(rows["colony"], colonies["colony"])
    moved = type_on_days(rows.assign(held=""), colonies, types, colony, days(rows["date"]))
    listed = np.concatenate(([""], words(colonies["hive_type"])))[colony]
    name = np.where(moved != "", moved, listed)
    boxes = pick(types["boxes"], match(name, types["name"]))

    def told(at: int) -> dict[str, object]:
        return {"colony": rows["colony"].iloc[at], "hive_type": name[at], "boxes": f"{boxes[at]:g}"}

    still = (words(rows["what"]) == "down to single") & (colony > 0) & (boxes > 1)
    yield from flag("single-by-name-only", "Moves", rows, still, "into", told)


def twice(seen: Seen, rule: str, sheet: str, key: str, *, later_only: bool) -> Iterator[Hit]:
    """Hits for codes of a column that stand on more than one row."""
    rows = seen[sheet]
    folded = np.char.lower(words(rows[key])).tolist()
    counts = Counter(folded)
    first: dict[str, int] = {}
    for position, code in enumerate(folded):
        if not code or counts[code] == 1:
            continue
        other = first.setdefault(code, position)
        if other == position:
            if later_only:
                continue
            other = position + 1 + folded[position + 1 :].index(code)
        place = seen.place(sheet, label(rows, other), key)
        yield Hit(rule, sheet, label(rows, position), key, {"other": place})


@rule(
    "duplicate-code",
    HOLD,
    "{value} stands here and in {other}, so nobody can tell which is meant.",
    "Give each its own code, or clear one of the rows.",
)
def duplicate_codes(seen: Seen) -> Iterator[Hit]:
    """Codes and names that must be single and are not."""
    for sheet in seen.with_rows:
        for column in BOOK[sheet].typed:
            if column.unique and column.key != "ref":
                yield from twice(seen, "duplicate-code", sheet, column.key, later_only=False)


@rule(
    "doubled-ref",
    ASK,
    "The row's mark {value} also stands in {other}: a row was probably copied whole.",
    "Clear the mark of the copied row; leave it if the rows are truly one.",
    member="The row's mark stands in another row too: a row was probably copied whole.",
    member_do="Clear the mark of the copied row; leave it if the rows are truly one.",
)
def doubled_refs(seen: Seen) -> Iterator[Hit]:
    """Rows that carry another row's mark."""
    for sheet in seen.with_rows:
        if "ref" in BOOK[sheet].by_key:
            yield from twice(seen, "doubled-ref", sheet, "ref", later_only=True)


@rule(
    "want-above-comb",
    ASK,
    "{value} is wanted, and all combs of this hive together hold {full}: it can never be called enough.",
    "Lower the want, or plan one more box, and look at the figures of its frames.",
)
def want_above_comb(seen: Seen) -> Iterator[Hit]:
    """Hive types of which more is wanted than their combs hold."""
    rows = seen["Hive types"]
    full = numbers(_of(seen.reckoned.hive_types, "comb_full", rows))
    above = numbers(rows["want"]) > full
    yield from flag("want-above-comb", "Hive types", rows, above, "want", lambda at: {"full": seen.mass(full[at])})


def _of(frame: pd.DataFrame, key: str, rows: pd.DataFrame) -> pd.Series:
    """A reckoned column in the order of the rows it was reckoned from."""
    return frame[key].reindex(rows.index)


@rule(
    "own-tare-apart",
    ASK,
    "This hive's own tare {value} {unit} lies more than {times} times the usual spread from the {tare} of hive "
    "type {hive_type}.",
    "See that nothing but floor, boxes, drawn comb, cover board and roof was weighed.",
)
def own_tare_apart(seen: Seen) -> Iterator[Hit]:
    """Colonies whose own tare lies far from that of their hive type."""
    rows, types, kind = seen["Colonies"], seen["Hive types"], seen.known.stood["type_row"].to_numpy()
    tare, spread = pick(types["tare"], kind, np.nan), pick(types["tare_spread"], kind, np.nan)
    apart = np.abs(numbers(rows["own_tare"]) - tare) > figure("balance_ask") * spread
    same = blank(seen.reckoned.colonies["moved_type"])

    def told(at: int) -> dict[str, object]:
        times = f"{figure('balance_ask'):g}"
        said = {"times": times, "tare": seen.mass(tare[at]), "hive_type": types["name"].iloc[kind[at] - 1]}
        return {**said, "unit": seen.unit}

    yield from flag("own-tare-apart", "Colonies", rows, apart & same, "own_tare", told)


@rule(
    "scale-too-small",
    NOTE,
    "The scale carries {capacity}, and a full colony can weigh more than that: a hanging scale should carry "
    "{least} or more.",
    "Never load it beyond what it carries; weigh heavy hives by two sides or with a larger scale.",
)
def too_small_scales(seen: Seen) -> Iterator[Hit]:
    """Hanging scales that cannot carry a full hive."""
    rows, least = seen["Scales"], figure("hanging_capacity_least")
    capacity = numbers(rows["capacity"])
    small = (words(rows["kind"]) == "hanging") & (capacity < least)

    def told(at: int) -> dict[str, object]:
        return {"capacity": seen.mass(capacity[at]), "least": seen.mass(least)}

    yield from flag("scale-too-small", "Scales", rows, small, "capacity", told)


def bad_slopes(seen: Seen) -> Mask:
    """Which scales have checks that say they are broken or read in another unit."""
    slope = numbers(_of(seen.reckoned.scales, "line_slope", seen["Scales"]))
    return np.asarray((slope < figure("slope_low")) | (slope > figure("slope_high")))


@rule(
    "scale-slope",
    HOLD,
    "By its checks the scale shows {slope} {unit} for each {unit} that hangs on it, outside {low} to {high}.",
    "See that it is set to {unit} and check it again with known masses; its readings do not count until then.",
)
def scale_slope(seen: Seen) -> Iterator[Hit]:
    """Scales that by their checks are not to be believed."""
    slope = numbers(_of(seen.reckoned.scales, "line_slope", seen["Scales"]))

    def told(at: int) -> dict[str, object]:
        low, high = figure("slope_low"), figure("slope_high")
        return {"slope": f"{slope[at]:.3g}", "low": f"{low:g}", "high": f"{high:g}", "unit": seen.unit}

    yield from flag("scale-slope", "Scales", seen["Scales"], bad_slopes(seen), "scale", told)


@rule(
    "scale-unchecked",
    NOTE,
    "Nobody has checked scale {value} this season, so its readings are trusted less.",
    "Hang two known masses on it, near a hive's own, and write them on the sheet Scale checks.",
)
def unchecked_scales(seen: Seen) -> Iterator[Hit]:
    """Scales that were used and never checked."""
    rows = seen["Scales"]
    used = {word.casefold() for word in words(seen["Weighings"]["scale"]).tolist()}
    known = np.isin(np.char.lower(words(rows["scale"])), list(used - {""}))
    checks = numbers(_of(seen.reckoned.scales, "checks", rows))
    yield from flag("scale-unchecked", "Scales", rows, known & ~(checks > 0), "scale")
