"""The command share: a club's rows for others to learn from, without names, places and remarks."""

from __future__ import annotations

import secrets
from typing import TYPE_CHECKING

import click

from apiarybook.cli.findings_text import exit_code, held_line
from apiarybook.cli.json_output import say_json
from apiarybook.errors import CannotRead, CannotWrite, in_words

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from apiarybook.gather.anonymous import Anonymous

KEY = "{stem} sharing key.txt"
"""The key's file beside the club's book; it never goes into a package."""
BYTES = 32
LEAST = 16
"""Bytes of a new key, and the fewest of any."""


def share(club_path: Path, into: Path, *, as_at: date, as_json: bool) -> int:
    """Make a package to share, and say what was removed.

    Args:
        club_path: the club's book; nothing in it is changed.
        into: folder for the package.
        as_at: the day for which to reckon which rows are held.
        as_json: for machines.

    Returns:
        1 if any row is held and so left out, else 0.

    Raises:
        CannotRead: it is no club's book, or the key beside it is none.
        CannotWrite: the key or the package cannot be written.
    """
    from apiarybook.book.si_frames import si
    from apiarybook.gather.anonymous import anonymous
    from apiarybook.gather.data_package import package
    from apiarybook.gather.on_disk import look_at_file

    reckoned = look_at_file(club_path, as_at)
    key_path = club_path.with_name(KEY.format(stem=club_path.stem))
    key = read_key(key_path, as_at)
    shared = anonymous(si(reckoned.book, {}), reckoned.checked.held, key)
    files = package(shared, reckoned.content.about["winter"])
    _write(into, files, as_at)
    if as_json:
        rows = {name: len(frame) for name, frame in shared.rows.items()}
        say_json({"folder": str(into), "files": sorted(files), "rows": rows, "removed": shared.removed})
    else:
        _say(shared, into, key_path)
        if held := held_line(reckoned.checked.findings, club_path.name):
            click.echo(f"\n{held}.")
    return exit_code(reckoned.checked.findings)


def read_key(path: Path, as_at: date) -> bytes:
    """The secretary's key; a new one is made where none stands yet.

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


def _say(shared: Anonymous, into: Path, key_path: Path) -> None:
    for name, rows in shared.rows.items():
        click.echo(f"  {name}: {len(rows)} rows")
    click.echo("\nRemoved or replaced:")
    for sentence in shared.removed:
        click.echo(f"  {sentence}")
    click.echo(
        f"\nThe package is {into}: look through it before you send it. Keep {key_path.name} to yourself: with it the "
        "same colonies have the same pseudonyms next year, and whoever has it can try names out."
    )
