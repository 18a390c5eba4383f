"""The sentences on the cards, the same on the page and in the workbook."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from apiarybook.book.measure import measure
from apiarybook.handbook import handbook
from apiarybook.handbook.cautions import CAUTIONS, LIFTING, STINGS
from apiarybook.handbook.figures import SHORT_MONTHS
from apiarybook.pages.notes import ABOUT_FOOD

if TYPE_CHECKING:
    from datetime import date

    from apiarybook.book.measure import Measure
    from apiarybook.pages.card_content import Line, Practice, Reached, Target

TITLES = ("Target card", "Weigh-day sheet", "Practice sheet")
LIFTS = 10
"""Lifts on a practice sheet."""
NOBODY = "No living colony with a known apiary and hive type stands in the book yet."
NO_APIARY = "Colonies without an apiary"
WAYS = (
    "Heft before you read the scale, and write the guess first: the whole hive in {unit}, or L light, R about right, "
    "H heavy. how: F full lift by two, 2 both sides one at a time, 1 one side, P platform, N frames of food counted, "
    "H heft only. feed left: 0 if you looked and it was empty; blank is not zero. Tick what else stood on or in the "
    "hive: target gross is without it, and without feed left. row: the mark of the row to type it into."
)
CLUB_CARE = (("Lifting", LIFTING), ("Stings", STINGS))
ALL_CARE = (*CAUTIONS, ("Not more than food", ABOUT_FOOD))
DO_PRACTICE = (
    (
        "Two people: the hand lifts and guesses; the partner chooses, reads the scale, and keeps the right half folded "
        "away."
    ),
    (
        "Partner: take closed hives without bees loaded with known masses, or real hives{between}, light and heavy "
        "mixed. At three of the lifts 4 to 10 give an earlier one again, unannounced, and write its number under "
        "repeat of."
    ),
    "Hand: lift as you always heft. Guess the whole hive, write it down, cover it, and change nothing afterwards.",
    "Scale after the guess; the partner says nothing until all ten are done. Then unfold, and take scale from guess.",
)
READ_PRACTICE = (
    (
        "Bias: add the ten differences, minus signs and all, and divide by 10. Above nought the hand reads heavy, "
        "below it light. A steady bias does no harm: it is known, and is taken off."
    ),
    (
        "Scatter: the largest difference less the smallest, divided by 3. Once the bias is taken off, nine guesses in "
        "ten are within twice the scatter."
    ),
    (
        "Own scatter: the gap is what the hand said at a repeat against what it said the first time, without its sign; "
        "add the three gaps and take 0.3 of that. If scatter is much larger, look whether light hives are guessed "
        "heavy and heavy ones light."
    ),
    (
        "Ten lifts are a beginning. Those on real hives go into the sheet Weighings with guess and reading and the "
        "occasion practice: they tell what the hand is worth and never count for a colony's stores."
    ),
)
SUMS = ("bias: sum of differences / 10", "scatter: largest less smallest / 3", "own scatter: sum of gaps x 0.3")
"""Ranges of ten divided by 3 and gaps of two times 0.3 (a third of 0.886) give a standard deviation: Tippett 1925,
Biometrika 17:364-387, mean range of ten 3.08 and of two 1.128."""


@dataclass(frozen=True, slots=True)
class Cards:
    """All that is printed: where from, for which day, on which paper, in which unit, and the figures in kg."""

    club: str
    winter: str
    as_at: date
    paper: str
    unit: str
    targets: list[Target]
    lines: list[Line]
    ticks: list[str]
    practice: Practice | None

    @property
    def units(self) -> Measure:
        """The book's measure."""
        return measure(self.unit)

    def mass(self, kilograms: float) -> float:
        """A mass in the book's unit, to a tenth."""
        return round(kilograms / self.units.kg, 1)

    @property
    def heading(self) -> str:
        """What stands at the head of every card."""
        return " - ".join(filter(None, (self.club, f"winter {self.winter}", f"as at {self.as_at.isoformat()}")))

    @property
    def between(self) -> str:
        """Between which loads to practise."""
        if self.practice is None:
            return ""
        return f" between {self.mass(self.practice.low):.0f} and {self.mass(self.practice.high):.0f} {self.unit}"

    @property
    def ways(self) -> str:
        """How to fill in a line of the weigh-day sheet."""
        return WAYS.format(unit=self.unit)

    @property
    def apiaries(self) -> list[tuple[str, list[Line]]]:
        """What stands over each page of the weigh-day sheet, an apiary and its keeper, and the lines under it."""
        pages = groupby(self.lines, key=lambda line: (line.apiary, line.keeper))
        return [(", ".join(filter(None, place)), list(lines)) for place, lines in pages]

    @property
    def days(self) -> list[str]:
        """The days of the target card."""
        return [day(one.day) for one in self.targets[0].reached[0].days] if self.targets else []

    @property
    def without_ref(self) -> str:
        """What to do with lines that found no ready-made row."""
        if all(line.ref for line in self.lines):
            return ""
        return "A line without a mark has no ready-made row in the book yet: type it after the last one."

    @property
    def do_practice(self) -> list[str]:
        """How to practise."""
        return [step.format(between=self.between) for step in DO_PRACTICE]

    @property
    def about_targets(self) -> str:
        """How to read the target card."""
        way = handbook().methods["one side"]
        return (
            f"Masses in {self.unit}, with drawn comb, a usual colony, nothing else on the hive: add strap, feeder, "
            "stone and whatever else stands on it. The target holds the want, and nine times in ten lasts until the "
            f"colony can next be fed; {FULL} stands where the combs hold no more, so plan fondant. Least carries it to "
            "that day if all goes as usual; below it, feed at once. "
            f"One edge is the whole divided by {way.multiplier.value:g}, right to about {way.multiplier_u.value:.0%}; "
            "a factor found on your own stand goes before it. On a solid stand both edges together show the whole, and "
            "each about half. Last column: by how many people."
        )


def people(*, two: bool) -> str:
    """How many people a lift wants."""
    return "two" if two else "one"


def standing_in(card: Target, group: Reached, cards: Cards) -> tuple[str, str]:
    """How many colonies stand in a hive type, its tare and what they want, of those next fed on one day; which day."""
    many = f"{group.colonies} {'colony' if group.colonies == 1 else 'colonies'}"
    kit = f"tare {cards.mass(card.tare):.1f}, want {cards.mass(card.want):.1f}"
    return f"{many}, {kit}", f"if next fed {day(group.fed_next)}"


def day(when: date) -> str:
    """A day as the cards write it.

    >>> from datetime import date
    >>> day(date(2026, 12, 1))
    '1 Dec'
    """
    return f"{when.day} {SHORT_MONTHS[when.month - 1]}"


FULL = "*"
"""Stands after the target of combs that hold no more."""


@dataclass(frozen=True, slots=True)
class Row:
    """A row of the target card: what it shows, on each day a mass in kg, and by how many people it is lifted."""

    shows: str
    masses: tuple[float, ...]
    full: tuple[bool, ...]
    people: str
    is_main: bool


def rows_of(group: Reached) -> list[Row]:
    """The rows of a hive type whose colonies can next be fed on one day: target whole and at one edge, and least."""
    targets, leasts = [one.target for one in group.days], [one.least for one in group.days]
    full, no = tuple(one.full for one in group.days), (False,) * len(group.days)
    whole, edge = (people(two=any(of)) for of in zip(*((one.two_whole, one.two_edge) for one in targets), strict=True))
    return [
        Row("target: full lift", tuple(one.gross for one in targets), full, whole, is_main=True),
        Row("at one edge", tuple(one.one_edge for one in targets), no, edge, is_main=False),
        Row("least: full lift", tuple(one.gross for one in leasts), no, "", is_main=False),
    ]
