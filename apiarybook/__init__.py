"""The workbook with which a beekeeping club brings every colony into winter with enough stores.

Python programs find everything they need here, each function with an example in its help:

    book = apiarybook.read_book(path)                        any file a member may send, as tables
    checked = apiarybook.check_book(book, day)               what is wrong or doubtful in it
    reckoned = apiarybook.reckon_book(book, day)             checked, and every colony reckoned
    frame = apiarybook.colonies(reckoned)                    how each colony stands, one row each
    gathering = apiarybook.collate_returns(path, files, day) many members' files in one
    year = apiarybook.close_year(book, day)                  what a winter taught
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from apiarybook.api import (
        Reckoned,
        check_book,
        close_year,
        collate_returns,
        colonies,
        new_book,
        read_book,
        reckon_book,
    )

__version__ = "0.1.0"
__all__ = [
    "Reckoned",
    "__version__",
    "check_book",
    "close_year",
    "collate_returns",
    "colonies",
    "new_book",
    "read_book",
    "reckon_book",
]


def __getattr__(name: str) -> object:
    """Import what is asked for when it is: the commands answer before pandas is there."""
    if name not in __all__:
        raise AttributeError(f"module 'apiarybook' has no {name!r}; it offers {', '.join(__all__)}")
    from apiarybook import api

    return getattr(api, name)


def __dir__() -> list[str]:
    return sorted([*globals(), *__all__])
