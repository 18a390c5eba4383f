"""The club's settings as they stand in the rows of the sheet Settings."""

from collections.abc import Mapping

import pandas as pd

from apiarybook.book.cells import Fault, is_number_text, parse
from apiarybook.book.headings import plain_heading
from apiarybook.layout import SETTINGS, Column, Kind, Setting
from apiarybook.readers.canonical import canonical_text


def read_settings(rows: Mapping[int, tuple[object, object]]) -> tuple[dict[str, object], dict[int, Fault]]:
    """Read every setting; what is blank or cannot be read has its default.

    Args:
        rows: name and value of each setting as they stand, by row number.

    Returns:
        Value of every setting by key (None where there is neither value nor default), and faults by row.

    >>> settings, faults = read_settings({2: ("unit", "LB"), 3: ("sure in 10", 12.0)})
    >>> settings["unit"], settings["sure_in_10"], faults[3].rule
    ('lb', 9.0, 'out-of-bounds')
    """
    known = {plain_heading(setting.heading): setting for setting in SETTINGS}
    values: dict[str, object] = {setting.key: setting.default for setting in SETTINGS}
    faults: dict[int, Fault] = {}
    for row, (name, value) in rows.items():
        setting = known.get(plain_heading(name))
        if setting is None:
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
