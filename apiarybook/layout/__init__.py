"""The one declaration of the book: sheets, columns, settings and views."""

from apiarybook.layout import lists, machinery, read_here, type_here
from apiarybook.layout.model import Column, Group, InCopy, Kind, Layout, ReadBack, Role, Sheet, View
from apiarybook.layout.settings import SETTINGS, Setting

LAYOUT_VERSION = "1"

_FIRST = ("colony", "apiary", "hive_type")
_ANSWER = tuple(column.key for column in read_here.STANDING.columns if not column.folded and column.key != "colony")

MY_COLONIES = View(
    name="My colonies",
    says="Your colonies and how each stands today. Enough is about food only: not queen, health or mites.",
    how_to="Look through it first. One row a colony: mend what is wrong, add a colony in the next free row. "
    "The pale columns are the answer, and change as you type on the other sheets.",
    parts=(
        ("Colonies", _FIRST),
        ("Standing", _ANSWER),
        ("Colonies", tuple(column.key for column in type_here.COLONIES.columns if column.key not in _FIRST)),
        ("Standing", tuple(column.key for column in read_here.STANDING.columns if column.folded)),
    ),
)
"""What a member types of a colony, and the answer right beside it, so that both are seen without scrolling."""

BOOK = Layout(
    version=LAYOUT_VERSION,
    sheets=(*type_here.SHEETS, *read_here.SHEETS, *lists.SHEETS, *machinery.SHEETS),
    views=(MY_COLONIES,),
)

__all__ = [
    "BOOK",
    "LAYOUT_VERSION",
    "MY_COLONIES",
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
