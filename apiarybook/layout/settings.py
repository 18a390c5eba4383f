"""The club's settings: a fixed list of rows on the sheet Settings, each with its kind and default."""

from dataclasses import dataclass

from apiarybook.layout import words
from apiarybook.layout.model import Kind


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One row of the sheet Settings."""

    key: str
    kind: Kind
    meaning: str
    default: str | float | None = None
    choices: tuple[str, ...] = ()
    refers_to: str = ""
    possible: tuple[float, float] | None = None

    @property
    def heading(self) -> str:
        """The name of the setting as a person reads it."""
        return self.key.replace("_", " ")


PINNED = "pinned to"
"""What stands before the cell above the headings of Standing that shows the setting as at and can be typed over."""
FIRST_WINTER, LAST_WINTER = 2000, 2100
"""Years in which a winter of a book can begin."""
SETTINGS = (
    Setting(key="club", kind=Kind.TEXT, meaning="The name of the club, as it stands on what is printed."),
    Setting(
        key="winter",
        kind=Kind.COUNT,
        possible=(FIRST_WINTER, LAST_WINTER),
        meaning="The year in which this winter begins: 2026 for winter 2026/27.",
    ),
    Setting(
        key="region", kind=Kind.CHOICE, refers_to="Winter profiles.name", meaning="The club's usual winter profile."
    ),
    Setting(
        key="unit",
        kind=Kind.CHOICE,
        choices=words.BOOK_UNITS,
        default="kg",
        meaning="The unit of every mass in this book. Set when the book is made; do not change it later.",
    ),
    Setting(
        key="as_at",
        kind=Kind.DATE,
        meaning="Blank: the book reckons for today. A day typed here, or at the top of Standing, holds it there.",
    ),
    Setting(
        key="sure_in_10",
        kind=Kind.NUMBER,
        default=9.0,
        possible=(5.0, 9.9),
        meaning="How sure you want to be, in ten, that a colony called enough does not run out.",
    ),
    Setting(
        key="autumn_feed",
        kind=Kind.CHOICE,
        refers_to="Feed kinds.name",
        default="Syrup 1 kg to 630 ml",
        meaning="The liquid feed that the club gives in autumn.",
    ),
    Setting(
        key="solid_feed",
        kind=Kind.CHOICE,
        refers_to="Feed kinds.name",
        default="Fondant",
        meaning="The feed that is laid on top once it is too cold for liquid.",
    ),
    Setting(key="returns_due", kind=Kind.DATE, meaning="The day by which members send their copies back."),
)
