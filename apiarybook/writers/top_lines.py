"""The lines above the heading of the sheets that members read: what they show, for which day, and what is left out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from apiarybook.readers.limits import column_letters
from apiarybook.reckon.core.winter import serial
from apiarybook.reckon.outlook.till_flow import MOST_APIARIES
from apiarybook.writers.looks import number_format
from apiarybook.writers.places import quoted

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from xlsxwriter.worksheet import Worksheet

    from apiarybook.writers.looks import Looks
    from apiarybook.writers.places import Places
    from apiarybook.writers.plan import Planned

    Totals = Mapping[str, tuple[float, bool]]

BEYOND = 2000
"""Rows below the ready-made ones in which typed rows are still noticed."""


def write_top(sheet: Worksheet, looks: Looks, planned: Planned, places: Places, as_at: date, unit: str) -> None:
    """Write the three lines above a heading.

    Args:
        sheet: where.
        looks: the formats.
        planned: the sheet's plan.
        places: where everything stands.
        as_at: the day for which the book reckons.
        unit: the book's unit of mass.
    """
    sheet.set_row(0, 24)
    sheet.write_string(
        0,
        0,
        (planned.says or planned.name).format(unit=unit, most=MOST_APIARIES),
        looks.make(bold=True, font_size=12),
    )
    sheet.write_string(1, 0, "reckoned as at", looks.make())
    sheet.write_formula(
        1, 1, f"={places.figures['as_at']}", looks.make(num_format="yyyy-mm-dd", align="left"), serial(as_at)
    )
    sheet.write_formula(2, 0, _uncounted(places), looks.make(bold=True), "")


def _uncounted(places: Places) -> str:
    parts = []
    for name, proof in (("Weighings", "rank_scale"), ("Feedings", "usable")):
        area = places.areas[name]
        letter = column_letters(area.columns["colony"])
        below = f"{quoted(area.sheet)}!${letter}${area.last + 1}:${letter}${area.last + BEYOND}"
        inside, shown = places.whole(name, "colony"), places.whole(name, proof)
        parts.append(f'COUNTA({below})+COUNTA({inside})-COUNTIFS({inside},"<>",{shown},">=0")')
    count = "+".join(parts)
    return f'=IF({count}=0,"",({count})&" rows not counted until the next run")'


def write_totals(sheet: Worksheet, looks: Looks, planned: Planned, places: Places, told: Totals) -> None:
    """Write the sums of all who order above the headings of Feed order.

    Args:
        sheet: where.
        looks: the formats.
        planned: the sheet's plan.
        places: where everything stands.
        told: by column key the sum as reckoned, and whether the book adds it up itself; errors that colonies share do
            not, so that what is to be added to be sure is no sum.
    """
    row = planned.heading_row - 2
    sheet.write_string(row, 0, "all who order", looks.make(bold=True))
    for number, (name, column) in enumerate(planned.columns):
        if column.key not in told:
            continue
        value, live = told[column.key]
        look = looks.make(bold=True, num_format=number_format(column))
        if live:
            sheet.write_formula(row, number, f"=SUM({places.whole(name, column.key)})", look, value)
        else:
            sheet.write_number(row, number, value, look)
