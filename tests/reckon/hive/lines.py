"""Lines of scales, one alone or those of a frame, as the tests of scales ask for them."""

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from apiarybook.reckon.core.arrays import numbers
from apiarybook.reckon.hive.scale import ScaleLine, fit_scales


def line_of(lines: pd.DataFrame) -> ScaleLine:
    return ScaleLine(*(numbers(lines[key]) for key in ScaleLine.__slots__))


def fit_line(known: ArrayLike, reading: ArrayLike, division: float, half_width: float) -> ScaleLine:
    """The line of one scale by its checks, each field a number."""
    checks = pd.DataFrame({"scale": "A", "known": numbers(known), "reading": numbers(reading)})
    found = fit_scales(checks, pd.DataFrame({"scale": ["A"], "division": division, "half_width": half_width}))
    return ScaleLine(*(np.float64(found[key].iloc[0]) for key in ScaleLine.__slots__))
