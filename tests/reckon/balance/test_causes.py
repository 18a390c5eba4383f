"""How well each event explains a residual: Bayes' rule worked out again, one interval at a time, with scipy.

The weights, sizes and seasons are the handbook's; the densities are scipy's normal distribution and an integral of it
over a cause's masses (scipy.integrate), in place of the closed forms of the package.
"""

from __future__ import annotations

from datetime import date
from math import hypot, isnan, nan
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pandas as pd
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from apiarybook.handbook import handbook
from apiarybook.reckon.balance import causes
from apiarybook.reckon.balance.causes import EVENTS
from apiarybook.reckon.balance.clues import echoes, following, preceding
from apiarybook.reckon.core.winter import serial
from tests.checks.small import CLUB
from tests.reckon.small_season import season

if TYPE_CHECKING:
    from apiarybook.handbook import Cause
    from tests.checks.small import Row

DAYS = (date(2026, 8, 25), date(2026, 9, 15), date(2026, 10, 6), date(2026, 10, 27))
AS_AT = date(2027, 4, 30)
EXPECTED = (38.0, 35.5, 33.0, 31.0)
OUT_OF_SEASON = (date(2027, 1, 5), date(2027, 2, 5), date(2027, 3, 5))
JUDGING = {name: figure.value for name, figure in handbook().judging.items()}
COLONY = CLUB["Colonies"][0]
HIVE = CLUB["Hive types"][0]


class Around(NamedTuple):
    """What is known of one doubted interval [kg]: its residual, those before and after, and of both together."""

    residual: float
    u: float
    before: float
    before_u: float
    later: float
    later_u: float
    both_u: float
    in_season: frozenset[str]


class Hints(NamedTuple):
    """What else the book says of it.

    `fed` went into the hive in between [kg]; `not_given` and `untimed` are what feeds of the interval, and of the day
    of its later weighing, weigh on that day [kg]; `round_net` what a round weighs there that left the colony out;
    `extras` how much more the earlier and the later row name than the other; `said` the causes that a move speaks for;
    `flow` by how much likelier a flow is; `tares` of other hive types in use, and `moved` whether Moves has the change.
    """

    fed: float = 0.0
    not_given: tuple[float, ...] = ()
    untimed: tuple[float, ...] = ()
    round_net: float = nan
    extras: float = 0.0
    said: frozenset[str] = frozenset()
    flow: float = 1.0
    tares: tuple[tuple[float, float], ...] = ()


def unlike(residual: float, u: float) -> float:
    return float((1 - JUDGING["unlike"]) * norm.pdf(residual, scale=u) + JUDGING["unlike"] / JUDGING["span"])


def anywhere(cause: Cause, residual: float, u: float) -> float:
    away, least, most = residual if cause.way == "gain" else -residual, cause.least.value, cause.most.value
    return float(quad(lambda mass: norm.pdf(away, mass, u), least, most, points=[min(max(away, least), most)])[0]) / (
        most - least
    )


def shown(cause: Cause, around: Around) -> float:
    if isnan(around.later):
        return 1.0
    stays = unlike(around.later, around.later_u)
    goes = unlike(around.residual + around.later, around.both_u)
    if cause.name == "fed":
        most = max(JUDGING["ripens"] * around.residual, JUDGING["least_spread"])
        ripens = quad(lambda lost: norm.pdf(around.later, -lost, around.later_u), 0.0, most)[0] / most
        return (stays + float(ripens)) / 2
    return {"stays": stays, "goes": goes, "either": (stays + goes) / 2}[cause.after]


def thing(flat: float, sign: float, around: Around, u: float, hints: Hints, name: str) -> float:
    listed = [float(str(one["mass"])) for one in CLUB["Extras"] if float(str(one["mass"])) >= JUDGING["listed_least"]]
    away = sign * around.residual
    like = [norm.pdf(away, mass, hypot(u, JUDGING["listed_spread"] * mass)) for mass in listed]
    density = JUDGING["listed"] * sum(like) / len(like) + (1 - JUDGING["listed"]) * flat
    fewer = sign * hints.extras
    if fewer >= JUDGING["listed_least"]:
        density += JUDGING["said_weight"] * norm.pdf(away, fewer, u)
    return float(density * (JUDGING["said_weight"] if name in hints.said else 1.0))


def density(name: str, around: Around, hints: Hints) -> float:  # noqa: PLR0911 a line a cause
    cause, u = handbook().causes[name], max(around.u, JUDGING["least_spread"])
    flat = 0.0 if cause.way == "either" else anywhere(cause, around.residual, u)
    if name == "fed":
        if isnan(hints.round_net):
            return flat
        like = norm.pdf(around.residual, hints.round_net, hypot(u, JUDGING["round_spread"] * hints.round_net))
        share = JUDGING["round_share"]
        return float(JUDGING["said_weight"] * (share * like + (1 - share) * flat))
    if name in {"left on", "taken off"}:
        return thing(flat, 1.0 if name == "left on" else -1.0, around, u, hints, name)
    if name == "flow":
        return flat * hints.flow
    if name == "leaked":
        poured = min(hints.fed, cause.most.value)
        return flat if poured > 0 and -around.residual <= poured + u else 0.0
    if name in {"not given", "before feed"}:
        masses = hints.not_given if name == "not given" else hints.untimed
        return float(sum(norm.pdf(around.residual, -mass, u) for mass in masses)) / max(len(masses), 1)
    if name == "hive type":
        fits = [
            norm.pdf(around.residual, way * (tare - float(str(HIVE["tare"]))), hypot(u, spread))
            for tare, spread in hints.tares
            for way in (1, -1)
        ]
        return float(sum(fits)) / max(len(fits), 1)
    return 0.0 if name == "other colony" else flat


def score(name: str, around: Around, hints: Hints) -> float:
    cause = handbook().causes[name]
    season = 1.0 if name in around.in_season else JUDGING["season_share"]
    before = 1.0 if isnan(around.before) else unlike(around.before, around.before_u)
    return cause.weight.value * season * shown(cause, around) * before * density(name, around, hints)


def around_of(balance: pd.DataFrame, at: int, days: tuple[date, ...]) -> Around:
    rows = balance.reset_index(drop=True)
    one, nothing = rows.iloc[at], (nan, nan)
    earlier, later = (rows.iloc[at + step] if 0 <= at + step < len(rows) else None for step in (-1, 1))
    both_u = nan
    if later is not None:
        both = one["residual_u"] ** 2 + later["residual_u"] ** 2 - 2 * one["scatter"]
        both_u = max(both, max(one["residual_u"], later["residual_u"]) ** 2 / 4) ** 0.5
    first, last = days[at], days[at + 1]
    held = {
        name
        for name, cause in handbook().causes.items()
        if any(
            date(year, cause.starts.month, cause.starts.day) <= last
            and date(year + (_turns(cause)), cause.ends.month, cause.ends.day) >= first
            for year in (2025, 2026, 2027)
        )
    }
    return Around(
        one["residual"],
        one["residual_u"],
        *(nothing if earlier is None else (earlier["residual"], earlier["residual_u"])),
        *(nothing if later is None else (later["residual"], later["residual_u"])),
        both_u,
        frozenset(held),
    )


def _turns(cause: Cause) -> bool:
    """Whether a season goes over the turn of the year."""
    return (cause.starts.month, cause.starts.day) > (cause.ends.month, cause.ends.day)


def rows_of(changed: dict[int, float], days: tuple[date, ...] = DAYS, colony: str = "A1", **cells: object) -> list[Row]:
    usual = {"colony": colony, "by": "Ann", "how": "platform", "feed_left": 0.0, "scale": "H1"} | cells
    return [
        usual | {"date": day, "reading_1": round(gross + changed.get(at, 0.0), 1)}
        for at, (day, gross) in enumerate(zip(days, EXPECTED, strict=False))
    ]


def fed(day: date, mass: float, colony: str = "A1") -> Row:
    return {"date": day, "colony": colony, "feed_kind": "Thick", "amount": mass, "unit": "kg"}


def net(mass: float, days: int) -> float:
    """What a feed of thick syrup still weighs: its water goes by a half-time of 3 days until 15 September, else 6."""
    water = mass * (1 - 0.6135 * 0.9 / 0.82)
    return mass - water * (1 - 1 / (1 + (days / 3.0) ** 3.5))


def told(cells: dict[int, Row], changed: dict[int, float], **more: object) -> list[Row]:
    return [row | cells.get(at, {}) for at, row in enumerate(rows_of(changed, **more))]


GAIN = {1: 7.0, 2: 7.0, 3: 7.0}
LOSS = {1: -6.0, 2: -6.0, 3: -6.0}
FEED_DAY = date(2026, 9, 8)
COLONIES = [COLONY | {"colony": f"A{number}"} for number in range(1, 5)]
CASES = {
    "a gain": (rows_of(GAIN), {}, 0, Hints()),
    "a gain with one before it": (rows_of({2: 7.0, 3: 7.0}), {}, 1, Hints()),
    "a gain that nothing follows": (rows_of({3: 7.0}), {}, 2, Hints()),
    "a gain that goes again": (rows_of({1: 9.3}), {}, 0, Hints()),
    "a loss": (rows_of(LOSS), {}, 0, Hints()),
    "a loss in winter": (rows_of({1: -6.0, 2: -6.0}, OUT_OF_SEASON), {}, 0, Hints()),
    "a gain in winter": (rows_of({1: 6.0, 2: 6.0}, OUT_OF_SEASON), {}, 0, Hints()),
    "a flow was seen": (rows_of(GAIN, flow_on="yes"), {}, 0, Hints(flow=JUDGING["said_weight"])),
    "a flow was seen at the end": (
        told({1: {"flow_on": "yes"}}, GAIN),
        {},
        0,
        Hints(flow=JUDGING["said_weight"]),
    ),
    "a super went on": (
        rows_of(GAIN),
        {"Moves": [{"date": FEED_DAY, "colony": "A1", "what": "super on"}]},
        0,
        Hints(said=frozenset({"left on"})),
    ),
    "a super came off": (
        rows_of(LOSS),
        {"Moves": [{"date": FEED_DAY, "colony": "A1", "what": "super off"}]},
        0,
        Hints(said=frozenset({"taken off"})),
    ),
    "a stone that one row forgot": (
        told({0: {"other_extra": 5.0}}, {0: 6.0, 1: 6.0, 2: 6.0, 3: 6.0}),
        {},
        0,
        Hints(extras=5.0),
    ),
    "a feed that may not have been given": (
        rows_of({}),
        {"Feedings": [fed(FEED_DAY, 9.0)]},
        0,
        Hints(fed=9.0, not_given=(net(9.0, 7),)),
    ),
    "two feeds that may not have been given": (
        rows_of({}),
        {"Feedings": [fed(FEED_DAY, 5.0), fed(date(2026, 9, 10), 4.0)]},
        0,
        Hints(fed=9.0, not_given=(net(5.0, 7), net(4.0, 5))),
    ),
    "a feed that may have come after the weighing": (
        rows_of({}),
        {"Feedings": [fed(DAYS[1], 8.0)]},
        0,
        Hints(fed=8.0, not_given=(8.0,), untimed=(8.0,)),
    ),
    "a round that left it out, and neighbours that did not gain": (
        rows_of(GAIN),
        {
            "Colonies": COLONIES,
            "Feedings": [fed(FEED_DAY, 6.0, f"A{number}") for number in (2, 3, 4)],
            "Weighings": [
                row for number in (2, 3, 4) for row in rows_of({1: 5.5, 2: 5.0, 3: 5.0}, colony=f"A{number}")
            ],
        },
        0,
        Hints(round_net=net(6.0, 7), flow=1 / JUDGING["neighbours_alike"]),
    ),
    "neighbours that gained with it": (
        rows_of(GAIN),
        {
            "Colonies": COLONIES,
            "Weighings": [row for number in (2, 3, 4) for row in rows_of(GAIN, colony=f"A{number}")],
        },
        0,
        Hints(flow=JUDGING["neighbours_alike"]),
    ),
    "another hive type in use": (
        rows_of({1: 8.0, 2: 8.0, 3: 8.0}),
        {
            "Hive types": [HIVE, HIVE | {"name": "Double", "tare": 24.0}],
            "Colonies": [COLONIES[0], COLONIES[1] | {"hive_type": "Double"}],
            "Weighings": rows_of({}, colony="A2"),
        },
        0,
        Hints(tares=((24.0, 1.6),)),
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_every_event_is_weighed_as_by_hand(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    monkeypatch.setattr(causes, "MOST_TOLD", 99)
    weighings, sheets, at, hints = CASES[name]
    more = {key.replace(" ", "_"): rows for key, rows in sheets.items() if key != "Weighings"}
    balance = season(AS_AT, Weighings=[*weighings, *sheets.get("Weighings", [])], **more).balance
    days = tuple(row["date"] for row in weighings)
    own = balance[balance["colony_row"] == 1]
    one = own.iloc[at]
    assert (one["standing"] != "", one["day_1"]) == (True, serial(days[at]))
    around = around_of(own, at, days)
    found = {event.name: event.share for event in one["likely"] if event.name in EVENTS}
    wanted = {event: score(event, around, hints) for event in EVENTS if event != "other colony"}
    whole, all_found = sum(wanted.values()), sum(share for event, share in found.items() if event != "other colony")
    assert {event: found[event] / all_found for event in wanted} == pytest.approx(
        {event: value / whole for event, value in wanted.items()}, rel=2e-3, abs=1e-9
    )


AMOUNTS = {"ten times": 10.0, "a tenth": 0.1, "half": 0.5, "twice": 2.0, "hundred times": 100.0, "a hundredth": 0.01}
SHARES = dict(zip(AMOUNTS, (0.2, 0.2, 0.15, 0.05, 0.05, 0.05), strict=True))
UNITS = {
    "g": 0.001,
    "lb": 0.45359237,
    "oz": 0.028349523125,
    "l": 1.0,
    "US quart": 0.946352946,
    "US gal": 3.785411784,
    "imp pint": 0.56826125,
    "imp gal": 4.54609,
}
"""Kilograms, or litres, in each (NIST Handbook 44, appendix C; the pound, the gallons and the ounce are exact)."""
VOLUMES = ("l", "US quart", "US gal", "imp pint", "imp gal")


@pytest.mark.parametrize("changed", [{}, {1: 12.0, 2: 12.0, 3: 12.0}, {1: -3.0, 2: -3.0, 3: -3.0}], ids=str)
@pytest.mark.parametrize("at", [0, 1])
def test_a_wrong_amount_is_weighed_as_by_hand(
    monkeypatch: pytest.MonkeyPatch, changed: dict[int, float], at: int
) -> None:
    """A feed of 8 kg as written; ten amounts that may have been meant, nine units in which they may have been."""
    monkeypatch.setattr(causes, "MOST_TOLD", 99)
    fed_on = (FEED_DAY, date(2026, 9, 29))[at]
    later = {place + at: kilograms for place, kilograms in changed.items()}
    found = season(AS_AT, Weighings=rows_of(later), Feedings=[fed(fed_on, 8.0)])
    own = found.balance
    one = own.iloc[at]
    assert one["standing"] != ""
    around, days = around_of(own, at, DAYS), (DAYS[at + 1] - fed_on).days
    weighs = 8.0 - (8.0 * (1 - 0.6135 * 0.9 / 0.82)) * (1 - 1 / (1 + (days / (3.0, 6.0)[at]) ** 3.5))
    density = float(found.feedings["density"].iloc[0])
    units = {times * (density if unit in VOLUMES else 1.0): 0.3 / 8 for unit, times in UNITS.items()}
    u = max(around.u, JUDGING["least_spread"])
    cause = handbook().causes["feed amount"]
    stays = 1.0 if isnan(around.later) else unlike(around.later, around.later_u)
    before = 1.0 if isnan(around.before) else unlike(around.before, around.before_u)
    wanted = sum(
        share
        * norm.pdf(around.residual, weighs * (times - 1), hypot(u, handbook()["feed_spread"].value * weighs * times))
        for times, share in [*zip(AMOUNTS.values(), SHARES.values(), strict=True), *units.items()]
    )
    wanted *= cause.weight.value * stays * before
    shares = {event.name: event.share for event in one["likely"]}
    against = score("robbed" if around.residual < 0 else "flow", around, Hints())
    got = shares["feed amount"] / shares["robbed" if around.residual < 0 else "flow"]
    assert got == pytest.approx(wanted / against, rel=2e-3)


def intervals_of(residuals: list[float], colonies: list[int]) -> pd.DataFrame:
    day = 46300.0 + 10.0 * np.arange(len(residuals))
    told = {"colony_row": colonies, "residual": residuals, "day_1": day, "day_2": day + 10.0}
    return pd.DataFrame(told).assign(residual_u=0.5, scatter=0.1, judged=1, standing="ask")


def test_what_stands_around_an_interval_is_of_the_same_colony() -> None:
    found = intervals_of([1.0, 2.0, 3.0, 4.0], [1, 1, 2, 2])
    np.testing.assert_array_equal(preceding(found)["before_residual"], [np.nan, 1.0, np.nan, 3.0])
    np.testing.assert_array_equal(following(found)["next_residual"], [2.0, np.nan, 4.0, np.nan])
    np.testing.assert_array_equal(following(found)["both_residual"], [3.0, np.nan, 7.0, np.nan])


@pytest.mark.parametrize(
    ("first", "second", "echoes_it"),
    [
        pytest.param(6.0, -6.0, True, id="what came went again"),
        pytest.param(6.0, -2.5, True, id="water of a feed that was not written down"),
        pytest.param(6.0, -4.8, False, id="more than such a feed can lose, and less than all"),
        pytest.param(3.0, -9.0, False, id="far more went than had come"),
        pytest.param(6.0, 2.5, False, id="it gained twice"),
        pytest.param(-6.0, 2.5, False, id="some came back of what was lost"),
    ],
)
def test_a_residual_that_only_takes_back_the_one_before(first: float, second: float, echoes_it: bool) -> None:  # noqa: FBT001 a column of the table
    found = intervals_of([first, second], [1, 1])
    assert echoes(found, following(found)).tolist() == [False, echoes_it]
