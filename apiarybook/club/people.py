"""Who keeps which colony, and how to reach them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from apiarybook.readers.canonical import canonical_text
from apiarybook.reckon.core.arrays import words

if TYPE_CHECKING:
    from apiarybook.club.reckoned import Reckoned

REACH = ("phone", "mail")
"""Columns of Members by which a keeper is reached; they stay with the secretary."""


@dataclass(frozen=True, slots=True)
class Keeper:
    """A member: code, name and how to reach them."""

    code: str
    name: str
    reach: tuple[str, ...] = ()

    @property
    def shown(self) -> str:
        """The name, or the code of one without; a keeper who is not known is called so."""
        return self.name or self.code or "no keeper"


def keepers(reckoned: Reckoned) -> dict[str, Keeper]:
    """The members by their codes in small letters.

    Args:
        reckoned: the book, reckoned.
    """
    typed = reckoned.book.tables["Members"].typed
    found = {}
    for row in typed.to_dict("records"):
        if row["member"]:
            told = tuple(canonical_text(row[key]) for key in REACH if row.get(key))
            found[str(row["member"]).casefold()] = Keeper(str(row["member"]), str(row["name"] or ""), told)
    return found


def keeper_of_colony(reckoned: Reckoned) -> dict[str, Keeper]:
    """The keeper of each colony, by its code in small letters.

    Args:
        reckoned: the book, reckoned.
    """
    people = keepers(reckoned)
    at = places(reckoned)
    return {colony.casefold(): people.get(member.casefold(), Keeper(member, "")) for colony, (_, member) in at.items()}


def places(reckoned: Reckoned) -> dict[str, tuple[str, str]]:
    """Apiary and its member's code by colony, as the colonies stand today."""
    placed = reckoned.season.grounds.placed
    stood = (words(placed[key]).tolist() for key in ("colony", "apiary", "keeper"))
    return {colony: (apiary, keeper) for colony, apiary, keeper in zip(*stood, strict=True) if colony}
