"""What people added to a book, gathered for its rebuilding, and named where it cannot be carried over."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from apiarybook.book.headings import plain_heading
from apiarybook.book.sheet_names import PROSE_SHEETS, Found, our_sheets
from apiarybook.layout import BOOK, LAYOUT_VERSION, SETTINGS
from apiarybook.layout.model import SHEET_NAME_LIMIT, Role
from apiarybook.readers.limits import cell_name, column_letters
from apiarybook.readers.xlsx_additions import Trimmings, pixels
from apiarybook.writers.charts import MOST_CHARTS
from apiarybook.writers.content import Added, Foreign, Formula, Kept
from apiarybook.writers.places import quoted
from apiarybook.writers.set_by_people import LAYOUT_MARK, layout_mark

if TYPE_CHECKING:
    from collections.abc import Iterable

    from apiarybook.book.tables import Book
    from apiarybook.readers.records import Place, RawBook, RawSheet
    from apiarybook.readers.xlsx_additions import CellLook

_QUOTED = re.compile(r'"[^"]*"')
_WORD = re.compile(r"[^\W\d][\w.]*")
CARRIED = (
    "columns of one's own on a sheet into which people type, with their width and what stands in them",
    "sheets of one's own: values, formulas, notes, widths, whether they are hidden",
    "notes on cells, whatever was said in them",
    "formulas typed where a value belongs, as long as nobody decided on another value",
    "widths of columns",
    "colours of a cell, bold and slanting letters, where people type",
    "what was typed for a setting and cannot be used",
)
"""What a rebuild carries over."""
_NOT_IN_NAMES = re.compile(r"[\[\]:*?/\\]")
_ERROR = re.compile(r"#[A-Z0-9/?!]+")
_HEXADECIMAL = re.compile("[0-9A-F]{6}")
_LONGEST_TEXT = 32_767
"""Characters that a cell of an xlsx file holds at most; ECMA-376 part 1, 18.18.93."""
_SAME_WIDTH = 1
"""Pixels by which a width may differ and still be the layout's: programs round."""
_NAMED_CELLS = 5


def kept(raw: RawBook, data: bytes, book: Book) -> tuple[Kept, tuple[str, ...]]:
    r"""Gather what people added to a book.

    Args:
        raw: the file as it stands.
        data: its bytes.
        book: the same, read into tables.

    Returns:
        what a rebuild keeps, its rows being those of the rebuilt book; and a sentence for each thing that cannot be
        carried over.

    Raises:
        CannotRead: the file is damaged.

    >>> from apiarybook.book.tables import read_book
    >>> from apiarybook.readers.raw import read_raw
    >>> data = b"date,colony,how,queen\n2026-09-05,A1,heft,blue\n"
    >>> raw = read_raw(("Weighings.csv", data))
    >>> kept(raw, data, read_book(raw))[0].columns
    {'Weighings': (Added(heading='queen', values={2: 'blue'}),)}
    """
    trimmings = Trimmings(raw.name, data) if raw.format in {"xlsx", "xlsm"} else None
    ours = {name: Ours(name, one) for name, one in our_sheets(raw).items() if name in BOOK.by_name and one.headings}
    old = Old(raw, book, trimmings, {one.raw.name: one for one in ours.values()})
    gathered = Kept(
        columns={name: added for name, one in ours.items() if (added := _columns(old, one))},
        sheets=tuple(_foreign(old)),
        notes={name: notes for name, one in ours.items() if (notes := _notes(old, one))},
        formulas={name: typed for name, one in ours.items() if (typed := _formulas(old, one))},
        widths={name: widths for name, one in ours.items() if (widths := _widths(old, one))},
        settings=_settings(book),
        looks={name: looks for name, one in ours.items() if (looks := _looks(old, one))},
    )
    _drawings(old)
    _elsewhere(old)
    return gathered, (*old.lost, *old.not_as_formulas())


class Ours:
    """A sheet of ours in the file, and where its rows and columns will stand in the rebuilt book."""

    def __init__(self, name: str, found: Found) -> None:
        """Work out the places once."""
        headings = found.headings
        assert headings is not None  # noqa: S101 the caller has looked
        self.name = name
        self.raw = found.raw
        self.sheet = BOOK[name]
        self.heading_row = headings.row
        self.keys = {number: key for (_, key), number in headings.columns.items()}
        self.strange = headings.unknown | {n: headings.as_they_stand[of] for n, of in headings.doubled.items()}
        self.stays = self.sheet.is_typed_into
        wanted = {column.key: number for number, column in enumerate(self.sheet.shown, 1)}
        moved = {key: number for number, key in self.keys.items()} != wanted
        self.moved = moved or headings.row != self.sheet.heading_row
        self._rows = self._of_settings() if name == "Settings" else {}

    def row(self, row: int) -> int | None:
        """Where a row will stand; None for one that the rebuild makes anew or leaves out."""
        if row == self.heading_row:
            return self.sheet.heading_row
        if self.name == "Settings":
            return self._rows.get(row)
        if not self.stays or row < self.heading_row:
            return None
        return row + self.sheet.heading_row - self.heading_row

    def _of_settings(self) -> dict[int, int]:
        at = next((number for number, key in self.keys.items() if key == "setting"), 0)
        places = {plain_heading(one.heading): row for row, one in enumerate(SETTINGS, self.sheet.first_row)}
        named = {row: plain_heading(values[at - 1]) for row, values in enumerate(self.raw.rows, 1) if at <= len(values)}
        return {row: places[name] for row, name in named.items() if name in places}


@dataclass
class Old:
    """The file as it was read, and what has been found in it that cannot be carried over."""

    raw: RawBook
    book: Book
    trimmings: Trimmings | None
    ours: dict[str, Ours]
    lost: list[str] = field(default_factory=list)
    values_only: dict[tuple[str, str], list[Place]] = field(default_factory=dict)

    @property
    def is_of_this_layout(self) -> bool:
        """Whether the present layout wrote the file: of another's result sheets nobody can tell whose a heading is."""
        return self.raw.properties.get(LAYOUT_MARK, layout_mark()) == layout_mark()

    def lose(self, sheet: str, what: str) -> None:
        """Note something that cannot be carried over."""
        self.lost.append(f"{self.raw.name}, sheet {sheet}: {what}")

    def cell(self, sheet: RawSheet, place: Place) -> object:
        """What stands in a cell, a formula with what it showed last; one that would go astray only as the latter."""
        row, column = place
        values = sheet.rows[row - 1] if row <= len(sheet.rows) else []
        shown = values[column - 1] if column <= len(values) else None
        result = sheet.errors.get(place, shown)
        if isinstance(result, str) and len(result) > _LONGEST_TEXT:
            self.lose(sheet.name, f"the text in {cell_name(*place)} is too long for a cell and was cut; shorten it.")
            result = result[:_LONGEST_TEXT]
        text = sheet.formulas.get(place)
        if text is None:
            error = str(sheet.errors.get(place, ""))
            return Formula(f"={error}", error) if _ERROR.fullmatch(error) else result
        reason = self._reason(sheet, place, text)
        if reason:
            self.values_only.setdefault((sheet.name, reason), []).append(place)
            return result
        return Formula(text, result)

    def _reason(self, sheet: RawSheet, place: Place, text: str) -> str:
        bare = _QUOTED.sub("", text)
        if "[" in bare or "file:" in bare.casefold():
            return "looks into another file or uses the names of a table"
        if self.trimmings and self.trimmings.names & {word.casefold() for word in _WORD.findall(bare)}:
            return "uses a name that somebody gave to cells"
        if bare.endswith("}") or (self.trimmings and place in self.trimmings.blocks(sheet.name)):
            return "fills several cells at once"
        astray = [name for name, one in self.ours.items() if one.moved]
        own = self.ours.get(sheet.name)
        if (own and own.moved) or any(f"{quoted(name)}!".casefold() in bare.casefold() for name in astray):
            return "uses cells of a sheet whose columns or rows go back to their places"
        return ""

    def not_as_formulas(self) -> list[str]:
        """A sentence for each sheet and reason why formulas were carried as their last values only."""
        return [
            f"{self.raw.name}, sheet {sheet}: the formula in {_names(places)} {reason}; in the new book its last value "
            "stands there instead."
            for (sheet, reason), places in self.values_only.items()
        ]


def _names(places: Iterable[Place]) -> str:
    names = [cell_name(*place) for place in places]
    more = f" and {len(names) - _NAMED_CELLS} more cells" if len(names) > _NAMED_CELLS else ""
    return ", ".join(names[:_NAMED_CELLS]) + more


def _added(old: Old, one: Ours) -> dict[int, str]:
    """Heading of each unknown column, by its number in the file, as the table of the sheet names it."""
    table = old.book.tables.get(one.name)
    left = [] if table is None else [str(heading) for heading in table.unknown.columns]
    found: dict[int, str] = {}
    for number, text in sorted(one.strange.items()):
        if left and left[0] in {text, f"{text} (column {column_letters(number)})".strip()}:
            found[number] = left.pop(0)
    return found


def _columns(old: Old, one: Ours) -> tuple[Added, ...]:
    if not one.stays:
        return ()
    columns = []
    for number, heading in _added(old, one).items():
        cells = {
            row: old.cell(one.raw, (row, number)) for row in range(one.heading_row + 1, _last(one.raw, number) + 1)
        }
        filled = {row: value for row, value in cells.items() if value is not None}
        places = {row: one.row(row) for row in filled}
        left = [(row, number) for row, place in places.items() if place is None]
        if left:
            old.lose(one.name, f"what stands in {_names(left)} belongs to no row of this sheet and was left out.")
        values = {place: filled[row] for row, place in places.items() if place is not None}
        columns.append(Added(heading=heading, values=values))
    return tuple(columns)


def _last(sheet: RawSheet, column: int) -> int:
    """The last row that may hold something in a column: a formula that shows nothing stands below all values."""
    return max([len(sheet.rows), *(row for row, at in (*sheet.formulas, *sheet.errors) if at == column)])


def _notes(old: Old, one: Ours) -> dict[tuple[int, str], str]:
    if old.trimmings is None or not one.raw.has_notes:
        return {}
    keys = one.keys | {number: f"[{heading}]" for number, heading in _added(old, one).items()}
    found: dict[tuple[int, str], str] = {}
    left = []
    for (row, number), text in old.trimmings.notes(one.raw.name).items():
        place = one.row(row)
        if place is not None and number in keys and one.stays:
            found[place, keys[number]] = text[:_LONGEST_TEXT]
        else:
            left.append((row, number))
    if left:
        old.lose(one.name, f"the note on {_names(left)} stands where this sheet is made anew and was left out.")
    return found


def _formulas(old: Old, one: Ours) -> dict[tuple[int, str], Formula]:
    """Formulas typed where a value belongs: they are faults until somebody mends them, and stay as typed until then."""
    found: dict[tuple[int, str], Formula] = {}
    for row, number in one.raw.formulas if one.stays else ():
        key, place = one.keys.get(number, ""), one.row(row)
        if place is not None and row > one.heading_row and key and one.sheet[key].role is Role.TYPED:
            value = old.cell(one.raw, (row, number))
            if isinstance(value, Formula):
                found[place, key] = value
    return found


def _widths(old: Old, one: Ours) -> dict[str, float]:
    if old.trimmings is None:
        return {}
    added = {number: f"[{heading}]" for number, heading in (_added(old, one) if one.stays else {}).items()}
    keys = one.keys | added if old.book.properties.get("layout version") == LAYOUT_VERSION else added
    usual = {number: pixels(one.sheet[key].width) for number, key in one.keys.items()}
    found = old.trimmings.widths(one.raw.name, max(keys, default=0))
    return {
        keys[number]: width
        for number, width in found.items()
        if number in keys and abs(pixels(width) - usual.get(number, 0)) > _SAME_WIDTH
    }


def _looks(old: Old, one: Ours) -> dict[tuple[int, str], dict[str, Any]]:
    """Letters and ground of typed cells that look otherwise than most of their column."""
    if old.trimmings is None or not one.stays:
        return {}
    keys = {number: key for number, key in one.keys.items() if one.sheet[key].role is Role.TYPED}
    cells = {place: look for place, look in old.trimmings.looks(one.raw.name).items() if place[1] in keys}
    cells = {place: look for place, look in cells.items() if place[0] > one.heading_row}
    usual = {
        number: Counter(look for (_, at), look in cells.items() if at == number).most_common(1)[0][0]
        for number in {at for _, at in cells}
    }
    found = {}
    for (row, number), look in cells.items():
        place = one.row(row)
        if look != usual[number] and place is not None:
            found[place, keys[number]] = _as_properties(look)
    return found


def _as_properties(look: CellLook) -> dict[str, Any]:
    """A look as the writing library takes it; a colour that changes with the theme is none that it knows."""
    properties: dict[str, Any] = {name: True for name in ("bold", "italic") if getattr(look, name)}
    named = {"font_color": look.letters, "bg_color": look.ground}
    return properties | {name: f"#{colour}" for name, colour in named.items() if _HEXADECIMAL.fullmatch(colour)}


def _settings(book: Book) -> dict[str, object]:
    """What was typed for a setting and cannot be used: it stays as typed until somebody mends it."""
    table = book.tables.get("Settings")
    faulty = {one.row for one in table.faults if one.key == "value"} if table else set()
    known = {plain_heading(one.heading): one.key for one in SETTINGS}
    named = {known.get(plain_heading(table.raw.loc[row, "setting"])): row for row in sorted(faulty)} if table else {}
    return {key: table.raw.loc[row, "value"] for key, row in named.items() if key and table}


def _foreign(old: Old) -> list[Foreign]:
    taken = {name.casefold() for name in (*PROSE_SHEETS, *BOOK.by_name)}
    sheets = []
    for sheet in old.book.foreign.values():
        if old.trimmings and not sheet.rows and sheet.has_drawing and not sheet.formulas:
            continue
        name = _sheet_name(sheet.name, taken)
        if name != sheet.name:
            old.lose(sheet.name, f"its name cannot stand in the new book, where it is called {name}.")
        values = {
            (row, at) for row, line in enumerate(sheet.rows, 1) for at, one in enumerate(line, 1) if one is not None
        }
        places = sorted(values | set(sheet.formulas) | set(sheet.errors))
        sheets.append(
            Foreign(
                name=name,
                cells={place: old.cell(sheet, place) for place in places},
                hidden=sheet.hidden,
                notes=old.trimmings.notes(sheet.name) if old.trimmings and sheet.has_notes else {},
                widths=old.trimmings.widths(sheet.name, max((at for _, at in places), default=0))
                if old.trimmings
                else {},
            )
        )
    return sheets


def _sheet_name(name: str, taken: set[str]) -> str:
    """A name that a book can hold and that nothing in it has yet."""
    plain = _NOT_IN_NAMES.sub(" ", name).strip("' ") or "sheet"
    tails = ("", *(f" ({number})" for number in range(2, 1000)))
    fitting = (plain[: SHEET_NAME_LIMIT - len(tail)] + tail for tail in tails)
    found = next(one for one in fitting if one.casefold() not in taken)
    taken.add(found.casefold())
    return found


def _drawings(old: Old) -> None:
    for sheet in old.raw.sheets.values():
        one = old.ours.get(sheet.name)
        if not sheet.has_drawing or (one and _is_our_chart(old, sheet, MOST_CHARTS.get(one.name, 0))):
            continue
        old.lose(sheet.name, "the picture, chart or shape that somebody put there was left out.")


def _is_our_chart(old: Old, sheet: RawSheet, most: int) -> bool:
    """Whether nothing is drawn on a sheet but charts, and no more of them than the book itself draws there."""
    if most == 0 or old.trimmings is None:
        return most > 0
    things, charts = old.trimmings.drawn(sheet.name)
    return things == charts <= most


def _elsewhere(old: Old) -> None:
    """Name what stands where the rebuild has no place for it."""
    for one in old.ours.values():
        above = one.heading_row - one.sheet.heading_row
        held = [(row, at) for row, line in _cells_above(one.raw, above) for at, cell in line if cell is not None]
        if held and one.stays:
            old.lose(one.name, f"what stands above the headings in {_names(held)} was left out.")
        held = [(row, at) for row, at in _filled(one) if one.name == "Settings" and one.row(row) is None]
        if held:
            old.lose(one.name, f"what stands in {_names(held)} is none of the book's settings and was left out.")
        strange = {number for number in one.strange if not one.stays and old.is_of_this_layout}
        lines = enumerate(one.raw.rows[one.heading_row :], one.heading_row + 1)
        held = [(row, at) for row, line in lines for at in strange if at <= len(line) and line[at - 1] is not None]
        if held:
            old.lose(one.name, f"this sheet is made anew, and what somebody put in {_names(held)} was left out.")
    for sheet in old.raw.sheets.values():
        if sheet.has_notes and old.trimmings is None:
            old.lose(sheet.name, f"notes on cells of an .{old.raw.format} file cannot be read and were left out.")
        elif sheet.has_notes and sheet.name not in {*old.ours, *old.book.foreign}:
            old.lose(sheet.name, "this sheet is made anew, and the notes on it were left out.")
    if old.raw.format == "xlsm":
        old.lost.append(f"{old.raw.name}: the macros in it were left out.")


def _filled(one: Ours) -> Iterable[Place]:
    for row, line in enumerate(one.raw.rows[one.heading_row :], one.heading_row + 1):
        yield from ((row, at) for at in sorted(one.keys) if at <= len(line) and line[at - 1] is not None)


def _cells_above(sheet: RawSheet, rows: int) -> Iterable[tuple[int, Iterable[tuple[int, object]]]]:
    return ((row, enumerate(line, 1)) for row, line in enumerate(sheet.rows[: max(rows, 0)], 1))
