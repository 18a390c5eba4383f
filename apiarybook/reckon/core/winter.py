"""One winter laid out by day: what is eaten, how many bees and how much brood to expect, and its dates.

Days are numbers, counted from 30 December 1899 as spreadsheets count them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from apiarybook.handbook import MonthDay, handbook
from apiarybook.reckon.core.arrays import Floats, numbers, rounded
from apiarybook.reckon.core.consumption import MID_MONTH, calendar

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import ArrayLike, NDArray

    from apiarybook.reckon.core.lookup import Rows

DAY_ZERO = date(1899, 12, 30)
"""Day from which spreadsheets count (ISO/IEC 29500, the 1900 date system after its leap day)."""
FIRST_MONTH = 7
"""The calendar begins on 1 July of the year in which the winter begins."""
LAST = (9, 30)
"""It ends on 30 September of the next, after any spring flow."""


def serial(day: date) -> float:
    """Number of a day.

    >>> serial(date(2026, 10, 17))
    46312.0
    """
    return float((day - DAY_ZERO).days)


def serials(days: ArrayLike) -> Floats:
    """Numbers of many days; NaN for blanks.

    >>> serials(np.array(["2026-10-17", "NaT"], dtype="datetime64[D]")).tolist()
    [46312.0, nan]
    """
    given = np.asarray(days, dtype="datetime64[D]")
    count = (given - np.datetime64(DAY_ZERO)).astype(np.float64)
    return np.where(np.isnat(given), np.nan, count)


def day_of(number: float) -> date:
    """Day of a number.

    >>> day_of(46312.0)
    datetime.date(2026, 10, 17)
    """
    return DAY_ZERO + timedelta(days=int(number))


def year_day(days: ArrayLike) -> NDArray[np.int64]:
    """Month and day as one number that grows through the year: 930 for 30 September; 0 for blanks.

    >>> year_day([46312.0, np.nan]).tolist()
    [1017, 0]
    """
    given = numbers(days)
    when = np.datetime64(DAY_ZERO) + np.nan_to_num(given).astype(np.int64)
    month = when.astype("datetime64[M]")
    day = (when - month.astype("datetime64[D]")).astype(np.int64) + 1
    return np.where(np.isnan(given), 0, (month.astype(np.int64) % 12 + 1) * 100 + day)


def month_day(name: str) -> int:
    """A day of the handbook on which the model turns, as `year_day` counts.

    >>> month_day("season_opens")
    801
    """
    day = handbook().days[name]
    return day.month * 100 + day.day


def turning(name: str, year: int) -> float:
    """Number of such a day in a year.

    >>> day_of(turning("season_opens", 2026))
    datetime.date(2026, 8, 1)
    """
    return serial(date(year, *divmod(month_day(name), 100)))


@dataclass(frozen=True, slots=True)
class Winter:
    """One winter; `eaten`, `bees` and `brood` have a row a day and a column a profile, `dates` a number a profile.

    All of them run straight between `turns`, the first day, the first and the middle of each month, and the last day,
    counted from 0; `daily` has what each block adds a day from there, a row a turn and a column a profile.
    """

    year: int
    first: float
    profiles: tuple[str, ...]
    turns: NDArray[np.int64]
    daily: dict[str, Floats]
    eaten: Floats
    bees: Floats
    brood: Floats
    dates: dict[str, Floats]

    @property
    def last(self) -> float:
        """Number of the calendar's last day."""
        return self.first + len(self.eaten) - 1

    def on(self, block: Floats, day: Floats, profile: Rows) -> Floats:
        """A block's figures on days, for profiles counted from 1; 0 without a profile or outside the calendar."""
        index = np.nan_to_num(day - self.first, nan=-1.0).astype(np.int64)
        inside = (index >= 0) & (index < len(block)) & (profile > 0)
        return np.where(inside, block[np.where(inside, index, 0), np.where(inside, profile - 1, 0)], 0.0)

    def since_turn(self, day: Floats) -> tuple[Floats, Floats]:
        """From which turn days are counted, as its row counted from 1, and how many days they come after it."""
        inside = (day >= self.first) & (day <= self.last)
        index = np.where(inside, day - self.first, 0.0)
        turn = np.searchsorted(self.turns, index, side="right")
        return np.where(inside, turn, 0.0), np.where(inside, index - self.turns[turn - 1], 0.0)

    def eaten_between(self, start: Floats, end: Floats, profile: Rows) -> Floats:
        """What the reference colony eats between two days in kg, below nought where they stand the other way round."""
        return self.on(self.eaten, end, profile) - self.on(self.eaten, start, profile)

    def lasts_to(self, start: Floats, amount: Floats, profile: Rows) -> Floats:
        """The last day before which no more than an amount (kg of the reference colony) has been eaten since a day.

        >>> months = winter(2026)
        >>> last = months.lasts_to(np.array([serial(date(2026, 10, 1))]), np.array([2.31]), np.array([1]))
        >>> day_of(last[0])
        datetime.date(2026, 11, 1)
        """
        target = self.on(self.eaten, start, profile) + amount
        days = np.full(target.shape, self.first)
        for one in np.unique(profile[profile > 0]):
            of = profile == one
            levels = self.eaten[self.turns, one - 1]
            turn = np.searchsorted(levels, target[of], side="right") - 1
            more = np.floor(rounded((target[of] - levels[turn]) / self.daily["eaten"][turn, one - 1]))
            days[of] = np.minimum(self.last, self.first + self.turns[turn] + more)
        return days


def _date(year: int, when: MonthDay) -> float:
    return serial(date(year + (when.month < FIRST_MONTH), when.month, when.day))


def year_of(settings: Mapping[str, object]) -> int:
    """The year in which the winter of a club's settings begins.

    >>> year_of({"winter": 2026.0})
    2026
    """
    return int(float(str(settings["winter"])))


def winter_of(settings: Mapping[str, object]) -> Winter:
    """The winter that a club's settings name."""
    return winter(year_of(settings))


def sure_of(settings: Mapping[str, object]) -> float:
    """How sure the club wants to be [1]; its setting says it in tenths.

    >>> sure_of({"sure_in_10": 9.0})
    0.9
    """
    return float(str(settings["sure_in_10"])) / 10


def winter_words(year: int) -> str:
    """A winter as people write it.

    >>> winter_words(2026), winter_words(2099)
    ('2026/27', '2099/00')
    """
    return f"{year}/{(year + 1) % 100:02d}"


DECIMALS = 6
"""Of kilograms and shares, and of what is added a day: far below what can be weighed, and short on the Calendar."""


@cache
def winter(year: int) -> Winter:
    """Lay out the winter that begins in a year, for all winter profiles.

    Args:
        year: for instance 2026 for winter 2026/27.

    Returns:
        the winter, from 1 July to 30 September of the next year.

    >>> winter(2026).profiles[0]
    'british-isles'
    """
    first = date(year, FIRST_MONTH, 1)
    days = (date(year + 1, *LAST) - first).days + 1
    profiles = handbook().profiles
    tables = [calendar(profile, first, days) for profile in profiles.values()]
    turns = _turns(first, days)
    blocks = {
        name: _straight(np.column_stack([table[key].to_numpy()[turns] for table in tables]), turns)
        for name, key in (("eaten", "cumulative"), ("bees", "bees_factor"), ("brood", "brood_frames"))
    }
    dates = {
        key: np.array([_date(year, profile.dates[key]) for profile in profiles.values()])
        for key in ("winter_starts", "last_liquid_day", "fondant_reaches", "feed_reaches", "flow")
    }
    return Winter(
        year=year,
        first=serial(first),
        profiles=tuple(profiles),
        turns=turns,
        daily={name: daily for name, (_, daily) in blocks.items()},
        **{name: block for name, (block, _) in blocks.items()},
        dates=dates,
    )


def _turns(first: date, days: int) -> NDArray[np.int64]:
    """Days of a calendar, counted from 0, on which what it holds may turn: see `Winter`."""
    number = np.arange(days)
    in_month = np.array([(first + timedelta(days=int(one))).day for one in number])
    return np.asarray(number[np.isin(in_month, (1, MID_MONTH)) | (number == days - 1)])


def _straight(levels: Floats, turns: NDArray[np.int64]) -> tuple[Floats, Floats]:
    """Every day of a block that runs straight between its turns, and what it adds a day from each of them.

    >>> [one.ravel().tolist() for one in _straight(np.array([[0.0], [1.0], [1.5]]), np.array([0, 2, 3]))]
    [[0.0, 0.5, 1.0, 1.5], [0.5, 0.5, 0.5]]
    """
    held = levels.round(DECIMALS)
    daily = (np.diff(held, axis=0) / np.diff(turns)[:, None]).round(DECIMALS)
    daily = np.vstack([daily, daily[-1:]])
    number = np.arange(turns[-1] + 1)
    turn = np.searchsorted(turns, number, side="right") - 1
    return held[turn] + daily[turn] * (number - turns[turn])[:, None], daily
