"""How a book looks: a plain, printable style in which every word also stands in writing, each value as it is."""

from __future__ import annotations

import warnings
from contextlib import contextmanager
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

from apiarybook.errors import ProgramFault
from apiarybook.layout.model import Column, Group, Kind, Role
from apiarybook.readers.canonical import FIRST_DAY, canonical_text

if TYPE_CHECKING:
    from collections.abc import Iterator
    from io import BytesIO

    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet


INK = "#1F2A44"
BLUE = "#1F3864"
PALE = "#E8ECF4"
GREY = "#D9D9D9"
TABS = {
    Group.START: INK,
    Group.TYPE_HERE: BLUE,
    Group.READ_HERE: "#7F8FB0",
    Group.SETTINGS: "#A6A6A6",
    Group.MACHINERY: GREY,
}
BASE: dict[str, Any] = {"font_name": "Liberation Sans", "font_size": 10, "valign": "vcenter"}
DATE_FORMAT, SHORT_DAY = "yyyy-mm-dd;;", "d mmm;;"


class Looks:
    """The formats of one workbook, each made once."""

    def __init__(self, workbook: Workbook) -> None:
        """Remember the workbook whose formats these are."""
        self._workbook = workbook
        self._made: dict[tuple[tuple[str, Any], ...], Format] = {}

    def make(self, **properties: Any) -> Format:
        """A format with the base style and these properties."""
        key = tuple(sorted(properties.items()))
        if key not in self._made:
            self._made[key] = self._workbook.add_format({**BASE, **properties})
        return self._made[key]

    def bare(self, **properties: Any) -> Format:
        """A format for a condition: these properties alone."""
        key = (("bare", True), *sorted(properties.items()))
        if key not in self._made:
            self._made[key] = self._workbook.add_format(properties)
        return self._made[key]

    def heading(self, column: Column) -> Format:
        """Dark for what people type, pale for what the book fills; numbers stand under the end of theirs."""
        typed = column.role is Role.TYPED
        look: dict[str, Any] = {"font_color": "#FFFFFF" if typed else INK, "bg_color": BLUE if typed else PALE}
        look["align"] = "right" if column.numeric else "left"
        if not column.numeric:
            look["indent"] = 1
        return self.make(bold=True, text_wrap=True, border=1, border_color=GREY, **look)

    def cell(self, column: Column, own: dict[str, Any] | None = None) -> Format:
        """Typed numbers stay general, lest a shown rounding become an amendment; computed ones are rounded.

        Args:
            column: the cell's column.
            own: what a person gave to this cell.
        """
        look: dict[str, Any] = {"border": 1, "border_color": GREY}
        if column.kind is Kind.DATE:
            look |= {
                "num_format": _date_format(column),
                "align": "left",
                "indent": 1,
            }
        elif column.role is not Role.TYPED:
            look["bg_color"] = "#FAFAFA"
            look |= {"num_format": number_format(column)} if column.numeric else {"align": "left", "indent": 1}
            if column.kind is Kind.TEXT and column.width > LONG_TEXT:
                look["shrink" if column.role is Role.LIVE else "text_wrap"] = True
        elif column.kind in WORDS:
            look |= {"align": "left", "indent": 1}
        if column.leads_on:
            look |= {"font_color": INK, "underline": 1}
        if column.key == "verdict":
            look |= {"bold": True, "bg_color": "#FFFFFF"}
        return self.make(**look | (own or {}))

    def day(self) -> Format:
        """A date in a column of other things: without a date's format a reader would meet a plain number."""
        return self.make(border=1, border_color=GREY, num_format="yyyy-mm-dd", align="left", indent=1)

    def number(self) -> Format:
        """A number in a column of dates: with a date's format a reader would meet a day."""
        return self.make(border=1, border_color=GREY, align="left", indent=1)


LONG_TEXT = 38
"""Width of a column, in digits, above which text that the book fills in is wrapped, or printed smaller if it changes
while people type: no program makes a row taller then."""
ROOM_FOR_YEAR = 11
"""Width of a column, in digits, under which a day of the book's one winter is shown without its year."""
WORDS = (Kind.TEXT, Kind.CODE, Kind.CHOICE, Kind.YES_NO)


def _date_format(column: Column) -> str:
    if column.role is Role.TYPED:
        return "yyyy-mm-dd"
    return DATE_FORMAT if column.width >= ROOM_FOR_YEAR else SHORT_DAY


def number_format(column: Column) -> str:
    """The number format of a computed column: its decimals, or percent for a chance.

    >>> number_format(Column(key="gross", kind=Kind.MASS, role=Role.LIVE, decimals=1))
    '0.0'
    >>> number_format(Column(key="change", kind=Kind.MASS, role=Role.LIVE, decimals=1, no_nought=True))
    '0.0;-0.0;'
    """
    if column.kind is Kind.FRACTION:
        return "0%" if column.percent or column.key.startswith("chance") else "0.000"
    whole = column.kind is Kind.COUNT or column.decimals == 0
    usual = "0" if whole else "0." + "0" * column.decimals
    return f"{usual};-{usual};" if column.no_nought else usual


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


@contextmanager
def new_workbook(target: BytesIO, what: str, title: str, day: date, **options: object) -> Iterator[Workbook]:
    """A workbook to write into: what a text says is never taken for anything but text, and the day is its only time.

    Args:
        target: takes its bytes once all is written.
        what: what it is, as its faults are told.
        title: its title.
        day: when it was made.
        options: further ones of the writing library.

    Raises:
        ProgramFault: the writing library refused something or warned.
    """
    import xlsxwriter

    plain = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            workbook = xlsxwriter.Workbook(target, plain | options)
            workbook.set_properties({"title": title, "created": datetime.combine(day, time())})
            yield workbook
            workbook.close()
        except (UserWarning, ValueError, TypeError, xlsxwriter.exceptions.XlsxWriterException) as fault:
            raise ProgramFault(f"the {what} could not be written: {fault}; this is a fault of the program") from fault


def checked(code: int) -> None:
    """Turn a refusal of the writing library into an exception."""
    if code != 0:
        raise ProgramFault(f"the writing library refused a cell (code {code}); this is a fault of the program")
