"""The prediction of one more board against the literature of the normal model.

- Gelman, Carlin, Stern, Dunson, Vehtari and Rubin (2013), Bayesian Data Analysis, 3rd ed., 3.2
  and 3.3: the posterior predictive is Student t with location ȳ, scale s·sqrt(1 + 1/n) and n − 1
  degrees of freedom under the flat prior; under the conjugate one with the updated parameters
  κn, μn, νn and σn. Compared with scipy.stats.t.
- The same, 3.2, Newcomb's 66 measurements of the speed of light: mean 26.2, standard deviation
  10.8, and a 95 % interval of the mean from 23.6 to 28.8 (from memory).
- JCGM 100:2008 (GUM), table G.2: factors t for 95 % (from memory).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from nextprobe.reference import SpreadPrior, measured_spread, predictive, tightening

FLAT = SpreadPrior(deviation=1e-9, degrees=1e-9)
READINGS = [0.451, 0.462, 0.447, 0.455, 0.449, 0.458]


def test_flat_prior_gives_the_t_distribution_of_the_textbook() -> None:
    found = predictive(READINGS, FLAT)
    number = len(READINGS)
    scale = np.std(READINGS, ddof=1) * math.sqrt(1.0 + 1.0 / number)
    expected = stats.t(number - 1, np.mean(READINGS), scale).interval(0.95)
    last = tightening(READINGS, FLAT, counts=())[-1]
    assert (found.mean, found.degrees) == pytest.approx((np.mean(READINGS), number - 1))
    assert (last.low, last.high) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("kappa", [1.0, 2.0, 7.0])
def test_conjugate_prior_gives_the_t_distribution_of_the_textbook(kappa: float) -> None:
    mu_0, sigma_0, nu_0, number = 0.44, 0.015, 4.0, len(READINGS)
    mean, squares = np.mean(READINGS), np.var(READINGS, ddof=1) * (number - 1)
    kappa_n, nu_n = kappa + number, nu_0 + number
    mu_n = (kappa * mu_0 + number * mean) / kappa_n
    sigma_n = math.sqrt(
        (nu_0 * sigma_0**2 + squares + kappa * number / kappa_n * (mean - mu_0) ** 2) / nu_n
    )
    prior = SpreadPrior(sigma_0, nu_0, mu_0, kappa)
    expected = stats.t(nu_n, mu_n, sigma_n * math.sqrt(1.0 + 1.0 / kappa_n)).interval(0.95)
    last = tightening(READINGS, prior, counts=())[-1]
    assert (last.low, last.high) == pytest.approx(expected, rel=1e-9)
    spread = measured_spread(READINGS, prior)
    assert spread is not None
    assert spread.deviation == pytest.approx(sigma_n, rel=1e-12)


def test_newcomb_measures_the_speed_of_light() -> None:
    shape = np.linspace(-1.0, 1.0, 66)
    values = 26.2 + 10.8 * shape / np.std(shape, ddof=1)
    spread = measured_spread(list(values), FLAT)
    assert spread is not None
    assert (spread.deviation, spread.degrees) == pytest.approx((10.8, 65.0), rel=1e-6)
    interval = stats.t(65, 26.2, spread.deviation / math.sqrt(66)).interval(0.95)
    assert interval == pytest.approx((23.6, 28.8), abs=0.06)


@pytest.mark.parametrize(
    ("degrees", "factor"), [(1, 12.71), (2, 4.30), (3, 3.18), (4, 2.78), (5, 2.57), (10, 2.23)]
)
def test_factors_of_the_gum(degrees: int, factor: float) -> None:
    shape = np.linspace(-1.0, 1.0, degrees + 1)
    values = list(0.5 + 0.01 * shape / np.std(shape, ddof=1))
    last = tightening(values, FLAT, counts=())[-1]
    assert last.high is not None
    reach = (last.high - 0.5) / (0.01 * math.sqrt(1.0 + 1.0 / (degrees + 1)))
    assert reach == pytest.approx(factor, abs=0.006)
