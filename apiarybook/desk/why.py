"""Why a figure is what it is: its arithmetic as a list of terms, where each comes from, and the rows it rests on."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from apiarybook.book.measure import measure
from apiarybook.desk.front import shown
from apiarybook.errors import CannotRead
from apiarybook.gather.evidence import rows_of
from apiarybook.layout import BOOK

if TYPE_CHECKING:
    from collections.abc import Iterator

    from apiarybook.club.reckoned import Reckoned

STEPS: tuple[tuple[str, tuple[tuple[str, str, str], ...]], ...] = (
    (
        "Stores on the day of the weighing",
        (
            ("", "gross", "the weighing, through the scale's checks and the way it was weighed"),
            ("less", "tare", "hive type, or the colony's own tare"),
            ("less", "extras", "what else stood on or in the hive, list Extras"),
            ("less", "feeder_left", "feed left in the feeder, as looked at"),
            ("less", "bees", "frames of bees counted, else the hive type by month"),
            ("less", "brood", "frames of brood counted, else the hive type by month"),
            ("less", "pollen", "hive type"),
            ("less", "unripe_water", "water that taken feed still has to lose"),
            ("is", "stores", ""),
        ),
    ),
    (
        "Stores today",
        (
            ("", "stores", "as above"),
            ("and", "fed_since", "feed taken since, by Feedings and Feed kinds"),
            ("less", "eaten_since", "by the calendar of the winter and the colony's own rate"),
            ("is", "stores_today", ""),
            ("give or take", "stores_u", "all uncertainties together, one standard uncertainty"),
        ),
    ),
    (
        "Want, least and chance",
        (
            ("", "want_today", "the hive type's want, and what is eaten till winter starts"),
            ("less", "stores_today", "as above"),
            ("is", "short_by", "at most what the comb can hold"),
            ("least", "least", "the reserve, and what is eaten until feed can reach the colony"),
            ("chance", "chance_out", "that it runs out before feed can reach it"),
            ("chance", "chance_short", "that it is short by more than a kilogram"),
        ),
    ),
)
"""Terms in their order: how each enters, its key on Standing, and where it comes from."""


@dataclass(frozen=True, slots=True)
class Term:
    """One line of the arithmetic."""

    how: str
    what: str
    value: str
    source: str
    is_sum: bool


@dataclass(frozen=True, slots=True)
class Why:
    """A colony's arithmetic, and the rows behind it: day, sheet, what they say, and their place."""

    colony: str
    verdict: str
    how: str
    steps: tuple[tuple[str, tuple[Term, ...]], ...]
    sources: tuple[tuple[str, str, str], ...]
    rows: tuple[tuple[str, str, str, str], ...]


def why(reckoned: Reckoned, colony: str) -> Why:
    """Lay out why a colony stands as it does.

    Args:
        reckoned: the book, reckoned.
        colony: its code, in any case.

    Raises:
        CannotRead: no such colony stands in the book.
    """
    standing = reckoned.season.standing
    found = standing[standing["colony"].map(lambda code: str(code or "").casefold()) == colony.casefold()]
    if not colony or found.empty:
        raise CannotRead(f"{reckoned.book.name}: no colony {colony} stands on Colonies.")
    row = {str(key): value for key, value in found.iloc[0].to_dict().items()}
    steps = tuple((title, tuple(_terms(reckoned, row, of))) for title, of in STEPS)
    return Why(
        colony=str(row["colony"]),
        verdict=str(row["verdict"]),
        how=str(row["how"] or ""),
        steps=tuple((title, of) for title, of in steps if of),
        sources=tuple(_sources(reckoned, row)),
        rows=tuple(sorted(rows_of(reckoned.book, str(row["colony"])))),
    )


def _terms(reckoned: Reckoned, row: dict[str, object], of: tuple[tuple[str, str, str], ...]) -> Iterator[Term]:
    units, sheet = measure(reckoned.book.unit), BOOK["Standing"]
    for how, key, source in of:
        value = row.get(key)
        if key not in sheet.by_key or not isinstance(value, (int, float)) or math.isnan(value):
            continue
        column = sheet[key]
        said = shown(value, column, units)
        unit = "" if said.endswith("%") else f" {units.shown(column.kind, column.unit)}"
        yield Term(how, column.heading, f"{said}{unit}", source, is_sum=how == "is")


def _sources(reckoned: Reckoned, row: dict[str, object]) -> Iterator[tuple[str, str, str]]:
    """The figures of the colony's hive type as the list has them: what, how much, and from where."""
    table = reckoned.book.tables["Hive types"]
    at = int(float(str(row["type_row"]))) - 1
    if not 0 <= at < len(table.raw):
        return
    listed = table.raw.iloc[at]
    units = measure(reckoned.book.unit)
    yield "hive type", str(listed["name"]), str(listed.get("source") or "")
    for key in ("tare", "want", "bees", "pollen", "full_comb"):
        if key in listed and listed[key] is not None:
            column = table.sheet[key]
            yield units.heading(column), str(listed[key]), ""
