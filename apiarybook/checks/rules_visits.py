"""Rules on a visit as a whole: what befell all its rows alike, and rows that are unlike the others of their block."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.checks.causes import Behind, as_causes, sentence
from apiarybook.checks.context import days, label
from apiarybook.checks.finding import Hit
from apiarybook.checks.rule import ASK, declare, rule
from apiarybook.checks.rules_slips import lifts
from apiarybook.reckon.balance.causes import AMOUNT, FED, FLOW, OTHER_COLONY, ROBBED, SCALE
from apiarybook.reckon.balance.mass_balance import A_SEASON
from apiarybook.reckon.core.arrays import figure, numbers, words
from apiarybook.reckon.core.lookup import pick, pick_words
from apiarybook.reckon.core.winter import day_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from apiarybook.checks.context import Seen
    from apiarybook.reckon.core.arrays import Floats

    Visit = Mapping[str, Floats]
    """What is known of the hives of one visit, by key, one after the other."""

BLOCK = 3
"""Rows that make a block (common practice, no source)."""
APART = 3
"""Days between two visits up to which the second may be the first typed again (common practice, no source)."""
OUT_OF_ORDER = 0.05
"""Share of the days of a sheet that may stand before an earlier one where it is called typed day by day (common
practice, no source)."""
SHIFTED = 31.0
"""Days by which a date may stray from its block (common practice, no source)."""
WELL = 2.5
"""Mean square, in standard uncertainties, up to which readings are called fitting (common practice, no source)."""
SHARED_BY_BOTH = 0.5
"""Share of what makes all colonies of a visit unlike the book that the next interval does not show as well (common
practice, no source)."""
OTHERWISE = 4.5
"""How many times more or less than the others of its round a feed is asked about (common practice, no source)."""
VISIT_LEAST = 2.0
"""Kilograms from which a visit is asked about sooner: its verdicts all turn by it (common practice, no source)."""
EXCHANGED = 13.0
"""By how much the squared misfit of two hives falls once readings change places (common practice, no source)."""
_LOOK = "Look at the paper of that visit."

declare(
    "visit-off",
    ASK,
    "On {day} {count} hives of {apiary} weigh about {away} {more} than the book explains, all alike. {first}",
    "{look}",
)
declare(
    "readings-moved",
    ASK,
    "On {day} the readings of {apiary} do not fit their hives, but fit them well {how}: {places}.",
    f"{_LOOK} Were they typed one row off, or sorted without their colonies?",
)
declare(
    "readings-exchanged",
    ASK,
    "On {day} {colony} and {other} weigh what the book expects of each other, and not of themselves: {places}.",
    f"{_LOOK} Exchange their readings if they were mixed up.",
)


def found_of_visits(seen: Seen) -> list[tuple[Hit, float]]:
    """What befell all rows of a visit alike, and by how much they are all off [kg], 0 where that is not it.

    The rows are those that each hit rests on.
    """
    visits = _visits(seen)
    if visits.empty:
        return []
    earliest = set(visits["row_1"]) - set(visits["row_2"])
    number = visits.groupby(["place", "day_2"], sort=False).ngroup().to_numpy()
    order, ends = np.argsort(number, kind="stable"), np.cumsum(np.bincount(number))[:-1]
    columns = {key: np.split(visits[key].to_numpy()[order], ends) for key in OF_A_VISIT}
    blocks = [dict(zip(columns, each, strict=True)) for each in zip(*columns.values(), strict=True)]
    blocks = [visit for visit in blocks if len(visit["row_2"]) >= BLOCK]
    offs = [_shared(visit, "off") for visit in blocks]
    taken_back = {int(row) for visit, off in zip(blocks, offs, strict=True) if off for row in visit["row_2"]}
    found: list[tuple[Hit, float]] = []
    before: set[int] = set()
    for visit, off in zip(blocks, offs, strict=True):
        how, moved = _moved(visit)
        if before.issuperset(visit["row_1"][moved].tolist()):
            how = ""
        before |= set(visit["row_2"][moved].tolist())
        takes_back = taken_back.issuperset(visit["row_1"].astype(int).tolist())
        common = () if takes_back else _common(seen, visit, off, first=earliest.issuperset(visit["row_1"].tolist()))
        found += [*common, *((hit, 0.0) for hit in _of_moved(seen, visit, how, moved))][:1]
    claimed = {end for hit, _ in found for end in hit.rests_on}
    return [*found, *((hit, 0.0) for hit in _exchanged(seen) if claimed.isdisjoint(hit.rests_on))]


OF_A_VISIT = (
    *("place", "day_1", "day_2", "row_1", "row_2", "gross"),
    *("residual", "residual_u", "off", "off_u", "eaten", "feed_u"),
)


def _visits(seen: Seen) -> pd.DataFrame:
    """The intervals of the book with their apiary, what is left over, and where they end."""
    found = seen.reckoned.balance
    place = pick(seen.known.stood["place_row"], found["colony_row"].to_numpy(dtype=np.int64))
    told = found.assign(place=place, gross=numbers(seen.known.weighed["gross"])[found["row_2"]])
    return told[(told["judged"] == 1) & (told["place"] > 0)].sort_values(["day_2", "row_2"], kind="stable")


def _common(seen: Seen, visit: Visit, off: float, *, first: bool) -> Iterator[tuple[Hit, float]]:
    """What all hives of a visit have in common: weighings that the next take back, or a gain or loss that stays."""
    at_end = first or not np.any(np.isfinite(visit["off"]))
    middle = off or _shared(visit, "residual", scale=at_end)
    if not middle:
        return
    key = "off" if off else "residual"
    alike = np.abs(visit[key] - middle) <= figure("balance_note") * visit[f"{key}_u"]
    rows = [label(seen["Weighings"], int(at)) for at in visit["row_2"][alike]]
    stays = (FED, FLOW) if middle > 0 else (ROBBED,)
    names = (SCALE, *(() if off else stays))
    behind = [Behind(name, 1 / len(names)) for name in names]
    said_first, look = sentence(behind)
    said = {
        **_told(seen, visit),
        "count": f"{len(rows)}",
        "away": seen.mass(abs(middle)),
        "more": "more" if middle > 0 else "less",
        "first": said_first,
        "look": look,
    }
    ends = tuple(("Weighings", row) for row in rows)
    hit = Hit("visit-off", "Weighings", rows[0], "reading_1", said, rests_on=ends, causes=as_causes(behind))
    yield hit, middle


def _shared(visit: Visit, key: str, *, scale: bool = False) -> float:
    """By how much all hives of a visit are off alike [kg]; 0 where they are not, or by no more than chance.

    Args:
        visit: the intervals that end with it.
        key: residual, or off, by the next intervals too: what makes all colonies eat more makes them do so in both.
        scale: whether a residual may be of one weighing alone, for no interval follows, or none goes before.
    """
    known = np.isfinite(visit[key]) & (visit[f"{key}_u"] > 0)
    if np.count_nonzero(known) < max(BLOCK, len(known) / 2):
        return 0.0
    away, u = visit[key][known], visit[f"{key}_u"][known]
    middle = float(np.sum(away / u**2) / np.sum(1 / u**2))
    if abs(middle) < figure("balance_least") or np.mean(((away - middle) / u) ** 2) >= WELL:
        return 0.0
    if key == "residual" and np.any(away * np.sign(middle) < -u):  # one of them says the opposite
        return 0.0
    part = SHARED_BY_BOTH if key == "off" else 1.0
    wet = np.sqrt(np.minimum(1.0, (visit["day_2"] - visit["day_1"]) / A_SEASON).mean())
    shared = [part * figure("winter_spread") * float(visit["eaten"].mean()), figure("wood_moisture") * wet]
    shared.append(part * float(visit["feed_u"].mean()))
    u_middle = float(np.sqrt(1 / np.sum(1 / u**2) + sum(one**2 for one in shared)))
    large = abs(middle) >= VISIT_LEAST and (scale or key == "off")
    times = figure("balance_note") if large else figure("balance_ask")
    return middle if abs(middle) >= times * u_middle else 0.0


def _told(seen: Seen, visit: Visit) -> dict[str, object]:
    apiary = _named(seen, "Apiaries", "apiary", float(visit["place"][0]))
    return {"day": day_of(float(visit["day_2"][0])).isoformat(), "apiary": apiary}


def _named(seen: Seen, sheet: str, key: str, row: float) -> str:
    """The code on a row of a list, counted from 1."""
    return str(pick_words(seen[sheet][key], np.array([int(row)]))[0])


def _moved(visit: Visit) -> tuple[str, NDArray[np.int64]]:
    """How readings would fit their hives that do not as they stand, and which they are: all, or those out of order."""
    gross, u = visit["gross"], visit["residual_u"]
    usual, every = gross - visit["residual"], np.arange(len(gross))
    off = np.flatnonzero(np.abs(visit["residual"]) > figure("interval_ask") * u)
    if len(off) < BLOCK:
        return "", off
    order, in_order = np.argsort(usual), np.sort(gross)
    ways = {
        "one row lower": (_misfit(gross[:-1], usual[1:], u[1:]), every),
        "one row higher": (_misfit(gross[1:], usual[:-1], u[:-1]), every),
        "in another order": (_misfit(in_order, usual[order], u[order]), np.sort(order[gross[order] != in_order])),
    }
    how, (misfit, rows) = min(ways.items(), key=lambda way: way[1][0])
    return (how, rows) if misfit <= WELL else ("", off)


def _of_moved(seen: Seen, visit: Visit, how: str, moved: NDArray[np.int64]) -> Iterator[Hit]:
    """Readings that fit their hives once they are moved by a row, or put back in order."""
    if how:
        yield _of_rows(
            seen, "readings-moved", "reading_1", visit["row_2"][moved].tolist(), {**_told(seen, visit), "how": how}
        )


def _exchanged(seen: Seen) -> Iterator[Hit]:
    """Two hives of a visit whose readings fit well once they are exchanged, and badly as they stand.

    Readings that cannot be their hive's are asked about by themselves, and tell nothing of those before and after.
    """
    lines = _out_of_line(seen)
    lines = lines[~lines.duplicated(["place", "day", "colony"], keep=False)]
    lines = lines[lines["off"].abs() > figure("balance_note") * lines["u"]]
    both = lines.merge(lines, on=["place", "day", "how"], suffixes=("", "_other"))
    both = both[both["colony"] < both["colony_other"]]
    apart = both["gross_other"] - both["gross"]
    badly = (both["off"] / both["u"]) ** 2 + (both["off_other"] / both["u_other"]) ** 2
    well = ((both["off"] + apart) / both["u"]) ** 2 + ((both["off_other"] - apart) / both["u_other"]) ** 2
    both = both.assign(gain=badly - well)[(badly - well > EXCHANGED) & (well < 2 * WELL)]
    both = both.sort_values("gain", ascending=False, kind="stable").drop_duplicates(["colony", "colony_other"])
    for one in both.to_dict("records"):
        names = (_named(seen, "Colonies", "colony", one[key]) for key in ("colony", "colony_other"))
        told = dict(zip(("colony", "other"), names, strict=True), day=day_of(one["day"]).isoformat())
        rows = [int(one["row"]), int(one["row_other"])]
        worse = int(abs(one["off_other"] / one["u_other"]) > abs(one["off"] / one["u"]))
        hit = _of_rows(seen, "readings-exchanged", "reading_1", rows, told, first=worse)
        yield replace(hit, causes=as_causes([Behind(OTHER_COLONY, 1.0)]))


def _out_of_line(seen: Seen) -> pd.DataFrame:
    """How far each weighing is off by the intervals that touch it: row, colony, place, day, how, gross, off, u [kg]."""
    found, weighed = seen.reckoned.balance, seen.known.weighed
    doubted = [at for at, _ in seen.once(lifts)]
    known = (found["judged"] == 1) & ~found["row_1"].isin(doubted) & ~found["row_2"].isin(doubted)
    both = found["off"].notna() & np.roll(known, -1)
    ends = pd.DataFrame({"row": found["row_2"], "off": found["off"].where(both, found["residual"])})
    ends["u"] = found["off_u"].where(both, found["residual_u"])
    begins = pd.DataFrame({"row": found["row_1"], "off": -found["residual"], "u": found["residual_u"]})
    lines = pd.concat([ends[known], begins[known]]).drop_duplicates("row")
    at = lines["row"].to_numpy(dtype=np.int64)
    colony = weighed["colony_row"].to_numpy(dtype=np.int64)[at]
    told = {"colony": colony, "place": pick(seen.known.stood["place_row"], colony)}
    told |= {"day": np.floor(days(seen["Weighings"]["date"]))[at], "how": words(seen["Weighings"]["how"])[at]}
    return lines.assign(**told, gross=numbers(weighed["gross"])[at])


def _of_rows(seen: Seen, name: str, key: str, at: Sequence[int], told: Mapping[str, object], *, first: int = 0) -> Hit:
    """A hit on one of several weighings that rests on all of them and names their cells."""
    rows = [label(seen["Weighings"], int(one)) for one in at]
    places = ", ".join(seen.place("Weighings", row, key) for row in rows)
    ends = tuple(("Weighings", row) for row in rows)
    return Hit(name, "Weighings", rows[first], key, {**told, "places": places}, rests_on=ends)


def _misfit(gross: Floats, usual: Floats, u: Floats) -> float:
    """Mean square of what is left over, in standard uncertainties."""
    return float(np.mean(((gross - usual) / u) ** 2))


def _rows(seen: Seen, sheet: str) -> pd.DataFrame:
    """The rows of a sheet with their colony, apiary and day, in the order in which they stand."""
    rows, known = seen[sheet], seen.known
    own = known.weighed["colony_row"] if sheet == "Weighings" else known.fed["own_row"]
    colony = own.to_numpy(dtype=np.int64)
    told = {"at": np.arange(len(rows)), "colony": colony, "place": pick(known.stood["place_row"], colony)}
    found = pd.DataFrame(told | {"day": np.floor(days(rows["date"]))})
    return found[np.asarray((colony > 0) & found["day"].notna())]


@rule(
    "readings-copied",
    ASK,
    "{count} hives one below the other have the same readings, {reading} on {day}: {places}.",
    f"{_LOOK} Was the first reading filled down?",
)
def readings_copied(seen: Seen) -> Iterator[Hit]:
    """Three rows or more of a visit, one below the other, that have the same readings."""
    rows, sheet = _rows(seen, "Weighings"), seen["Weighings"]
    first, second = (numbers(sheet[key])[rows["at"]] for key in ("reading_1", "reading_2"))
    same = (np.diff(rows["at"]) == 1) & (np.diff(rows["day"]) == 0) & (np.diff(rows["colony"]) != 0)
    same &= (np.diff(first) == 0) & (np.diff(np.nan_to_num(second)) == 0)
    run = np.concatenate(([0], np.cumsum(~same)))[: len(rows)]
    for one in np.flatnonzero(np.bincount(run) >= BLOCK).tolist():
        block = np.flatnonzero(run == one)
        told = {"count": f"{len(block)}", "reading": f"{seen.number(float(first[block[0]])):g}"}
        told["day"] = day_of(float(rows["day"].iloc[block[0]])).isoformat()
        yield _of_rows(seen, "readings-copied", "reading_1", rows["at"].iloc[block].tolist(), told, first=1)


@rule(
    "repeated-visit",
    ASK,
    "{count} rows of {day} say of the same colonies what those of {before} say: {places}.",
    "Clear them if the visit was typed twice.",
)
def repeated_visits(seen: Seen) -> Iterator[Hit]:
    """A visit whose readings are those of one a few days before, or of the same day under another name."""
    rows, sheet = _rows(seen, "Weighings"), seen["Weighings"]
    rows = rows.assign(first=numbers(sheet["reading_1"])[rows["at"]], second=numbers(sheet["reading_2"])[rows["at"]])
    rows = rows.assign(by=words(sheet["by"])[rows["at"]]).dropna(subset=["first"])
    rows, reading = rows.fillna({"second": 0.0}), ["colony", "first", "second"]
    firsts = rows.drop_duplicates([*reading, "day"])  # rows filled down are not paired with each other
    both = firsts.merge(rows.drop_duplicates([*reading, "day", "by"]), on=reading)
    both = both[(both["at_y"] > both["at_x"]) & ((both["day_y"] - both["day_x"]).abs() <= APART)]
    both = both[(both["day_x"] != both["day_y"]) | (both["by_x"] != both["by_y"])]
    for _, visit in both.groupby(["place_x", "day_x", "day_y"], sort=False):
        before, day = (float(visit[key].iloc[0]) for key in ("day_x", "day_y"))
        if len(visit) >= BLOCK:
            told = {"count": f"{len(visit)}", "day": day_of(day).isoformat(), "before": day_of(before).isoformat()}
            yield _of_rows(seen, "repeated-visit", "date", visit["at_y"].tolist(), told)


@rule(
    "date-unlike-its-block",
    ASK,
    "{colony} was weighed on {day} by this row, and no other hive of {apiary}; the rows beside are of {suggestion}.",
    "See whether this one is of that day too.",
)
def dates_unlike_their_block(seen: Seen) -> Iterator[Hit]:
    """The one hive of an apiary that was weighed on another day than the rows beside it."""
    rows, sheet = _rows(seen, "Weighings"), seen["Weighings"]
    count = rows.groupby(["place", "day"])["colony"].transform("size")
    own = set(zip(rows["colony"], rows["day"], strict=True))
    blocks = rows[count >= BLOCK]
    block = dict(zip(blocks["at"], zip(blocks["place"], blocks["day"], strict=True), strict=True))
    for at, colony, place, day in rows[count == 1][["at", "colony", "place", "day"]].itertuples(index=False):
        beside = [block[one] for one in (at - 1, at + 1) if one in block and block[one][0] == place]
        beside = [one for one in beside if abs(one[1] - day) <= SHIFTED or _is_swapped(one[1], day)]
        if not beside or any((colony, one[1]) in own for one in beside):
            continue
        meant = max(beside, key=beside.count)[1]
        told: dict[str, object] = {
            "colony": _named(seen, "Colonies", "colony", colony),
            "day": day_of(day).isoformat(),
            "apiary": _named(seen, "Apiaries", "apiary", place),
        }
        yield Hit("date-unlike-its-block", "Weighings", label(sheet, int(at)), "date", told, day_of(meant).isoformat())


@rule(
    "visit-out-of-order",
    ASK,
    "By these rows {count} weighings are of {day}; the rows above are of {before} and those below of {after}, and the "
    "sheet goes by days otherwise.",
    "See whether the date is right.",
)
def visits_out_of_order(seen: Seen) -> Iterator[Hit]:
    """The rows of one day that stand between two other days of a sheet that was typed day by day."""
    rows, sheet = _rows(seen, "Weighings"), seen["Weighings"]
    run = (rows["day"] != rows["day"].shift()).cumsum().to_numpy()
    runs = rows.groupby(run).agg(day=("day", "first"), count=("day", "size"))
    before, day, after = runs["day"].shift(1), runs["day"], runs["day"].shift(-1)
    away = (before <= after) & ((day < before - APART) | (day > after + APART)) & (runs["count"] >= BLOCK)
    if np.count_nonzero(before > day) - np.count_nonzero(away) > OUT_OF_ORDER * len(runs):
        return
    either = away & (away.shift(1, fill_value=False) | away.shift(-1, fill_value=False))
    for number in runs.index[away & ~either]:
        ends = tuple(("Weighings", label(sheet, int(at))) for at in rows["at"][run == number])
        days_of = {"before": before, "day": day, "after": after}
        told: dict[str, object] = {key: day_of(float(at[number])).isoformat() for key, at in days_of.items()}
        told["count"] = f"{len(ends)}"
        yield Hit("visit-out-of-order", "Weighings", ends[0][1], "date", told, rests_on=ends)


def _is_swapped(one: float, other: float) -> bool:
    """Whether two days are each other with day and month swapped."""
    first, second = day_of(one), day_of(other)
    return first.day != first.month and (first.day, first.month) == (second.month, second.day)


@rule(
    "feed-unlike-its-round",
    ASK,
    "This colony had {given}, and the other {count} colonies of {apiary} had about {usual} each on {day}. {first}",
    "Look at the amount and the unit.",
)
def feeds_unlike_their_round(seen: Seen) -> Iterator[Hit]:
    """Feeds many times larger or smaller than those of the same apiary and day, or their number in another unit."""
    rows, sheet = _rows(seen, "Feedings"), seen["Feedings"]
    mass = numbers(seen.known.fed["mass"])
    rows = rows.assign(mass=mass[rows["at"]])
    rows = rows[(rows["mass"] > 0) & sheet["amount"].notna().to_numpy()[rows["at"]]]
    group = rows.groupby(["place", "day"])["mass"]
    rows = rows.assign(usual=group.transform("median"), count=group.transform("size"))
    ratio = rows["mass"] / rows["usual"]
    rows = rows.assign(amount=numbers(sheet["amount"])[rows["at"]], unit=words(sheet["unit"])[rows["at"]])
    same = rows.groupby(["place", "day", "amount"])["unit"]
    alone = (rows.groupby(["place", "day", "amount", "unit"])["at"].transform("size") == 1) & (
        same.transform("nunique") == 2  # noqa: PLR2004 its own and that of the others
    )
    unlike = alone & (same.transform("size") > BLOCK)
    odd = rows[(rows["count"] > BLOCK) & ((ratio > OTHERWISE) | (ratio < 1 / OTHERWISE) | unlike)]
    for at, place, day, given, usual, count in odd[["at", "place", "day", "mass", "usual", "count"]].itertuples(
        index=False
    ):
        row, unit = label(sheet, int(at)), str(sheet["unit"].iloc[int(at)])
        amount, key = _as_the_others(seen, rows, int(at), float(usual / given))
        typed = unit if key == "unit" else f"{float(sheet['amount'].iloc[int(at)]):g}"
        behind = [Behind(AMOUNT, 0.9, amount, ("Feedings", row, key), {"typed": typed})]
        told: dict[str, object] = {
            "given": seen.mass(float(given)),
            "count": f"{int(count) - 1}",
            "apiary": _named(seen, "Apiaries", "apiary", place),
            "day": day_of(day).isoformat(),
            "usual": seen.mass(float(usual)),
            "first": sentence(behind)[0],
        }
        ends = (("Feedings", row),)
        yield Hit(
            "feed-unlike-its-round", "Feedings", row, key, told, amount, 0.9, rests_on=ends, causes=as_causes(behind)
        )


def _as_the_others(seen: Seen, rows: pd.DataFrame, at: int, times: float) -> tuple[str, str]:
    """What would make a feed like the others: their unit where the number is theirs too, else the amount."""
    sheet, one = seen["Feedings"], rows[rows["at"] == at].iloc[0]
    beside = rows[(rows["place"] == one["place"]) & (rows["day"] == one["day"]) & (rows["at"] != at)]["at"]
    amount, unit = float(sheet["amount"].iloc[at]), str(sheet["unit"].iloc[at])
    others = {str(name) for name in sheet["unit"].iloc[beside]} - {unit}
    if len(others) == 1 and np.isclose(numbers(sheet["amount"])[beside], amount).any():
        return others.pop(), "unit"
    return f"{round(amount * times, 3):g}", "amount"


@rule(
    "weighing-again",
    ASK,
    "{colony} has the same readings on {before}, and no other hive of {apiary} was weighed on this day.",
    "Clear this row if the weighing was typed twice.",
)
def weighings_again(seen: Seen) -> Iterator[Hit]:
    """A weighing of only one hive, the same as that of the visit a day or some before."""
    sheet, rows = seen["Weighings"], _rows(seen, "Weighings")
    for key in ("reading_1", "reading_2"):
        rows[key] = np.nan_to_num(numbers(sheet[key])[rows["at"]])
    rows["how"] = words(sheet["how"])[rows["at"]]
    read = rows[rows["reading_1"] > 0]
    yield from _again(seen, "weighing-again", "Weighings", read, ("reading_1", "reading_2", "how"), APART)


@rule(
    "feed-again",
    ASK,
    "{colony} was fed the same on {before}, and no other colony of {apiary} was fed on this day.",
    "Clear this row if the feed was typed twice.",
)
def feeds_again(seen: Seen) -> Iterator[Hit]:
    """A feed that only one colony had, the same as that of the day before."""
    rows, sheet = _rows(seen, "Feedings"), seen["Feedings"]
    rows = rows.assign(amount=numbers(sheet["amount"])[rows["at"]])
    for key in ("unit", "feed_kind"):
        rows[key] = words(sheet[key])[rows["at"]]
    yield from _again(
        seen, "feed-again", "Feedings", rows.dropna(subset=["amount"]), ("amount", "unit", "feed_kind"), 1
    )


def _again(seen: Seen, name: str, sheet: str, rows: pd.DataFrame, same: tuple[str, ...], apart: int) -> Iterator[Hit]:
    """Rows of a day on which one colony of its apiary has rows, alike to its row of a visit so many days away."""
    colonies = rows.groupby(["place", "day"])["colony"].transform("nunique")
    visits = rows.loc[colonies >= BLOCK, ["colony", "day", *same]].drop_duplicates()
    away = [days_off for days_off in range(-apart, apart + 1) if days_off]
    beside = pd.concat([visits.assign(before=visits["day"], day=visits["day"] + off) for off in away])
    both = rows[colonies == 1].merge(beside, on=["colony", "day", *same]).drop_duplicates("at")
    for at, colony, place, before in both[["at", "colony", "place", "before"]].itertuples(index=False):
        told: dict[str, object] = {
            "colony": _named(seen, "Colonies", "colony", colony),
            "before": day_of(before).isoformat(),
            "apiary": _named(seen, "Apiaries", "apiary", place),
        }
        yield Hit(name, sheet, label(seen[sheet], int(at)), "date", told)
