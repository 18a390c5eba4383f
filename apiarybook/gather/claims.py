"""What each copy says of each row: read from a book, kept on the sheet Claims, and read back from there."""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from math import isnan
from sys import intern
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from apiarybook.errors import CannotRead
from apiarybook.gather.ref_ranges import natural, runs
from apiarybook.layout import BOOK, NOT_CONTENT, Column, Group, Kind
from apiarybook.readers.canonical import SIGNIFICANT_DIGITS, canonical_text
from apiarybook.readers.limits import column_letters

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from apiarybook.book.table import Table
    from apiarybook.book.tables import Book
    from apiarybook.readers.records import RawBook

HANDED_OUT = "handed out"
SHEETS = tuple(sheet.name for sheet in BOOK.sheets if sheet.group is Group.TYPE_HERE)
"""The sheets whose rows are claimed: those that people type into through the season."""
STRANGE = "? "
"""What the key of a value begins with that stood under a heading which the layout does not know."""
BLANK_ROWS = "blank rows"
"""Key under which the claim of a sheet's headings names the refs of its rows without content."""
CELL_LIMIT = 32_000
"""Characters of one cell; spreadsheet programs hold 32,767 (ISO/IEC 29500 leaves it open, so this is from memory)."""
OF_FILE = "of the file"
"""Key under which the claim of a file's first headings says what is to be said of the file as a whole."""
SAVED_BY = "saved by"
"""Key under which the claim of a sheet's headings names the program that saved the file."""
_BLANK = "\\u0020"
_DAY, _MOMENT = "@day", "@moment"
_TOLD = ("copy", "sheet", "ref", "saved", "file", "sha256", "place", "gathered")
_IDENTITY = ("colony", "date", "occasion", "by")


@dataclass(frozen=True, slots=True)
class Claim:
    """What one file says of one row, or, where `ref` is empty, which columns one of its sheets has.

    Attributes:
        copy: token of the copy.
        sheet: layout name.
        ref: the row's ref as it stands in the file. Empty for the headings of a sheet: there `values` has the letters
            of each column by key, and `raw` the refs of the rows without content.
        saved: when the file says it was saved, ISO to the second; empty where it does not say.
        file: the file's name; `handed out` for what was handed out.
        sha256: of the file's bytes.
        place: number of the row in that file; empty for a row that is missing there.
        values: canonical values by key of the layout, blanks left out.
        was: for what was typed into the club's own book, what stood before in each cell that was changed, blanks as
            None; None for all others, which speak of their whole row.
        raw: text as it was typed, by key, where its canonical form differs; what stood under unknown headings.
        gathered: the as-at date of the run that gathered it first.
    """

    copy: str
    sheet: str
    ref: str
    saved: str
    file: str
    sha256: str
    place: str
    values: dict[str, object]
    was: dict[str, object] | None = None
    raw: dict[str, str] = field(default_factory=dict)
    gathered: str = ""

    @property
    def kind(self) -> str:
        """One of handed out, returned and typed (into the club's own book).

        >>> Claim("M1a", "Moves", "M1a-M1", "", "handed out", "", "2", {}).kind
        'handed out'
        """
        if self.was is not None:
            return "typed"
        return HANDED_OUT if self.file == HANDED_OUT else "returned"


def in_words(value: object) -> str:
    """A value that is canonical already as text, as `canonical_text` gives it.

    >>> [in_words(value) for value in (None, 38.5, "A1", date(2026, 9, 5))]
    ['', '38.5', 'A1', '2026-09-05']
    """
    if isinstance(value, str):
        return value
    if isinstance(value, float):
        return f"{value:.{SIGNIFICANT_DIGITS}g}"
    if isinstance(value, date):
        return value.isoformat()
    return canonical_text(value)


def claims_of(
    book: Book, copy: str, *, gathered: str = "", handed_out: bool = False, source: RawBook | None = None
) -> list[Claim]:
    r"""What a file says: a claim for each row that holds anything, and one for the headings of each sheet.

    Args:
        book: the file as read.
        copy: token of the copy that it is.
        gathered: the as-at date, ISO.
        handed_out: whether these are the rows as they are handed out, not as they came back.
        source: the file as it stands; with it text is kept as typed where its canonical form differs.

    Returns:
        claims in order of sheet and row; refs stand as in the file, and rows without one have one made of their copy,
        colony, date, occasion, hand and ordinal.

    >>> from apiarybook.book.tables import read_book
    >>> data = b"Ref,Date,Hive,How,Reading 1 (kg)\nM1a-W1,2026-09-05,A1,one side,21.5\nM1a-W2,,,,\n"
    >>> headings, row = claims_of(read_book(("Weighings.csv", data)), "M1a")
    >>> row.ref, row.place, row.values["reading_1"], headings.values["reading_1"], headings.raw
    ('M1a-W1', '2', 21.5, 'E', {'blank rows': 'M1a-W2'})
    """
    saved = gathered if handed_out else (book.saved.isoformat(timespec="seconds") if book.saved else "")
    file = HANDED_OUT if handed_out else book.name
    found: list[Claim] = []
    for name in SHEETS:
        if name in book.tables:
            blank = Claim(copy, name, "", saved, file, book.sha256, "", {}, gathered=gathered)
            found += _of_sheet(book.tables[name], blank, source)
    return found


def _of_sheet(table: Table, blank: Claim, source: RawBook | None) -> Iterator[Claim]:
    rows, strange = _rows(table), _strange(table)
    typed = _as_typed(table, source)
    empty: list[str] = []
    claims: list[Claim] = []
    for number, ref in zip(table.raw.index.tolist(), _refs(table), strict=True):
        values, raw = rows[number], typed.get(number, {}) | strange.get(number, {})
        if any(one not in NOT_CONTENT for one in values) or any(one.startswith(STRANGE) for one in raw):
            claims.append(replace(blank, ref=ref, place=str(number), values=values, raw=raw))
        elif ref:
            empty.append(ref)
    letters: dict[str, object] = {one: column_letters(at) for one, at in table.columns.items() if _is_typed(table, one)}
    heading = str(int(table.raw.index[0]) - 1) if len(table.raw) else ""
    told = {BLANK_ROWS: runs(empty), SAVED_BY: source.program if source else ""}
    yield replace(blank, place=heading, values=letters, raw={key: text for key, text in told.items() if text})
    yield from _with_refs(claims)


def _is_typed(table: Table, key: str) -> bool:
    return any(column.key == key for column in table.sheet.typed)


def _refs(table: Table) -> list[str]:
    """The ref of each row as far as it is one."""
    if "ref" not in table.columns:
        return [""] * len(table.raw)
    return ["" if _is_blank(one) else str(one) for one in table.typed["ref"].tolist()]


def _rows(table: Table) -> dict[int, dict[str, object]]:
    """The canonical values of each row by its number, blanks left out."""
    numbers = table.raw.index.tolist()
    rows: dict[int, dict[str, object]] = {number: {} for number in numbers}
    raw, typed = (_lists(frame) for frame in (table.raw, table.typed))
    for column in table.sheet.typed:
        if column.key in table.columns and column.key != "ref":
            for number, one in zip(numbers, _values(column, raw[column.key], typed[column.key]), strict=True):
                if one is not None:
                    rows[number][column.key] = one
    for fault in table.faults:
        if fault.fault.rule == "formula-in-input":
            rows[fault.row][fault.key] = canonical_text(fault.fault.told["formula"])
    return rows


def _lists(frame: pd.DataFrame) -> dict[str, list[Any]]:
    """The values of each column, by its key."""
    return dict(zip(frame.columns, frame.to_numpy(dtype=object).T.tolist(), strict=True))


def _values(column: Column, raw: list[object], typed: list[Any]) -> list[object]:
    """Values of a column in one form for every format of file: as read where they could be, else as they stand."""
    if column.kind is Kind.CODE or column.refers_to:
        return [None if one is None else canonical_text(one) for one in raw]
    pairs = zip(typed, raw, strict=True)
    if column.kind is Kind.DATE:
        return [one.date() if isinstance(one, pd.Timestamp) else _plain(as_is) for one, as_is in pairs]
    if column.numeric:
        return [_figure(as_is) if _is_blank(one) else one for one, as_is in pairs]
    plain = _figure if column.kind is Kind.HEFT else _plain
    return [plain(as_is) if _is_blank(one) else one for one, as_is in pairs]


def _is_blank(value: object) -> bool:
    return value is None or (isinstance(value, float) and isnan(value))


def _plain(value: object) -> object:
    return None if value is None else canonical_text(value)


def _figure(value: object) -> object:
    """A value that should have been a figure; true and false as text, since they equal 1 and 0."""
    return canonical_text(value) if isinstance(value, bool) else value


def _strange(table: Table) -> dict[int, dict[str, str]]:
    """What stands under headings that the layout does not know, by row."""
    found: dict[int, dict[str, str]] = defaultdict(dict)
    unknown = table.unknown
    for at, number in np.argwhere(unknown.notna().to_numpy()).tolist() if unknown.shape[1] else ():
        text = canonical_text(unknown.iloc[at, number])
        if text:
            found[int(unknown.index[at])][f"{STRANGE}{unknown.columns[number]}"] = text
    return found


def _as_typed(table: Table, source: RawBook | None) -> dict[int, dict[str, str]]:
    """Text whose canonical form differs from what was typed, and refs that are none, by row."""
    found: dict[int, dict[str, str]] = defaultdict(dict)
    for fault in table.faults:
        if fault.key == "ref" and fault.fault.value is not None:
            found[fault.row]["ref"] = canonical_text(fault.fault.value)
    sheet = source.sheets.get(table.name) if source else None
    for key, number in table.columns.items() if sheet else ():
        for row in table.raw.index.tolist() if _is_typed(table, key) else ():
            line = sheet.rows[row - 1] if sheet and row <= len(sheet.rows) else []
            typed = line[number - 1] if number <= len(line) else None
            if isinstance(typed, str) and canonical_text(typed) != typed:
                found[row][key] = typed
    return found


def _with_refs(claims: list[Claim]) -> list[Claim]:
    """Give each row without a ref one of its own; among alike ones the content decides, not the order of rows."""
    groups: dict[str, list[Claim]] = defaultdict(list)
    for claim in claims:
        if not claim.ref:
            groups[new_ref(claim)].append(claim)
    given: dict[str, str] = {}
    for alike in groups.values():
        for ordinal, claim in enumerate(sorted(alike, key=_content)):
            given[claim.place] = new_ref(claim, ordinal)
    return [claim if claim.ref else replace(claim, ref=given[claim.place]) for claim in claims]


def _content(claim: Claim) -> tuple[list[tuple[str, str]], int]:
    return sorted((key, in_words(one)) for key, one in claim.values.items()), int(claim.place)


def new_ref(claim: Claim, ordinal: int = 0) -> str:
    """A ref for a row that has none of its own: a number of nine digits made of what tells it from others.

    >>> new_ref(Claim("M1a", "Feedings", "", "", "feeds.csv", "", "9", {"colony": "A1", "amount": 5.0}))
    'M1a-x212453793'
    """
    told = [claim.copy, claim.sheet, claim.ref, *(in_words(claim.values.get(key)) for key in _IDENTITY)]
    digest = hashlib.sha256("\x1f".join([*told, str(ordinal)]).encode()).digest()
    return f"{claim.copy}-x{int.from_bytes(digest[:8]) % 10**9:09d}"


def unused_in(claim: Claim) -> list[list[str]]:
    """Of a file what the book does not use: sheet, cell, text and why, as the claim of its first headings has it."""
    return list(json.loads(claim.raw.get(OF_FILE, "{}")).get("unused", ()))


def to_frame(claims: Iterable[Claim]) -> pd.DataFrame:
    """Claims as the sheet Claims holds them: one row a claim in canonical order, more where its text is too long.

    >>> claim = Claim("M1a", "Moves", "M1a-M1", "", "handed out", "", "2", {"date": date(2026, 9, 5), "colony": "A1"})
    >>> to_frame([claim])["row"][0]
    '{"values":{"colony":"A1","date":{"@day":"2026-09-05"}}}'
    """
    rows: list[tuple[object, ...]] = []
    for claim in sorted(claims, key=_order):
        text = _text(claim)
        if len(text) > CELL_LIMIT:  # a cell's ends are stripped when it is read, so that no part may end in a blank
            text = text.replace(" ", _BLANK)
        parts = [text[at : at + CELL_LIMIT] for at in range(0, len(text), CELL_LIMIT)]
        told = [getattr(claim, key) or None for key in _TOLD]
        rows += [(*told, float(number) if len(parts) > 1 else None, part) for number, part in enumerate(parts, start=1)]
    return pd.DataFrame(rows, columns=[*_TOLD, "part", "row"], dtype=object)


def from_frame(frame: pd.DataFrame) -> list[Claim]:
    """Claims as the sheet Claims holds them, read back; each alike one is one object of text.

    Raises:
        CannotRead: the sheet was changed by hand, so that a row is no claim any more.

    >>> claim = Claim("M1a", "Moves", "M1a-M1", "", "m.csv", "0f", "2", {"date": date(2026, 9, 5), "into": "5 = 6"})
    >>> from_frame(to_frame([claim])) == [claim]
    True
    """
    told = [[intern(_word(one)) for one in frame[key].tolist()] for key in _TOLD]
    parts = frame["part"].tolist()
    rows = frame["row"].tolist()
    claims: list[Claim] = []
    text = ""
    for at, one in enumerate(zip(*told, strict=True)):
        text = (text if _later_part(parts[at]) else "") + _word(rows[at])
        if at + 1 == len(rows) or not _later_part(parts[at + 1]):
            claims.append(_claim(one, text, at))
    return claims


def _word(value: object) -> str:
    if isinstance(value, str):
        return value
    return "" if _is_blank(value) else canonical_text(value)


def _later_part(part: object) -> bool:
    return isinstance(part, (int, float)) and part > 1


def _claim(told: tuple[str, ...], text: str, at: int) -> Claim:
    try:
        said = json.loads(text, object_hook=_untagged)
        values, was, raw = said["values"], said.get("was"), said.get("raw", {})
    except (ValueError, KeyError, TypeError) as fault:
        raise CannotRead(
            f"sheet Claims, row {at + 2}: this is no claim any more ({text[:40]!r}); the sheet must not be changed by "
            "hand, so take the last backup of the book."
        ) from fault
    known = dict(zip(_TOLD, told, strict=True))
    return Claim(**known, values=values, was=was, raw=raw)


def _text(claim: Claim) -> str:
    said: dict[str, object] = {"values": claim.values}
    if claim.was is not None:
        said["was"] = claim.was
    if claim.raw:
        said["raw"] = claim.raw
    return _JSON.encode(said)


def _tagged(day: object) -> dict[str, str]:
    if isinstance(day, datetime):
        return {_MOMENT: day.isoformat()}
    if isinstance(day, date):
        return {_DAY: day.isoformat()}
    raise TypeError(f"a claim cannot hold a value of kind {type(day).__name__}")


def _untagged(said: dict[str, Any]) -> object:
    if _DAY in said:
        return date.fromisoformat(said[_DAY])
    if _MOMENT in said:
        return datetime.fromisoformat(said[_MOMENT])
    return {intern(key): one for key, one in said.items()}


_JSON = json.JSONEncoder(sort_keys=True, separators=(",", ":"), default=_tagged, allow_nan=False)


def _order(claim: Claim) -> tuple[object, ...]:
    at = SHEETS.index(claim.sheet)
    place = int(claim.place) if claim.place.isdecimal() else 0
    return at, natural(claim.ref), natural(claim.copy), claim.saved, claim.sha256, claim.file, place


def joined(*sets: Iterable[Claim]) -> list[Claim]:
    """All claims of several sets, each once: the same bytes under another name or on another day say nothing new.

    Returns:
        claims in canonical order; of alike ones the first name and the first day are kept.

    >>> claim = Claim("M1a", "Moves", "M1a-M1", "", "m.csv", "0f", "2", {"colony": "A1"}, gathered="2026-09-05")
    >>> again = replace(claim, file="m (1).csv", gathered="2026-09-08")
    >>> joined([again], [claim]) == [replace(claim, file="m (1).csv")]
    True
    """
    found: dict[tuple[str, ...], Claim] = {}
    for claim in (one for claims in sets for one in claims):
        key = (claim.copy, claim.sheet, claim.ref, claim.saved, claim.sha256, claim.place, claim.kind, _text(claim))
        same = found.get(key)
        if same is None:
            found[key] = claim
        elif (claim.file, claim.gathered) != (same.file, same.gathered):
            gathered = min(same.gathered, claim.gathered)
            found[key] = replace(same, file=min(same.file, claim.file), gathered=gathered)
    return [found[key] for key in sorted(found, key=lambda key: (_order(found[key]), key))]
