"""Findings in words for a terminal: grouped, so that one slip repeated down a column is said once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from apiarybook.checks.finding import Finding

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
