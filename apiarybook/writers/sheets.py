"""One workbook in the making, with what all its sheets share."""

from __future__ import annotations

from datetime import date
from io import StringIO
from math import isfinite
from operator import attrgetter, itemgetter
from typing import IO, TYPE_CHECKING, Any, NamedTuple
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from xlsxwriter.packager import Packager
from xlsxwriter.worksheet import Worksheet

from apiarybook.book.measure import measure
from apiarybook.readers.canonical import FIRST_DAY
from apiarybook.readers.limits import column_letters
from apiarybook.writers.known_rows import rows_known
from apiarybook.writers.looks import Looks, write_value

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

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
        self.places: Places = plan.places(rows_known(cells))
        self.looks = Looks(workbook)
        self.units = measure(content.unit)


BLOCK = 512
"""Rows whose cells are put into words at a time."""
ROW = "\0"
"""Stands in a cell's words for the number of its row; no text of a file can hold it."""
DIGITS = ".12g"
"""How a computed number is kept until a program reckons: finer than any scale, and whole to the last row of a rank."""
PACKED_AT_ONCE = 1 << 18
"""Octets of a part that are gathered before they are packed."""
EARLIEST = (1980, 1, 1, 0, 0, 0)
"""The time of every part: the first that the format knows."""
LONGEST = 16_000
"""Characters of a text that fits into a cell for sure (ISO/IEC 29500: 32,767 units of UTF-16)."""
ERRORS = frozenset({"#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!"})


class Part(StringIO):
    """A part of the file, packed as it is written: its text and the copies of it would take more than all else."""

    def __init__(self, packed: IO[bytes]) -> None:
        """Begin without text."""
        super().__init__()
        self._packed, self._held = packed, bytearray()

    def write(self, text: str) -> int:
        """Take more text."""
        self._held += text.encode()
        if len(self._held) > PACKED_AT_ONCE:
            self._pack()
        return len(text)

    def end(self) -> None:
        """Pack what is left."""
        self._pack()
        self._packed.close()

    def _pack(self) -> None:
        self._packed.write(self._held)
        self._held.clear()


class Parts(Packager):  # type: ignore[misc]  # as below
    """The parts of a file, each packed as it is made; the library would keep them all and pack them at the end."""

    def __init__(self, target: IO[bytes]) -> None:
        """Begin without parts.

        Args:
            target: takes the file.
        """
        super().__init__()
        self._archive = ZipFile(target, "w")
        self._part: Part | None = None

    def _filename(self, name: str) -> Part:
        self._end()
        told = ZipInfo(name, EARLIEST)
        told.compress_type = ZIP_DEFLATED
        made = self._part = Part(self._archive.open(told, "w"))
        return made

    def _end(self) -> None:
        if self._part:
            self._part.end()

    def _create_package(self) -> list[Any]:
        """All parts; nothing is left for the library to pack."""
        super()._create_package()
        self._end()
        self._archive.close()
        return []


class Run(NamedTuple):
    """The cells of one column, one below the other, as `PlainSheet.put` takes them."""

    column: int
    values: Sequence[object]
    look: Format
    own: Mapping[int, Format]
    blanks: int
    formula: str | Sequence[str]


class PlainSheet(Worksheet):  # type: ignore[misc]  # the library carries no types
    """Worksheet whose cells are written column by column, the formula of a column once.

    What the library's own writers put into a cell stands in place of what its column has there. Formulas are only
    stripped of what a file does not hold: the equals sign and array braces.

    Source: ECMA-376 part 1, 18.3.1.40, f: a formula shared between cells is written once, and the places that it names
    move along with the cell.
    """

    def __init__(self) -> None:
        """Begin without columns."""
        super().__init__()
        self._runs: list[Run] = []
        self._first = self._rows = 0
        self._texts: dict[object, str] = {}

    def place(self, first: int, rows: int) -> None:
        """Say where the cells of all columns stand.

        Args:
            first: their first row, counted from 0.
            rows: how many rows they take.
        """
        self._first, self._rows = first, rows

    def put(
        self,
        column: int,
        values: Sequence[object],
        look: Format,
        *,
        own: Mapping[int, Format] | None = None,
        blanks: int = 0,
        formula: str | Sequence[str] = "",
    ) -> None:
        """Take the cells of a column; what is no number, day or short text the library writes.

        Args:
            column: counted from 0.
            values: what its first cells hold; None, like what is missing at the end, is blank.
            look: their format.
            own: the formats of those that have another, by place.
            blanks: how many of the first are there even if blank.
            formula: what all of them compute, as written in the first, or what each computes; empty for values.

        Raises:
            ValueError: a number is none, or has no bounds.
        """
        for row in (self._first, self._first + self._rows - 1):
            self._check_dimensions(row, column)
        self._runs.append(Run(column, values, look, own or {}, blanks, formula))
        if formula:
            return
        if not isfinite(sum(value for value in values if value.__class__ is float)):
            raise ValueError(f"sheet {self.name}, column {column_letters(column + 1)}: not a number")
        for at, value in enumerate(values[: self._rows]):
            if value is not None and value.__class__ is not float and not self._is_held(value):
                write_value(self, self._first + at, column, value, (own or {}).get(at, look))

    def _is_held(self, value: Any) -> bool:
        """Whether a value is a short text, a day or a whole number, the end of whose cell is put into words here."""
        kind = value.__class__
        if kind is str and len(value) <= LONGEST:
            number = self.str_table._get_shared_string_index(value)  # noqa: SLF001 as the library's own writer does
            self._texts.setdefault(value, f' t="s"><v>{number}</v></c>')
        elif kind is date and value >= FIRST_DAY:
            if value not in self._texts:
                self._texts[value] = f"><v>{in_short(self._convert_date_time(value))}</v></c>"
        elif kind is int:
            self._texts[value] = f"><v>{in_short(float(value))}</v></c>"
        else:
            return False
        return True

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:  # noqa: ARG002, FBT001, FBT002 as inherited
        return formula.removeprefix("{").removeprefix("=").removesuffix("}")

    def _calculate_spans(self) -> None:
        """Which columns a row fills is a hint that no program needs."""
        self.row_spans: dict[int, str] = {}

    def _xml_number_element(self, number: float, attributes: list[tuple[str, Any]]) -> None:
        cell = "".join(f' {name}="{value}"' for name, value in attributes)
        self.fh.write(f"<c{cell}><v>{in_short(number)}</v></c>")

    def _write_rows(self) -> None:
        self._runs.sort(key=attrgetter("column"))
        self._number_formats()
        end = self._first + self._rows if self._runs else self.dim_rowmin
        for row in range(self.dim_rowmin, self._first if self._runs else end):
            self._write_line(row, ())
        for start in range(0, self._rows if self._runs else 0, BLOCK):
            columns = [self._cells(run, start, min(start + BLOCK, self._rows)) for run in self._runs]
            for row, cells in enumerate(zip(*columns, strict=True), self._first + start):
                self._write_line(row, cells)
        for row in range(end, self.dim_rowmax + 1):
            self._write_line(row, ())

    def _write_line(self, row: int, cells: Sequence[str]) -> None:
        """Write a row: what the library has there, and the cells of the columns where it has nothing."""
        own, info, number = self.table.get(row), self.row_info.get(row), str(row + 1)
        text = "".join(cells)
        if own:
            self._write_row(row, None, info)
            of_runs = {run.column: cell for run, cell in zip(self._runs, cells, strict=False) if cell}
            for column in sorted(own.keys() | of_runs.keys()):
                if column in own:
                    self._write_cell(row, column, own[column])
                else:
                    self.fh.write(of_runs[column].replace(ROW, number))
            self.fh.write("</row>")
        elif text:
            self._write_row(row, None, info)
            self.fh.write(f"{text.replace(ROW, number)}</row>")
        elif info is not None or row in self.comments:
            self._write_empty_row(row, None, info)

    def _number_formats(self) -> None:
        """Let the library number all formats in the order of the cells that show them first."""
        shown = [(self._first, run.column, run.look) for run in self._runs if 0 not in run.own]
        shown += [(self._first + at, run.column, look) for run in self._runs for at, look in run.own.items()]
        shown += [(row, at, cell.format) for row, of in self.table.items() for at, cell in of.items() if cell.format]
        for _, _, look in sorted(shown, key=itemgetter(0, 1)):
            look._get_xf_index()  # noqa: SLF001 the library numbers them so

    def _cells(self, run: Run, start: int, stop: int) -> list[str]:
        """Some of the cells of a column in words, without the number of their row; empty where there is none."""
        name = f'<c r="{column_letters(run.column + 1)}{ROW}" s='
        head = f'{name}"{run.look._get_xf_index()}"'  # noqa: SLF001 as above
        values = [*run.values[start:stop]]
        values += [None] * (stop - start - len(values))
        cells = self._computed(run, head, values, start) if run.formula else self._held(run, head, values, start)
        for at in run.own.keys() & range(start, stop):
            cells[at - start] = cells[at - start].replace(head, f'{name}"{run.own[at]._get_xf_index()}"', 1)  # noqa: SLF001
        return cells

    def _held(self, run: Run, head: str, values: list[object], start: int) -> list[str]:
        """Cells that hold values."""
        blank, texts = f"{head}/>" if run.blanks >= start + len(values) else "", self._texts
        cells = [
            blank
            if value is None
            else f"{head}><v>{repr(value).removesuffix('.0')}</v></c>"
            if value.__class__ is float
            else head + texts.get(value, "/>")
            for value in values
        ]
        for at in range(0 if blank else run.blanks - start):
            cells[at] = cells[at] or f"{head}/>"
        return cells

    def _computed(self, run: Run, head: str, values: list[object], start: int) -> list[str]:
        """Cells that compute, with what they show until a program reckons."""
        if not isinstance(run.formula, str):
            return self._each_computed(head, values, run.formula[start:])
        mark = f't="shared" si="{run.column}"'
        formula = f"<f {mark}/><v>"
        texts = {value: self._shown(value, formula) for value in values if value.__class__ is not float}
        cells = [
            f"{head}>{formula}{value:{DIGITS}}</v></c>" if value.__class__ is float else head + texts[value]
            for value in values
        ]
        if not start:
            letters, last = column_letters(run.column + 1), self._first + self._rows
            whole, text = f"{letters}{self._first + 1}:{letters}{last}", self._escape_data(run.formula)
            cells[0] = cells[0].replace(formula, f'<f {mark} ref="{whole}">{text.removeprefix("=")}</f><v>', 1)
        return cells

    def _each_computed(self, head: str, values: list[object], formulas: Sequence[str]) -> list[str]:
        """Cells of which each has a formula of its own."""
        texts = (f"<f>{self._escape_data(text.removeprefix('='))}</f><v>" for text in formulas)
        return [head + self._shown(value, text) for value, text in zip(values, texts, strict=False)]

    def _shown(self, value: object, formula: str) -> str:
        """The end of a cell that computes."""
        if value is None or value == "":
            return f">{formula}</v></c>"
        if isinstance(value, bool):
            return f' t="b">{formula}{int(value)}</v></c>'
        kind = (' t="e"' if value in ERRORS else ' t="str"') if isinstance(value, str) else ""
        shown = f"{value:{DIGITS}}" if isinstance(value, float) else self._escape_data(str(value))
        return f"{kind}>{formula}{shown}</v></c>"

    def _get_range_data(self, first_row: int, first_column: int, last_row: int, last_column: int) -> list[object]:
        """What charts keep of the cells that they draw."""
        runs = {run.column: run for run in self._runs}
        data: list[object] = []
        for row in range(first_row, last_row + 1):
            for column in range(first_column, last_column + 1):
                at, run = row - self._first, runs.get(column)
                if run is None or not 0 <= at < self._rows or column in self.table.get(row, ()):
                    data += super()._get_range_data(row, column, row, column)
                else:
                    data.append(self._drawn(run, run.values[at] if at < len(run.values) else None, at))
        return data

    def _drawn(self, run: Run, value: object, at: int) -> object:
        """What a chart keeps of one cell: of a computed one what it shows."""
        if value is None:
            return "" if run.formula or at < run.blanks else None
        if run.formula or isinstance(value, str):
            return value
        return f"{self._convert_date_time(value) if isinstance(value, date) else value:.16g}"

    def _assemble_xml_file(self) -> None:
        super()._assemble_xml_file()
        self.table.clear()
        self._runs.clear()


def in_short(result: object) -> str:
    """What a cell holds, a number in the fewest digits that give it back.

    >>> in_short(0.0), in_short(0.696552), in_short(-2.5), in_short("enough")
    ('0', '0.696552', '-2.5', 'enough')
    """
    return repr(float(result)).removesuffix(".0") if isinstance(result, float) else str(result)
