"""The sheets that members and the secretary type into in winter, at moves and after the winter."""

from apiarybook.layout import words
from apiarybook.layout.model import Column, Group, Kind, Sheet
from apiarybook.layout.parts import (
    BY,
    COLONY,
    DATE,
    HELD,
    REF,
    REMARKS,
    ROW_FOR,
    TYPED_FOR,
)

WINTER_ROUNDS = Sheet(
    name="Winter rounds",
    group=Group.TYPE_HERE,
    row_is="one quick look in winter",
    spare=60,
    columns=(
        REF,
        ROW_FOR,
        DATE,
        COLONY,
        BY,
        Column(
            key="heft",
            heading="heft: word or guess",
            kind=Kind.HEFT,
            choices=words.HEFT_WORDS,
            possible=(1.0, 250.0),
            likely=(5.0, 90.0),
            aliases=("heft word or guess", "heft"),
            prompt="light, about right, heavy, or a guess of the whole hive in the book's unit.",
        ),
        Column(
            key="fondant_left",
            kind=Kind.CHOICE,
            choices=words.FONDANT_LEFT,
            prompt="Fondant still on top: none, half, full.",
        ),
        Column(
            key="flying",
            heading="flying seen",
            kind=Kind.YES_NO,
            prompt="Were bees of this colony seen flying?",
        ),
        REMARKS,
        TYPED_FOR,
        HELD,
    ),
)

MOVES = Sheet(
    name="Moves",
    group=Group.TYPE_HERE,
    row_is="a change of hive or standing",
    spare=40,
    columns=(
        REF,
        ROW_FOR,
        DATE,
        COLONY,
        Column(
            key="what",
            kind=Kind.CHOICE,
            choices=words.MOVES,
            width=18,
            prompt="super off, on or under, down to single, united into, moved to apiary, new hive type, given away.",
        ),
        Column(
            key="into",
            heading="into or to",
            kind=Kind.TEXT,
            width=26,
            prompt="The colony it was united into, the apiary it went to, or the hive type it now is.",
        ),
        REMARKS,
        TYPED_FOR,
        HELD,
    ),
)

AFTER_WINTER = Sheet(
    name="After winter",
    group=Group.TYPE_HERE,
    row_is="a colony's outcome",
    spare=20,
    columns=(
        REF,
        ROW_FOR,
        DATE,
        COLONY,
        Column(
            key="outcome",
            kind=Kind.CHOICE,
            choices=words.OUTCOMES,
            prompt="wintered, died, united, given away.",
        ),
        Column(
            key="spring_gross",
            kind=Kind.MASS,
            possible=(1.0, 250.0),
            likely=(5.0, 90.0),
            prompt="The whole hive weighed in spring, before the flow.",
        ),
        Column(
            key="food_left",
            kind=Kind.MASS,
            possible=(0.0, 80.0),
            likely=(0.0, 30.0),
            prompt="Food still in the comb, by weight, as far as you can tell.",
        ),
        Column(
            key="seen",
            heading="what was seen",
            kind=Kind.CHOICE,
            choices=words.SEEN,
            width=26,
            prompt="For a colony that died. Suspected disease: notify whom local law names, move nothing.",
        ),
        REMARKS,
        TYPED_FOR,
        HELD,
    ),
)
