"""The lines above the heading of the sheets that members read: what they show, for which day, and what is left out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from apiarybook.files.limits import column_letters
from apiarybook.files.places import quoted
from apiarybook.reckon.winter import serial

if TYPE_CHECKING:
    from datetime import date

    from xlsxwriter.worksheet import Worksheet

    from apiarybook.files.looks import Looks
    from apiarybook.files.places import Places
    from apiarybook.files.plan import Planned

SAYS = {
    "Standing": "How each colony stands today; chart below. Enough is about food only: not queen, health or mites.",
    "My colonies": "Your colonies and how each stands today. Enough is about food only: not queen, health or mites.",
    "Feed order": "Feed that the colonies still need, by apiary. Forecasts become orders only when you order.",
}
BEYOND = 2000
"""Rows below the ready-made ones in which typed rows are still noticed."""


def write_top(sheet: Worksheet, looks: Looks, planned: Planned, places: Places, as_at: date) -> None:
    """Write the three lines above a heading.

    Args:
        sheet: where.
        looks: the formats.
        planned: the sheet's plan.
        places: where everything stands.
        as_at: the day for which the book reckons.
    """
    sheet.set_row(0, 24)
    sheet.write_string(0, 0, SAYS.get(planned.name, planned.name), looks.make(bold=True, font_size=12))
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
