"""Pieces of a worksheet part told apart many cells at a time, where written as spreadsheet programs write them.

Every tag of a piece is found at once and held to the order in which tags may follow each other; a piece in which
anything else stands is `Unusual` and left to a full parser. Most cells of a book are plain numbers, or say what many
others say: so a reader of values is asked once for each way of writing.
"""

import hashlib
import re
from array import array
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, MutableSequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from apiarybook.readers.formula_text import in_any_row
from apiarybook.readers.package import unescape
from apiarybook.readers.records import Place

Numbers = NDArray[np.int64]
Small = NDArray[np.int32]
Bytes = NDArray[np.uint8]
Rows = MutableSequence[int]
Formula = tuple[int, Rows, dict[str, str], str, str]
"""A formula: its column, its rows, the attributes of its tag, its text as for the first of the rows and for any row."""


def formula_of(column: int, rows: Rows, attributes: dict[str, str], text: str) -> Formula:
    """A formula with its text for any row."""
    return column, rows, attributes, text, in_any_row("=" + text, rows[0])


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


def _further() -> NDArray[np.bool_]:
    """Whether a byte may stand third, fourth or fifth in a tag, by what the tag is and the byte."""
    table = np.ones((3, _CODES, 256), dtype=np.bool_)
    for code, letters in _FURTHER.items():
        for at, one in enumerate(letters):
            table[at, code] = np.isin(np.arange(256), [ord(letter) for letter in one])
    return table.reshape(3, -1)


def _one_of(*codes: int) -> NDArray[np.bool_]:
    return np.isin(np.arange(_CODES), codes)


_BY_LETTERS, _FOLLOWS, _MAY_STAND = _by_letters(), _followers(), _further()
_HOLDS_TEXT, _HOLDS_VALUE = _one_of(_F, _V, _T), _one_of(_V, _V_SELF, _IS)
_MAY_BE_SELF = _one_of(_ROW, _C, _F, _V, _T, _IS)
_LONGEST = 12
"""Bytes of a cell's name and the quote behind it: three letters and seven digits at most."""
_ATTRIBUTES = re.compile(rb'(?: [a-z]{1,3}="[^"<>&]*")*')
_TYPE = re.compile(rb' t="([A-Za-z]*)"')
_TYPES = frozenset({"n", "s", "str", "e", "b", "d", "inlineStr"})
_ATTRIBUTE = re.compile(r'([a-z0-9]+)="([^"]*)"')
_LARGEST = 1 << 25
"""Bytes of a piece: no row of a book is so long that a piece would have more."""
_OWN_ROW = b"\0"
"""Stands for the number of a formula's own row; no part of a file holds it."""
_DIGITS = b"0123456789"
_OF_NUMBERS = _DIGITS + b".eE+-"


class Ways(dict[bytes, int]):
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


@dataclass(frozen=True, slots=True)
class Piece:
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


@dataclass(frozen=True, slots=True)
class Told:
    """What a piece of whole rows says by itself, whatever stands before it.

    Attributes:
        first, last: the first and the last place in it, in one number each; 0 where nothing stands.
        columns: its last column.
        held: its cells, with numbers of `ways` and `others` as here.
        ways: the ways in which the attributes of its cells are written.
        others: of each value that is no plain number its way and how it is written.
        errors: the text of each error cell.
        formulas: its formulas: column, rows, the attributes of the tag, text.
        besides: how many bytes of it are no formulas.
    """

    first: int
    last: int
    columns: int
    held: Piece | None
    ways: tuple[bytes, ...]
    others: tuple[tuple[int, bytes], ...]
    errors: dict[Place, str]
    formulas: tuple[Formula, ...]
    besides: int


def _nothing(size: int) -> Told:
    return Told(0, 0, 0, None, (), (), {}, (), size)


Keyed = tuple[tuple[bytes, Told], ...]
"""What the pieces of a part say, each with the digest of its bytes."""


class Remembered:
    """What a book said when it was read last: most of it is the same once one cell was typed and saved."""

    def __init__(self) -> None:
        self._last: dict[bytes, Told | Keyed] = {}
        self._now: dict[bytes, Told | Keyed] = {}

    def told(self, packed: bytes, rows: Callable[[], Iterable[bytes]]) -> Iterator[Told]:
        """What the pieces of a part say; of one that is the same to the byte nothing is unpacked.

        Args:
            packed: digest of the part as it lies in the file.
            rows: unpacks its whole rows, piece by piece.

        Raises:
            Unusual: something in it is not written in the usual way.
        """
        known = self._now.get(packed) or self._last.get(packed)
        pieces = known if isinstance(known, tuple) else tuple(map(self._piece, rows()))
        self._now |= dict(pieces) | {packed: pieces}
        return (told for _, told in pieces)

    def _piece(self, data: bytes) -> tuple[bytes, Told]:
        key = hashlib.sha256(data).digest()
        found = self._last.get(key)
        return key, found if isinstance(found, Told) else told_by(data)

    def turn(self) -> None:
        """Keep what was read since the last turn, and forget what was not."""
        self._last, self._now = self._now, {}


def told_by(data: bytes) -> Told:
    """Tell the cells of a piece apart.

    Args:
        data: its whole rows.

    Raises:
        Unusual: something in it is not written in the usual way.
    """
    if not data:
        return _nothing(0)
    if len(data) > _LARGEST or b"\0" in data:
        raise Unusual
    tags = _Tags(data)
    at = np.flatnonzero(tags.codes == _C)
    behind = tags.codes[at + 1]
    has_formula = (behind == _F) | (behind == _F_SELF)
    value_at = at + 1 + 2 * (behind == _F) + (behind == _F_SELF)
    value = tags.codes[value_at]
    is_held = has_formula | _HOLDS_VALUE[value]
    at, value_at, value, has_formula = (one[is_held] for one in (at, value_at, value, has_formula))
    if not len(at):
        return _nothing(len(data))
    rows, columns, names_end = tags.places(at)
    where = (rows << 15) | columns
    if (where[1:] <= where[:-1]).any():
        raise Unusual
    formulas, taken = tags.formulas(at[has_formula] + 1, columns[has_formula], rows[has_formula])
    held, ways, others, errors = _held(tags, (rows, columns, names_end), at, (value_at, value))
    first, last = int(where[0]), int(where[-1])
    return Told(first, last, int(columns.max()), held, ways, others, errors, formulas, len(data) - taken)


def _held(
    tags: "_Tags", places: tuple[Numbers, Numbers, Numbers], at: Numbers, values: tuple[Numbers, Numbers]
) -> tuple[Piece, tuple[bytes, ...], tuple[tuple[int, bytes], ...], dict[Place, str]]:
    """The cells of a piece that hold a value, the ways and the other values that they name, and the text of errors."""
    rows, columns, names_end = places
    value_at, value = values
    of_ways, of_others = Ways(), dict[tuple[int, bytes], int]()
    ways = np.array([of_ways[one] for one in tags.texts(names_end, tags.ends[at])], dtype=np.int64)
    types = np.array(of_ways.types)[ways]
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
    others[rest] = [of_others.setdefault(key, len(of_others)) for key in keys]
    errors = {
        (int(rows[one]), int(columns[one])): _text(tags.data[int(begin[one]) : int(inner[one])])
        for one in np.flatnonzero((types == "e") & (inner > 0)).tolist()
    }
    kept = (one[is_filled].astype(np.int32) for one in (rows, columns, ways, others, strings))
    rows, columns, ways, others, strings = kept
    named = np.flatnonzero(strings >= 0).astype(np.int32)
    held = Piece(rows, columns, ways, numbers[is_filled], others, named, strings[named])
    return held, tuple(of_ways), tuple(of_others), errors


def _text(data: bytes) -> str:
    return unescape(data.decode("utf-8", "replace"))


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


def _is_follower(told: tuple[tuple[int, bytes, bytes], Rows]) -> bool:
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
        of_code = codes.astype(np.uint16) << 8
        for after, may_stand in enumerate(_MAY_STAND, 3):
            if not may_stand[of_code | self._bytes[self.starts + after]].all():
                raise Unusual
        codes[_MAY_BE_SELF[codes] & (self._bytes[self.ends - 1] == ord("/"))] += 1
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
        for one in range(int(length.max())):
            byte = name[:, one].astype(np.int64)
            is_digit = (one >= letters) & (one < length)
            if (is_digit & ((byte < ord("0")) | (byte > ord("9")))).any():
                raise Unusual
            rows = np.where(is_digit, 10 * rows + byte - ord("0"), rows)
            columns = np.where(one < letters, 26 * columns + byte - ord("A") + 1, columns)
        return rows, columns, begin + 6 + length + 1

    def formulas(self, at: Numbers, columns: Numbers, rows: Numbers) -> tuple[tuple[Formula, ...], int]:
        """Formulas, those of a column that are written alike together, and how many bytes they take.

        Args:
            at: which tags they begin with.
            columns: of their cells.
            rows: of their cells.
        """
        order = np.argsort(columns, kind="stable")  # in a column most formulas are written like the one above
        at, columns, rows = at[order], columns[order], rows[order]
        is_self = self.codes[at] == _F_SELF
        begin = self.ends[at] + 1
        end = np.where(is_self, begin, self.starts[np.minimum(at + 1, len(self.starts) - 1)])
        attributes = self.texts(self.starts[at] + 2, begin - 1 - is_self)
        cells = zip(columns.tolist(), rows.tolist(), attributes, self.texts(begin, end), strict=True)
        told = (
            formula_of(column, of, _attributes(said), _text(_of_row(text, of[0])))
            for (column, said, text), of in sorted(self._alike(cells, set(rows.tolist())).items(), key=_is_follower)
        )
        return tuple(told), int((end - begin).sum())

    def _alike(
        self, cells: Iterable[tuple[int, int, bytes, bytes]], rows: set[int]
    ) -> dict[tuple[int, bytes, bytes], Rows]:
        """The rows of formulas that are written alike, by column, attributes and text."""
        digits, has_references = {row: b"%d" % row for row in rows}, b"&#" in self.data
        of: Rows = array("l")
        above = (0, b"", b"")
        alike = defaultdict[tuple[int, bytes, bytes], Rows](partial(array, "l"))
        for column, row, said, text in cells:
            if text and not (has_references or b'"shared"' in said):  # else its digits may not be those of its row
                text = text.replace(digits[row], _OWN_ROW)  # noqa: PLW2901 what is alike is told by it
            if text != above[2] or said != above[1] or column != above[0]:
                above = (column, said, text)
                of = alike[above]
            of.append(row)
        return alike


def _attributes(tag: bytes) -> dict[str, str]:
    return dict(_ATTRIBUTE.findall(tag.decode("utf-8", "replace")))


def _of_row(text: bytes, row: int) -> bytes:
    return text.replace(_OWN_ROW, b"%d" % row)
