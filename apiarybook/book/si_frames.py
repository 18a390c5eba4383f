"""The tables of a book as frames in SI: what checks and reckon take."""

from typing import TYPE_CHECKING

from apiarybook.book.measure import COUNTED_READINGS, FRAMES_COUNTED, to_si
from apiarybook.book.table import Table, empty_typed
from apiarybook.layout import BOOK, Column, Kind, Sheet

if TYPE_CHECKING:
    import pandas as pd

    from apiarybook.book.tables import Book


def si(book: "Book") -> "dict[str, pd.DataFrame]":
    r"""Give all typed columns of the sheets that people fill, in SI.

    Masses are in kg, volumes in l, a guessed heft in kg; readings that count frames stay counts. Every row keeps its
    place.

    Args:
        book: a book as read.

    Returns:
        By layout name of the sheet, a frame of its typed columns and the column `held`, empty for no row being held,
        index `row`; a sheet that the file lacks has no rows.

    >>> from apiarybook.book.tables import read_book
    >>> book = read_book(("w.csv", b"date,colony,how,reading 1\n2026-09-05,A1,one side,21.5\n"))
    >>> si(book)["Weighings"]["reading_1"].tolist()
    [21.5]
    """
    return {sheet.name: _frame(sheet, book.tables.get(sheet.name), book.unit) for sheet in BOOK.sheets if sheet.is_list}


_EARLIER = tuple(sheet.name for sheet in BOOK.sheets if sheet.of_earlier)


def earlier(book: "Book") -> "dict[str, pd.DataFrame]":
    """Give what a book holds of earlier winters, as `reckon` takes it.

    Args:
        book: a book as read.

    Returns:
        Earlier lifts and Earlier winters, as far as the book has rows of them.
    """
    found = {name: book.kept[name].typed for name in _EARLIER if name in book.kept}
    return {name: rows.dropna(how="all") for name, rows in found.items() if rows.notna().to_numpy().any()}


def _frame(sheet: Sheet, table: "Table | None", unit: str) -> "pd.DataFrame":
    keys = [column.key for column in sheet.typed]
    frame = (empty_typed(sheet) if table is None else table.typed)[keys].copy()
    for column in sheet.typed:
        factor = to_si(column, unit)
        if factor != 1.0:
            frame[column.key] = _scaled(frame, column, factor)
    return frame.assign(held="")


def _scaled(frame: "pd.DataFrame", column: Column, factor: float) -> "pd.Series[float] | pd.Series[str]":
    values = frame[column.key]
    if column.kind is Kind.HEFT:
        return values.map(lambda one: one * factor if isinstance(one, float) else one).astype(object)
    if column.key in COUNTED_READINGS and "how" in frame:
        return values.where(frame["how"] == FRAMES_COUNTED, values * factor)
    return values * factor
