"""What helps people while they type: drop-downs, prompts and bounds; and the bars behind status words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from apiarybook.book.measure import local_bounds
from apiarybook.errors import ProgramFault
from apiarybook.layout import BOOK
from apiarybook.layout.model import Column, Kind, Role
from apiarybook.readers.limits import column_letters
from apiarybook.reckon.core.winter import day_of, winter_of
from apiarybook.writers.looks import BLUE, INK
from apiarybook.writers.machinery import choices, words_of

if TYPE_CHECKING:
    from xlsxwriter.worksheet import Worksheet

    from apiarybook.writers.content import Content
    from apiarybook.writers.looks import Looks
    from apiarybook.writers.plan import Planned
    from apiarybook.writers.sheets import Sheets

ONE_THING = "One cell holds one thing. "


def offer(sheet: Worksheet, planned: Planned, number: int, column: Column, book: Sheets) -> None:
    """Give a typed column its prompt, and its drop-down or bounds.

    Args:
        sheet: where.
        planned: its plan.
        number: the column's number counted from 0.
        column: its declaration.
        book: the workbook in the making.

    Raises:
        ProgramFault: the writing library refused the rule.
    """
    if column.role is not Role.TYPED:
        return
    if planned.name == "Settings":
        return
    prompt = _as_named(column.prompt, book)
    rule: dict[str, Any] = {"validate": "any", "input_title": column.heading, "input_message": prompt}
    rule |= _listed(column, book) or _bounded(column, book)
    code = sheet.data_validation(planned.first_row - 1, number, planned.last_row - 1, number, rule)
    if code != 0:
        raise ProgramFault(f"the rule of {planned.name}.{column.key} was refused (code {code})")


def _listed(column: Column, book: Sheets) -> dict[str, Any]:
    if column.offers:
        return {"validate": "list", "source": "=" + book.places.whole(*column.offers.split(".")), "show_error": False}
    if column.refers_to:
        name, _, key = column.refers_to.partition(".")
        firm = column.kind is Kind.CHOICE
        return {
            "validate": "list",
            "source": "=" + book.places.whole(name, key),
            "error_type": "stop" if firm else "warning",
            "error_title": "Not in the list",
            "error_message": f"{ONE_THING}Take it from the list, or {_adding(name, book)} first."[:255],
        }
    offered = words_of(column)
    if not offered:
        return {}
    first = list(choices()).index(offered)
    before = sum(len(words) for words in list(choices())[:first])
    area = book.places.areas["Lists"]
    top = area.first + before
    return {
        "validate": "list",
        "source": "=" + area.cells("word", top, top + len(offered) - 1),
        "show_error": column.kind is not Kind.HEFT,
        "error_title": "Not in the list",
        "error_message": f"{ONE_THING}Take one of: {', '.join(offered)}."[:255],
    }


def _adding(name: str, book: Sheets) -> str:
    """How something comes into a list: by oneself where one sees it, else by the secretary."""
    shown = book.places.areas[name].sheet
    if any(planned.name == shown and planned.hidden for planned in book.plan.sheets):
        return "ask the secretary to add it"
    return f"add it on the sheet {shown}"


def _as_named(text: str, book: Sheets) -> str:
    """A prompt that names sheets as this book names them: in a member copy one may stand in a view."""
    for name, area in book.places.areas.items():
        if area.sheet != name:
            text = text.replace(f"the sheet {name}", f"the sheet {area.sheet}")
    return text


def _bounded(column: Column, book: Sheets) -> dict[str, Any]:
    if column.kind is Kind.DATE:
        return day_rule(book.content, in_winter=column.key == "date")
    if not column.numeric or column.possible is None:
        return {}
    low_bound, high_bound = local_bounds(column, column.possible, book.content.unit)
    unit = book.units.shown(column.kind, column.unit)
    bounds = f"{low_bound:g} to {high_bound:g} {'' if unit in {'1', 'count'} else unit}".strip()
    return {
        "validate": "decimal",
        "criteria": "between",
        "minimum": low_bound,
        "maximum": high_bound,
        "error_title": "Not possible",
        "error_message": f"A number alone, from {bounds}.",
    }


def day_rule(content: Content, *, in_winter: bool) -> dict[str, Any]:
    """The bounds of a cell that holds a date.

    Args:
        content: what the book holds.
        in_winter: whether the day is one of the book's winter, or of ten years before or after too.
    """
    months = winter_of(content.settings)
    beyond = 0 if in_winter else 3650
    low, high = day_of(months.first - beyond), day_of(months.last + beyond)
    return {
        "validate": "date",
        "criteria": "between",
        "minimum": low,
        "maximum": high,
        "error_title": "Not a day of this book",
        "error_message": f"Type a date from {low} to {high}, for instance {day_of(months.first + 70)}.",
    }


HATCH = "#A6A6A6"
FAINT = "#767676"
"""Letters that may be passed over and can still be read: 4.5 to 1 on white (WCAG 2.2, 1.4.3)."""
DARK = ("feed", "feed, then weigh", "feed now", "comb full")
HATCHED = ("weigh", "fondant later", "not reckoned")


def mark(sheet: Worksheet, planned: Planned, looks: Looks) -> None:
    """Put a bar behind words that call for something: dark blue to act, grey hatch to look; the word says which.

    Args:
        sheet: where.
        planned: its plan.
        looks: the formats.
    """
    first, last = planned.first_row - 1, planned.last_row - 1
    dark = looks.bare(bg_color=BLUE, font_color="#FFFFFF", bold=True)
    hatched = looks.bare(pattern=14, fg_color=HATCH, bg_color="#FFFFFF", font_color=INK, bold=True)
    whole = looks.bare(num_format="0", top=1, top_color=BLUE)
    for number, (name, column) in enumerate(planned.columns):
        cell = f"${column_letters(number + 1)}{planned.first_row}"
        if column.key == "verdict":
            for words, look in ((DARK, dark), (HATCHED, hatched)):
                test = ",".join(f'{cell}="{word}"' for word in words)
                sheet.conditional_format(
                    first, number, last, number, {"type": "formula", "criteria": f"=OR({test})", "format": look}
                )
        if planned.name == "Year" and column.kind is Kind.NUMBER:
            unit = column_letters(1 + [one.key for _, one in planned.columns].index("unit"))
            rule = {"type": "formula", "criteria": f'=${unit}{planned.first_row}="count"', "format": whole}
            sheet.conditional_format(first, number, last, number, rule)
        if column.stands_ready:
            _stands_ready(sheet, planned, number, column, looks)
        if BOOK[name].grouped_by:
            _set_off(sheet, planned, number, BOOK[name].grouped_by, looks)
        if column.key == "status":
            rule = {"type": "formula", "criteria": f'=AND({cell}<>"",{cell}<>"ok")', "format": hatched}
            sheet.conditional_format(first, number, last, number, rule)


def _stands_ready(sheet: Worksheet, planned: Planned, number: int, column: Column, looks: Looks) -> None:
    """Write what stands ready in faint letters until the row has a date."""
    keys = [one.key for _, one in planned.columns]
    date, ready = (column_letters(keys.index(key) + 1) for key in ("date", column.stands_ready))
    first, own = planned.first_row, column_letters(number + 1)
    test = f'=AND(${date}{first}="",${own}{first}=${ready}{first})'
    place = (first - 1, number, planned.last_row - 1, number)
    sheet.conditional_format(*place, {"type": "formula", "criteria": test, "format": looks.bare(font_color=FAINT)})


def _set_off(sheet: Worksheet, planned: Planned, number: int, key: str, looks: Looks) -> None:
    """Draw a line above the first row of each group, and say what the group is about in dark letters only there."""
    at = [column.key for _, column in planned.columns].index(key)
    first, letters = planned.first_row, column_letters(at + 1)
    place = (first - 1, number, planned.last_row - 1, number)
    test = f"${letters}{first}{{}}${letters}{first - 1}"
    begins = {"type": "formula", "criteria": f"={test.format('<>')}", "format": looks.bare(top=1, top_color=BLUE)}
    sheet.conditional_format(*place, begins)
    if number == at:
        goes_on = {"type": "formula", "criteria": f"={test.format('=')}", "format": looks.bare(font_color=FAINT)}
        sheet.conditional_format(*place, goes_on)
