"""Which column of a file is which of the layout: by its heading, wherever it stands."""

import difflib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from apiarybook.layout import Column
from apiarybook.readers.canonical import canonical_text, plain_words

ColumnId = tuple[str, str]
"""Layout name of a sheet, key of one of its columns."""

_LOOKED_AT = 10
"""Rows among which the headings are looked for."""

_LEAST = 2
"""Headings that must be known for a row to be the heading row."""

_NEAR = 0.8
"""Likeness of two headings (difflib's ratio) from which the one is taken for the other renamed."""

_UNIT = re.compile(r"\s*(?:\(\s*(kg|lb|lbs|l|us quart)\s*\)|,\s*(kg|lb|lbs))$")


@dataclass(frozen=True, slots=True)
class Headings:
    """The heading row of one sheet of a file, read.

    Attributes:
        row: its number, as a person counts; the data begin below it.
        columns: number of the column, from 1, that is each column of the layout.
        as_they_stand: the heading of each of those, as the file has it.
        unknown: heading by number of each column that the layout does not know; also what has no heading.
        doubled: for each later column of a heading that stood before, what it is.
        renamed: for each column of the layout that was not found, the unknown column that is probably it.
        unit: the mass unit that a heading names, or an empty text.
    """

    row: int
    columns: dict[ColumnId, int]
    as_they_stand: dict[ColumnId, str]
    unknown: dict[int, str] = field(default_factory=dict)
    doubled: dict[int, ColumnId] = field(default_factory=dict)
    renamed: dict[ColumnId, int] = field(default_factory=dict)
    unit: str = ""


@lru_cache(maxsize=4096, typed=True)
def plain_heading(heading: object) -> str:
    r"""A heading as it is compared: without case, unit, line ends and needless blanks.

    >>> plain_heading("Reading\n1 (kg)"), plain_heading(" own_tare, lb "), plain_heading(None)
    ('reading 1', 'own tare', '')
    """
    return _UNIT.sub("", _folded(heading)).rstrip(" :*")


def find_headings(rows: Sequence[Sequence[object]], wanted: Mapping[ColumnId, Column]) -> Headings | None:
    """Find the heading row among the first rows and say what each of its columns is.

    A heading is matched by its text, then by a declared alias; what is like a heading that is missing is only named.

    Args:
        rows: values of a sheet by row and column, from cell A1.
        wanted: the columns to look for.

    Returns:
        The row with most known headings; None if no row has two.

    >>> from apiarybook.layout import BOOK
    >>> wanted = {("Members", column.key): column for column in BOOK["Members"].columns}
    >>> found = find_headings([["Our club"], ["Name", "Member", "since", "hefft"]], wanted)
    >>> found.row, sorted(found.columns.values()), found.unknown, found.renamed
    (2, [1, 2], {3: 'since', 4: 'hefft'}, {('Members', 'hefts'): 4})
    """
    names = {plain_heading(column.heading): place for place, column in wanted.items()}
    aliases = {plain_heading(alias): place for place, column in wanted.items() for alias in column.aliases}
    found = [_matched(row, names, aliases) for row in rows[:_LOOKED_AT]]
    best = max(range(len(found)), key=lambda number: (len(found[number][0]), -number), default=0)
    if not found or len(found[best][0]) < _LEAST:
        return None
    columns, doubled = found[best]
    texts = {number: canonical_text(one) for number, one in enumerate(rows[best], start=1)}
    taken = {*columns.values(), *doubled}
    unknown = {number: text for number, text in texts.items() if number not in taken}
    missing = {name: place for name, place in names.items() if place not in columns}
    return Headings(
        row=best + 1,
        columns=columns,
        as_they_stand={place: texts[number] for place, number in columns.items()},
        unknown=unknown,
        doubled=doubled,
        renamed=_renamed(unknown, missing),
        unit=_unit(texts),
    )


def _folded(heading: object) -> str:
    return plain_words(canonical_text(heading).replace("_", " "))


def _matched(
    row: Sequence[object], names: Mapping[str, ColumnId], aliases: Mapping[str, ColumnId]
) -> tuple[dict[ColumnId, int], dict[int, ColumnId]]:
    plain = {number: plain_heading(one) for number, one in enumerate(row, start=1) if one is not None}
    columns: dict[ColumnId, int] = {}
    doubled: dict[int, ColumnId] = {}
    for known in (names, {alias: place for alias, place in aliases.items() if alias not in names}):
        for number, name in plain.items():
            place = known.get(name)
            if place is not None and columns.setdefault(place, number) != number:
                doubled[number] = place
    return columns, doubled


def _renamed(unknown: Mapping[int, str], missing: Mapping[str, ColumnId]) -> dict[ColumnId, int]:
    renamed: dict[ColumnId, int] = {}
    for number, heading in unknown.items():
        near = difflib.get_close_matches(plain_heading(heading), missing, n=1, cutoff=_NEAR)
        if near:
            renamed.setdefault(missing[near[0]], number)
    return renamed


def _unit(texts: Mapping[int, str]) -> str:
    found = (_UNIT.search(_folded(text)) for text in texts.values())
    words = {(match[1] or match[2]) for match in found if match}
    return "lb" if words & {"lb", "lbs"} else "kg" if "kg" in words else ""
