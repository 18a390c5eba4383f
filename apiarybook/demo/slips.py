"""The slips that an invented club makes while it types, and how its secretary mends them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from apiarybook.demo.club import HONEY, YEAR, Row, Rows
from apiarybook.reckon.feeding.feeds import UNITS

if TYPE_CHECKING:
    from collections.abc import Callable


@dataclass(frozen=True, slots=True)
class Slip:
    """One slip: the row it happens on, the cells as they were typed, and what was found when somebody looked.

    The row is the one of that number, counted from 1, among the colony's rows on the sheet.
    """

    sheet: str
    colony: str
    number: int
    typed: Callable[[Row], Row]
    found: str


def _reading(row: Row) -> float:
    return float(str(row["reading_1"]))


def _in_pounds(row: Row) -> Row:
    readings = {key: float(str(row[key])) for key in ("reading_1", "reading_2") if key in row}
    return {key: round(reading / UNITS["lb"].factor, 1) for key, reading in readings.items()}


def _digits_swapped(row: Row) -> Row:
    digits = f"{_reading(row):g}"
    return {"reading_1": float(digits[1] + digits[0] + digits[2:])}


def _as_sum(row: Row) -> Row:
    return {"reading_1": f"={_reading(row) + 0.4:g}-0.4"}


SLIPS = (
    Slip("Weighings", "Mill 2", 3, _in_pounds, "Agnes had the scale set to pounds that morning; now in kg."),
    Slip(
        "Weighings",
        "Orchard 3",
        1,
        lambda row: {"reading_2": f"{row['reading_2']}".replace(".", ",")},
        "Bram types at work, where decimals have a comma; typed again with a point.",
    ),
    Slip("Weighings", "Weir 2", 1, lambda row: {"reading_1": f"{row['reading_1']} kg"}, "Maud took the unit out."),
    Slip(
        "Weighings",
        "Glebe 2",
        1,
        lambda _: {"date": "Monday"},
        "Cora had written the day of the week; it was Monday, 10 August.",
    ),
    Slip("Weighings", "Chapel 2", 1, lambda _: {"colony": "Chapell 2"}, "Chapel 2 was meant."),
    Slip(
        "Weighings",
        "Heath 2",
        3,
        lambda row: {"reading_1": round(_reading(row) / 10, 3)},
        "The decimal point stood one place too far left; Edith's slip of paper has it right.",
    ),
    Slip("Weighings", "School 4", 4, _digits_swapped, "Two digits were swapped."),
    Slip("Weighings", "Mill 4", 3, lambda _: {"scale": "H3"}, "It was scale H1; H3 was never at the mill."),
    Slip("Weighings", "Ferry 1", 3, _as_sum, "Isla took the lid's clip off in the cell; now the number alone."),
    Slip("Weighings", "Quarry 1", 2, lambda _: {"heft": "rather light"}, "The words are light, about right and heavy."),
    Slip("Weighings", "School 1", 5, lambda _: {"feed_left": None}, "Piet had looked: the feeder was empty, 0."),
    Slip(
        "Feedings",
        "Orchard 6",
        1,
        lambda row: {"water": round(float(str(row["water"])) / 2, 1)},
        "Half the water had not been written down.",
    ),
    Slip("Feedings", "Orchard 1", 2, lambda _: {"water": None}, "The water stood on the back of the paper."),
    Slip("Feedings", "Ridge 1", 1, lambda _: {"amount": 10}, "One gallon, not ten."),
    Slip(
        "Feedings",
        "Towpath 2",
        1,
        lambda row: {"date": row["date"].replace(year=YEAR - 1)} if isinstance(row["date"], date) else {},
        "This year's feed, last year's number.",
    ),
    Slip(
        "Feedings",
        "Chapel 5",
        3,
        lambda _: {"date": date(YEAR, 10, 3)},
        "Hugh had typed the day on which he typed; his diary has the day of the feed.",
    ),
    Slip("Moves", HONEY, 2, dict.fromkeys, "The super had come off in the middle of August; its row was typed."),
)
TWICE = Slip("Feedings", "Ferry 2", 2, dict, "Isla had typed this feed twice; the second row was cleared.")


def slipped(rows: Rows) -> tuple[Rows, Rows]:
    """The rows as they were first typed, and as they stand once mended.

    Args:
        rows: the rows as they should be.

    Returns:
        both, with the same rows at the same places.
    """
    first = {sheet: [dict(row) for row in typed] for sheet, typed in rows.items()}
    mended = {sheet: list(typed) for sheet, typed in rows.items()}
    for slip in SLIPS:
        row = first[slip.sheet][_place(rows, slip)]
        row |= slip.typed(row)
    again = _place(rows, TWICE) + 1
    first[TWICE.sheet].insert(again, dict(rows[TWICE.sheet][again - 1]))
    mended[TWICE.sheet].insert(again, {})
    return first, mended


def _place(rows: Rows, slip: Slip) -> int:
    places = [at for at, row in enumerate(rows[slip.sheet]) if row["colony"] == slip.colony]
    return places[slip.number - 1]
