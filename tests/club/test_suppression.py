"""Nothing of fewer than five keepers can be had by taking one sum of a report from another."""

from __future__ import annotations

from itertools import permutations
from random import Random

import numpy as np
import pandas as pd
import pytest

from apiarybook.club.closing import suppressed
from apiarybook.club.year_tables import Table, feed_tables, foretold_table, loss_tables, may_be_shown
from apiarybook.reckon.year.year import LEAST_KEEPERS, keepers


def winter(seed: int) -> pd.DataFrame:
    """Colonies of an invented club: some keepers with many, most with few, some of whom do not wish to be shown."""
    draw = Random(seed)  # noqa: S311 any numbers will do, the same each time
    people = draw.randint(5, 14)
    rows = []
    for number in range(draw.randint(people, 40)):
        member = number if number < people else draw.randrange(people)
        rows.append(
            {
                "colony": f"C{number}",
                "apiary": f"P{member}",
                "member": f"M{member}",
                "shown": "no" if member == 0 else "yes",
                "hive_type": draw.choice(["single", "single", "double", "nucleus"]),
                "outcome": draw.choice(["wintered", "wintered", "died", ""]),
                "seen": draw.choice(["", "mice", "no food left"]),
                "chance_out": draw.choice([0.01, 0.2, 0.9, np.nan]),
                "short_by": draw.choice([0.0, 2.0, 9.0, np.nan]),
                "lacked": draw.choice([1.0, 3.0, np.nan]),
                "fed_autumn": 2.0,
                "fed_winter": 0.0,
                "left_over": draw.choice([1.0, np.nan]),
                "low": 1.0,
                "high": 5.0,
                "spring_stores": draw.choice([2.0, 7.0, np.nan]),
            }
        )
    return may_be_shown(pd.DataFrame(rows))


def report(found: pd.DataFrame) -> list[Table]:
    bands = found[["low", "high", "member", "apiary"]].assign(seen=found["spring_stores"])
    return [*loss_tables(found, 0.9, 1.0, "kg"), foretold_table(bands), *feed_tables(found)]


def sums(tables: list[Table]) -> list[tuple[str, frozenset[int]]]:
    """All sums that are shown, each with its table."""
    found = []
    for table in tables:
        told = zip(table.colonies, table.rows["few"], strict=True)
        found += [(table.name, colonies) for colonies, few in told if not few]
        found += [("of " + table.name, table.of)] if table.of and not table.rows["few"].all() else []
    return found


@pytest.mark.parametrize("seed", range(40))
def test_no_two_sums_tell_of_few_keepers(seed: int) -> None:
    found = winter(seed)
    shown = sums(suppressed(report(found), found))
    for (_, part), (_, whole) in permutations(shown, 2):
        left = whole - part
        assert not (part < whole) or keepers(found.loc[sorted(left)]) >= LEAST_KEEPERS
    for _, whole in shown:
        for name in {name for name, _ in shown}:
            parts = [part for other, part in shown if other == name and part < whole]
            left = whole.difference(*parts) if parts else frozenset()
            assert not left or keepers(found.loc[sorted(left)]) >= LEAST_KEEPERS


def test_what_is_hidden_has_no_figures_and_what_tells_of_many_stays() -> None:
    found = pd.concat([winter(seed) for seed in range(30, 40)], ignore_index=True)
    found = found.assign(member=[f"M{at % 60}" for at in range(len(found))])
    told = suppressed(report(found), found)
    assert sum(len(table.rows) for table in told) == sum(len(table.rows) for table in report(found))
    assert not any(table.rows["few"].any() for table in told)
    for table in suppressed(report(winter(3)), winter(3)):
        hidden = table.rows[table.rows["few"]]
        keys = [heading.key for heading in table.columns if heading.key != "group"]
        assert hidden[keys].isna().all(axis=None)
