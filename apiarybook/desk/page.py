"""One page of the desk: its template and what it is filled with; whole, or only the part that changes."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from apiarybook.pages.environment import template
from apiarybook.reckon.core.winter import serial
from apiarybook.reckon.standing.verdict import day_words

if TYPE_CHECKING:
    from apiarybook.desk.desk import Desk
    from apiarybook.desk.watching import Seen

Form = dict[str, str]
"""What a request says: its fields, each once."""
NAV = (
    ("/", "Today"),
    ("/questions", "Questions"),
    ("/colonies", "Colonies"),
    ("/gather", "Hand out and gather"),
    ("/evening", "Weigh-day and evening"),
    ("/till-the-flow", "Till the flow"),
    ("/year", "Year end"),
    ("/books", "Books"),
)
"""The pages, in the order of the year."""


@dataclass(frozen=True, slots=True)
class Page:
    """A page to show.

    Attributes:
        name: of the template.
        title: over the page.
        told: what the template is filled with.
    """

    name: str
    title: str
    told: dict[str, Any] = field(default_factory=dict)


def _book(seen: Seen | None) -> dict[str, str] | None:
    """Which book it is, for the line under the head."""
    if seen is None or seen.reckoned is None:
        return None
    content = seen.reckoned.content
    told = {"club": str(content.settings.get("club") or ""), "as_at": day_words(serial(content.as_at))}
    return told | {key: content.about.get(key, "") for key in ("winter", "closed")}


def rendered(desk: Desk, page: Page, at: str, sign: str, *, part: str, token: str = "") -> str:
    """The page in HTML.

    Args:
        desk: what is on the desk.
        page: what to show.
        at: its path.
        sign: of the desk, taken before anything on the page was looked up, so that no change is missed.
        part: whole; live for what changes while it is open; band for only how the book and the work stand.
        token: what each change must carry; a whole page hands it to its buttons.
    """
    seen = desk.seen
    around = {
        "desk": desk,
        "sign": sign,
        "page": page,
        "at": at,
        "nav": NAV,
        "job": desk.jobs.now,
        "seen": seen,
        "book": _book(seen),
        "open_count": sum(one.is_open and one.weight != "note" for one in seen.asked) if seen else 0,
    }
    return template(page.name).render(**around, **page.told, part=part, token=token)
