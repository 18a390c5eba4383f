"""Heft all, weigh some: which colonies to weigh next, and how well the feed of all of them together is known.

Two-phase (double) sampling with a regression estimate: Cochran, Sampling Techniques, 3rd edition, chapter 12; Brus,
Spatial Sampling with R, chapter 11. Expected change of a decision: the normal loss function (Raiffa and Schlaifer,
Applied Statistical Decision Theory, 5).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np
import pandas as pd
from scipy.special import ndtr

from apiarybook.reckon.core.arrays import Floats, figure, numbers, rounded, words
from apiarybook.reckon.core.lookup import match, pick, pick_words
from apiarybook.reckon.hefting.agreement import line
from apiarybook.reckon.hefting.calibration import KINDS
from apiarybook.reckon.outlook.outlook import chance_below, quantile
from apiarybook.reckon.standing.verdict import ENOUGH

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from apiarybook.reckon.hive.weighings import Lists


LEAST_FOR_SPREAD = 2
NINE_IN_TEN = 0.9
NO_SPREAD = 1e-9
"""Standard deviation [kg] up to which a figure is taken as certain."""


@dataclass(frozen=True, slots=True)
class TwoPhase:
    """A regression estimate from hefting all and weighing some.

    Attributes:
        mean: estimated mean over all [unit of y].
        error: its standard error.
        slope: change of the weighed figure per unit of the hefted one.
        spread: standard deviation of the weighed figures.
        residual: that about the line, divisor n - 2.
        hefted, weighed: how many.
    """

    mean: float
    error: float
    slope: float
    spread: float
    residual: float
    hefted: int
    weighed: int


def two_phase_variance(
    spread: ArrayLike, residual: ArrayLike, weighed: ArrayLike, hefted: ArrayLike, whole: ArrayLike
) -> Floats:
    """Give the variance of the mean of a two-phase regression estimate.

    Args:
        spread: standard deviation of the weighed figures, any shape.
        residual: that about the line; broadcasts.
        weighed: how many were weighed, n; broadcasts.
        hefted: how many were hefted, N'; broadcasts.
        whole: of how many the mean is wanted, N: the hefted ones themselves, or infinitely many like them.

    Returns:
        residual^2/n + (spread^2 - residual^2)/N' - spread^2/N, never negative.

    >>> round(float(two_phase_variance(194.942, 116.497, 67, 306, np.inf)), 1)
    282.4
    """
    total, rest = numbers(spread) ** 2, numbers(residual) ** 2
    variance = rest / numbers(weighed) + (total - rest) / numbers(hefted) - total / numbers(whole)
    return np.maximum(variance, 0.0)


def two_phase(weighed: ArrayLike, hefted: ArrayLike) -> TwoPhase:
    """Estimate the mean of colonies that were all hefted and some of them weighed.

    Args:
        weighed: figure by scale (stores, or feed to give) [kg], shape (N',); blank where only hefted.
        hefted: the same figure by heft [kg], shape (N',); a blank row counts for nothing.

    Returns:
        y_n + b (x_N - x_n). Where all hefts are equal the hefts tell nothing: the mean of those weighed. NaN with
        none weighed; no error under three (two where the hefts tell nothing).

    >>> found = two_phase([10.0, 12.0, 14.5, 15.5, None, None], [9.0, 11.0, 13.0, 15.0, 12.0, 18.0])
    >>> round(found.mean, 3), round(found.error, 3)
    (13.95, 0.137)
    """
    figure, guess = (np.atleast_1d(numbers(v)) for v in (weighed, hefted))
    figure, guess = figure[np.isfinite(guess)], guess[np.isfinite(guess)]
    both = np.isfinite(figure)
    n, everyone = int(both.sum()), len(guess)
    if n == 0:
        return TwoPhase(np.nan, np.nan, np.nan, np.nan, np.nan, everyone, 0)
    y, x = figure[both], guess[both]
    spread = float(y.std(ddof=1)) if n >= LEAST_FOR_SPREAD else np.nan
    fitted = line(x, y)
    tells = bool(np.isfinite(fitted.slope[0]))
    slope, residual = (float(fitted.slope[0]), float(fitted.spread[0])) if tells else (0.0, spread)
    variance = two_phase_variance(spread, residual, n, everyone, everyone)
    # With all weighed the mean is the scale's, whatever the line.
    error = 0.0 if n == everyone else float(np.sqrt(variance))
    mean = float(y.mean() + slope * (guess.mean() - x.mean()))
    return TwoPhase(mean, error, slope, spread, residual, everyone, n)


def loss(limit: ArrayLike, mean: ArrayLike, spread: ArrayLike) -> Floats:
    """Give the expected excess of a Normal figure over a limit, E max(X - limit, 0).

    Args:
        limit: the limit, any shape.
        mean: expected figure; broadcasts.
        spread: its standard deviation, 0 or more; broadcasts.

    Source: Raiffa and Schlaifer, Applied Statistical Decision Theory, 5.3 (linear loss).

    >>> loss(0.0, 0.0, 1.0).round(4).tolist(), loss(2.0, 5.0, 0.0).tolist()
    (0.3989, 3.0)
    """
    over, wide = np.broadcast_arrays(numbers(mean) - numbers(limit), numbers(spread))
    u = over / np.where(wide > NO_SPREAD, wide, 1.0)
    return np.where(wide > NO_SPREAD, wide * _density(u) + over * ndtr(u), np.maximum(over, 0.0))


def _density(u: Floats) -> Floats:
    return np.asarray(np.exp(-(u**2) / 2) / np.sqrt(2 * np.pi))


def _chance_over(limit: Floats, mean: Floats, spread: Floats) -> Floats:
    certain = np.where(mean > limit, 1.0, 0.0)
    return np.where(spread > NO_SPREAD, ndtr((mean - limit) / np.where(spread > NO_SPREAD, spread, 1.0)), certain)


def change_of_feed(
    short_by: ArrayLike, uncertainty: ArrayLike, left: ArrayLike, least: float, room: ArrayLike
) -> Floats:
    """Give the kilograms of feed that a weighing is expected to change: the worth of weighing next.

    Feed goes to what is short, if more than the least worth giving, up to the room in the comb. A weighing moves what
    is thought short by a Normal amount of variance uncertainty^2 - left^2.

    Args:
        short_by: what the colony is short by on the evidence so far [kg in stores], shape (n,).
        uncertainty: its standard uncertainty [kg]; broadcasts.
        left: standard uncertainty that a weighing would leave [kg]; broadcasts.
        least: least worth giving [kg].
        room: room in the comb [kg]; broadcasts.

    Returns:
        expected absolute change [kg in stores], shape (n,); 0 where the comb is full; NaN for blanks.

    >>> change_of_feed([1.0, 5.0, -8.0], 3.0, 1.0, 1.0, 60.0).round(2).tolist()
    [1.63, 2.23, 0.0]
    """
    parts = (numbers(short_by), numbers(uncertainty), numbers(left), numbers(room))
    short, before, after, full = np.broadcast_arrays(*parts)
    moves = np.sqrt(np.maximum(before**2 - after**2, 0.0))
    top = np.maximum(full, least)
    over_top = loss(top, short, moves)
    given = np.minimum(short, top)
    over_least = _chance_over(np.full_like(short, least), short, moves)
    none_now = least * over_least + loss(least, short, moves) - over_top
    more = loss(given, short, moves) - over_top
    fewer = loss(-given, -short, moves) - loss(-least, -short, moves) + least * (1 - over_least)
    change = np.where(short <= least, none_now, more + fewer)
    return np.where(np.isnan(short + moves), np.nan, np.where(full <= least, 0.0, np.maximum(change, 0.0)))


def expected_feed(short_by: ArrayLike, uncertainty: ArrayLike, least: float, room: ArrayLike) -> Floats:
    """Give the feed that a colony is expected to turn out to need.

    Args:
        short_by: what it is short by on the evidence so far [kg in stores], shape (n,).
        uncertainty: its standard uncertainty [kg]; broadcasts; 0 gives what is needed if all is as it seems.
        least: least worth giving [kg]; nothing is fed up to it.
        room: room in the comb [kg]; broadcasts; no more is fed.

    Returns:
        expected feed [kg in stores], shape (n,); NaN for blanks.

    >>> expected_feed([10.0, 1.0, 0.0], [2.0, 2.0, 0.0], 1.0, [6.0, 20.0, 20.0]).round(2).tolist()
    [5.98, 1.3, 0.0]
    """
    short, spread, full = np.broadcast_arrays(numbers(short_by), numbers(uncertainty), numbers(room))
    over_least = _chance_over(np.full_like(short, least), short, spread)
    feed = least * over_least + loss(least, short, spread) - loss(full, short, spread)
    return np.where(np.isnan(short + spread + full), np.nan, np.where(full <= least, 0.0, np.maximum(feed, 0.0)))


def feed_spread(short_by: ArrayLike, uncertainty: ArrayLike, least: float, room: ArrayLike) -> Floats:
    """Give the standard deviation of the feed a colony will turn out to need.

    Args:
        short_by: what it is short by [kg in stores], shape (n,).
        uncertainty: its standard uncertainty [kg]; broadcasts.
        least: least worth giving [kg]; nothing is fed up to it.
        room: room in the comb [kg]; broadcasts; no more is fed.

    Returns:
        standard deviation [kg in stores], shape (n,): that of a Normal figure cut at both ends; NaN for blanks.

    >>> feed_spread([10.0, 1.0, -10.0], 2.0, 1.0, 60.0).round(2).tolist()
    [2.0, 1.55, 0.0]
    """
    short, spread, full = np.broadcast_arrays(numbers(short_by), numbers(uncertainty), numbers(room))
    top = np.maximum(full, least)
    wide = np.where(spread > NO_SPREAD, spread, 1.0)
    low, high = (least - short) / wide, (top - short) / wide
    below, above = ndtr(low), ndtr(-high)
    # Moments about what is short, the two ends of the cut taken as points.
    first = wide * (_density(low) - _density(high)) + below * -short + above * (top - short)
    inner = (1 - above - below) + low * _density(low) - high * _density(high)
    second = wide**2 * inner + below * short**2 + above * (top - short) ** 2
    variance = np.where((spread > NO_SPREAD) & (full > least), np.maximum(second - first**2, 0.0), 0.0)
    return np.where(np.isnan(short + spread + full), np.nan, np.sqrt(variance))


@dataclass(frozen=True, slots=True)
class WeighingPlan:
    """Which colonies to weigh, in order, and what the total is known within before and after.

    Attributes:
        colonies: positions of those to weigh, the one that tells most first.
        before, after: half-width of the interval of the total [kg].
        reached: whether the wish is reached.
    """

    colonies: NDArray[np.int64]
    before: float
    after: float
    reached: bool


def set_to_weigh(
    spread: ArrayLike,
    left: ArrayLike,
    wish: float,
    *,
    shared: ArrayLike = 0.0,
    hand: ArrayLike | None = None,
) -> WeighingPlan:
    """Give the smallest set of colonies to weigh so that the club's total feed is known within a mass.

    Errors of different colonies add in squares, but the part that colonies share through one hand's bias adds
    linearly (JCGM 100:2008, 5.2.2). Each step takes the colony that lowers the variance most: with nothing shared
    that is the smallest set, else close to it.

    Args:
        spread: standard deviation of each colony's feed on the evidence so far [kg], shape (n,); blanks, colonies
            without any evidence, are not chosen and count for nothing.
        left: standard deviation that a weighing would leave [kg]; broadcasts.
        wish: half-width of the interval of the total [kg].
        shared: part of `spread` that colonies hefted by the same hand share [kg]; broadcasts.
        hand: group of each colony, shape (n,), whole numbers counted from 0; all of one when left out.

    Returns:
        the plan.

    >>> plan = set_to_weigh([3.0, 1.0, 2.0], 0.5, 3.0)
    >>> plan.colonies.tolist(), round(plan.before, 2), round(plan.after, 2), plan.reached
    ([0, 2], 6.15, 2.01, True)
    """
    wide = np.atleast_1d(numbers(spread))
    alike, rest = (np.broadcast_to(np.nan_to_num(numbers(v)), wide.shape) for v in (shared, left))
    group = np.zeros(len(wide), dtype=np.int64) if hand is None else np.asarray(hand, dtype=np.int64)
    known = np.isfinite(wide)
    common = np.where(known, np.minimum(np.abs(alike), wide), 0.0)
    own = np.where(known, np.maximum(wide**2 - common**2, 0.0), 0.0)
    after = np.where(known, np.minimum(rest, wide) ** 2, 0.0)
    together = np.bincount(group, common, minlength=1)
    variance = float(own.sum() + (together**2).sum())
    z = float(quantile((1 + NINE_IN_TEN) / 2))
    before, chosen, still = z * np.sqrt(variance), [], known.copy()
    while z * np.sqrt(max(variance, 0.0)) > wish and still.any():
        gain = np.where(still, own - after + common * (2 * together[group] - common), -np.inf)
        best = int(gain.argmax())
        if not gain[best] > 0:
            break
        chosen.append(best)
        variance -= float(gain[best])
        together[group[best]] -= common[best]
        still[best] = False
    reach = z * np.sqrt(max(variance, 0.0))
    return WeighingPlan(np.array(chosen, dtype=np.int64), float(before), float(reach), bool(reach <= wish))


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
    scaled = np.isfinite(needs[1]) & (stood["way"] != "heft").to_numpy()
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
