"""What a rule is: its weight, its sentences and the function that finds it, declared in one place beside each other."""

from __future__ import annotations

from dataclasses import dataclass
from string import Formatter
from typing import TYPE_CHECKING, TypedDict

from apiarybook.checks.finding import Weight
from apiarybook.errors import ProgramFault

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping
    from typing import Unpack

    from apiarybook.checks.context import Seen
    from apiarybook.checks.finding import Hit

    Finder = Callable[[Seen], Iterator[Hit]]

HOLD, ASK, NOTE = Weight.HOLD, Weight.ASK, Weight.NOTE
OF_EVERY_FINDING = frozenset({"value", "heading", "suggestion", "perhaps"})
"""What a sentence may say without being told: what was typed, over which heading, and what may have been meant."""


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule as everybody is told of it.

    Attributes:
        name: in words joined by hyphens.
        weight: hold, ask or note.
        message: what is wrong, one sentence; what stands in braces is told by the rule.
        do: what to do.
        member: what a member reads instead of `message`, which would quote other people; empty where it would not.
        member_do: what a member reads instead of `do`; empty where that is the same.
        may_be_right: whether `yes, looked at` settles it, so that it is told no more and holds nothing; of an ask it
            does so unless the rule says otherwise.
        for_secretary: whether only the secretary can do anything about it, so that no note speaks of it.
        beside: what stands beside a row that it holds; empty for its own name in words.
    """

    name: str
    weight: Weight
    message: str
    do: str
    member: str = ""
    member_do: str = ""
    may_be_right: bool | None = None
    for_secretary: bool = False
    beside: str = ""

    @property
    def words(self) -> str:
        """What stands beside a row that the rule holds."""
        return self.beside or self.name.replace("-", " ")

    @property
    def is_settled_by_yes(self) -> bool:
        """Whether somebody may say that it is right as it stands."""
        return self.weight is Weight.ASK if self.may_be_right is None else self.may_be_right

    @property
    def tells(self) -> frozenset[str]:
        """What a hit of the rule tells, no more and no less (a law of the tests).

        >>> Rule("snow", HOLD, "{value} kg of snow fell on {day}.", "Brush it off.").tells
        frozenset({'day'})
        """
        named = {name for text in (self.message, self.do) for _, name, _, _ in Formatter().parse(text) if name}
        return frozenset(named) - OF_EVERY_FINDING

    def say(self, told: Mapping[str, object]) -> tuple[str, str]:
        """Both sentences, filled.

        Args:
            told: what they need.

        Raises:
            ProgramFault: the rule did not tell all that its sentences take.

        >>> Rule("snow", HOLD, "Snow on {day}.", "Brush it off.").say({"day": "2027-01-05"})
        ('Snow on 2027-01-05.', 'Brush it off.')
        """
        missing = self.tells - told.keys()
        if missing:
            raise ProgramFault(f"the rule {self.name} does not tell {sorted(missing)}, which its sentences take")
        return self.message.format(**told), self.do.format(**told)


class Also(TypedDict, total=False):
    """What a declaration may say of a rule besides: the attributes of `Rule` that have a default."""

    member: str
    member_do: str
    may_be_right: bool
    for_secretary: bool
    beside: str


CATALOGUE: dict[str, Rule] = {}
"""Every rule by name, in the order in which they are declared."""
FINDERS: list[Finder] = []
"""Every function that looks at a book, in the order in which they are declared."""


def declare(name: str, weight: Weight, message: str, do: str, **also: Unpack[Also]) -> None:
    """Declare a rule that no function finds: one that is met while files are read or gathered.

    Args:
        name: of the rule; no other has it.
        weight: hold, ask or note.
        message: what is wrong.
        do: what to do.
        also: the other attributes of `Rule`.

    Raises:
        ProgramFault: another rule has that name.
    """
    if name in CATALOGUE:
        raise ProgramFault(f"two rules have the name {name}")
    CATALOGUE[name] = Rule(name, weight, message, do, **also)


def rule(name: str, weight: Weight, message: str, do: str, **also: Unpack[Also]) -> Callable[[Finder], Finder]:
    """Declare a rule above the function that finds it; a function that finds several has several declarations.

    Args:
        name: of the rule; no other has it.
        weight: hold, ask or note.
        message: what is wrong.
        do: what to do.
        also: the other attributes of `Rule`.
    """
    declare(name, weight, message, do, **also)
    return finds(name)


def finds(*names: str) -> Callable[[Finder], Finder]:
    """Say above a function that it finds rules which are declared elsewhere.

    Args:
        names: of these rules.

    Raises:
        ProgramFault: one of them is not declared.
    """
    if not CATALOGUE.keys() >= set(names):
        raise ProgramFault(f"no rule is declared as {sorted(set(names) - CATALOGUE.keys())}")

    def register(find: Finder) -> Finder:
        if find not in FINDERS:
            FINDERS.append(find)
        return find

    return register
