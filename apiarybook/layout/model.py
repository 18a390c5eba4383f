"""What a sheet and a column are: plain frozen declarations that refuse to contradict themselves."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from apiarybook.errors import LayoutError

PROMPT_LIMIT = 255  # characters; a longer input prompt is dropped by spreadsheet programs
HEADING_LINES = 3  # of a heading row
HEADING_LIMIT = 32  # characters; the title of an input prompt
SETTINGS_SHEET = "Settings"
SHEET_NAME_LIMIT = 31  # characters; ISO/IEC 29500 workbook


class Kind(StrEnum):
    """What one cell of a column holds."""

    CODE = "code"
    TEXT = "text"
    DATE = "date"
    MASS = "mass"
    VOLUME = "volume"
    COUNT = "count"
    FRACTION = "fraction"
    NUMBER = "number"
    CHOICE = "choice"
    YES_NO = "yes/no"
    HEFT = "heft"


class Role(StrEnum):
    """Who fills a column: a person, the last run, or a formula in the book itself."""

    TYPED = "typed"
    VALUE = "value"
    LIVE = "live"


class Group(StrEnum):
    """Where a sheet stands in the book, in this order."""

    START = "start"
    TYPE_HERE = "type here"
    READ_HERE = "read here"
    SETTINGS = "settings"
    MACHINERY = "machinery"


class InCopy(StrEnum):
    """How a member copy holds a sheet by its own name; one of which a view shows columns may be held by neither."""

    NO = "no"
    IN_VIEW = "in view"
    BEHIND = "behind"


class ReadBack(StrEnum):
    """What a run takes from a sheet that stands in a book already."""

    NOTHING = "nothing"
    ROWS = "rows"
    AS_IT_STANDS = "as it stands"


NUMERIC = frozenset({Kind.MASS, Kind.VOLUME, Kind.COUNT, Kind.FRACTION, Kind.NUMBER})
NOT_CONTENT = frozenset({"ref", "typed_for"})
"""Typed columns that may be filled on a row that is still blank: its own mark, and whom it is typed for."""
UNIT_OF_KIND = {Kind.MASS: "kg", Kind.VOLUME: "l", Kind.COUNT: "count", Kind.FRACTION: "1", Kind.DATE: "day"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column: the only place where its name, kind, bounds, prompt and look are said.

    Bounds are in SI (kg, l) or in `unit`. `possible` is refused outside, `likely` is spoken about outside.
    """

    key: str
    kind: Kind
    heading: str = ""
    role: Role = Role.TYPED
    unit: str = ""
    possible: tuple[float, float] | None = None
    likely: tuple[float, float] | None = None
    prompt: str = ""
    required: bool = False
    needed: str = ""
    """The rule that asks about its blank cells where the row holds anything else; a required column needs none."""
    unique: bool = False
    folded: bool = False
    """Less used: it opens with the plus sign above the columns."""
    working: bool = False
    """Nobody needs to see it: hidden outright, behind all others."""
    aside: bool = False
    """It stands after what the book answers, so that the answer is seen beside what most rows need."""
    last: bool = False
    """It stands behind everything else."""
    refers_to: str = ""
    offers: str = ""
    """The list whose words a drop-down offers, beside which any other may be typed."""
    leads_on: str = ""
    """Key of the column that names the sheet to whose cell this one leads."""
    stands_ready: str = ""
    """Key of the column that remembers what a run put here for somebody to go on with; nobody has typed that."""
    choices: tuple[str, ...] = ()
    aliases: tuple[str, ...] = ()
    width: float = 0
    decimals: int = 2
    percent: bool = False
    no_nought: bool = False
    """Nought is shown as a blank."""
    club_only: bool = False

    def __post_init__(self) -> None:
        """Fill what follows from the rest and refuse a contradiction."""
        if not self.heading:
            object.__setattr__(self, "heading", self.key.replace("_", " "))
        if not self.unit:
            object.__setattr__(self, "unit", UNIT_OF_KIND.get(self.kind, ""))
        if not self.width:
            object.__setattr__(self, "width", _width(self))
        _refuse_column(self)

    @property
    def numeric(self) -> bool:
        """Whether its cells hold numbers (dates are not numbers here)."""
        return self.kind in NUMERIC

    @property
    def in_view(self) -> bool:
        """Whether people see it without opening anything."""
        return not (self.folded or self.working)

    @property
    def order(self) -> int:
        """Which part of its sheet it stands in, from the left."""
        return max(4 * self.last, 3 * self.working, 2 * self.folded, int(self.aside))


def _width(column: Column) -> int:
    """Room for the longest word of a heading that is wrapped into three lines, and for a day or a number."""
    least = 11 if column.kind is Kind.DATE else 9
    longest = max(len(word) for word in column.heading.split())
    return max(least, longest + 3, -(-len(column.heading) // HEADING_LINES) + 3)


def _refuse_column(column: Column) -> None:
    where = f"column {column.key!r}"
    if not column.key.isidentifier() or column.key != column.key.lower():
        raise LayoutError(f"{where}: a key is lower case words joined by '_'")
    if len(column.heading) > HEADING_LIMIT:
        raise LayoutError(f"{where}: heading has {len(column.heading)} characters, at most {HEADING_LIMIT}")
    if len(column.prompt) > PROMPT_LIMIT:
        raise LayoutError(f"{where}: prompt has {len(column.prompt)} characters, at most {PROMPT_LIMIT}")
    if column.role is Role.TYPED and not column.prompt:
        raise LayoutError(f"{where}: a column that people fill needs a prompt")
    if column.kind is Kind.NUMBER and not column.unit:
        raise LayoutError(f"{where}: a number needs a unit ('1' for none)")
    if column.kind is Kind.CHOICE and not (column.choices or column.refers_to):
        raise LayoutError(f"{where}: a choice needs its choices or the list it refers to")
    if column.working and column.role is Role.TYPED:
        raise LayoutError(f"{where}: what people type is not hidden outright")
    if column.required and column.role is not Role.TYPED:
        raise LayoutError(f"{where}: only a typed column can be required")
    _refuse_bounds(column, where)


def _refuse_bounds(column: Column, where: str) -> None:
    if (column.possible or column.likely) and not (column.numeric or column.kind is Kind.HEFT):
        raise LayoutError(f"{where}: bounds are for numbers")
    for name in ("possible", "likely"):
        bounds: tuple[float, float] | None = getattr(column, name)
        if bounds and bounds[0] > bounds[1]:
            raise LayoutError(f"{where}: {name} bounds {bounds} stand the wrong way round")
    if column.numeric and column.role is Role.TYPED and column.possible is None:
        raise LayoutError(f"{where}: a typed number needs possible bounds")
    if column.possible and column.likely:
        low, high = column.possible
        if column.likely[0] < low or column.likely[1] > high:
            raise LayoutError(f"{where}: likely bounds {column.likely} reach outside possible {column.possible}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One sheet of rows under one heading row."""

    name: str
    group: Group
    row_is: str
    columns: tuple[Column, ...]
    says: str = ""
    """The line above its headings, where it has lines there."""
    how_to: str = ""
    """What a member is told of it on the first sheet of a copy."""
    heading_row: int = 1
    spare: int = 0
    """Blank rows that follow the last one used."""
    ready: int = 0
    """Ready-made rows of a new book; as many as `spare` if not given."""
    ready_in_copy: tuple[int, int] = (1, 0)
    """Ready-made rows of a member copy: so many, and for each colony twice as many as it needs in a season."""
    once: bool = False
    """Whether a colony has one row on it in a winter."""
    mark: str = ""
    """The letter that tells the marks of its rows from those of other sheets."""
    frozen: str = ""
    """Key of the last column that stays in view; if not given the first, where its values are unique."""
    behind: bool = False
    """Whether it stands hidden in the ordinary way: what formulas look up, and what is read once a year."""
    months: tuple[int, ...] = ()
    """Months in which it is in view, counted from January of the year in which the winter begins; all if not given."""
    hidden_when_empty: bool = False
    grouped_by: str = ""
    """Key of the column whose rows of one value belong together: a line sets them off."""
    side_by_side: bool = False
    """Whether several tables stand beside each other on it, each with rows of its own: no filter fits them all."""
    aligned: str = ""
    """The sheet with whose rows its own go, one by one."""
    former: tuple[str, ...] = ()
    """What earlier books called it, the one that it follows from first."""
    of_winter: bool = False
    """Whether each of its rows happened on a day of the winter that the book is for."""
    in_copy: InCopy = InCopy.NO
    whose: str = ""
    """Key of the column (colony, apiary or member) that says whose a row is; if not given all rows are everybody's."""
    shared: bool = False
    """Whether its rows go into the package for others to learn from."""
    read_back: ReadBack = ReadBack.NOTHING
    """What a run takes from it; given only for sheets that the package fills."""
    once_handed_out: bool = False
    """Whether every book has it from which copies were handed out: nothing gathered can be told without it."""
    of_earlier: bool = False
    """Whether it tells of earlier winters, which `reckon` takes into account."""
    in_book_units: bool = False
    """Whether its figures are made in the book's own units already."""
    by_key: dict[str, Column] = field(init=False, repr=False, compare=False)
    typed: tuple[Column, ...] = field(init=False, repr=False, compare=False)
    """The columns that people fill."""

    def __post_init__(self) -> None:
        """Refuse doubled keys or headings and names a spreadsheet program cannot take."""
        object.__setattr__(self, "typed", tuple(column for column in self.columns if column.role is Role.TYPED))
        if not 0 < len(self.name) <= SHEET_NAME_LIMIT or set(self.name) & set("[]:*?/\\'"):
            raise LayoutError(f"sheet {self.name!r}: a sheet's name has 1 to {SHEET_NAME_LIMIT} plain characters")
        keys = [column.key for column in self.columns]
        names = [name.casefold() for column in self.columns for name in (column.heading, *column.aliases)]
        for doubled in (keys, names):
            if len(set(doubled)) != len(doubled):
                again = sorted({one for one in doubled if doubled.count(one) > 1})
                raise LayoutError(f"sheet {self.name!r}: {', '.join(again)} stands twice")
        object.__setattr__(self, "by_key", {column.key: column for column in self.columns})
        named = (key for column in self.columns for key in (column.leads_on, column.stands_ready))
        for key in filter(None, (self.grouped_by, self.frozen, self.whose, *named)):
            if key not in self.by_key:
                raise LayoutError(f"sheet {self.name!r}: {key!r} is none of its columns")
        if bool(self.mark) != any(column.key == "ref" for column in self.typed):
            raise LayoutError(f"sheet {self.name!r}: a sheet has a letter for its marks just if it has a column ref")
        if self.of_winter and "date" not in self.by_key:
            raise LayoutError(f"sheet {self.name!r}: rows that belong to the winter need a date")

    def __getitem__(self, key: str) -> Column:
        """The column of that key."""
        return self.by_key[key]

    @property
    def content(self) -> tuple[Column, ...]:
        """The columns that tell whether somebody has typed into a row."""
        return tuple(column for column in self.typed if column.key not in NOT_CONTENT)

    @property
    def made_ready(self) -> dict[str, str]:
        """For each column in which something may stand ready, the one that remembers what a run put there."""
        return {column.key: column.stands_ready for column in self.columns if column.stands_ready}

    @property
    def shown(self) -> tuple[Column, ...]:
        """Its columns from left to right: what most rows need, the answer, less used ones, workings, marks."""
        return tuple(sorted(self.columns, key=lambda column: column.order))

    @property
    def stays(self) -> str:
        """Key of the last column that stays in view; empty if none does."""
        first = self.shown[0]
        return self.frozen or (first.key if first.unique else "")

    @property
    def is_typed_into(self) -> bool:
        """Whether people type into it."""
        return self.group in {Group.TYPE_HERE, Group.SETTINGS}

    @property
    def is_list(self) -> bool:
        """Whether its rows are made by people, other than the settings, which are a fixed list."""
        return self.is_typed_into and self.name != SETTINGS_SHEET

    @property
    def first_row(self) -> int:
        """The number of the first row under the heading, as a person counts rows."""
        return self.heading_row + 1


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """A sheet of a member copy: columns of one or two sheets side by side, mapped back by the reader."""

    name: str
    parts: tuple[tuple[str, tuple[str, ...]], ...]
    says: str = ""
    how_to: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """All sheets of a book, in order, and the views that a member copy shows."""

    sheets: tuple[Sheet, ...]
    views: tuple[View, ...] = ()
    by_name: dict[str, Sheet] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Refuse references that lead nowhere and views of columns that do not exist."""
        object.__setattr__(self, "by_name", {sheet.name: sheet for sheet in self.sheets})
        if len(self.by_name) != len(self.sheets):
            raise LayoutError("two sheets have one name")
        self._refuse_sheets()
        order = list(Group)
        if [order.index(sheet.group) for sheet in self.sheets] != sorted(order.index(s.group) for s in self.sheets):
            raise LayoutError("sheets stand in the order start, type here, read here, settings, machinery")
        for sheet in self.sheets:
            for column in sheet.columns:
                for reference in filter(None, (column.refers_to, column.offers)):
                    self._resolve(reference, f"sheet {sheet.name!r}, column {column.key!r}")
        for view in self.views:
            for name, keys in view.parts:
                for key in keys:
                    self._resolve(f"{name}.{key}", f"view {view.name!r}")

    def _refuse_sheets(self) -> None:
        for sheet in self.sheets:
            if sheet.aligned and sheet.aligned not in self.by_name:
                raise LayoutError(f"sheet {sheet.name!r}: {sheet.aligned!r}, with whose rows its own go, is no sheet")
        marks = [sheet.mark for sheet in self.sheets if sheet.mark]
        if len(set(marks)) != len(marks):
            raise LayoutError("the marks of two sheets have one letter")

    def __getitem__(self, name: str) -> Sheet:
        """The sheet of that name."""
        return self.by_name[name]

    @property
    def in_views(self) -> frozenset[str]:
        """Names of the sheets of which a view shows columns."""
        return frozenset(name for view in self.views for name, _ in view.parts)

    @property
    def to_return(self) -> tuple[Sheet, ...]:
        """The sheets that a member fills in a copy, whether by their own name or in a view.

        >>> from apiarybook.layout import BOOK
        >>> BOOK.to_return[0].name
        'Colonies'
        """
        viewed = self.in_views
        return tuple(
            sheet
            for sheet in self.sheets
            if sheet.group is Group.TYPE_HERE and (sheet.in_copy is InCopy.IN_VIEW or sheet.name in viewed)
        )

    def _resolve(self, reference: str, where: str) -> None:
        name, _, key = reference.partition(".")
        if name not in self.by_name or key not in self.by_name[name].by_key:
            raise LayoutError(f"{where}: {reference!r} is no column of this book")
