"""What a file holds before anything is known of its layout."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

Format = Literal["xlsx", "xlsm", "xls", "ods", "csv"]
Place = tuple[int, int]
"""Row and column of a cell, both counted from 1: A1 is (1, 1)."""


@dataclass(frozen=True, slots=True)
class RawSheet:
    """One sheet as it was saved.

    Attributes:
        name: the sheet's name (for csv the file's name without its ending).
        rows: values by row and column, nothing shifted: rows[0][0] is cell A1. A blank cell and an error cell are None.
        hidden: hidden in any way in the spreadsheet program.
        errors: the text of each error cell, such as #N/A.
        formulas: the text of each formula cell, beginning with =, in A1 notation with commas, where the format lets it
            be seen. A bare =TRUE() or =FALSE() is left out: some programs save a typed true or false in that way.
        has_notes: somebody put notes on cells.
        has_drawing: a picture, chart or shape lies on the sheet.
    """

    name: str
    rows: list[list[object]]
    hidden: bool = False
    errors: dict[Place, str] = field(default_factory=dict)
    formulas: Mapping[Place, str] = field(default_factory=dict)
    has_notes: bool = False
    has_drawing: bool = False


@dataclass(frozen=True, slots=True)
class RawBook:
    """One file as it was saved.

    Attributes:
        name: the file's name, without folders.
        sha256: the SHA-256 of the file's bytes, hexadecimal.
        format: told from the content, not from the name.
        saved: when the file says it was last saved; in UTC where it names a zone, otherwise as written. No zone is
            attached. None where the format or the file does not say.
        properties: custom document properties as text.
        sheets: by name, in the order of the book.
        remarks: what could not be seen in a file of this format, each a sentence.
        program: the program that saved it, without its version; empty where the file does not say.
        point: the decimal sign where all values are text: a comma where semicolons part the cells; else empty.
    """

    name: str
    sha256: str
    format: Format
    saved: datetime | None
    properties: dict[str, str]
    sheets: dict[str, RawSheet]
    remarks: tuple[str, ...] = ()
    program: str = ""
    point: str = ""
