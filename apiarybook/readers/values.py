"""Values as a reader gives them, made plain: blanks are None, and figures that are no numbers are errors."""

import math
import operator
import re
from collections.abc import Sequence
from datetime import UTC, datetime

from apiarybook.readers.records import Place


def plain_values(rows: Sequence[Sequence[object]], errors: dict[Place, str]) -> list[list[object]]:
    """Make blank text None, and name every number that is not finite as an error.

    Args:
        rows: values by row and column.
        errors: the text of each error cell by place; numbers that are not finite are added to it.

    Returns:
        Rows of the same shape.

    >>> errors = {}
    >>> plain_values([["a", ""], [1.0, float("inf")]], errors), errors
    ([['a', None], [1.0, None]], {(2, 2): 'inf'})
    """
    plain = [[None if value == "" else value for value in row] for row in rows]
    for row, values in enumerate(plain, start=1):
        if _holds_unbounded(values):
            _name_unbounded(row, values, errors)
    return plain


def _holds_unbounded(values: list[object]) -> bool:
    """Whether a number is not finite; one that is no number differs from itself."""
    return math.inf in values or -math.inf in values or any(map(operator.ne, values, values))


def _name_unbounded(row: int, values: list[object], errors: dict[Place, str]) -> None:
    for column, value in enumerate(values, start=1):
        if isinstance(value, float) and not math.isfinite(value):
            errors[row, column] = str(value)
            values[column - 1] = None


def program_name(text: str) -> str:
    """The name of a program as files give it, without its version.

    >>> program_name("LibreOffice/7.4.7.2$Linux_X86_64"), program_name("Microsoft Excel")
    ('libreoffice', 'microsoft excel')
    """
    return re.split(r"[/$\d]", text, maxsplit=1)[0].strip().casefold()


def moment(text: str) -> datetime | None:
    """Read an ISO 8601 date and time; in UTC if it names a zone, otherwise as written; None if it is no such thing.

    >>> moment("2026-09-12T20:15:00+02:00"), moment("2026-09-12T20:15:00.123456789"), moment("yesterday")
    (datetime.datetime(2026, 9, 12, 18, 15), datetime.datetime(2026, 9, 12, 20, 15, 0, 123456), None)
    """
    try:
        when = datetime.fromisoformat(text.strip())
        return when.astimezone(UTC).replace(tzinfo=None) if when.tzinfo else when
    except (ValueError, OverflowError):
        return None
