"""Readings that are jointly normal.

Marginals and conditionals of the multivariate normal distribution: Rasmussen and Williams (2006),
Gaussian Processes for Machine Learning, A.2, equation A.6; densities by
scipy.stats.multivariate_normal. Leave-one-out predictions: the same book, 5.4.2, equations 5.10 to
5.12. The Student t distribution: scipy.stats.multivariate_t. Formulas from memory; tolerances are
rounding, except for the t distribution, where they are the grid's.
"""

import numpy as np
import pytest
from joint_cases import conditional, dense, log_normal, some_model
from scipy.stats import multivariate_normal, multivariate_t, norm

from nextprobe.belief import (
    JointModel,
    JointState,
    Scales,
    SharedDeviation,
    Stray,
    enumerate_strays,
    joint_log_densities,
    joint_posterior,
)
from nextprobe.belief.joint_left_out import joint_numbers, left_out

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


def test_leave_one_out(case):
    model, values = case
    inherit = np.where(model.inherit == 0.0, 0.5, model.inherit)
    model = JointModel(model.shared, model.mean, inherit, model.deviation, limit=model.limit)
    everything, none = np.arange(READINGS), np.zeros(0, dtype=int)
    joint = joint_numbers(model, values, everything, none)
    found = left_out(joint, everything[:, None])
    for group in range(GROUPS):
        mean, covariance = dense(model, group)
        precision = np.linalg.inv(covariance)
        pull = precision @ (values - mean)
        for i in range(READINGS):
            # 5.12, then 5.10 in logarithms.
            centre = values[i] - pull[i] / precision[i, i]
            variance = 1.0 / precision[i, i]
            log_density = -0.5 * (
                np.log(variance) + (values[i] - centre) ** 2 / variance + np.log(2.0 * np.pi)
            )
            assert found.log_density[group, i] == pytest.approx(log_density, rel=1e-9)
            # And by what it stands for: the density of all over that of the others.
            others = np.delete(everything, i)
            whole = multivariate_normal.logpdf(values, mean, covariance)
            rest = multivariate_normal.logpdf(
                values[others], mean[others], covariance[np.ix_(others, others)]
            )
            assert found.log_density[group, i] == pytest.approx(whole - rest, rel=1e-8)


@pytest.mark.parametrize("size", [2, 3, 4])
def test_leave_several_out(case, size):
    model, values = case
    inherit = np.where(model.inherit == 0.0, 0.5, model.inherit)
    model = JointModel(model.shared, model.mean, inherit, model.deviation, limit=model.limit)
    joint = joint_numbers(model, values, np.arange(READINGS), np.zeros(0, dtype=int))
    sets = np.array([np.arange(size), READINGS - 1 - np.arange(size)])
    found = left_out(joint, sets).log_density
    for group in range(GROUPS):
        mean, covariance = dense(model, group)
        whole = multivariate_normal.logpdf(values, mean, covariance)
        for place, chosen in enumerate(sets):
            others = np.setdiff1d(np.arange(READINGS), chosen)
            rest = log_normal(values[others], mean[others], covariance[np.ix_(others, others)])
            assert found[group, place] == pytest.approx(whole - rest, rel=1e-8)


@pytest.mark.parametrize("degrees", [3.0, 4.0, 10.0])
@pytest.mark.parametrize("far", [0.0, 1.0, 5.0])
def test_unknown_scale_is_student_t(degrees, far):
    rng = np.random.default_rng(12)
    half = rng.normal(size=(3, 3))
    shape = half @ half.T + 0.5 * np.eye(3)
    values = far * np.array([1.0, -2.0, 1.5])
    # Next to nothing but the deviations, whose scale is unknown.
    model = JointModel(SharedDeviation.of_covariance(shape), np.zeros((1, 3)), 1.0, 1e-6)
    scales = Scales.inverse_gamma(degrees, spacing=0.25, tail=1e-9)
    found = scales.log_density(joint_log_densities(scales.of_model(model), list(values)))
    wanted = multivariate_t.logpdf(values, np.zeros(3), shape, df=degrees)
    assert found[0] == pytest.approx(wanted, abs=1e-6)
    usual = Scales.inverse_gamma(degrees)
    rough = usual.log_density(joint_log_densities(usual.of_model(model), list(values)))
    assert rough[0] == pytest.approx(wanted, abs=2e-3)


def test_student_t_one_reading_at_a_time_and_with_strays_excluded():
    shape = np.array([[1.0, 0.6], [0.6, 2.0]])
    model = JointModel(SharedDeviation.of_covariance(shape), np.zeros((1, 2)), 1.0, 1e-6)
    scales = Scales.inverse_gamma(4.0, spacing=0.25, tail=1e-9)
    wide = scales.of_model(model)
    state = JointState.before(wide.groups, wide.shared)
    for column, value in enumerate([1.5, -3.0]):
        state = state.after(wide, column, value)
    wanted = multivariate_t.logpdf([1.5, -3.0], np.zeros(2), shape, df=4.0)
    assert scales.log_density(state.log_density)[0] == pytest.approx(wanted, abs=1e-6)
    strays = enumerate_strays(wide, [1.5, -3.0], Stray.never(wide.groups, 2))
    assert scales.log_density(strays.log_density)[0] == pytest.approx(wanted, abs=1e-6)
