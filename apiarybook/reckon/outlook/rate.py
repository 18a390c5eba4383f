"""What each colony itself eats, learnt from its own weighings, hefts and winter rounds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.reckon.core.arrays import Floats, figure, numbers, words
from apiarybook.reckon.core.consumption import DAYS_OF_A_MONTH, whole_spread, wide
from apiarybook.reckon.core.lookup import Rows, pick, pick_words
from apiarybook.reckon.core.winter import serials
from apiarybook.reckon.hive import kit
from apiarybook.reckon.hive.weighings import occasions

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from apiarybook.reckon.hive.weighings import Lists

REACH = 4.5
"""The logarithm of each factor is summed over so many of its spreads each way: what is left out is under one in a
hundred thousand."""
STEPS = 161
"""Values at which each factor is summed: they lie closer than the narrowest spread that is kept."""


@dataclass(frozen=True, slots=True)
class Learnt:
    """What the evidence alone says of each colony's rate, shape (colonies,).

    Attributes:
        weight: one over the variance of the rate seen, what is alike for all hives left out [1]; 0 for no evidence.
        rate: what it ate over what the handbook has it eat, by least squares [1].
        eaten: what the handbook has it eat between its first and last point [kg].
        months: how long that is [1].
    """

    weight: Floats
    rate: Floats
    eaten: Floats
    months: Floats


@dataclass(frozen=True, slots=True)
class Rates:
    """What each colony is held to eat over what the handbook has it eat [1].

    Attributes:
        mean, spread: mean and relative standard deviation of each colony's rate, shape (colonies,).
        told: whether anything seen this winter, at any colony of its winter, stands behind it.
        winter, winter_spread: the same of the factor that all colonies of each one's winter share.
    """

    mean: Floats
    spread: Floats
    told: NDArray[np.bool_]
    winter: Floats
    winter_spread: Floats


def pooled(seen: Learnt, winter: Rows, place: Rows, ahead: ArrayLike) -> Rates:
    """Give what each colony eats, learnt from itself, from its apiary and from all colonies of its winter.

    What a colony eats is the handbook's times three lognormal factors of mean 1: of the winter, shared by all colonies
    of a winter profile; of the place, shared by those of an apiary; its own. What was seen of some tells of the factors
    that they share with the others, the more so the more of them were seen (partial pooling). Each factor is summed
    over a grid, so that a colony that seems to have gained, which no logarithm takes, has its say as well. A month
    differs from the others: what was seen in few months says less, and what lies ahead is never known better than that.

    Args:
        seen: what the evidence alone says, shape (colonies,).
        winter: number of each colony's winter.
        place: number of its apiary; one apiary lies in one winter.
        ahead: months that lie ahead of each [1].

    Returns:
        the rates; before anything was seen in a winter 1 and ``whole_spread()``.

    Source: Gelman et al., Bayesian Data Analysis, 3rd edition, 5.4 and 5.5 (hierarchical models, partial pooling).

    >>> nothing = np.zeros(3)
    >>> one = Learnt(nothing + [25, 0, 0], nothing + [1.5, 1, 1], nothing + [4, 0, 0], nothing + [3, 0, 0])
    >>> found = pooled(one, np.array([1, 1, 2]), np.array([1, 1, 2]), 4.0)
    >>> found.mean.round(2).tolist(), found.spread.round(2).tolist()
    ([1.33, 1.14, 1.0], [0.23, 0.46, 0.49])
    """
    count = len(seen.weight)
    told = np.isin(winter, winter[seen.weight > 0])
    mean, spread = np.ones(count), np.full(count, whole_spread())
    shared, shared_spread = np.ones(count), np.full(count, figure("winter_spread"))
    if not told.any():
        return Rates(mean, spread, told, shared, shared_spread)
    # One colony of each place without evidence of its own speaks for the others of that kind.
    alike = pd.DataFrame({"place": place, "winter": winter, "own": np.where(seen.weight > 0, np.arange(count), -1)})
    alike["kind"] = alike.groupby(["winter", "place", "own"]).ngroup()
    first = alike[told].drop_duplicates("kind")
    tree = _Tree(
        seen=Learnt(*(one[first.index] for one in (seen.weight, seen.rate, seen.eaten, seen.months))),
        winter=pd.factorize(first["winter"])[0],
        place=pd.factorize(pd.MultiIndex.from_frame(first[["winter", "place"]]))[0],
    )
    at = pd.Series(np.arange(len(first)), index=first["kind"]).reindex(alike.loc[told, "kind"]).to_numpy(dtype=np.int64)
    own_mean, own_spread, of_winter, of_winter_spread = tree.told()
    mean[told], shared[told], shared_spread[told] = own_mean[at], of_winter[at], of_winter_spread[at]
    months = np.maximum(1.0, np.broadcast_to(numbers(ahead), (count,)))
    spread[told] = np.hypot(own_spread[at], (figure("month_wander") / np.sqrt(months))[told])
    return Rates(mean, spread, told, shared, shared_spread)


def winters(stood: pd.DataFrame) -> Rows:
    """Number of each colony's winter: colonies of one winter profile share what it makes them eat."""
    return stood["profile_row"].to_numpy(dtype=np.int64)


class _Tree:
    """The three factors over their grids: what is seen goes up from colony to winter, what is held comes down again."""

    def __init__(self, seen: Learnt, winter: Rows, place: Rows) -> None:
        self.winter, self.place, self.seen = winter, place, seen
        self.winter_of = winter[np.unique(place, return_index=True)[1]]
        at_winter = wide("winter") * np.linspace(-REACH, REACH, STEPS) - wide("winter") ** 2 / 2
        both = np.hypot(wide("winter"), wide("place"))
        at_place = both * np.linspace(-REACH, REACH, STEPS) - both**2 / 2
        whole = np.hypot(both, wide("colony"))
        self.factor, self.log_rate = at_winter, whole * np.linspace(-REACH, REACH, STEPS) - whole**2 / 2
        self.prior = _normalised(-(((at_winter + wide("winter") ** 2 / 2) / wide("winter")) ** 2) / 2)
        self.to_place = _spread_out(at_winter, at_place, wide("place"))
        self.to_colony = _spread_out(at_place, self.log_rate, wide("colony"))

    def told(self) -> tuple[Floats, Floats, Floats, Floats]:
        """Mean and relative spread of each colony's rate, and of its winter's factor."""
        likely = self._likelihood()
        from_colony = np.maximum(likely @ self.to_colony.T, TINY)
        at_place = _summed(np.log(from_colony), self.place)
        from_place = np.maximum(_normalised(at_place) @ self.to_place.T, TINY)
        together = _blurred(_summed(np.log(from_place), self.winter_of), self.factor, self._alike())
        held = np.log(self.prior) + together
        others = _normalised(held[self.winter_of] - np.log(from_place))
        belief = np.log(np.maximum(others @ self.to_place, TINY)) + at_place
        rest = _normalised(belief[self.place] - np.log(from_colony))
        share = _normalised(np.log(np.maximum(rest @ self.to_colony, TINY)) + np.log(np.maximum(likely, TINY)))
        mean, spread = _moments(share, np.exp(self.log_rate))
        winter, winter_spread = _moments(_normalised(held), np.exp(self.factor))
        return mean, spread, winter[self.winter], winter_spread[self.winter]

    def _likelihood(self) -> Floats:
        seen, alike = self.seen, np.square(figure("wood_moisture"))
        some = seen.weight > 0
        variance = 1 / np.where(some, seen.weight, 1.0) + figure("month_wander") ** 2 / np.maximum(1.0, seen.months)
        variance = variance + 2 * alike / np.where(some, seen.eaten, 1.0) ** 2
        off = (np.exp(self.log_rate) - np.nan_to_num(seen.rate)[:, None]) ** 2 / variance[:, None]
        off = np.where(some[:, None], off, 0.0)
        return np.asarray(np.exp(-(off - off.min(axis=1, keepdims=True)) / 2))

    def _alike(self) -> Floats:
        """Spread of the rate by what all hives of a winter gain or lose alike unseen [1], shape (winters,)."""
        weight, count = self.seen.weight, int(self.winter.max()) + 1
        eaten = np.bincount(self.winter, weight * self.seen.eaten, count) / np.bincount(self.winter, weight, count)
        return np.asarray(np.sqrt(2) * figure("wood_moisture") / eaten)


TINY = 1e-300


def _spread_out(start: Floats, end: Floats, spread: float) -> Floats:
    """Chance of each value of a lower factor for each of the one above it, in logarithms."""
    away = (end - start[:, None] + spread**2 / 2) / spread
    return _normalised(-(away**2) / 2)


def _normalised(log: Floats) -> Floats:
    share = np.exp(log - log.max(axis=-1, keepdims=True))
    return np.asarray(share / share.sum(axis=-1, keepdims=True))


def _summed(log: Floats, group: Rows) -> Floats:
    found = np.zeros((int(group.max()) + 1, log.shape[1]))
    np.add.at(found, group, log)
    return found


def _blurred(log: Floats, at: Floats, spread: Floats) -> Floats:
    """What is said of the winter's factor, not surer than what all hives have in common allows."""
    away = (at[:, None] - at) / np.maximum(spread, at[1] - at[0])[:, None, None]
    told = np.einsum("wab,wb->wa", np.exp(-(away**2) / 2), _normalised(log))
    return np.asarray(np.log(np.maximum(told, TINY)))


def _moments(share: Floats, values: Floats) -> tuple[Floats, Floats]:
    mean = share @ values
    return mean, np.sqrt(np.maximum(share @ values**2 - mean**2, 0.0)) / mean


def points(
    rows: pd.DataFrame, found: pd.DataFrame, unripe: Floats, standing: pd.DataFrame, lists: Lists, as_at: float
) -> pd.DataFrame:
    """Take the stores that weighings or hefts say, as points from which a rate can be told.

    Args:
        rows: the sheet Weighings, or winter rounds written as such.
        found: what `weighings.weighings` found.
        unripe: water that was still to be driven off on each day [kg].
        standing: profile_row, size, strength, last_liquid_day and here_since of each colony.
        lists: the book's lists.
        as_at: number of the day for which to reckon.

    Returns:
        one row a point that counts: colony (row), day, order (of its day, 0 before feed), kit and hand (hefts of one
        hand share its bias, weighings of one kit the tare; nobody's for a weighing), stores (without the season's
        water in the wood), u (what it does not share) and eaten, what the handbook has the colony eat from the
        calendar's first day to then [kg].
    """
    colony, day = found["colony_row"].to_numpy(dtype=np.int64), np.floor(serials(rows["date"]))
    liquid = pick(standing["last_liquid_day"], colony)
    counts = (found["usable"] == 1) & (words(rows["occasion"]) != "practice") & (colony > 0) & (day <= as_at)
    counts &= (liquid > 0) & (day >= liquid - figure("old_evidence")) & (day >= np.nan_to_num(_moved(standing, colony)))
    frames = words(rows["how"]) == "frames of food counted"
    own = np.maximum(0.0, found["dry_u"] ** 2 - found["kit_u"] ** 2) + (figure("water_spread") * unripe) ** 2
    flow = np.where(day < liquid, figure("flow_spread"), 0.0)
    scaled = pick(standing["size"], colony) * pick(standing["strength"], colony)
    hive = found["type_row"].to_numpy(dtype=np.int64)
    damp = np.where(frames, 0.0, kit.wood_water(day, pick_words(lists.types["material"], hive)))
    table = pd.DataFrame(
        {
            "colony": colony,
            "day": day,
            "order": occasions(rows),
            "kit": 2 * hive + frames,
            "hand": np.where(words(rows["how"]) == "heft", np.char.lower(words(rows["by"])), "").astype(object),
            "stores": found["dry"].to_numpy() - unripe - damp,
            "u": np.sqrt(numbers(own) + flow**2),
            "eaten": scaled * lists.winter.on(lists.winter.eaten, day, found["profile_row"].to_numpy()),
        }
    )
    kept: pd.DataFrame = table[counts.to_numpy() & (table["u"] > 0).to_numpy()]
    return kept


def _moved(standing: pd.DataFrame, colony: Rows) -> Floats:
    return pick(standing["here_since"], colony)


def learn(seen: pd.DataFrame, fed: pd.DataFrame, count: int) -> Learnt:
    """Tell each colony's rate from its points, as far as they tell it.

    Points between which nothing was fed and no hive changed form a stretch; within it stores fall by what was eaten,
    so that the rate is the slope of stores on what should have been eaten, by least squares weighted by 1/u^2. What
    all points of a stretch share (tare, bees, feed before it) is no part of it.

    Args:
        seen: the points, frames of `points` one under the other.
        fed: events that end a stretch, one a row: colony (row), day.
        count: how many colonies there are.

    Returns:
        weight and rate of each colony; weight 0 where nothing tells, or where what was seen lies further from the
        handbook than ``balance_ask`` standard uncertainties: then something else than eating is at work.
    """
    stretch = _stretches(seen, fed)
    weight = 1 / numbers(seen["u"]) ** 2
    total = np.bincount(stretch, weight)
    away = {}
    for key in ("stores", "eaten"):
        values = numbers(seen[key])
        away[key] = values - (np.bincount(stretch, weight * values) / total)[stretch]
    colony = seen["colony"].to_numpy(dtype=np.int64)
    squares = np.bincount(colony, weight * away["eaten"] ** 2, minlength=count + 1)[1:]
    product = np.bincount(colony, -weight * away["eaten"] * away["stores"], minlength=count + 1)[1:]
    told = squares > LEAST_WEIGHT
    rate = np.where(told, product / np.where(told, squares, 1.0), 1.0)
    beyond = np.abs(rate - 1) > figure("balance_ask") * np.hypot(
        whole_spread(), 1 / np.sqrt(np.where(told, squares, 1.0))
    )
    eaten, days = (_span(seen[key], colony, stretch, count) for key in ("eaten", "day"))
    return Learnt(np.where(told & ~beyond, squares, 0.0), rate, eaten, days / DAYS_OF_A_MONTH)


def _span(values: pd.Series[float], colony: Rows, stretch: NDArray[np.int64], count: int) -> Floats:
    """From the first to the last point of each stretch, summed up by colony."""
    of = values.groupby([colony, stretch])
    spans = (of.max() - of.min()).groupby(level=0).sum()
    return np.asarray(spans.reindex(np.arange(1, count + 1)).fillna(0.0).to_numpy(dtype=np.float64))


LEAST_WEIGHT = 0.25
"""A rate that is seen to within plus or minus 2 or worse tells nothing of one that is believed within 0.4."""
DAY_APART = 4.0
"""Orders within a day that are told apart."""


def _stretches(seen: pd.DataFrame, fed: pd.DataFrame) -> NDArray[np.int64]:
    """Number of the stretch of each point: same colony, kit and hand, and no feed or change between."""
    if not len(seen):
        return np.zeros(0, dtype=np.int64)
    longest = max(float(seen["day"].max()), float(fed["day"].max()) if len(fed) else 0.0) + 1
    events = np.sort(_moment(fed["colony"], fed["day"], 0.5, longest))
    before = np.searchsorted(events, _moment(seen["colony"], seen["day"], seen["order"], longest))
    return np.asarray(
        seen.assign(before=before).groupby(["colony", "kit", "hand", "before"]).ngroup().to_numpy(dtype=np.int64)
    )


def _moment(colony: pd.Series[int], day: pd.Series[float], order: ArrayLike, longest: float) -> Floats:
    return numbers(colony) * longest + numbers(day) + numbers(order) / DAY_APART
