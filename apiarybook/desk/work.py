"""What the buttons do: each starts the function behind a command, away from the page."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import quote

from apiarybook.desk.desk import Desk, Job, Lift
from apiarybook.errors import CannotRead, CannotWrite
from apiarybook.layout import BOOK

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from apiarybook.desk.page import Form

COPIES, CARDS, REPORT, SHARED, RETURNS = "copies", "cards", "report", "to share", "returns"
"""Folders beside the book, called as the questions in the terminal call them."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What there is to show of work that is done: lines, and links to look at."""

    lines: tuple[str, ...] = ()
    links: tuple[tuple[str, str], ...] = ()


def _begin(desk: Desk, what: str, work: Callable[[Job], Outcome]) -> str:
    desk.start(Job(what, work))
    return ""


def beside(desk: Desk, name: str) -> Path:
    """A folder beside the book."""
    return desk.path.with_name(name)


def _links(desk: Desk, *paths: Path) -> tuple[tuple[str, str], ...]:
    """Links to files that the desk made."""
    for path in paths:
        desk.made[path.name] = path
    return tuple((path.name, f"/made?file={quote(path.name)}") for path in paths)


def _moved(desk: Desk, target: Path) -> tuple[str, ...]:
    old = desk.path
    return () if target == old else (f"The new book is {target.name}; {old.name} was left as it is.",)


def reckon(desk: Desk, form: Form) -> str:
    """Bring the result sheets up to date."""
    del form
    path, as_at = desk.path, desk.day()

    def work(job: Job) -> Outcome:
        from apiarybook.gather.on_disk import reckon_file

        _, target, lost = reckon_file(path, as_at, lambda _: job.told(1, 2))
        return Outcome((f"Reckoned as at {as_at}.", *_moved(desk, target), *lost))

    return _begin(desk, "Reckon the book", work)


def handout(desk: Desk, form: Form) -> str:
    """Cut one copy a member."""
    del form
    path, as_at, into, seed = desk.path, desk.day(), beside(desk, COPIES), desk.seed

    def work(job: Job) -> Outcome:
        from apiarybook.club.starting import new_id
        from apiarybook.gather.handout import handout as hand_out

        book_id = new_id(seed, path.stem, as_at.year)
        handing = hand_out(path, into, as_at=as_at, book_id=book_id, told=job.told)
        many = len(handing.copies)
        lines = [f"{many} {'copy' if many == 1 else 'copies'} in the folder {into.name}: send each to its member."]
        if handing.skipped:
            lines.append(f"No apiary yet, so no copy: {', '.join(handing.skipped)}.")
        return Outcome((*lines, *_moved(desk, handing.target), *handing.lost))

    return _begin(desk, "Hand out copies", work)


def cards(desk: Desk, form: Form) -> str:
    """Make target card, weigh-day sheet and practice sheet."""
    path, as_at, into = desk.path, desk.day(), beside(desk, CARDS)
    paper = form.get("paper") if form.get("paper") in {"A4", "Letter"} else None

    def work(job: Job) -> Outcome:
        from apiarybook.pages.card_page import make_cards

        job.told(0, 1)
        _, (book, page, people), _ = make_cards(path, into, paper, as_at)
        told = f"They stand in the folder {into.name}; print either. {people.name} has a page for each keeper."
        return Outcome((told,), _links(desk, page, book, people))

    return _begin(desk, "Make the cards", work)


def close(desk: Desk, form: Form) -> str:
    """Close the year if nothing stands in the way, and write its report."""
    del form
    path, as_at, into = desk.path, desk.day(), beside(desk, REPORT)

    def work(job: Job) -> Outcome:
        from apiarybook.gather.on_disk import close_and_report

        job.told(0, 1)
        year, target, lost, page = close_and_report(path, into, as_at)
        said = f"The year is not closed: {'; '.join(year.reasons)}." if year.reasons else f"Closed as at {as_at}."
        return Outcome((said, *_moved(desk, target), *lost), _links(desk, page))

    return _begin(desk, "Close the year", work)


def carry(desk: Desk, form: Form) -> str:
    """Make the book of the next winter beside this one."""
    path, as_at, seed, year = desk.path, desk.day(), desk.seed, form.get("winter", "")
    if not re.fullmatch(r"\d{4}", year):
        raise CannotWrite("Type the year in which the next winter begins, such as 2027.")
    stem = re.sub(r"\s*\d{4}$", "", path.stem)
    target = path.with_name(f"{stem} {year}.xlsx")

    def work(job: Job) -> Outcome:
        from apiarybook.club.starting import new_id
        from apiarybook.gather.on_disk import carry_file

        job.told(0, 1)
        book_id = new_id(seed, path.stem, int(year))
        carried = carry_file(path, target, year=int(year), as_at=as_at, book_id=book_id)
        lines = [f"{target.name} stands beside this book; {len(carried.colonies)} colonies go on."]
        if not carried.was_closed:
            lines.append("The year before is not closed; what is still written there will not come along.")
        if carried.asked:
            lines.append(f"It asks about the want of {', '.join(carried.asked)}.")
        return Outcome(tuple(lines), (("Open it from the list of books", "/books"),))

    return _begin(desk, "Carry over", work)


def share(desk: Desk, form: Form) -> str:
    """Make a package for others to learn from."""
    del form
    path, as_at, into = desk.path, desk.day(), beside(desk, SHARED)

    def work(job: Job) -> Outcome:
        from apiarybook.gather.sharing import share_file

        job.told(0, 1)
        shared, key, _, _ = share_file(path, into, as_at)
        kept = f"Look through the folder {into.name} before you send it, and keep {key.name} to yourself."
        return Outcome((*shared.removed, kept))

    return _begin(desk, "Share the weights", work)


def answer(desk: Desk, form: Form) -> str:
    """Write an answer into the book, or take one back."""
    path, as_at, key, text = desk.path, desk.day(), form.get("key", ""), form.get("text", "").strip()
    seen = desk.seen

    def work(job: Job) -> Outcome:
        from apiarybook.gather.on_disk import answer_file

        job.told(0, 1)
        if not seen or key not in {one.key for one in seen.asked if one.key}:
            raise CannotRead(f"{path.name}: that question is not in the book as it stands now; look at the list anew.")
        _, target, _ = answer_file(path, {key: text}, as_at)
        said = f"Written into the book: {text}." if text else "Taken back; the question is open again."
        return Outcome((said, *_moved(desk, target)))

    return _begin(desk, "Answer" if text else "Take an answer back", work)


def stop(desk: Desk, form: Form) -> str:
    """Stop what is at work before it writes."""
    del form
    desk.jobs.stop()
    return ""


def again(desk: Desk, form: Form) -> str:
    """Do what was refused once the book is closed elsewhere."""
    del form
    job = desk.jobs.now
    if job is None or job.state != "refused":
        raise CannotRead("Nothing waits to be done.")
    job.state, job.said = "waiting", ""
    desk.start(job)
    return ""


def end(desk: Desk, form: Form) -> str:
    """End the desk; the book stays as it is."""
    del form
    if desk.jobs.is_busy:
        raise CannotWrite("The desk is still at work; wait until that is done, or stop it first.")
    desk.is_over = True
    return "/ended"


def practice(desk: Desk, form: Form) -> str:
    """Take down a guess, or reveal what the scale says of it."""
    waiting = next((at for at, one in enumerate(desk.practice) if one.gross is None), None)
    if waiting is None:
        by, load = form.get("by", "").strip(), form.get("load", "").strip()
        if not by or not load:
            raise CannotWrite("Type whose hand it is, and what is lifted.")
        desk.practice.append(Lift(by[:60], load[:60], _mass(form.get("guess", ""))))
    else:
        one = desk.practice[waiting]
        desk.practice[waiting] = Lift(one.by, one.load, one.guess, _mass(form.get("gross", "")))
    desk.changed()
    return ""


def _mass(text: str) -> float:
    most = BOOK["Weighings"]["reading_1"].possible or (0.0, 250.0)
    try:
        found = float(text.replace(",", "."))
    except ValueError:
        found = math.nan
    if not most[0] < found <= most[1] * 2.3:
        raise CannotWrite(f"{text!r} is no weight of a hive; type a number, such as 32.5.")
    return found


def made(desk: Desk, form: Form) -> tuple[str, bytes]:
    """A file that the desk made: its name and bytes."""
    path = desk.made.get(form.get("file", ""))
    if path is None or not path.is_file():
        raise CannotRead("The desk made no such file; make it again.")
    return path.name, path.read_bytes()
