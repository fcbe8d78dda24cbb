"""Likelihood of readings that may be censored or slips."""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from nextprobe.belief import interval_probabilities, log_likelihood
from nextprobe.errors import MisuseError

MEANS = np.array([0.45, 1.98, 0.0, -3.0])
DEVIATIONS = np.array([0.02, 0.05, 1.0, 0.1])
OVER = np.array([False, False, True, False])
SETTINGS = {
    "limit": 2.0,
    "slip_probability": 0.02,
    "slip_over_probability": 0.4,
}


@pytest.mark.parametrize("row", range(4))
def test_density_and_atom_have_the_mass_one(row):
    prediction = (MEANS[row], DEVIATIONS[row], OVER[row])

    def density(y):
        return math.exp(log_likelihood(y, *prediction, **SETTINGS, span=2.0)[0])

    # Slips are uniform over the span, whose lower end is 0; below it only the normal counts.
    numbers = quad(density, 0.0, 2.0, points=[0.4, 0.5, 1.8], limit=500)[0]
    slip = SETTINGS["slip_probability"] * 0.6 / 2.0
    below = quad(lambda y: density(y) - slip, -5.0, 0.0, points=[-3.3, -3.0, -2.7], limit=500)[0]
    atom = math.exp(log_likelihood(None, *prediction, **SETTINGS, span=2.0)[0])
    assert numbers + below + atom == pytest.approx(1.0, abs=1e-9)


def test_table_of_the_four_cases_by_hand():
    held, slip = 0.98, 0.02
    number = np.exp(log_likelihood(0.45, MEANS, DEVIATIONS, OVER, **SETTINGS))
    normal = 1.0 / (0.02 * math.sqrt(2.0 * math.pi))
    assert number[0] == pytest.approx(held * normal + slip * 0.6 / 2.0)
    assert number[2] == pytest.approx(slip * 0.6 / 2.0)
    over = np.exp(log_likelihood(None, MEANS, DEVIATIONS, OVER, **SETTINGS))
    assert over[2] == pytest.approx(held + slip * 0.4)
    tail = 0.5 * math.erfc(0.4 / math.sqrt(2.0))
    assert over[1] == pytest.approx(held * tail + slip * 0.4)


def test_without_slips_far_readings_stay_finite_in_logarithms():
    far = log_likelihood(
        1.9, 0.0, 0.01, False, limit=2.0, slip_probability=0.0, slip_over_probability=0.0
    )
    assert far[0] == pytest.approx(-0.5 * 190.0**2 - math.log(0.01 * math.sqrt(2 * math.pi)))
    impossible = log_likelihood(
        1.9, 0.0, 0.01, True, limit=2.0, slip_probability=0.0, slip_over_probability=0.0
    )
    assert impossible[0] == -math.inf


def test_intervals_agree_with_the_density():
    edges = [0.0, 0.4, 0.5, 1.9, 2.0]
    chances = interval_probabilities(edges, MEANS, DEVIATIONS, OVER, **SETTINGS)
    assert chances.shape == (4, 5)
    assert chances.sum(axis=1) == pytest.approx(np.ones(4), abs=1e-12)
    for row, prediction in enumerate(zip(MEANS, DEVIATIONS, OVER, strict=True)):
        mass = quad(
            lambda y, p=prediction: math.exp(log_likelihood(y, *p, **SETTINGS)[0]), 0.4, 0.5
        )[0]
        assert chances[row, 1] == pytest.approx(mass, abs=1e-9)
        atom = math.exp(log_likelihood(None, *prediction, **SETTINGS)[0])
        assert chances[row, -1] == pytest.approx(atom, abs=1e-12)


def test_outer_edges_do_not_matter_and_intervals_beyond_the_limit_are_empty():
    inner = interval_probabilities([0.0, 0.5, 2.0], MEANS, DEVIATIONS, OVER, **SETTINGS)
    outer = interval_probabilities([-math.inf, 0.5, math.inf], MEANS, DEVIATIONS, OVER, **SETTINGS)
    assert outer == pytest.approx(inner)
    beyond = interval_probabilities([0.0, 0.5, 2.5, 3.0], MEANS, DEVIATIONS, OVER, **SETTINGS)
    assert beyond[:, 2] == pytest.approx(np.zeros(4), abs=1e-15)
    assert beyond[:, [0, 1, 3]] == pytest.approx(inner)


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"slip_probability": 1.1}, "probability"),
        ({"slip_over_probability": -0.1}, "probability"),
        ({"limit": 0.4}, "beyond"),
        ({"limit": 2.0, "span": 0.0}, "spread"),
    ],
)
def test_misuse_is_refused(change, word):
    with pytest.raises(MisuseError, match=word):
        log_likelihood(0.45, MEANS, DEVIATIONS, OVER, **{**SETTINGS, **change})


def test_deviations_must_be_positive_and_edges_rise():
    with pytest.raises(MisuseError, match="deviation"):
        log_likelihood(0.45, 0.4, 0.0, False, **SETTINGS)
    with pytest.raises(MisuseError, match="rise"):
        interval_probabilities([0.0, 0.0, 1.0], 0.4, 0.1, False, **SETTINGS)
