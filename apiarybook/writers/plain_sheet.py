"""A worksheet that takes formulas as they are, and lets go of its cells once they are written.

The writing library looks through every formula for some thirty newer functions, to give them a prefix. Ours hold none
(the portable set has no function that needs one) and those of sheets that people added carry it already; for a club's
book the search is more than half of the time of writing. A federation's book holds millions of cells, which would stand
in memory beside the file made of them.
"""

from xlsxwriter.worksheet import Worksheet


class PlainSheet(Worksheet):  # type: ignore[misc]  # the library carries no types
    """Worksheet whose formulas are only stripped of what a file does not hold: the equals sign and array braces."""

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:  # noqa: ARG002, FBT001, FBT002 as inherited
        return formula.removeprefix("{").removeprefix("=").removesuffix("}")

    def _assemble_xml_file(self) -> None:
        super()._assemble_xml_file()
        self.table.clear()
