"""Making the guide's pages from the layout, the catalogue of findings, the handbook and the commands.

Renew them with ``python -m apiarybook.guide.pages``.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from apiarybook.book.measure import measure
from apiarybook.checks.rules import CATALOGUE
from apiarybook.cli.commands import main
from apiarybook.handbook import Figure, handbook
from apiarybook.layout import BOOK, SETTINGS
from apiarybook.writers.machinery import figures, guide
from apiarybook.writers.set_by_people import ELSEWHERE, KINDS
from apiarybook.writers.user_additions import CARRIED

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

FOLDER = Path(__file__).parent
MADE = "_Made from the program's own declarations; change those, not this page._"


def table(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    r"""A table in Markdown.

    >>> print(table(["a", "b"], [[1, "x|y"]]))
    | a | b |
    | --- | --- |
    | 1 | x\|y |
    """
    lines = [headings, ["---"] * len(headings), *rows]
    return "\n".join("| " + " | ".join(_cell(one) for one in line) + " |" for line in lines)


def _cell(value: object) -> str:
    return str(value).replace("|", "\\|").replace("\n", " ")


def columns_page() -> str:
    """What belongs in every column that people type or read."""
    rows = guide(measure("kg")).to_dict("records")
    parts = ["# The columns of the book", MADE]
    for sheet in BOOK.sheets:
        of = [row for row in rows if row["sheet"] == sheet.name]
        if not of:
            continue
        told = [[row[key] for key in ("heading", "holds", "unit", "filled_by", "bounds", "prompt")] for row in of]
        headings = ["column", "holds", "unit", "filled by", "bounds", "what belongs there"]
        parts += [f"## {sheet.name}", f"One row is {sheet.row_is}.", table(headings, told)]
    parts += ["## The club's settings", table(["setting", "meaning"], [[s.heading, s.meaning] for s in SETTINGS])]
    return "\n\n".join(parts) + "\n"


def rules_page() -> str:
    """Every finding that the checks can make."""
    rows = [[f"`{e.name}`", e.weight.value, e.message, e.do] for e in CATALOGUE.values()]
    told = "hold: the row is not used until mended. ask: it is used, but somebody should look. note: worth knowing."
    return "\n\n".join(["# What the checks find", MADE, told, table(["rule", "weight", "says", "do"], rows)]) + "\n"


def _figure_row(name: str, figure: Figure) -> list[object]:
    low_high = f"{figure.low:g} to {figure.high:g}"
    return [name, f"{figure.value:g}", figure.unit, low_high, figure.kind, figure.source]


def figures_page() -> str:
    """Every figure of the handbook, with its unit, range, kind and source."""
    book = handbook()
    headings = ["figure", "value", "unit", "range", "kind", "source"]
    keys = ("name", "value", "unit", "low", "high", "kind", "source")
    model = [
        [
            row["name"],
            f"{row['value']:g}",
            row["unit"],
            f"{row['low']:g} to {row['high']:g}",
            row["kind"],
            row["source"],
        ]
        for row in figures(measure("kg"))[list(keys)].to_dict("records")
    ]
    parts = ["# The figures and their sources", MADE, "## The model", table(headings, model)]
    for hive in book.hive_types.values():
        names = ("tare", "tare_spread", "bees", "pollen", "want", "full_comb", "comb_side", "frames")
        rows = [_figure_row(name.replace("_", " "), getattr(hive, name)) for name in names]
        rows += [_figure_row(f"want in {region}", figure) for region, figure in hive.want_by_region.items()]
        parts += [f"## {hive.name}", table(headings, rows)]
    for title, things in (("Feeds", book.feeds), ("Extras", book.extras)):
        fields = {"Feeds": ("solids", "eta", "pack"), "Extras": ("mass",)}[title]
        rows = [
            _figure_row(f"{name}: {field}", getattr(one, field)) for name, one in things.items() for field in fields
        ]
        parts += [f"## {title}", table(headings, rows)]
    parts += ["## What may lie behind an unexplained change", *_causes()]
    parts += ["## Winter profiles", *_profiles()]
    return "\n\n".join(parts) + "\n"


def _causes() -> list[str]:
    book = handbook()
    headings = ["figure", "value", "unit", "range", "kind", "source"]
    rows = [_figure_row(name.replace("_", " "), figure) for name, figure in book.judging.items()]
    causes = [
        [
            cause.name,
            cause.way,
            cause.after,
            f"{cause.weight.value:g}",
            f"{cause.least.value:g} to {cause.most.value:g}",
            f"{cause.starts.day}.{cause.starts.month}. to {cause.ends.day}.{cause.ends.month}.",
            cause.weight.source,
        ]
        for cause in book.causes.values()
    ]
    told = ["cause", "gain or loss", "at the next weighing", "weight", "mass, kg", "season", "source"]
    return [table(told, causes), table(headings, rows)]


def _profiles() -> list[str]:
    months = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
    parts = []
    for profile in handbook().profiles.values():
        blocks = (("eaten", profile.consumption), ("bees", profile.bees), ("brood", profile.brood))
        rows = [[name, one.unit, *(f"{value:g}" for value in one.values), one.kind] for name, one in blocks]
        days = [[key.replace("_", " "), f"{d.day}.{d.month}.", d.kind, d.source] for key, d in profile.dates.items()]
        parts += [f"### {profile.title}", table(["", "unit", *months, "kind"], rows)]
        parts += [
            f"Source of what is eaten: {profile.consumption.source}.",
            table(["day", "on", "kind", "source"], days),
        ]
    return parts


def commands_page() -> str:
    """Every command with its own help."""
    parts = ["# The commands", MADE]
    whole = click.Context(main, info_name="apiarybook", **main.context_settings)
    for name in sorted(main.commands):
        command = main.commands[name]
        context = click.Context(command, info_name=name, parent=whole, terminal_width=100, max_content_width=100)
        parts += [f"## {name}", f"```text\n{command.get_help(context)}\n```"]
    return "\n\n".join(parts) + "\n"


def additions_page() -> str:
    """What becomes of all that people add to a book or set in it."""
    told = "told, and the new book is put beside the old one"
    rows = [[one, "carried over"] for one in CARRIED]
    rows += [[one, told] for one in (*KINDS, *ELSEWHERE)]
    parts = [
        "# What becomes of what you add to a book",
        MADE,
        "Whenever a run writes a book anew, it carries over what people typed, and of what they added this:",
        table(["what", "what becomes of it"], rows),
        "How a number or date is shown goes back to how the book shows it; so do folded columns and sheets in view.",
        "A book that an older program wrote is made anew without being held against it.",
    ]
    return "\n\n".join(parts) + "\n"


PAGES = {
    "additions.md": additions_page,
    "columns.md": columns_page,
    "rules.md": rules_page,
    "figures.md": figures_page,
    "commands.md": commands_page,
}


if __name__ == "__main__":
    for name, make in PAGES.items():
        (FOLDER / name).write_text(make(), encoding="utf-8")
