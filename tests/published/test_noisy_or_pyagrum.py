"""Noisy-OR posteriors against lazy propagation in pyAgrum.

Source: pyAgrum (Ducamp, Gonzales and Wuillemin 2020, Proceedings of Machine Learning Research 138,
609-612), a general library for graphical models with noisy-OR nodes of its own. Networks are
random: up to 12 faults and 15 checks, all fault sets, tolerance 1e-9.
"""

import math
import os
import warnings

import pytest
from noisy_or_networks import random_network

from nextprobe.belief.noisy_or import posterior, posterior_marginals

try:
    with warnings.catch_warnings():  # a warning made an error while it loads ends the process
        warnings.simplefilter("ignore")
        import pyagrum
except ImportError:
    if os.environ.get("CI"):
        raise
    pyagrum = None

pytestmark = pytest.mark.skipif(pyagrum is None, reason="pyAgrum is not installed")


def by_propagation(priors, strengths, leaks, findings):
    """Return posterior fault probabilities and the probability of the evidence."""
    network = pyagrum.BayesNet()
    for fault, prior in enumerate(priors):
        name = network.add(pyagrum.LabelizedVariable(f"F{fault}", "", 2))
        network.cpt(name).fillWith([1.0 - prior, prior])
    for check, row in enumerate(strengths):
        name = network.addNoisyORNet(
            pyagrum.LabelizedVariable(f"C{check}", "", 2), float(leaks[check])
        )
        for fault, strength in enumerate(row):
            if strength > 0.0:
                network.addWeightedArc(network.idFromName(f"F{fault}"), name, float(strength))
    engine = pyagrum.LazyPropagation(network)
    engine.setEvidence(
        {f"C{check}": int(failed) for check, failed in enumerate(findings) if failed is not None}
    )
    engine.makeInference()
    chances = [float(engine.posterior(f"F{fault}")[1]) for fault in range(len(priors))]
    return chances, float(engine.evidenceProbability())


@pytest.mark.parametrize("seed", range(6))
def test_marginals_and_evidence_agree_with_lazy_propagation(seed):
    network = random_network(seed)
    chances, evidence = by_propagation(*network)
    assert posterior_marginals(*network) == pytest.approx(chances, abs=1e-9)
    found = posterior(*network)
    assert math.exp(found.log_evidence) == pytest.approx(evidence, rel=1e-9)
