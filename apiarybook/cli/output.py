"""What commands say: findings in words, one slip repeated down a column once; for machines one JSON object."""

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


DONE, HELD = 0, 1
"""Exit codes: all is well, and something is held."""
TITLES = {
    "hold": "Held: not used until mended",
    "ask": "Asked: used, but somebody should look",
    "note": "Noted",
}


def groups(findings: list[Finding]) -> list[list[Finding]]:
    """Findings that say the same and ask for the same together, in the order in which they first stand.

    Args:
        findings: all of them.

    Returns:
        groups, each of at least one.
    """
    together: dict[tuple[str, ...], list[Finding]] = {}
    for finding in findings:
        key = (finding.file, finding.sheet, finding.rule, finding.heading, finding.message, finding.do)
        together.setdefault(key, []).append(finding)
    return list(together.values())


def say_findings(findings: list[Finding]) -> None:
    """Print all findings, the weightiest first.

    Args:
        findings: all of them.
    """
    for weight, title in TITLES.items():
        of = [finding for finding in findings if finding.weight == weight]
        if not of:
            continue
        click.echo("")
        click.echo(click.style(f"{title} ({len(of)})", bold=True))
        for group in groups(of):
            _say(group)


def _say(group: list[Finding]) -> None:
    first = group[0]
    cells = ", ".join(finding.cell for finding in group)
    about = ", ".join(filter(None, (first.colony, first.keeper, first.day))) if len(group) == 1 else ""
    click.echo(f"  {first.sheet} {cells}".rstrip() + (f" ({about})" if about else "") + f": {first.message}")
    if first.weight != "note":
        click.echo(f"    -> {first.do}")


def held_line(findings: list[Finding], book: str) -> str:
    """What a command that does not list findings says of held rows, empty if there are none.

    Args:
        findings: all of them.
        book: name of the book's file.
    """
    count = sum(finding.weight == "hold" for finding in findings)
    those = "1 entry is held and its row does" if count == 1 else f"{count} entries are held and their rows do"
    return f'{those} not count; to see which: apiarybook check "{book}"' if count else ""


def exit_code(findings: list[Finding]) -> int:
    """The exit code of a command that found these.

    >>> exit_code([])
    0
    """
    return HELD if any(finding.weight == "hold" for finding in findings) else DONE


def say_counts(counts: list[dict[str, object]]) -> None:
    """Print how every row was counted, a line a sheet that holds any.

    Args:
        counts: one a sheet.
    """
    shown = [count for count in counts if count["rows"] != count["blank"] and count["sheet"] != "Settings"]
    width = max((len(str(count["sheet"])) for count in shown), default=0)
    click.echo("")
    click.echo(click.style("Rows", bold=True))
    for count in shown:
        filled = int(str(count["rows"])) - int(str(count["blank"]))
        became = f"{count['accepted']} used + {count['held']} held + {count['refused']} refused"
        click.echo(f"  {str(count['sheet']).ljust(width)}  {filled} filled = {became}; {count['blank']} blank")


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
