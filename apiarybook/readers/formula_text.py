"""Formula texts brought to one notation, whichever program wrote them and however the file shares them."""

import re
from array import array
from bisect import bisect_left
from collections.abc import Collection, Iterator, Mapping
from operator import lt

from apiarybook.readers.limits import column_letters
from apiarybook.readers.records import Place

_ROW = "\0"
"""Stands for the number of a formula's own row; no part of a file holds it."""
_SHIFTED = 2_000_000
"""Characters of shared formulas that are shifted to their cells; further ones are told as their first cell has them."""


class FormulaTexts(Mapping[Place, str]):
    """Formula texts by place, each way of writing kept once however many rows have it.

    A column filled down says the same in every row but for the row's own number, so a book of a hundred thousand rows
    holds some hundred texts. A formula that the file shares is shifted to a cell when somebody asks for that cell.

    >>> texts = FormulaTexts()
    >>> [texts.add_rows(2, [row], f"=A{row}*2") for row in (7, 8, 9)], texts[8, 2], list(texts)
    ([5, 0, 0], '=A8*2', [(7, 2), (8, 2), (9, 2)])
    >>> (8, 2) in texts, (6, 2) in texts
    (True, False)
    """

    def __init__(self) -> None:
        """Begin with none."""
        self._texts: list[tuple[str, Place | None]] = []
        self._numbers: dict[tuple[str, Place | None], int] = {}
        self._columns: dict[int, tuple[array[int], array[int]]] = {}
        self._left = _SHIFTED

    def add_rows(self, column: int, rows: list[int], text: str, first: Place | None = None) -> int:
        """Note the formula of some cells of one column.

        Args:
            column: the cells' column.
            rows: their rows; one alone where the text is written in the cell itself.
            text: the formula, beginning with =.
            first: the cell for which the text is written, where the file shares it.

        Returns:
            how many characters had to be kept for it.
        """
        way = (text.replace(str(rows[0]), _ROW), None) if first is None else (text, first)
        known = self._numbers.get(way)
        number = self._numbers.setdefault(way, len(self._texts)) if known is None else known
        if known is None:
            self._texts.append(way)
        have, ways = self._columns.setdefault(column, (array("l"), array("l")))
        if (not have or have[-1] < rows[0]) and all(map(lt, rows, rows[1:])):
            have.extend(rows)
            ways.extend([number] * len(rows))
        else:
            self._put_between(have, ways, rows, number)
        return len(way[0]) if known is None else 0

    @staticmethod
    def _put_between(have: "array[int]", ways: "array[int]", rows: list[int], number: int) -> None:
        for row in rows:
            at = bisect_left(have, row)
            if at < len(have) and have[at] == row:
                ways[at] = number
            else:
                have.insert(at, row)
                ways.insert(at, number)

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
        rows, ways = self._columns.get(place[1], (array("l"), array("l")))
        at = bisect_left(rows, place[0])
        if at == len(rows) or rows[at] != place[0]:
            raise KeyError(place)
        return ways[at]

    def __iter__(self) -> Iterator[Place]:
        return ((row, column) for column, (rows, _) in self._columns.items() for row in rows)

    def of_columns(self, columns: Collection[int]) -> Iterator[Place]:
        """The cells of some columns that hold a formula."""
        return ((row, column) for column in columns if column in self._columns for row in self._columns[column][0])

    def __len__(self) -> int:
        return sum(len(rows) for rows, _ in self._columns.values())

    def _shifted(self, text: str, first: Place, place: Place) -> str:
        from openpyxl.formula.tokenizer import TokenizerError
        from openpyxl.formula.translate import Translator, TranslatorError

        self._left -= len(text)
        if self._left < 0:
            return text
        origin, target = (f"{column_letters(column)}{row}" for row, column in (first, place))
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
