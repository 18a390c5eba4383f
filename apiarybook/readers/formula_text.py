"""Formula texts brought to one notation, whichever program wrote them and however the file shares them."""

import re
from array import array
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, MutableSequence

import numpy as np

from apiarybook.readers.limits import cell_name
from apiarybook.readers.records import Place

_ROW = "\0"
"""Stands for the number of a formula's own row; no part of a file holds it."""
_SHIFTED = 2_000_000
"""Characters of shared formulas that are shifted to their cells; further ones are told as their first cell has them."""


def in_any_row(formula: str, row: int) -> str:
    """A formula as it is the same in all rows that it is filled down to."""
    return formula.replace(str(row), _ROW)


class FormulaTexts(Mapping[Place, str]):
    """Formula texts by place, each way of writing kept once however many rows have it.

    A column filled down says the same in every row but for the row's own number, so a book of a hundred thousand rows
    holds some hundred texts. A formula that the file shares is shifted to a cell when somebody asks for that cell.

    >>> texts = FormulaTexts()
    >>> [texts.add_rows(2, [row], in_any_row(f"=A{row}*2", row)) for row in (7, 8, 9)], texts[8, 2], list(texts)
    ([5, 0, 0], '=A8*2', [(7, 2), (8, 2), (9, 2)])
    >>> (8, 2) in texts, (6, 2) in texts
    (True, False)
    """

    def __init__(self) -> None:
        """Begin with none."""
        self._texts: list[tuple[str, Place | None]] = []
        self._numbers: dict[tuple[str, Place | None], array[int]] = {}
        self._columns = defaultdict[int, list[tuple[MutableSequence[int], MutableSequence[int]]]](list)
        self._in_order: set[int] = set()
        self._left = _SHIFTED

    def add_rows(self, column: int, rows: MutableSequence[int], text: str, first: Place | None = None) -> int:
        """Note the formula of some cells of one column.

        Args:
            column: the cells' column.
            rows: their rows, kept as they are given where there are several.
            text: the formula as `in_any_row` gives it, beginning with =.
            first: the cell for which the text is written, where the file shares it; then it stands as it is.

        Returns:
            how many characters had to be kept for it.
        """
        way = text, first
        number = self._numbers.get(way)
        is_new = number is None
        if number is None:
            number = self._numbers[way] = array("l", [len(self._texts)])
            self._texts.append(way)
        self._in_order.discard(column)
        noted = self._columns[column]
        if len(rows) > 1:
            noted.append((rows, number))
        else:
            if not noted or len(noted[-1][0]) > len(noted[-1][1]):
                noted.append((array("l"), array("l")))
            noted[-1][0].extend(rows)
            noted[-1][1].extend(number)
        return len(text) if is_new else 0

    def _of(self, column: int) -> tuple[MutableSequence[int], MutableSequence[int]]:
        """The rows of a column that hold a formula, from above, and the text of each; of the same row the last counts.

        Few columns are ever asked for, so that one is put in order only then.
        """
        noted = self._columns.get(column) or [(array("l"), array("l"))]
        if column not in self._in_order and len(noted[0][0]):
            rows = np.concatenate([np.asarray(of) for of, _ in noted])
            ways = np.concatenate([np.resize(np.asarray(of), len(rows)) for rows, of in noted])
            order = np.argsort(rows, kind="stable")
            last = np.append(np.diff(rows[order]) > 0, [True])
            noted[:] = [(array("l", rows[order][last].tolist()), array("l", ways[order][last].tolist()))]
            self._in_order.add(column)
        return noted[0]

    def __getitem__(self, place: Place) -> str:
        text, first = self._texts[self._way(place)]
        return text.replace(_ROW, str(place[0])) if first is None else self._shifted(text, first, place)

    def __contains__(self, place: object) -> bool:
        """Whether a cell holds a formula; it is not shifted to find out."""
        try:
            return isinstance(place, tuple) and self._way(place) >= 0
        except KeyError:
            return False

    def _way(self, place: Place) -> int:
        rows, ways = self._of(place[1])
        at = bisect_left(rows, place[0])
        if at == len(rows) or rows[at] != place[0]:
            raise KeyError(place)
        return ways[at]

    def __iter__(self) -> Iterator[Place]:
        return ((row, column) for column in self._columns for row in self._of(column)[0])

    def of_columns(self, columns: Collection[int]) -> Iterator[Place]:
        """The cells of some columns that hold a formula."""
        return ((row, column) for column in columns for row in self._of(column)[0])

    def __len__(self) -> int:
        return sum(len(self._of(column)[0]) for column in self._columns)

    def _shifted(self, text: str, first: Place, place: Place) -> str:
        from openpyxl.formula.tokenizer import TokenizerError
        from openpyxl.formula.translate import Translator, TranslatorError

        self._left -= len(text)
        if self._left < 0:
            return text
        origin, target = (cell_name(*one) for one in (first, place))
        try:
            return str(Translator(text, origin).translate_formula(target))
        except (TranslatorError, TokenizerError, ValueError, IndexError):
            return text


def formulas_in(formulas: Mapping[Place, str], columns: Collection[int]) -> Iterator[Place]:
    """The cells of some columns that hold a formula.

    Args:
        formulas: the formulas of a sheet, by place.
        columns: numbers of the columns.

    >>> list(formulas_in({(2, 1): "=A1", (2, 3): "=B1"}, {3}))
    [(2, 3)]
    """
    if isinstance(formulas, FormulaTexts):
        return formulas.of_columns(columns)
    return (place for place in formulas if place[1] in columns)


_NAMESPACE = re.compile(r"[a-z]+:(?==)")
_OPEN_TOKEN = re.compile(r"""(?P<text>"(?:[^"]|"")*")|\[(?P<reference>(?:'(?:[^']|'')*'|[^\]'])*)\]|;""")
_SIDE = re.compile(r"(?:\$?(?P<sheet>'(?:[^']|'')*'|[^.:'#]+))?\.(?P<cell>[$A-Z0-9]+)")


def from_open_formula(formula: str) -> str:
    r"""Write an OpenDocument formula as the other formats do: A1 references, arguments parted by commas.

    Args:
        formula: as it stands in the file, with or without its namespace.

    >>> from_open_formula('of:=IF([.A1]<>"a;b";SUM([$\'Hive types\'.B$2:.B9]);0)')
    '=IF(A1<>"a;b",SUM(\'Hive types\'!B$2:B9),0)'
    """
    return _OPEN_TOKEN.sub(_from_open_token, _NAMESPACE.sub("", formula, count=1))


def _from_open_token(found: re.Match[str]) -> str:
    if found["text"] is not None:
        return found[0]
    if found["reference"] is None:
        return ","
    sides = [_SIDE.fullmatch(side) for side in re.split(r":(?=[.$'A-Z])", found["reference"])]
    cells = [side["cell"] for side in sides if side]
    if len(cells) != len(sides) or sides[0] is None:
        return found[0]
    sheet = sides[0]["sheet"]
    return (f"{sheet}!" if sheet else "") + ":".join(cells)


_CONSTANTS = {"=TRUE()", "=FALSE()"}


def is_constant(formula: str) -> bool:
    """Whether this is no formula that a person typed, but the way in which some programs save true and false.

    >>> is_constant("=TRUE()"), is_constant("=A1")
    (True, False)
    """
    return formula in _CONSTANTS
