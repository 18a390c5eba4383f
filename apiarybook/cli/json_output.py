"""What commands say to machines: one JSON object on standard output."""

from __future__ import annotations

import json
import math
from datetime import date
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from collections.abc import Mapping

    from apiarybook.checks.finding import Finding
    from apiarybook.reckon.season import Season

FINDING_KEYS = (
    "rule",
    "weight",
    "file",
    "sheet",
    "cell",
    "heading",
    "value",
    "message",
    "do",
    "suggestion",
    "likelihood",
)
DATES = ("by_date", "should_on", "weighed_on")
STANDING_KEYS = (
    "colony",
    "date",
    "how",
    "gross",
    "gross_u",
    "tare",
    "extras",
    "feeder_left",
    "bees",
    "brood",
    "pollen",
    "unripe_water",
    "stores",
    "stores_today",
    "stores_u",
    "want_today",
    "least",
    "short_by",
    "chance_out",
    "chance_short",
    "verdict",
    "feed_stores",
    "feed_kind",
    "feed_mass",
    "feed_volume_l",
    "sugar",
    "water",
    "fills",
    "should_weigh",
    "should_on",
    "because",
    "by_date",
)
NAMES = {"date": "weighed_on", "feed_volume_l": "feed_volume"}


def say_json(told: Mapping[str, object]) -> None:
    """Print one object; numbers that do not exist are null."""
    click.echo(json.dumps(told, ensure_ascii=False, allow_nan=False, default=str))


def findings_json(findings: list[Finding]) -> list[dict[str, object]]:
    """Findings as machines read them."""
    return [{key: getattr(finding, key) for key in FINDING_KEYS} for finding in findings]


def standing_json(season: Season) -> list[dict[str, object]]:
    """One object a colony: masses in kg, volumes in l, dates as text.

    Args:
        season: what was reckoned.

    Returns:
        the colonies that have a code, in the order of the book.
    """
    rows = season.standing[season.standing["colony"].notna()].to_dict("records")
    return [{key: _plain(key, row[NAMES.get(key, key)]) for key in STANDING_KEYS} for row in rows]


def _plain(key: str, value: object) -> object:
    from apiarybook.reckon.core.winter import day_of

    if value is None or value == "" or (isinstance(value, float) and math.isnan(value)):
        return None
    if NAMES.get(key, key) in DATES:
        return day_of(float(str(value))).isoformat()
    if isinstance(value, date | str):
        return str(value)
    return float(str(value))
