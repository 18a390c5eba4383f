"""The club's settings as they stand in the rows of the sheet Settings."""

import difflib
from collections.abc import Mapping
from datetime import date

import pandas as pd

from apiarybook.book.cells import Fault, is_number_text, parse
from apiarybook.book.headings import plain_heading
from apiarybook.layout import SETTINGS, Column, Kind, Setting
from apiarybook.readers.canonical import canonical_text
from apiarybook.reckon.core.winter import day_of, serial, winter_of


class Today(date):
    """The day by the clock, which a book follows that is not pinned; any other date was asked for, and pins it."""


def reckoned_day(settings: Mapping[str, object], asked: date) -> date:
    """Give the day for which a book reckons, held within its winter.

    Args:
        settings: value of each setting by key.
        asked: the day that was asked for, or `Today`, which gives way to the day typed as `as at`.

    >>> from datetime import date
    >>> reckoned_day({"winter": 2026.0, "as_at": date(2026, 9, 25)}, Today(2026, 11, 29)).isoformat()
    '2026-09-25'
    >>> reckoned_day({"winter": 2026.0, "as_at": None}, Today(2028, 1, 1))
    Today(2027, 9, 30)
    """
    typed = settings.get("as_at")
    follows = isinstance(asked, Today) and not isinstance(typed, date)
    day = typed if isinstance(asked, Today) and isinstance(typed, date) else asked
    if settings.get("winter") is not None:
        months = winter_of(settings)
        day = day_of(min(max(serial(date(day.year, day.month, day.day)), months.first), months.last))
    return (Today if follows else date)(day.year, day.month, day.day)


_NEAR = 0.7
"""Likeness of two names of settings (difflib's ratio) from which the one is taken for the other renamed."""


def read_settings(rows: Mapping[int, tuple[object, object]]) -> tuple[dict[str, object], dict[int, Fault]]:
    """Read every setting; what is blank or cannot be read has its default.

    Args:
        rows: name and value of each setting as they stand, by row number.

    Returns:
        Value of every setting by key (None where there is neither value nor default), and faults by row; one that is
        renamed has its fault at its name, any other at its value.

    >>> settings, faults = read_settings({2: ("unit", "LB"), 3: ("sure in 10", 12.0)})
    >>> settings["unit"], settings["sure_in_10"], faults[3].rule
    ('lb', 9.0, 'out-of-bounds')
    """
    known = {plain_heading(setting.heading): setting for setting in SETTINGS}
    absent = set(known) - {plain_heading(name) for name, _ in rows.values()}
    values: dict[str, object] = {setting.key: setting.default for setting in SETTINGS}
    faults: dict[int, Fault] = {}
    for row, (name, value) in rows.items():
        setting = known.get(plain_heading(name))
        if setting is None:
            near = difflib.get_close_matches(plain_heading(name), absent, n=1, cutoff=_NEAR)
            if near and value is not None:
                faults[row] = Fault("renamed-setting", name, {"suggestion": "", "wanted": near[0]})
            continue
        column = setting_column(setting)
        if column.numeric and is_number_text(canonical_text(value)):
            value = float(canonical_text(value))  # noqa: PLW2901 the column holds words too, so a number may be text
        parsed, fault = parse(column, value, unit="kg")
        if parsed is not None:
            values[setting.key] = parsed
        if fault:
            faults[row] = fault
    return values, faults


def setting_column(setting: Setting) -> Column:
    """A setting as the column that it would be, so that one way of reading serves both.

    >>> setting_column(SETTINGS[1]).kind.value
    'count'
    """
    return Column(
        key=setting.key,
        kind=setting.kind,
        unit="1" if setting.kind is Kind.NUMBER else "",
        possible=setting.possible,
        choices=setting.choices,
        refers_to=setting.refers_to,
        prompt=setting.meaning,
    )


def settings_frame(settings: dict[str, object]) -> pd.DataFrame:
    """The sheet Settings: one row a setting, in the order of the layout."""
    return pd.DataFrame(
        {
            "setting": [setting.heading for setting in SETTINGS],
            "value": pd.Series([settings.get(setting.key) for setting in SETTINGS], dtype=object),
            "meaning": [setting.meaning for setting in SETTINGS],
        }
    )
