"""The formulas of the live book, one template for each live column.

A template names cells by the layout instead of by letter and number:

- ``[gross]`` the cell of that column in the same row;
- ``[Colonies.state@]`` the cell of another sheet in the row that goes with this one;
- ``[Weighings.gross]`` the whole column; ``[Calendar.date^]`` its first cell;
- ``[Calendar.eaten*]`` the block of columns whose keys begin with that word;
- ``{reserve_floor}`` a figure of the model; ``{as_at}`` a setting; ``#`` the number of this row in its column.
"""

from apiarybook.layout.formulas import feedings, lists, rounds, standing, till_flow, weighings

TEMPLATES: dict[tuple[str, str], str] = {
    **{("Weighings", key): text for key, text in weighings.FORMULAS.items()},
    **{("Winter rounds", key): text for key, text in rounds.FORMULAS.items()},
    **{("Colonies", key): text for key, text in rounds.LAST_ROUND.items()},
    **{("Feedings", key): text for key, text in feedings.FORMULAS.items()},
    **{("Standing", key): text for key, text in standing.FORMULAS.items()},
    **{("Feed order", key): text for key, text in lists.FEED_ORDER.items()},
    **{("Till the flow", key): text for key, text in till_flow.FORMULAS.items()},
    **{("Hive types", key): text for key, text in lists.HIVE_TYPES.items()},
    **{("Feed kinds", key): text for key, text in lists.FEED_KINDS.items()},
}

ARRAY_FORMULAS = frozenset({("Standing", "rank_scale"), ("Standing", "rank_heft"), ("Colonies", "rank_round")})

__all__ = ["ARRAY_FORMULAS", "TEMPLATES"]
