"""Which colonies to weigh next, and how well the feed of all of them together is known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np
import pandas as pd

from apiarybook.reckon.core.arrays import Floats, figure, numbers, rounded, words
from apiarybook.reckon.core.lookup import match, pick, pick_words
from apiarybook.reckon.hefting.calibration import KINDS
from apiarybook.reckon.hefting.sampling import (
    TwoPhase,
    WeighingPlan,
    change_of_feed,
    expected_feed,
    feed_spread,
    set_to_weigh,
    two_phase,
)
from apiarybook.reckon.outlook.outlook import chance_below
from apiarybook.reckon.standing.verdict import ENOUGH

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from apiarybook.reckon.hive.weighings import Lists


BELIEF_WEIGHT = 4.0
"""Degrees of freedom that the handbook's spread between colonies is worth against that of the club."""
LEAST = 3
"""Colonies from which a club's own mean is taken."""


def towards_the_others(value: ArrayLike, uncertainty: ArrayLike) -> tuple[Floats, Floats]:
    """Draw each colony's figure towards the mean of all, the more the less certain it is.

    A hand that finds one hive far heavier than all the others has more likely erred than found it.

    Args:
        value: what each colony is short by [kg], shape (n,); blanks stay blank.
        uncertainty: its standard uncertainty [kg], above 0; broadcasts.

    Returns:
        value and standard uncertainty after it [kg], shape (n,); as they came with under three colonies.

    Source: Efron and Morris 1975, J. Am. Stat. Assoc. 70:311, with unlike variances; the spread between colonies by
    moments (DerSimonian and Laird 1986, Controlled Clinical Trials 7:177), shrunk to the handbook's figure.

    >>> value, spread = towards_the_others([10.0, 2.0, 3.0, 1.0], [8.0, 1.0, 1.0, 1.0])
    >>> value.round(1).tolist(), spread.round(1).tolist()
    ([3.9, 2.0, 3.0, 1.1], [3.4, 1.0, 1.0, 1.0])
    """
    given, wide = np.broadcast_arrays(*(np.atleast_1d(numbers(v)) for v in (value, uncertainty)))
    known = np.isfinite(given) & (wide > 0)
    if known.sum() < LEAST:
        return given.copy(), wide.copy()
    between = between_colonies(given[known], wide[known])
    weight = 1 / (wide[known] ** 2 + between)
    mean = float((weight * given[known]).sum() / weight.sum())
    keep = between / (between + wide**2)
    return np.where(known, mean + keep * (given - mean), given), np.where(known, wide * np.sqrt(keep), wide)


def between_colonies(value: Floats, uncertainty: Floats) -> float:
    """Give the variance between colonies [kg2], the handbook's figure worth four more of them."""
    weight = 1 / uncertainty**2
    mean = (weight * value).sum() / weight.sum()
    freedom = len(value) - 1
    spare = weight.sum() - (weight**2).sum() / weight.sum()
    own = max(0.0, ((weight * (value - mean) ** 2).sum() - freedom) / spare)
    return float((BELIEF_WEIGHT * figure("colonies_spread") ** 2 + freedom * own) / (BELIEF_WEIGHT + freedom))


UNDECIDED = ("weigh", *ENOUGH)
"""Verdicts under which nothing is fed today."""


def worth_weighing(stood: pd.DataFrame, lists: Lists, apiaries: pd.DataFrame) -> pd.DataFrame:
    """Find the colonies for which a scale reading would most change what is done.

    These are the ones whose verdict is to weigh, the ones that are not fed and may all the same be below their least,
    and the ones of which a reading is expected to change the feed of today by more than the least worth giving: on
    coarse evidence a portion is given today in any case, and what comes after it can wait for the next lift.

    Args:
        stood: the frame of all colonies after `verdict.advise`, with left_by_scale [kg].
        lists: the book's lists.
        apiaries: the sheet Apiaries.

    Returns:
        one row a colony, apiary after apiary as the sheet Apiaries lists them, within one those of which nothing is
        known and then the most pressing first: apiary, colony, verdict, how, last_on (number of the day), short_by,
        stores_u, feed_hanging: the feed that a reading is expected to change [kg], chance_below: the chance that its
        stores are below its least, the club's other colonies seen with it, order: 1 for the most pressing of all.
    """
    known = ~np.isnan(numbers(stood["short_by"]))
    worth = figure("least_worth_giving")
    left = numbers(stood["left_by_scale"])
    portion = np.where(stood["coarse"] == 1, np.minimum(stood["room"], stood["portion"]), stood["room"])
    today = change_of_feed(stood["short_by"], stood["stores_u"], left, worth, portion)
    change = change_of_feed(stood["short_by"], stood["stores_u"], left, worth, stood["room"])
    share = pick(lists.kinds["stores_share"], stood["feed_row"].to_numpy(dtype=np.int64), np.nan)
    place = match(lists.colonies["apiary"], apiaries["apiary"])
    below = below_least(stood)
    waiting = np.isin(words(stood["verdict"]), UNDECIDED)
    pressing = waiting & (rounded(below) > rounded(figure("tail_chance")))
    found = pd.DataFrame(
        {
            "apiary": pick_words(apiaries["apiary"], place),
            "colony": stood["colony"].to_numpy(dtype=object),
            "verdict": stood["verdict"].to_numpy(dtype=object),
            "how": stood["how"].to_numpy(dtype=object),
            "last_on": np.fmax(numbers(stood["weighed_on"]), numbers(stood["hefted_on"])),
            "short_by": numbers(stood["short_by"]),
            "stores_u": numbers(stood["stores_u"]),
            "feed_hanging": change / np.where(share > 0, share, np.nan),
            "chance_below": below,
            "place": place,
            "tier": np.select([~known, pressing], [0, 1], 2),
            "first": -np.where(pressing, below, np.nan_to_num(change)),
        }
    )
    asked = (found["verdict"] == "weigh") | pressing | (rounded(np.nan_to_num(today)) > rounded(worth))
    listed = found[asked & (stood["active"] == 1).to_numpy()].sort_values(["tier", "first", "place"], kind="stable")
    listed["order"] = np.arange(1, len(listed) + 1, dtype=np.float64)
    visits = listed.sort_values(["place", "order"], kind="stable")
    return visits.drop(columns=["place", "tier", "first"]).reset_index(drop=True)


def below_least(stood: pd.DataFrame) -> Floats:
    """Give the chance that stores are below the least today, shape (colonies,); NaN where nothing is known.

    Rough figures are first drawn towards the club's other colonies: a hand that finds one hive far heavier than the
    rest has more likely erred.

    Args:
        stood: the frame of all colonies after `standing.stores`.
    """
    short, spread = numbers(stood["short_by"]), numbers(stood["stores_u"])
    drawn, narrower = towards_the_others(short, spread)
    return chance_below(stood["least"], numbers(stood["stores_today"]) - (drawn - short), narrower)


def left_by_scale(stood: pd.DataFrame, weighed: pd.DataFrame, lists: Lists) -> Floats:
    """Give the standard uncertainty of stores that a full lift today would leave [kg], shape (colonies,)."""
    row, hive = (stood[key].to_numpy(dtype=np.int64) for key in ("evidence_row", "type_row"))
    tare = np.where(row > 0, pick(weighed["tare_u"], row), pick(lists.types["tare_spread"], hive))
    bees = figure("bees_spread") * pick(lists.types["bees"], hive)
    pollen = figure("pollen_spread") * pick(lists.types["pollen"], hive)
    return np.asarray(np.sqrt(figure("hanging_heavy_u") ** 2 + tare**2 + bees**2 + pollen**2))


@dataclass(frozen=True, slots=True)
class FeedTotal:
    """What feed all colonies together still need before winter, in kg of the feed they would get.

    Attributes:
        colonies: how many are counted: those of which something is known.
        unknown: how many living ones are not.
        expected: what they need on the evidence so far.
        plan: how well that is known, and the fewest to weigh until it is known within the wish.
        order: codes of those to weigh, the one that tells most first.
        by_some: two-phase estimate of the mean need of the colonies that were hefted, from those among them that
            were also weighed that day.
        estimate, error: need of all colonies by it, and its standard error; NaN where too few were weighed too.
    """

    colonies: int
    unknown: int
    expected: float
    plan: WeighingPlan
    order: list[str]
    by_some: TwoPhase
    estimate: float
    error: float


class Hefted(Protocol):
    """What is taken of a reckoned season: its frames of colonies, hands, lifts and feeds."""

    @property
    def standing(self) -> pd.DataFrame:
        """Every colony."""

    @property
    def weighings(self) -> pd.DataFrame:
        """Every weighing and heft."""

    @property
    def hefting(self) -> pd.DataFrame:
        """Every hand."""

    @property
    def pairs(self) -> pd.DataFrame:
        """Lifts that were also weighed."""

    @property
    def feed_kinds(self) -> pd.DataFrame:
        """The list of feed kinds."""


def feed_total(season: Hefted, wish: float) -> FeedTotal:
    """Tell how well the feed that all colonies together still need is known, and whom to weigh to know it better.

    Args:
        season: the season reckoned.
        wish: half-width of the nine-in-ten interval that is wished [kg of feed].

    Returns:
        the total.

    Source: errors of one hand's bias add linearly, the rest in squares (JCGM 100:2008, 5.2.2); two-phase regression
    estimate (Cochran, Sampling Techniques, 3rd edition, chapter 12).
    """
    stood, worth = season.standing, figure("least_worth_giving")
    alive = (stood["active"] == 1).to_numpy()
    short, spread = np.where(alive, numbers(stood["short_by"]), np.nan), numbers(stood["stores_u"])
    room, left = stood["room"], numbers(stood["left_by_scale"])
    per = 1 / pick(season.feed_kinds["stores_share"], stood["feed_row"].to_numpy(dtype=np.int64), np.nan)
    hand, shared = _shared(season)
    plan = set_to_weigh(
        per * feed_spread(short, spread, worth, room),
        per * feed_spread(short, np.minimum(left, spread), worth, room),
        wish,
        shared=per * shared,
        hand=hand,
    )
    expected = per * expected_feed(short, spread, worth, room)
    needs = [per * expected_feed(one, 0.0, worth, room) for one in (short, _short_by_heft(season, short))]
    scaled = np.isfinite(needs[1]) & _also_weighed(season)
    by_some = two_phase(np.where(scaled, needs[0], np.nan), needs[1])
    others = float(np.nansum(np.where(np.isnan(needs[1]), needs[0], np.nan)))
    return FeedTotal(
        colonies=int(np.isfinite(short).sum()),
        unknown=int((alive & np.isnan(short)).sum()),
        expected=float(np.nansum(expected)),
        plan=plan,
        order=[str(code) for code in stood["colony"].to_numpy(dtype=object)[plan.colonies]],
        by_some=by_some,
        estimate=by_some.mean * by_some.hefted + others,
        error=by_some.error * by_some.hefted,
    )


def _shared(season: Hefted) -> tuple[NDArray[np.int64], Floats]:
    """The hand on which each colony's standing rests, and the uncertainty of its bias in what the colony needs [kg]."""
    stood, hands = season.standing, season.hefting
    alone = (stood["way"] == "heft").to_numpy()
    row = np.where(alone, stood["evidence_row"], stood["heft_row"]).astype(np.int64)
    hand = np.maximum(pick(season.weighings["hand_row"], row), 1).astype(np.int64) - 1
    share = np.where(alone, 1.0, numbers(stood["heft_share"]))
    bias = numbers(hands["bias_u"])[hand] * pick(season.weighings["hefted"], row)
    return hand, np.asarray(share * bias * np.nan_to_num(numbers(stood["chance_short"])))


def _also_weighed(season: Hefted) -> NDArray[np.bool_]:
    return (season.standing["way"] != "heft").to_numpy()


def _short_by_heft(season: Hefted, short: Floats) -> Floats:
    """What each colony would be short by on the heft of its evidence's day [kg]; blank where it was not hefted."""
    stood, hands = season.standing, season.hefting
    lifted = season.pairs[season.pairs["practice"] == ""].drop_duplicates(["colony", "day"], keep="last")
    key = lifted["colony"].astype(str).str.casefold() + " " + lifted["day"].astype(str)
    wanted = stood["colony"].astype(str).str.casefold() + " " + numbers(stood["evidence_day"]).astype(str)
    at = match(wanted, key)
    hand = np.maximum(match(lifted["by"], hands["by"]), 1)
    columns = [pick(hands[f"{begin}factor"], hand) for begin in KINDS.values()]
    factor = np.choose([[*KINDS].index(word) for word in lifted["word"]], columns) if len(lifted) else np.zeros(0)
    lighter = numbers(lifted["gross"]) - numbers(lifted["judged"]) * factor
    own = (stood["way"] == "heft").to_numpy()
    return np.where(own, short, np.where(at > 0, short + pick(lighter, at), np.nan))
