"""Noisy-OR posteriors against variable elimination in pgmpy.

Source: pgmpy (Ankan and Textor 2024, Journal of Machine Learning Research 25(265)), a general
library for Bayesian networks that knows nothing of noisy OR: it gets full conditional tables.
Networks are random: up to 12 faults and 15 checks, all fault sets, tolerance 1e-9.
"""

import itertools
import warnings

import numpy as np
import pytest
from noisy_or_networks import random_network

from nextprobe.belief.noisy_or import posterior_marginals

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from pgmpy.factors.discrete import TabularCPD
    from pgmpy.inference import VariableElimination
    from pgmpy.models import DiscreteBayesianNetwork

pytestmark = pytest.mark.filterwarnings("ignore")


def by_elimination(priors, strengths, leaks, findings):
    """Return posterior fault probabilities from full tables; a plain product, no logarithms."""
    network = DiscreteBayesianNetwork()
    network.add_nodes_from([f"F{i}" for i in range(len(priors))])
    for i, prior in enumerate(priors):
        network.add_cpds(TabularCPD(f"F{i}", 2, [[1 - prior], [prior]]))
    for j, row in enumerate(strengths):
        parents = [i for i, strength in enumerate(row) if strength > 0.0]
        network.add_node(f"C{j}")
        network.add_edges_from((f"F{i}", f"C{j}") for i in parents)
        passes = [
            (1 - leaks[j])
            * np.prod([1 - row[i] for i, on in zip(parents, state, strict=True) if on])
            for state in itertools.product((0, 1), repeat=len(parents))
        ]
        network.add_cpds(
            TabularCPD(
                f"C{j}",
                2,
                [passes, [1 - value for value in passes]],
                [f"F{i}" for i in parents],
                [2] * len(parents),
            )
        )
    evidence = {f"C{j}": int(failed) for j, failed in enumerate(findings) if failed is not None}
    engine = VariableElimination(network)
    return [
        engine.query([f"F{i}"], evidence=evidence, show_progress=False).values[1]
        for i in range(len(priors))
    ]


@pytest.mark.parametrize("seed", range(6))
def test_marginals_agree_with_variable_elimination(seed):
    network = random_network(seed)
    ours = posterior_marginals(*network)
    theirs = by_elimination(*network)
    assert ours == pytest.approx(theirs, abs=1e-9)
