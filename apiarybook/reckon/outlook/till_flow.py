"""The outlook of every colony: stores by half-month until the flow, with a band, and the next visit to it."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.handbook.half_months import BEGINS, HALF_MONTHS, half_month
from apiarybook.reckon.core.arrays import Floats, figure, numbers
from apiarybook.reckon.core.lookup import pick, pick_words
from apiarybook.reckon.core.winter import serial, turning
from apiarybook.reckon.outlook.outlook import quantile

if TYPE_CHECKING:
    from apiarybook.reckon.hive.weighings import Lists
    from apiarybook.reckon.standing.standing import Rules

BAND = 0.8
"""The band holds the true stores in so many of all cases; as many of the rest lie under it as over it."""


def half_month_days(year: int) -> tuple[float, ...]:
    """Numbers of the days on which an outlook is told.

    >>> len(half_month_days(2026)), half_month_days(2026)[0] == serial(date(2026, 9, 16))
    (17, True)
    """
    return tuple(serial(date(year + (month < BEGINS), month, day)) for month, day in HALF_MONTHS)


def stores_ahead(
    stores: Floats, uncertainty: Floats, rate: Floats, spread: Floats, eaten: Floats, since: Floats
) -> tuple[Floats, Floats, Floats]:
    """Give the stores left after so much more was eaten.

    The rate is lognormal, so that the middle of what is eaten lies a little under its mean, and the band reaches
    further down than up. A colony that ate fast since it was last looked at goes on doing so. Under nought there is
    nothing.

    Args:
        stores: stores today, what was eaten since the evidence taken off by the mean rate [kg], any shape.
        uncertainty: their standard uncertainty but for that of the rate [kg]; broadcasts.
        rate: mean of what the colony eats over what the handbook has it eat [1]; broadcasts.
        spread: relative standard deviation of that rate [1]; broadcasts.
        eaten: what the handbook has it eat from today to then [kg]; broadcasts.
        since: what the handbook has it eat from its evidence to today [kg]; broadcasts.

    Returns:
        median, and the ends of the 80 % band [kg].

    Source: JCGM 100:2008, 5.1.2 (in squares), each side of the median by its own spread.

    >>> [round(float(one), 2) for one in stores_ahead(15.0, 1.0, 1.0, 0.4, 8.0, 0.0)]
    [7.57, 2.7, 10.74]
    """
    z = float(quantile((1 + BAND) / 2))
    wide = np.sqrt(np.log1p(spread**2))
    middle = rate / np.sqrt(1 + spread**2)
    whole = since + eaten
    median = stores + (rate - middle) * since - middle * eaten
    low = stores - rate * eaten - z * np.hypot(uncertainty, spread * rate * whole)
    high = median + np.hypot(z * uncertainty, (middle - middle * np.exp(-z * wide)) * whole)
    return np.maximum(0.0, median), np.maximum(0.0, low), np.maximum(0.0, high)


def till_the_flow(stood: pd.DataFrame, apiaries: pd.DataFrame, lists: Lists, rules: Rules) -> pd.DataFrame:
    """Foretell every colony.

    Args:
        stood: the frame of all colonies after `standing.stores`.
        apiaries: the sheet Apiaries.
        lists: the book's lists.
        rules: the club's rules.

    Returns:
        frame indexed like the colonies: colony, apiary; lasts_to, the day to which nine in ten last; median_out, that
        to which half of them do; heft_next and fondant_by (numbers of days); eats, the middle of what it eats over
        what the reference colony eats [1]; start, stores today and all that it would have eaten since the calendar's
        first day [kg]; and for each half-month from today to the flow median, low and high [kg]. Blank where nothing
        is known.
    """
    known, winter = stood["known"].to_numpy() == 1, lists.winter
    found = pd.DataFrame({"colony": stood["colony"]}, index=stood.index)
    found["apiary"] = pick_words(apiaries["apiary"], stood["place_row"].to_numpy()).astype(object)
    for key in ("lasts_to", "fondant_by"):
        found[key] = np.where(known, stood[key], np.nan)
    appetite = numbers(stood["size"] * stood["strength"])
    rate, spread = numbers(stood["own_rate"]), numbers(stood["own_spread"])
    eats = found["eats"] = np.where(known, appetite * rate / np.sqrt(1 + spread**2), 0.0)
    today, profile = np.full(len(stood), rules.as_at), stood["profile_row"].to_numpy()
    so_far = winter.on(winter.eaten, today, profile)
    aged, still = numbers(stood["aged"]), numbers(stood["still_u"])
    middle = numbers(stood["stores_today"]) + aged * (1 - 1 / np.sqrt(1 + spread**2))
    found["start"] = np.where(known, middle + eats * so_far, 0.0)
    spare = (found["start"] - stood["floor"]) / np.where(known, eats, 1.0) - so_far
    last = winter.lasts_to(today, np.maximum(0.0, numbers(spare)), np.where(known, profile, 0))
    found["median_out"] = np.where(known, last, np.nan)
    found["heft_next"] = heft_next(stood, winter.year, rules.as_at)
    ahead: dict[str, Floats] = {}
    for (month, day), when in zip(HALF_MONTHS, half_month_days(winter.year), strict=True):
        shown = known & (when >= rules.as_at) & (when <= stood["flow"].to_numpy())
        eaten = appetite * winter.eaten_between(today, np.full(len(stood), when), profile)
        since = aged / np.where(known, rate, 1.0)
        told = stores_ahead(numbers(stood["stores_today"]), still, rate, spread, eaten, since)
        for what, values in zip(("median", "low", "high"), told, strict=True):
            ahead[half_month(what, month, day)] = np.where(shown, values, np.nan)
    return found.join(pd.DataFrame(ahead, index=stood.index))


def heft_next(stood: pd.DataFrame, year: int, as_at: float) -> Floats:
    """Give the day on which each colony is to be hefted next.

    That is fourteen days before the day to which nine in ten last, or the next round if that comes first; rounds
    begin with the turn of the year. A colony of which nothing is known is to be hefted today.

    Args:
        stood: the frame of all colonies after `standing.stores`.
        year: the year in which the winter begins.
        as_at: number of the day for which to reckon.

    Returns:
        number of the day, shape (colonies,); NaN out of season and where it would come after the flow.
    """
    in_season = (stood["phase"] > 0).to_numpy()
    seen = np.fmax(numbers(stood["evidence_day"]), numbers(stood["heft_day"]))
    begin = turning("rounds_begin", year + 1)
    on_round = np.maximum(seen + figure("round_days"), begin)
    before_out = np.nan_to_num(stood["lasts_to"], nan=0.0) - figure("fondant_lead")
    due = np.maximum(as_at, np.where(stood["known"] == 1, np.minimum(on_round, before_out), as_at))
    return np.where(in_season & (due < stood["flow"].to_numpy()), due, np.nan)


def winter_says(stood: pd.DataFrame) -> str:
    """Say what this winter makes all colonies eat, and what of the bands is its doing.

    Args:
        stood: the frame of all colonies after `standing.stores`.

    Returns:
        one sentence for the winter profile of most colonies; blank where nothing is known of any.
    """
    known = stood[(stood["known"] == 1).to_numpy()]
    if known.empty:
        return ""
    here = known[known["profile_row"] == known["profile_row"].mode().iloc[0]]
    factor, spread = float(here["winter_rate"].iloc[0]), float(here["winter_spread"].iloc[0])
    seen = int((here["rate_weight"] > 0).sum())
    wider = 100 * (1 / np.sqrt(np.maximum(0.1, 1 - (spread / here["own_spread"].mean()) ** 2)) - 1)
    alone = f"that alone widens what is foretold by {wider:.0f} %"
    if not seen:
        return (
            f"What colonies eat this winter nobody has seen yet; it may be {100 * spread:.0f} % more or less than "
            f"usual, and {alone}. A few hives weighed in January tell."
        )
    more = round(100 * (factor - 1))
    said = "as usual" if not more else f"{abs(more)} % {'more' if more > 0 else 'less'} than usual"
    where = f"{seen} {'colony' if seen == 1 else 'colonies'}"
    return f"This winter colonies eat {said}, give or take {100 * spread * factor:.0f} %, as seen at {where}; {alone}."


MOST_APIARIES = 40
"""Apiaries that are shown one by one, each with its chart; a book of more shows the first so many."""


def by_apiary(ahead: pd.DataFrame, stood: pd.DataFrame) -> pd.DataFrame:
    """Sum the outlook up for the apiaries that are shown.

    Args:
        ahead: the frame of `till_the_flow`.
        stood: the frame of all colonies.

    Returns:
        one row an apiary in the order of the sheet Apiaries, the first 40 of which anything is known: apiary, place
        (its row), colonies, and for each half-month mean (of the medians), below and above (from there to the mean of
        the band's ends) and lightest, the least median [kg].
    """
    known = (stood["known"] == 1).to_numpy()
    of = ahead[known].assign(place=stood["place_row"].to_numpy()[known]).groupby("place")
    found = pd.DataFrame({"apiary": of["apiary"].first(), "colonies": of.size().astype(np.float64)})
    keys = {what: [half_month(what, *day) for day in HALF_MONTHS] for what in ("median", "low", "high")}
    mean = of[[key for one in keys.values() for key in one]].mean()
    least = of[keys["median"]].min()
    parts: dict[str, pd.Series[float]] = {}
    for month, day in HALF_MONTHS:
        median, low, high = (mean[half_month(what, month, day)] for what in ("median", "low", "high"))
        parts[half_month("mean", month, day)] = median
        parts[half_month("below", month, day)] = median - low
        parts[half_month("above", month, day)] = high - median
        parts[half_month("lightest", month, day)] = least[half_month("median", month, day)]
    found = found.join(pd.DataFrame(parts)).rename_axis("place").reset_index()
    return found.head(MOST_APIARIES)


HEFT, FONDANT = "heft", "fondant"
"""What a visit is for."""


def visits(ahead: pd.DataFrame, stood: pd.DataFrame, lists: Lists) -> pd.DataFrame:
    """Plan for each colony the next visit to its apiary.

    The first colony that is due sets the day. Whatever would fall due before the round after it is done on the same
    visit, so that nobody drives out twice in three weeks.

    Args:
        ahead: the frame of `till_the_flow`.
        stood: the frame of all colonies after `standing.stores`.
        lists: the book's lists.

    Returns:
        frame indexed like the colonies: visit_on (number of the day), visit_for (heft, fondant, both, or blank where
        nothing is to be done there), visit_fondant, to take along for it [kg].
    """
    place = stood["place_row"].to_numpy(dtype=np.int64)
    heft = numbers(ahead["heft_next"])
    fondant = np.where(np.isnan(heft), np.nan, numbers(ahead["fondant_by"]))
    first = np.where(place > 0, np.fmin(heft, fondant), np.nan)
    visit = pd.Series(first).groupby(place).transform("min").to_numpy()
    until = np.where(np.isnan(first), np.nan, visit + figure("round_days"))
    to_heft, to_feed = heft < until, fondant < until
    portion = pick(lists.types["portion_fondant"], stood["type_row"].to_numpy(dtype=np.int64))
    found = pd.DataFrame({"visit_on": np.where(to_heft | to_feed, visit, np.nan)}, index=stood.index)
    found["visit_for"] = np.select([to_heft & to_feed, to_heft, to_feed], [f"{HEFT}, {FONDANT}", HEFT, FONDANT], "")
    found["visit_fondant"] = np.where(to_feed, portion, np.nan)
    return found


def round_list(ahead: pd.DataFrame, stood: pd.DataFrame, apiaries: pd.DataFrame) -> pd.DataFrame:
    """Put the visits of colonies together by apiary.

    Args:
        ahead: the frame of `till_the_flow` with that of `visits` beside it.
        stood: the frame of all colonies after `standing.stores`.
        apiaries: the sheet Apiaries.

    Returns:
        one row an apiary, the soonest first, then the one that runs out first; its colonies in the same order, those of
        which nothing is known before all others: visit_on (number of the day), apiary, member, heft and fondant (codes
        of colonies, parted by commas) and fondant_mass [kg], one portion each.
    """
    place = stood["place_row"].to_numpy(dtype=np.int64)
    due = ahead.assign(place=place, out=np.nan_to_num(numbers(ahead["lasts_to"])))
    due = due[due["visit_on"].notna()].sort_values("out", kind="stable")
    found = pd.DataFrame(
        [
            {
                "visit_on": of["visit_on"].iloc[0],
                "place": row,
                "out": of["out"].iloc[0],
                **{
                    what: ", ".join(map(str, of["colony"][of["visit_for"].str.contains(what)]))
                    for what in (HEFT, FONDANT)
                },
                "fondant_mass": of["visit_fondant"].sum(),
            }
            for row, of in due.groupby("place")
        ],
        columns=["visit_on", "place", "out", HEFT, FONDANT, "fondant_mass"],
    )
    found = found.sort_values(["visit_on", "out"], kind="stable").drop(columns="out").reset_index(drop=True)
    visited = found.pop("place").to_numpy(dtype=np.int64)
    found.insert(1, "apiary", pick_words(apiaries["apiary"], visited).astype(object))
    found.insert(2, "member", pick_words(apiaries["member"], visited).astype(object))
    return found
