"""One workbook in the making, with what all its sheets share."""

from __future__ import annotations

from typing import TYPE_CHECKING

from apiarybook.book.measure import measure
from apiarybook.writers.looks import Looks

if TYPE_CHECKING:
    from xlsxwriter.workbook import Workbook

    from apiarybook.writers.content import Content
    from apiarybook.writers.fill import Cells
    from apiarybook.writers.places import Places
    from apiarybook.writers.plan import Plan


class Sheets:
    """One workbook in the making, with what all its sheets share."""

    def __init__(self, workbook: Workbook, content: Content, plan: Plan, cells: Cells) -> None:
        """Work out the places and formats once."""
        from apiarybook.writers.plain_sheet import PlainSheet

        self.sheet_class = PlainSheet
        self.workbook = workbook
        self.content = content
        self.plan = plan
        self.cells = cells
        self.places: Places = plan.places()
        self.looks = Looks(workbook)
        self.units = measure(content.unit)
