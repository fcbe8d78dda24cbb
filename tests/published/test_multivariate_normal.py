"""Readings that are jointly normal.

Marginals and conditionals of the multivariate normal distribution: Rasmussen and Williams (2006),
Gaussian Processes for Machine Learning, A.2, equation A.6 (from memory); densities by
scipy.stats.multivariate_normal. Tolerances are rounding.
"""

import numpy as np
import pytest
from joint_cases import conditional, dense, log_normal, some_model
from scipy.stats import multivariate_normal, norm

from nextprobe.belief import JointState, joint_log_densities, joint_posterior

GROUPS, READINGS = 4, 6


@pytest.fixture(scope="module")
def case():
    rng = np.random.default_rng(11)
    return some_model(rng, GROUPS, READINGS, 3), rng.uniform(0.42, 0.58, READINGS)


def test_each_reading_given_those_before_it(case):
    model, values = case
    state = JointState.before(GROUPS, model.shared)
    for column in range(READINGS):
        mean, deviation = state.predicted(model.take([column]))
        state = state.after(model, column, values[column])
        for group in range(GROUPS):
            given = list(range(column))
            wanted = conditional(*dense(model, group), given, values[:column], column)
            assert mean[group, 0] == pytest.approx(wanted[0], rel=1e-10)
            assert deviation[group, 0] == pytest.approx(wanted[1], rel=1e-9)
            assert state.last[group] == pytest.approx(
                norm.logpdf(values[column], *wanted), abs=1e-8
            )


def test_joint_density(case):
    model, values = case
    found = joint_log_densities(model, list(values))
    for group in range(GROUPS):
        wanted = multivariate_normal.logpdf(values, *dense(model, group))
        assert found[group] == pytest.approx(wanted, rel=1e-12)


def test_density_of_far_outliers_to_minus_a_hundred_thousand_and_beyond(case):
    model, values = case
    for apart in (1.0, 10.0, 1000.0):
        far = values - apart * np.arange(READINGS)
        found = joint_log_densities(model, list(far))
        wanted = [log_normal(far, *dense(model, group)) for group in range(GROUPS)]
        assert found == pytest.approx(wanted, rel=1e-10)
        assert found.max() < -1e4


def test_over_range_given_numbers_is_the_tail_of_the_conditional(case):
    model, values = case
    seen = [*values[:-1], None]
    found = joint_posterior(model, seen)
    for group in range(GROUPS):
        mean, covariance = dense(model, group)
        given = list(range(READINGS - 1))
        tail = norm.logsf(
            model.limit[-1], *conditional(mean, covariance, given, values[:-1], READINGS - 1)
        )
        numbers = log_normal(values[:-1], mean[:-1], covariance[:-1, :-1])
        assert found.last[group] == pytest.approx(tail, rel=1e-8)
        assert found.log_density[group] == pytest.approx(numbers + tail, rel=1e-9)
