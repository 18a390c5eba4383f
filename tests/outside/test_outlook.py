"""The outlook against hives that were really weighed through a winter, source by source.

A series of many hives is a mean; the band is that of one colony, which is wider. Series to which a profile was set, or
from which it was pooled, agree with it by making; they are counted apart.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from apiarybook.reckon.core.arrays import figure
from apiarybook.reckon.core.consumption import size, whole_spread
from apiarybook.reckon.core.winter import serial, winter
from apiarybook.reckon.outlook.till_flow import stores_ahead

SERIES = Path(__file__).with_name("published_consumption.csv")
PLENTY = 40.0
"""Stores at the start [kg], so that none run out."""
OF_HUNDRED = 0.7
"""Share of the series that lie inside the band of eight in ten, at least."""


@dataclass(frozen=True, slots=True)
class Series:
    """One published series: what a colony lost between two days [kg], as a range where the source gives one."""

    profile: str
    start: date
    end: date
    lost: tuple[float, float]
    bees: float
    set_to: str
    source: str

    def foretold(self) -> float:
        """What the handbook has such a colony eat [kg]."""
        months = winter(self.start.year - (self.start.month < 7))
        row = np.array([months.profiles.index(self.profile) + 1])
        days = (np.array([serial(day)]) for day in (self.start, self.end))
        return float(size(self.bees) * months.eaten_between(*days, row)[0])

    def band(self) -> tuple[float, float]:
        """Least and most that it loses, eight times in ten [kg]."""
        known = (np.array([value]) for value in (0.5, 1.0, whole_spread()))
        _, low, high = stores_ahead(np.array([PLENTY]), *known, np.array([self.foretold()]), np.zeros(1))
        return PLENTY - float(high[0]), PLENTY - float(low[0])

    @property
    def held(self) -> bool:
        """Whether the middle of what was lost lies inside the band."""
        low, high = self.band()
        return low <= sum(self.lost) / 2 <= high


def every_series() -> list[Series]:
    with SERIES.open(encoding="utf-8", newline="") as file:
        return [
            Series(
                row["profile"],
                date.fromisoformat(row["from"]),
                date.fromisoformat(row["to"]),
                (float(row["low_kg"]), float(row["high_kg"])),
                float(row["bees_kg"]),
                row["set_to"],
                row["source"],
            )
            for row in csv.DictReader(file)
        ]


def test_seven_in_ten_published_series_lie_inside_the_band() -> None:
    found = every_series()
    others = [one for one in found if not one.set_to]
    assert len(others) >= 10
    for chosen in (found, others):
        outside = [one.source for one in chosen if not one.held]
        assert len(outside) <= (1 - OF_HUNDRED) * len(chosen), outside


def test_europe_s_series_differ_as_much_as_winter_and_place_are_held_to() -> None:
    """Agreement, not proof: the handbook's figure was taken from these."""
    apart = [
        np.log(sum(one.lost) / 2 / one.foretold())
        for one in every_series()
        if not one.profile.startswith("north-america") and one.end.month <= 4 and one.start.month >= 9
    ]
    assert len(apart) >= 8
    seen = np.sqrt(np.expm1(np.var(apart, ddof=1)))
    assert seen == pytest.approx(np.hypot(figure("winter_spread"), figure("place_spread")), abs=0.05)


def test_colonies_of_one_trial_in_sweden_differ_as_the_handbook_holds() -> None:
    """Norrstrom, Niklasson and Leidenberger 2021, PLOS ONE 16(10) e0258398: 0.039 kg a day, SD 0.013, 32 colonies."""
    assert figure("colony_spread") == pytest.approx(0.013 / 0.039, abs=0.1)
