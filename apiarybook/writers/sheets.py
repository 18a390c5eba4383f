"""One workbook in the making, with what all its sheets share."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from xlsxwriter.worksheet import CellFormulaTuple, Worksheet

from apiarybook.book.measure import measure
from apiarybook.writers.looks import Looks

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook

    from apiarybook.writers.content import Content
    from apiarybook.writers.fill import Cells
    from apiarybook.writers.places import Places
    from apiarybook.writers.plan import Plan


class Sheets:
    """One workbook in the making, with what all its sheets share."""

    def __init__(self, workbook: Workbook, content: Content, plan: Plan, cells: Cells) -> None:
        """Work out the places and formats once."""
        self.sheet_class = PlainSheet
        self.workbook = workbook
        self.content = content
        self.plan = plan
        self.cells = cells
        self.places: Places = plan.places()
        self.looks = Looks(workbook)
        self.units = measure(content.unit)


class Shared(str):
    """A formula of a whole column: its text where it stands first, empty in the cells below, with the mark of both.

    Source: ECMA-376 part 1, 18.3.1.40, f: a formula shared between cells is written once, and the places that it names
    move along with the cell.
    """

    __slots__ = ("mark",)
    mark: str


class PlainSheet(Worksheet):  # type: ignore[misc]  # the library carries no types
    """Worksheet whose formulas are only stripped of what a file does not hold: the equals sign and array braces."""

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:  # noqa: ARG002, FBT001, FBT002 as inherited
        return formula.removeprefix("{").removeprefix("=").removesuffix("}")

    def _calculate_spans(self) -> None:
        """Which columns a row fills is a hint that no program needs."""
        self.row_spans: dict[int, str] = {}

    def write_shared(self, row: int, column: int, first: str, look: Format, value: object, mark: str) -> None:
        """Write one cell of a column whose cells share a formula.

        Args:
            row: its row counted from 0.
            column: its column counted from 0.
            first: the formula if it is the first of the column, else empty.
            look: its format.
            value: what it shows until a program reckons.
            mark: attributes of the shared formula, as the file holds them.
        """
        self._check_dimensions(row, column)
        shared = Shared(first.removeprefix("="))
        shared.mark = mark
        self.table[row][column] = CellFormulaTuple(shared, look, value)

    def _xml_number_element(self, number: float, attributes: list[tuple[str, Any]]) -> None:
        cell = "".join(f' {name}="{value}"' for name, value in attributes)
        self.fh.write(f"<c{cell}><v>{in_short(number)}</v></c>")

    def _xml_formula_element(self, formula: str, result: object, attributes: list[tuple[str, Any]]) -> None:
        if not isinstance(formula, Shared):
            super()._xml_formula_element(formula, result, attributes)
            return
        cell = "".join(f' {name}="{value}"' for name, value in attributes)
        text, shown = self._escape_data(str(formula)), self._escape_data(in_short(result))
        self.fh.write(f"<c{cell}><f {formula.mark}>{text}</f><v>{shown}</v></c>")

    def _assemble_xml_file(self) -> None:
        super()._assemble_xml_file()
        self.table.clear()


def in_short(result: object) -> str:
    """What a cell holds, a number in the fewest digits that give it back.

    >>> in_short(0.0), in_short(0.696552), in_short(-2.5), in_short("enough")
    ('0', '0.696552', '-2.5', 'enough')
    """
    return repr(float(result)).removesuffix(".0") if isinstance(result, float) else str(result)
