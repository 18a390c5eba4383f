"""One value into one cell, as what it is."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

from apiarybook.errors import ProgramFault
from apiarybook.readers.canonical import FIRST_DAY, canonical_text

if TYPE_CHECKING:
    from xlsxwriter.worksheet import Worksheet


def write_value(sheet: Worksheet, row: int, column: int, value: object, look: Any) -> None:
    """Write one value as what it is: never a text as a formula or a link.

    Args:
        sheet: where.
        row: its row counted from 0.
        column: its column counted from 0.
        value: blank, text, number, truth value, date, time or duration.
        look: its format.

    Raises:
        ProgramFault: the writing library refused it.
    """
    if value is None:
        checked(sheet.write_blank(row, column, None, look))
    elif isinstance(value, bool):
        checked(sheet.write_boolean(row, column, value, look))
    elif isinstance(value, (date, time, timedelta)):
        moment = value
        if isinstance(value, date) and not isinstance(value, datetime):
            moment = datetime.combine(value, time())
        if isinstance(moment, datetime) and moment.date() < FIRST_DAY:
            checked(sheet.write_string(row, column, canonical_text(value), look))
        else:
            checked(sheet.write_datetime(row, column, moment, look))
    elif isinstance(value, str):
        checked(sheet.write_string(row, column, value, look))
    else:
        checked(sheet.write_number(row, column, float(str(value)), look))


def checked(code: int) -> None:
    """Turn a refusal of the writing library into an exception."""
    if code != 0:
        raise ProgramFault(f"the writing library refused a cell (code {code}); this is a fault of the program")
