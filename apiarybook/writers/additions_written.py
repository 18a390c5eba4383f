"""What people added to a book, written into the book that takes its place."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

from apiarybook.readers.canonical import canonical
from apiarybook.readers.limits import column_letters
from apiarybook.writers.content import Formula
from apiarybook.writers.looks import GREY
from apiarybook.writers.put_value import checked, write_value

if TYPE_CHECKING:
    from xlsxwriter.worksheet import Worksheet

    from apiarybook.writers.looks import Looks
    from apiarybook.writers.plan import Planned
    from apiarybook.writers.sheets import Sheets

SHOWN = {date: "yyyy-mm-dd", datetime: "yyyy-mm-dd hh:mm", time: "hh:mm:ss", timedelta: "[h]:mm:ss"}
"""How days and times are shown where the layout does not say it."""
_DAY_NOUGHT = datetime(1899, 12, 30)  # noqa: DTZ001 cells know no zones


def added(sheet: Worksheet, planned: Planned, book: Sheets) -> None:
    """Write added columns behind the layout's, notes, and formulas that were typed where a value belongs.

    Args:
        sheet: where.
        planned: its plan.
        book: the workbook in the making.

    Raises:
        ProgramFault: the writing library refused a cell.
    """
    places = {column.key: number for number, (_, column) in enumerate(planned.columns)}
    for one in book.content.kept.columns.get(planned.name, ()):
        number = places[one.key] = len(places)
        checked(sheet.write_string(planned.heading_row - 1, number, one.heading, book.looks.make(bold=True)))
        for row, value in one.values.items():
            _free(sheet, row - 1, number, value, book.looks, {"border": 1, "border_color": GREY})
    for (row, key), text in book.content.kept.notes.get(planned.name, {}).items():
        if key in places:
            checked(sheet.write_comment(f"{column_letters(places[key] + 1)}{row}", text))
    for (row, key), formula in book.content.kept.formulas.get(planned.name, {}).items():
        if key in places and _still_stands(book, planned, row, key, formula):
            _free(sheet, row - 1, places[key], formula, book.looks, {"border": 1, "border_color": GREY})


def _still_stands(book: Sheets, planned: Planned, row: int, key: str, formula: Formula) -> bool:
    """Whether the cell still has the value of its formula, and nobody has decided on another meanwhile."""
    values = book.cells.get((planned.name, key), ())
    at = row - planned.first_row
    is_read_otherwise = planned.name == "Settings" or isinstance(formula.result, bool)
    return is_read_otherwise or (at < len(values) and values[at] == canonical(formula.result))


def widths(sheet: Worksheet, planned: Planned, book: Sheets) -> None:
    """Give added columns the width they had.

    Args:
        sheet: where.
        planned: its plan.
        book: the workbook in the making.
    """
    kept = book.content.kept
    for number, one in enumerate(kept.columns.get(planned.name, ()), len(planned.columns)):
        if one.key in kept.widths.get(planned.name, {}):
            sheet.set_column(number, number, kept.widths[planned.name][one.key])


def foreign(book: Sheets) -> None:
    """Write the sheets that people added, behind all others.

    Args:
        book: the workbook in the making.

    Raises:
        ProgramFault: the writing library refused a cell.
    """
    for one in book.content.kept.sheets:
        sheet = book.workbook.add_worksheet(one.name, book.sheet_class)
        for (row, column), value in one.cells.items():
            _free(sheet, row - 1, column - 1, value, book.looks, {})
        for (row, column), text in one.notes.items():
            checked(sheet.write_comment(f"{column_letters(column)}{row}", text))
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
