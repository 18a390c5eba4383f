"""What hefting saves: simulated clubs that weigh what the book suggests and heft the rest, reckoned by the book."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.book.memory import raw_book
from apiarybook.book.si_frames import si
from apiarybook.book.tables import read_book
from apiarybook.club.blank import new_settings, new_tables
from apiarybook.handbook import handbook
from apiarybook.reckon.core.arrays import Floats, figure
from apiarybook.reckon.core.lookup import match, pick
from apiarybook.reckon.core.winter import serial
from apiarybook.reckon.hefting.worth import worth_of_hands
from apiarybook.reckon.hefting.worth_weighing import UNDECIDED
from apiarybook.reckon.season import Season, reckon_season
from tests.studies.hefting_coverage import USUAL, Clubs, draw_hands

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

YEAR, REGION = 2026, "british-isles"
PRACTISED, AS_AT = date(YEAR, 9, 1), date(YEAR, 9, 20)
SEED, CLUBS, PAIRS = 20_260_920, 600, 15
OTHERS = (1, 2, 3, 4, 5)
"""Seeds of further draws."""
COLONIES = 5
"""Colonies that each hand keeps."""
HIVES = ("National single", "National double", "National 14x12", "National brood and a half")
SHORT, UNLIKE = (-3.0, 7.0), 6.0
"""What a club's colonies are short of on average [kg], by club, and how unlike they are within one."""
PRACTICE = (25.0, 50.0)
"""Gross of the hives practised on [kg]."""
PARTS = ("tare", "bees", "brood", "pollen")
STEP = 0.5
"""Guesses are made to this [kg]."""
RULES = ("heft all", "weigh the third most worth it", "weigh all that is suggested", "weigh all")
THIRD = 1 / 3
STEADY = Clubs(within=(0.05, 0.10))
"""Hands half as wide as the handbook holds."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """Simulated clubs one after another.

    Attributes:
        colonies: a row a colony: colony, club, by (its hand), hive_type, takes_fondant; the truth: short, stores,
            least [kg]; and what its hand guesses and the scale would show that day: heft, reading [kg].
        practice: the lifts that were hefted and weighed before, as rows of the sheet Weighings.
    """

    colonies: pd.DataFrame
    practice: pd.DataFrame


@cache
def _lists() -> dict[str, pd.DataFrame]:
    tables = {name: frame.dropna(how="all") for name, frame in new_tables(REGION, "kg", "t").items()}
    book = read_book(raw_book(tables, new_settings("", YEAR, REGION, "kg"), {}))
    return si(book)


def _sheet(name: str, rows: Mapping[str, object] | pd.DataFrame) -> pd.DataFrame:
    blank, told = _lists()[name].iloc[:0], pd.DataFrame(rows)
    found = told.reindex(columns=blank.columns).assign(held="")
    for key in found.columns.difference([*told.columns, "held"]):
        found[key] = found[key].astype(blank[key].dtype)
    return found.set_axis(pd.RangeIndex(2, 2 + len(found)), axis=0)


def _reckoned(colonies: pd.DataFrame, weighings: pd.DataFrame, hands: pd.DataFrame | None = None) -> Season:
    frames = _lists() | {
        "Apiaries": _sheet("Apiaries", {"apiary": ["P"], "profile": [REGION]}),
        "Colonies": _sheet("Colonies", colonies[["colony", "hive_type", "takes_fondant"]].assign(apiary="P")),
        "Weighings": _sheet("Weighings", weighings.assign(feed_left=0.0)),
        "Feedings": _sheet("Feedings", {"date": pd.to_datetime([])}),
    }
    return reckon_season(frames, new_settings("", YEAR, REGION, "kg"), serial(AS_AT), hands)


@cache
def _usual() -> pd.DataFrame:
    """Want and least of a colony of each hive type that day, and what is not stores with its spread [kg]."""
    both = [(hive, takes) for hive in HIVES for takes in ("yes", "no")]
    kinds = pd.DataFrame(both, columns=["hive_type", "takes_fondant"])
    kinds["colony"] = kinds["hive_type"] + kinds["takes_fondant"]
    rows = {"date": pd.Timestamp(AS_AT), "colony": kinds["colony"], "by": "A", "how": "platform", "reading_1": 40.0}
    stood, types = _reckoned(kinds, pd.DataFrame(rows)).standing, _lists()["Hive types"]
    kinds[["want", "least", *PARTS]] = stood[["want_today", "least", *PARTS]].to_numpy()
    kinds["tare_u"] = pick(types["tare_spread"], match(kinds["hive_type"], types["name"]))
    for part in PARTS[1:]:
        kinds[f"{part}_u"] = figure(f"{part}_spread") * kinds[part]
    return kinds


def _scale(gross: Floats, rng: np.random.Generator) -> Floats:
    """A hanging scale nobody checked, at a full lift."""
    share = handbook().scale_kinds["hanging"].half_width.value / np.sqrt(3)
    return np.round(gross * rng.normal(1, share, len(gross)) + rng.normal(0, figure("hanging_heavy_u"), len(gross)), 1)


def _guess(gross: Floats, error: Floats) -> Floats:
    return np.maximum(np.round(gross * np.exp(-error) / STEP) * STEP, STEP)


def draw(clubs: Clubs = USUAL, *, seed: int = SEED, count: int = CLUBS, pairs: int = PAIRS) -> Drawn:
    """Draw clubs, their hands and colonies, and what was hefted and weighed before.

    Args:
        clubs: what clubs and their hands are like.
        seed: of the random numbers.
        count: how many clubs.
        pairs: lifts of each hand that were also weighed, at most 40.
    """
    rng = np.random.default_rng(seed)
    parts = [_club(clubs, rng, number, pairs) for number in range(count)]
    colonies, practice = (pd.concat(part, ignore_index=True) for part in zip(*parts, strict=True))
    return Drawn(colonies, practice)


def _club(clubs: Clubs, rng: np.random.Generator, number: int, pairs: int) -> tuple[pd.DataFrame, pd.DataFrame]:
    hands, _ = draw_hands(clubs, rng)
    names = np.array([f"{number} {one}" for one in range(len(hands.bias))], dtype=object)
    hand = np.repeat(np.arange(len(names)), COLONIES)
    found = _usual().iloc[rng.integers(0, len(_usual()), len(hand))].reset_index(drop=True)
    found["colony"] = [f"{number} C{one}" for one in range(len(hand))]
    found["club"], found["by"] = number, names[hand]
    rest = sum(np.maximum(rng.normal(found[part], found[f"{part}_u"]), 0.0) for part in PARTS)
    found["stores"] = np.maximum(found["want"] - rng.normal(rng.uniform(*SHORT), UNLIKE, len(hand)), 0.0)
    found["short"] = found["want"] - found["stores"]
    gross = (found["stores"] + rest).to_numpy(dtype=np.float64)
    found["heft"] = _guess(gross, rng.normal(hands.bias[hand, pairs], hands.spread[hand, 0]))
    found["reading"] = _scale(gross, rng)
    who, lift = (part.ravel() for part in np.indices((len(names), pairs)))
    loads = rng.uniform(*PRACTICE, len(who))
    practice = {
        "date": pd.Timestamp(PRACTISED),
        "colony": found["colony"].to_numpy()[who * COLONIES],
        "by": names[who],
        "how": "full lift",
        "reading_1": _scale(loads, rng),
        "heft": _guess(loads, rng.normal(hands.bias[who, lift], hands.spread[who, 0])),
        "occasion": "practice",
    }
    return found, pd.DataFrame(practice)


def weigh_in(drawn: Drawn, weighed: NDArray[np.bool_]) -> Season:
    """Reckon all clubs after a day on which every colony was hefted and some were weighed besides.

    Args:
        drawn: the clubs.
        weighed: which colonies are weighed, shape (colonies,).

    Returns:
        the season of all clubs at once, each hand judged by the lifts of its own club.
    """
    of = drawn.colonies
    day = {
        "date": pd.Timestamp(AS_AT),
        "colony": of["colony"],
        "by": of["by"],
        "how": np.where(weighed, "full lift", "heft"),
        "reading_1": of["reading"].where(weighed),
        "heft": of["heft"],
    }
    rows = pd.concat([drawn.practice, pd.DataFrame(day)], ignore_index=True)
    rows["heft"] = rows["heft"].astype(object)
    pairs = _reckoned(of, rows).pairs
    hands = [worth_of_hands(own) for _, own in pairs.groupby(pairs["by"].str.partition(" ")[0])]
    return _reckoned(of, rows, pd.concat([hands[0].iloc[:1], *(one.iloc[1:] for one in hands)], ignore_index=True))


def suggested(drawn: Drawn, hefted: Season, most: float = 1.0) -> NDArray[np.bool_]:
    """The colonies that the book lists as worth weighing, club by club, the most pressing first.

    Args:
        drawn: the clubs.
        hefted: the season after everything was hefted.
        most: share of each club's colonies that is weighed at most [1].

    Returns:
        shape (colonies,).
    """
    of, worth = drawn.colonies, hefted.worth_weighing
    order = of["colony"].map(dict(zip(worth["colony"], worth["order"], strict=True)))
    by_club = order.groupby(of["club"])
    place, size = by_club.rank(method="first"), by_club.transform("size")
    return np.asarray((place <= np.floor(most * size)).to_numpy())


def came_of_it(drawn: Drawn, season: Season, weighed: NDArray[np.bool_]) -> dict[str, float]:
    """Count what a weigh-in finds and what it wastes.

    Args:
        drawn: the clubs.
        season: what the book says after it.
        weighed: which colonies were weighed, shape (colonies,).

    Returns:
        weighed, share of colonies weighed; below_found, share of the colonies truly below their least that are not
        called enough; below_fed, share of these that are to be fed; short_found and short_fed, the same of those truly
        short of their want by more than a kilogram; left, share of colonies left at weigh [1]; wasted, feed advised
        beyond what was truly lacking, for each colony [kg of stores].
    """
    of, verdict = drawn.colonies, season.standing["verdict"].to_numpy(dtype=object)
    short = of["short"].to_numpy(dtype=np.float64)
    below, lacking = (of["stores"] < of["least"]).to_numpy(), short > figure("least_worth_giving")
    found, fed = verdict != "enough", ~np.isin(verdict, UNDECIDED)
    waste = np.maximum(season.standing["feed_stores"] - np.maximum(short, 0.0), 0.0)
    return {
        "colonies": float(len(of)),
        "below": float(below.sum()),
        "weighed": float(weighed.mean()),
        "below_found": float(found[below].mean()),
        "below_fed": float(fed[below].mean()),
        "short_found": float(found[lacking].mean()),
        "short_fed": float(fed[lacking].mean()),
        "left": float((verdict == "weigh").mean()),
        "wasted": float(waste.mean()),
    }


def saves(clubs: Clubs = USUAL, *, seed: int = SEED, count: int = CLUBS, pairs: int = PAIRS) -> pd.DataFrame:
    """Simulate a weigh-in by four rules and count what each finds.

    Args:
        clubs: what clubs and their hands are like.
        seed: of the random numbers.
        count: how many clubs.
        pairs: lifts of each hand that were also weighed.

    Returns:
        a row a rule: heft all, a third as suggested, all suggested, weigh all; columns of `came_of_it`.
    """
    drawn = draw(clubs, seed=seed, count=count, pairs=pairs)
    nobody = np.zeros(len(drawn.colonies), dtype=np.bool_)
    hefted = weigh_in(drawn, nobody)
    sets = [suggested(drawn, hefted, THIRD), suggested(drawn, hefted), ~nobody]
    seasons = [hefted, *(weigh_in(drawn, one) for one in sets)]
    found = [came_of_it(drawn, *pair) for pair in zip(seasons, [nobody, *sets], strict=True)]
    return pd.DataFrame(found, index=list(RULES))


def other_draws(seeds: Sequence[int] = OTHERS, *, count: int = CLUBS) -> pd.DataFrame:
    """Weigh the suggested third in clubs drawn anew: how much of what is found is the luck of one draw.

    Args:
        seeds: of the random numbers.
        count: how many clubs a draw.

    Returns:
        a row a seed, columns of `came_of_it`.
    """
    rows = []
    for seed in seeds:
        drawn = draw(seed=seed, count=count)
        some = suggested(drawn, weigh_in(drawn, np.zeros(len(drawn.colonies), dtype=np.bool_)), THIRD)
        rows.append(came_of_it(drawn, weigh_in(drawn, some), some))
    return pd.DataFrame(rows, index=list(seeds))


def page() -> str:
    """Make the page of the guide: what was simulated, and what came of it.

    Returns:
        Markdown; the same on every run.
    """
    parts = [INTRODUCTION.format(clubs=CLUBS, pairs=PAIRS, colonies=COLONIES, seed=SEED, low=SHORT[0], high=SHORT[1],
                                 unlike=UNLIKE)]  # fmt: skip
    for title, clubs in (("Usual hands", USUAL), ("Steady hands", STEADY)):
        found = saves(clubs)
        first = found.iloc[0]
        told = f"{first['colonies']:.0f} colonies, {first['below']:.0f} of them truly below their least."
        parts += [f"\n## {title}\n\n{told}\n\n{table_of(found)}"]
    return "".join([*parts, DRAWN_ANEW, table_of_draws(other_draws())])


def table_of_draws(found: pd.DataFrame) -> str:
    """The table of `other_draws` in Markdown, and a line for all draws together."""
    whole = found.mean()
    whole["below"] = found["below"].sum()
    whole["below_found"] = np.average(found["below_found"], weights=found["below"])
    rows = [
        f"| {seed} | {100 * row['weighed']:.0f} | {row['below']:.0f} | {100 * row['below_found']:.1f} |"
        for seed, row in [*found.iterrows(), ("together", whole)]
    ]
    return "\n".join([DRAWS, *rows]) + "\n"


DRAWN_ANEW = f"""
## The same with clubs drawn anew

Usual hands, {RULES[1]}.

"""
DRAWS = """\
| seed | weighed, of 100 | truly below least | not called enough, of 100 |
| ---: | ---: | ---: | ---: |"""


def table_of(found: pd.DataFrame) -> str:
    """The table of `saves` in Markdown, shares of 100."""
    rows = [
        f"| {rule} | {100 * row['weighed']:.0f} | {100 * row['below_found']:.1f} | {100 * row['below_fed']:.1f} "
        f"| {100 * row['short_found']:.0f} | {100 * row['short_fed']:.0f} | {100 * row['left']:.0f} "
        f"| {row['wasted']:.2f} |"
        for rule, row in found.iterrows()
    ]
    return "\n".join([HEADINGS, *rows]) + "\n"


HEADINGS = """\
| rule | weighed, of 100 | below least: not called enough | to be fed at once | short by over 1 kg: not called enough \
| to be fed at once | left at weigh, of 100 | wasted, kg a colony |
| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |"""
INTRODUCTION = """# What hefting saves

A club hefts every colony and weighs some: what does it miss, and what does it waste? {clubs} simulated clubs of 1 to
12 hands with {colonies} colonies each, {pairs} lifts of every hand also weighed before, on 20 September; seed {seed}.
Colonies are short by {low:g} to {high:g} kg on average, club by club, give or take {unlike:g} kg within one; hive,
bees, brood and pollen differ from the book's figures as much as the book allows for. The scale is one that nobody
checked. Every figure comes from the book's own reckoning of these rows; only hands and hives are invented.

*Found* is what the book does not call enough afterwards; *to be fed at once* leaves out those that it still marks
weigh. *Wasted* is feed advised beyond what was truly lacking, in kg of stores.
"""
