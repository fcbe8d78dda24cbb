"""Several faults at once in the multiplier-adder circuit.

Source: de Kleer and Williams (1987), Diagnosing multiple faults, Artificial Intelligence 32(1),
97-130, sec. 2: multipliers M1, M2, M3 and adders A1, A2; A = C = E = 3, B = D = 2, hence
F = G = 12; observed are F = 10 and G = 12; each part is broken with probability .01. Conflicts
and minimal diagnoses are the paper's. The posteriors follow from its definitions (computed by
enumeration, not seen in the paper).
"""

import numpy as np
import pytest

from nextprobe.belief import enumerate_sets

PARTS = ("M1", "M2", "M3", "A1", "A2")
CONFLICTS = ({"M1", "M2", "A1"}, {"M1", "M3", "A1", "A2"})
MINIMAL = ({"A1"}, {"M1"}, {"M2", "M3"}, {"M2", "A2"})


def consistent(present):
    """Return 0 where a set of broken parts meets every conflict, minus infinity elsewhere."""
    meets = np.ones(len(present), dtype=bool)
    for conflict in CONFLICTS:
        members = [PARTS.index(part) for part in conflict]
        meets &= present[:, members].any(axis=1)
    with np.errstate(divide="ignore"):
        return np.log(meets)


def found(largest_set=None):
    return enumerate_sets([0.01] * 5, consistent, largest_set=largest_set)


def numbers(*parts):
    return [PARTS.index(part) for part in parts]


def test_the_sets_that_explain_it():
    posterior = found()
    explaining = posterior.present[posterior.log_weights > -np.inf]
    assert len(explaining) == 27
    sets = [{PARTS[i] for i in np.flatnonzero(row)} for row in explaining]
    minimal = [one for one in sets if not any(other < one for other in sets)]
    assert sorted(map(sorted, minimal)) == sorted(map(sorted, MINIMAL))


def test_posterior_with_all_sets():
    posterior = found()
    assert posterior.omitted_share == 0.0
    for part in ("M1", "A1"):
        assert posterior.probability(numbers(part)) == pytest.approx(0.47803, abs=5e-6)
    expected = {"M1": 0.49764, "A1": 0.49764, "M2": 0.01961, "M3": 0.01478, "A2": 0.01478}
    for part, chance in expected.items():
        assert posterior.marginals[PARTS.index(part)] == pytest.approx(chance, abs=5e-6)
    chances = posterior.probabilities[posterior.probabilities > 0.0]
    entropy = -(chances * np.log2(chances)).sum()
    assert entropy == pytest.approx(1.3594, abs=5e-5)


def test_posterior_with_pairs_and_what_they_leave_out():
    pairs = found(largest_set=2)
    assert pairs.probability(numbers("M1")) == pytest.approx(0.47826, abs=5e-6)
    assert not pairs.vacuous
    # The bound is the prior of three and more; the truth is what they really hold.
    really = 1.0 - 0.47803 / 0.47826
    assert really <= pairs.omitted_share < 2.0 * really + 1e-3


def test_a_single_fault_hides_the_double_ones():
    single = found(largest_set=1)
    assert single.marginals == pytest.approx([0.5, 0.0, 0.0, 0.5, 0.0])
