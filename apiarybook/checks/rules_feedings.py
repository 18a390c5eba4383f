"""Rules on feeds."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from apiarybook.checks.context import Seen, days, flag
from apiarybook.checks.rule import ASK, HOLD, finds, rule
from apiarybook.checks.rules_weighings import same_rows
from apiarybook.layout.words import HOME_MIXED
from apiarybook.reckon.core.arrays import figure, numbers, rounded, words
from apiarybook.reckon.core.lookup import pick, pick_words
from apiarybook.reckon.core.winter import day_of
from apiarybook.reckon.feeding import feeds

if TYPE_CHECKING:
    from collections.abc import Iterator

    from apiarybook.checks.context import Mask
    from apiarybook.checks.finding import Hit

SUPER_ON, SUPER_OFF = ("super on",), ("super off", "super under")


def _given_liquid(seen: Seen) -> Mask:
    """Which feeds are liquid and were given, not taken back."""
    form = pick_words(seen["Feed kinds"]["form"], seen.known.fed["feed_row"].to_numpy())
    return np.asarray((form == "liquid") & (words(seen["Feedings"]["taken_back"]) != "yes"))


@rule(
    "mix-without-masses",
    HOLD,
    "The feed was mixed at home, and {heading} is blank, so nobody knows how strong it is.",
    "Type the mass of sugar and the mass of water of the whole mix.",
)
def mix_without_masses(seen: Seen) -> Iterator[Hit]:
    """Feeds of unknown strength: mixed at home without both masses."""
    rows = seen["Feedings"]
    at_home = np.char.lower(words(rows["feed_kind"])) == HOME_MIXED.casefold()
    sugar, water = rows["sugar"].notna().to_numpy(), rows["water"].notna().to_numpy()
    for key, given, other in (("sugar", sugar, water), ("water", water, sugar)):
        for hit in flag("mix-without-masses", "Feedings", rows, ~given & (at_home | other), key):
            if ("Feedings", hit.row, key) not in seen.unread:
                yield hit


@rule(
    "feed-impossible",
    ASK,
    "{sugar} of sugar in {water} of water makes {solids} % sugar, more than the {most} % that stays dissolved at "
    "{temperature} degrees Celsius.",
    "Look at both masses, and at whether water was measured in litres (1 litre weighs 1 kg).",
)
def over_saturation(seen: Seen) -> Iterator[Hit]:
    """Syrups stronger than water can hold."""
    rows, warm = seen["Feedings"], figure("saturation_temperature")
    most = float(feeds.saturated_solids(warm))
    sugar, water = numbers(rows["sugar"]), numbers(rows["water"])
    solids = feeds.solids_of_mix(sugar, water)

    def told(at: int) -> dict[str, object]:
        shares = {"solids": f"{100 * solids[at]:.1f}", "most": f"{100 * most:.1f}", "temperature": f"{warm:g}"}
        return {"sugar": seen.mass(sugar[at]), "water": seen.mass(water[at]), **shares}

    yield from flag("feed-impossible", "Feedings", rows, solids > most, "sugar", told)


@rule(
    "more-than-comb",
    ASK,
    "This feed alone would give {stores} of stores, more than the {full} that all combs of this hive hold.",
    "Look at the amount and its unit.",
)
def more_than_comb(seen: Seen) -> Iterator[Hit]:
    """Feeds that would give more stores than all combs hold."""
    rows, fed = seen["Feedings"], seen.known.fed
    kind = pick(seen.known.stood["type_row"], fed["own_row"].to_numpy()).astype(np.int64)
    full, stores = pick(seen.reckoned.hive_types["comb_full"], kind, np.nan), numbers(fed["stores"])

    def told(at: int) -> dict[str, object]:
        return {"stores": seen.mass(stores[at]), "full": seen.mass(full[at])}

    yield from flag("more-than-comb", "Feedings", rows, stores > full, "amount", told)


@rule(
    "more-than-feeder",
    ASK,
    "{volume} at one time is more than {fills} fills of this colony's feeder, {feeder} each.",
    "Look at the amount and its unit; write feeds of several days in several rows.",
)
def more_than_feeder(seen: Seen) -> Iterator[Hit]:
    """Liquid feeds larger than a feeder can be filled with at one time."""
    rows, fed = seen["Feedings"], seen.known.fed
    feeder = pick(seen.known.stood["feeder_litres"], fed["own_row"].to_numpy())
    density, fills = numbers(fed["density"]), figure("fills_at_once")
    volume = numbers(fed["mass"]) / np.where(density > 0, density, np.nan)

    def told(at: int) -> dict[str, object]:
        return {"volume": seen.volume(volume[at]), "fills": f"{fills:g}", "feeder": seen.volume(feeder[at])}

    many = _given_liquid(seen) & (feeder > 0) & (rounded(volume) > rounded(fills * feeder))
    yield from flag("more-than-feeder", "Feedings", rows, many, "amount", told)


@rule(
    "many-portions-at-once",
    ASK,
    "{mass} laid on top at one time is more than {portions} portions for this hive, {portion} each.",
    "Look at the amount and its unit (a block is one portion); write what was laid on later in rows of their own.",
)
def many_portions(seen: Seen) -> Iterator[Hit]:
    """Fondant and the like of which more than a few portions are laid on at one time."""
    rows, fed, types = seen["Feedings"], seen.known.fed, seen.reckoned.hive_types
    hive = pick(seen.known.stood["type_row"], fed["own_row"].to_numpy()).astype(np.int64)
    portion, mass, most = pick(types["portion_fondant"], hive, np.nan), numbers(fed["mass"]), figure("portions_at_once")
    solid = pick_words(seen["Feed kinds"]["form"], fed["feed_row"].to_numpy()) == "solid"

    def told(at: int) -> dict[str, object]:
        return {"mass": seen.mass(mass[at]), "portions": f"{most:g}", "portion": seen.mass(portion[at])}

    many = solid & (rounded(mass) > rounded(most * portion))
    yield from flag("many-portions-at-once", "Feedings", rows, many, "amount", told)


@rule(
    "too-cold-for-liquid",
    ASK,
    "Liquid feed after {last}, the last day for it in this apiary, is hardly taken or dried, and the day's warmest "
    "is {warmest}; it should be at least {least} degrees Celsius.",
    "Write the day's warmest if it was warm enough; from now on lay fondant on top.",
)
def too_cold_for_liquid(seen: Seen) -> Iterator[Hit]:
    """Liquid feeds between the last day for them and the spring flow, on a day not known to be warm."""
    rows, colony = seen["Feedings"], seen.known.fed["colony_row"].to_numpy()
    day, warmest, least = days(rows["date"]), numbers(rows["warmest"]), figure("liquid_warmest")
    last, flow = (pick(days(seen.known.stood[key]), colony) for key in ("last_liquid_day", "flow"))
    late = (last > 0) & (day > last) & (day < flow) & ~(warmest >= least)

    def told(at: int) -> dict[str, object]:
        known = "not written down" if np.isnan(warmest[at]) else f"{warmest[at]:g} degrees"
        return {"last": day_of(last[at]).isoformat(), "warmest": known, "least": f"{least:g}"}

    yield from flag("too-cold-for-liquid", "Feedings", rows, late & _given_liquid(seen), "date", told)


def super_since(seen: Seen) -> dict[str, list[tuple[float, bool]]]:
    """For each colony the days on which a super went on (true) or away (false), in order."""
    rows, day = seen["Moves"], days(seen["Moves"]["date"])
    what, colony = words(rows["what"]), np.char.lower(words(rows["colony"]))
    moves: dict[str, list[tuple[float, bool]]] = {}
    for at in np.flatnonzero(np.isin(what, [*SUPER_ON, *SUPER_OFF]) & ~np.isnan(day)):
        moves.setdefault(str(colony[at]), []).append((float(day[at]), bool(what[at] in SUPER_ON)))
    return {code: sorted(found) for code, found in moves.items()}


@rule(
    "liquid-under-super",
    ASK,
    "By the sheet Moves a super has stood on this hive since {since} when the liquid feed was given, and syrup "
    "would be stored in it.",
    "If none was there, write super off or super under on the sheet Moves; never extract a super fed on.",
)
def liquid_under_super(seen: Seen) -> Iterator[Hit]:
    """Liquid feeds while a super for honey stands on the hive."""
    rows, day, moves = seen["Feedings"], days(seen["Feedings"]["date"]), super_since(seen)
    colony, since = np.char.lower(words(rows["colony"])), np.full(len(rows), np.nan)
    for at in np.flatnonzero(_given_liquid(seen) & np.isin(colony, list(moves))):
        before = [move for move in moves[str(colony[at])] if move[0] <= day[at]]
        if before and before[-1][1]:
            since[at] = before[-1][0]

    def told(at: int) -> dict[str, object]:
        return {"since": day_of(since[at]).isoformat()}

    yield from flag("liquid-under-super", "Feedings", rows, ~np.isnan(since), "feed_kind", told)


@finds("duplicate")
def same_feeds(seen: Seen) -> Iterator[Hit]:
    """Feeds that say the same as another one."""
    yield from same_rows(seen, "Feedings", ("colony", "date", "feed_kind", "amount", "unit", "sugar", "taken_back"))
