"""The round list in a few lines: which apiary to visit by when, whom to heft, whom to carry fondant to."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from apiarybook.reckon.outlook.till_flow import winter_says
from apiarybook.reckon.standing.verdict import day_words

if TYPE_CHECKING:
    from apiarybook.reckon.season import Season

VISITS, COLONIES = 6, 6
"""Visits that are printed, and colonies named in each; the sheet Round list has all."""


def say_rounds(season: Season) -> None:
    """Print the next visits; nothing out of season.

    Args:
        season: what was reckoned.
    """
    rows = season.round_list.to_dict("records")
    if not rows:
        return
    click.echo(click.style("Next rounds", bold=True))
    for row in rows[:VISITS]:
        fondant = f"; carry fondant to {_short(str(row['fondant']))}" if row["fondant"] else ""
        hefted = f"heft {_short(str(row['heft']))}" if row["heft"] else "nothing to heft"
        click.echo(f"  by {day_words(row['visit_on'])}, {row['apiary']}: {hefted}{fondant}")
    if len(rows) > VISITS:
        click.echo(f"  and {len(rows) - VISITS} more: see the sheet Round list")
    click.echo(f"  {winter_says(season.standing)}")


def _short(names: str) -> str:
    """The first few of the names.

    >>> _short("A, B, C, D, E, F, G, H")
    'A, B, C, D, E, F and 2 more'
    """
    every = names.split(", ")
    more = f" and {len(every) - COLONIES} more" if len(every) > COLONIES else ""
    return ", ".join(every[:COLONIES]) + more


def rounds_json(season: Season) -> list[dict[str, object]]:
    """One object a visit: masses in kg, dates as text.

    Args:
        season: what was reckoned.

    Returns:
        the visits, the soonest first.
    """
    from apiarybook.reckon.core.winter import day_of

    return [
        {
            "visit_on": day_of(row["visit_on"]).isoformat(),
            "apiary": row["apiary"],
            "member": row["member"] or None,
            "heft": str(row["heft"]).split(", ") if row["heft"] else [],
            "fondant": str(row["fondant"]).split(", ") if row["fondant"] else [],
            "fondant_mass": float(row["fondant_mass"]),
        }
        for row in season.round_list.to_dict("records")
    ]
