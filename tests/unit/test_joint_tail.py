"""Quantities known only to lie beyond a limit."""

import numpy as np
import pytest
from scipy.stats import multivariate_normal, norm, truncnorm

from nextprobe.belief.joint_tail import beyond, log_all_beyond


@pytest.mark.parametrize("score", [-30.0, -5.0, -1.0, 0.0, 0.5, 3.0, 5.9, 6.1, 12.0])
def test_moments_agree_with_scipy(score):
    tail = beyond(score)
    reference = truncnorm(score, np.inf)
    assert tail.mean == pytest.approx(reference.mean(), rel=1e-9, abs=1e-9)
    assert tail.variance == pytest.approx(reference.var(), rel=1e-5)
    assert tail.log_chance == pytest.approx(norm.logsf(score), rel=1e-12)


def test_far_out_the_tail_is_exponential():
    # Mean z + 1/z - 2/z³ + 10/z⁵ and variance 1/z² - 6/z⁴ + 50/z⁶, Laplace's asymptotic series.
    for z in (100.0, 1e4, 1e6):
        tail = beyond(z)
        assert tail.mean - z == pytest.approx(
            1.0 / z - 2.0 / z**3 + 10.0 / z**5, abs=1e-12 + 1e-15 * z
        )
        assert tail.variance * z**2 == pytest.approx(1.0 - 6.0 / z**2 + 50.0 / z**4, rel=1e-9)
    assert beyond(-1e8).variance == 1.0
    assert beyond(-1e8).log_chance == 0.0


def test_both_forms_meet():
    below, above = beyond(np.nextafter(6.0, 0.0)), beyond(np.nextafter(6.0, 7.0))
    assert below.mean == pytest.approx(above.mean, rel=1e-13)
    assert below.variance == pytest.approx(above.variance, rel=1e-10)


@pytest.mark.parametrize(
    ("correlation", "limits", "tolerance"),
    [
        (0.0, (0.5, -0.3), 1e-9),
        (0.5, (0.5, -0.3), 0.01),
        (0.9, (0.5, -0.3), 0.02),
        (0.9, (2.0, 2.0), 0.1),
        (0.5, (-2.0, 1.0), 2e-3),
    ],
)
def test_two_beyond_are_close_to_the_bivariate_normal(correlation, limits, tolerance):
    covariance = np.array([[1.0, correlation], [correlation, 1.0]])
    wanted = np.log(multivariate_normal.cdf(-np.array(limits), np.zeros(2), covariance))
    counted = np.ones((1, 2), dtype=bool)
    found = log_all_beyond(np.zeros((1, 2)), covariance[None], np.array(limits), counted)
    assert found[0] == pytest.approx(wanted, abs=tolerance)


def test_what_is_not_counted_may_lie_anywhere():
    covariance = np.array([[1.0, 0.8], [0.8, 2.0]])[None]
    counted = np.array([[False, True], [False, False]])
    means, limits = np.array([[5.0, 0.2]] * 2), np.array([9.0, 1.0])
    found = log_all_beyond(means, np.repeat(covariance, 2, axis=0), limits, counted)
    assert found[0] == pytest.approx(beyond(0.8 / np.sqrt(2.0)).log_chance)
    assert found[1] == 0.0
