"""Cells of a worksheet part, put together from its pieces.

Most cells of a book are plain numbers, or say what many others say: so a reader of values is asked once for each way of
writing.
"""

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from apiarybook.readers.limits import column_letters
from apiarybook.readers.pieces import Formula, Piece, Told, Unusual, Ways
from apiarybook.readers.records import Place

_WIDE = 200
"""Cells of a row of the part that a reader of values is given."""
_NO_DAY = 1e7
"""From here on a number is no day, whatever its cell looks like; a reader would give up the whole sheet."""
MAIN = b"http://schemas.openxmlformats.org/spreadsheetml/2006/main"


@dataclass(slots=True)
class Cells:
    """The cells of one worksheet part.

    Attributes:
        rows: the last row in which anything stands.
        columns: the last column.
        errors: the text of each error cell.
        ways: number of each way in which the attributes of a cell are written, its name left out.
    """

    rows: int = 0
    columns: int = 0
    errors: dict[Place, str] = field(default_factory=dict)
    ways: Ways = field(default_factory=Ways)
    _others: dict[tuple[int, bytes], int] = field(default_factory=dict)
    _pieces: list[Piece] = field(default_factory=list)
    _last: int = 0

    def add(self, told: Told, note: Callable[[Formula], None]) -> None:
        """Take what a piece of whole rows says, the one after the other.

        Args:
            told: what it says.
            note: is told of each formula.

        Raises:
            Unusual: it stands before what came before it.
        """
        if told.held is None:
            return
        if told.first <= self._last:
            raise Unusual
        self._last = told.last
        self.rows, self.columns = told.last >> 15, max(self.columns, told.columns)
        self.errors |= told.errors
        ways = np.array([self.ways[one] for one in told.ways], dtype=np.int32)
        keys = [(int(ways[way]), inner) for way, inner in told.others]
        others = np.array([self._others.setdefault(key, len(self._others)) for key in keys] + [-1], dtype=np.int32)
        held = told.held
        self._pieces.append(replace(held, ways=ways[held.ways], others=others[held.others]))
        for formula in told.formulas:
            note(formula)

    def ways_of_numbers(self) -> list[bytes]:
        """Attributes of the cells that hold plain numbers, each way once."""
        return [way for way, number in self.ways.items() if self.ways.types[number] == "n"]

    def strings(self) -> Iterator[tuple[Place, int]]:
        """The cells that name a text by its number, in their order."""
        for piece in self._pieces:
            places = zip(piece.rows[piece.named].tolist(), piece.columns[piece.named].tolist(), strict=True)
            yield from zip(places, piece.strings.tolist(), strict=True)

    def count_strings(self) -> int:
        """How many cells name a text."""
        return sum(len(piece.strings) for piece in self._pieces)

    def taken(self, takes: Sequence[int]) -> int:
        """Bytes that the texts of all cells take together, of which each takes so many."""
        known = np.array([*takes, 0], dtype=np.int64)
        return sum(int(known[np.minimum(piece.strings, len(takes))].sum()) for piece in self._pieces)

    def part(self, days: Collection[bytes]) -> bytes:
        """A worksheet part in which each way of writing a value stands once, but for plain numbers.

        Args:
            days: attributes under which a number is a day or a time.
        """
        spelled = {number: way for way, number in self.ways.items()}
        for number in (self.ways[way] for way in days if way in self.ways):
            for piece in self._pieces:
                of_days = (piece.ways == number) & (piece.others < 0) & (piece.numbers >= 0) & (piece.numbers < _NO_DAY)
                found, which = np.unique(piece.numbers[of_days], return_inverse=True)
                keys = [(number, b"<v>%r</v>" % one) for one in found.tolist()]
                new = [self._others.setdefault(key, len(self._others)) for key in keys]
                piece.others[of_days] = np.array(new, dtype=np.int64)[which] if new else which
        written = [
            b'<c r="%s%d"%s>%s</c>' % (column_letters(at % _WIDE + 1).encode(), at // _WIDE + 1, spelled[way], inner)
            for at, (way, inner) in enumerate(self._others)
        ]
        rows = (
            b'<row r="%d">%s</row>' % (at // _WIDE + 1, b"".join(written[at : at + _WIDE]))
            for at in range(0, len(written), _WIDE)
        )
        return b'<worksheet xmlns="%s"><sheetData>%s</sheetData></worksheet>' % (MAIN, b"".join(rows))

    def filled(self, others: Sequence[Sequence[object]]) -> list[list[object]]:
        """All values by row and column, once.

        Args:
            others: what a reader of values said of the part.
        """
        said = np.full(len(self._others), None, dtype=object)
        for at, row in enumerate(others):
            said[at * _WIDE : at * _WIDE + len(row)] = [_plain(one) for one in row][: len(said) - at * _WIDE]
        rows = max((int(piece.rows[-1]) for piece in self._pieces if len(piece.rows)), default=0)
        columns = max((int(piece.columns.max()) for piece in self._pieces if len(piece.rows)), default=0)
        grid = np.full((rows, columns), None, dtype=object)
        while self._pieces:
            piece = self._pieces.pop()
            values = piece.numbers.astype(object)
            is_other = piece.others >= 0
            values[is_other] = said[piece.others[is_other]]
            grid[piece.rows - 1, piece.columns - 1] = values
            for one in np.flatnonzero(~is_other & ~np.isfinite(piece.numbers)).tolist():
                place = int(piece.rows[one]), int(piece.columns[one])
                self.errors[place] = str(values[one])
                grid[place[0] - 1, place[1] - 1] = None
        return [row.tolist() for row in grid]


def _plain(value: object) -> object:
    return None if value == "" else value
