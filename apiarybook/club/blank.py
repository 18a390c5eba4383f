"""A new book: the lists of a region filled in from the handbook, ready-made rows that already carry their ref."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from apiarybook.book.measure import Measure, measure
from apiarybook.handbook import Figure, handbook
from apiarybook.layout import BOOK, SETTINGS
from apiarybook.layout.model import Role, Sheet

if TYPE_CHECKING:
    from collections.abc import Iterable

    from apiarybook.handbook import HiveType

SOURCED_FIGURES = ("tare", "bees", "pollen", "want", "full_comb", "comb_side")
WEAKNESS = ("published", "common practice", "from memory")


def blank_rows(sheet: Sheet, count: int, token: str) -> pd.DataFrame:
    """Ready-made rows of a sheet, blank but for their refs.

    Args:
        sheet: the sheet.
        count: how many rows.
        token: what the refs begin with.

    Returns:
        a frame of the sheet's typed and told columns.

    >>> blank_rows(BOOK["Moves"], 2, "club26")["ref"].tolist()
    ['club26-M1', 'club26-M2']
    """
    keys = [column.key for column in sheet.columns if column.role is not Role.LIVE]
    frame = pd.DataFrame({key: pd.Series([None] * count, dtype=object) for key in keys})
    if "ref" in keys:
        frame["ref"] = [f"{token}-{sheet.mark}{number}" for number in range(1, count + 1)]
    return frame


def hive_type_row(hive: HiveType, region: str, units: Measure) -> dict[str, object]:
    """One row of the sheet Hive types, in the book's units."""
    want = hive.want_in(region)
    figures = {"tare": hive.tare, "tare_spread": hive.tare_spread, "bees": hive.bees, "pollen": hive.pollen}
    figures |= {"want": want, "full_comb": hive.full_comb, "comb_side": hive.comb_side, "frames": hive.frames}
    figures |= {"pollen_frames": hive.pollen_frames, "portion_liquid": hive.portion_liquid, "boxes": hive.boxes}
    figures |= {"portion_fondant": hive.portion_fondant, "feeder_holds": hive.feeder_holds}
    row: dict[str, object] = {"name": hive.name, "frame": hive.frame, "comb": hive.comb, "material": hive.material}
    for key, figure in figures.items():
        column = BOOK["Hive types"][key]
        is_local = units.mass == "lb" and key in hive.in_pounds
        factor = units.factor(column.kind, column.unit)
        row[key] = hive.in_pounds[key].value if is_local else rounded(figure.value * factor)
    return row | sourced({key: figures[key] for key in SOURCED_FIGURES})


def sourced(figures: dict[str, Figure]) -> dict[str, object]:
    """The sources of a row's figures in one text, and the weakest of their kinds."""
    told = "; ".join(f"{name.replace('_', ' ')}: {figure.source} ({figure.kind})" for name, figure in figures.items())
    return {"source": told, "kind": weakest(figure.kind for figure in figures.values())}


def weakest(kinds: Iterable[str]) -> str:
    """The kind that promises least.

    >>> weakest(["published", "from memory", "common practice"])
    'from memory'
    """
    return max(kinds, key=WEAKNESS.index)


def rounded(number: float) -> float:
    """A figure as a list shows it: four significant digits, so that a book in pounds does not bristle with decimals.

    >>> rounded(35.27396195)
    35.27
    """
    return float(f"{number:.4g}")


def region_lists(region: str, units: Measure) -> dict[str, pd.DataFrame]:
    """The lists that a region's new book starts with: hive types, feed kinds and extras.

    Args:
        region: one of the handbook's regions.
        units: the book's units.

    Returns:
        frames by sheet.
    """
    book = handbook()
    own_first = sorted(book.hive_types.values(), key=lambda hive: region not in hive.regions)
    types = pd.DataFrame([hive_type_row(hive, region, units) for hive in own_first])
    kinds = pd.DataFrame(
        [
            {
                "name": feed.name,
                "form": feed.form,
                "solids": feed.solids.value,
                "yields": feed.eta.value,
                "mixed": "yes" if feed.mixed else "no",
                "pack": pack.value if pack.unit == units.mass else rounded(pack.value / units.kg),
            }
            | sourced({"solids": feed.solids, "yields": feed.eta, "pack": pack})
            for feed in book.feeds.values()
            for pack in [feed.in_pounds.get("pack", feed.pack) if units.mass == "lb" else feed.pack]
        ]
    )
    extras = pd.DataFrame(
        [
            {"name": extra.name, "mass": rounded(extra.mass.value / units.kg)}
            | {"source": extra.mass.source, "kind": extra.mass.kind}
            for extra in book.extras.values()
        ]
    )
    return {"Hive types": types, "Feed kinds": kinds, "Extras": extras}


def new_tables(region: str, unit: str, token: str) -> dict[str, pd.DataFrame]:
    """The typed sheets of a new book.

    Args:
        region: one of the handbook's regions.
        unit: kg or lb.
        token: what the refs of the ready-made rows begin with.

    Returns:
        frames of raw values by sheet, masses in the book's unit.
    """
    tables: dict[str, pd.DataFrame] = {}
    filled = region_lists(region, measure(unit))
    for sheet in BOOK.sheets:
        if not sheet.is_list:
            continue
        rows = filled.get(sheet.name, pd.DataFrame())
        spare = blank_rows(sheet, sheet.ready or sheet.spare, token)
        whole = pd.concat([rows.reindex(columns=spare.columns).astype(object), spare], ignore_index=True)
        whole.index = pd.RangeIndex(sheet.first_row, sheet.first_row + len(whole))
        tables[sheet.name] = whole.where(whole.notna(), None)
    return tables


def new_settings(club: str, winter: int, region: str, unit: str) -> dict[str, object]:
    """The settings of a new book."""
    settings: dict[str, object] = {setting.key: setting.default for setting in SETTINGS}
    settings["autumn_feed"] = handbook().autumn_feed_of(region)
    return settings | {"club": club or None, "winter": float(winter), "region": region, "unit": unit}
