"""Error cells of an old binary book (xls), which the reader gives as blanks.

Sources: Microsoft, [MS-CFB] Compound File Binary File Format, sections 2.2 to 2.6, and [MS-XLS] Excel Binary File
Format (.xls) Structure, sections 2.4.24 BoolErr, 2.4.28 BoundSheet8, 2.4.127 Formula and 2.5.10 BErr.
"""

import struct
from collections.abc import Iterator

_CODES = {0x00: "#NULL!", 0x07: "#DIV/0!", 0x0F: "#VALUE!", 0x17: "#REF!", 0x1D: "#NAME?", 0x24: "#NUM!", 0x2A: "#N/A"}
_BEGIN, _END, _SHEET, _FORMULA, _BOOLEAN_OR_ERROR = 0x0809, 0x000A, 0x0085, 0x0006, 0x0205
_HEADER_SECTORS = 109
_LAST_SECTOR = 0xFFFFFFFA
_ENTRY = 128
_LARGEST_POWER = 12


def old_errors(data: bytes) -> list[list[tuple[int, int, str]]]:
    """Find the error cells of each sheet.

    Args:
        data: the bytes of the xls file.

    Returns:
        For each sheet in the order of the book, row and column counted from 1, and the error's text.

    Raises:
        ValueError: the file does not keep its book in the usual way.
    """
    try:
        book = _book(data)
        starts = [struct.unpack_from("<I", body)[0] for kind, body in _records(book, 0) if kind == _SHEET]
        return [list(_errors(book, start)) for start in starts]
    except (struct.error, IndexError) as fault:
        raise ValueError("the book's records are not where they should be") from fault


def _records(book: bytes, start: int) -> Iterator[tuple[int, bytes]]:
    """Kind and body of each record from the beginning of a part to its end; parts within it are stepped over."""
    depth = 0
    while True:
        kind, length = struct.unpack_from("<HH", book, start)
        depth += (kind == _BEGIN) - (kind == _END)
        if depth <= 1:
            yield kind, book[start + 4 : start + 4 + length]
        if depth == 0:
            return
        start += 4 + length


def _errors(book: bytes, start: int) -> Iterator[tuple[int, int, str]]:
    for kind, body in _records(book, start):
        code = None
        if kind == _BOOLEAN_OR_ERROR and body[7]:
            code = body[6]
        elif kind == _FORMULA and body[12:14] == b"\xff\xff" and body[6] == 2:  # noqa: PLR2004 2 marks an error
            code = body[8]
        if code is not None:
            row, column = struct.unpack_from("<HH", body)
            yield row + 1, column + 1, _CODES.get(code, "#ERROR")


def _book(data: bytes) -> bytes:
    """The stream of the compound file that holds the book."""
    powers = struct.unpack_from("<HH", data, 30)
    if max(powers) > _LARGEST_POWER:
        raise ValueError("the sectors of the file have no usual size")
    size, small = (1 << power for power in powers)
    directory, _, cutoff, small_table = struct.unpack_from("<IIII", data, 48)
    table = _table(data, size)
    entries = _chain(data, size, table, directory)
    for at in range(0, len(entries), _ENTRY):
        entry = entries[at : at + _ENTRY]
        name = entry[: max(struct.unpack_from("<H", entry, 64)[0] - 2, 0)].decode("utf-16-le", "replace")
        first, length = struct.unpack_from("<II", entry, 116)
        if name not in {"Workbook", "Book"}:
            continue
        if length >= cutoff:
            return _chain(data, size, table, first)[:length]
        packed = _chain(data, size, table, small_table)
        root = _chain(data, size, table, struct.unpack_from("<I", entries, 116)[0])
        return _chain(bytes(small) + root, small, [step for (step,) in struct.iter_unpack("<I", packed)], first)[
            :length
        ]
    raise ValueError("the file has no book")


def _table(data: bytes, size: int) -> list[int]:
    """For each sector, the sector that follows it."""
    per_sector = size // 4
    sectors = list(struct.unpack_from(f"<{_HEADER_SECTORS}I", data, 76))
    following, remaining = struct.unpack_from("<II", data, 68)
    while following < _LAST_SECTOR and remaining > 0:
        more = struct.unpack_from(f"<{per_sector}I", data, (following + 1) * size)
        sectors += more[:-1]
        following, remaining = more[-1], remaining - 1
    table: list[int] = []
    for sector in sectors:
        if sector < _LAST_SECTOR:
            table += struct.unpack_from(f"<{per_sector}I", data, (sector + 1) * size)
    return table


def _chain(data: bytes, size: int, table: list[int], sector: int) -> bytes:
    """The sectors of one stream, each named by the one before; the first sector lies one size into the data."""
    parts: list[bytes] = []
    while sector < _LAST_SECTOR and len(parts) * size <= len(data):
        parts.append(data[(sector + 1) * size : (sector + 2) * size])
        sector = table[sector]
    return b"".join(parts)
