"""Scales and chances against worked examples in print.

GUM: JCGM 100:2008. JCGM 106:2012. NIST/SEMATECH Statistical Reference Datasets (Norris). Printed figures are met to
half a unit of their last digit.
"""

import numpy as np
import pytest

from apiarybook.reckon.hive.scale import ScaleLine, mass, no_check
from apiarybook.reckon.outlook.outlook import chance_below, quantile
from tests.reckon.hive.lines import fit_line

# GUM, table H.6: thermometer readings [degC], less the 20 degC to which the line refers, and corrections [degC].
READINGS = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
CORRECTIONS = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]

# NIST StRD Norris, y against x, 36 points.
NORRIS_Y = [
    *(
        0.1,
        338.8,
        118.1,
        888.0,
        9.2,
        228.1,
        668.5,
        998.5,
        449.1,
        778.9,
        559.2,
        0.3,
        0.1,
        778.1,
        668.8,
        339.3,
        448.9,
        10.8,
    ),
    *(
        557.7,
        228.3,
        998.0,
        888.8,
        119.6,
        0.3,
        0.6,
        557.6,
        339.3,
        888.0,
        998.5,
        778.9,
        10.2,
        117.6,
        228.9,
        668.4,
        449.2,
        0.2,
    ),
]
NORRIS_X = [
    *(
        0.2,
        337.4,
        118.2,
        884.6,
        10.1,
        226.5,
        666.3,
        996.3,
        448.6,
        777.0,
        558.2,
        0.4,
        0.6,
        775.5,
        666.9,
        338.0,
        447.5,
        11.6,
    ),
    *(
        556.0,
        228.1,
        995.8,
        887.6,
        120.2,
        0.3,
        0.3,
        556.8,
        339.1,
        887.2,
        999.0,
        779.0,
        11.1,
        118.3,
        229.2,
        669.1,
        448.9,
        0.5,
    ),
]
FINE = 1e-9
"""A division so small that the readout plays no part."""


def scatter(line: ScaleLine, checks: int) -> float:
    """Standard deviation about the line, in units of the reading."""
    return float(line.fixed * line.slope / np.sqrt(1 + 1 / checks))


def of_line(line: ScaleLine, checks: int, at: float) -> float:
    """Standard uncertainty of the line itself at a value, in units of the reading."""
    away = line.away * line.slope * (at - line.middle)
    return float(np.hypot(scatter(line, checks) / np.sqrt(checks), away))


def test_gum_h3_calibration_line() -> None:
    line = fit_line(np.array(READINGS) - 20, CORRECTIONS, FINE, 0.0)
    count = len(READINGS)
    assert line.offset == pytest.approx(-0.1712, abs=0.00005)
    assert line.slope == pytest.approx(0.00218, abs=0.000005)
    assert scatter(line, count) == pytest.approx(0.0035, abs=0.00005)
    assert line.away * line.slope == pytest.approx(0.00067, abs=0.000005)
    assert of_line(line, count, 0.0) == pytest.approx(0.0029, abs=0.00005)
    assert line.middle == pytest.approx(4.0085, abs=0.00005)


def test_gum_h3_prediction_at_30_degrees() -> None:
    line = fit_line(np.array(READINGS) - 20, CORRECTIONS, FINE, 0.0)
    assert line.offset + 10 * line.slope == pytest.approx(-0.1494, abs=0.00005)
    assert of_line(line, len(READINGS), 10.0) == pytest.approx(0.0041, abs=0.00005)
    assert of_line(line, len(READINGS), 10.0) ** 2 == pytest.approx(17.1e-6, abs=0.05e-6)


def test_gum_h3_residuals() -> None:
    known = np.array(READINGS) - 20
    line = fit_line(known, CORRECTIONS, FINE, 0.0)
    printed = [-0.0031, -0.0022, -0.0003, 0.0056, -0.0005, -0.0025, 0.0054, 0.0033, 0.0002, -0.0029, -0.0030]
    assert CORRECTIONS - (line.offset + line.slope * known) == pytest.approx(printed, abs=0.00005)


def test_nist_norris_certified_line() -> None:
    line = fit_line(NORRIS_X, NORRIS_Y, FINE, 0.0)
    count = len(NORRIS_X)
    assert line.offset == pytest.approx(-0.262323073774029, rel=1e-9)
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-12)
    assert scatter(line, count) == pytest.approx(0.884796396144373, rel=1e-9)
    assert line.away * line.slope == pytest.approx(0.429796848199937e-3, rel=1e-9)
    assert of_line(line, count, 0.0) == pytest.approx(0.232818234301152, rel=1e-9)


def test_gum_f221_one_gram_division() -> None:
    """Print: a variance of 1/12 g2, u = 0.29 g."""
    _, u = mass(12.345, no_check(0.001, 0.0))
    assert u == pytest.approx(0.29e-3, abs=0.005e-3)
    assert u**2 == pytest.approx(1e-6 / 12)


def test_gum_437_half_width_of_a_specification() -> None:
    """Print, example 2: a half-width of 15 uV on 0.928571 V makes u = 8.7 uV, u2 = 75 uV2."""
    _, u = mass(0.928571, no_check(0.0, 15e-6 / 0.928571))
    assert u == pytest.approx(8.7e-6, abs=0.05e-6)
    assert u**2 == pytest.approx(75e-12)


@pytest.mark.parametrize(
    ("assurance", "printed"), [(0.80, 0.84), (0.90, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)]
)
def test_jcgm_106_table_1(assurance: float, printed: float) -> None:
    assert quantile(assurance) == pytest.approx(printed, abs=0.005)


def test_jcgm_106_one_upper_limit() -> None:
    """Clause 7.3, example 1."""
    assert chance_below(-5.40, -5.47, 0.05) == pytest.approx(0.92, abs=0.005)


def test_jcgm_106_one_lower_limit() -> None:
    """Clause 7.3, example 2."""
    assert 1 - chance_below(490.0, 509.7, 8.6) == pytest.approx(0.99, abs=0.005)


def test_jcgm_106_two_limits() -> None:
    """Clause 7.4."""
    above, below = chance_below([16.3, 12.5], 13.6, 1.8)
    assert [above, below, above - below] == pytest.approx([0.93, 0.27, 0.66], abs=0.005)


def test_jcgm_106_guard_band_of_two_uncertainties() -> None:
    """Clause 8.3.2.3: at most 2.3 % of false acceptance."""
    assert chance_below(10.0, 10.0 + 2 * 1.7, 1.7) == pytest.approx(0.023, abs=0.0005)
