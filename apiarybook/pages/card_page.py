"""The cards as a page that needs nothing from elsewhere, each card on its own sheet of paper when printed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from apiarybook.pages import card_words
from apiarybook.pages.environment import template

if TYPE_CHECKING:
    from apiarybook.pages.card_words import Cards


def as_page(cards: Cards) -> str:
    """The cards in HTML; whatever anyone typed stands in it as text.

    Args:
        cards: what to print.

    Returns:
        the page, the same for the same cards.
    """
    return template("cards").render(
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
