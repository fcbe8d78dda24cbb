"""One cause of many states, and tests that depend on it alone: at random, and answered exactly."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief import Ensemble

CAUSE = "cause"
FloatArray = NDArray[np.float64]
Evidence = Mapping[str, int]
"""The outcome of each test that was made."""

_OUTCOMES = (2, 2, 3, 4, 6)


@dataclass(frozen=True, eq=False)
class OneCause:
    """A cause of H states and tests that are independent of each other once it is known.

    Parameters
    ----------
    prior : ndarray, shape (H,)
    tables : mapping of str to ndarray, each of shape (K, H)
        Chance of each of the K outcomes of a test under each state of the cause.
    """

    prior: FloatArray
    tables: Mapping[str, FloatArray]

    @property
    def two_valued(self) -> int:
        """How many tests have two outcomes."""
        return sum(len(table) == 2 for table in self.tables.values())


def random_one_cause(
    hypotheses: int, tests: int, seed: int = 0, *, unlike: float = 0.15, even: float = 2.0
) -> OneCause:
    """Return a model in which several hypotheses are left after all tests.

    Parameters
    ----------
    unlike : float
        How far hypotheses differ in what they predict of a test, from 0 to 1.
    even : float
        How even the outcomes of a test are: concentration of a symmetric Dirichlet distribution.
    """
    random = np.random.default_rng(seed)
    prior = random.dirichlet(np.full(hypotheses, 0.5))
    tables = {}
    for number, outcomes in enumerate(random.choice(_OUTCOMES, tests)):
        common = random.dirichlet(np.full(outcomes, even))
        own = random.dirichlet(np.full(outcomes, even), hypotheses)
        table = (1.0 - unlike) * common + unlike * own
        tables[f"test {number}"] = np.ascontiguousarray((table / table.sum(1, keepdims=True)).T)
    return OneCause(prior / prior.sum(), tables)


def drawn_evidence(model: OneCause, seed: int) -> dict[str, int]:
    """Return outcomes of all tests as they come with a cause drawn from the prior."""
    random = np.random.default_rng(seed)
    cause = random.choice(len(model.prior), p=model.prior)
    return {
        name: int(np.searchsorted(np.cumsum(table[:-1, cause]), random.random()))
        for name, table in model.tables.items()
    }


def unlikely_evidence(model: OneCause, log10: float) -> dict[str, int]:
    """Return outcomes of all tests that together are a little less likely than 10 ** log10.

    The first tests read what is rarest, as many as it takes; the others what is most usual.
    """
    means = {name: table.mean(axis=1) for name, table in model.tables.items()}
    found = {name: int(mean.argmax()) for name, mean in means.items()}
    logs = {name: np.log(table) for name, table in model.tables.items()}
    total = np.log(model.prior) + np.sum([logs[name][code] for name, code in found.items()], axis=0)
    for name, mean in means.items():
        rarest = int(mean.argmin())
        total += logs[name][rarest] - logs[name][found[name]]
        found[name] = rarest
        if np.logaddexp.reduce(total) < log10 * math.log(10.0):
            return found
    raise ValueError(f"no evidence of this model is less likely than 1e{log10:.0f}")


class Weighing:
    """The weighing of the tool: one world for each state, one piece of evidence after the other."""

    def __init__(self, model: OneCause) -> None:
        self._tables = {name: np.log(table) for name, table in model.tables.items()}
        codes = {CAUSE: np.arange(len(model.prior))}
        self._start = Ensemble(np.log(model.prior), codes)

    def __call__(self, evidence: Evidence, belief: Ensemble | None = None) -> Ensemble:
        """Return the belief after tests, from the prior or from a belief given."""
        belief = belief or self._start
        for name, outcome in evidence.items():
            belief = belief.condition(self._tables[name][outcome])
        return belief

    def at_once(self, evidence: Evidence) -> Ensemble:
        """Return the same with the logarithms summed first, and the belief conditioned once."""
        total = np.zeros(len(self._start))
        for name, outcome in evidence.items():
            total += self._tables[name][outcome]
        return self._start.condition(total)


def exact_weights(model: OneCause, evidence: Evidence) -> tuple[list[int], int]:
    """Return prior times likelihood of each state as whole numbers, and the power of two below.

    A float is a whole number over a power of two, so the product is exact.
    """
    factors = [model.prior, *(model.tables[name][code] for name, code in evidence.items())]
    weights, shift = [1] * len(model.prior), 0
    for factor in factors:
        mantissas, exponents = np.frexp(factor)
        least = int(exponents.min())
        whole = (mantissas * 2.0**53).astype(np.int64).tolist()
        lifted = (exponents - least).tolist()
        weights = [
            weight * (number << lift)
            for weight, number, lift in zip(weights, whole, lifted, strict=True)
        ]
        shift += 53 - least
    return weights, shift


def exact_posterior(model: OneCause, evidence: Evidence) -> FloatArray:
    """Return the posterior in rational arithmetic, rounded once at the end, shape (H,)."""
    weights, _ = exact_weights(model, evidence)
    total = sum(weights)
    return np.array([weight / total for weight in weights])


def exact_log10(model: OneCause, evidence: Evidence) -> float:
    """Return the logarithm to base ten of the probability of the evidence."""
    weights, shift = exact_weights(model, evidence)
    total = sum(weights)
    bits = total.bit_length()
    return math.log10(Fraction(total, 1 << bits)) + (bits - shift) * math.log10(2.0)


def largest_difference(one: Sequence[float] | FloatArray, other: FloatArray) -> float:
    """Return the greatest absolute difference; not a number if anything is not a number."""
    return float(np.abs(np.asarray(one) - other).max())
