"""Rows to share as a Data Package: one CSV a sheet, and its Table Schema made from the layout.

Frictionless Data specifications, Data Package and Table Schema, version 1 (2017 and later), which version 2 reads too.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from apiarybook.gather.anonymous import OTHER
from apiarybook.layout import Kind

if TYPE_CHECKING:
    from apiarybook.gather.anonymous import Anonymous
    from apiarybook.layout import Column

TITLE = "Hive weights and feeds of a beekeeping club"
REMOVED = "what-was-removed.txt"


def package(shared: Anonymous, winter: str) -> dict[str, bytes]:
    """Make the files of a package.

    Args:
        shared: the rows.
        winter: which winter they are of, like 2026/27.

    Returns:
        content by file name; the same for the same rows.
    """
    files: dict[str, bytes] = {}
    resources = []
    for name, rows in shared.rows.items():
        slug = name.lower().replace(" ", "-")
        files[f"{slug}.csv"] = rows.to_csv(index=False, lineterminator="\n").encode()
        schema = {"fields": [_field(column) for column in shared.columns[name]], "missingValues": [""]}
        if name == "Colonies":
            schema["primaryKey"] = "colony"
        else:
            there = {"resource": "colonies", "fields": "colony"}
            schema["foreignKeys"] = [{"fields": "colony", "reference": there}]
        resources.append(
            {
                "name": slug,
                "title": name,
                "path": f"{slug}.csv",
                "profile": "tabular-data-resource",
                "format": "csv",
                "mediatype": "text/csv",
                "encoding": "utf-8",
                "schema": schema,
            }
        )
    described = {
        "profile": "tabular-data-package",
        "name": f"hive-weights-{winter.replace('/', '-')}",
        "title": f"{TITLE}, winter {winter}",
        "description": f"Masses in kg. Names and codes are pseudonyms; {REMOVED} says what was removed.",
        "resources": resources,
    }
    files["datapackage.json"] = (json.dumps(described, indent=2, ensure_ascii=False) + "\n").encode()
    files[REMOVED] = ("\n".join(shared.removed) + "\n").encode()
    return files


def _field(column: Column) -> dict[str, object]:
    """A column as Table Schema says it.

    >>> from apiarybook.layout import BOOK
    >>> found = _field(BOOK["Weighings"]["feed_left"])
    >>> found["name"], found["type"], found["constraints"]
    ('feed_left', 'number', {'minimum': 0.0, 'maximum': 40.0})
    """
    kinds = {Kind.DATE: "date"}
    field: dict[str, object] = {
        "name": column.key,
        "title": column.heading,
        "type": "number" if column.numeric else kinds.get(column.kind, "string"),
        "description": f"Unit: {column.unit}. {column.prompt}" if column.numeric else column.prompt,
    }
    constraints: dict[str, object] = {"required": True, "unique": True} if column.unique else {}
    if column.numeric and column.possible:
        constraints |= {"minimum": column.possible[0], "maximum": column.possible[1]}
    if column.choices and column.kind is not Kind.HEFT:
        constraints["enum"] = [*column.choices, OTHER] if column.key == "winter_profile" else [*column.choices]
    if constraints:
        field["constraints"] = constraints
    return field
