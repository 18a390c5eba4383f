"""Cells of a worksheet part told apart many at a time, where they are written as spreadsheet programs write them.

Every tag of a piece is found at once and held to the order in which tags may follow each other; a piece in which
anything else stands is `Unusual` and left to a full parser. Most cells of a book are plain numbers, or say what many
others say: so a reader of values is asked once for each way of writing.
"""

import re
from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from apiarybook.readers.limits import column_letters
from apiarybook.readers.package import unescape
from apiarybook.readers.records import Place

Numbers = NDArray[np.int64]
Small = NDArray[np.int32]
Bytes = NDArray[np.uint8]
NoteFormula = Callable[[int, list[int], dict[str, str], str], None]
"""Takes note of a formula: its column, its rows, the attributes of its tag, its text as for the first of the rows."""


class Unusual(Exception):
    """Something is written in a way that only a full parser reads."""


(_ROW, _ROW_SELF, _ROW_END, _C, _C_SELF, _C_END, _F, _F_SELF, _F_END, _V, _V_SELF, _V_END) = range(1, 13)
(_T, _T_SELF, _T_END, _IS, _IS_SELF, _IS_END) = range(13, 19)
_OUTSIDE, _CODES = 19, 20
_TAGS = {
    **dict.fromkeys(("c ",), _C),
    **dict.fromkeys(("f ", "f>", "f/"), _F),
    **dict.fromkeys(("v ", "v>", "v/"), _V),
    **dict.fromkeys(("t ", "t>"), _T),
    "is": _IS,
    "ro": _ROW,
    "/c": _C_END,
    "/f": _F_END,
    "/v": _V_END,
    "/t": _T_END,
    "/i": _IS_END,
    "/r": _ROW_END,
}
"""What a tag is by its first two letters; the further ones are held to `_FURTHER`."""
_FURTHER = {
    _C_END: (">",),
    _F_END: (">",),
    _V_END: (">",),
    _T_END: (">",),
    _IS: (">",),
    _IS_END: ("s", ">"),
    _ROW: ("w", " >/"),
    _ROW_END: ("o", "w", ">"),
}
_BEHIND = {
    _OUTSIDE: (_ROW, _ROW_SELF, _OUTSIDE),
    _ROW: (_C, _C_SELF, _ROW_END),
    _C: (_F, _F_SELF, _V, _V_SELF, _IS, _C_END),
    _F: (_F_END,),
    _F_END: (_V, _V_SELF, _C_END),
    _V: (_V_END,),
    _V_END: (_C_END,),
    _IS: (_T,),
    _T: (_T_END,),
    _T_END: (_IS_END,),
    _IS_END: (_C_END,),
    _C_END: (_C, _C_SELF, _ROW_END),
    _ROW_END: (_ROW, _ROW_SELF, _OUTSIDE),
}
_BEHIND |= {_F_SELF: _BEHIND[_F_END], _V_SELF: (_C_END,), _C_SELF: _BEHIND[_C_END], _ROW_SELF: _BEHIND[_ROW_END]}


def _by_letters() -> Bytes:
    table = np.zeros(1 << 16, dtype=np.uint8)
    for name, code in _TAGS.items():
        table[ord(name[0]) << 8 | ord(name[1])] = code
    return table


def _followers() -> NDArray[np.bool_]:
    table = np.zeros((_CODES, _CODES), dtype=np.bool_)
    for code, behind in _BEHIND.items():
        table[code, list(behind)] = True
    return table


_BY_LETTERS, _FOLLOWS = _by_letters(), _followers()
_HOLDS_TEXT = np.isin(np.arange(_CODES), (_F, _V, _T))
_LONGEST = 12
"""Bytes of a cell's name and the quote behind it: three letters and seven digits at most."""
_ATTRIBUTES = re.compile(rb'(?: [a-z]{1,3}="[^"<>&]*")*')
_TYPE = re.compile(rb' t="([A-Za-z]*)"')
_TYPES = frozenset({"n", "s", "str", "e", "b", "d", "inlineStr"})
_ATTRIBUTE = re.compile(r'([a-z0-9]+)="([^"]*)"')
_WIDE = 200
"""Cells of a row of the part that a reader of values is given."""
_LARGEST = 1 << 25
"""Bytes of a piece: no row of a book is so long that a piece would have more."""
_OWN_ROW = b"\0"
"""Stands for the number of a formula's own row; no part of a file holds it."""
_NO_DAY = 1e7
"""From here on a number is no day, whatever its cell looks like; a reader would give up the whole sheet."""
_DIGITS = b"0123456789"
_OF_NUMBERS = _DIGITS + b".eE+-"


class _Ways(dict[bytes, int]):
    """Numbers of the ways in which a cell's attributes are written, and the type that each says."""

    def __init__(self) -> None:
        self.types: list[str] = []

    def __missing__(self, attributes: bytes) -> int:
        said = _TYPE.findall(attributes)
        kind = said[0].decode() if said else "n"
        if len(said) > 1 or kind not in _TYPES or not _ATTRIBUTES.fullmatch(attributes):
            raise Unusual
        self.types.append(kind)
        self[attributes] = len(self)
        return self[attributes]


@dataclass(slots=True)
class _Piece:
    """The cells of a piece that hold a value: place, way of writing, number (none: not a number), and what else it is.

    `strings` names the text of each of the cells `named`.
    """

    rows: Small
    columns: Small
    ways: Small
    numbers: NDArray[np.float64]
    others: Small
    named: Small
    strings: Small


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
    ways: _Ways = field(default_factory=_Ways)
    _others: dict[tuple[int, bytes], int] = field(default_factory=dict)
    _pieces: list[_Piece] = field(default_factory=list)
    _last: int = 0

    def add(self, data: bytes, note: NoteFormula) -> int:
        """Take a piece of whole rows.

        Args:
            data: the rows.
            note: is told of each formula.

        Returns:
            how many bytes of it are formulas.

        Raises:
            Unusual: something in it is not written in the usual way.
        """
        if not data:
            return 0
        if len(data) > _LARGEST:
            raise Unusual
        tags = _Tags(data)
        at = np.flatnonzero(tags.codes == _C)
        behind = tags.codes[at + 1]
        has_formula = (behind == _F) | (behind == _F_SELF)
        value_at = at + 1 + 2 * (behind == _F) + (behind == _F_SELF)
        value = tags.codes[value_at]
        is_held = has_formula | np.isin(value, (_V, _V_SELF, _IS))
        at, value_at, value, has_formula = (one[is_held] for one in (at, value_at, value, has_formula))
        if not len(at):
            return 0
        rows, columns, names_end = tags.places(at)
        self._in_order(rows, columns)
        self._hold(tags, (rows, columns, names_end), at, (value_at, value))
        return tags.note_formulas(at[has_formula] + 1, columns[has_formula], rows[has_formula], note)

    def _in_order(self, rows: Numbers, columns: Numbers) -> None:
        where = (rows << 15) | columns
        if where[0] <= self._last or (where[1:] <= where[:-1]).any():
            raise Unusual
        self._last = int(where[-1])
        self.rows, self.columns = int(rows[-1]), max(self.columns, int(columns.max()))

    def _hold(
        self, tags: "_Tags", places: tuple[Numbers, Numbers, Numbers], at: Numbers, values: tuple[Numbers, Numbers]
    ) -> None:
        rows, columns, names_end = places
        value_at, value = values
        ways = np.array([self.ways[one] for one in tags.texts(names_end, tags.ends[at])], dtype=np.int64)
        types = np.array(self.ways.types)[ways]
        inner = np.where(value == _V, tags.starts[np.minimum(value_at + 1, len(tags.starts) - 1)], 0)
        begin = tags.ends[value_at] + 1
        is_text = value == _IS
        is_filled = is_text | ((value == _V) & (inner > begin)) | ((value != _C_END) & (types == "str"))
        is_number = (value == _V) & (inner > begin) & (types == "n") & ~is_text
        numbers = np.full(len(rows), np.nan)
        numbers[is_number] = _floats(tags.texts(begin[is_number], inner[is_number]))
        strings = np.full(len(rows), -1, dtype=np.int64)
        is_string = is_filled & (types == "s") & ~is_text
        strings[is_string] = _whole(tags.texts(begin[is_string], inner[is_string]))
        others = np.full(len(rows), -1, dtype=np.int64)
        rest = np.flatnonzero(is_filled & ~is_number)
        stop = tags.ends[np.where(is_text, value_at + 3, np.where(value == _V, value_at + 1, value_at))[rest]] + 1
        keys = zip(ways[rest].tolist(), tags.texts(tags.starts[value_at[rest]], stop), strict=True)
        others[rest] = [self._others.setdefault(key, len(self._others)) for key in keys]
        for one in np.flatnonzero(types == "e").tolist():
            if inner[one] > 0:
                text = tags.data[int(begin[one]) : int(inner[one])]
                self.errors[int(rows[one]), int(columns[one])] = unescape(text.decode("utf-8", "replace"))
        rows, columns, ways, others, strings = (
            one[is_filled].astype(np.int32) for one in (rows, columns, ways, others, strings)
        )
        named = np.flatnonzero(strings >= 0).astype(np.int32)
        self._pieces.append(_Piece(rows, columns, ways, numbers[is_filled], others, named, strings[named]))

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


MAIN = b"http://schemas.openxmlformats.org/spreadsheetml/2006/main"


def _plain(value: object) -> object:
    return None if value == "" else value


def _floats(texts: list[bytes]) -> list[float]:
    if b"".join(texts).translate(None, _OF_NUMBERS):
        raise Unusual
    try:
        return list(map(float, texts))
    except ValueError as fault:
        raise Unusual from fault


def _whole(texts: list[bytes]) -> list[int]:
    if b"".join(texts).translate(None, _DIGITS) or max(map(len, texts), default=0) > 9:  # noqa: PLR2004 digits
        raise Unusual
    return list(map(int, texts))


def _is_follower(told: tuple[tuple[int, bytes, bytes], list[int]]) -> bool:
    """Whether formulas are those of a cell that is named elsewhere, which has to be told first."""
    return not told[0][2]


class _Tags:
    """The tags of a piece of whole rows: where each begins and ends, and what it is."""

    def __init__(self, data: bytes) -> None:
        self.data = data
        self._bytes = np.frombuffer(data + bytes(_LONGEST + 8), dtype=np.uint8)
        self.starts = np.flatnonzero(self._bytes == ord("<"))
        self.ends = np.flatnonzero(self._bytes == ord(">"))
        whole = len(self.starts) == len(self.ends) > 0 and self.starts[0] == 0 and self.ends[-1] == len(data) - 1
        if not whole or (self.ends < self.starts).any() or (self.starts[1:] < self.ends[:-1]).any():
            raise Unusual
        self.codes = self._told()
        around = np.concatenate([[_OUTSIDE], self.codes, [_OUTSIDE]])
        between = self.starts[1:] - self.ends[:-1] > 1
        if not _FOLLOWS[around[:-1], around[1:]].all() or (between & ~_HOLDS_TEXT[self.codes[:-1]]).any():
            raise Unusual

    def _told(self) -> Bytes:
        first = self._bytes[self.starts + 1].astype(np.uint16)
        codes: Bytes = _BY_LETTERS[(first << 8) | self._bytes[self.starts + 2]]
        for code, letters in _FURTHER.items():
            of_code = self.starts[codes == code]
            for after, one in enumerate(letters, 3):
                if not np.isin(self._bytes[of_code + after], [ord(letter) for letter in one]).all():
                    raise Unusual
        codes[np.isin(codes, (_ROW, _C, _F, _V, _T, _IS)) & (self._bytes[self.ends - 1] == ord("/"))] += 1
        return codes

    def texts(self, begin: Numbers, end: Numbers) -> list[bytes]:
        """What stands between places of the piece."""
        data = self.data
        return [data[one:other] for one, other in zip(begin.tolist(), end.tolist(), strict=True)]

    def places(self, at: Numbers) -> tuple[Numbers, Numbers, Numbers]:
        """Row and column of cells, and where each cell's name has ended.

        Args:
            at: which tags the cells begin with.
        """
        begin = self.starts[at]
        for after, letter in enumerate(b' r="', 2):
            if (self._bytes[begin + after] != letter).any():
                raise Unusual
        name = self._bytes[(begin + 6)[:, None] + np.arange(_LONGEST)]
        letters = ((name >= ord("A")) & (name <= ord("Z"))).argmin(axis=1)
        length = (name == ord('"')).argmax(axis=1)
        digits = length - letters
        odd = (letters < 1) | (letters > 3) | (digits < 1) | (digits > 7)  # noqa: PLR2004 as in `_LONGEST`
        if odd.any() or (name[np.arange(len(at)), letters] == ord("0")).any():
            raise Unusual
        rows, columns = np.zeros(len(at), dtype=np.int64), np.zeros(len(at), dtype=np.int64)
        for one in range(_LONGEST - 1):
            byte = name[:, one].astype(np.int64)
            is_digit = (one >= letters) & (one < length)
            if (is_digit & ((byte < ord("0")) | (byte > ord("9")))).any():
                raise Unusual
            rows = np.where(is_digit, 10 * rows + byte - ord("0"), rows)
            columns = np.where(one < letters, 26 * columns + byte - ord("A") + 1, columns)
        return rows, columns, begin + 6 + length + 1

    def note_formulas(self, at: Numbers, columns: Numbers, rows: Numbers, note: NoteFormula) -> int:
        """Tell of formulas, those of a column that are written alike together.

        Args:
            at: which tags they begin with.
            columns: of their cells.
            rows: of their cells.
            note: is told of them.

        Returns:
            how many bytes they take.
        """
        order = np.argsort(columns, kind="stable")  # in a column most formulas are written like the one above
        at, columns, rows = at[order], columns[order], rows[order]
        is_self = self.codes[at] == _F_SELF
        begin = self.ends[at] + 1
        end = np.where(is_self, begin, self.starts[np.minimum(at + 1, len(self.starts) - 1)])
        of, alike = list[int](), defaultdict[tuple[int, bytes, bytes], list[int]](list)
        attributes = self.texts(self.starts[at] + 2, begin - 1 - is_self)
        digits = {row: b"%d" % row for row in set(rows.tolist())}
        above, has_references = (0, b"", b""), b"&#" in self.data
        cells = zip(columns.tolist(), rows.tolist(), attributes, begin.tolist(), end.tolist(), strict=True)
        for column, row, said, first, last in cells:
            text = self.data[first:last]
            if text and not (has_references or b'"shared"' in said):  # else its digits may not be those of its row
                text = text.replace(digits[row], _OWN_ROW)
            if text != above[2] or said != above[1] or column != above[0]:
                above = (column, said, text)
                of = alike[above]
            of.append(row)
        for (column, said, text), of in sorted(alike.items(), key=_is_follower):
            plain = unescape(text.replace(_OWN_ROW, b"%d" % of[0]).decode("utf-8", "replace"))
            note(column, of, dict(_ATTRIBUTE.findall(said.decode("utf-8", "replace"))), plain)
        return int((end - begin).sum())
