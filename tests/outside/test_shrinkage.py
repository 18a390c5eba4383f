"""Partial pooling and variance components against published figures.

Efron and Morris, Stein's Paradox in Statistics, Scientific American 236:119 (1977): batting averages of 18 players in
45 at bats, and of the rest of the season. NIST/SEMATECH StRD SiRstv: five instruments by five readings.
"""

import numpy as np
import pytest
import statsmodels.formula.api as models
from pandas import DataFrame

from apiarybook.reckon.hefting.calibration import BELIEF_WEIGHT, Belief, Calibration, Sums, priors, sums, update

AT_BATS = 45
HITS = np.array([18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7])
LATER = np.array(
    [
        *(0.346, 0.298, 0.276, 0.222, 0.273, 0.270, 0.263, 0.210, 0.269),
        *(0.230, 0.264, 0.256, 0.303, 0.264, 0.226, 0.286, 0.316, 0.200),
    ]
)
RAW = HITS / AT_BATS
SHRUNKEN = [0.294, 0.289, 0.285, 0.280, 0.275, 0.275, 0.270, 0.266, 0.261, 0.261, *[0.256] * 5, 0.252, 0.247, 0.242]

SILICON = [
    [196.3052, 196.1240, 196.1890, 196.2569, 196.3403],
    [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
    [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
    [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
    [196.2119, 196.1051, 196.1850, 196.0052, 196.2090],
]


def test_players_shrink_as_printed() -> None:
    """Printed: grand mean 0.265, factor 0.212; one average weighs 1 against 1/0.212 - 1 for the prior's mean."""
    grand = RAW.mean()
    variance = grand * (1 - grand) / AT_BATS
    factor = 1 - (len(RAW) - 3) * variance / ((RAW - grand) ** 2).sum()
    assert [grand, variance, factor] == pytest.approx([0.2654320988, 0.0043328422, 0.2116534171], rel=1e-8)
    printed = 0.212
    prior = Calibration(*(np.full(len(RAW), v) for v in (grand, 1 / printed - 1, 3.0, 2 * variance)))
    found = update(prior, Sums(np.ones(len(RAW)), RAW, np.zeros(len(RAW)))).mean
    assert found.tolist() == pytest.approx(SHRUNKEN, abs=5.1e-4)
    errors = ((RAW - LATER) ** 2).sum(), ((found - LATER) ** 2).sum()
    assert errors == pytest.approx((0.0754879506, 0.0213760230), rel=1e-8)
    assert errors[0] / errors[1] == pytest.approx(3.5, abs=0.05)
    assert (np.abs(found - LATER) < np.abs(RAW - LATER)).sum() == 16


def test_the_clubs_own_prior_shrinks_players_as_well() -> None:
    """Players taken as hands, at bats as pairs, each left out of its own prior.

    The gain is smaller than that of Efron and Morris, for the prior's mean is held to ten pairs' worth at most.
    """
    hits = np.concatenate([np.repeat([1.0, 0.0], [n, AT_BATS - n]) for n in HITS])
    own = sums(hits, np.repeat(np.arange(len(HITS)), AT_BATS), len(HITS))
    club = priors(own, Belief(0.265, 0.44, 0.05))
    prior = Calibration(club.mean[1:], club.weight[1:], club.shape[1:], club.rate[1:])
    found = update(prior, own).mean
    assert ((found - LATER) ** 2).sum() < 0.75 * ((RAW - LATER) ** 2).sum()
    assert (np.abs(found - RAW.mean()) < np.abs(RAW - RAW.mean())).all()


def test_components_of_five_instruments() -> None:
    """Certified: mean squares 0.0127865654 between, 0.0108318280 within; component (difference)/5 = 0.000390947480."""
    hand = np.repeat(np.arange(5), 5)
    belief = Belief(196.0, 0.1, 0.02)
    found = priors(sums(np.ravel(SILICON), hand, 5), belief)
    within = found.rate[0] / (found.shape[0] - 1)
    between = within / found.weight[0]
    told = (BELIEF_WEIGHT * 0.1**2 + 20 * 1.08318280e-2) / (BELIEF_WEIGHT + 20)
    assert within == pytest.approx(told, rel=1e-8)
    pooled = (BELIEF_WEIGHT * 0.02**2 + 4 * 0.000390947480) / (BELIEF_WEIGHT + 4)
    assert between == pytest.approx(max(pooled, within / 10), rel=1e-8)


def test_components_of_unequal_groups_as_statsmodels_has_them() -> None:
    """Mean squares by statsmodels' analysis of variance; n0 by its textbook formula."""
    rng = np.random.default_rng(7)
    sizes = np.array([3, 8, 1, 5, 12])
    hand = np.repeat(np.arange(5), sizes)
    error = rng.normal(0, 0.2, 5)[hand] + rng.normal(0, 0.1, len(hand))
    fit = models.ols("error ~ C(hand)", DataFrame({"error": error, "hand": hand})).fit()
    alike = (sizes.sum() - (sizes**2).sum() / sizes.sum()) / 4
    component = max(0.0, (fit.mse_model - fit.mse_resid) / alike)
    within = (BELIEF_WEIGHT * 0.15**2 + fit.ssr) / (BELIEF_WEIGHT + fit.df_resid)
    between = (BELIEF_WEIGHT * 0.12**2 + 4 * component) / (BELIEF_WEIGHT + 4)
    found = priors(sums(error, hand, 5), Belief(0.0, 0.15, 0.12))
    assert found.rate[0] / (found.shape[0] - 1) == pytest.approx(within, rel=1e-9)
    assert found.weight[0] == pytest.approx(np.clip(within / between, 0.5, 10), rel=1e-9)
