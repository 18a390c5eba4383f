"""The one declaration of the book: sheets, columns, settings and views."""

from apiarybook.layout import lists, machinery, read_here, type_here
from apiarybook.layout.model import Column, Group, Kind, Layout, Role, Sheet, View
from apiarybook.layout.settings import SETTINGS, Setting

LAYOUT_VERSION = "1"

MY_COLONIES = View(
    name="My colonies",
    parts=(
        ("Colonies", tuple(column.key for column in type_here.COLONIES.columns)),
        ("Standing", tuple(column.key for column in read_here.STANDING.columns if column.key != "colony")),
    ),
)

BOOK = Layout(
    version=LAYOUT_VERSION,
    sheets=(*type_here.SHEETS, *read_here.SHEETS, *lists.SHEETS, *machinery.SHEETS),
    views=(MY_COLONIES,),
)

__all__ = [
    "BOOK",
    "LAYOUT_VERSION",
    "SETTINGS",
    "Column",
    "Group",
    "Kind",
    "Layout",
    "Role",
    "Setting",
    "Sheet",
    "View",
]
