"""Native charts: what every colony has today against what it wants and what it needs at least."""

from __future__ import annotations

from typing import TYPE_CHECKING

from apiarybook.handbook.half_months import HALF_MONTHS, half_month
from apiarybook.readers.limits import column_letters
from apiarybook.reckon.outlook.till_flow import MOST_APIARIES
from apiarybook.writers.looks import INK

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from xlsxwriter.chart import Chart
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

    from apiarybook.writers.fill import Cells
    from apiarybook.writers.places import Area
    from apiarybook.writers.plan import Planned
    from apiarybook.writers.sheets import Sheets

PIXELS_A_COLONY = 12
COLUMN = "#9DB0D6"
"""Light enough that the dark marks show on it as well as beside it."""
GRID = {"visible": True, "line": {"color": "#D9D9D9"}}
LEAST_WIDTH, MOST_WIDTH = 640, 2400
MOST_COLONIES = MOST_WIDTH // PIXELS_A_COLONY
"""Colonies that a person can tell apart in one chart; a book of more has none."""


def _marker(kind: str, size: int) -> dict[str, object]:
    return {"type": kind, "size": size, "border": {"color": INK}, "fill": {"color": INK}}


def standing(book: Sheets, sheet: Worksheet, planned: Planned) -> None:
    """Put the chart of stores beside the table, unless there are too many colonies to tell apart.

    Args:
        book: the workbook in the making.
        sheet: the sheet Standing.
        planned: its plan.
    """
    if planned.rows > MOST_COLONIES:
        return
    places = book.places
    chart, marks = (book.workbook.add_chart({"type": kind}) for kind in ("column", "line"))
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
    for key, name, kind in (("want_today", "want today", "long_dash"), ("least", "least", "diamond")):
        marks.add_series(
            {
                "name": name,
                "categories": names,
                "values": "=" + places.whole("Standing", key),
                "line": {"none": True},
                "marker": _marker(kind, 8),
            }
        )
    chart.combine(marks)
    chart.set_title({"name": "Stores today against want and least", "name_font": {"size": 12, "color": INK}})
    heading = places.areas["Standing"].cell("stores_today", planned.heading_row)
    chart.set_y_axis({"name": f"={heading}", "major_gridlines": GRID})
    chart.set_x_axis({"num_font": {"rotation": -90, "size": 7}})
    chart.set_legend({"position": "top"})
    chart.show_hidden_data()
    width = min(MOST_WIDTH, max(LEAST_WIDTH, PIXELS_A_COLONY * planned.rows))
    chart.set_size({"width": width, "height": 360})
    text = "Columns: stores today of each colony. Dashes: want today. Diamonds: least. The figures stand in the table."
    sheet.insert_chart(planned.heading_row, len(planned.columns), chart, {"object_position": 2, "description": text})


MOST_HANDS = 12
"""Hands that have a chart of their own: those with most lifts."""
HANDS_ACROSS, HAND_WIDE, HAND_HIGH, HAND_STEP = 3, 420, 300, 10
"""So many charts of hands stand side by side; their axes end at multiples of the step, in the book's unit."""


def hefting(book: Sheets, sheet: Worksheet, planned: Planned) -> None:
    """Put a chart of guess against scale for each hand under what is seen of the tables, all on the same axes.

    Args:
        book: the workbook in the making; the sheet lists the lifts hand after hand, those with a word last.
        sheet: the sheet Hefting.
        planned: its plan.
    """
    cells = book.cells
    hands, said, judged, gross = (
        cells.get((planned.name, f"lift_{key}"), ()) for key in ("by", "word", "judged", "gross")
    )
    guessed = [number for number, word in enumerate(said) if hands[number] is not None and word is None]
    if not guessed:
        return
    area, most = book.places.areas[planned.name], sorted(_of_hands([hands[number] for number in guessed]), key=_fewest)
    masses = [float(str(of[number])) for of in (judged, gross) for number in guessed]
    ends = {"min": HAND_STEP * (min(masses) // HAND_STEP), "max": HAND_STEP * (1 + max(masses) // HAND_STEP)}
    seen = max(sum(one is not None for one in cells[planned.name, key]) for key in ("by", "next_order"))
    for number, (name, first, last) in enumerate(sorted(most[:MOST_HANDS], key=lambda one: one[1])):
        down, right = divmod(number, HANDS_ACROSS)
        below = planned.heading_row + seen + 1 + down * (HAND_HIGH // ROW_HEIGHT + 1)
        text = f"Each mark is a lift of {name}, guessed and weighed; on the line both agree."
        offset = {"x_offset": right * (HAND_WIDE + 10), "object_position": 3, "description": text}
        sheet.insert_chart(below, 0, _hand(book.workbook, area, (name, first, last), ends), offset)


def _fewest(hand: tuple[str, int, int]) -> int:
    return hand[1] - hand[2]


def _hand(workbook: Workbook, area: Area, hand: tuple[str, int, int], ends: dict[str, float]) -> Chart:
    name, first, last = hand
    chart = workbook.add_chart({"type": "scatter"})
    chart.add_series({"name": name, **_points(area, first, last, "lift_judged"), "marker": _marker("circle", 6)})
    line = {"color": "#7F7F7F", "width": 1}
    alike = {"name": "guess as the scale", "marker": {"type": "none"}, "line": line}
    chart.add_series({**alike, **_points(area, first, last, "lift_gross")})
    chart.set_title({"name": f"{name}: guess against scale", "name_font": {"size": 11, "color": INK}})
    for said, axis in (("guess", chart.set_y_axis), ("scale", chart.set_x_axis)):
        axis({"name": said, "name_font": {"size": 9, "bold": False}, "major_gridlines": GRID, **ends})
    chart.set_legend({"none": True})
    chart.show_hidden_data()
    chart.set_size({"width": HAND_WIDE, "height": HAND_HIGH})
    return chart


def _of_hands(hands: Sequence[object]) -> Iterator[tuple[str, int, int]]:
    """Name of each hand, and the first and last of its lifts, counted from 0."""
    names = [str(hand).casefold() for hand in hands]
    starts = [at for at, name in enumerate(names) if at == 0 or name != names[at - 1]]
    for first, end in zip(starts, [*starts[1:], len(names)], strict=True):
        yield str(hands[first]), first, end - 1


def _points(area: Area, first: int, last: int, up: str) -> dict[str, str]:
    keys = {"categories": "lift_gross", "values": up}
    return {of: f"={area.cells(key, area.first + first, area.first + last)}" for of, key in keys.items()}


MOST_OF_YEAR, YEAR_WIDE = 8, 560
"""Charts on Year at most, one for each thing of which two groups or more are told with a band; and their width."""


def year(book: Sheets, sheet: Worksheet, planned: Planned) -> None:
    """Put a chart under the table for what the year tells of several groups, each with its band.

    Args:
        book: the workbook in the making.
        sheet: the sheet Year.
        planned: its plan.
    """
    name = planned.name
    about, high, value, unit = (book.cells[name, key] for key in ("about", "high", "value", "unit"))
    banded = [at for at, end in enumerate(high) if end is not None and value[at] is not None]
    found = [[at for at in banded if about[at] == one] for one in dict.fromkeys(about[at] for at in banded)]
    for number, rows in enumerate([rows for rows in found if len(rows) > 1][:MOST_OF_YEAR]):
        title = str(about[rows[0]])
        chart = _banded(book.workbook, book.places.areas[name], (rows[0], rows[-1]))
        chart.set_title({"name": f"{title} (dashes: the band)", "name_font": {"size": 11, "color": INK}})
        chart.set_y_axis({"name": str(unit[rows[0]]), "min": 0, "major_gridlines": GRID})
        text = f"{title}: columns, and dashes where their bands end. The figures stand in the table."
        _below(sheet, chart, (planned.heading_row + len(about) + 1, number, YEAR_WIDE), text)


def _banded(workbook: Workbook, area: Area, ends: tuple[int, int]) -> Chart:
    def down(key: str) -> str:
        return f"={area.cells(key, area.first + ends[0], area.first + ends[1])}"

    names = down("group")
    chart, marks = (workbook.add_chart({"type": kind}) for kind in ("column", "line"))
    chart.add_series({"categories": names, "values": down("value"), "fill": {"color": COLUMN}, "gap": 60})
    for key in ("low", "high"):
        marks.add_series(
            {"categories": names, "values": down(key), "line": {"none": True}, "marker": _marker("long_dash", 8)}
        )
    chart.combine(marks)
    chart.set_legend({"none": True})
    chart.set_x_axis({"num_font": {"size": 8}})
    chart.set_size({"width": YEAR_WIDE, "height": HIGH})
    return chart


ACROSS, WIDE, HIGH = 2, 640, 300
STEP = 5
"""The axis of such a chart ends at a multiple of it, in the book's unit, so that no whisker is cut."""
ROW_HEIGHT = 20
"""Pixels of a row; the charts stand below the table, two side by side."""


def apiaries(book: Sheets, sheet: Worksheet, planned: Planned) -> None:
    """Put a chart of the outlook for each apiary under the table of colonies.

    Args:
        book: the workbook in the making; half-months of which it tells nothing are left out.
        sheet: the sheet Till the flow.
        planned: its plan.
    """
    name, cells = planned.name, book.cells
    for number, apiary in enumerate(one for one in cells.get((name, "of_apiary"), ()) if one is not None):
        told = [day for day in HALF_MONTHS if cells[name, half_month("mean", *day)][number] is not None]
        if told:
            chart = _outlook(book.workbook, book.places.areas[name], number, (told[0], told[-1]), str(apiary))
            top = max(_tip(cells, name, number, day) for day in told)
            ends = {"min": 0, "max": STEP * (1 + top // STEP), "major_unit": STEP}
            chart.set_y_axis({**ends, "major_gridlines": GRID})
            text = (
                f"Outlook of apiary {apiary}: columns its usual colony, whiskers its 80 % band, diamonds the lightest."
            )
            _below(sheet, chart, (planned.last_row + 1, number, WIDE), text)


def _below(sheet: Worksheet, chart: Chart, place: tuple[int, int, int], text: str) -> None:
    """Put a chart under a table, two side by side: the first row (from 0), its number (from 0), and its width."""
    row, number, wide = place
    down, right = divmod(number, ACROSS)
    offset = {"x_offset": right * (wide + 20), "object_position": 3, "description": text}
    sheet.insert_chart(row + down * (HIGH // ROW_HEIGHT + 2), 0, chart, offset)


def _tip(cells: Cells, name: str, number: int, day: tuple[int, int]) -> float:
    """Where the whisker of a half-month ends, in the book's unit."""
    return sum(float(str(cells[name, half_month(what, *day)][number] or 0.0)) for what in ("mean", "above"))


def _outlook(workbook: Workbook, area: Area, number: int, ends: tuple[tuple[int, int], ...], apiary: str) -> Chart:
    row = area.first + number

    def across(what: str, at: int) -> str:
        first, last = (half_month(what, *day) for day in ends)
        return f"={area.cell(first, at)}:${column_letters(area.columns[last])}${at}"

    days = across("mean", area.first - 1)
    chart, marks = (workbook.add_chart({"type": kind}) for kind in ("column", "line"))
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
    lightest = {"name": "lightest colony", "categories": days, "values": across("lightest", row)}
    marks.add_series({**lightest, "marker": _marker("diamond", 7), "line": {"none": True}})
    chart.combine(marks)
    chart.set_title({"name": f"{apiary}: stores till the flow", "name_font": {"size": 12, "color": INK}})
    chart.set_legend({"position": "top"})
    chart.show_hidden_data()
    chart.set_size({"width": WIDE, "height": HIGH})
    return chart


MOST_CHARTS = {"Standing": 1, "Hefting": MOST_HANDS, "Till the flow": MOST_APIARIES, "Year": MOST_OF_YEAR}
"""Sheets on which the book itself draws charts, and how many at most."""
