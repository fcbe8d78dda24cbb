"""Readings that share deviations, may stray and may be over-range, against quadrature.

Given θ the readings are independent, so that the joint density is one integral over θ of products
of ordinary densities. scipy.integrate (QUADPACK: Piessens et al. 1983) computes it in one and two
dimensions without any of the formulas under test.
"""

import numpy as np
import pytest
from scipy.integrate import dblquad, quad
from scipy.special import ndtr
from scipy.stats import norm

from nextprobe.belief import (
    JointModel,
    JointState,
    SharedDeviation,
    Stray,
    enumerate_strays,
    filter_strays,
    joint_log_densities,
)

LIMIT = 2.0
CHANCE = np.array([[0.05, 0.2, 0.1]])
MEAN = np.array([[0.5, 1.9, 0.6]])
INHERIT = np.array([[1.0, 2.0, 0.7]])
METER = np.array([[0.02, 0.03, 0.05]])
OWN = np.array([0.01, 0.02, 0.0]) ** 2
OFFSET = np.array([0.02, -0.01, 0.0])
FACTOR = np.array([[0.06, 0.02], [0.05, -0.03], [0.02, 0.08]])
OVER_CHANCE, SPREAD = 0.4, 0.6 / LIMIT


def model_of(rank, readings):
    shared = SharedDeviation(OFFSET, FACTOR[:, :rank], OWN)
    model = JointModel(shared, MEAN, INHERIT, METER, limit=LIMIT)
    return model.take(np.arange(readings))


def stray_of(values, chance=CHANCE):
    density = [OVER_CHANCE if value is None else SPREAD for value in values]
    return Stray(chance[:, : len(values)], np.log([density]))


def given_theta(values, theta, chance):
    """Return the density of the readings given the shared deviations."""
    product = 1.0
    for i, value in enumerate(values):
        mean = MEAN[0, i] + INHERIT[0, i] * (OFFSET[i] + FACTOR[i, : len(theta)] @ theta)
        root = np.sqrt(INHERIT[0, i] ** 2 * OWN[i] + METER[0, i] ** 2)
        held = (
            ndtr((mean - LIMIT) / root)
            if value is None
            else np.exp(-0.5 * ((value - mean) / root) ** 2) / (root * np.sqrt(2.0 * np.pi))
        )
        other = OVER_CHANCE if value is None else SPREAD
        product *= (1.0 - chance[0, i]) * held + chance[0, i] * other
    return product


def by_quadrature(values, rank, chance):
    if rank == 1:
        return quad(
            lambda t: given_theta(values, np.array([t]), chance) * norm.pdf(t),
            -9.0,
            9.0,
            epsabs=0.0,
            epsrel=1e-10,
            limit=400,
            points=[-2.0, -1.0, 0.0, 1.0, 2.0],
        )[0]
    return dblquad(
        lambda t, u: (
            given_theta(values, np.array([t, u]), chance)
            * np.exp(-0.5 * (t * t + u * u))
            / (2.0 * np.pi)
        ),
        -8.0,
        8.0,
        -8.0,
        8.0,
        epsabs=1e-9,
        epsrel=1e-7,
    )[0]


EXACT = [
    [0.53, 1.95],
    [0.53, None],
    [0.9, 1.95],
    [0.53, 1.95, 0.6],
    [0.47, 1.80, 0.62],
    [0.47, 0.4, 0.62],
    [0.53, None, 0.6],
    [0.9, None, 0.6],
]


@pytest.mark.parametrize("values", EXACT)
def test_one_shared_quantity_with_strays(values):
    model, stray = model_of(1, len(values)), stray_of(values)
    wanted = np.log(by_quadrature(values, 1, CHANCE))
    found = enumerate_strays(model, values, stray, len(values))
    assert found.log_kept[0] == pytest.approx(wanted, abs=1e-8)
    branches = filter_strays(model, values, stray, 8, 0.0)
    assert branches.log_density[0] == pytest.approx(wanted, abs=1e-8)


@pytest.mark.parametrize("values", EXACT)
def test_one_shared_quantity_without_strays(values):
    wanted = np.log(by_quadrature(values, 1, np.zeros((1, 3))))
    found = joint_log_densities(model_of(1, len(values)), values)
    assert found[0] == pytest.approx(wanted, rel=1e-8, abs=1e-8)


@pytest.mark.parametrize("values", [[0.53, 1.95], [0.53, None, 0.6], [0.47, 1.80, 0.72]])
def test_two_shared_quantities_with_strays(values):
    wanted = np.log(by_quadrature(values, 2, CHANCE))
    found = enumerate_strays(model_of(2, len(values)), values, stray_of(values), len(values))
    assert found.log_kept[0] == pytest.approx(wanted, abs=1e-6)


def test_at_most_two_strays_of_three_within_the_bound():
    values = [0.53, 1.95, 0.6]
    whole = by_quadrature(values, 1, CHANCE)
    found = enumerate_strays(model_of(1, 3), values, stray_of(values), 2)
    all_three = float(np.prod(CHANCE) * SPREAD**3)
    assert np.exp(found.log_kept[0]) == pytest.approx(whole - all_three, rel=1e-9)
    assert all_three <= np.exp(found.log_rest_bound[0])
    assert not found.vacuous[0]
    assert found.log_prior_kept[0] == pytest.approx(np.log1p(-np.prod(CHANCE)))


@pytest.mark.parametrize("values", [[None, None], [None, None, 0.75], [None, None, None]])
def test_several_over_range_by_matching_moments(values):
    # 0.5 V and 0.6 V lie far below the limit, so they are moved to it; there it matters most.
    wanted = np.log(by_quadrature_near_limit(values))
    shared = SharedDeviation(OFFSET, FACTOR[:, :1], OWN)
    near = JointModel(shared, NEAR, INHERIT, METER, limit=LIMIT).take(np.arange(len(values)))
    found = joint_log_densities(near, values)
    assert found[0] == pytest.approx(wanted, abs=0.06)
    everything = enumerate_strays(near, values, stray_of(values), len(values)).log_kept[0]
    with_strays = np.log(by_quadrature_near_limit(values, CHANCE))
    assert everything == pytest.approx(with_strays, abs=0.06)


NEAR = np.array([[1.95, 1.9, 1.98]])


def by_quadrature_near_limit(values, chance=None):
    kept = MEAN.copy()
    try:
        MEAN[:] = NEAR
        return by_quadrature(values, 1, np.zeros((1, 3)) if chance is None else chance)
    finally:
        MEAN[:] = kept


@pytest.mark.parametrize("first", [0.4, 0.53, 1.2, None])
def test_a_second_reading_has_the_mass_one_whatever_the_first(first):
    model = model_of(1, 2)

    def mass(values):
        part, stray = model.take(np.arange(len(values))), stray_of(values)
        return float(np.exp(enumerate_strays(part, values, stray, 2).log_kept[0]))

    # A stray number lies from 0 to the limit, a sound one no lower than that in effect.
    numbers = quad(
        lambda value: mass([first, value]),
        0.0,
        LIMIT,
        epsabs=1e-9,
        points=[1.7, 1.8, 1.9],
        limit=99,
    )[0]
    total = numbers + mass([first, None])
    # Exact but for the moments matched where both are over-range.
    assert total == pytest.approx(mass([first]), rel=1e-7 if first is not None else 1e-2)


def test_predictions_after_over_range_match_mean_and_variance():
    model = model_of(1, 3)
    state = JointState.before(1, model.shared).after(model, 1, None)

    def moment(power):
        return quad(
            lambda t: (
                t**power * given_theta([None, None], np.array([t]), CHANCE_SECOND) * norm.pdf(t)
            ),
            -9.0,
            9.0,
            epsrel=1e-10,
            points=[0.0, 1.0],
        )[0]

    mass, first, second = (moment(power) for power in range(3))
    assert state.mean[0, 0] == pytest.approx(first / mass, rel=1e-8)
    variance = second / mass - (first / mass) ** 2
    assert state.root[state.pattern[0], 0, 0] ** 2 == pytest.approx(variance, rel=1e-7)


# The first reading strays for certain, so that only the second counts.
CHANCE_SECOND = np.array([[1.0, 0.0, 0.0]])
