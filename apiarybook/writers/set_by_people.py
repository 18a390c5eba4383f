"""What people set on the sheets of a book that a rebuild does not carry over, told one sentence a kind.

The book as it was found is held against the one that takes its place, if both come from the same declaration of the
layout: else a newer program would tell of its own changes as if a person had made them.
"""

from __future__ import annotations

import hashlib
import re
from functools import cache
from typing import TYPE_CHECKING

from apiarybook.book.fingerprint import CARRIED, CLOSED, FINGERPRINT
from apiarybook.book.sheet_names import PROSE_SHEETS, our_sheets
from apiarybook.layout import BOOK
from apiarybook.layout.formulas import TEMPLATES
from apiarybook.layout.model import Group, Role
from apiarybook.readers.canonical import canonical_text, first_few
from apiarybook.readers.formula_text import formulas_in
from apiarybook.readers.limits import cell_name
from apiarybook.readers.xlsx_additions import Trimmings
from apiarybook.writers.plan import UNIT_FIGURE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from apiarybook.book.sheet_names import Found
    from apiarybook.layout.model import Column
    from apiarybook.readers.records import Place, RawBook, RawSheet
    from apiarybook.readers.xlsx_additions import Surroundings

LAYOUT_MARK = "sheets"
"""Document property that tells which declaration of the sheets a book was written from."""
NAMED = 5
"""Cells or sheets that a sentence names."""
_TYPED = frozenset(sheet.name for sheet in BOOK.sheets if sheet.is_typed_into)
_LEADING = frozenset(sheet.name for sheet in BOOK.sheets if any(column.leads_on for column in sheet.columns))
_FIXED = frozenset(
    sheet.name for sheet in BOOK.sheets if sheet.group is Group.MACHINERY and not sheet.hidden_when_empty
)
MADE_ANEW = _FIXED | frozenset(PROSE_SHEETS)
"""Sheets that say the same in all books of a unit and a winter."""


@cache
def layout_mark() -> str:
    """What tells this declaration of the sheets from any other."""
    return hashlib.sha256(repr(BOOK.sheets).encode()).hexdigest()[:12]


def set_by_people(old: RawBook, old_data: bytes, new: RawBook, new_data: bytes) -> tuple[str, ...]:
    """Say what people set in a book and will not find in the one that takes its place.

    Args:
        old: the book as it was found.
        old_data: its bytes.
        new: the book that takes its place.
        new_data: its bytes.

    Returns:
        a sentence a kind, with the sheets or cells; none for a book that was written from another layout or that is no
        xlsx file.

    Raises:
        CannotRead: the file is damaged.
    """
    if old.format not in {"xlsx", "xlsm"} or old.properties.get(LAYOUT_MARK) != layout_mark():
        return ()
    here, there = Trimmings(old.name, old_data), Trimmings(new.name, new_data)
    ours = [name for name in new.sheets if name in old.sheets and (name in BOOK.by_name or name in PROSE_SHEETS)]
    around = {name: (here.surroundings(name), there.surroundings(name)) for name in ours}
    told = []
    for what, differs in KINDS.items():
        sheets = [name for name, (before, after) in around.items() if differs(name, before, after)]
        if sheets:
            on = f"sheet{'s' if len(sheets) > 1 else ''} {_listed(sheets)}"
            told.append(f"{old.name}, {on}: {what} could not be carried over.")
    if [name for name in old.sheets if name in ours] != ours:
        told.append(f"{old.name}: the order that somebody gave to its sheets could not be carried over.")
    return (*told, *_typed_over(old, ours), *_made_anew(old, new, ours))


def _rows_of_people(name: str, before: Surroundings, after: Surroundings) -> bool:
    return name in _TYPED and not before.filtered and bool(before.hidden_rows - after.hidden_rows)


def _heights_of_people(name: str, before: Surroundings, after: Surroundings) -> bool:
    return name in _TYPED and any(after.heights.get(row) != height for row, height in before.heights.items())


KINDS: dict[str, Callable[[str, Surroundings, Surroundings], bool]] = {
    "the columns and rows that somebody chose to keep in view": lambda _, a, b: a.frozen not in {(0.0, 0.0), b.frozen},
    "the filter that somebody set": lambda _, a, b: a.filtered and not b.filtered,
    "the rules that somebody set for what may be typed": lambda _, a, b: bool(a.allowed - b.allowed),
    "the looks that somebody made depend on what a cell holds": lambda _, a, b: bool(a.conditions - b.conditions),
    "the colours and letters that somebody gave to cells that nobody types into": lambda name, a, b: (
        name in BOOK.by_name and a.has_looks_beyond(b)
    ),
    "the way of printing that somebody chose": lambda _, a, b: a.printed != b.printed,
    "the colour that somebody gave to a tab": lambda _, a, b: a.tab not in {"", b.tab},
    "the rows that somebody hid": _rows_of_people,
    "the heights that somebody gave to rows": _heights_of_people,
    "the cells that somebody merged": lambda name, a, b: name not in PROSE_SHEETS and bool(a.merged - b.merged),
    "the links that somebody set": lambda name, a, b: (
        name not in PROSE_SHEETS and name not in _LEADING and a.links > b.links
    ),
}
"""What is told, each with how it is seen on a sheet of the old and the new book."""


ELSEWHERE = (
    "the order that somebody gave to the sheets",
    "what somebody typed over figures that the book computes",
    "what somebody wrote on a sheet that says the same in every book",
    "what stands on the sheet Settings and is none of the book's settings",
    "pictures, charts and shapes",
    "names given to cells, links into other files, formulas that fill several cells: their last values stand instead",
    "macros",
)
"""What is told besides, here and by `user_additions`."""


def _listed(names: Iterable[str]) -> str:
    return first_few(list(names), NAMED)


def _cells(places: Iterable[Place]) -> str:
    return _listed(cell_name(*place) for place in places)


def _typed_over(old: RawBook, ours: list[str]) -> Iterator[str]:
    for name, places in typed_over(our_sheets(old).values()).items():
        if name in ours:
            what = f"what somebody typed into {_cells(places)}"
            yield f"{old.name}, sheet {name}: the book computes these cells itself, and {what} is not kept."


def typed_over(sheets: Iterable[Found]) -> dict[str, list[Place]]:
    """Cells in which somebody typed over what the book computes, by the sheet's name.

    Args:
        sheets: those of ours, of a file in whose format formulas can be seen.
    """
    found = {}
    for one in sheets:
        columns = one.headings.columns.items() if one.headings else ()
        live = sorted(at for (sheet, key), at in columns if _is_computed(sheet, BOOK[sheet][key]))
        places = _without_formula(one.raw, live, one.headings.row) if one.headings else []
        if places:
            found[one.raw.name] = places
    return found


def _is_computed(sheet: str, column: Column) -> bool:
    return column.role is Role.LIVE and (sheet, column.key) in TEMPLATES


def _without_formula(sheet: RawSheet, columns: list[int], heading_row: int) -> list[Place]:
    """The cells of some columns, row by row, that hold a value and no formula."""
    found = []
    for at in columns:
        live = {row for row, _ in formulas_in(sheet.formulas, [at])}
        rows = enumerate(sheet.rows[heading_row:], heading_row + 1)
        found += [(row, at) for row, of in rows if at <= len(of) and of[at - 1] is not None and row not in live]
    return sorted(found)


def _made_anew(old: RawBook, new: RawBook, ours: list[str]) -> Iterator[str]:
    """What somebody wrote on a sheet that says the same in all books of a unit and winter, or beside the first page."""
    if any(_of_book(old, name) != _of_book(new, name) for name in ("unit", "winter")):
        return
    for name in ours:
        if name not in MADE_ANEW:
            continue
        known = {_plain(one) for line in new.sheets[name].rows for one in line} | set(BOOK.by_name)
        last, wide = len(new.sheets[name].rows), max(map(len, new.sheets[name].rows), default=0)
        strange = [
            (row, at)
            for row, line in enumerate(old.sheets[name].rows, 1)
            for at, one in enumerate(line, 1)
            if one is not None
            and line[0] not in OF_THE_STATE
            and (row, at) not in old.sheets[name].formulas
            and _plain(one) not in known
            and (at <= len(BOOK[name].shown) if name not in PROSE_SHEETS else row > last or at > wide)
        ]
        if strange:
            what = f"what somebody put in {_cells(strange)}"
            yield f"{old.name}, sheet {name}: this sheet is made anew, and {what} is not kept."


OF_THE_STATE = (CLOSED, FINGERPRINT, CARRIED)
"""Lines of the sheet About that come and go with what the book went through."""


def _plain(value: object) -> str:
    """A value as any program would save it, days of a text and small differences of figures left out."""
    if isinstance(value, float):
        return f"{value:.6g}"
    return re.sub(r"\d{4}-\d\d-\d\d", "day", canonical_text(value)) if isinstance(value, str) else canonical_text(value)


def _of_book(book: RawBook, what: str) -> str:
    """The winter for which a book was written, or the unit: machinery lists it among the figures."""
    if what == "winter":
        return book.properties.get("winter", "")
    rows = book.sheets["Figures"].rows if "Figures" in book.sheets else []
    return next((_plain(line[1]) for line in rows if len(line) > 1 and line[0] == UNIT_FIGURE.replace("_", " ")), "")
