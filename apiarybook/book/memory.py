"""A book that was never a file: frames of raw values laid out as a file would hold them."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from apiarybook.book.settings import settings_frame
from apiarybook.layout import BOOK
from apiarybook.readers.records import RawBook, RawSheet

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd


def raw_book(
    tables: Mapping[str, pd.DataFrame], settings: dict[str, object], properties: dict[str, str], name: str = "book.xlsx"
) -> RawBook:
    """Lay frames out as the sheets of a file.

    Args:
        tables: raw values by layout sheet, columns the layout's keys; masses in the book's unit.
        settings: value of each setting by key.
        properties: custom document properties.
        name: the name that findings give the book.

    Returns:
        the file as `read_raw` would give it.

    >>> import pandas as pd
    >>> book = raw_book({"Moves": pd.DataFrame({"colony": ["A1"]})}, {"unit": "kg"}, {})
    >>> book.sheets["Moves"].rows
    [['colony'], ['A1']]
    """
    sheets = {}
    for title, frame in {**tables, "Settings": settings_frame(settings)}.items():
        headings: list[object] = [BOOK[title][key].heading for key in frame.columns]
        rows = frame.astype(object).where(frame.notna(), None).to_numpy(object).tolist()
        sheets[title] = RawSheet(name=title, rows=[headings, *rows])
    digest = hashlib.sha256(repr([(one.name, one.rows) for one in sheets.values()]).encode()).hexdigest()
    return RawBook(name, digest, "xlsx", None, properties, sheets)
