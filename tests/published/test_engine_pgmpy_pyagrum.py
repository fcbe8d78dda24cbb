"""Posteriors of one cause with many tests, against general libraries and against exact arithmetic.

Sources: pgmpy (Ankan and Textor 2024, Journal of Machine Learning Research 25(265)) and pyAgrum
(Ducamp, Gonzales and Wuillemin 2020, Proceedings of Machine Learning Research 138, 609-612), both
exact libraries for graphical models; and rational arithmetic, in which nothing is rounded. Models
are random, with tests of two to six outcomes; tolerance 1e-9 on every probability.

Evidence of probability 1e-380 lies below the smallest double, about 4.9e-324 (IEEE 754). It comes
about by itself: a few hundred tests that are each a little unexpected.
"""

import math
import os
from fractions import Fraction

import numpy as np
import pytest
from one_cause import (
    Weighing,
    drawn_evidence,
    exact_log10,
    exact_posterior,
    random_one_cause,
    unlikely_evidence,
)

try:
    from one_cause_peers import pgmpy_ways, pyagrum_ways
except ImportError:
    if os.environ.get("CI"):
        raise
    pytest.skip("pgmpy or pyAgrum is not installed", allow_module_level=True)

pytestmark = pytest.mark.filterwarnings("ignore")

SMALL, MEDIUM = (12, 8), (400, 60)
UNLIKELY = {"even": 0.2, "unlike": 0.05}


@pytest.mark.parametrize("size", [SMALL, MEDIUM], ids=["small", "medium"])
@pytest.mark.parametrize("seed", range(3))
def test_posterior_is_that_of_general_libraries(size, seed):
    model = random_one_cause(*size, seed, even=0.5)
    evidence = drawn_evidence(model, seed)
    found = Weighing(model)(evidence).probabilities
    ways = {**pgmpy_ways(model, ["greedy", "MinFill"]), **pyagrum_ways(model)}
    for name, build in ways.items():
        np.testing.assert_allclose(build()(evidence), found, rtol=0.0, atol=1e-9, err_msg=name)


@pytest.mark.parametrize("size", [SMALL, MEDIUM], ids=["small", "medium"])
@pytest.mark.parametrize("seed", range(3))
def test_posterior_and_evidence_are_exact(size, seed):
    model = random_one_cause(*size, seed, even=0.5)
    evidence = drawn_evidence(model, seed)
    exact = exact_posterior(model, evidence)
    for belief in (Weighing(model)(evidence), Weighing(model).at_once(evidence)):
        np.testing.assert_allclose(belief.probabilities, exact, rtol=0.0, atol=1e-9)
        log10 = belief.log_evidence / math.log(10.0)
        assert log10 == pytest.approx(exact_log10(model, evidence), abs=1e-9)


def test_the_exact_posterior_is_that_of_fractions():
    model = random_one_cause(*SMALL, 5)
    evidence = drawn_evidence(model, 5)
    weights = [Fraction(chance) for chance in model.prior.tolist()]
    for name, outcome in evidence.items():
        chances = model.tables[name][outcome].tolist()
        weights = [w * Fraction(c) for w, c in zip(weights, chances, strict=True)]
    shares = [float(weight / sum(weights)) for weight in weights]
    assert exact_posterior(model, evidence).tolist() == shares
    log10 = math.log10(sum(weights))
    assert exact_log10(model, evidence) == pytest.approx(log10, abs=1e-12)


def test_some_tests_not_made():
    model = random_one_cause(*MEDIUM, 4, even=0.5)
    evidence = dict(list(drawn_evidence(model, 4).items())[::3])
    found = Weighing(model)(evidence).probabilities
    for name, build in {**pgmpy_ways(model, ["greedy"]), **pyagrum_ways(model)}.items():
        np.testing.assert_allclose(build()(evidence), found, rtol=0.0, atol=1e-9, err_msg=name)


@pytest.mark.parametrize("seed", range(4))
def test_evidence_below_the_smallest_double_is_weighed_exactly(seed):
    model = random_one_cause(60, 300, seed, **UNLIKELY)
    evidence = unlikely_evidence(model, -380.0)
    assert exact_log10(model, evidence) < -380.0
    exact = exact_posterior(model, evidence)
    for belief in (Weighing(model)(evidence), Weighing(model).at_once(evidence)):
        np.testing.assert_allclose(belief.probabilities, exact, rtol=0.0, atol=1e-9)
        log10 = belief.log_evidence / math.log(10.0)
        assert log10 == pytest.approx(exact_log10(model, evidence), abs=1e-9)


def test_order_of_evidence_does_not_matter_there():
    model = random_one_cause(60, 300, 1, **UNLIKELY)
    evidence = unlikely_evidence(model, -380.0)
    backwards = dict(reversed(evidence.items()))
    one, other = Weighing(model)(evidence), Weighing(model)(backwards)
    np.testing.assert_allclose(one.probabilities, other.probabilities, rtol=0.0, atol=1e-11)
