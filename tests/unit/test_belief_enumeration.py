"""Sets of faults by enumeration: factoring, bounds, and evidence of any size."""

import itertools
import math

import numpy as np
import pytest

from nextprobe.belief import enumerate_sets
from nextprobe.belief.noisy_or import posterior


def indifferent(present):
    return np.zeros(len(present))


def test_without_evidence_every_marginal_is_the_prior():
    priors = [0.3, 0.02, 0.6, 0.9]
    found = enumerate_sets(priors, indifferent)
    assert len(found.log_weights) == 16
    assert found.marginals == pytest.approx(priors)
    assert found.log_evidence == pytest.approx(0.0, abs=1e-12)
    assert found.log_omitted == -math.inf


def test_faults_that_touch_no_observation_are_not_enumerated():
    priors = np.full(60, 0.05)
    touching = np.arange(60) < 3

    def likelihood(present):
        assert not present[:, 3:].any()
        return np.where(present[:, 0] | present[:, 2], math.log(0.9), math.log(0.001))

    found = enumerate_sets(priors, likelihood, touching=touching)
    small = enumerate_sets(priors[:3], likelihood)
    assert len(found.log_weights) == 8
    assert found.marginals[:3] == pytest.approx(small.marginals, abs=1e-12)
    assert found.marginals[3:] == pytest.approx(priors[3:])


def test_evidence_of_1e_380_is_weighed():
    """In plain numbers it is zero; valid evidence must neither raise nor give NaN."""
    checks = 190
    strengths, leaks = np.full((checks, 2), 1e-12), np.full(checks, 1e-2)
    strengths[0] = [0.5, 0.0]
    found = posterior([1e-3, 0.2], strengths, leaks, [True] * checks)
    assert found.log_evidence / math.log(10.0) == pytest.approx(-379.8, abs=0.3)
    odds = (0.001 / 0.999) * (1.0 - 0.99 * 0.5) / 0.01
    assert found.marginals[0] == pytest.approx(odds / (1.0 + odds), rel=1e-6)
    assert np.isfinite(found.marginals).all()


def test_best_first_leaves_out_no_more_than_it_says():
    random = np.random.default_rng(3)
    priors = random.uniform(0.001, 0.05, 14)
    strengths = random.uniform(0.1, 0.95, (6, 14)) * (random.random((6, 14)) < 0.4)
    leaks = np.full(6, 0.01)
    network = priors, strengths, leaks, [True, False, True, False, False, False]
    exact = posterior(*network)
    for largest in (1, 2, 3):
        some = posterior(*network, largest_set=largest)
        missing = 1.0 - math.exp(some.log_evidence - exact.log_evidence)
        assert 0.0 <= missing <= some.omitted_share
        assert abs(some.marginals - exact.marginals).max() <= some.omitted_share
    assert posterior(*network, largest_set=3).omitted_share < 0.01


def test_a_bound_that_says_nothing_is_called_vacuous():
    found = enumerate_sets([0.4] * 12, indifferent, largest_set=1)
    assert found.vacuous
    assert not enumerate_sets([0.001] * 12, indifferent, largest_set=1).vacuous


def test_sets_that_do_not_count_are_not_even_looked_at():
    priors = np.full(200, 1e-4)
    seen = []

    def likelihood(present):
        seen.append(len(present))
        return indifferent(present)

    found = enumerate_sets(priors, likelihood, enough=1e-3)
    assert max(seen) <= 1 + 200 + 200 * 199 // 2
    assert found.omitted_share <= 1e-3


def test_factors_steer_the_order_and_do_not_change_the_answer():
    factors = np.array([-3.0, 0.5, -0.1, -8.0])

    def likelihood(present):
        return present @ factors - 1.0

    priors = [0.1, 0.2, 0.3, 0.4]
    plain = enumerate_sets(priors, likelihood, log_bound=1.0)
    steered = enumerate_sets(priors, likelihood, log_factors=factors, log_bound=-1.0)
    assert steered.marginals == pytest.approx(plain.marginals, abs=1e-12)
    odds = [math.exp(f) * p / (1 - p) for p, f in zip(priors, factors, strict=True)]
    by_hand = [each / (1.0 + each) for each in odds]
    assert plain.marginals == pytest.approx(by_hand)


@pytest.mark.parametrize("largest", [0, 1, 2, 5])
def test_every_set_up_to_the_size_comes_once(largest):
    random = np.random.default_rng(largest)
    priors = random.uniform(0.01, 0.99, 7)
    found = enumerate_sets(priors, indifferent, largest_set=largest)
    sets = {tuple(row) for row in found.present.tolist()}
    expected = {s for s in itertools.product([False, True], repeat=7) if sum(s) <= largest}
    assert sets == expected
    assert len(found.present) == len(expected)
    total = np.logaddexp(found.log_evidence, found.log_omitted)
    assert total == pytest.approx(0.0, abs=1e-9)
