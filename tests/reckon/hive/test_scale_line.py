"""The scale's line: what it gives back, what it costs, and what it does with little."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from apiarybook.reckon.hive.scale import fit_scales, mass, no_check
from tests.reckon.hive.lines import fit_line, line_of

LOADS = st.lists(st.floats(1.0, 60.0), min_size=2, max_size=8, unique_by=lambda load: round(load, 1))
OFFSETS = st.floats(-2.0, 2.0)
SLOPES = st.floats(0.9, 1.1)


def scales_of(*codes: str, division: float = 0.1, half_width: float = 0.01) -> pd.DataFrame:
    return pd.DataFrame(
        {"scale": codes, "division": division, "half_width": half_width}, index=list("abcde"[: len(codes)])
    )


def checks_of(*rows: tuple[str, float, float]) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=["scale", "known", "reading"])


@given(loads=LOADS, offset=OFFSETS, slope=SLOPES, load=st.floats(0.0, 80.0))
def test_a_straight_scale_is_read_back_exactly(loads: list[float], offset: float, slope: float, load: float) -> None:
    line = fit_line(loads, offset + slope * np.array(loads), 0.1, 0.01)
    found, u = mass(offset + slope * load, line)
    assert found == pytest.approx(load, abs=1e-6)
    assert u >= 0.1 / np.sqrt(12)


@given(loads=LOADS, slope=SLOPES)
def test_the_order_of_checks_does_not_matter(loads: list[float], slope: float) -> None:
    known = np.array(loads)
    reading = slope * known + 0.1 * np.sin(known)
    there, back = (fit_line(k, r, 0.1, 0.01) for k, r in ((known, reading), (known[::-1], reading[::-1])))
    assert np.array(mass(30.0, there)) == pytest.approx(np.array(mass(30.0, back)), rel=1e-9)


@given(loads=LOADS, offset=OFFSETS, slope=SLOPES)
def test_the_line_is_that_of_least_squares(loads: list[float], offset: float, slope: float) -> None:
    known = np.array(loads)
    reading = offset + slope * known + 0.3 * np.cos(known)
    line = fit_line(known, reading, 0.1, 0.01)
    assert [line.slope, line.offset] == pytest.approx(np.polyfit(known, reading, 1), abs=1e-6)


@given(loads=LOADS, slope=SLOPES, unit=st.sampled_from([0.001, 0.45359237, 1000.0]))
def test_the_unit_does_not_matter(loads: list[float], slope: float, unit: float) -> None:
    known = np.array(loads)
    reading = slope * known + 0.1 * np.sin(known)
    one = np.array(mass(30.0, fit_line(known, reading, 0.1, 0.01)))
    other = np.array(mass(30.0 * unit, fit_line(known * unit, reading * unit, 0.1 * unit, 0.01)))
    assert other == pytest.approx(one * unit, rel=1e-6)


def test_an_unchecked_scale_is_taken_at_its_word_and_pays_for_it() -> None:
    found, u = mass([0.0, 40.0], no_check(0.1, 0.01))
    assert found.tolist() == [0.0, 40.0]
    assert u == pytest.approx([0.1 / 12**0.5, (0.1**2 / 12 + 0.4**2 / 3) ** 0.5])


def test_checks_of_one_size_give_a_slope_through_nought() -> None:
    line = fit_line([20, 20, 20], [20.3, 20.4, 20.5], 0.1, 0.01)
    found, u = mass([20.4, 40.8], line)
    assert found == pytest.approx([20.0, 40.0], rel=1e-4)
    of_mean = 0.1 / 3**0.5
    assert u == pytest.approx([np.hypot(0.1 / 12**0.5, of_mean * share) for share in (1, 2)], rel=1e-4)


def test_one_check_cannot_be_better_than_its_readout() -> None:
    _, u = mass(40.0, fit_line([20], [20.0], 0.1, 0.01))
    assert u == pytest.approx(0.1 / 12**0.5 * 5**0.5)


def test_two_checks_leave_nothing_to_judge_the_scatter_by() -> None:
    line = fit_line([10, 40], [10.0, 40.0], 0.1, 0.01)
    s = 0.01 * 40 / 3**0.5
    assert mass(25.0, line)[1] == pytest.approx(s * 1.5**0.5)
    assert mass(40.0, line)[1] == pytest.approx(s * (1.5 + 15**2 / 450) ** 0.5)


def test_checks_at_no_load_say_nothing_about_the_slope() -> None:
    assert mass(30.0, fit_line([0, 0], [0.1, 0.1], 0.1, 0.01)) == mass(30.0, no_check(0.1, 0.01))


def test_a_scale_that_shows_the_same_whatever_hangs_on_it_gives_no_mass() -> None:
    assert np.isnan(mass(20.0, fit_line([10, 20, 30], [20, 20, 20], 0.1, 0.01))).all()


def test_blanks_are_left_out_and_stay_blank() -> None:
    line = fit_line([10, None, 40, 20], [10.1, 5.0, 40.4, None], 0.1, 0.01)
    assert line.slope == pytest.approx(1.01)
    assert np.isnan(mass(None, line)).all()


def test_all_scales_at_once_are_what_each_is_alone() -> None:
    rows = [("A", 10, 10.2), ("B", 20, 20.4), ("A", 40, 40.6), ("D", 10, 9), ("A", 20, 20.2), ("B", 20, 20.5)]
    lines = fit_scales(checks_of(*rows), scales_of("A", "B", "C"))
    assert lines["checks"].tolist() == [3, 2, 0]
    assert lines.index.tolist() == ["a", "b", "c"]
    for place, code in enumerate("ABC"):
        mine = [row for row in rows if row[0] == code]
        alone = fit_line([row[1] for row in mine], [row[2] for row in mine], 0.1, 0.01)
        together = line_of(lines.iloc[[place]])
        assert np.array(mass(33.3, together)).ravel() == pytest.approx(np.array(mass(33.3, alone)).ravel())


def test_a_scale_written_twice_is_refused() -> None:
    with pytest.raises(pd.errors.InvalidIndexError):
        fit_scales(checks_of(("A", 10, 10)), scales_of("A", "A"))


def test_what_is_read_back_scatters_as_the_uncertainty_says() -> None:
    """Student t with n - 2 degrees of freedom has the standard deviation sqrt((n - 2)/(n - 4))."""
    many, known = 2000, np.array([5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0])
    random = np.random.default_rng(20260801)
    codes = np.arange(many)
    reading = 0.5 + 1.02 * known + random.normal(0.0, 0.2, (many, known.size))
    checks = pd.DataFrame(
        {"scale": codes.repeat(known.size), "known": np.tile(known, many), "reading": reading.ravel()}
    )
    lines = fit_scales(checks, pd.DataFrame({"scale": codes, "division": 1e-6, "half_width": 0.01}))
    found, u = mass(0.5 + 1.02 * 48.0 + random.normal(0.0, 0.2, many), line_of(lines))
    assert np.std((found - 48.0) / u) == pytest.approx((8 / 6) ** 0.5, rel=0.05)
