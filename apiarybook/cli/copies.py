"""The commands handout and collate: what went out, what came, what is open, and who is still to send something."""

from __future__ import annotations

import sys
from contextlib import contextmanager
from datetime import date
from typing import TYPE_CHECKING

import click

from apiarybook.cli.output import exit_code, findings_json, held_line, say_counts, say_findings, say_json
from apiarybook.cli.questions import offer_thinning
from apiarybook.cli.reckoning import say_standing
from apiarybook.club.starting import new_id
from apiarybook.pages.notes import reminder
from apiarybook.readers.canonical import first_few

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from pathlib import Path

    from apiarybook.gather.collate import Gathering
    from apiarybook.gather.handout import Handing
    from apiarybook.gather.provenance import Trail

MOST_NAMED = 12
"""Members or changes that are named on the terminal; all of them stand in the book."""


@contextmanager
def _progress(label: str, *, as_json: bool) -> Iterator[Callable[[int, int], None]]:
    """Show on a terminal how many are done of how many."""
    with click.progressbar(length=1, label=label, file=sys.stderr, hidden=as_json or not sys.stderr.isatty()) as bar:

        def told(done: int, of: int) -> None:
            bar.length = of
            bar.update(done - bar.pos)

        yield told


def handout(
    club_path: Path, into: Path, members: Sequence[str], *, seed: int | None, as_at: date, as_json: bool
) -> int:
    """Hand out copies and say where they stand.

    Args:
        club_path: the club's book.
        into: folder for the copies.
        members: codes of the members; all if empty.
        seed: makes the book's id repeatable.
        as_at: the day for which to reckon.
        as_json: for machines.

    Returns:
        1 if any row of the club's book is held, else 0.

    Raises:
        CannotRead: it is no club's book, or has no such member.
        CannotWrite: a book or a copy cannot be written.
    """
    from apiarybook.gather.handout import handout as hand_out

    book_id = new_id(seed, club_path.stem, as_at.year)
    with _progress("Copies", as_json=as_json) as told:
        handing = hand_out(club_path, into, members=members, as_at=as_at, book_id=book_id, told=told)
    if as_json:
        _say_handing_json(handing)
    else:
        _say_handing(handing, club_path, into)
    return exit_code(handing.club.checked.findings)


def _say_handing_json(handing: Handing) -> None:
    copies = [
        {"member": copy.member, "file": str(copy.path), "copy": copy.copy, "colonies": copy.colonies, "rows": copy.rows}
        for copy in handing.copies
    ]
    checked = handing.club.checked
    say_json(
        {
            "handed_out": copies,
            "skipped": handing.skipped,
            "book": str(handing.target),
            "findings": findings_json(checked.findings),
            "counts": checked.counts,
        }
    )


def _say_handing(handing: Handing, club_path: Path, into: Path) -> None:
    wide = max(len(copy.member) for copy in handing.copies)
    for copy in handing.copies:
        plural = "y" if copy.colonies == 1 else "ies"
        click.echo(f"  {copy.member:<{wide}}  {copy.colonies} colon{plural}  {copy.path.name}")
    for code in handing.skipped:
        click.echo(f"  {code} has no apiary yet, so no copy was made; add a row on the sheet Apiaries.")
    if held := held_line(handing.club.checked.findings, club_path.name):
        click.echo(f"  {held}")
    for sentence in handing.lost:
        click.echo(sentence)
    many = len(handing.copies)
    click.echo(
        f"\n{many} {'copy' if many == 1 else 'copies'} in {into}: send each to its member, nobody else's with it."
    )
    beside = (
        "" if handing.target == club_path else f" Go on with {handing.target.name}; {club_path.name} is the old book."
    )
    click.echo(f"{handing.target.name} knows now what was handed out; never send it to members.{beside}")


def collate(
    club_path: Path, paths: Sequence[Path], *, dry_run: bool, notes_into: Path | None, as_at: date, as_json: bool
) -> int:
    """Gather returns and say what came of it.

    Args:
        club_path: the club's book.
        paths: returns, folders, archives and messages.
        dry_run: write nothing.
        notes_into: folder of the notes.
        as_at: the day for which to reckon.
        as_json: for machines.

    Returns:
        1 if any row is held, else 0.

    Raises:
        CannotRead: it is no club's book.
        CannotWrite: the book or the notes cannot be written.
    """
    from apiarybook.gather.collate import collate as gather

    with _progress("Files", as_json=as_json) as told:
        gathering = gather(club_path, paths, as_at=as_at, dry_run=dry_run, notes_into=notes_into, told=told)
    if as_json:
        _say_json(gathering, dry_run=dry_run)
    else:
        _say(gathering, club_path, dry_run=dry_run)
        offer_thinning(club_path)
    return exit_code(gathering.rebuilt.reckoned.checked.findings)


def _say_json(gathering: Gathering, *, dry_run: bool) -> None:
    from apiarybook.gather.roster import states

    rebuilt = gathering.rebuilt
    checked = rebuilt.reckoned.checked
    say_json(
        {
            "book": str(gathering.target),
            "written": gathering.is_new and not dry_run,
            "backup": str(gathering.backup) if gathering.backup else None,
            "returns": [{"file": one.name, "copy": one.copy, "sha256": one.sha256} for one in gathering.returns],
            "left_alone": [{"file": one.name, "why": one.why} for one in gathering.left_alone],
            "offered": gathering.offered,
            "not_gathered": gathering.not_gathered,
            "reopened": gathering.reopened or None,
            "roster": states(rebuilt.lines),
            "gathered": rebuilt.folded.counts,
            "notes": {member: str(path) for member, path in gathering.notes.items()},
            "findings": findings_json(checked.findings),
            "counts": checked.counts,
        }
    )


def _say(gathering: Gathering, club_path: Path, *, dry_run: bool) -> None:
    rebuilt = gathering.rebuilt
    for one in gathering.returns:
        click.echo(f"  {one.name}: taken as copy {one.copy}")
        for remark in one.remarks:
            click.echo(f"    {remark.removeprefix(f'{one.name}: ')}")
    for left in gathering.left_alone:
        click.echo(f"  {left.name}: left alone; {left.why}")
    for name in gathering.offered:
        click.echo(f"  {name} is another state of {club_path.name}; to gather what was typed into it, name it:")
        click.echo(f'    apiarybook collate "{club_path.name}" "{name}"')
    for sentence in gathering.not_gathered:
        click.echo(f"  {sentence}")
    if gathering.reopened:
        click.echo(f"  The year was closed as at {gathering.reopened}; it is open again. Run yearend to close it anew.")
    say_findings(rebuilt.reckoned.checked.findings)
    say_counts(rebuilt.reckoned.checked.counts)
    _say_roster(gathering)
    say_standing(rebuilt.reckoned)
    for sentence in gathering.lost:
        click.echo(sentence)
    _say_end(gathering, club_path, dry_run=dry_run)


def _say_roster(gathering: Gathering) -> None:
    from apiarybook.gather.roster import OPEN_STATES, states

    by_state: dict[str, list[str]] = {}
    for member, state in states(gathering.rebuilt.lines).items():
        by_state.setdefault(state, []).append(member)
    click.echo("")
    click.echo(click.style("Members", bold=True))
    for state in ("has questions", "accepted", "received", "overdue", "missing", "not expected", "superseded"):
        members = by_state.get(state, [])
        if members:
            click.echo(f"  {len(members)} {state}: {first_few(members, MOST_NAMED)}")
    late = next((note for note in gathering.rebuilt.notes if note.member in by_state.get(OPEN_STATES[0], ())), None)
    if late:
        due = gathering.rebuilt.reckoned.book.settings.get("returns_due")
        click.echo("  A reminder to send to those who are overdue, here for the first of them:")
        for line in reminder(late, due if isinstance(due, date) else None).splitlines():
            click.echo(f"    {line}".rstrip())


def _say_end(gathering: Gathering, club_path: Path, *, dry_run: bool) -> None:
    many = len(gathering.returns)
    came = f"{many} return{'' if many == 1 else 's'}"
    click.echo("")
    if not many and not dry_run and gathering.is_new:
        came = "No return was found; what was typed into the book itself was"
    if dry_run:
        what = "would change" if gathering.is_new else "would not change"
        click.echo(f"{came} read; {club_path.name} {what}; nothing was written, since --dry-run was given.")
        return
    if not gathering.is_new:
        click.echo(f"{came} read; they bring nothing new, and {club_path.name} was left as it is.")
    elif gathering.target == club_path:
        kept = f" The former book is kept as {gathering.backup.name}." if gathering.backup else ""
        click.echo(f"{came} gathered into {club_path.name}.{kept}")
    else:
        click.echo(f"{came} gathered into {gathering.target.name}; {club_path.name} was left as it is.")
    if gathering.notes:
        folder = next(iter(gathering.notes.values())).parent
        click.echo(f"A note for each member who sent something is in {folder}; send each its own.")


def say_trail(path: Path, place: str, *, as_json: bool) -> int:
    """Say why a cell of a club's book says what it says.

    Args:
        path: the book.
        place: a cell, such as Weighings!F7.
        as_json: for machines.

    Returns:
        0.

    Raises:
        CannotRead: there is no such cell.
    """
    from dataclasses import asdict

    from apiarybook.gather.provenance import trail

    found = trail(path, place)
    if as_json:
        say_json(asdict(found))
    else:
        _say_trail(found)
    return 0


def _say_trail(found: Trail) -> None:
    from apiarybook.layout import BOOK, Group

    shown = found.value or "nothing"
    click.echo(f"{found.sheet} {found.cell} ({found.heading}), row {found.ref or 'without mark'}: {shown}")
    if BOOK[found.sheet].group is Group.READ_HERE:
        click.echo("  The book reckons it from these rows, the lists and the winter of the place:")
    for one in found.said:
        where = ", ".join(filter(None, (one.file if one.file != "handed out" else "", one.place)))
        why = f": {one.why}" if one.why else ""
        click.echo(f"  {one.when}  {one.what}: {one.value or 'blank'}{f' ({where})' if where else ''}{why}")
    if not found.said:
        click.echo("  Nothing was gathered for this cell yet; it stands as it was typed into this book.")
