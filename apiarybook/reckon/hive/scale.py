"""From a scale's reading to mass: the scale's straight line and its uncertainty.

A checked scale is read back through the line fitted to its checks, reading = offset + slope x mass
(the calibration line of JCGM 100:2008, H.3, turned round). An unchecked scale is taken at its word
and pays for that with the half-width of its kind.
"""

from dataclasses import dataclass, fields
from math import sqrt

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from apiarybook.reckon.core.arrays import Floats, Measured, numbers

READOUT = 1 / sqrt(12)
"""Standard uncertainty of a reading in divisions (JCGM 100:2008, F.2.2.1)."""

RECTANGULAR = 1 / sqrt(3)
"""Standard uncertainty of a rectangular distribution in half-widths (JCGM 100:2008, 4.3.7)."""

LINE_PARAMETERS = 2
"""Degrees of freedom that a straight line takes."""


@dataclass(frozen=True, slots=True)
class ScaleLine:
    """How one or many scales read, each field a number or an array with one entry a scale.

    A reading r means the mass m = (r - offset)/slope, with
    u(m)^2 = max(least^2, fixed^2 + (relative m)^2 + (away (m - middle))^2).

    Args:
        offset: reading at no load [kg].
        slope: reading per mass [1].
        fixed: uncertainty that every mass carries [kg].
        relative: uncertainty in proportion to the mass [1].
        away: uncertainty in proportion to the distance from the middle of the checks [1].
        middle: mean of the known masses [kg].
        least: what the uncertainty never falls below [kg].

    >>> line = no_check(0.1, 0.01)
    >>> round(float(line.least), 4)
    0.0289
    """

    offset: Floats
    slope: Floats
    fixed: Floats
    relative: Floats
    away: Floats
    middle: Floats
    least: Floats


def no_check(division: ArrayLike, half_width: ArrayLike) -> ScaleLine:
    """Give the line of a scale that nobody has checked.

    Args:
        division: the scale's smallest step [kg].
        half_width: relative half-width of what scales of that kind are out by [1]; broadcasts.

    Returns:
        the line with offset 0 and slope 1.

    Source: JCGM 100:2008, 4.3.7 (rectangular half-width) and F.2.2.1 (readout).

    >>> kilograms, u = mass(30.0, no_check(0.1, 0.01))
    >>> float(kilograms), round(float(u), 3)
    (30.0, 0.176)
    """
    readout, share = np.broadcast_arrays(numbers(division) * READOUT, numbers(half_width) * RECTANGULAR)
    nought, one = np.zeros(readout.shape), np.ones(readout.shape)
    return ScaleLine(nought, one, readout, share, nought, nought, readout)


def fit_scales(checks: pd.DataFrame, scales: pd.DataFrame) -> pd.DataFrame:
    """Fit the lines of all scales to all their checks at once.

    Args:
        checks: one row a check, columns scale (code), known [kg], reading [kg]; rows with a blank or
            of an unknown scale are left out.
        scales: one row a scale, columns scale (code, each once), division [kg], half_width [1].

    Returns:
        frame indexed like scales with the seven columns of `ScaleLine` and checks, how many counted.

    Raises:
        pandas.errors.InvalidIndexError: a scale's code stands twice.

    >>> scales = pd.DataFrame({"scale": ["H1", "P1"], "division": [0.1, 0.05], "half_width": [0.01, 0.005]})
    >>> checks = pd.DataFrame({"scale": ["H1", "H1"], "known": [20.0, 20.0], "reading": [20.4, 20.4]})
    >>> fit_scales(checks, scales)[["slope", "checks"]].round(3).to_numpy().tolist()
    [[1.02, 2.0], [1.0, 0.0]]
    """
    place = pd.Index(scales["scale"]).get_indexer(pd.Index(checks["scale"]))
    masses, readings = numbers(checks["known"]), numbers(checks["reading"])
    used = (place >= 0) & np.isfinite(masses) & np.isfinite(readings)
    line = _fit(place[used], masses[used], readings[used], numbers(scales["division"]), numbers(scales["half_width"]))
    columns = {field.name: getattr(line, field.name) for field in fields(ScaleLine)}
    columns["checks"] = np.bincount(place[used], minlength=len(scales))
    return pd.DataFrame(columns, index=scales.index)


def _fit(scale: NDArray[np.intp], known: Floats, reading: Floats, division: Floats, half_width: Floats) -> ScaleLine:
    plain = no_check(division, half_width)
    smallest, largest = np.full(division.size, np.inf), np.full(division.size, -np.inf)
    np.minimum.at(smallest, scale, known)
    np.maximum.at(largest, scale, known)
    one = _one_size(scale, known, reading, plain.least)
    by_kind = plain.relative * np.where(np.isfinite(largest), largest, 0.0)
    many = _many_sizes(scale, known, reading, plain.least, by_kind)
    several = largest > smallest
    # Checks at no load alone say nothing about the slope.
    alike = (largest == smallest) & (largest > 0)
    names = [field.name for field in fields(ScaleLine)]
    parts = [[getattr(kind, name) for kind in (many, one, plain)] for name in names]
    return ScaleLine(*(np.select([several, alike], part[:2], part[2]) for part in parts))


def _sums(scale: NDArray[np.intp], count: int, *terms: Floats) -> list[Floats]:
    return [np.asarray(np.bincount(scale, weights=term, minlength=count), dtype=np.float64) for term in terms]


def _divide(above: Floats, below: Floats) -> Floats:
    """Give NaN where there is nothing to divide by: a line that cannot be known."""
    return np.asarray(above / np.where(below > 0, below, np.nan))


def _one_size(scale: NDArray[np.intp], known: Floats, reading: Floats, readout: Floats) -> ScaleLine:
    n, load, shown, squares, products = _sums(
        scale, readout.size, np.ones(known.size), known, reading, reading**2, known * reading
    )
    mean, size = _divide(shown, n), _divide(load, n)
    (scatter,) = _sums(scale, readout.size, (reading - mean[scale]) ** 2)
    of_mean = np.sqrt(np.where(n > 1, scatter / np.maximum(n - 1, 1) / np.maximum(n, 1), 0.0))
    nought = np.zeros(readout.size)
    relative = _divide(np.maximum(readout, of_mean), size)
    return ScaleLine(nought, _divide(squares, products), readout, relative, nought, nought, readout)


def _many_sizes(scale: NDArray[np.intp], known: Floats, reading: Floats, readout: Floats, by_kind: Floats) -> ScaleLine:
    n, load, shown = _sums(scale, readout.size, np.ones(known.size), known, reading)
    middle, mean = _divide(load, n), _divide(shown, n)
    x, y = known - middle[scale], reading - mean[scale]
    sxx, sxy = _sums(scale, readout.size, x**2, x * y)
    slope = _divide(sxy, sxx)
    (left,) = _sums(scale, readout.size, (y - slope[scale] * x) ** 2)
    freedom = n - LINE_PARAMETERS
    s = np.where(freedom > 0, np.sqrt(left / np.maximum(freedom, 1)), np.maximum(readout, by_kind))
    in_mass = _divide(s, slope)
    return ScaleLine(
        offset=mean - slope * middle,
        slope=slope,
        fixed=in_mass * np.sqrt(1 + 1 / np.maximum(n, 1)),
        relative=np.zeros(readout.size),
        away=_divide(in_mass, np.sqrt(sxx)),
        middle=middle,
        least=readout,
    )


def mass(reading: ArrayLike, line: ScaleLine) -> Measured:
    """Turn readings into masses through the scale's line.

    Args:
        reading: what the scale showed [kg], any shape.
        line: the scale's line; its fields broadcast against the readings.

    Returns:
        mass [kg] and its standard uncertainty [kg]; NaN for a blank reading and for a scale whose
        slope is not above nought.

    >>> kilograms, u = mass([20.0, np.nan], no_check(0.1, 0.01))
    >>> kilograms.tolist()
    [20.0, nan]
    """
    kilograms = _divide(numbers(reading) - line.offset, np.asarray(line.slope))
    square = line.fixed**2 + (line.relative * kilograms) ** 2 + (line.away * (kilograms - line.middle)) ** 2
    return kilograms, np.sqrt(np.maximum(line.least**2, square))
