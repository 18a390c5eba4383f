"""Writing a book: every cell, formula, drop-down and page set-up from the one layout, the same bytes each time."""

from __future__ import annotations

import io
import re
from datetime import date, datetime, time, timedelta
from functools import partial
from typing import TYPE_CHECKING, Any

from apiarybook.errors import ProgramFault
from apiarybook.layout import BOOK
from apiarybook.layout.formulas import TEMPLATES
from apiarybook.layout.model import Column, Group, Kind, Role
from apiarybook.layout.schemas import gate
from apiarybook.readers.canonical import canonical
from apiarybook.readers.limits import cell_name
from apiarybook.writers import charts, first_page
from apiarybook.writers import data_validation as offers
from apiarybook.writers.content import Formula
from apiarybook.writers.fill import fill, row_counts, set_heights
from apiarybook.writers.looks import BASE, GREY, TABS, checked, new_workbook, write_value
from apiarybook.writers.plan import Plan, Planned, club_plan
from apiarybook.writers.set_by_people import LAYOUT_MARK, layout_mark
from apiarybook.writers.top_lines import SYRUP, write_own_figures, write_top, write_totals

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

    from apiarybook.writers.content import Content
    from apiarybook.writers.looks import Looks
    from apiarybook.writers.places import Places
    from apiarybook.writers.sheets import PlainSheet, Sheets


CELL = re.compile(r"[A-Z]{1,3}[1-9]\d*")
ROW_LIMIT = 1_048_576
"""Rows of a sheet (ISO/IEC 29500)."""
MARKED = 100
"""Rows below the ready ones that have a mark already, so that no row is without one that is typed there."""
LONGEST_IN_HEADER = 60
"""Letters of the club's name at the head of a printed page, which takes 255 characters in all (ISO/IEC 29500)."""
SHOWN = {date: "yyyy-mm-dd", datetime: "yyyy-mm-dd hh:mm", time: "hh:mm:ss", timedelta: "[h]:mm:ss"}
"""How days and times are shown where the layout does not say it."""
_DAY_NOUGHT = datetime(1899, 12, 30)  # noqa: DTZ001 cells know no zones


def write_book(content: Content, shape: Callable[[Mapping[str, int], int], Plan] = club_plan) -> bytes:
    """Write a book.

    Args:
        content: what it holds.
        shape: plans its sheets from the rows that each needs and the month: `club_plan` or `member_plan`.

    Returns:
        the bytes of an xlsx file, the same for the same content.

    Raises:
        ProgramFault: an accepted row is outside the layout's own bounds, or the writing library refused a cell.
    """
    from apiarybook.writers.sheets import Parts, Sheets

    gate(content.accepted())
    cells = fill(content)
    plan = shape(row_counts(cells), content.month)
    target, title = io.BytesIO(), str(content.settings.get("club") or "")
    usual = {name: BASE[name] for name in ("font_name", "font_size")}
    with new_workbook(io.BytesIO(), "book", title, content.as_at, default_format_properties=usual) as workbook:
        workbook._get_packager = partial(Parts, target)  # noqa: SLF001 the library lets it be another
        _properties(workbook, content)
        _sheets(Sheets(workbook, content, plan, cells))
        cells.clear()
    return target.getvalue()


def _properties(workbook: Workbook, content: Content) -> None:
    for name, value in content.about.items():
        if value:
            workbook.set_custom_property(name, value, "text")
    workbook.set_custom_property(LAYOUT_MARK, layout_mark(), "text")
    workbook.set_calc_mode("auto")
    workbook.calc_on_load = False  # the cells hold what they compute; what a later day changes rests on TODAY
    workbook.set_size(2000, 1300)


def _sheets(book: Sheets) -> None:
    add = partial(book.workbook.add_worksheet, worksheet_class=book.sheet_class)
    start = add(first_page.NAME)
    start.set_tab_color(TABS[Group.START])
    made = {planned.name: add(planned.name) for planned in book.plan.sheets}
    first_page.write(start, book.looks, book.plan, book.content)
    for planned in book.plan.sheets:
        _sheet(book, made[planned.name], planned)
    _foreign(book)
    start.activate()


def _sheet(book: Sheets, sheet: PlainSheet, planned: Planned) -> None:
    if planned.last_row > ROW_LIMIT:
        raise ProgramFault(f"the sheet {planned.name} would need {planned.last_row} rows, a book ends at {ROW_LIMIT}")
    sheet.set_tab_color(TABS[planned.group])
    _set_up(book, sheet, planned)
    if planned.heading_row > 1:
        write_top(sheet, planned, book)
    sheet.place(planned.first_row - 1, planned.rows)
    for number, (name, column) in enumerate(planned.columns):
        checked(
            sheet.write_string(planned.heading_row - 1, number, book.units.heading(column), book.looks.heading(column))
        )
        _column(book, sheet, planned, number, name, column)
        offers.offer(sheet, planned, number, column, book)
        if column.leads_on:
            _links(book, sheet, planned, number, column)
    if planned.name == "Feed order":
        write_totals(sheet, planned, book, _totals(book), _bought(book.content))
    if planned.name == "Figures":
        write_own_figures(sheet, planned, book)
    set_heights(sheet, planned, book.cells)
    _added(sheet, planned, book)
    offers.mark(sheet, planned, book.looks)
    _drawn(book, sheet, planned)
    if planned.group is Group.READ_HERE and not any(column.role is Role.TYPED for _, column in planned.columns):
        sheet.protect("", {"autofilter": True, "sort": True, "format_columns": True, "format_rows": True})
    if planned.hidden:
        sheet.hide()


def _drawn(book: Sheets, sheet: Worksheet, planned: Planned) -> None:
    if any(name == "Standing" for name, _ in planned.columns):
        charts.standing(book, sheet, planned)
    if planned.name == "Hefting" and "lift_by" in book.places.areas[planned.name].columns:
        charts.hefting(book, sheet, planned)
    if planned.name == "Till the flow":
        charts.apiaries(book, sheet, planned)
    if planned.name == "Year" and book.cells.get((planned.name, "about")):
        charts.year(book, sheet, planned)


def _totals(book: Sheets) -> dict[str, tuple[float, bool]]:
    """Sums over all apiaries, and what to add to be sure of the whole order, in the book's units."""
    keys = [column.key for column in BOOK["Feed order"].columns if column.numeric]
    sums = {key: [float(str(one)) for one in book.cells["Feed order", key] if one is not None] for key in keys}
    sure = book.content.season.order_margin * book.units.factor(Kind.MASS, "kg")
    return {key: (sum(values), True) for key, values in sums.items()} | {"to_be_sure": (sure, False)}


def _bought(content: Content) -> str:
    """What is bought for the liquid feed of the autumn."""
    kinds = content.typed["Feed kinds"]
    mixed = dict(zip((str(one).casefold() for one in kinds["name"]), kinds["mixed"], strict=True))
    is_mixed = str(mixed.get(str(content.settings.get("autumn_feed")).casefold())).casefold() == "yes"
    return "sugar" if is_mixed else SYRUP


def _set_up(book: Sheets, sheet: Worksheet, planned: Planned) -> None:
    last = len(planned.columns) - 1
    sheet.freeze_panes(planned.heading_row, planned.frozen)
    if not BOOK[planned.columns[0][0]].side_by_side:
        sheet.autofilter(planned.heading_row - 1, 0, planned.last_row - 1, last)
    sheet.set_row(planned.heading_row - 1, 42)
    sheet.set_landscape()
    sheet.set_paper(9)
    sheet.set_margins(left=0.5, right=0.5, top=0.7, bottom=0.6)
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(planned.heading_row - 1)
    club = str(book.content.settings.get("club") or "")[:LONGEST_IN_HEADER].replace("&", "&&")
    pinned = book.content.settings.get("as_at")
    sheet.set_header(f"&L{club}&C{planned.name}&R{pinned.isoformat() if isinstance(pinned, date) else '&D'}")
    sheet.set_footer("&Rpage &P of &N")
    sheet.outline_settings(visible=True, symbols_below=False, symbols_right=False, auto_style=False)
    kept = book.content.kept.widths.get(planned.name, {})
    for number, (_, column) in enumerate(planned.columns):
        look = {"level": int(column.folded), "hidden": True} if not column.in_view else {}
        if number < last and planned.columns[number + 1][1].folded and not column.folded:
            look["collapsed"] = True
        usual = book.looks.cell(column) if column.folded and column.role is Role.TYPED else None
        sheet.set_column(number, number, kept.get(column.key, column.width), usual, look)
    _added_widths(sheet, planned, book)


def _column(book: Sheets, sheet: PlainSheet, planned: Planned, number: int, name: str, column: Column) -> None:
    values = book.cells.get((name, column.key), ())
    look = book.looks.cell(column)
    if column.role is Role.LIVE and (name, column.key) in TEMPLATES:
        sheet.put(number, values, look, formula=_formula(book.places, TEMPLATES[name, column.key], name, planned))
        return
    own = _own_looks(book, planned, column, values)
    blanks = planned.rows if column.role is Role.LIVE or column.in_view else 1
    # the look of blank cells out of view stands in the first row, and that of what people type in the whole column
    sheet.put(number, values, look, own=own, blanks=blanks)
    if column.key == "ref" and BOOK[name].mark and values:
        for row, mark in enumerate(marks_after(str(values[-1]), values), planned.last_row):
            sheet.write_string(row, number, mark, look)


def _formula(places: Places, template: str, sheet: str, planned: Planned) -> str | list[str]:
    """The formula of a column: one for all its cells, or one for each where each names rows of its own."""
    if not places.varies(template):
        return places.compile(template, sheet, planned.first_row)
    return [places.compile(template, sheet, row) for row in range(planned.first_row, planned.last_row + 1)]


def _links(book: Sheets, sheet: Worksheet, planned: Planned, number: int, column: Column) -> None:
    """Let the cells that a column names lead there, where their sheet is in view."""
    shown = {one.name for one in book.plan.sheets if not one.hidden}
    look = book.looks.cell(column)
    sheets, cells = (book.cells.get((planned.name, key), ()) for key in (column.leads_on, column.key))
    for row, (name, cell) in enumerate(zip(sheets, cells, strict=True), planned.first_row - 1):
        if name in shown and cell is not None and CELL.fullmatch(str(cell)):
            checked(sheet.write_url(row, number, f"internal:'{name}'!{cell}", look, str(cell)))


def marks_after(last: str, marks: Sequence[object]) -> list[str]:
    """Marks for rows below the ready ones, numbered on from the highest of those like the last.

    >>> marks_after("M1a-W2", ["M1a-W1", "M1a-W3", "club26-W7", "M1a-W2"])[:2]
    ['M1a-W4', 'M1a-W5']
    """
    stem = last.rstrip("0123456789")
    like = (str(one).removeprefix(stem) for one in marks if str(one).startswith(stem))
    highest = max((int(number) for number in like if number.isdecimal()), default=0)
    return [f"{stem}{number}" for number in range(highest + 1, highest + 1 + MARKED)]


def _own_looks(book: Sheets, planned: Planned, column: Column, values: Sequence[object]) -> dict[int, Format]:
    """Formats of the cells that differ: what a person gave them, and so that a reader meets what was typed."""
    given = book.content.kept.looks.get(planned.name, {})
    rows = (row - planned.first_row for row, key in given if key == column.key)
    own = {
        at: book.looks.cell(column, given[planned.first_row + at, column.key]) for at in rows if 0 <= at < planned.rows
    }
    # a date is known by its format, a number by none
    odd, look = (float, book.looks.number) if column.kind is Kind.DATE else (date, book.looks.day)
    if odd is date or column.role is Role.TYPED:
        own |= {at: look() for at, value in enumerate(values) if isinstance(value, odd)}
    return own


def _added(sheet: Worksheet, planned: Planned, book: Sheets) -> None:
    """Write added columns behind the layout's, notes, and formulas that were typed where a value belongs."""
    places = {column.key: number for number, (_, column) in enumerate(planned.columns)}
    for one in book.content.kept.columns.get(planned.name, ()):
        number = places[one.key] = len(places)
        checked(sheet.write_string(planned.heading_row - 1, number, one.heading, book.looks.make(bold=True)))
        for row, value in one.values.items():
            _free(sheet, row - 1, number, value, book.looks, {"border": 1, "border_color": GREY})
    for (row, key), text in book.content.kept.notes.get(planned.name, {}).items():
        if key in places:
            checked(sheet.write_comment(cell_name(row, places[key] + 1), text))
    for (row, key), formula in book.content.kept.formulas.get(planned.name, {}).items():
        if key in places and _still_stands(book, planned, row, key, formula):
            _free(sheet, row - 1, places[key], formula, book.looks, {"border": 1, "border_color": GREY})


def _still_stands(book: Sheets, planned: Planned, row: int, key: str, formula: Formula) -> bool:
    """Whether the cell still has the value of its formula, and nobody has decided on another meanwhile."""
    values = book.cells.get((planned.name, key), ())
    at = row - planned.first_row
    is_read_otherwise = planned.name == "Settings" or isinstance(formula.result, bool)
    return is_read_otherwise or (at < len(values) and values[at] == canonical(formula.result))


def _added_widths(sheet: Worksheet, planned: Planned, book: Sheets) -> None:
    """Give added columns the width they had."""
    kept = book.content.kept
    for number, one in enumerate(kept.columns.get(planned.name, ()), len(planned.columns)):
        if one.key in kept.widths.get(planned.name, {}):
            sheet.set_column(number, number, kept.widths[planned.name][one.key])


def _foreign(book: Sheets) -> None:
    """Write the sheets that people added, behind all others."""
    for one in book.content.kept.sheets:
        sheet = book.workbook.add_worksheet(one.name, book.sheet_class)
        for (row, column), value in one.cells.items():
            _free(sheet, row - 1, column - 1, value, book.looks, {})
        for (row, column), text in one.notes.items():
            checked(sheet.write_comment(cell_name(row, column), text))
        for column, width in one.widths.items():
            sheet.set_column(column - 1, column - 1, width)
        if one.hidden:
            sheet.hide()


def _free(sheet: Worksheet, row: int, column: int, value: object, looks: Looks, style: dict[str, Any]) -> None:
    shown = value.result if isinstance(value, Formula) else value
    style = style | {"num_format": SHOWN[type(shown)]} if type(shown) in SHOWN else style
    if isinstance(value, Formula):
        checked(sheet.write_formula(row, column, value.text, looks.make(**style), _stored(shown)))
    else:
        write_value(sheet, row, column, value, looks.make(**style))


def _stored(result: object) -> object:
    """What a formula showed last, as a file holds it: days and times are counted in days."""
    if isinstance(result, date):
        moment = result if isinstance(result, datetime) else datetime.combine(result, time())
        return (moment - _DAY_NOUGHT) / timedelta(days=1)
    if isinstance(result, time):
        return (datetime.combine(_DAY_NOUGHT, result) - _DAY_NOUGHT) / timedelta(days=1)
    if isinstance(result, timedelta):
        return result / timedelta(days=1)
    return "" if result is None else result
