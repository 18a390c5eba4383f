"""One file told as what it is: a return of a club's book, another state of that book, or something else."""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import pandas as pd

from apiarybook.book.days import iso_day
from apiarybook.book.headings import plain_heading
from apiarybook.book.sheet_names import PROSE_SHEETS, our_sheets
from apiarybook.book.tables import read_book
from apiarybook.errors import CannotRead
from apiarybook.gather.claims import OF_FILE, Claim, claims_of
from apiarybook.gather.redaction import unmasked
from apiarybook.gather.sources import LeftAlone, Source, shown_name
from apiarybook.layout import BOOK, Column, Role
from apiarybook.layout.settings import PINNED
from apiarybook.readers.canonical import canonical_text
from apiarybook.readers.limits import cell_name
from apiarybook.readers.raw import read_raw
from apiarybook.readers.xlsx_additions import Trimmings
from apiarybook.writers.first_page import is_ours
from apiarybook.writers.set_by_people import typed_over
from apiarybook.writers.top_lines import AS_AT, NOT_COUNTED

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from apiarybook.book.sheet_names import Found as Ours
    from apiarybook.book.tables import Book
    from apiarybook.readers.records import Place, RawBook, RawSheet

MOST_ROWS = 20_000
"""Filled rows of one return; nobody types as many in a season, and a book ends at 1,048,576 rows (ISO/IEC 29500)."""
Unused = tuple[str, str, str, str]
MOST_UNUSED = 200
"""Things in one return that the book does not use and that are told one by one."""
LONGEST_UNUSED = 2_000
"""Characters told of each; the file has all."""


@dataclass(frozen=True, slots=True)
class Known:
    """What tells the returns of a club's book.

    Attributes:
        book_id: the book's id.
        token: the club's own copy.
        members: code of the member of each copy handed out.
        colonies: member of each colony, both in lower case.
        types: the club's own hive types, by name in lower case: figures by key.
        handed_out: claims of what was handed out.
        gathered: the as-at date, ISO.
        settings: the club's own, by which the days in its returns are read.
    """

    book_id: str
    token: str
    members: Mapping[str, str]
    colonies: Mapping[str, str]
    types: Mapping[str, Mapping[str, object]]
    handed_out: Mapping[str, list[Claim]]
    gathered: str
    settings: Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Return:
    """A return.

    Attributes:
        name: the file's name.
        copy: token of the copy that it is.
        sha256: of its bytes.
        claims: what it says.
        remarks: what could not be seen in a file of this format.
    """

    name: str
    copy: str
    sha256: str
    claims: list[Claim]
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class State:
    """Another state of the club's own book, such as a sync program leaves beside it."""

    name: str
    raw: RawBook
    book: Book


Told = Return | State | LeftAlone


def tell(source: Source, known: Known) -> Told:
    """Read one file and say what it is.

    Args:
        source: the file.
        known: what tells the returns of this club's book.

    Returns:
        a return, another state of the club's book, or why the file is left alone.
    """
    try:
        raw = read_raw(source.path if source.path is not None else (source.name, source.data or b""))
        raw = replace(raw, name=source.name)
        about = about_of(raw)
        book = read_book(replace(raw, properties=raw.properties | about), known.settings)
    except CannotRead as fault:
        return LeftAlone(source.name, canonical_text(str(fault)).removeprefix(f"{source.name}: "))
    if about.get("book id") == known.book_id and about.get("copy id") == known.token:
        return State(source.name, raw, book)
    copy = _copy(book, about, known)
    if isinstance(copy, LeftAlone):
        return copy
    filled = sum(table.is_blank.tolist().count(False) for table in book.tables.values())
    if filled > MOST_ROWS:
        why = f"{filled:,} rows are filled, more than the {MOST_ROWS:,} that one member can have typed in a season; "
        return LeftAlone(source.name, f"{why}look whether a column was filled down to the end of a sheet.")
    claims = unmasked(claims_of(book, copy, gathered=known.gathered, source=raw), known.handed_out.get(copy, []))
    told = _with_file(claims, book, known, left := unused(raw, book, source))
    what = f"{len(left)} things in it are" if len(left) > 1 else "one thing in it is"
    remarks = (*raw.remarks, *([f"{what} not used, see the sheet Changes."] if left else ()))
    return Return(source.name, copy, raw.sha256, told, remarks)


def about_of(raw: RawBook) -> dict[str, str]:
    """What a file says of itself: on its sheet About, and where that is gone in its document properties."""
    said = {plain_heading(name): canonical_text(value) for name, value in raw.properties.items()}
    sheet = next((one for name, one in raw.sheets.items() if plain_heading(name) == "about"), None)
    for row in sheet.rows if sheet else ():
        if len(row) > 1 and row[0] is not None and row[1] is not None:
            said[plain_heading(canonical_text(row[0]))] = canonical_text(row[1])
    return said


def _copy(book: Book, about: Mapping[str, str], known: Known) -> str | LeftAlone:
    """Which copy a file is, by its id and, where it has none, by its rows; an id alone is not believed."""
    marks = _marks(book, known)
    if about.get("book id") or about.get("copy id"):
        copy = about.get("copy id", "")
        why = _not_believed(copy, about.get("book id", ""), marks, known)
        return LeftAlone(book.name, why) if why else copy
    if not marks:
        return LeftAlone(book.name, "nothing in it tells whose it is: no row carries the mark of a copy handed out.")
    (first, most), *rest = marks.most_common()
    if rest and rest[0][1] == most:
        return LeftAlone(book.name, f"its rows carry marks of {first} and {rest[0][0]} alike; send it in two files.")
    return first


def _not_believed(copy: str, book_id: str, marks: Iterable[str], known: Known) -> str:
    """Why a file is not the copy that it says it is; empty if it is."""
    if book_id != known.book_id:
        return "it belongs to another book, another club's or yours of another winter; gather it into that one."
    if copy not in known.members:
        return f"no copy {shown_name(copy)} was ever handed out from this book."
    strange = sorted({other for other in marks if known.members[other] != known.members[copy]})
    if strange and len(strange) == len(set(marks)):
        marked = ", ".join(strange)
        return f"it says that it is copy {copy}, but all its rows carry the marks of {marked}; ask who sent it."
    return ""


def _marks(book: Book, known: Known) -> Counter[str]:
    """How many rows carry the mark of each copy; of a list of colonies how many colonies are its member's."""
    found: Counter[str] = Counter()
    for name, table in book.tables.items():
        if "ref" in table.typed:
            tokens = (str(ref).partition("-")[0] for ref in table.typed["ref"].tolist() if ref)
            found.update(token for token in tokens if token in known.members)
        if name == "Colonies" and len(book.tables) == 1 and not found:
            found.update(_by_colonies(table.typed["colony"].dropna().tolist(), known))
    return found


def _by_colonies(colonies: Iterable[object], known: Known) -> Counter[str]:
    """The last copy of each member by whose colonies a list of colonies goes, if all are one member's."""
    last = {member.casefold(): copy for copy, member in known.members.items()}
    owners = {known.colonies[code] for one in colonies if (code := str(one).casefold()) in known.colonies}
    return Counter({last[owner]: 1 for owner in owners if owner in last} if len(owners) == 1 else {})


def _with_file(claims: list[Claim], book: Book, known: Known, left: list[Unused]) -> list[Claim]:
    """Let the first claim of the file's headings say what is to be said of the file as a whole."""
    faults = [[one.rule, one.sheet, one.cell, one.heading, one.told] for one in book.faults]
    told = {"faults": faults, "types": _own_types(book, known), "unused": left}
    if not any(told.values()):
        return claims
    text = json.dumps({key: one for key, one in told.items() if one}, sort_keys=True, default=str)
    at = next((at for at, claim in enumerate(claims) if not claim.ref), None)
    if at is not None:
        claims[at] = replace(claims[at], raw=claims[at].raw | {OF_FILE: text})
    return claims


def unused(raw: RawBook, book: Book, source: Source) -> list[Unused]:
    """What a person typed into a return where the book does not look: notes, own sheets, text beside the rows.

    Args:
        raw: the file as it stands.
        book: the same, read.
        source: where its bytes are.

    Returns:
        of the first of them the sheet, the cell, the text and why it is not used; the last one says how many more
        there are.
    """
    ours = our_sheets(raw)
    found = [*_noted(raw, source), *_on_own_sheets(book), *_beside(raw, ours), *_over_formulas(raw, ours)]
    more = len(found) - MOST_UNUSED
    told = [(sheet, cell, text[:LONGEST_UNUSED], why) for sheet, cell, text, why in found[:MOST_UNUSED]]
    return [*told, *([("", "", f"{more} more", "the file has them")] if more > 0 else ())]


def _noted(raw: RawBook, source: Source) -> Iterator[Unused]:
    noted = [one.name for one in raw.sheets.values() if one.has_notes]
    try:
        if noted and raw.format in {"xlsx", "xlsm"}:
            data = source.path.read_bytes() if source.path is not None else source.data
            trimmings = Trimmings(raw.name, data or b"")
            for name in noted:
                for place, text in trimmings.notes(name).items():
                    yield name, cell_name(*place), canonical_text(text), "a note on a cell"
            return
    except (CannotRead, OSError):
        pass
    yield from ((name, "", "notes", "they cannot be read in this file") for name in noted)


def _on_own_sheets(book: Book) -> Iterator[Unused]:
    for name, sheet in book.foreign.items():
        for row, line in enumerate(sheet.rows, 1):
            told = {at: canonical_text(one) for at, one in enumerate(line, 1) if one is not None}
            if told:
                yield name, cell_name(row, min(told)), "; ".join(told.values()), "the book has no such sheet"


def _beside(raw: RawBook, ours: Mapping[str, Ours]) -> Iterator[Unused]:
    """Text above headings and on the first page that is not the copy's own."""
    says = (*(sheet.says for sheet in BOOK.sheets), *(view.says for view in BOOK.views))
    above = {canonical_text(text) for text in says} | {AS_AT, PINNED}
    for one in ours.values():
        for place, value in _typed(one.raw, 0, one.headings.row - 1 if one.headings else 0):
            text = canonical_text(value) if isinstance(value, str) else ""
            if text and text not in above and not text.endswith(NOT_COUNTED) and not iso_day(text):
                yield one.raw.name, cell_name(*place), text, "it stands above the headings"
    for name, sheet in raw.sheets.items():
        for place, value in _typed(sheet, 0, len(sheet.rows)) if plain_heading(name) in _PAGES else ():
            if not is_ours(place, canonical_text(value)):
                yield name, cell_name(*place), canonical_text(value), "no rows stand on this page"


_PAGES = frozenset(plain_heading(name) for name in PROSE_SHEETS)


def _typed(sheet: RawSheet, first: int, last: int) -> Iterator[tuple[Place, object]]:
    for row, line in enumerate(sheet.rows[first:last], first + 1):
        for at, value in enumerate(line, 1):
            if value is not None and (row, at) not in sheet.formulas:
                yield (row, at), value


def _over_formulas(raw: RawBook, ours: Mapping[str, Ours]) -> Iterator[Unused]:
    """What was typed over the book's answers, where the file still has them as formulas."""
    for name, places in typed_over(ours.values()).items() if raw.format != "csv" else ():
        sheet = raw.sheets[name]
        live = Counter(column for _, column in sheet.formulas)
        over = Counter(column for _, column in places)
        for row, column in places:
            if over[column] < live[column]:
                text = canonical_text(sheet.rows[row - 1][column - 1])
                yield name, cell_name(row, column), text, "the book computes this cell itself"


def _own_types(book: Book, known: Known) -> list[list[str]]:
    """Hive types that the member has changed or added: name, cell, and in words what differs."""
    table = book.tables.get("Hive types")
    found = []
    for row in table.typed.to_dict("index").items() if table is not None else ():
        number, values = row
        name = values["name"]
        if table is None or name is None:
            continue
        club = known.types.get(str(name).casefold())
        if club is None:
            found.append([str(name), table.place(int(str(number)), "name"), "not on the club's list"])
            continue
        for column in FIGURES:
            one, other = values[column.key], club.get(column.key)
            if column.key in table.columns and not _alike(one, other):
                told = f"{column.heading} {one:g} where the club has {float(str(other)):g}"
                found.append([str(name), table.place(int(str(number)), column.key), told])
    return found


FIGURES: tuple[Column, ...] = tuple(
    column for column in BOOK["Hive types"].typed if column.numeric and column.role is Role.TYPED
)
_LIKENESS = 1e-9


def _alike(one: Any, other: Any) -> bool:
    """Whether two figures say the same; a blank one says nothing."""
    if pd.isna(one) or other is None or pd.isna(other):
        return True
    first, second = float(str(one)), float(str(other))
    return abs(first - second) <= _LIKENESS * max(abs(first), abs(second))


def types_of(book: Book) -> dict[str, dict[str, object]]:
    """A book's hive types by name in lower case."""
    table = book.tables.get("Hive types")
    rows = table.typed.to_dict("records") if table is not None else []
    return {str(row["name"]).casefold(): {str(key): one for key, one in row.items()} for row in rows if row["name"]}
