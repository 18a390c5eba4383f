"""The one declaration of the book: sheets, columns, settings and views."""

from apiarybook.layout import lists, machinery, read_here, type_here
from apiarybook.layout.model import NOT_CONTENT, Column, Group, InCopy, Kind, Layout, ReadBack, Role, Sheet, View
from apiarybook.layout.settings import SETTINGS, Setting

LAYOUT_VERSION = "3"
"""Version 2 put what most rows need and the answer side by side; 3 has one sheet for hefting and one for the winter."""
READABLE = ("1", "2", LAYOUT_VERSION)
"""Versions of which a book is read, and brought over to the newest when it is rebuilt."""

_FIRST = ("colony", "apiary")


def _standing(order: int) -> tuple[str, ...]:
    """Keys of Standing's columns in one part of a sheet; colony and apiary stand there already."""
    return tuple(one.key for one in read_here.STANDING.columns if one.order == order and one.key not in _FIRST)


def _colonies(*orders: int) -> tuple[str, ...]:
    return tuple(one.key for one in type_here.COLONIES.columns if one.order in orders and one.key not in _FIRST)


MY_COLONIES = View(
    name="My colonies",
    says="Your colonies and how each stands today. Enough is about food only: not queen, health or mites.",
    how_to="Look through it first. One row a colony: mend what is wrong, add a colony in the next free row. "
    "The pale columns are the answer, and change as you type on the other sheets.",
    parts=(
        ("Colonies", _FIRST),
        ("Standing", _standing(0)),
        ("Colonies", _colonies(0, 1)),
        ("Colonies", _colonies(2)),
        ("Standing", _standing(2)),
        ("Standing", _standing(3)),
        ("Colonies", _colonies(3, 4)),
    ),
)
"""What a member types of a colony, and the answer right beside it, so that both are seen without scrolling."""

BOOK = Layout(
    sheets=(*type_here.SHEETS, *read_here.SHEETS, *lists.SHEETS, *machinery.SHEETS),
    views=(MY_COLONIES,),
)

__all__ = [
    "BOOK",
    "LAYOUT_VERSION",
    "MY_COLONIES",
    "NOT_CONTENT",
    "READABLE",
    "SETTINGS",
    "Column",
    "Group",
    "InCopy",
    "Kind",
    "Layout",
    "ReadBack",
    "Role",
    "Setting",
    "Sheet",
    "View",
]
