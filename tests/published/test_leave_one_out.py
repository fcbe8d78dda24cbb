"""Readings left out of a joint normal density.

Rasmussen and Williams (2006), Gaussian Processes for Machine Learning, 5.4.2: leave-one-out
predictions from the inverse covariance, equations 5.10 to 5.12. Sets of several are held against
what they stand for, the density of all over that of the others, by
scipy.stats.multivariate_normal. Formulas from memory; tolerances are rounding.
"""

import numpy as np
import pytest
from joint_cases import dense, log_normal, some_model
from scipy.stats import multivariate_normal

from nextprobe.belief import JointModel
from nextprobe.belief.joint_left_out import joint_numbers, left_out

GROUPS, READINGS = 4, 6


@pytest.fixture(scope="module")
def case():
    rng = np.random.default_rng(11)
    return some_model(rng, GROUPS, READINGS, 3), rng.uniform(0.42, 0.58, READINGS)


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
