"""What a winter teaches a club: losses, what was eaten, wants for next year, food left over, feed, and its scales.

A colony's rate is what it ate over what the handbook foretells of it. Rates are lognormal between colonies; mean and
variance of their logarithm are unknown, with a Normal-inverse-gamma prior that is worth a few colonies. What was
weighed has its own uncertainty, and of a colony that starved only a lower bound is known, so the posterior is summed
up over a grid instead of written in closed form.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from scipy.special import betaincinv, ndtr, ndtri, stdtrit

from apiarybook.reckon.core.arrays import Floats, figure, numbers, words
from apiarybook.reckon.core.consumption import size, wide
from apiarybook.reckon.core.lookup import match
from apiarybook.reckon.core.winter import serials
from apiarybook.reckon.year.wintered import DIED, WINTERED

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    from apiarybook.reckon.core.winter import Winter


LEVEL = 0.95
"""Share of intervals that hold the truth; usual in surveys of winter losses (common practice)."""
HALF = 0.5


def jeffreys(count: ArrayLike, of: ArrayLike, level: float = LEVEL) -> tuple[Floats, Floats]:
    """Give the Jeffreys interval of a share.

    Args:
        count: how many, any shape.
        of: out of how many; broadcasts.
        level: share of intervals that hold the truth [1].

    Returns:
        lower and upper end [1]: quantiles of Beta(count + 1/2, of - count + 1/2); NaN where there is nothing to count.

    Source: Brown, Cai and DasGupta 2001, Statistical Science 16(2):101-133, equation (6).

    >>> low, high = jeffreys([3, 0], [20, 0])
    >>> low.round(4).tolist(), high.round(4).tolist()
    ([0.0441, nan], [0.3486, nan])
    """
    seen, whole = np.broadcast_arrays(numbers(count), numbers(of))
    some = whole > 0
    a, b = np.where(some, seen + HALF, 1.0), np.where(some, whole - seen + HALF, 1.0)
    tail = (1 - level) / 2
    low, high = betaincinv(a, b, tail), betaincinv(a, b, 1 - tail)
    return np.where(some, low, np.nan), np.where(some, high, np.nan)


STEP = 0.015
LOG_RATES = np.arange(-3.0, 3.0 + STEP / 2, STEP)
"""Logarithms of rates over which all is summed: from a twentieth to twenty times the handbook's."""
FINEST = 0.02
"""Least standard uncertainty of a seen rate; finer would fall between the steps of the grid."""
FIRST_MEANS, FIRST_SPREADS = (-2.0, 2.0), (-3.0, 1.1)
"""Means of the logarithm of rates, and logarithms of their spread, that are thought of at first."""
GRID = 31, 25
"""Steps of the mean and of the spread."""
PASSES, LEAST_LIKELY = 3, 12.0
"""The grid is drawn closer round what is at least exp(-12) times as likely as the likeliest."""
COLONIES_AT_ONCE = 4096
LEAST_COLONIES = 5
"""Colonies under which nothing is said of a hive type."""


@dataclass(frozen=True, slots=True)
class Learnt:
    """The posterior predictive distribution of a colony's rate on the handbook's [1]: quantiles and colonies seen."""

    tenth: float
    median: float
    ninetieth: float
    colonies: int


@dataclass(frozen=True, slots=True)
class Prior:
    """Normal-inverse-gamma prior of the logarithm of rates."""

    mean: float
    weight: float
    shape: float
    rate: float


@cache
def prior() -> Prior:
    """The prior: the handbook's mean with its spread between colonies, worth as many colonies as the handbook says.

    Its predictive distribution has the 90 % quantile of a lognormal with mean 1 and that spread, so that colonies that
    go on eating as foretold change nothing in the long run.

    >>> known = prior()
    >>> round(known.mean, 4), known.weight, known.shape, round(known.rate, 4)
    (-0.0609, 4.0, 2.0, 0.1362)
    """
    weight = figure("prior_colonies")
    variance, shape = wide("colony") ** 2, weight / 2
    scale = _z() / stdtrit(2 * shape, figure("assurance")) * np.sqrt(variance)
    return Prior(float(-variance / 2), weight, shape, float(shape * scale**2 / (1 + 1 / weight)))


def _z() -> float:
    return float(ndtri(figure("assurance")))


@cache
def foretold() -> Learnt:
    """What is held before any colony was weighed in spring.

    >>> round(foretold().ninetieth, 3)
    1.472
    """
    middle, spread = prior().mean, wide("colony")
    low, high = (float(np.exp(middle + sign * _z() * spread)) for sign in (-1, 1))
    return Learnt(low, float(np.exp(middle)), high, 0)


def learn(rate: ArrayLike, uncertainty: ArrayLike, starved: ArrayLike) -> Learnt:
    """Learn the rates of one hive type from colonies that were weighed in autumn and spring.

    Args:
        rate: what each ate over what the handbook foretells of it [1], shape (n,); of a colony that starved, the least
            that it may have eaten. Blanks count for nothing.
        uncertainty: standard uncertainty of each [1], shape (n,).
        starved: whether each starved, shape (n,).

    Returns:
        quantiles of the posterior predictive distribution, the 10 and 90 % ones by the handbook's assurance.

    Source: Gelman et al., Bayesian Data Analysis, 3rd edition, 3.3 (prior), 8.7 (censored data).

    >>> learnt = learn([1.3, 1.2, 1.5, 1.1, 1.25], [0.05] * 5, [False] * 5)
    >>> round(learnt.median, 2), round(learnt.ninetieth, 2), learnt.colonies
    (1.1, 1.57, 5)
    """
    seen, spread = numbers(rate), np.maximum(numbers(uncertainty), FINEST)
    sound = np.isfinite(seen) & np.isfinite(spread)
    if not sound.any():
        return foretold()
    lower_bound = np.asarray(starved, dtype=np.bool_)
    means, spreads = FIRST_MEANS, FIRST_SPREADS
    for _ in range(PASSES):
        mean, log_spread = _cells(means, spreads)
        deviation = np.exp(log_spread)
        density = _density(mean, deviation)
        log_post = _log_prior(mean, deviation)
        log_post += _log_likelihood(seen[sound], spread[sound], lower_bound[sound], density)
        likely = log_post > log_post.max() - LEAST_LIKELY
        means, spreads = _closer(means, mean[likely]), _closer(spreads, log_spread[likely])
    weight = np.exp(log_post - log_post.max())
    cumulative = np.cumsum((weight / weight.sum()) @ density)
    assurance = figure("assurance")
    low, middle, high = np.interp([1 - assurance, HALF, assurance], cumulative, LOG_RATES + STEP / 2)
    return Learnt(float(np.exp(low)), float(np.exp(middle)), float(np.exp(high)), int(sound.sum()))


def _cells(means: tuple[float, float], spreads: tuple[float, float]) -> tuple[Floats, Floats]:
    """Mean and log spread of each cell of the grid."""
    mean, spread = np.meshgrid(np.linspace(*means, GRID[0]), np.linspace(*spreads, GRID[1]), indexing="ij")
    return mean.ravel(), spread.ravel()


def _closer(ends: tuple[float, float], likely: Floats) -> tuple[float, float]:
    """The ends of the next grid: what is likely, and a step to either side within the last."""
    step = (ends[1] - ends[0]) / min(GRID)
    return max(ends[0], float(likely.min()) - step), min(ends[1], float(likely.max()) + step)


def _density(mean: Floats, deviation: Floats) -> Floats:
    """Chance of each log rate in each cell, shape (cells, log rates)."""
    table = np.exp(-0.5 * ((LOG_RATES - mean[:, None]) / deviation[:, None]) ** 2)
    return np.asarray(table / table.sum(axis=1, keepdims=True))


def _log_prior(mean: Floats, deviation: Floats) -> Floats:
    """Logarithm of the prior per cell of mean and log spread, up to a constant."""
    known = prior()
    return np.asarray(
        -(2 * known.shape + 1) * np.log(deviation)
        - (known.rate + known.weight * (mean - known.mean) ** 2 / 2) / deviation**2
    )


def _log_likelihood(seen: Floats, spread: Floats, starved: NDArray[np.bool_], density: Floats) -> Floats:
    rates, total = np.exp(LOG_RATES), np.zeros(len(density))
    for start in range(0, len(seen), COLONIES_AT_ONCE):
        part = slice(start, start + COLONIES_AT_ONCE)
        off = (rates - seen[part, None]) / spread[part, None]
        told = np.where(starved[part, None], ndtr(off), np.exp(-0.5 * off**2))
        total += np.log(np.maximum(density @ told.T, np.finfo(np.float64).tiny)).sum(axis=1)
    return total


def suggested_want(want: float, comb_full: float, winter: float, least: float, learnt: Learnt) -> float:
    """Give the want that a hive type's winters suggest.

    Args:
        want: the want from which learning began [kg].
        comb_full: what its combs hold [kg].
        winter: what a colony of it eats from the day winter starts to the flow, by the handbook [kg].
        least: under which no want goes: its reserve floor [kg].
        learnt: what was learnt.

    Returns:
        want [kg]: moved by as much as the 90 % quantile of a winter's consumption moved; the want itself for under
        five colonies and where it would move by less than the least worth giving.

    >>> round(suggested_want(18.0, 21.2, 9.0, 5.0, Learnt(0.8, 1.2, 1.8, 40)), 2)
    20.95
    >>> suggested_want(18.0, 21.2, 9.0, 5.0, Learnt(0.8, 1.2, 1.8, 4))
    18.0
    """
    moved = want + winter * (learnt.ninetieth - foretold().ninetieth)
    better = min(max(comb_full, want), max(least, moved))
    if learnt.colonies < LEAST_COLONIES or abs(better - want) < figure("least_worth_giving"):
        return want
    return float(better)


LEAST_KEEPERS = 5
"""Keepers under which a sum is shown as few, so that no one member's figures can be read off it."""
NOT_KNOWN = "not known"
ALL = "all colonies"
DAYS_A_YEAR = 365.25
LEAST_DAYS = 2
CANNOT_TELL = "cannot tell yet"


def keepers(rows: pd.DataFrame) -> int:
    """How many people keep the colonies of a frame; a colony of nobody counts for its apiary.

    >>> keepers(pd.DataFrame({"member": ["M1", "M1", ""], "apiary": ["A", "B", "C"]}))
    2
    """
    named = words(rows["member"])
    return len(set(np.where(named == "", np.char.add("?", words(rows["apiary"])), named).tolist()))


def chance_bands(found: pd.DataFrame, sure: float) -> pd.Series[Any]:
    """The band of the chance of running out, as winter started, in which each colony lay.

    Args:
        found: the frame of `wintered`.
        sure: how sure the club wants to be [1].
    """
    low, chance = 1 - sure, numbers(found["chance_out"])
    names = [f"up to {low * 100:.0f} %", f"{low * 100:.0f} to 50 %", "over 50 %"]
    return _banded(found, chance, (low, 0.5), names)


def short_bands(found: pd.DataFrame, unit: float, name: str) -> pd.Series[Any]:
    """The band of what each colony lacked of its want as winter started.

    Args:
        found: the frame of `wintered`.
        unit: kilograms in the book's unit of mass.
        name: that unit's name.
    """
    edges = figure("least_worth_giving"), figure("fondant_later_short_by")
    low, high = (f"{edge / unit:.0f}" for edge in edges)
    names = [f"had its want, within {low} {name}", f"short by {low} to {high} {name}", f"short by over {high} {name}"]
    return _banded(found, numbers(found["short_by"]), edges, names)


def _banded(found: pd.DataFrame, values: Floats, edges: Sequence[float], names: Sequence[str]) -> pd.Series[Any]:
    band = np.array([*names, NOT_KNOWN], dtype=object)
    at = np.where(np.isnan(values), len(names), np.searchsorted(edges, np.nan_to_num(values)))
    order = pd.CategoricalDtype([*names, NOT_KNOWN], ordered=True)
    return pd.Series(band[at], index=found.index).astype(order)


def at_risk(found: pd.DataFrame) -> pd.DataFrame:
    """The colonies of which it is known that they wintered or died; united and given away ones are neither."""
    return found[found["outcome"].isin([WINTERED, DIED]) & found["colony"].notna()]


def losses(found: pd.DataFrame, group: pd.Series[Any] | None = None) -> pd.DataFrame:
    """Count colonies lost, all together or by what they had in autumn.

    Args:
        found: the frame of `wintered`.
        group: the group of each colony; all in one if left out.

    Returns:
        one row a group in the order of its name: group, colonies, keepers, lost, share, low, high (Jeffreys, 95 %).
    """
    of = at_risk(found)
    names = pd.Series(ALL, index=found.index, dtype=object) if group is None else group
    rows = [
        {
            "group": str(name),
            "colonies": len(part),
            "keepers": keepers(part),
            "lost": int((part["outcome"] == DIED).sum()),
        }
        for name, part in of.groupby(names.loc[of.index], sort=True, observed=True)
    ]
    return _with_shares(pd.DataFrame(rows, columns=["group", "colonies", "keepers", "lost"]), "lost")


def causes(found: pd.DataFrame) -> pd.DataFrame:
    """Count colonies lost by what was seen, each as a share of all that could be lost.

    Columns are those of `losses`; keepers are those who lost a colony so, lest one member's loss be read off.
    """
    of = at_risk(found)
    dead = of[of["outcome"] == DIED]
    seen = dead["seen"].where(dead["seen"] != "", NOT_KNOWN)
    rows = [
        {"group": cause, "colonies": len(of), "keepers": keepers(part), "lost": len(part)}
        for cause, part in dead.groupby(seen, sort=True)
    ]
    table = pd.DataFrame(rows, columns=["group", "colonies", "keepers", "lost"])
    return _with_shares(table.sort_values("lost", ascending=False, kind="stable"), "lost")


def _with_shares(table: pd.DataFrame, of: str) -> pd.DataFrame:
    table["share"] = numbers(table[of]) / np.maximum(numbers(table["colonies"]), 1)
    table["low"], table["high"] = jeffreys(table[of], table["colonies"])
    return table.reset_index(drop=True)


def evidence(found: pd.DataFrame, year: int) -> pd.DataFrame:
    """What each colony's winter says of its hive type, without its name: what learning takes and what is carried.

    Args:
        found: the frame of `wintered`.
        year: the year in which the winter began.

    Returns:
        one row a colony that speaks: hive_type, winter, rate, rate_u, starved (yes or no).
    """
    told = found[np.isfinite(found["rate"]) & np.isfinite(found["rate_u"])]
    return pd.DataFrame(
        {
            "hive_type": told["hive_type"].to_numpy(dtype=object),
            "winter": float(year),
            "rate": told["rate"].to_numpy(),
            "rate_u": told["rate_u"].to_numpy(),
            "starved": np.where(told["starved"], "yes", "no").astype(object),
        }
    )


def wants(types: pd.DataFrame, told: pd.DataFrame, region: str, months: Winter) -> pd.DataFrame:
    """Suggest next year's want of each hive type that colonies speak of.

    Args:
        types: the sheet Hive types with its reckoned columns, and want_then: the want from which learning began [kg],
            blank for today's.
        told: what winters said (`evidence`), earlier ones included.
        region: name of the club's winter profile.
        months: the winter.

    Returns:
        one row a hive type in the order of the list: hive_type, colonies, starved, want and suggested [kg], eats: the
        handbook's winter [kg], median, low and high: what a colony eats by what was learnt (80 % of them within) [kg],
        says.
    """
    profile = np.maximum(match([region], months.profiles), 1)
    starts, flow = (months.dates[key][profile - 1] for key in ("winter_starts", "flow"))
    reference = float(months.eaten_between(starts, flow, profile)[0])
    rows = [
        _want(one, told[words(told["hive_type"]) == one["name"]], reference)
        for one in types[types["name"].notna()].to_dict("records")
        if one["name"] in set(told["hive_type"])
    ]
    keys = ["hive_type", "colonies", "starved", "want", "suggested", "eats", "median", "low", "high", "says"]
    return pd.DataFrame(rows, columns=keys)


def _want(one: dict[object, object], told: pd.DataFrame, reference: float) -> dict[str, object]:
    bees, want, full = (float(str(one[key])) for key in ("bees", "want", "comb_full"))
    base = float(str(one["want_then"])) if pd.notna(one["want_then"]) else want  # type: ignore[call-overload]
    scaled = float(size(bees))
    starved = told["starved"].to_numpy() == "yes"
    learnt = learn(told["rate"], told["rate_u"], starved)
    better = suggested_want(base, full, scaled * reference, scaled * figure("reserve_floor"), learnt)
    better = want if learnt.colonies < LEAST_COLONIES else better
    return {
        "hive_type": one["name"],
        "colonies": learnt.colonies,
        "starved": int(starved.sum()),
        "want": want,
        "suggested": better,
        "eats": scaled * reference,
        "median": scaled * reference * learnt.median,
        "low": scaled * reference * learnt.tenth,
        "high": scaled * reference * learnt.ninetieth,
        "says": _says(learnt, want, better, full),
    }


def _says(learnt: Learnt, want: float, better: float, full: float) -> str:
    if learnt.colonies < LEAST_COLONIES:
        return CANNOT_TELL
    if abs(better - want) < figure("least_worth_giving"):
        return "keep the want: its colonies ate about as foretold"
    ate = "more" if learnt.ninetieth > foretold().ninetieth else "less"
    more = ", and its combs hold no more" if better >= full else ""
    return f"its colonies ate {ate} than foretold{more}"


def coverage(bands: pd.DataFrame) -> pd.DataFrame:
    """Tell how many spring stores lay inside the band foretold in autumn.

    Args:
        bands: one row a colony: low, high and seen [kg], member, apiary.

    Returns:
        one row: group, colonies, keepers, inside, share, low, high (Jeffreys, 95 %); none without colonies.
    """
    known = bands[np.isfinite(bands["seen"]) & np.isfinite(bands["low"]) & np.isfinite(bands["high"])]
    inside = (known["seen"] >= known["low"]) & (known["seen"] <= known["high"])
    row = {"group": ALL, "colonies": len(known), "keepers": keepers(known), "inside": int(inside.sum())}
    table = pd.DataFrame([row] if len(known) else [], columns=["group", "colonies", "keepers", "inside"])
    return _with_shares(table, "inside")


def bands(found: pd.DataFrame) -> pd.DataFrame:
    """The band that the eve of winter foretold, as `coverage` takes it; an outlook may give a better one."""
    return found[["low", "high", "member", "apiary"]].assign(seen=found["spring_stores"])


def left_over(found: pd.DataFrame) -> pd.DataFrame:
    """Sum up by hive type what was left at the flow, and how much of it need not have been fed.

    Returns:
        one row a hive type: group, colonies, keepers, left (median above the floor), need_not (sum of what was fed and
        left over) [kg].
    """
    known = found[np.isfinite(found["left_over"])]
    fed = known["fed_autumn"].fillna(0.0) + known["fed_winter"].fillna(0.0)
    known = known.assign(need_not=np.minimum(known["left_over"].clip(lower=0.0), fed.clip(lower=0.0)))
    rows = [
        {
            "group": name,
            "colonies": len(part),
            "keepers": keepers(part),
            "left": float(part["left_over"].median()),
            "need_not": float(part["need_not"].sum()),
        }
        for name, part in known.groupby("hive_type", sort=True)
    ]
    return pd.DataFrame(rows, columns=["group", "colonies", "keepers", "left", "need_not"])


def feed_used(found: pd.DataFrame) -> pd.DataFrame:
    """Sum up by hive type what colonies lacked at their first weighing and what they were fed.

    Returns:
        one row a hive type: group, colonies, keepers, lacked, fed_autumn, fed_winter [kg of stores].
    """
    known = found[np.isfinite(found["lacked"])]
    rows = [
        {"group": name, "colonies": len(part), "keepers": keepers(part)}
        | {key: float(part[key].sum()) for key in ("lacked", "fed_autumn", "fed_winter")}
        for name, part in known.groupby("hive_type", sort=True)
    ]
    return pd.DataFrame(rows, columns=["group", "colonies", "keepers", "lacked", "fed_autumn", "fed_winter"])


def residuals(balance: pd.DataFrame) -> pd.DataFrame:
    """Sum up what mass balances left unexplained over the season.

    Args:
        balance: the season's mass balances, one row an interval: residual and residual_u [kg], judged (0 where nothing
            can be expected).

    Returns:
        one row: intervals, within (share inside two standard uncertainties), middle and spread [kg]; none without any.
    """
    keys = ["group", "intervals", "within", "middle", "spread"]
    residual, spread = numbers(balance["residual"]), numbers(balance["residual_u"])
    sound = np.isfinite(residual) & np.isfinite(spread) & (numbers(balance["judged"]) == 1)
    if not sound.any():
        return pd.DataFrame(columns=keys)
    within = float((np.abs(residual) <= figure("balance_note") * spread)[sound].mean())
    told = ALL, int(sound.sum()), within, float(np.median(residual[sound])), float(np.std(residual[sound]))
    return pd.DataFrame([told], columns=keys)


def drift(scales: pd.DataFrame, checks: pd.DataFrame) -> pd.DataFrame:
    """Tell how each scale's reading of a known mass moved over the season.

    Args:
        scales: the sheet Scales.
        checks: the sheet Scale checks.

    Returns:
        one row a scale with checks on two days or more: group (its code), checks, days, a_year: change of reading over
        known mass in a year [1], and drifted: from its first to its last check [1], the slope of a least squares line.
    """
    rows = match(checks["scale"], scales["scale"])
    day, ratio = np.floor(serials(checks["date"])), numbers(checks["reading"]) / numbers(checks["known"])
    sound = (rows > 0) & np.isfinite(day) & np.isfinite(ratio) & (words(checks["held"]) == "")
    found = []
    for row in np.unique(rows[sound]):
        of = sound & (rows == row)
        if len(np.unique(day[of])) < LEAST_DAYS:
            continue
        slope = float(np.polyfit(day[of] - day[of].min(), ratio[of], 1)[0])
        days = float(np.ptp(day[of]))
        told = str(scales["scale"].iloc[row - 1]), int(of.sum()), days, slope * DAYS_A_YEAR, slope * days
        found.append(told)
    return pd.DataFrame(found, columns=["group", "checks", "days", "a_year", "drifted"])


def few(table: pd.DataFrame) -> pd.DataFrame:
    """Hide the sums of fewer than five keepers: their figures are blank, and the column few is true.

    Where only one group would be hidden, the smallest other is too, so that none can be told from a total.

    Args:
        table: one row a group: group, keepers and figures.

    >>> table = pd.DataFrame({"group": ["a", "b", "c"], "keepers": [4, 6, 9], "lost": [1, 2, 3]})
    >>> few(table)[["lost", "few"]].to_numpy().tolist()
    [[nan, True], [nan, True], [3.0, False]]
    """
    count = numbers(table["keepers"])
    hidden = count < LEAST_KEEPERS
    if hidden.sum() == 1 and len(table) > 1:
        hidden[np.argmin(np.where(hidden, np.inf, count))] = True
    shown = table.copy()
    for key in shown.columns.difference(["group", "keepers"]):
        if pd.api.types.is_numeric_dtype(shown[key]):
            shown[key] = numbers(shown[key])
        shown.loc[hidden, key] = None
    return shown.assign(few=hidden)
