"""Native charts: what every colony has today against what it wants and what it needs at least."""

from __future__ import annotations

from typing import TYPE_CHECKING

from apiarybook.files.limits import column_letters
from apiarybook.files.looks import INK
from apiarybook.files.places import quoted

if TYPE_CHECKING:
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

    from apiarybook.files.places import Places
    from apiarybook.files.plan import Planned

PIXELS_A_COLONY = 12
COLUMN = "#9DB0D6"
"""Light enough that the dark marks show on it as well as beside it."""
LEAST_WIDTH, MOST_WIDTH = 640, 2400


def standing(workbook: Workbook, sheet: Worksheet, planned: Planned, places: Places) -> None:
    """Put the chart of stores beside the table.

    Args:
        workbook: the workbook in the making.
        sheet: the sheet Standing.
        planned: its plan.
        places: where everything stands.
    """
    chart = workbook.add_chart({"type": "column"})
    names = "=" + places.whole("Standing", "colony")
    chart.add_series(
        {
            "name": "stores today",
            "categories": names,
            "values": "=" + places.whole("Standing", "stores_today"),
            "fill": {"color": COLUMN},
            "gap": 60,
        }
    )
    marks = workbook.add_chart({"type": "line"})
    for key, name, kind in (("want_today", "want today", "long_dash"), ("least", "least", "diamond")):
        marks.add_series(
            {
                "name": name,
                "categories": names,
                "values": "=" + places.whole("Standing", key),
                "line": {"none": True},
                "marker": {"type": kind, "size": 8, "border": {"color": INK}, "fill": {"color": INK}},
            }
        )
    chart.combine(marks)
    chart.set_title({"name": "Stores today against want and least", "name_font": {"size": 12, "color": INK}})
    area = places.areas["Standing"]
    heading = f"={quoted(area.sheet)}!${column_letters(area.columns['stores_today'])}${planned.heading_row}"
    chart.set_y_axis({"name": heading, "major_gridlines": {"visible": True, "line": {"color": "#D9D9D9"}}})
    chart.set_x_axis({"num_font": {"rotation": -90, "size": 7}})
    chart.set_legend({"position": "top"})
    chart.show_hidden_data()
    width = min(MOST_WIDTH, max(LEAST_WIDTH, PIXELS_A_COLONY * planned.rows))
    chart.set_size({"width": width, "height": 360})
    text = "Columns: stores today of each colony. Dashes: want today. Diamonds: least. The figures stand in the table."
    sheet.insert_chart(planned.last_row + 1, 0, chart, {"object_position": 3, "description": text})
