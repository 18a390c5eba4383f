"""A package to share, put into a folder of its own; the key of its pseudonyms stays beside the club's book."""

from __future__ import annotations

import contextlib
import json
import secrets
import stat
from typing import TYPE_CHECKING

from apiarybook.errors import CannotRead, CannotWrite, in_words
from apiarybook.gather.anonymous import OTHER, anonymous
from apiarybook.layout import Kind

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from apiarybook.club.reckoned import Reckoned
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
    field: dict[str, object] = {
        "name": column.key,
        "title": column.heading,
        "type": "number" if column.numeric else "date" if column.kind is Kind.DATE else "string",
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


KEY = "{stem} sharing key.txt"
"""The key's file beside the club's book; it never goes into a package."""
BYTES = 32
LEAST = 16
"""Bytes of a new key, and the fewest of any."""


def share_file(club_path: Path, into: Path, as_at: date) -> tuple[Anonymous, Path, Reckoned, list[str]]:
    """Make a package to share.

    Args:
        club_path: the club's book; nothing in it is changed.
        into: folder for the package.
        as_at: the day for which to reckon which rows are held.

    Returns:
        what is shared, where the key stands, the book reckoned, and the names of the files.

    Raises:
        CannotRead: it is no club's book, or the key beside it is none.
        CannotWrite: the key or the package cannot be written.
    """
    from apiarybook.book.si_frames import si
    from apiarybook.gather.on_disk import look_at_file

    reckoned = look_at_file(club_path, as_at)
    key_path = club_path.with_name(KEY.format(stem=club_path.stem))
    key = read_key(key_path, as_at)
    shared = anonymous(si(reckoned.book), reckoned.checked.held, key)
    files = package(shared, reckoned.content.about["winter"])
    _write(into, files, as_at)
    return shared, key_path, reckoned, sorted(files)


def read_key(path: Path, as_at: date) -> bytes:
    """The secretary's key, readable by its owner only; a new one is made where none stands yet.

    Args:
        path: the key's file.
        as_at: the day.

    Raises:
        CannotRead: what stands there is no key.
        CannotWrite: no key can be written there.
    """
    from apiarybook.writers.safe_replace import put_in_place

    if not path.exists():
        put_in_place(path, f"{secrets.token_hex(BYTES)}\n".encode(), seen_sha256=None, stamp=as_at.isoformat())
    with contextlib.suppress(OSError):  # where a disk knows no owners the file is as it was
        path.chmod(stat.S_IRUSR | stat.S_IWUSR)
    try:
        key = bytes.fromhex(path.read_text(encoding="ascii").strip())
    except (OSError, ValueError):
        key = b""
    if len(key) < LEAST:
        raise CannotRead(
            f"{path.name}: this is no sharing key of at least {2 * LEAST} hexadecimal digits; put the right file back, "
            "or move it away and all pseudonyms will be new ones."
        )
    return key


def _write(into: Path, files: dict[str, bytes], as_at: date) -> None:
    from apiarybook.writers.safe_replace import put_in_place

    try:
        into.mkdir(parents=True, exist_ok=True)
        others = sorted(one.name for one in into.iterdir() if files.get(one.name) != _bytes_of(one))
    except OSError as fault:
        raise CannotWrite(
            f"{into}: this folder cannot be made or read ({in_words(fault)}); name another one."
        ) from fault
    if others:
        raise CannotWrite(
            f"{into}: {others[0]} stands there already; name a new folder, so that only the package is in it."
        )
    for name, data in files.items():
        if not (into / name).exists():
            put_in_place(into / name, data, seen_sha256=None, stamp=as_at.isoformat())


def _bytes_of(path: Path) -> bytes | None:
    return path.read_bytes() if path.is_file() else None
