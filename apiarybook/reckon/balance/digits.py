"""Slips of the pen: what a reading may have been before one digit was changed or two were swapped."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from apiarybook.handbook import handbook

if TYPE_CHECKING:
    from apiarybook.reckon.core.arrays import Floats

PLACES = (100.0, 10.0, 1.0)
"""Hundreds, tens and ones; a wrong tenth moves no kilogram."""
DIGITS = np.arange(10, dtype=np.float64)
MOST_DECIMALS = 6


def _digit(value: Floats, place: float) -> Floats:
    return np.floor(np.round(value / place, MOST_DECIMALS)) % len(DIGITS)


def meant(reading: Floats) -> tuple[Floats, Floats]:
    """What was meant if one digit of a reading is wrong or two side by side are swapped.

    Args:
        reading: as typed, in the unit in which it was typed, shape (n,).

    Returns:
        numbers that may have been meant and how likely each is among them, both of shape (n, 33); a likelihood of 0
        where there is no such number.

    >>> numbers, likely = meant(np.array([38.4]))
    >>> sorted(set(numbers[likely > 0.2].round(1).tolist()))
    [34.8, 83.4]
    """
    value: Floats = np.asarray(np.round(np.nan_to_num(reading), MOST_DECIMALS), dtype=np.float64)
    changed, swapped = [], []
    for place in PLACES:
        there, leading = value >= place, value < len(DIGITS) * place
        digit, after = _digit(value, place), _digit(value, place / len(DIGITS))
        for other in DIGITS:
            sound = there & (digit != other) & ~(leading & (other == 0))
            changed.append((value + (other - digit) * place, sound))
        sound = there & (digit != after) & ~(leading & (after == 0))
        swapped.append((value + (after - digit) * (place - place / len(DIGITS)), sound))
    share = handbook().judging["digits"].value
    found = np.column_stack([number for number, _ in (*changed, *swapped)])
    weights = np.column_stack((_shared(changed, 1 - share), _shared(swapped, share)))
    return found, weights


def _shared(slips: list[tuple[Floats, Floats]], share: float) -> Floats:
    sound = np.column_stack([one for _, one in slips]).astype(np.float64)
    return np.asarray(share * sound / np.maximum(sound.sum(axis=1, keepdims=True), 1.0))
