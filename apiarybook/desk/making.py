"""Choosing a book, and making a new one with the figures of its region in view."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from apiarybook.desk.front import MONTHS
from apiarybook.desk.page import Form, Page
from apiarybook.desk.shelf import shelf
from apiarybook.errors import CannotRead, CannotWrite

if TYPE_CHECKING:
    from apiarybook.desk.desk import Desk

LONGEST = 80
"""Characters of a club's name."""


def page(desk: Desk, form: Form) -> Page:
    """The books to choose from, and a form for a new one."""
    from apiarybook.club.starting import unit_of
    from apiarybook.handbook import REGIONS, handbook
    from apiarybook.layout.settings import FIRST_WINTER, LAST_WINTER
    from apiarybook.layout.words import BOOK_UNITS

    region = form.get("region", "") if form.get("region", "") in REGIONS else REGIONS[0]
    book = handbook()
    profile = book.profiles[region]
    hives = [
        (
            one.name,
            f"{one.tare.value:.1f}",
            f"{one.want_in(region).value:.1f}",
            one.want_in(region).source,
            one.want_in(region).kind,
        )
        for one in book.hive_types_of(region)
    ]
    return Page(
        "books",
        "Books",
        {
            "shelf": shelf(desk.folder),
            "regions": REGIONS,
            "units": BOOK_UNITS,
            "new": {
                "club": form.get("club", ""),
                "winter": form.get("winter", "") or str(desk.day().year),
                "region": region,
                "unit": unit_of(region),
            },
            "first": FIRST_WINTER,
            "last": LAST_WINTER,
            "profile": profile,
            "profile_days": [
                (name.replace("_", " "), f"{day.day} {MONTHS[day.month - 1]}") for name, day in profile.dates.items()
            ],
            "hives": hives,
        },
    )


def open_book(desk: Desk, form: Form) -> str:
    """Put one of the offered books on the desk."""
    offered = {str(one.path): one.path for one in shelf(desk.folder)}
    path = offered.get(form.get("book", ""))
    if path is None:
        raise CannotRead("That book is none of those offered; load the page anew and choose again.")
    desk.open(path)
    return "/"


def new_book(desk: Desk, form: Form) -> str:
    """Make a club's new book in the folder, and put it on the desk."""
    from apiarybook.club.starting import start_club

    club, year = form.get("club", "").strip()[:LONGEST], form.get("winter", "")
    if not club or not re.fullmatch(r"\d{4}", year):
        raise CannotWrite("Type the name of the club, and the year in which the winter begins, such as 2026.")
    path = desk.folder / f"{plain_name(club)} {year}.xlsx"
    start_club(
        path,
        club=club,
        winter=int(year),
        region=form.get("region", ""),
        unit=form.get("unit", ""),
        seed=desk.seed,
        as_at=desk.day(),
    )
    desk.open(path)
    return "/"


def plain_name(club: str) -> str:
    """A club's name as a file may be called on every system.

    >>> plain_name("Alder Vale"), plain_name("../x: Ünder/Vale")
    ('Alder Vale', 'x Ünder Vale')
    """
    return " ".join(re.sub(r"[^\w ()&'-]", " ", club).split()) or "club"
