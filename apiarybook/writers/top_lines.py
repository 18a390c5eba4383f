"""The lines above the heading of the sheets that members read: what they show, for which day, and what is left out."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from apiarybook.layout.formulas.feedings import bought
from apiarybook.layout.formulas.parts import PIN
from apiarybook.layout.settings import PINNED
from apiarybook.layout.words import WITH_CHART
from apiarybook.reckon.core.winter import serial
from apiarybook.reckon.outlook.till_flow import winter_says
from apiarybook.writers.charts import MOST_COLONIES
from apiarybook.writers.data_validation import day_rule
from apiarybook.writers.looks import GREY, SHORT_DAY, checked, number_format
from apiarybook.writers.plan import OWN_FIGURES, PIN_PLACE, TODAY, figure_names

if TYPE_CHECKING:
    from collections.abc import Mapping

    from xlsxwriter.worksheet import Worksheet

    from apiarybook.writers.places import Places
    from apiarybook.writers.plan import Planned
    from apiarybook.writers.sheets import Sheets

    Totals = Mapping[str, tuple[float, bool]]

SYRUP = "syrup"
PACKS = {"forecast_packs": "forecast in packs of ", "liquid_packs": "still due: packs of "}
"""Headings that go on with what is bought: sugar, or syrup that is ready."""
AS_AT, NOT_COUNTED = "reckoned as at", "rows not counted until the next run"
MESSAGE = 5
"""Column, from 0, of what is said of rows that do not count."""
PIN_PROMPT = "Blank: the book reckons for today. A day typed here holds it there; clear the cell to go on with today."
BEYOND = 2000
"""Rows below the ready-made ones in which typed rows are still noticed."""


def write_top(sheet: Worksheet, planned: Planned, book: Sheets) -> None:
    """Write the lines above a heading; the last one stays blank, lest a sort takes the headings for a row.

    Args:
        sheet: where.
        planned: the sheet's plan.
        book: the workbook in the making.
    """
    looks, content = book.looks, book.content
    sheet.set_row(0, 24)
    says = (planned.says or planned.name).format(unit=content.unit, winter=winter_says(content.season.standing))
    if planned.rows > MOST_COLONIES:
        says = says.replace(WITH_CHART, "")
    title, _, below = says.strip().partition("\n")
    sheet.write_string(0, 0, title, looks.make(bold=True, font_size=12))
    if below:
        sheet.write_string(2, 0, below, looks.make())
    sheet.write_string(1, 0, AS_AT, looks.make())
    day = looks.make(num_format=SHORT_DAY, align="left")
    sheet.write_formula(1, 1, f"={book.places.figures['as_at']}", day, serial(content.as_at))
    sheet.write_formula(1, MESSAGE, _uncounted(book.places), looks.make(bold=True), "")
    if "Standing" in {name for name, _ in planned.columns}:
        _write_pin(sheet, book)


def _write_pin(sheet: Worksheet, book: Sheets) -> None:
    """The cell that holds the book to a day: blank while it follows the calendar."""
    row, number = PIN_PLACE
    looks, typed = book.looks, book.content.settings.get("as_at")
    look = looks.make(num_format=SHORT_DAY, align="left", border=1, border_color=GREY, locked=False)
    sheet.write_string(row, number - 1, PINNED, looks.make(align="right"))
    shown = serial(typed) if isinstance(typed, date) else ""
    checked(sheet.write_formula(row, number, book.places.compile(PIN, "Standing", row + 1), look, shown))
    rule = day_rule(book.content, in_winter=True) | {"input_title": PINNED, "input_message": PIN_PROMPT}
    checked(sheet.data_validation(row, number, row, number, rule))


def write_own_figures(sheet: Worksheet, planned: Planned, book: Sheets) -> None:
    """Write on the sheet Figures what the book works out itself: its day, and whether rows have been moved.

    Args:
        sheet: where.
        planned: the sheet's plan.
        book: the workbook in the making.
    """
    number = [column.key for _, column in planned.columns].index("value")
    shown = book.cells[planned.name, "value"]
    for at, (name, (template, _)) in enumerate(OWN_FIGURES.items(), len(figure_names())):
        row = planned.first_row - 1 + at
        formula = book.places.compile(template, planned.name, row + 1)
        look = book.looks.make(num_format="yyyy-mm-dd" if name == TODAY else "0", align="left")
        checked(sheet.write_formula(row, number, formula, look, shown[at]))


def _uncounted(places: Places) -> str:
    parts = []
    for name, proof in (("Weighings", "rank_scale"), ("Feedings", "usable")):
        area = places.areas[name]
        below = area.cells("colony", area.last + 1, area.last + BEYOND)
        inside, shown = places.whole(name, "colony"), places.whole(name, proof)
        parts.append(f'COUNTA({below})+COUNTA({inside})-COUNTIFS({inside},"<>",{shown},">=0")')
    count = "+".join(parts)
    return f'=IF({count}=0,"",({count})&" {NOT_COUNTED}")'


def write_totals(sheet: Worksheet, planned: Planned, book: Sheets, told: Totals, feed: str) -> None:
    """Write the sums of all who order above the headings of Feed order, and into these what is bought in packs.

    Args:
        sheet: where.
        planned: the sheet's plan.
        book: the workbook in the making.
        told: by column key the sum as reckoned, and whether the book adds it up itself; errors that colonies share do
            not, so that what is to be added to be sure is no sum.
        feed: what is bought for the autumn, sugar or syrup.
    """
    row, looks, places = planned.heading_row - 3, book.looks, book.places
    sheet.write_string(row, 0, "all who order", looks.make(bold=True))
    for number, (name, column) in enumerate(planned.columns):
        if column.key not in told:
            continue
        value, live = told[column.key]
        look = looks.make(bold=True, num_format=number_format(column))
        if column.key.endswith("_packs"):
            look = looks.make(bold=True, num_format="0")
            whole = f"=ROUNDUP(ROUND(SUM({places.whole(name, column.key)}),6),0)"
            sheet.write_formula(row, number, whole, look, float(np.ceil(np.round(value, 6))))
        elif live:
            sheet.write_formula(row, number, f"=SUM({places.whole(name, column.key)})", look, value)
        else:
            sheet.write_number(row, number, value, look)
        if column.key in PACKS:
            text = places.compile(f'"{PACKS[column.key]}"&{bought("autumn_feed", SYRUP)}', planned.name, row + 1)
            sheet.write_formula(planned.heading_row - 1, number, text, looks.heading(column), PACKS[column.key] + feed)
