"""Bands of blank rows: which member may take which row of a book into which several people type."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import pandas as pd
    from numpy.typing import NDArray

LEAST = 3
"""Rows that a band has at least; where there are fewer, no row is kept for anybody."""


def bands(blank: NDArray[np.bool_], members: Sequence[str]) -> list[str | None]:
    """Keep the blank rows of a sheet for its members, for each a band of equal size one after the other.

    Args:
        blank: which rows nobody has typed into, shape (rows,).
        members: codes of the members, in the order of their list.

    Returns:
        for each row the member for whom it is kept; None for rows that are taken, for what is left over, and for all
        rows where fewer than two members, or fewer than three rows a member, are there.

    >>> bands(np.array([False, True, True, True, True, True, True, True]), ["AF", "BT"])
    [None, 'AF', 'AF', 'AF', 'BT', 'BT', 'BT', None]
    """
    each = int(blank.sum()) // max(len(members), 1)
    kept: list[str | None] = [None] * len(blank)
    if len(members) <= 1 or each < LEAST:
        return kept
    for number, row in enumerate(np.flatnonzero(blank).tolist()[: each * len(members)]):
        kept[row] = members[number // each]
    return kept


def members_in(typed: Mapping[str, pd.DataFrame]) -> list[str]:
    """Codes of the members who have an apiary, in the order of their list."""
    if "Members" not in typed or "Apiaries" not in typed:
        return []
    keepers = {str(one).casefold() for one in typed["Apiaries"]["member"].dropna()}
    return [str(one) for one in typed["Members"]["member"].dropna() if str(one).casefold() in keepers]
