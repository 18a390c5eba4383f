"""The front page: what a secretary needs today, counted from the book as it was last read."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from apiarybook.book.measure import Measure, measure
from apiarybook.club.people import Keeper, keeper_of_colony, keepers, places
from apiarybook.layout import BOOK, Column, Kind
from apiarybook.readers.canonical import canonical_text
from apiarybook.reckon.core.winter import day_of, serial
from apiarybook.reckon.standing.verdict import day_words

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable, Mapping
    from datetime import date

    from apiarybook.club.reckoned import Reckoned
    from apiarybook.desk.questions import Question

ANSWERS = tuple(
    BOOK["Standing"][key]
    for key in ("verdict", "feed_mass", "feed_kind", "by_date", "should_weigh", "should_on", "because")
)
"""What the table of colonies takes from the sheet Standing: what to do, and why."""
SOON = 28
"""Days ahead in which a colony that lasts no longer is called running low."""
MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
NEXT = {
    6: "Make the book of the coming winter, fill in Members, Apiaries and Colonies, and check the scales.",
    7: "Check the scales against a known weight, hand out the members' copies, and order the first sugar.",
    8: "Print the cards, hold the hefting evening, and weigh once the supers are off.",
    9: "Weigh or heft every colony, gather what came back, and feed while it is warm.",
    10: "Weigh once more what was fed, and finish liquid feed before the last liquid day.",
    11: "Leave the colonies alone; see that fondant is in store for those that will need it.",
    12: "Heft by the round list, and lay on fondant where a colony runs low.",
    1: "Heft every two to three weeks by the round list: stores go fastest from now on.",
    2: "Go on hefting by the round list; carry fondant to every colony that runs low.",
    3: "Keep fondant on until the flow; write down what became of each colony on After winter.",
    4: "Weigh every colony once more before the flow, and complete After winter.",
    5: "Close the year, read its report, and carry the book over to the next winter.",
}
"""What a club does in each month; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Bar:
    """A small picture of stores, in percent of its width.

    Attributes:
        stores: length of what is in the comb today.
        low, high: ends of the line that says how sure that is.
        want: where the want of today stands; below nought in winter.
        least: where the least stands.
        ahead: where the stores are expected to be when the flow starts.
        says: the same in words.
    """

    stores: float
    low: float
    high: float
    want: float
    least: float
    ahead: float
    says: str


@dataclass(frozen=True, slots=True)
class Line:
    """A colony in the table: who and where, the answers by key, and the picture."""

    colony: str
    apiary: str
    keeper: Keeper
    verdict: str
    answers: tuple[str, ...]
    bar: Bar | None


@dataclass(frozen=True, slots=True)
class Front:
    """All that the front page shows.

    Attributes:
        club, winter, unit: of the book.
        as_at: the day for which was reckoned.
        by_keeper: open questions: the keeper, those held and those asked.
        missing: keepers whose copies have not come back, each with its state.
        groups: kind of verdict, how many colonies, and their codes.
        low: colonies that run low soon, each with its day.
        order: feed to order in words.
        lines: the colonies.
        next_thing: what a club does in this month.
        closed: the day as at which the year was closed; empty while it is open.
    """

    club: str
    winter: str
    unit: str
    as_at: date
    by_keeper: list[tuple[Keeper, int, int]]
    missing: list[tuple[Keeper, str]]
    groups: list[tuple[str, list[str]]]
    low: list[tuple[str, str]]
    order: list[str]
    lines: list[Line]
    next_thing: str
    closed: str


def front(reckoned: Reckoned, questions: Iterable[Question]) -> Front:
    """Count what the front page shows.

    Args:
        reckoned: the book, reckoned.
        questions: what is open.
    """
    people, lines = keepers(reckoned), colony_lines(reckoned)
    content = reckoned.content
    return Front(
        club=str(content.settings.get("club") or ""),
        winter=content.about["winter"],
        unit=reckoned.book.unit,
        as_at=content.as_at,
        by_keeper=_by_keeper(questions, people),
        missing=_missing(reckoned, people),
        groups=_groups(lines),
        low=_low(reckoned),
        order=_order(reckoned),
        lines=lines,
        next_thing=NEXT[content.as_at.month],
        closed=content.about.get("closed", ""),
    )


def _by_keeper(questions: Iterable[Question], people: Mapping[str, Keeper]) -> list[tuple[Keeper, int, int]]:
    held, asked = Counter[str](), Counter[str]()
    for one in questions:
        if one.is_open and one.weight != "note":
            (held if one.weight == "hold" else asked)[one.keeper] += 1
    told = [(people.get(code.casefold(), Keeper(code, "")), held[code], asked[code]) for code in {**held, **asked}]
    return sorted(told, key=lambda one: (-one[1], -one[2], one[0].shown))


def _missing(reckoned: Reckoned, people: Mapping[str, Keeper]) -> list[tuple[Keeper, str]]:
    from apiarybook.gather.roster import OPEN_STATES

    returns = reckoned.content.told.get("Returns")
    if returns is None:
        return []
    last = dict(zip(returns["member"], returns["state"], strict=True))
    return [
        (people.get(str(code).casefold(), Keeper(str(code), "")), str(state))
        for code, state in last.items()
        if state in OPEN_STATES
    ]


def colony_lines(reckoned: Reckoned) -> list[Line]:
    """The colonies as a table shows them.

    Args:
        reckoned: the book, reckoned.
    """
    units, at, people = measure(reckoned.book.unit), places(reckoned), keeper_of_colony(reckoned)
    ahead = reckoned.season.till_the_flow
    found = []
    for (_, row), (_, later) in zip(reckoned.season.standing.iterrows(), ahead.iterrows(), strict=True):
        if not row["colony"] or not row["verdict"]:
            continue
        colony, told = str(row["colony"]), row.to_dict()
        found.append(
            Line(
                colony=colony,
                apiary=at[colony][0],
                keeper=people[colony.casefold()],
                verdict=str(row["verdict"]),
                answers=tuple(shown(told.get(column.key), column, units) for column in ANSWERS),
                bar=_bar(told, later.to_dict(), units),
            )
        )
    return found


def shown(value: object, column: Column, units: Measure) -> str:
    """A value as the book shows it, in the book's unit; empty for none.

    >>> from apiarybook.book.measure import measure
    >>> sheet = BOOK["Standing"]
    >>> shown(10.0, sheet["short_by"], measure("lb")), shown(46327.0, sheet["by_date"], measure("kg"))
    ('22.0', '1 Nov 2026')
    """
    if not isinstance(value, (int, float)):
        return canonical_text(value) if value is not None else ""
    if math.isnan(value) or (column.kind is Kind.DATE and value <= 0):
        return ""
    if column.kind is Kind.DATE:
        return day_words(float(value))
    if column.kind is Kind.FRACTION:
        return f"{value * 100:.0f} %"
    return f"{value * units.factor(column.kind, column.unit) + 0.0:.{column.decimals}f}"


def _bar(row: dict[Hashable, Any], later: dict[Hashable, Any], units: Measure) -> Bar | None:
    """The picture of one colony; none where nothing is known of it."""
    stores, give, want, least = (_figure(row.get(key)) for key in ("stores_today", "stores_u", "want_today", "least"))
    if math.isnan(stores):
        return None
    medians = [_figure(value) for key, value in later.items() if str(key).startswith("median_") and key != "median_out"]
    spring = next((one for one in reversed(medians) if not math.isnan(one)), math.nan)
    whole = max(one for one in (stores + 1.3 * give, want, least, 1.0) if not math.isnan(one)) * 1.05

    def at(kilograms: float) -> float:
        return round(100 * min(max(kilograms, 0.0), whole) / whole, 1) if not math.isnan(kilograms) else -1.0

    said = [("stores", stores), ("want", want), ("least", least), ("at the flow", spring)]
    words = ", ".join(f"{name} {one / units.kg:.1f} {units.mass}" for name, one in said if not math.isnan(one))
    return Bar(at(stores), at(stores - 1.28 * give), at(stores + 1.28 * give), at(want), at(least), at(spring), words)


def _figure(value: object) -> float:
    return float(value) if isinstance(value, (int, float)) else math.nan


def _groups(lines: Iterable[Line]) -> list[tuple[str, list[str]]]:
    """Colonies by what is to be done, the most pressing first; a date behind a verdict does not part them."""
    found: dict[str, list[str]] = defaultdict(list)
    for line in lines:
        found[kind_of(line.verdict)].append(line.colony)
    return sorted(found.items(), key=lambda one: ORDER.index(one[0]) if one[0] in ORDER else len(ORDER))


ORDER = (
    "feed now",
    "feed",
    "feed, then weigh",
    "comb full",
    "weigh",
    "fondant later",
    "enough, if right",
    "enough",
    "lasts",
)
"""Verdicts as they press."""


def kind_of(verdict: str) -> str:
    """A verdict without what is said behind it.

    >>> kind_of("lasts to 4 Mar"), kind_of("feed, then weigh"), kind_of("fondant later, by 2027-01-02")
    ('lasts', 'feed, then weigh', 'fondant later')
    """
    return next((word for word in sorted(ORDER, key=len, reverse=True) if verdict.startswith(word)), verdict)


def _low(reckoned: Reckoned) -> list[tuple[str, str]]:
    standing, day = reckoned.season.standing, reckoned.content.as_at
    low = [
        (day_of(float(last)), str(colony))
        for colony, last, verdict in zip(standing["colony"], standing["lasts_to"], standing["verdict"], strict=True)
        if colony and verdict and _figure(last) > 0
    ]
    return [(colony, day_words(serial(last))) for last, colony in sorted(low) if (last - day).days <= SOON]


def _order(reckoned: Reckoned) -> list[str]:
    """What is to be ordered, in words."""
    season, units = reckoned.season, measure(reckoned.book.unit)
    order = season.feed_order
    liquid, solid, foretold = (float(order[key].sum()) / units.kg for key in ("liquid", "solid", "forecast"))
    packs = {key: int(order[f"{key}_packs"].sum()) for key in ("liquid", "solid")}
    settings = reckoned.book.settings
    told = [
        f"{amount:.0f} {units.mass} of {settings[feed]}" + _packs(packs[key])
        for key, amount, feed in (("liquid", liquid, "autumn_feed"), ("solid", solid, "solid_feed"))
        if amount > 0
    ]
    if not (season.standing["known"] == 1).any() and foretold > 0:
        more = season.order_margin / units.kg
        told.append(f"foretold before any weighing: {foretold:.0f} {units.mass}, and {more:.0f} more to be sure")
    return told


def _packs(count: int) -> str:
    return f", {count} pack{'' if count == 1 else 's'}" if count else ""
