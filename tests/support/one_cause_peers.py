"""Models of one cause in general libraries, and the exact ways of asking them.

pgmpy (Ankan and Textor 2024, Journal of Machine Learning Research 25(265)) and pyAgrum (Ducamp,
Gonzales and Wuillemin 2020, Proceedings of Machine Learning Research 138, 609-612).
"""

from __future__ import annotations

import os
import warnings
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from one_cause import CAUSE, Evidence, FloatArray, OneCause

with warnings.catch_warnings():  # a warning made an error while they load ends the process
    warnings.simplefilter("ignore")
    import pyagrum
    from pgmpy import config
    from pgmpy.factors.discrete import TabularCPD
    from pgmpy.inference import VariableElimination
    from pgmpy.models import DiscreteBayesianNetwork

Ask = Callable[[Evidence], FloatArray]
"""The posterior of the cause, shape (H,), from the outcomes of tests."""


def pgmpy_network(model: OneCause) -> Any:
    """Return the model as a Bayesian network of pgmpy."""
    network = DiscreteBayesianNetwork()
    states = len(model.prior)
    network.add_node(CAUSE)
    network.add_edges_from((CAUSE, name) for name in model.tables)
    network.add_cpds(
        TabularCPD(CAUSE, states, model.prior[:, None]),
        *(
            TabularCPD(name, len(table), table, [CAUSE], [states])
            for name, table in model.tables.items()
        ),
    )
    return network


def pgmpy_ways(model: OneCause, orders: Sequence[str]) -> Mapping[str, Callable[[], Ask]]:
    """Return ways of asking pgmpy, each from what builds it.

    "greedy" contracts all tables in one go (opt_einsum); the other orders multiply them one after
    the other. A Bayesian network is pruned at every question, which takes most of the time here; as
    a Markov network it is not.
    """

    def network(order: str) -> Ask:
        return _by_elimination(VariableElimination(pgmpy_network(model)), order)

    def undirected() -> Ask:
        return _by_elimination(VariableElimination(pgmpy_network(model).to_markov_model()))

    ways = {f"pgmpy, elimination, {order}": lambda order=order: network(order) for order in orders}
    return {**ways, "pgmpy, as a Markov network, greedy": undirected}


def pgmpy_with_torch(model: OneCause, orders: Sequence[str]) -> Mapping[str, Callable[[], Ask]]:
    """Return the same ways with PyTorch as backend, in double precision."""
    ways = pgmpy_ways(model, orders)
    return {f"{name}, torch": lambda build=build: _torch(build) for name, build in ways.items()}


def _torch(build: Callable[[], Ask]) -> Ask:
    def on_torch(work: Callable[[], Any]) -> Any:
        import torch  # noqa: PLC0415 - not among the dependencies

        config.set_backend("torch", device="cpu", dtype=torch.float64)
        try:
            return work()
        finally:
            config.set_backend("numpy")

    ask = on_torch(build)
    return lambda evidence: np.asarray(on_torch(lambda: ask(evidence)))


def _by_elimination(engine: Any, order: str = "greedy") -> Ask:
    def ask(evidence: Evidence) -> FloatArray:
        found = engine.query(
            [CAUSE], evidence=dict(evidence), elimination_order=order, show_progress=False
        )
        values = np.asarray(found.values)
        with np.errstate(invalid="ignore"):
            return np.asarray(values / values.sum())

    return ask


def pyagrum_network(model: OneCause) -> Any:
    """Return the model as a Bayesian network of pyAgrum."""
    network = pyagrum.BayesNet()
    cause = network.add(pyagrum.RangeVariable(CAUSE, "", 0, len(model.prior) - 1))
    network.cpt(cause)[:] = model.prior
    for name, table in model.tables.items():
        test = network.add(pyagrum.RangeVariable(name, "", 0, len(table) - 1))
        network.addArc(cause, test)
        network.cpt(test)[:] = np.ascontiguousarray(table.T)
    return network


def pyagrum_field(model: OneCause) -> Any:
    """Return the model as a Markov random field of pyAgrum."""
    field = pyagrum.MarkovRandomField()
    field.add(pyagrum.RangeVariable(CAUSE, "", 0, len(model.prior) - 1))
    alone = pyagrum.Tensor().add(field.variable(CAUSE))
    alone[:] = model.prior
    field.addFactor(alone)
    for name, table in model.tables.items():
        field.add(pyagrum.RangeVariable(name, "", 0, len(table) - 1))
        factor = pyagrum.Tensor().add(field.variable(CAUSE)).add(field.variable(name))
        factor[:] = table
        field.addFactor(factor)
    return field


def pyagrum_ways(model: OneCause) -> Mapping[str, Callable[[], Ask]]:
    """Return ways of asking pyAgrum, each from what builds it."""
    pyagrum.setNumberOfThreads(os.cpu_count() or 1)

    def network(kind: str) -> Ask:
        return _standing(getattr(pyagrum, kind)(pyagrum_network(model)))

    exact = ("LazyPropagation", "ShaferShenoyInference", "VariableElimination")
    ways = {f"pyAgrum, {kind}": lambda kind=kind: network(kind) for kind in exact}
    field = lambda: _standing(pyagrum.ShaferShenoyMRFInference(pyagrum_field(model)))  # noqa: E731
    return {**ways, "pyAgrum, as a Markov random field": field}


def _standing(engine: Any) -> Ask:
    """Return how to ask an engine that stays, so that it may keep what it has prepared."""
    engine.setTargets({CAUSE})

    def ask(evidence: Evidence) -> FloatArray:
        engine.setEvidence(dict(evidence))
        engine.makeInference()
        return np.asarray(engine.posterior(CAUSE).toarray())

    return ask


class Incremental:
    """A standing engine of pyAgrum that is told of tests one by one."""

    def __init__(self, model: OneCause) -> None:
        self._engine = pyagrum.ShaferShenoyInference(pyagrum_network(model))
        self._engine.setTargets({CAUSE})
        self._ask = _standing(self._engine)

    def start(self, evidence: Evidence) -> None:
        """Let it work out what it can from the tests made before."""
        self._ask(evidence)

    def ask(self, further: Evidence) -> FloatArray:
        """Return the posterior after further tests."""
        for name, outcome in further.items():
            self._engine.addEvidence(name, outcome)
        self._engine.makeInference()
        return np.asarray(self._engine.posterior(CAUSE).toarray())
