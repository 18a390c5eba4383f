"""How much of a file is read before it is refused: far more than any book holds, far less than a machine does."""

from dataclasses import dataclass
from functools import lru_cache

from apiarybook.errors import CannotRead


@dataclass(frozen=True, slots=True)
class Limits:
    """Bounds on one file.

    Attributes:
        packed: bytes of the file itself.
        text_file: bytes of a csv file; its text and cells take some ten times as much.
        unpacked: bytes of all the parts that are read of a zip file.
        part: bytes of any one of them at a time; of a sheet, without the formulas in it.
        parts: entries in a zip file.
        sheets: sheets in a book.
        rows: the last row that may hold a value.
        columns: the last column that may hold a value.
        cells: cells in the used areas of all sheets together; about 50 bytes each when read.
        text: bytes that all text cells together take in memory, each counted even where the file stores a text once.
        formula: characters of one formula (Microsoft, Excel specifications and limits).
        formulas: characters of all formulas of a sheet that are written differently; the same formula down a column
            counts once.
    """

    packed: int = 100_000_000
    text_file: int = 30_000_000
    unpacked: int = 1_000_000_000
    part: int = 200_000_000
    parts: int = 5_000
    sheets: int = 256
    rows: int = 200_000
    columns: int = 256
    cells: int = 10_000_000
    text: int = 300_000_000
    formula: int = 8_192
    formulas: int = 20_000_000


LIMITS = Limits()


def column_letters(column: int) -> str:
    """Letters of a column counted from 1.

    >>> column_letters(1), column_letters(27), column_letters(16384)
    ('A', 'AA', 'XFD')
    """
    letters = ""
    while column > 0:
        column, last = divmod(column - 1, 26)
        letters = chr(ord("A") + last) + letters
    return letters


def cell_name(row: int, column: int) -> str:
    """A cell as spreadsheet programs name it.

    >>> cell_name(7, 3)
    'C7'
    """
    return f"{column_letters(column)}{row}"


@lru_cache(maxsize=2048)
def column_number(letters: str) -> int:
    """Number of a column, counted from 1.

    >>> column_number("A"), column_number("XFD")
    (1, 16384)
    """
    number = 0
    for letter in letters:
        number = 26 * number + ord(letter) - ord("A") + 1
    return number


def check_place(file: str, sheet: str, row: int, column: int, limits: Limits) -> None:
    """Refuse a value that stands beyond the last row or column that is read.

    Raises:
        CannotRead: the cell is beyond the limits.
    """
    if row <= limits.rows and column <= limits.columns:
        return
    raise CannotRead(
        f"{file}, sheet {sheet}, cell {cell_name(row, column)}: there is a value far outside the table (at most "
        f"{limits.rows:,} rows and {limits.columns} columns are read); delete what stands there, save and send the "
        "file again."
    )


def check_cells(file: str, sheet: str, cells: int, limits: Limits) -> None:
    """Refuse a book whose used areas are too large to hold.

    Raises:
        CannotRead: more cells than the limit.
    """
    if cells > limits.cells:
        raise CannotRead(
            f"{file}, sheet {sheet}: the used area of the book reaches {cells:,} cells, more than the "
            f"{limits.cells:,} that are read; look for stray values far from the table, delete them and save again."
        )
