"""Places of outcomes in right predictions are uniform, atoms and all.

Source: Czado, Gneiting, Held (2009), "Predictive Model Assessment for Count Data", Biometrics 65,
1254-1261, sec. 2 (randomised PIT; cited from memory). Reference implementations: `scipy.stats`.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from nextprobe.errors import MisuseError
from nextprobe.trials.pit import one_each, randomised, uniformity


def test_counts_have_uniform_places_once_they_are_randomised() -> None:
    rng = np.random.default_rng(5)
    seen = rng.poisson(2.0, 4000)
    below, up_to = stats.poisson.cdf(seen - 1, 2.0), stats.poisson.cdf(seen, 2.0)
    rolls = rng.random(4000)
    places = [randomised(*found) for found in zip(below, up_to, rolls, strict=True)]
    found = uniformity(places)
    assert found.p_value > 1e-3
    assert found.distance < found.critical_distance * 1.3
    plain = uniformity(up_to)
    assert plain.p_value < 1e-12
    assert plain.distance > 5.0 * plain.critical_distance


def test_an_atom_at_over_range_is_spread_evenly() -> None:
    rng = np.random.default_rng(6)
    volts = rng.normal(1.9, 0.3, 4000)
    below = stats.norm.cdf(np.minimum(volts, 2.0), 1.9, 0.3)
    up_to = np.where(volts > 2.0, 1.0, below)
    places = [randomised(*found) for found in zip(below, up_to, rng.random(4000), strict=True)]
    assert uniformity(places).p_value > 1e-3


def test_predictions_that_are_too_narrow_fill_the_ends() -> None:
    rng = np.random.default_rng(7)
    found = uniformity(stats.norm.cdf(rng.normal(0.0, 1.0, 1000), 0.0, 0.5))
    assert found.histogram[0] + found.histogram[-1] > 2.0 * 1000 / 10 * 2
    assert found.p_value < 1e-12


def test_the_statistics_are_those_of_scipy() -> None:
    places = np.random.default_rng(8).beta(1.2, 1.0, 300)
    found = uniformity(places)
    counts, _ = np.histogram(places, bins=10, range=(0.0, 1.0))
    chi_squared = stats.chisquare(counts)
    assert found.histogram == tuple(counts)
    assert found.chi_squared == pytest.approx(chi_squared.statistic)
    assert found.p_value == pytest.approx(chi_squared.pvalue)
    assert found.distance == pytest.approx(stats.kstest(places, "uniform").statistic)
    # 1.358 / sqrt(n): the usual table of the Kolmogorov distribution.
    assert found.critical_distance == pytest.approx(1.358 / np.sqrt(300.0), rel=1e-3)


def test_what_are_no_places_is_refused() -> None:
    for places in ([], [1.1], [-0.1, 0.5]):
        with pytest.raises(MisuseError):
            uniformity(places)
    with pytest.raises(MisuseError):
        randomised(0.6, 0.4, 0.5)
    assert one_each([(0.1, 0.2), (), (0.3,)]) == [0.1, 0.3]
