"""The tables of a year's end, in the book's units: the same for the sheet Year, the report and its CSV files."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from apiarybook.reckon.core.arrays import words
from apiarybook.reckon.core.lookup import match, pick_words
from apiarybook.reckon.year import year as reckoned_year
from apiarybook.reckon.year.wintered import DIED

if TYPE_CHECKING:
    from collections.abc import Sequence

    from apiarybook.club.gaps import Gap

TEXT, COUNT, SHARE, MASS, FINE = "text", "count", "share", "mass", "fine"
"""Kinds of a report's columns; a fine share is shown with its sign and a decimal."""
FEW = "few"


@dataclass(frozen=True, slots=True)
class Heading:
    """A column of a table: the key of its figures, its heading, its kind, and the unit beside numbers."""

    key: str
    title: str
    kind: str


@dataclass(frozen=True, slots=True)
class Table:
    """One table.

    Attributes:
        name: what its file is called.
        title: its heading.
        says: what it shows, in a sentence or two.
        columns: the columns, the first of them the row's own name.
        rows: its figures, masses in kg, by the columns' keys, and few: whether they are hidden.
        colonies: of each row the colonies that it sums up; none where it tells of no colonies.
        of: the colonies of which its shares are told, where these are others.
    """

    name: str
    title: str
    says: str
    columns: tuple[Heading, ...]
    rows: pd.DataFrame
    colonies: tuple[frozenset[int], ...] = ()
    of: frozenset[int] = frozenset()

    @property
    def records(self) -> list[dict[str, Any]]:
        """The rows one by one."""
        return [{str(key): one for key, one in row.items()} for row in self.rows.to_dict("records")]


COLONIES = Heading("colonies", "colonies", COUNT)
ENDS = (Heading("low", "from", SHARE), Heading("high", "to", SHARE))


def _colonies(rows: pd.DataFrame, of: pd.DataFrame, group: pd.Series[Any]) -> tuple[frozenset[int], ...]:
    """The colonies behind each row of a table, those of the total among them."""
    sets = {str(name): frozenset(part.index) for name, part in of.groupby(group.loc[of.index], observed=True)}
    sets.setdefault(reckoned_year.ALL, frozenset(of.index))
    return tuple(sets.get(str(name), frozenset()) for name in rows["group"])


def _named(title: str) -> Heading:
    return Heading("group", title, TEXT)


def loss_tables(found: pd.DataFrame, sure: float, unit: float, name: str) -> list[Table]:
    """Losses by what the book foretold in autumn and by what was seen.

    Args:
        found: the frame of `wintered`, of the colonies that may be shown.
        sure: how sure the club wants to be [1].
        unit: kilograms in the book's unit of mass.
        name: that unit's name.
    """
    columns = (COLONIES, Heading("lost", "lost", COUNT), Heading("share", "share lost", SHARE), *ENDS)
    whole, of = reckoned_year.losses(found), reckoned_year.at_risk(found)
    by_chance, by_short = reckoned_year.chance_bands(found, sure), reckoned_year.short_bands(found, unit, name)
    chance = _with_total(reckoned_year.losses(found, by_chance), whole)
    short = _with_total(reckoned_year.losses(found, by_short), whole)
    causes = reckoned_year.few(reckoned_year.causes(found))
    dead = of[of["outcome"] == DIED]
    seen = dead["seen"].where(dead["seen"] != "", reckoned_year.NOT_KNOWN)
    interval = "From and to are the ends of the 95 % Jeffreys interval."
    return [
        Table(
            "losses-by-chance",
            "Losses by the chance of running out",
            f"Colonies by the chance of running out that the book gave on the eve of winter. {interval}",
            (_named("chance of running out"), *columns),
            chance,
            _colonies(chance, of, by_chance),
        ),
        Table(
            "losses-by-standing",
            "Losses by what was lacking as winter started",
            f"Colonies by what they lacked of their want on the eve of winter. {interval}",
            (_named("as winter started"), *columns),
            short,
            _colonies(short, of, by_short),
        ),
        Table(
            "losses-by-cause",
            "Losses by what was seen",
            f"Shares are of all colonies that wintered or died. {interval}",
            (_named("what was seen"), *columns),
            causes,
            _colonies(causes, dead, seen),
            frozenset(of.index),
        ),
    ]


def _with_total(parts: pd.DataFrame, whole: pd.DataFrame) -> pd.DataFrame:
    shown = [one for one in (reckoned_year.few(parts), reckoned_year.few(whole)) if not one.empty]
    return pd.concat(shown, ignore_index=True) if shown else reckoned_year.few(parts)


def want_table(wants: pd.DataFrame, found: pd.DataFrame) -> Table:
    """What colonies ate against the handbook, and the wants suggested; wants are shown however few keepers speak."""
    speak = found[np.isfinite(found["rate"])]
    keepers = {str(name): reckoned_year.keepers(part) for name, part in speak.groupby("hive_type")}
    table = wants.rename(columns={"hive_type": "group"})
    table["keepers"] = [float(keepers.get(str(name), 0)) for name in table["group"]]
    shown = reckoned_year.few(table.drop(columns=["want", "suggested", "says", "starved"]))
    shown = shown.join(table[["want", "suggested", "says"]])
    return Table(
        "wants",
        "What was eaten, and the wants it suggests",
        "From the day winter starts to the flow: the handbook's colony, the middle colony of what was learnt, and the "
        "ends between which eight in ten colonies lie. Starved colonies count as having eaten at least all they had; "
        "colonies lost otherwise are left out. The wants are learnt from all colonies of the book, earlier winters "
        "included; members who asked not to be shown are left out of all other tables.",
        (
            _named("hive type"),
            Heading("want", "want today", MASS),
            Heading("suggested", "want suggested", MASS),
            Heading("says", "so", TEXT),
            Heading("colonies", "colonies that speak", COUNT),
            Heading("eats", "handbook", MASS),
            Heading("median", "middle", MASS),
            Heading("low", "from", MASS),
            Heading("high", "to", MASS),
        ),
        shown,
        _colonies(shown, speak, speak["hive_type"]),
    )


def foretold_table(bands: pd.DataFrame) -> Table:
    """How often the band foretold in autumn held the spring's stores."""
    known = bands[np.isfinite(bands["seen"]) & np.isfinite(bands["low"]) & np.isfinite(bands["high"])]
    rows = reckoned_year.few(reckoned_year.coverage(bands))
    return Table(
        "foretold",
        "What was foretold and what came",
        "Spring stores inside the band foretold on the eve of winter, which should hold eight in ten.",
        (
            _named("of"),
            Heading("colonies", "colonies weighed in spring", COUNT),
            Heading("inside", "inside the band", COUNT),
            Heading("share", "share inside", SHARE),
            *ENDS,
        ),
        rows,
        tuple(frozenset(known.index) for _ in range(len(rows))),
    )


def feed_tables(found: pd.DataFrame) -> list[Table]:
    """Feed used against what was lacking, and food left over at the flow."""
    hive, together = _named("hive type"), found.assign(hive_type=reckoned_year.ALL)
    fed = _with_total(reckoned_year.feed_used(found), reckoned_year.feed_used(together))
    left = _with_total(reckoned_year.left_over(found), reckoned_year.left_over(together))
    lacked, over = (found[np.isfinite(found[key])] for key in ("lacked", "left_over"))
    return [
        Table(
            "feed",
            "Feed used against feed lacking",
            "In stores: what colonies lacked at their first weighing of the season and what they were fed from then to "
            "the start of winter, and from there to the flow.",
            (
                hive,
                COLONIES,
                Heading("lacked", "lacking at first", MASS),
                Heading("fed_autumn", "fed until winter", MASS),
                Heading("fed_winter", "fed in winter", MASS),
            ),
            fed,
            _colonies(fed, lacked, lacked["hive_type"]),
        ),
        Table(
            "left-over",
            "Food left over at the flow",
            "Stores above the reserve at the flow in the middle colony, and how much of the feed given was still there "
            "then and need not have been fed, all colonies together.",
            (
                hive,
                COLONIES,
                Heading("left", "left in the middle colony", MASS),
                Heading("need_not", "need not have been fed", MASS),
            ),
            left,
            _colonies(left, over, over["hive_type"]),
        ),
    ]


def balance_table(balance: pd.DataFrame, found: pd.DataFrame) -> Table:
    """What the balances between weighings left unexplained.

    Args:
        balance: the season's balances, colony_row counted from 1 among all colonies.
        found: the frame of `wintered`, its colonies numbered from 0 in the column at, of those that may be shown.
    """
    shown = balance[balance["colony_row"].isin(found["at"] + 1)]
    rows = reckoned_year.residuals(shown).assign(keepers=reckoned_year.keepers(found))
    return Table(
        "residuals",
        "Balances between weighings",
        "What feed, consumption and kit do not explain of the change between two weighings of a colony.",
        (
            _named("of"),
            Heading("intervals", "intervals", COUNT),
            Heading("within", "within twice the uncertainty", SHARE),
            Heading("middle", "middle", MASS),
            Heading("spread", "spread", MASS),
        ),
        reckoned_year.few(rows),
    )


def scale_table(drift: pd.DataFrame) -> Table:
    """How scales drifted."""
    return Table(
        "scales",
        "Scales that were checked on two days or more",
        "How the reading of a known mass moved from the first check to the last, and at that pace in a year.",
        (
            _named("scale"),
            Heading("checks", "checks", COUNT),
            Heading("days", "days between", COUNT),
            Heading("drifted", "moved by", FINE),
            Heading("a_year", "in a year", FINE),
        ),
        drift.assign(few=False),
    )


def hand_table(hands: pd.DataFrame, members: pd.DataFrame) -> Table:
    """What the hefting of members is worth who said that they may be shown."""
    known = hands[hands["pairs"] > 0].rename(columns={"by": "group"})
    shown = pick_words(members["shown"], match(known["group"], members["name"])) == "yes"
    rows = known[shown]
    return Table(
        "hands",
        "Hands",
        "Hefts against the scale: what a hand reads too much or too little, and within what nine in ten lie. "
        "Named are members who said that they may be shown.",
        (
            _named("hand"),
            Heading("pairs", "lifts also weighed", COUNT),
            Heading("bias", "reads", FINE),
            Heading("within", "nine in ten within", MASS),
            Heading("says", "so", TEXT),
        ),
        rows[["group", "pairs", "bias", "within", "says"]].reset_index(drop=True).assign(few=False),
    )


def gap_table(gaps: Sequence[Gap]) -> Table:
    """What is not complete, by number alone."""
    rows = pd.DataFrame(
        [{"group": gap.what, "count": len(gap.names), "of": gap.of, "do": gap.do} for gap in gaps],
        columns=["group", "count", "of", "do"],
    )
    return Table(
        "completeness",
        "How complete the year is",
        "What nobody has dealt with; the more of it, the less the other tables can say.",
        (
            _named("what"),
            Heading("count", "how many", COUNT),
            Heading("of", "of", COUNT),
            Heading("do", "what to do", TEXT),
        ),
        rows.assign(few=False),
    )


def may_be_shown(found: pd.DataFrame) -> pd.DataFrame:
    """The colonies of members who did not ask not to be shown."""
    chosen: pd.DataFrame = found.loc[words(found["shown"]) != "no"]
    return chosen
