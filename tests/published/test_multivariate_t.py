"""Deviations of unknown scale are Student t.

Kotz and Nadarajah (2004), Multivariate t Distributions and their Applications, 1.2: a normal vector
whose covariance is multiplied by ν/χ²_ν has the multivariate t distribution with ν degrees of
freedom. Held against scipy.stats.multivariate_t; definition from memory; tolerances are those of
the grid of scales.
"""

import numpy as np
import pytest
from scipy.stats import multivariate_t

from nextprobe.belief import (
    JointModel,
    JointState,
    Scales,
    SharedDeviation,
    Stray,
    enumerate_strays,
    joint_log_densities,
)


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
