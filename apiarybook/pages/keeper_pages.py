"""A page for each keeper: how the colonies stand, what to give and to weigh, and what is asked; for the secretary."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from apiarybook.book.measure import measure
from apiarybook.checks.finding import Weight
from apiarybook.checks.rule import CATALOGUE
from apiarybook.club.people import Keeper, keepers, places
from apiarybook.handbook.cautions import FEEDING, LIFTING, STINGS
from apiarybook.pages.environment import template
from apiarybook.pages.notes import ABOUT_FOOD, SHOWN, stands_words
from apiarybook.readers.canonical import canonical_text

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from apiarybook.club.reckoned import Reckoned
    from apiarybook.pages.card_words import Cards
    from apiarybook.pages.notes import Stands

CARE = (("Lifting", LIFTING), ("Feeding", FEEDING), ("Stings", STINGS))


@dataclass(frozen=True, slots=True)
class Page:
    """One keeper's page.

    Attributes:
        name: or the code of one without.
        reached: phone and mail, as far as they are known.
        colonies: apiary, place among those to weigh next (0 if it is none of them), and how it stands.
        questions: colony, what is wrong and what to do, of those that are open.
    """

    name: str
    reached: tuple[str, ...]
    colonies: tuple[tuple[str, int, Stands], ...]
    questions: tuple[tuple[str, str, str], ...]

    @property
    def to_weigh(self) -> str:
        """The colonies to weigh next in words, the most pressing first."""
        pressing = sorted((order, one.colony) for _, order, one in self.colonies if order)
        return ", ".join(colony for _, colony in pressing)


def keeper_pages(reckoned: Reckoned) -> list[Page]:
    """Work out the pages.

    Args:
        reckoned: the club's book, reckoned for the day of the pages.

    Returns:
        a page for each member who has a living colony, in the order of the list, and one for those without a keeper.
    """
    people = keepers(reckoned)
    standing = reckoned.season.standing
    standing = standing[standing["active"] == 1]
    codes = [str(one).casefold() for one in standing["keeper"]]
    order = [code for code in [*people, ""] if code in codes]
    order += sorted(set(codes) - set(order))
    asked = _asked(reckoned, people)
    pages = []
    for code in order:
        of, person = standing[[one == code for one in codes]], people.get(code, Keeper(code, ""))
        name = canonical_text(person.shown)
        pages.append(Page(name, person.reach, _colonies(of, reckoned), tuple(asked.get(code, ()))))
    return pages


def _colonies(standing: pd.DataFrame, reckoned: Reckoned) -> tuple[tuple[str, int, Stands], ...]:
    worth = reckoned.season.worth_weighing
    first = {str(colony): int(at) for colony, at in zip(worth["colony"], worth["order"], strict=True)}
    units = measure(reckoned.book.unit)
    rows = standing[[*SHOWN, "apiary"]].to_dict("records")
    return tuple((str(row["apiary"]), first.get(str(row["colony"]), 0), stands_words(row, units)) for row in rows)


def _asked(reckoned: Reckoned, people: Mapping[str, Keeper]) -> dict[str, list[tuple[str, str, str]]]:
    """Open questions by the code of the colony's keeper; by the keeper's name where none names a colony."""
    questions = reckoned.content.told.get("Questions")
    names = {person.name.casefold(): code for code, person in reversed([*people.items()])}
    of = {colony.casefold(): keeper.casefold() for colony, (_, keeper) in places(reckoned).items()}
    found: dict[str, list[tuple[str, str, str]]] = {}
    for row in questions.to_dict("records") if questions is not None else ():
        rule = CATALOGUE.get(str(row["rule"]))
        if not canonical_text(row["holds"]) and not (rule and rule.weight is Weight.NOTE):
            keeper, colony, *told = (canonical_text(row[key]) for key in ("keeper", "colony", "question", "do"))
            code = of.get(colony.casefold(), names.get(keeper.casefold(), ""))
            found.setdefault(code, []).append((colony, told[0], told[1]))
    return found


def as_page(pages: list[Page], cards: Cards) -> str:
    """The pages in HTML, one after the other; whatever anyone typed stands in them as text.

    Args:
        pages: the keepers.
        cards: says of which club and day.
    """
    return template("keepers").render(keepers=pages, cards=cards, care=CARE, about_food=ABOUT_FOOD)
