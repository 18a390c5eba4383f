"""The commands start, yearend, carry and share: a book from winter to winter, and rows for others to learn from."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from apiarybook.cli.output import DONE, HELD, exit_code, findings_json, held_line, say_counts, say_findings, say_json
from apiarybook.reckon.core.winter import winter_words

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    import pandas as pd

    from apiarybook.club.carry import Carried
    from apiarybook.club.closing import Year
    from apiarybook.gather.anonymous import Anonymous


def yearend(path: Path, report: Path, *, as_at: date, as_json: bool) -> int:
    """Close a club's year and say what it taught.

    Args:
        path: the club's book.
        report: folder of the report.
        as_at: the day for which to reckon.
        as_json: for machines.

    Returns:
        0 if the year is closed, 1 if something stands in the way.

    Raises:
        CannotRead: it is no club's book.
        CannotWrite: the book or the report cannot be written.
    """
    from apiarybook.gather.on_disk import close_and_report

    year, target, lost, page = close_and_report(path, report, as_at)
    if as_json:
        say_json(as_object(year) | {"book": str(target), "report": str(page)})
        return HELD if year.reasons else DONE
    say_findings(year.reckoned.checked.findings)
    say_counts(year.reckoned.checked.counts)
    say_year(year)
    for sentence in lost:
        click.echo(sentence)
    click.echo(f"\nThe report is {page}, with its tables as CSV beside it; the sheet Year of {target.name} has more.")
    return HELD if year.reasons else DONE


def say_year(year: Year) -> None:
    """Print what the year taught, what is not complete, and whether it is closed.

    Args:
        year: the year's end.
    """
    from apiarybook.book.measure import measure
    from apiarybook.pages.year_words import gap_words, in_short_for_secretary

    click.echo("")
    click.echo(click.style("The winter in short", bold=True))
    for line in in_short_for_secretary(year, measure(year.reckoned.book.unit)):
        click.echo(f"  {line}")
    gaps = [gap for gap in year.facts.gaps if gap.names]
    if gaps:
        click.echo("")
        click.echo(click.style("Not complete", bold=True))
    for gap in gaps:
        click.echo(f"  {gap_words(gap)}")
    click.echo("")
    if year.reasons:
        click.echo(click.style("The year is not closed:", bold=True))
        for reason in year.reasons:
            click.echo(f"  {reason}")
    else:
        click.echo(f"The year is closed as at {year.reckoned.content.as_at}, fingerprint {year.fingerprint[:16]}.")


def as_object(year: Year) -> dict[str, object]:
    """What machines are told: masses in kg, shares from 0 to 1.

    Args:
        year: the year's end.
    """
    from apiarybook.reckon.year import year as reckoned_year

    checked = year.reckoned.checked
    return {
        "closed": not year.reasons,
        "why_not": list(year.reasons),
        "fingerprint": year.fingerprint or None,
        "losses": _rows(reckoned_year.losses(year.facts.found)),
        "causes": _rows(reckoned_year.causes(year.facts.found)),
        "wants": _rows(year.facts.wants),
        "foretold": _rows(reckoned_year.coverage(year.facts.bands)),
        "left_over": _rows(reckoned_year.left_over(year.facts.found)),
        "feed": _rows(reckoned_year.feed_used(year.facts.found)),
        "scales": _rows(year.facts.drift),
        "gaps": [{"what": one.what, "count": len(one.names), "of": one.of} for one in year.facts.gaps],
        "findings": findings_json(checked.findings),
        "counts": checked.counts,
    }


def _rows(frame: pd.DataFrame) -> list[dict[str, object]]:
    plain = frame.astype(object).where(frame.notna(), None)
    return [{str(key): _number(one) for key, one in row.items()} for row in plain.to_dict("records")]


def _number(value: object) -> object:
    """A figure as plain Python has it."""
    return value.item() if hasattr(value, "item") else value


def start(
    path: Path, *, club: str, winter: int, region: str, unit: str, seed: int | None, as_at: date, as_json: bool
) -> int:
    """Make the book and say what to do next.

    Args:
        path: where the book is to stand.
        club: the club's name.
        winter: the year in which the winter begins.
        region: the region, as typed.
        unit: kg or lb.
        seed: makes the book's id repeatable.
        as_at: the day for which to reckon.
        as_json: for machines.

    Returns:
        the exit code.

    Raises:
        NotForThisRegion: the region is unknown or in the southern hemisphere.
        CannotWrite: the file's name does not end in .xlsx, or something stands there.
    """
    from apiarybook.club.starting import start_club

    book_id, launchers = start_club(path, club=club, winter=winter, region=region, unit=unit, seed=seed, as_at=as_at)
    if as_json:
        say_json({"book": str(path), "book_id": book_id, "launchers": [one.name for one in launchers]})
        return 0
    click.echo(f"{path.name} is ready for winter {winter_words(winter)}, with the figures of {region} in {unit}.")
    click.echo("Next: open it, fill in Members, Apiaries and Colonies, then type weighings and feeds as they come.")
    click.echo(f'Then run: apiarybook check "{path.name}"    and: apiarybook reckon "{path.name}"')
    click.echo(f"Or double-click {launchers[0].name} (Windows) or {launchers[1].name} (macOS, Linux) beside the book.")
    return 0


def carry(path: Path, target: Path, *, winter: int, seed: int | None, as_at: date, as_json: bool) -> int:
    """Make the next book and say what was taken along.

    Args:
        path: the club's book.
        target: where the next one is to stand.
        winter: the year in which the next winter begins.
        seed: makes the book's id repeatable.
        as_at: the day for which to reckon.
        as_json: for machines.

    Returns:
        the exit code.

    Raises:
        CannotRead: it is no club's book.
        CannotWrite: the winter is not a later one, or something stands there.
    """
    from apiarybook.club.starting import new_id
    from apiarybook.gather.on_disk import carry_file

    book_id = new_id(seed, path.stem, winter)
    carried = carry_file(path, target, year=winter, as_at=as_at, book_id=book_id)
    if as_json:
        say_json(
            {
                "book": str(target),
                "book_id": book_id,
                "colonies": list(carried.colonies),
                "left": list(carried.left),
                "wants_asked": list(carried.asked),
                "hands": list(carried.hands),
                "was_closed": carried.was_closed,
                "held": carried.held,
                "skipped": list(carried.skipped),
            }
        )
        return HELD if carried.held else DONE
    say_carried(carried, target.name, winter)
    return HELD if carried.held else DONE


def say_carried(carried: Carried, name: str, winter: int) -> None:
    """Print what was taken along and what is to be decided.

    Args:
        carried: the next book.
        name: its file's name.
        winter: the year in which the next winter begins.
    """
    click.echo(f"{name} is ready for winter {winter_words(winter)}.")
    if not carried.was_closed:
        click.echo("  The year before is not closed; what is still written there will not come along.")
    if carried.skipped:
        winters = f"winter{'s' if len(carried.skipped) > 1 else ''} {', '.join(carried.skipped)}"
        click.echo(f"  Left out between the two books: {winters}; make sure that no book is missing.")
    if carried.held:
        rows = "1 row is" if carried.held == 1 else f"{carried.held} rows are"
        click.echo(f"  {rows} held in the old book and did not count; better mend and check it, and carry again.")
    left = f"; left behind: {', '.join(carried.left)}" if carried.left else ""
    many = "1 colony goes" if len(carried.colonies) == 1 else f"{len(carried.colonies)} colonies go"
    click.echo(f"  {many} on{left}.")
    click.echo("  Taken along: lists, own tares, stand factors, each scale's last check, loans that are still out.")
    if carried.hands:
        click.echo(f"  Hands go on where they left off: {', '.join(carried.hands)}.")
    if carried.asked:
        click.echo(f"  Decide on the sheet Questions about the want of {', '.join(carried.asked)}.")


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
    from apiarybook.gather.sharing import share_file

    shared, key_path, reckoned, files = share_file(club_path, into, as_at)
    if as_json:
        rows = {name: len(frame) for name, frame in shared.rows.items()}
        say_json({"folder": str(into), "files": files, "rows": rows, "removed": shared.removed})
    else:
        _say(shared, into, key_path)
        if held := held_line(reckoned.checked.findings, club_path.name):
            click.echo(f"\n{held}.")
    return exit_code(reckoned.checked.findings)


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
