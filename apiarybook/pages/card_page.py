"""The cards as a page that needs nothing from elsewhere, each card on its own sheet of paper when printed."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from apiarybook.pages import card_words

if TYPE_CHECKING:
    from jinja2 import Template

    from apiarybook.pages.card_words import Cards

TEMPLATE = Path(__file__).with_name("cards.html.jinja")


def as_page(cards: Cards) -> str:
    """The cards in HTML; whatever anyone typed stands in it as text.

    Args:
        cards: what to print.

    Returns:
        the page, the same for the same cards.
    """
    return _page().render(
        cards=cards,
        mass=lambda kilograms: f"{cards.mass(kilograms):.1f}",
        titles=card_words.TITLES,
        nobody=card_words.NOBODY,
        lifts=card_words.LIFTS,
        read_practice=card_words.READ_PRACTICE,
        all_care=card_words.ALL_CARE,
        club_care=card_words.CLUB_CARE,
        people=card_words.people,
        standing_in=card_words.standing_in,
        sums=card_words.SUMS,
        rows_of=card_words.rows_of,
    )


@cache
def _page() -> Template:
    from jinja2 import Environment, StrictUndefined

    strict = Environment(autoescape=True, undefined=StrictUndefined, keep_trailing_newline=True)
    return strict.from_string(TEMPLATE.read_text(encoding="utf-8"))
