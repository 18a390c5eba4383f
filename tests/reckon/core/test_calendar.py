"""The calendar of consumption: it adds up, and runs straight from month to month."""

from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from apiarybook.handbook import handbook
from apiarybook.reckon.core.consumption import calendar, size, strength

PROFILES = list(handbook().profiles.values())
DAYS = 700
TABLE = calendar(PROFILES[0], date(2026, 8, 1), DAYS)


@pytest.mark.parametrize("profile", PROFILES, ids=lambda profile: str(profile.name))
@pytest.mark.parametrize("first", [date(2026, 1, 1), date(2028, 1, 1)])
def test_a_year_eats_what_its_months_eat(profile: object, first: date) -> None:
    table = calendar(profile, first, 367)  # type: ignore[arg-type]
    year = (date(first.year + 1, 1, 1) - first).days
    assert table["cumulative"][year] == pytest.approx(sum(profile.consumption.values))  # type: ignore[attr-defined]


def test_nobody_eats_backwards_and_days_follow_one_another() -> None:
    assert (np.diff(TABLE["cumulative"]) >= 0).all()
    assert (np.diff(TABLE["day"]) == np.timedelta64(1, "D")).all()
    assert TABLE["cumulative"][0] == 0.0


@given(first=st.dates(date(2020, 1, 1), date(2030, 12, 31)), ahead=st.integers(0, 200))
def test_where_a_calendar_begins_does_not_matter(first: date, ahead: int) -> None:
    whole = calendar(PROFILES[0], first, ahead + 30)
    part = calendar(PROFILES[0], whole["day"][ahead].date(), 30)
    later = whole[ahead:].drop(columns="day").to_numpy(copy=True)
    later[:, 0] -= later[0, 0]
    assert later == pytest.approx(part.drop(columns="day").to_numpy())


def test_the_middle_of_a_month_is_that_months_figure() -> None:
    middles = TABLE[TABLE["day"].dt.day == 15]
    months = middles["day"].dt.month - 1
    assert middles["bees_factor"].tolist() == pytest.approx([PROFILES[0].bees.values[month] for month in months])
    assert middles["brood_frames"].tolist() == pytest.approx([PROFILES[0].brood.values[month] for month in months])


def test_a_calendar_has_days() -> None:
    with pytest.raises(ValueError, match="at least 1 day"):
        calendar(PROFILES[0], date(2026, 8, 1), 0)


@given(bees=st.floats(0.1, 5.0))
def test_a_larger_colony_eats_more_but_less_for_each_bee(bees: float) -> None:
    assert size(bees) < size(bees * 1.5) < size(bees) * 1.5


@given(usual=st.floats(0.5, 4.0), share=st.floats(0.3, 1.2), of=st.floats(0.0, 1.0))
def test_a_count_between_what_print_covers_and_what_is_expected_changes_nothing(
    usual: float, share: float, of: float
) -> None:
    low = min(usual, usual * share)
    assert strength(low + of * (usual - low), usual * share, usual) == pytest.approx(1.0)


def test_strength_is_held_within_its_bounds_and_blank_is_normal() -> None:
    assert strength([0.1, 9.0, np.nan, 0.0], 2.0, 1.0).tolist() == [0.6, 1.2, 1.0, 0.6]
