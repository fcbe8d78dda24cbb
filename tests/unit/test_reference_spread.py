"""What another good board should read."""

import math

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import dblquad

from nextprobe.board import OVER_RANGE
from nextprobe.errors import MisuseError
from nextprobe.reference import SpreadPrior, predictive

PRIOR = SpreadPrior(deviation=0.015, degrees=4.0)


def test_one_board_gives_the_prior_spread_of_a_difference():
    found = predictive([0.452], PRIOR)
    assert found.mean == pytest.approx(0.452)
    assert found.scale == pytest.approx(0.015 * math.sqrt(2.0))
    assert found.degrees == 4.0


def by_integration(values, prior, reading):
    """Return the predictive density from the unnormalised posterior, on a grid of integrals."""
    values = np.array(values)

    def joint(log_variance, mean, extra):
        variance = math.exp(log_variance)
        data = -0.5 * (values.size + extra) * log_variance
        data -= 0.5 * ((values - mean) ** 2).sum() / variance
        if extra:
            data -= 0.5 * (reading - mean) ** 2 / variance + 0.5 * math.log(2.0 * math.pi)
        spread = -0.5 * prior.degrees * (log_variance + prior.deviation**2 / variance)
        if prior.boards:
            spread -= 0.5 * log_variance
            spread -= 0.5 * prior.boards * (mean - prior.mean) ** 2 / variance
        return math.exp(data + spread)

    area = (values.mean() - 12.0, values.mean() + 12.0, -4.0, 7.0)
    top = dblquad(lambda v, m: joint(v, m, 1), *area, epsabs=0.0, epsrel=1e-7)[0]
    return top / dblquad(lambda v, m: joint(v, m, 0), *area, epsabs=0.0, epsrel=1e-7)[0]


@pytest.mark.parametrize(
    "prior",
    [
        SpreadPrior(deviation=1.0, degrees=4.0),
        SpreadPrior(deviation=1.0, degrees=4.0, mean=1.0, boards=0.5),
    ],
)
@pytest.mark.parametrize("values", [[0.3, 1.9], [0.3, 1.9, -0.4, 0.8, 2.0]])
def test_closed_form_is_the_integral_over_mean_and_spread(values, prior):
    found = predictive(values, prior)
    for reading in (0.5, 3.0):
        density = stats.t.pdf(reading, found.degrees, found.mean, found.scale)
        assert density == pytest.approx(by_integration(values, prior, reading), rel=2e-3)


@pytest.mark.parametrize("count", [1, 2, 5, 10])
def test_intervals_of_the_normal_that_stands_for_it_hold_what_they_say(count):
    """Draw boards from the prior: 95 % of the next readings must fall inside 95 %."""
    random = np.random.default_rng(count)
    inside, trials = 0, 4000
    for _ in range(trials):
        spread = 0.015 * math.sqrt(4.0 / random.chisquare(4.0))
        values = random.normal(0.45, spread, count + 1)
        found = predictive(list(values[:-1]), PRIOR)
        inside += abs(values[-1] - found.mean) <= 1.959964 * found.deviation
    assert inside / trials == pytest.approx(0.95, abs=4.0 * math.sqrt(0.95 * 0.05 / trials))


def test_many_boards_overrule_the_prior():
    values = np.random.default_rng(3).normal(0.5, 0.05, 2000)
    found = predictive(list(values), PRIOR)
    assert found.deviation == pytest.approx(values.std(), rel=0.01)


def test_the_meter_is_added_in_quadrature():
    bare, measured = predictive([0.45], PRIOR), predictive([0.45], PRIOR, measuring=0.04)
    assert measured.deviation == pytest.approx(math.hypot(bare.deviation, 0.04))


def test_over_range_is_a_state():
    found = predictive([OVER_RANGE, OVER_RANGE, 0.5], SpreadPrior(0.015, over_range=(0.5, 0.5)))
    assert found.over_range == pytest.approx(2.5 / 4.0)
    assert (found.mean, found.boards) == (0.5, 1)
    unknown = predictive([OVER_RANGE], PRIOR)
    assert unknown.mean is None
    assert unknown.over_range == pytest.approx(1.1 / 1.2)
    assert predictive([], PRIOR).over_range == pytest.approx(0.5)


def test_misuse():
    with pytest.raises(MisuseError):
        SpreadPrior(deviation=0.0)
    with pytest.raises(MisuseError):
        predictive([math.inf], PRIOR)
    with pytest.raises(MisuseError):
        predictive([0.5], PRIOR, measuring=-1.0)
