"""Figures of the trade, each with its unit, range and source."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

from apiarybook.handbook.figures import (
    REGIONS,
    Cause,
    DensityTable,
    Extra,
    Feed,
    Figure,
    Frame,
    Handbook,
    HiveType,
    Method,
    MonthDay,
    Months,
    Profile,
    SaturationTable,
    ScaleKind,
)
from apiarybook.handbook.load import load_handbook

__all__ = [
    "REGIONS",
    "Cause",
    "DensityTable",
    "Extra",
    "Feed",
    "Figure",
    "Frame",
    "Handbook",
    "HiveType",
    "Method",
    "MonthDay",
    "Months",
    "Profile",
    "SaturationTable",
    "ScaleKind",
    "handbook",
    "load_handbook",
]


@cache
def handbook() -> Handbook:
    """Handbook that ships with the package, read once.

    >>> handbook().hive_types["National single"].frames.value
    11.0
    """
    return load_handbook(files("apiarybook.handbook"))
