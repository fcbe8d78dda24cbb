"""How causes show themselves, and the noisy OR."""

import numpy as np
import pytest

from nextprobe.belief import Ensemble, ImperfectCheck, Manifestation, Shows, enumerate_sets
from nextprobe.belief.noisy_or import failure_probability, posterior, posterior_marginals
from nextprobe.errors import MisuseError


def test_a_repeated_check_is_not_fresh_proof():
    shows = Manifestation(always=0.6, intermittent=0.3, duty=0.5)
    check = ImperfectCheck(false_pass=0.0, false_fail=0.0)
    belief = Ensemble(np.log([0.5, 0.5]), {"hypothesis": np.array([0, 1])})
    belief = belief.split("shows", list(Shows), shows.probabilities)
    duty = shows.duties(belief.columns["shows"]) * (belief.columns["hypothesis"] == 1)
    with np.errstate(divide="ignore"):
        passed = np.log(1.0 - check.failure_probability(duty[:, None]))
    once, twice = belief.condition(passed), belief.condition(passed).condition(passed)
    # By hand: the cause survives a pass if it never shows (.1) or was not showing (.3 × .5).
    assert once.marginal("hypothesis")[1] == pytest.approx(0.25 / 1.25)
    assert twice.marginal("hypothesis")[1] == pytest.approx(0.175 / 1.175)
    assert twice.marginal("hypothesis")[1] > (0.25**2) / (0.25**2 + 1.0)


def test_errors_of_the_check_are_independent_of_the_cause():
    check = ImperfectCheck(false_pass=0.1, false_fail=0.02)
    chances = check.failure_probability([[0.0, 0.0], [1.0, 0.0], [0.5, 0.5]])
    assert chances == pytest.approx([0.02, 0.9, 0.75 * 0.9 + 0.25 * 0.02])


@pytest.mark.parametrize("values", [(0.8, 0.3, 0.5), (-0.1, 0.3, 0.5), (0.5, 0.3, 1.5)])
def test_chances_of_showing_are_checked(values):
    with pytest.raises(MisuseError):
        Manifestation(*values)
    with pytest.raises(MisuseError):
        ImperfectCheck(false_pass=values[0] - 1.5)


def test_noisy_or_by_hand_and_where_it_is_tiny():
    chances = failure_probability([[0, 0], [1, 0], [1, 1]], [0.8, 0.5], leak=0.1)
    assert chances == pytest.approx([0.1, 1 - 0.9 * 0.2, 1 - 0.9 * 0.2 * 0.5])
    assert failure_probability([1], [1e-20]) == pytest.approx(1e-20, rel=1e-12)
    assert failure_probability([[1, 0], [0, 1]], [1.0, 0.0]) == pytest.approx([1.0, 0.0])


def test_mass_of_larger_sets_bounds_the_error_of_leaving_them_out():
    priors, strengths = [0.1, 0.2, 0.05], [[0.9, 0.5, 0.0], [0.0, 0.7, 0.8]]
    findings = [True, True]
    exact = posterior_marginals(priors, strengths, [0.01, 0.01], findings)
    singles = posterior_marginals(priors, strengths, [0.01, 0.01], findings, largest_set=1)
    assert abs(exact - singles).max() > 0.05
    sets = posterior(priors, strengths, [0.01, 0.01], [None, None], largest_set=1)
    assert len(sets.log_weights) == 1
    assert sets.marginals == pytest.approx(priors)
    sets = enumerate_sets(priors, lambda present: np.zeros(len(present)), largest_set=1)
    none_or_one = 0.9 * 0.8 * 0.95 * (1 + 1 / 9 + 1 / 4 + 1 / 19)
    assert np.exp(sets.log_evidence) == pytest.approx(none_or_one)
    assert np.exp(sets.log_omitted) == pytest.approx(1.0 - none_or_one)


def test_twenty_five_positive_findings_do_not_cancel():
    """Inclusion-exclusion in float64 is wrong beyond about ten positive findings."""
    checks = 25
    strengths = np.tile([0.3, 0.2], (checks, 1))
    marginals = posterior_marginals([0.01, 0.01], strengths, [1e-3] * checks, [True] * checks)
    weights = {}
    for first in (0, 1):
        for second in (0, 1):
            fails = 1.0 - (1 - 1e-3) * 0.7**first * 0.8**second
            weights[first, second] = 0.01**first * 0.99 ** (1 - first)
            weights[first, second] *= 0.01**second * 0.99 ** (1 - second) * fails**checks
    total = sum(weights.values())
    assert marginals[0] == pytest.approx((weights[1, 0] + weights[1, 1]) / total, rel=1e-10)


def test_noisy_or_misuse():
    with pytest.raises(MisuseError):
        failure_probability([1], [1.2])
    with pytest.raises(MisuseError):
        enumerate_sets([0.5] * 40, lambda present: np.zeros(len(present)))
    with pytest.raises(MisuseError):
        enumerate_sets([-0.1], lambda present: np.zeros(len(present)))
    with pytest.raises(MisuseError):
        posterior_marginals([0.1], [[0.5, 0.5]], [0.0], [True])
    skipped = posterior_marginals([0.1], [[0.5]], [0.0], [None])
    assert skipped == pytest.approx([0.1])
