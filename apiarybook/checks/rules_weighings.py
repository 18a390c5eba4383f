"""Rules on weighings and hefts, but for slips of a reading."""

from __future__ import annotations

from collections import Counter
from difflib import get_close_matches
from math import log
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.checks.context import Seen, days, flag, label
from apiarybook.checks.finding import Hit
from apiarybook.checks.rule import ASK, HOLD, NOTE, rule
from apiarybook.reckon.balance.clues import moves_of
from apiarybook.reckon.core.arrays import figure, numbers, words
from apiarybook.reckon.core.lookup import match, pick, pick_words
from apiarybook.reckon.core.winter import day_of, month_day, year_day
from apiarybook.reckon.feeding.feeds import UNITS
from apiarybook.reckon.hefting.calibration import belief
from apiarybook.reckon.hive.moves import CHANGES_HIVE

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from apiarybook.reckon.core.lookup import Rows

READINGS = ("reading_1", "reading_2")
FRAMES = "frames of food counted"
STEP_TOLERANCE = 1e-4
"""How far from a whole step, in steps, a reading may lie and still count as one: pounds are turned into kilograms."""
UNTIMED = ("", "routine")


def _scale_rows(seen: Seen) -> Rows:
    return match(seen["Weighings"]["scale"], seen["Scales"]["scale"])


@rule(
    "over-capacity",
    HOLD,
    "{value} {unit} is more than scale {scale} can carry, {capacity}.",
    "Look at the code of the scale and at the reading; do not load a scale beyond what it carries.",
    may_be_right=True,
)
def over_capacity(seen: Seen) -> Iterator[Hit]:
    """Readings beyond what the scale carries."""
    rows, scales, row = seen["Weighings"], seen["Scales"], _scale_rows(seen)
    capacity = pick(scales["capacity"], row, np.nan)

    def told(at: int) -> dict[str, object]:
        return {"scale": rows["scale"].iloc[at], "capacity": seen.mass(capacity[at]), "unit": seen.unit}

    for key in READINGS:
        over = (numbers(rows[key]) > capacity) & (words(rows["how"]) != FRAMES)
        yield from flag("over-capacity", "Weighings", rows, over, key, told)


@rule(
    "off-division",
    NOTE,
    "{value} {unit} is no step of scale {scale}, which shows steps of {division}.",
    "Nothing, if you took the mean of several readings; otherwise look at the code of the scale.",
)
def off_division(seen: Seen) -> Iterator[Hit]:
    """Readings that are no step of the scale."""
    rows, scales, row = seen["Weighings"], seen["Scales"], _scale_rows(seen)
    division = pick(scales["division"], row, np.nan)
    division = np.where(division > 0, division, np.nan)

    def told(at: int) -> dict[str, object]:
        step = f"{seen.number(division[at]):.6g} {seen.unit}"
        return {"scale": rows["scale"].iloc[at], "division": step, "unit": seen.unit}

    for key in READINGS:
        steps = numbers(rows[key]) / division
        off = (np.abs(steps - np.round(steps)) > STEP_TOLERANCE) & (words(rows["how"]) != FRAMES)
        yield from flag("off-division", "Weighings", rows, off, key, told)


@rule(
    "scale-not-trusted",
    HOLD,
    "The reading was taken with scale {scale}, which by its checks shows {slope} {unit} for each {unit}.",
    "Check the scale once more, or weigh again with another one.",
)
def scale_not_trusted(seen: Seen) -> Iterator[Hit]:
    """Readings with a scale that by its checks is not to be believed."""
    rows, slope = seen["Weighings"], numbers(seen.reckoned.scales["line_slope"])
    of_row = pick(slope, _scale_rows(seen), np.nan)
    bad = (of_row < figure("slope_low")) | (of_row > figure("slope_high"))

    def told(at: int) -> dict[str, object]:
        return {"scale": rows["scale"].iloc[at], "slope": f"{of_row[at]:.3g}", "unit": seen.unit}

    yield from flag("scale-not-trusted", "Weighings", rows, bad, "scale", told)


@rule(
    "snow-on-roof",
    HOLD,
    "There was snow on the roof, and nobody knows what it weighed.",
    "Brush it off and weigh again.",
)
def snow_on_roof(seen: Seen) -> Iterator[Hit]:
    """Hives weighed with snow on the roof."""
    rows = seen["Weighings"]
    yield from flag("snow-on-roof", "Weighings", rows, words(rows["hive_is"]) == "snow", "hive_is")


@rule(
    "more-frames-than-hive",
    ASK,
    "{value} frames are more than the {frames} that hive type {hive_type} holds.",
    "Look at the count and at the hive type.",
)
def more_frames_than_hive(seen: Seen) -> Iterator[Hit]:
    """More frames of bees, brood or food than the hive holds."""
    rows, kind = seen["Weighings"], seen.known.weighed["type_row"].to_numpy()
    held, name = pick(seen["Hive types"]["frames"], kind, np.nan), pick_words(seen["Hive types"]["name"], kind)

    def told(at: int) -> dict[str, object]:
        return {"frames": f"{held[at]:g}", "hive_type": name[at]}

    counted = np.where(words(rows["how"]) == FRAMES, numbers(rows["reading_1"]), np.nan)
    for key, count in (
        ("reading_1", counted),
        ("frames_bees", numbers(rows["frames_bees"])),
        ("frames_brood", numbers(rows["frames_brood"])),
    ):
        yield from flag("more-frames-than-hive", "Weighings", rows, count > held, key, told)


def _evidence(seen: Seen) -> Rows:
    """By colony, the position among Weighings on which its stores rest today; -1 where there is none."""
    return np.asarray(numbers(seen.known.stood["evidence_row"]).astype(np.int64) - 1)


def _of_a_visit(seen: Seen, at: Rows) -> Iterator[tuple[int, ...]]:
    """Labels of rows of Weighings at these positions, those of one visit to an apiary together."""
    rows, colony = seen["Weighings"], seen.known.weighed["colony_row"].to_numpy()[at]
    told = {"place": pick(seen.known.stood["place_row"], colony), "day": days(rows["date"])[at]}
    found = pd.DataFrame(told).assign(row=[label(rows, int(one)) for one in at])
    for _, visit in found.sort_values("row").groupby(["place", "day"], sort=False):
        yield tuple(visit["row"].tolist())


@rule(
    "feeder-not-looked-at",
    ASK,
    "Liquid feed was given in the {days} days before this weighing, and nobody wrote what was left in the feeder; so "
    "this colony cannot be called enough.",
    "Type what was left by weight, or 0 if you looked and the feeder was empty; a yes alone does not say how much.",
    may_be_right=False,
)
def feeder_not_looked_at(seen: Seen) -> Iterator[Hit]:
    """Newest weighings, soon after liquid feed, that do not say what was left in the feeder."""
    rows, unlooked = seen["Weighings"], (seen.known.stood["unlooked"] == 1).to_numpy()
    at = _evidence(seen)[unlooked]
    read = [("Weighings", label(rows, int(one)), "feed_left") not in seen.unread for one in at]
    for labels in _of_a_visit(seen, at[np.array(read, dtype=bool)]):
        told: dict[str, object] = {"days": f"{figure('old_evidence'):g}"}
        yield Hit("feeder-not-looked-at", "Weighings", labels[0], "feed_left", told, also=labels[1:])


@rule(
    "before-or-after-feed",
    ASK,
    "The colony was also fed on this day, and the row does not say which came first; the feed is taken as given "
    "before the weighing.",
    "Choose before feed or after feed under occasion.",
)
def before_or_after_feed(seen: Seen) -> Iterator[Hit]:
    """Newest weighings, on a feeding day, that do not say which came first."""
    rows, fed, at = seen["Weighings"], seen["Feedings"], _evidence(seen)
    at = at[at >= 0]
    at = at[np.isin(words(rows["occasion"])[at], UNTIMED)]
    ours = pd.MultiIndex.from_arrays([seen.known.weighed["colony_row"].to_numpy()[at], days(rows["date"])[at]])
    theirs = pd.MultiIndex.from_arrays([seen.known.fed["colony_row"].to_numpy(), days(fed["date"])])
    for labels in _of_a_visit(seen, at[ours.isin(theirs)]):
        yield Hit("before-or-after-feed", "Weighings", labels[0], "occasion", also=labels[1:])


@rule(
    "old-evidence",
    NOTE,
    "This is the newest weight of {colony}, and it is {age} days old; after {days} days much may have changed.",
    "Weigh the colony again.",
)
def old_evidence(seen: Seen) -> Iterator[Hit]:
    """Colonies whose newest weight has grown old in the weeks in which stores change fast."""
    within = figure("old_evidence")
    if not month_day("evidence_ages_from") <= year_day(np.array(seen.today)) <= month_day("evidence_ages_until"):
        return
    rows, standing, newest = seen["Weighings"], seen.known.stood, _evidence(seen)
    age = seen.today - days(standing["evidence_day"])
    for at in np.flatnonzero((newest >= 0) & (age > within)):
        told: dict[str, object] = {"colony": standing["colony"].iloc[at], "age": f"{age[at]:g}", "days": f"{within:g}"}
        yield Hit("old-evidence", "Weighings", label(rows, int(newest[at])), "date", told)


@rule(
    "evidence-apart",
    ASK,
    "By this heft {colony} would hold {heft} of stores today, by the {how} of {day} {scale}: they lie more than "
    "{times} times as far apart as both allow. The {used} is used, being the surer one.",
    "Weigh the colony again, and see whether a box, a stone or a feed is missing from the book.",
)
def evidence_apart(seen: Seen) -> Iterator[Hit]:
    """Hefts that say something quite other than the weighing before them."""
    rows, standing = seen["Weighings"], seen.known.stood
    hefted, weighed = numbers(standing["heft_row"]).astype(np.int64) - 1, _evidence(seen)
    for at in np.flatnonzero(standing["apart"] == 1):
        colony = standing.iloc[at]
        both = tuple(("Weighings", label(rows, int(one[at]))) for one in (hefted, weighed))
        told: dict[str, object] = {
            "colony": colony["colony"],
            "how": colony["way"],
            "day": day_of(colony["evidence_day"]).isoformat(),
            "heft": seen.mass(colony["heft_today"]),
            "scale": seen.mass(colony["scale_today"]),
            "times": f"{figure('balance_ask'):g}",
            "used": "heft" if colony["heft_share"] == 1 else "weighing",
        }
        yield Hit("evidence-apart", *both[0], "heft", told, rests_on=both)


@rule(
    "guess-apart",
    ASK,
    "{by} guessed {guess} and the scale says {gross}: no hand is so far off, so one of them is a slip.{perhaps} "
    "The lift widens what is thought of this hand.",
    "Correct the guess or the reading; clear the guess if nobody remembers it.",
)
def guess_apart(seen: Seen) -> Iterator[Hit]:
    """Guesses so far from the scale that one of the two was written down wrongly, or in the other unit."""
    rows, pairs = seen["Weighings"], seen.reckoned.pairs
    held = belief()
    bound = figure("balance_ask") * float(np.hypot(held.within, held.between))
    per = UNITS["lb"].factor if seen.unit == "kg" else 1 / UNITS["lb"].factor
    for pair in pairs[(pairs["word"] == "") & (pairs["error"].abs() > bound)].to_dict("records"):
        other = abs(pair["error"] - log(per)) <= bound
        meant = f"{round(seen.number(pair['judged'] * per), 1):g}"
        told: dict[str, object] = {
            "by": pair["by"],
            "guess": seen.mass(pair["judged"]),
            "gross": seen.mass(pair["gross"]),
            "perhaps": f" Perhaps it was meant in {'pounds' if seen.unit == 'kg' else 'kilograms'}." if other else "",
        }
        yield Hit("guess-apart", "Weighings", label(rows, int(pair["place"])), "heft", told, meant if other else "")


@rule(
    "frames-apart",
    ASK,
    "{counted} of stores were counted in the frames of {colony}, and {weighed} weighed the same day: they lie more "
    "than {times} times as far apart as both allow.",
    "Count only whole frames of sealed food and part frames by their share, and look at the reading, the extras "
    "and the hive type.",
)
def frames_apart(seen: Seen) -> Iterator[Hit]:
    """Frames of food counted that say something quite other than the scale did that day."""
    rows, both = seen["Weighings"], seen.reckoned.frames_beside
    times = figure("balance_ask")
    for pair in both[both["apart"].abs() > times * both["apart_u"]].to_dict("records"):
        told: dict[str, object] = {
            "colony": pair["colony"],
            "counted": seen.mass(pair["counted"]),
            "weighed": seen.mass(pair["weighed"]),
            "times": f"{times:g}",
        }
        yield Hit("frames-apart", "Weighings", label(rows, int(pair["place"])), "reading_1", told)


@rule(
    "super-over-excluder",
    ASK,
    "A queen excluder and a super stand on this hive in winter: when the bees go up to the food, the queen stays "
    "below and starves.",
    "Take the excluder out, or correct the extras.",
)
def super_over_excluder(seen: Seen) -> Iterator[Hit]:
    """Hives in winter with both a queen excluder and a super."""
    rows, colony = seen["Weighings"], seen.known.weighed["colony_row"].to_numpy()
    extras = [np.char.lower(words(rows[key])) for key in ("extra_1", "extra_2", "extra_3")]
    excluder, box = (np.any([np.char.find(one, word) >= 0 for one in extras], axis=0) for word in ("excluder", "super"))
    starts, flow = (pick(days(seen.known.stood[key]), colony) for key in ("winter_starts", "flow"))
    day = days(rows["date"])
    winter = (starts > 0) & (day >= starts) & (day < flow)
    yield from flag("super-over-excluder", "Weighings", rows, excluder & box & winter, "extra_1")


def same_rows(seen: Seen, sheet: str, keys: tuple[str, ...]) -> Iterator[Hit]:
    """Hits for rows that say the same as an earlier one in all the given columns."""
    rows = seen[sheet]
    whole = rows[rows[["colony", "date"]].notna().all(axis=1)]
    again = whole[whole.duplicated(list(keys), keep=False)]
    for _, group in again.groupby(list(keys), dropna=False, sort=False):
        told: dict[str, object] = {"other": seen.place(sheet, label(group, 0), "colony")}
        for position in range(1, len(group)):
            yield Hit("duplicate", sheet, label(group, position), "colony", told)


@rule(
    "duplicate",
    ASK,
    "This row says the same as {other}.",
    "Clear one of them if it was typed twice; leave both if it was done twice.",
    member="This row says the same as another row.",
    member_do="Say so if it was done twice; otherwise clear one of them.",
)
def same_weighings(seen: Seen) -> Iterator[Hit]:
    """Weighings that say the same as another one."""
    keys = ("colony", "date", "by", "how", "reading_1", "reading_2", "heft", "occasion")
    yield from same_rows(seen, "Weighings", keys)


ALIKE = 0.8
"""Likeness of two names (difflib's ratio) from which the one is taken for the other misspelt (common practice)."""
SEEN_SELDOM = 2
"""Rows up to which a name may be a slip of one that stands more often."""


@rule(
    "name-misspelt",
    ASK,
    "{value} stands under by in {rows}, and {suggestion} in many: hefting is judged by the hand, and two spellings are "
    "two hands.",
    "Write the name as it is written elsewhere; leave it if they are two people.",
)
def misspelt_names(seen: Seen) -> Iterator[Hit]:
    """Names of hands that are nearly, but not quite, those of members or of hands that lift often."""
    columns = [seen[sheet]["by"] for sheet in ("Weighings", "Winter rounds")]
    count = Counter(name for column in columns for name in words(column).tolist() if name)
    members = {*words(seen["Members"]["name"]).tolist(), *words(seen["Members"]["member"]).tolist()} - {""}
    known = {name.casefold() for name in members}
    often = members | {name for name, times in count.items() if times > SEEN_SELDOM}
    meant: dict[str, str] = {}
    for name, times in count.items():
        if times <= SEEN_SELDOM and name.casefold() not in known:
            near = get_close_matches(name, sorted(often - {name}), n=1, cutoff=ALIKE)
            meant |= {name: near[0]} if near else {}
    for sheet in ("Weighings", "Winter rounds") if meant else ():
        by = words(seen[sheet]["by"])

        def told(at: int, by: NDArray[np.str_] = by) -> dict[str, object]:
            times = count[str(by[at])]
            return {"rows": f"{times} row{'s' if times > 1 else ''}", "suggestion": meant[str(by[at])]}

        yield from flag("name-misspelt", sheet, seen[sheet], np.isin(by, list(meant)), "by", told)


@rule(
    "type-of-one-row",
    ASK,
    "{colony} stood in {value} by this row alone; by all others it is {suggestion}.",
    "Look at the hive type: clear it if the hive was not changed, or write each change on the sheet Moves.",
)
def types_of_one_row(seen: Seen) -> Iterator[Hit]:
    """Hive types told of one weighing that neither the one before nor the one after knows.

    Of a first weighing only where the next one fits the other type better: the hive may have been changed since.
    """
    rows, said = seen["Weighings"], words(seen["Weighings"]["hive_type_then"])
    if not np.any(said != ""):
        return
    found, lists = seen.known.weighed, seen.known.stood
    told = pd.DataFrame({"at": np.arange(len(rows)), "day": days(rows["date"]), "said": said})
    told["colony"], told["type"] = (found[key].to_numpy(dtype=np.int64) for key in ("colony_row", "type_row"))
    told = told[(told["type"] > 0) & told["day"].notna()].sort_values(["colony", "day"], kind="stable")
    own = told.groupby("colony")["type"]
    today = pd.Series(pick(lists["type_row"], told["colony"].to_numpy()), told.index)
    after = own.shift(-1).fillna(today)
    before = own.shift(1).fillna(after.where(told["at"].isin(_fits_unchanged(seen))))
    odd = told.assign(usual=before)[(told["said"] != "") & (before == after) & (told["type"] != before)]
    for at, colony, usual in odd[["at", "colony", "usual"]].astype(int).itertuples(index=False):
        names = seen["Colonies"]["colony"], seen["Hive types"]["name"]
        code, name = (str(pick_words(of, np.array([one]))[0]) for of, one in zip(names, (colony, usual), strict=True))
        yield Hit("type-of-one-row", "Weighings", label(rows, at), "hive_type_then", {"colony": code}, name)


def _fits_unchanged(seen: Seen) -> NDArray[np.int64]:
    """Positions of weighings that, with the next one, fit better had nobody changed the hive, and no Move did."""
    found, tare = seen.reckoned.balance, numbers(seen.known.weighed["tare"])
    residual, one, two = (found[key].to_numpy() for key in ("residual", "row_1", "row_2"))
    better = np.abs(residual + (tare[two] - tare[one])) < np.abs(residual)
    unchanged = ~moves_of(found, seen.reckoned.typed.records, CHANGES_HIVE)
    return np.asarray(one[better & unchanged], dtype=np.int64)
