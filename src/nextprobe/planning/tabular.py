"""Small problems given as tables: a list of causes, repairs, tests and ways to give up."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief import Branch
from nextprobe.errors import MisuseError
from nextprobe.planning.option import Limits, Option
from nextprobe.planning.plan_table import FloatArray, PlanTable
from nextprobe.planning.plans import perfect_information
from nextprobe.planning.problem import LeafBatch

_NO_COSTS = np.empty(0)


@dataclass(frozen=True)
class TabularState:
    """What has been done and seen.

    Parameters
    ----------
    repaired : frozenset of int
        Repairs that did not end the job.
    seen : frozenset of (int, int)
        Tests with their outcomes.
    """

    repaired: frozenset[int] = frozenset()
    seen: frozenset[tuple[int, int]] = frozenset()


@dataclass(frozen=True, eq=False)
class TabularProblem:
    """A :class:`~nextprobe.planning.problem.Problem` of a few rows.

    Outcomes of different repairs and tests are independent given the cause; each is done at
    most once. Options are called ``repair 0``, ``test 0``, ``stop 0`` and so on.

    Parameters
    ----------
    priors : ndarray, shape (H,)
        Probabilities of the causes, of any positive scale.
    stop_prices : ndarray, shape (H,) or (D, H)
        Cost of each way to give up, or of each final decision, by cause [currency].
    repair_prices : ndarray, shape (A,)
        [currency].
    cures : ndarray, shape (A, H)
        Probability that the repair ends the job.
    test_prices : ndarray, shape (T,)
        [currency].
    likelihoods : sequence of T ndarrays, shapes (K_t, H)
        Probability of each outcome given the cause; columns sum to one.
    limits : Limits
        What must not happen.
    effects : mapping of str to frozenset of str
        Lasting effects by option id.

    Raises
    ------
    MisuseError
        If shapes do not fit or likelihoods do not sum to one.
    """

    priors: FloatArray
    stop_prices: FloatArray
    repair_prices: FloatArray = field(default_factory=_NO_COSTS.copy)
    cures: FloatArray | None = None
    test_prices: FloatArray = field(default_factory=_NO_COSTS.copy)
    likelihoods: Sequence[FloatArray] = ()
    limits: Limits = field(default_factory=Limits)
    effects: Mapping[str, frozenset[str]] = field(default_factory=dict)
    _tables: dict[frozenset[int], PlanTable] = field(default_factory=dict, init=False, repr=False)

    def __post_init__(self) -> None:
        causes = self.priors.size
        if self._stops.shape[1] != causes or self._cures.shape != (
            self.repair_prices.size,
            causes,
        ):
            raise MisuseError("stop prices and cures need one column for each cause")
        if len(self.likelihoods) != self.test_prices.size:
            raise MisuseError("every test needs a price and likelihoods")
        for table in self.likelihoods:
            if table.shape[1:] != (causes,) or (abs(table.sum(axis=0) - 1.0) > 1e-9).any():
                raise MisuseError("likelihoods of a test must sum to one for each cause")

    @cached_property
    def _stops(self) -> FloatArray:
        return np.atleast_2d(self.stop_prices)

    @cached_property
    def _cures(self) -> FloatArray:
        empty = np.empty((0, self.priors.size))
        return empty if self.cures is None else self.cures

    @cached_property
    def _all_options(self) -> Mapping[str, tuple[Option, float]]:
        ways = {
            "repair": self.repair_prices,
            "test": self.test_prices,
            "stop": self._stops[:, 0],
        }
        return {
            f"{kind} {index}": (
                Option(
                    f"{kind} {index}",
                    f"{kind} {index}",
                    kind,
                    effects=self.effects.get(f"{kind} {index}", frozenset()),
                ),
                float(price),
            )
            for kind, prices in ways.items()
            for index, price in enumerate(prices)
        }

    def weights(self, state: TabularState) -> FloatArray:
        """Return prior times likelihood of each cause, shape (H,)."""
        weights = self.priors.astype(np.float64)
        for repair in state.repaired:
            weights = weights * (1.0 - self._cures[repair])
        for test, outcome in state.seen:
            weights = weights * self.likelihoods[test][outcome]
        return weights

    def options(self, state: TabularState) -> Sequence[Option]:
        """Return what may still help: not done yet, not of certain outcome, within the limits."""
        possible = self.weights(state) > 0.0
        return [
            option
            for name, (option, _) in self._all_options.items()
            if self._admitted(name) and self._open(option, state, possible)
        ]

    def key(self, state: TabularState) -> Hashable:
        """Return what is the same for states with the same future, up to rounding."""
        weights = self.weights(state)
        names = tuple(option.id for option in self.options(state))
        return names, tuple(np.round(weights / weights.sum(), 12))

    def price(self, state: TabularState, option: Option) -> float:
        """Return the price; to give up costs what the belief makes of it."""
        if option.kind == "stop":
            weights = self.weights(state)
            return float(self._stops[_index(option)] @ weights / weights.sum())
        return self._all_options[option.id][1]

    def outcomes(self, state: TabularState, option: Option) -> Sequence[Branch[TabularState]]:
        """Return the possible outcomes; none for giving up."""
        if option.kind == "stop":
            return ()
        weights = self.weights(state)
        chances, index = self._outcome_weights(weights, option), _index(option)
        if option.kind == "test":
            states: list[TabularState | None] = [
                TabularState(state.repaired, state.seen | {(index, outcome)})
                for outcome in range(len(chances))
            ]
            labels = [f"outcome {outcome}" for outcome in range(len(chances))]
        else:
            states = [None, TabularState(state.repaired | {index}, state.seen)]
            labels = ["ended", "not ended"]
        sums = chances.sum(axis=1) / weights.sum()
        return [
            Branch(label, float(chance), after)
            for label, chance, after in zip(labels, sums, states, strict=True)
            if chance > 0.0
        ]

    def plan_table(self, state: TabularState) -> PlanTable:
        """Return the repairs that are left, and the final decisions as steps that end it."""
        return self._table(state.repaired).with_weights(self.weights(state))

    def leaf_batch(self, state: TabularState, option: Option) -> LeafBatch | None:
        """Return the outcomes of a repair or test as arrays."""
        if option.kind == "stop":
            return None
        repaired, chances = state.repaired, self._outcome_weights(self.weights(state), option)
        if option.kind == "repair":
            repaired, chances = repaired | {_index(option)}, chances[1:]
        sums = chances.sum(axis=1) / self.weights(state).sum()
        return LeafBatch(sums, chances, self._table(repaired))

    def lower_bound(self, state: TabularState) -> float:
        """Return the expected cost if the cause were known."""
        return perfect_information(self.plan_table(state))

    def _open(self, option: Option, state: TabularState, possible: NDArray[np.bool_]) -> bool:
        index = _index(option)
        if option.kind == "repair":
            return index not in state.repaired and bool(self._cures[index, possible].any())
        if option.kind == "test":
            unseen = all(test != index for test, _ in state.seen)
            chances = self.likelihoods[index][:, possible]
            return unseen and bool((chances.max(axis=1) > 0.0).sum() > 1)
        return True

    def _outcome_weights(self, weights: FloatArray, option: Option) -> FloatArray:
        if option.kind == "test":
            return np.asarray(weights * self.likelihoods[_index(option)])
        cured = weights * self._cures[_index(option)]
        return np.stack((cured, weights - cured))

    def _admitted(self, name: str) -> bool:
        option, price = self._all_options[name]
        return self.limits.admits(option, 0.0 if option.kind == "stop" else price)

    def _table(self, repaired: frozenset[int]) -> PlanTable:
        if repaired not in self._tables:
            self._tables[repaired] = self._made_table(repaired)
        return self._tables[repaired]

    def _made_table(self, repaired: frozenset[int]) -> PlanTable:
        repairs = [
            index
            for index in range(self.repair_prices.size)
            if index not in repaired and self._admitted(f"repair {index}")
        ]
        stops: NDArray[np.float64] = self._stops[1:]
        names = [f"repair {i}" for i in repairs]
        names += [f"stop {i}" for i in range(1, 1 + len(stops))]
        return PlanTable(
            tuple(names),
            self.priors.astype(np.float64),
            np.concatenate((self.repair_prices[repairs], np.zeros(len(stops)))),
            np.vstack((self._cures[repairs], np.ones_like(stops))),
            np.vstack((np.zeros((len(repairs), self.priors.size)), stops)),
            self._stops[0].astype(np.float64),
        )


def _index(option: Option) -> int:
    return int(option.id.rpartition(" ")[2])
