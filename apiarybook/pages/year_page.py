"""The report of a year: one page that needs nothing from elsewhere, and its tables as CSV files."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from apiarybook.book.measure import measure
from apiarybook.errors import CannotWrite, in_words
from apiarybook.pages.environment import template
from apiarybook.pages.own_pages import report_mark
from apiarybook.pages.year_words import EDGE, FOOT, WIDE, charts_of, csv_rows, in_short, is_hidden, shown, titled
from apiarybook.writers.safe_replace import put_text

if TYPE_CHECKING:
    from pathlib import Path

    from apiarybook.club.closing import Year
    from apiarybook.club.reckoned import Reckoned


def as_page(year: Year) -> str:
    """The report in HTML; whatever anyone typed stands in it as text.

    Args:
        year: the year's end.

    Returns:
        the page, the same for the same book.
    """
    content = year.reckoned.content
    units = measure(content.unit)
    return template("year").render(
        club=str(content.settings.get("club") or "A club"),
        winter=content.about["winter"],
        as_at=content.as_at.isoformat(),
        reasons=year.reasons,
        fingerprint=year.fingerprint,
        short=in_short(year, units),
        tables=year.tables,
        charts=charts_of(year.tables, units),
        units=units,
        shown=shown,
        is_hidden=is_hidden,
        made=report_mark(content.about.get("book id", "")),
        titled=titled,
        wide=WIDE,
        edge=EDGE,
        foot=FOOT,
    )


def page_name(reckoned: Reckoned) -> str:
    """The name of a book's report page."""
    return f"winter {reckoned.content.about['winter'].replace('/', '-')}.html"


def write_report(year: Year, folder: Path) -> Path:
    """Write the page and the CSV files.

    Args:
        year: the year's end.
        folder: where; made if need be. Other files in it are left alone.

    Returns:
        where the page stands.

    Raises:
        CannotWrite: the folder cannot be made or written.
    """
    units = measure(year.reckoned.content.unit)
    page = folder / page_name(year.reckoned)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        put_text(page, as_page(year))
        for table in year.tables:
            text = io.StringIO(newline="")
            csv.writer(text, lineterminator="\r\n").writerows(csv_rows(table, units))
            put_text(folder / f"{table.name}.csv", "\ufeff" + text.getvalue())
    except OSError as fault:
        raise CannotWrite(
            f"{folder}: the book is up to date, but the report cannot be written there ({in_words(fault)}); name "
            "another folder with --report and run again."
        ) from fault
    return page
