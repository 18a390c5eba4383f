"""Year-end figures against other programs: Jeffreys intervals against statsmodels, learning against scipy's Student t.

The conjugate posterior is that of Gelman et al., Bayesian Data Analysis, 3rd edition, 3.3; without uncertainty of what
was weighed and without starved colonies the grid must give the same.
"""

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from apiarybook.reckon.core.arrays import figure
from apiarybook.reckon.year.year import foretold, jeffreys, learn, prior


@pytest.mark.parametrize("level", [0.8, 0.95])
def test_jeffreys_intervals_as_statsmodels_gives_them(level: float) -> None:
    counts = [(0, 1), (1, 1), (0, 12), (3, 20), (12, 12), (7, 300), (499, 1000)]
    low, high = jeffreys([one for one, _ in counts], [of for _, of in counts], level)
    for at, (count, of) in enumerate(counts):
        assert (low[at], high[at]) == pytest.approx(proportion_confint(count, of, 1 - level, "jeffreys"), rel=1e-9)


def predictive(rates: np.ndarray, quantile: float) -> float:
    """The closed form: Student t of the logarithm."""
    known, x, n = prior(), np.log(rates), len(rates)
    weight = known.weight + n
    mean = (known.weight * known.mean + x.sum()) / weight
    moved = known.weight * n / weight * (x.mean() - known.mean) ** 2 if n else 0.0
    shape, rate = known.shape + n / 2, known.rate + (((x - x.mean()) ** 2).sum() if n else 0.0) / 2 + moved / 2
    scale = np.sqrt(rate * (weight + 1) / (shape * weight))
    return float(np.exp(stats.t.ppf(quantile, 2 * shape, mean, scale)))


@pytest.mark.parametrize("count", [5, 12, 40, 120])
def test_learning_as_the_closed_form(count: int) -> None:
    rates = np.exp(np.random.default_rng(count).normal(0.15, 0.3, count))
    found = learn(rates, [0.0] * count, [False] * count)
    for quantile, value in ((0.1, found.tenth), (0.5, found.median), (0.9, found.ninetieth)):
        assert value == pytest.approx(predictive(rates, quantile), rel=0.005)


def test_the_prior_has_the_handbooks_mean_and_spread() -> None:
    """Lognormal of mean 1 and 40 % spread: its 90 % quantile, from scipy."""
    sigma = np.sqrt(np.log1p(figure("colony_spread") ** 2))
    assert foretold().ninetieth == pytest.approx(stats.lognorm.ppf(0.9, sigma, scale=np.exp(-(sigma**2) / 2)), rel=1e-9)
    assert foretold().ninetieth == pytest.approx(predictive(np.array([]), 0.9), rel=1e-6)


def test_starved_colonies_as_a_sample_from_scipy() -> None:
    """Right-censored draws, posterior by importance sampling from the prior with scipy's own distributions."""
    rng, known = np.random.default_rng(3), prior()
    seen, bounds = np.array([0.9, 1.1, 1.4, 1.2, 0.8, 1.0]), np.array([1.5, 1.8])
    variance = stats.invgamma.rvs(known.shape, scale=known.rate, size=200_000, random_state=rng)
    mean = rng.normal(known.mean, np.sqrt(variance / known.weight))
    spread = np.sqrt(variance)
    told = stats.norm.logpdf(np.log(seen)[:, None], mean, spread).sum(axis=0)
    told += stats.norm.logsf(np.log(bounds)[:, None], mean, spread).sum(axis=0)
    chance = np.exp(told - told.max())
    drawn = rng.choice(len(mean), 200_000, p=chance / chance.sum())
    ahead = np.exp(rng.normal(mean[drawn], spread[drawn]))
    found = learn([*seen, *bounds], [0.0] * 8, [False] * 6 + [True] * 2)
    assert found.ninetieth == pytest.approx(np.quantile(ahead, 0.9), rel=0.02)
    assert found.median == pytest.approx(np.quantile(ahead, 0.5), rel=0.02)
