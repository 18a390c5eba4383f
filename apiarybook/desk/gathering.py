"""Handing out and gathering on the page: files dropped, looked at first, gathered, and a note for each member."""

from __future__ import annotations

from datetime import date
from itertools import count
from typing import TYPE_CHECKING

from apiarybook.club.people import Keeper, keepers
from apiarybook.desk.desk import Job
from apiarybook.desk.page import Form, Page
from apiarybook.desk.work import RETURNS, Outcome, beside
from apiarybook.errors import CannotRead, CannotWrite, in_words

if TYPE_CHECKING:
    from collections.abc import AsyncIterator
    from pathlib import Path

    from apiarybook.desk.desk import Desk
    from apiarybook.gather.collate import Gathering
    from apiarybook.pages.notes import Note

BRINGS = ("new", "amended", "withdrawn", "conflict", "refused", "not used")
SHOWN = 100
"""Changes that the page lists; the sheet Changes has all."""
STATES = ("has questions", "accepted", "received", "overdue", "missing", "superseded")


def page(desk: Desk, form: Form) -> Page:
    """What lies in the folder of returns, what the last look said, and the buttons."""
    del form
    seen = desk.seen
    if seen is None or seen.reckoned is None:
        from apiarybook.desk.reading import waiting

        return waiting()
    gathering: Gathering | None = desk.gathering
    told = {
        "folder": beside(desk, RETURNS),
        "came": came(beside(desk, RETURNS)),
        "gathering": gathering,
        "was_dry": desk.was_dry,
        "roster": _roster(gathering, keepers(seen.reckoned)) if gathering else [],
        "rows": _rows(gathering) if gathering else {},
        "changes": _changes(gathering) if gathering else [],
        "most": SHOWN,
    }
    return Page("gather", "Hand out and gather", told)


def came(folder: Path) -> dict[str, int]:
    """The files in the folder of returns with their size in kB; what is no return is said when it is gathered.

    Args:
        folder: beside the book.
    """
    if not folder.is_dir():
        return {}
    files = sorted(one for one in folder.iterdir() if one.is_file() and not one.name.startswith("."))
    return {one.name: -(-one.stat().st_size // 1000) for one in files}


def _roster(gathering: Gathering, people: dict[str, Keeper]) -> list[tuple[str, list[Keeper]]]:
    from apiarybook.gather.roster import states

    by_state: dict[str, list[Keeper]] = {}
    for member, state in states(gathering.rebuilt.lines).items():
        by_state.setdefault(state, []).append(people.get(member.casefold(), Keeper(member, "")))
    return [(state, by_state[state]) for state in STATES if state in by_state]


def _rows(gathering: Gathering) -> dict[str, str]:
    """By file, what became of its rows in words, as its member is told."""
    return {one.file: one.rows for note in gathering.rebuilt.notes for one in note.received}


def _changes(gathering: Gathering) -> list[dict[str, str]]:
    """What these files bring that was not there, as the sheet Changes has it."""
    lines, these = gathering.rebuilt.folded.changes, [one.sha256 for one in gathering.returns]
    found = lines[lines["sha256"].isin(these) & lines["what"].isin(BRINGS)].fillna("")
    return [{str(key): str(value) for key, value in one.items()} for one in found.to_dict("records")]


async def receive(desk: Desk, name: str, chunks: AsyncIterator[bytes]) -> str:
    """Put a dropped file into the folder of returns under a name that nothing has yet.

    Args:
        desk: what is on the desk.
        name: as the browser says it; folders and anything odd in it are dropped.
        chunks: its bytes, bounded by the guard.

    Returns:
        what is said of it.

    Raises:
        CannotWrite: the folder cannot be made or written.
    """
    from starlette.concurrency import run_in_threadpool

    from apiarybook.gather.sources import shown_name

    folder, plain = beside(desk, RETURNS), shown_name(name).lstrip(".") or "without name"
    part = folder / f".{plain}.{next(desk.parts)}.part"
    try:
        folder.mkdir(exist_ok=True)
        with part.open("xb") as file:
            async for chunk in chunks:
                file.write(chunk)
        said = await run_in_threadpool(_put, part, folder / plain)
    except OSError as fault:
        raise CannotWrite(f"{plain} could not be put into the folder {folder.name} ({in_words(fault)}).") from fault
    finally:
        part.unlink(missing_ok=True)
    desk.changed()
    return said


def _put(part: Path, target: Path) -> str:
    """Give a received file its name; one that is there already, byte for byte, is not kept twice."""
    from apiarybook.gather.sources import LeftAlone, sources

    for number in count(1):
        place = target.with_stem(f"{target.stem} {number}") if number > 1 else target
        if place.is_file() and place.read_bytes() == part.read_bytes():
            return f"{place.name} was there already."
        if not place.exists():
            part.rename(place)
            break
    left = [one for one in sources([place]) if isinstance(one, LeftAlone)]
    return "; ".join([f"{place.name} received", *(f"{one.name}: {one.why}" for one in left)])


def take_away(desk: Desk, form: Form) -> str:
    """Take a file out of the folder of returns again."""
    folder = beside(desk, RETURNS)
    name = form.get("file", "")
    if name not in came(folder):
        raise CannotRead("There is no such file in the folder of returns any more.")
    (folder / name).unlink()
    desk.changed()
    return ""


def dry_run(desk: Desk, form: Form) -> str:
    """Say what gathering would change, and write nothing."""
    del form
    return _gather(desk, is_dry=True)


def gather(desk: Desk, form: Form) -> str:
    """Gather the returns into the book, and write a note for each member."""
    del form
    return _gather(desk, is_dry=False)


def _gather(desk: Desk, *, is_dry: bool) -> str:
    path, as_at, folder = desk.path, desk.day(), beside(desk, RETURNS)
    if not came(folder):
        raise CannotRead(f"Nothing lies in the folder {folder.name} yet; drop files on the page first.")

    def work(job: Job) -> Outcome:
        from apiarybook.gather.collate import collate

        gathering = collate(path, [folder], as_at=as_at, dry_run=is_dry, told=job.told)
        desk.gathering, desk.was_dry = gathering, is_dry
        many = len(gathering.returns)
        lines = [f"{many} return{'' if many == 1 else 's'} read."]
        if is_dry:
            lines.append("The book would change." if gathering.is_new else "The book would not change.")
        elif not gathering.is_new:
            lines.append("They bring nothing new, and the book was left as it is.")
        elif gathering.backup:
            lines.append(f"The former book is kept as {gathering.backup.name}.")
        return Outcome((*lines, *gathering.lost), (("What came of it", "/gather"),))

    desk.start(Job("Look what gathering would change" if is_dry else "Gather the returns", work, reads_only=is_dry))
    return ""


def note(desk: Desk, form: Form) -> Page:
    """One member's note, to copy or save."""
    from apiarybook.pages.notes import as_text, reminder

    notes: list[Note] = desk.gathering.rebuilt.notes if desk.gathering else []
    found = next((one for one in notes if one.member == form.get("member")), None)
    if found is None:
        raise CannotRead("There is no note for that member; gather first.")
    due = desk.reckoned.book.settings.get("returns_due")
    text = as_text(found) if found.received else reminder(found, due if isinstance(due, date) else None)
    return Page("note_page", f"Note to {found.name or found.member}", {"text": text, "member": found.member})
