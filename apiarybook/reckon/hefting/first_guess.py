"""What a heft is worth before anything is known of the hand."""

from __future__ import annotations

import numpy as np
import pandas as pd

from apiarybook.reckon.core.arrays import figure

ANY_HAND = "any other hand"
PRIOR_SHAPE = 3.0
"""Shape a0 of the Normal-inverse-gamma prior of a hand: worth six pairs, so that its variance exists."""


def default_hand() -> pd.DataFrame:
    """The row for a hand that has no pairs: no bias, and the spread of hands at large.

    Returns:
        one row: by, pairs, factor and spread for guesses, and the same for each word against the target gross.

    Source: predictive distribution of a Normal-inverse-gamma model (Student t with 2 a0 degrees of freedom,
    scale squared b0 (k0 + 1)/(a0 k0)) with the handbook's spreads within and between hands.

    >>> float(default_hand()["spread"].round(3).iloc[0])
    0.192
    """
    within, between = figure("hand_spread") ** 2, figure("hand_bias_spread") ** 2
    weight = within / between
    scale = (PRIOR_SHAPE - 1) * within * (weight + 1) / (PRIOR_SHAPE * weight)
    spread = float(np.sqrt(scale * PRIOR_SHAPE / (PRIOR_SHAPE - 1)))
    words = {"light": "word_light", "right": "word_about_right", "heavy": "word_heavy"}
    row: dict[str, object] = {"by": ANY_HAND, "pairs": 0.0, "factor": 1.0, "spread": spread}
    for word, name in words.items():
        row |= {f"{word}_factor": float(np.exp(figure(name))), f"{word}_spread": figure("word_spread")}
    return pd.DataFrame([row])
