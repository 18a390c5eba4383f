"""The one loop: every rule runs on all that could be read, each hit is put into words, and rows are counted."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from math import fsum
from typing import TYPE_CHECKING

import numpy as np

from apiarybook.book.fingerprint import CLOSED, changed_since, was_changed
from apiarybook.book.looked_at import ANSWER, strange_answers
from apiarybook.book.measure import to_si
from apiarybook.book.settings import reckoned_day
from apiarybook.book.si_frames import earlier, si
from apiarybook.book.wants import UNDERSTOOD, unclear
from apiarybook.checks.answers import Answers
from apiarybook.checks.context import Seen, days
from apiarybook.checks.finding import Finding, Hit, Weight
from apiarybook.checks.people import People
from apiarybook.checks.questions import WEIGHTS, by_stake
from apiarybook.checks.rules import CATALOGUE, FINDERS
from apiarybook.checks.rules_days import OF_THE_WINTER
from apiarybook.checks.rules_slips import OUT_OF_BOUNDS, explained
from apiarybook.handbook.status import not_used
from apiarybook.layout import BOOK, SETTINGS, Group, Kind, Sheet
from apiarybook.readers.canonical import first_few
from apiarybook.reckon.core.arrays import Floats, numbers
from apiarybook.reckon.core.winter import FIRST_MONTH, serial, winter
from apiarybook.reckon.feeding.feeds import UNITS
from apiarybook.reckon.season import reckon_season

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping
    from datetime import date

    import pandas as pd

    from apiarybook.book.table import Table
    from apiarybook.book.tables import Book, BookFault
    from apiarybook.checks.context import Mask
    from apiarybook.reckon.season import Season


Held = dict[str, dict[int, str]]
STILL_READ = ("unlikely",)
"""Faults of a cell whose value is used all the same."""
ORDER = {sheet.name: at for at, sheet in enumerate(BOOK.sheets)}


@dataclass(frozen=True, slots=True)
class Checked:
    """What the checks say of a book.

    Attributes:
        findings: all of them, in the order in which they are best looked at (`by_stake`).
        held: by sheet and row, in words, why the row is not used.
        asked: by sheet and row, in words, what is asked about a row that is used.
        beyond: by sheet and row, by how many kg a row that somebody found right lies outside the bounds of its hive.
        counts: what became of each sheet's rows and masses.
        season: what was reckoned to find them, before anything was held or asked.
    """

    findings: list[Finding]
    held: Held = field(default_factory=dict)
    counts: list[Count] = field(default_factory=list)
    asked: Held = field(default_factory=dict)
    beyond: dict[str, dict[int, float]] = field(default_factory=dict)
    season: Season | None = field(default=None, repr=False, compare=False)


def check_book(book: Book, as_at: date, also_held: Held | None = None) -> Checked:
    r"""Check one book.

    Args:
        book: the file as read.
        as_at: the day for which it is reckoned.
        also_held: by sheet and row why rows are held that the rules alone would let pass, such as open conflicts.

    Returns:
        findings, held rows and counts.

    >>> from datetime import date
    >>> from apiarybook.book.tables import read_book
    >>> rows = b"date,colony,how,reading 1\n2026-09-05,A1,one side,\"21,5\"\n"
    >>> found = check_book(read_book(("weighings.csv", rows)), date(2026, 9, 20))
    >>> [(one.rule, one.cell, one.value, one.suggestion) for one in found.findings if one.weight == "hold"]
    [('decimal-comma', 'D2', '21,5', '21.5')]
    >>> found.held
    {'Weighings': {2: 'reading 1: decimal comma'}}
    """
    frames = si(book)
    answers = Answers(book)
    found, season = _found(book, frames, reckoned_day(book.settings, as_at), answers)
    settled, hits = answers.parted(found)
    held = hold(hits)
    for name, reasons in (also_held or {}).items():
        held[name] = reasons | held.get(name, {})
    sound = [hit for hit in hits if not any(row in held.get(sheet, {}) for sheet, row in hit.rests_on)]
    people = People(book)
    told = tell(
        one_a_cell(sound),
        lambda hit: replace(people.told(_place(book, people, hit), hit.sheet, hit.row or 0), key=answers.key(hit)),
    )
    findings = by_stake([*fault_findings(book.name, book.faults), *closed_findings(book), *told], season)
    return Checked(findings, held, counts(book, frames, held), hold(sound, Weight.ASK), _beyond(settled), season)


MOVES = "Moves"


def _found(book: Book, frames: Mapping[str, pd.DataFrame], as_at: date, answers: Answers) -> tuple[list[Hit], Season]:
    """What the rules find; a move that they hold changes no hive, so all else is judged once more without it."""
    found, season = _looked_over(book, frames, as_at)
    held = hold(hit for hit in found if hit.sheet == MOVES and not answers.settles(hit)).get(MOVES, {})
    if not held:
        return found, season
    moves = frames[MOVES].assign(held=[held.get(int(row), "") for row in frames[MOVES].index])
    others, season = _looked_over(book, {**frames, MOVES: moves}, as_at)
    return [hit for hit in found if hit.sheet == MOVES] + [hit for hit in others if hit.sheet != MOVES], season


def _looked_over(book: Book, frames: Mapping[str, pd.DataFrame], as_at: date) -> tuple[list[Hit], Season]:
    seen = look(book, frames, as_at)
    return without_seconds(
        [*(explained(seen, hit) for hit in cell_hits(book)), *(hit for find in FINDERS for hit in seen.once(find))]
    ), seen.reckoned


def _beyond(settled: Iterable[Hit]) -> dict[str, dict[int, float]]:
    """By sheet and row, by how much rows that were found right lie outside their bounds."""
    found: dict[str, dict[int, float]] = {}
    for hit in settled:
        if hit.row is not None and hit.beyond > 0:
            rows = found.setdefault(hit.sheet, {})
            rows[hit.row] = max(rows.get(hit.row, 0.0), hit.beyond)
    return found


def one_a_cell(hits: Iterable[Hit]) -> list[Hit]:
    """The one thing that is said of each cell: what holds it before what asks, then what names a cause or a value.

    >>> light = Hit("off-division", "Weighings", 7, "reading_1")
    >>> heavy = Hit("above-comb", "Weighings", 7, "reading_1", suggestion="38.5")
    >>> [one.rule for one in one_a_cell([light, Hit("unlikely", "Weighings", 7, "reading_1"), heavy])]
    ['above-comb']
    """
    first: dict[tuple[object, ...], Hit] = {}
    for number, hit in enumerate(sorted(hits, key=_weightiest)):
        if not _silent(hit):
            first.setdefault((hit.sheet, hit.row, hit.key) if hit.row is not None else (number,), hit)
    return list(first.values())


def _weightiest(hit: Hit) -> tuple[bool | int, ...]:
    return WEIGHTS.index(CATALOGUE[hit.rule].weight), not hit.causes, not hit.suggestion, not hit.beyond


SECOND = ("unlikely", "guess-apart")
"""Rules that have nothing to add where another asks about the same row's readings."""


def without_seconds(hits: list[Hit]) -> list[Hit]:
    """Hits without those that ask a second question about readings that another asks about already.

    >>> [one.rule for one in without_seconds([Hit("unlikely", "Weighings", 7, "reading_1")])]
    ['unlikely']
    """
    weightier = {(hit.sheet, hit.row) for hit in hits if hit.causes or hit.beyond > 0 or hit.rule == OUT_OF_BOUNDS}
    asked = {(hit.sheet, hit.row, hit.key) for hit in hits if _is_weighty(hit)}
    return [
        hit
        for hit in hits
        if hit.rule not in SECOND
        or ((hit.sheet, hit.row) not in weightier and (hit.sheet, hit.row, hit.key) not in asked)
    ]


def _is_weighty(hit: Hit) -> bool:
    return hit.rule not in SECOND and CATALOGUE[hit.rule].weight is not Weight.NOTE


def look(book: Book, frames: Mapping[str, pd.DataFrame], as_at: date) -> Seen:
    """Lay out for the rules what a book holds.

    Args:
        book: the file as read.
        frames: all its sheets in SI, nothing held back, each with a blank column held.
        as_at: the day for which it is reckoned.
    """
    settings = {**{one.key: one.default for one in SETTINGS}, **_said(book.settings)}
    year = settings["winter"]
    begins = int(float(str(year))) if year is not None else as_at.year - (as_at.month < FIRST_MONTH)
    settings["winter"] = begins
    found = {name: frame for name, frame in frames.items() if name in book.tables}
    if "Settings" in book.tables:
        found["Settings"] = book.tables["Settings"].typed
    return Seen(
        frames=found,
        as_at=as_at,
        winter=winter(begins),
        reckoned=reckon_season(_as_moved(book, _within(frames, begins)) | earlier(book), settings, serial(as_at)),
        unit=book.unit,
        unread=frozenset(_unread(book)),
        absent=frozenset(_absent(book)),
        place=lambda sheet, row, key: book.tables[sheet].place(row, key),
        settings=book.settings,
        copies=copies_of(book),
        beyond=dict(_out_of_bounds(book)),
    )


def _as_moved(book: Book, frames: dict[str, pd.DataFrame]) -> dict[str, pd.DataFrame]:
    """The frames with the hive types that Moves gave: a member's copy has no Moves, but says them beside its rows."""
    if "Moves" in book.tables:
        return frames
    found = dict(frames)
    for name, key in (("Colonies", "hive_type"), ("Weighings", "hive_type_then")):
        told = book.tables[name].raw.get("moved_type") if name in book.tables else None
        if told is None:
            continue
        own = frames[name][key]
        goes = told.notna() & (own.isna() | (name == "Colonies"))
        found[name] = frames[name].assign(**{key: told.where(goes, own)})
        if name == "Colonies":
            found[name]["own_tare"] = frames[name]["own_tare"].where(~goes)
    return found


def copies_of(book: Book) -> dict[str, str]:
    """The member of each copy that was handed out from a book, as its sheet Returns says."""
    if "Returns" not in book.kept:
        return {}
    returns = book.kept["Returns"].raw
    pairs = zip(returns["copy"], returns["member"], strict=True)
    return {str(copy): str(member) for copy, member in pairs if copy is not None and member is not None}


def _said(settings: Mapping[str, object]) -> dict[str, object]:
    return {key: value for key, value in settings.items() if value is not None}


def _within(frames: Mapping[str, pd.DataFrame], year: int) -> dict[str, pd.DataFrame]:
    """The frames without days outside the winter, which no calendar knows."""
    first, last = winter(year).first, winter(year).last
    found = dict(frames)
    for name in OF_THE_WINTER:
        day = days(frames[name]["date"])
        found[name] = frames[name].assign(date=frames[name]["date"].where((day >= first) & (day <= last)))
    return found


def _unread(book: Book) -> Iterator[tuple[str, int, str]]:
    for name, table in book.tables.items():
        for one in table.faults:
            if one.fault.rule not in STILL_READ:
                yield name, one.row, one.key


def _out_of_bounds(book: Book) -> Iterator[tuple[tuple[str, int, str], float]]:
    """Masses beyond what their column takes, in kg."""
    for name, table in book.tables.items():
        for one in table.faults:
            column = table.sheet[one.key]
            if one.fault.rule == OUT_OF_BOUNDS and column.kind in (Kind.MASS, Kind.HEFT):
                yield (name, one.row, one.key), float(str(one.fault.value)) * to_si(column, book.unit)


def _absent(book: Book) -> Iterator[tuple[str, str]]:
    for name, table in book.tables.items():
        for column in table.sheet.typed:
            if column.key not in table.columns:
                yield name, column.key


def cell_hits(book: Book) -> Iterator[Hit]:
    """What was found wrong with single cells while they were read, and rows that have no place."""
    for name, table in book.tables.items():
        for one in table.faults:
            told = {key: one.fault.told[key] for key in CATALOGUE[one.fault.rule].tells}
            yield Hit(one.fault.rule, name, one.row, one.key, told, str(one.fault.told.get("suggestion", "")))
        for row in strange_answers(table):
            yield Hit("answer-not-understood", name, row, ANSWER)
        for row in table.raw.index[refused(table)].tolist() if BOOK[name].is_typed_into else ():
            yield Hit("no-place", name, row, "")


def _silent(hit: Hit) -> bool:
    """Whether a hit only holds its row, because its sheet says once for all rows what is wrong."""
    return hit.rule == "missing-heading" and hit.row is not None


def hold(hits: Iterable[Hit], weight: Weight = Weight.HOLD) -> Held:
    """Say by sheet and row why rows are not used, or what is asked about them.

    >>> hold([Hit("below-tare", "Weighings", 7, "reading_1"), Hit("unlikely", "Weighings", 8, "reading_1")])
    {'Weighings': {7: 'reading 1: outside what this hive can weigh'}}
    """
    held: Held = {}
    for hit in hits:
        if hit.row is None or CATALOGUE[hit.rule].weight is not weight:
            continue
        heading = BOOK[hit.sheet][hit.key].heading if hit.key else "row"
        reason, rows = not_used(heading, CATALOGUE[hit.rule].words), held.setdefault(hit.sheet, {})
        for row in (hit.row, *hit.also):
            if reason not in rows.get(row, "").split("; "):
                rows[row] = "; ".join(filter(None, (rows.get(row, ""), reason)))
    return held


def tell(hits: Iterable[Hit], place: Callable[[Hit], Finding]) -> list[Finding]:
    """Put hits into words, in the order of sheets, rows, columns and rules.

    Args:
        hits: what the rules found.
        place: gives a finding without words for a hit: its file, sheet, cell, heading, value and ref.
    """
    said = sorted((hit for hit in hits if not _silent(hit)), key=_order)
    return [word(_with_rule(place(hit), hit), hit.told, _also(place, hit)) for hit in said]


def _also(place: Callable[[Hit], Finding], hit: Hit) -> str:
    """The other cells that a question is about, in words."""
    cells = [place(replace(hit, row=row)).cell for row in hit.also]
    return f" The same of {', '.join(cells)}." if cells else ""


def _order(hit: Hit) -> tuple[int, int, int, str]:
    columns = list(BOOK[hit.sheet].by_key)
    return ORDER[hit.sheet], hit.row or 0, columns.index(hit.key) if hit.key else -1, hit.rule


def _with_rule(place: Finding, hit: Hit) -> Finding:
    same = {name: getattr(hit, name) for name in ("rule", "suggestion", "likelihood", "causes")}
    return replace(place, column=hit.key, **same)


def _place(book: Book, people: People, hit: Hit) -> Finding:
    table, row = book.tables[hit.sheet], hit.row or 0
    heading = table.headings.get(hit.key) or (table.sheet[hit.key].heading if hit.key else "")
    return Finding(
        rule=hit.rule,
        weight=Weight.NOTE,
        file=book.name,
        sheet=table.name or hit.sheet,
        cell=table.place(row, hit.key),
        heading=heading,
        value=people.typed(hit.sheet, row, hit.key),
        message="",
        do="",
        ref=people.typed(hit.sheet, row, "ref"),
    )


NAMED = 6
"""Rows that a sentence names."""
LONG_VALUE = 60
"""Characters of a value that a sentence still quotes whole."""


def shortened(value: str) -> str:
    """A value as a sentence quotes it.

    >>> len(shortened("x" * 5000))
    61
    """
    return value if len(value) <= LONG_VALUE else f"{value[:LONG_VALUE]}…"


def word(finding: Finding, told: Mapping[str, object], also: str = "") -> Finding:
    """Fill in the rule's sentences and weight.

    Args:
        finding: with its rule, place, value and suggestion.
        told: what else the sentences need.
        also: the other cells that the same is said of.
    """
    rule = CATALOGUE[finding.rule]
    perhaps = f" Perhaps {finding.suggestion} is meant." if finding.suggestion else ""
    said = {"perhaps": perhaps, **told, "value": shortened(finding.value), "heading": finding.heading}
    message, do = rule.say({**said, "suggestion": finding.suggestion})
    return replace(finding, weight=rule.weight, message=message + also, do=do)


def closed_findings(book: Book) -> Iterator[Finding]:
    """Whether a closed book was changed since, and entries on wants that cannot be applied."""
    if was_changed(book):
        place = Finding("closed-book-changed", Weight.NOTE, book.name, "About", "", "", "", "", "")
        rows = changed_since(book)
        changed = f": {first_few(rows, NAMED)}" if rows else ""
        yield word(replace(place, value=book.properties.get(CLOSED, "")), {"changed": changed})
    for cell, entry in unclear(book):
        place = Finding("decision-not-understood", Weight.ASK, book.name, "Questions", cell, "answer", "", "", "")
        yield word(replace(place, value=entry), {"understood": UNDERSTOOD})


def fault_findings(file: str, faults: Iterable[BookFault]) -> Iterator[Finding]:
    """Put faults of sheets and headings into words.

    Args:
        file: name of the file.
        faults: its faults.
    """
    for fault in faults:
        told = dict(fault.told)
        suggestion = str(told.pop("suggestion", ""))
        suggestion = "" if suggestion in ORDER else suggestion
        place = (file, fault.sheet, fault.cell, fault.heading)
        yield word(Finding(fault.rule, Weight.NOTE, *place, "", "", "", suggestion), told)


Count = dict[str, object]
KILOGRAM_DECIMALS = 6
"""Decimals of a control total in kg."""


def counts(book: Book, frames: Mapping[str, pd.DataFrame], held: Mapping[str, Mapping[int, str]]) -> list[Count]:
    """Count the rows of each sheet: rows = accepted + held + blank + refused.

    Args:
        book: the file as read.
        frames: its sheets in SI, nothing held back.
        held: by sheet and row, why a row is not used.

    Returns:
        a dict a sheet: file, sheet, rows, accepted, held, blank, refused, mass_before and mass_after. The masses are
        the sums in kg of all readable masses typed on the sheet, and of those on accepted rows; None for a sheet
        without masses. Refused are rows whose place could not be understood: all rows of a sheet of ours whose headings
        are gone, and rows that hold something under unknown headings only.
    """
    found = [
        _count(book, table, frames.get(name), held.get(name, {}))
        for name, table in book.tables.items()
        if BOOK[name].is_typed_into
    ]
    return [*found, *_lost_sheets(book)]


def refused(table: Table) -> Mask:
    """Which rows hold something only under headings that the layout does not know."""
    if table.unknown.empty:
        return np.zeros(len(table.raw), dtype=np.bool_)
    return np.asarray(table.is_blank.to_numpy() & table.unknown.notna().to_numpy().any(axis=1))


def _count(book: Book, table: Table, frame: pd.DataFrame | None, held: Mapping[int, str]) -> Count:
    lost, rows = refused(table), len(table.raw)
    empty = table.is_blank.to_numpy() & ~lost
    kept = table.raw.index.isin(list(held)) & ~empty & ~lost
    accepted = ~(empty | lost | kept)
    before = None if frame is None else mass_total(table.sheet, frame)
    after = None if frame is None else mass_total(table.sheet, frame[accepted])
    return {
        "file": book.name,
        "sheet": table.sheet.name,
        "rows": rows,
        "accepted": int(accepted.sum()),
        "held": int(kept.sum()),
        "blank": int(empty.sum()),
        "refused": int(lost.sum()),
        "mass_before": before,
        "mass_after": after,
    }


def mass_total(sheet: Sheet, frame: pd.DataFrame) -> float | None:
    """Add up all masses that people typed on a sheet of the season: readings, feeds written by mass, food left.

    Args:
        sheet: its declaration.
        frame: its rows, masses in kg; readings that count frames of food are left out.

    Returns:
        the sum in kg, None for a list and for a sheet without masses.

    >>> import pandas as pd
    >>> rows = pd.DataFrame({"spring_gross": [28.0, None], "food_left": [6.5, 1.0]})
    >>> mass_total(BOOK["After winter"], rows)
    35.5
    """
    keys = [column.key for column in sheet.typed if column.kind is Kind.MASS]
    if not keys or sheet.group is not Group.TYPE_HERE:
        return None
    masses = frame[keys].to_numpy(dtype=np.float64)
    if "amount" in frame:
        masses = np.column_stack([masses, _fed(frame)])
    if "how" in frame:
        counted = np.isin(keys, ["reading_1", "reading_2"])
        frames = (frame["how"] == "frames of food counted").to_numpy()
        masses = np.where(np.outer(frames, counted), np.nan, masses)
    return round(fsum(masses[~np.isnan(masses)].tolist()), KILOGRAM_DECIMALS)


def _fed(feedings: pd.DataFrame) -> Floats:
    """Feeds that were written by mass in kg; NaN for the others."""
    units = {name: unit.factor for name, unit in UNITS.items() if unit.stands_for == "kg"}
    return np.asarray(numbers(feedings["amount"]) * numbers(feedings["unit"].map(units)))


def _lost_sheets(book: Book) -> Iterator[Count]:
    ours = {sheet.name.casefold(): sheet.name for sheet in BOOK.sheets}
    for name, raw in book.foreign.items():
        if name.casefold() not in ours:
            continue
        rows = sum(any(cell is not None for cell in row) for row in raw.rows)
        none = dict.fromkeys(("accepted", "held", "blank"), 0)
        known = {"file": book.name, "sheet": ours[name.casefold()], "rows": rows}
        yield {**known, **none, "refused": rows, "mass_before": None, "mass_after": None}
