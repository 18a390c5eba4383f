"""Native charts: what every colony has today against what it wants and what it needs at least."""

from __future__ import annotations

from typing import TYPE_CHECKING

from apiarybook.handbook.half_months import HALF_MONTHS, half_month
from apiarybook.readers.limits import column_letters
from apiarybook.reckon.outlook.till_flow import MOST_APIARIES
from apiarybook.writers.looks import INK
from apiarybook.writers.places import quoted

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from xlsxwriter.chart import Chart
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

    from apiarybook.writers.fill import Cells
    from apiarybook.writers.places import Area, Places
    from apiarybook.writers.plan import Planned

MOST_CHARTS = {"Standing": 1, "Hefting": 1, "Till the flow": MOST_APIARIES}
"""Sheets on which the book itself draws charts, and how many at most."""
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


MARKERS = ("circle", "square", "diamond", "triangle", "x", "plus", "star", "long_dash")
FILLS = ("#1F3864", "#7A1F5C", "#0B5D4B")
"""Dark ones: some programs draw a mark without its edge, and a pale one is then not seen."""
MOST_HANDS = 12
"""Hands that have marks of their own; those after them share one."""


def hefting(workbook: Workbook, sheet: Worksheet, planned: Planned, places: Places, hands: Sequence[object]) -> None:
    """Put the chart of guess against scale under the table of hands.

    Args:
        workbook: the workbook in the making.
        sheet: the sheet Hefting.
        planned: its plan.
        places: where everything stands.
        hands: the hand of each guess that was also weighed, as the sheet of these lists them, hand after hand.
    """
    if not hands:
        return
    area = places.areas["Hefting"]
    chart = workbook.add_chart({"type": "scatter"})
    for number, (name, first, last) in enumerate(_of_hands(hands)):
        fill = FILLS[number % len(FILLS)]
        mark = {"type": MARKERS[number % len(MARKERS)], "size": 7, "border": {"color": fill}, "fill": {"color": fill}}
        chart.add_series({"name": name, **_points(area, first, last, "lift_judged"), "marker": mark})
    alike = {"name": "guess as the scale", "marker": {"type": "none"}, "line": {"color": "#7F7F7F", "width": 1}}
    chart.add_series({**alike, **_points(area, 0, len(hands) - 1, "lift_gross")})
    chart.set_title({"name": "Guess against scale", "name_font": {"size": 12, "color": INK}})
    for key, axis in (("lift_judged", chart.set_y_axis), ("lift_gross", chart.set_x_axis)):
        heading = f"={quoted(area.sheet)}!${column_letters(area.columns[key])}${area.first - 1}"
        axis({"name": heading, "major_gridlines": {"visible": True, "line": {"color": "#D9D9D9"}}})
    chart.set_legend({"position": "right"})
    chart.show_hidden_data()
    chart.set_size({"width": LEAST_WIDTH, "height": 420})
    text = "Each mark is a lift, guessed and weighed; on the line both agree. The figures stand in hidden columns."
    sheet.insert_chart(planned.last_row + 1, 0, chart, {"object_position": 3, "description": text})


def _of_hands(hands: Sequence[object]) -> Iterator[tuple[str, int, int]]:
    """Name of each hand, or of those that share a mark, and the first and last of its lifts, counted from 0."""
    names = [str(hand).casefold() for hand in hands]
    starts = [at for at, name in enumerate(names) if at == 0 or name != names[at - 1]]
    own, ends = starts[:MOST_HANDS], [*starts[1:], len(names)]
    for first, end in zip(own, ends, strict=False):
        yield str(hands[first]), first, end - 1
    if len(starts) > len(own):
        yield f"{len(starts) - len(own)} other hands", starts[len(own)], len(names) - 1


def _points(area: Area, first: int, last: int, down: str) -> dict[str, str]:
    across, up = (column_letters(area.columns[key]) for key in ("lift_gross", down))
    rows = area.first + first, area.first + last
    name = quoted(area.sheet)
    return {
        "categories": f"={name}!${across}${rows[0]}:${across}${rows[1]}",
        "values": f"={name}!${up}${rows[0]}:${up}${rows[1]}",
    }


ACROSS, WIDE, HIGH = 2, 640, 300
STEP = 5
"""The axis of such a chart ends at a multiple of it, in the book's unit, so that no whisker is cut."""
ROW_HEIGHT = 20
"""Pixels of a row; the charts stand below the table, two side by side."""


def apiaries(workbook: Workbook, sheet: Worksheet, planned: Planned, places: Places, cells: Cells) -> None:
    """Put a chart of the outlook for each apiary under the table of colonies.

    Args:
        workbook: the workbook in the making.
        sheet: the sheet Till the flow.
        planned: its plan.
        places: where everything stands.
        cells: the values of the book, to leave out half-months of which nothing is told.
    """
    name = planned.name
    for number, apiary in enumerate(one for one in cells.get((name, "of_apiary"), ()) if one is not None):
        told = [day for day in HALF_MONTHS if cells[name, half_month("mean", *day)][number] is not None]
        if told:
            chart = _outlook(workbook, places.areas[name], number, (told[0], told[-1]), str(apiary))
            top = max(_tip(cells, name, number, day) for day in told)
            grid = {"visible": True, "line": {"color": "#D9D9D9"}}
            chart.set_y_axis({"min": 0, "max": STEP * (1 + top // STEP), "major_unit": STEP, "major_gridlines": grid})
            down, right = divmod(number, ACROSS)
            below = planned.last_row + 1 + down * (HIGH // ROW_HEIGHT + 2)
            text = (
                f"Outlook of apiary {apiary}: columns its usual colony, whiskers its 80 % band, diamonds the lightest."
            )
            offset = {"x_offset": right * (WIDE + 20), "object_position": 3, "description": text}
            sheet.insert_chart(below, 0, chart, offset)


def _tip(cells: Cells, name: str, number: int, day: tuple[int, int]) -> float:
    """Where the whisker of a half-month ends, in the book's unit."""
    return sum(float(str(cells[name, half_month(what, *day)][number] or 0.0)) for what in ("mean", "above"))


def _outlook(workbook: Workbook, area: Area, number: int, ends: tuple[tuple[int, int], ...], apiary: str) -> Chart:
    row = area.first + number

    def across(what: str, at: int) -> str:
        first, last = (column_letters(area.columns[half_month(what, *day)]) for day in ends)
        return f"={quoted(area.sheet)}!${first}${at}:${last}${at}"

    days = across("mean", area.first - 1)
    chart = workbook.add_chart({"type": "column"})
    whiskers = {"plus_values": across("above", row), "minus_values": across("below", row)}
    chart.add_series(
        {
            "name": "usual colony, 80 % band",
            "categories": days,
            "values": across("mean", row),
            "fill": {"color": COLUMN},
            "gap": 60,
            "y_error_bars": {"type": "custom", **whiskers, "line": {"color": INK, "width": 1}},
        }
    )
    marks = workbook.add_chart({"type": "line"})
    diamond = {"type": "diamond", "size": 7, "border": {"color": INK}, "fill": {"color": INK}}
    lightest = {"name": "lightest colony", "categories": days, "values": across("lightest", row), "marker": diamond}
    marks.add_series({**lightest, "line": {"none": True}})
    chart.combine(marks)
    chart.set_title({"name": f"{apiary}: stores till the flow", "name_font": {"size": 12, "color": INK}})
    chart.set_legend({"position": "top"})
    chart.show_hidden_data()
    chart.set_size({"width": WIDE, "height": HIGH})
    return chart
