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

IndexArray = NDArray[np.intp]
_NO_COSTS = np.empty(0)
_NO_LEVELS: IndexArray = np.empty(0, dtype=np.intp)


@dataclass(frozen=True)
class TabularState:
    """What has been done and seen.

    Parameters
    ----------
    repaired : frozenset of int
        Repairs that did not end the job.
    seen : frozenset of (int, int)
        Tests with their outcomes.
    level : int
        How far things have been prepared.
    """

    repaired: frozenset[int] = frozenset()
    seen: frozenset[tuple[int, int]] = frozenset()
    level: int = 0


@dataclass(frozen=True, eq=False)
class TabularProblem:
    """A :class:`~nextprobe.planning.problem.Problem` of a few rows.

    Outcomes of different repairs and tests are independent given the cause; each is done at
    most once. Options are called ``repair 0``, ``test 0``, ``stop 0`` and so on. Preparation
    (opening, taking a board out) is nested: what has been prepared once stays so, and an option
    costs what is missing to its level besides its price.

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
    penalties : ndarray, shape (A, H), or None
        What falls due if the repair ends the job, by cause: a comeback, say [currency].
    repair_levels, test_levels : ndarray of int, shapes (A,) and (T,)
        How far things must be prepared; all zero if left out.
    level_prices : ndarray, shape (L,)
        Price of preparing each level from the start, rising from 0 [currency].
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
    penalties: FloatArray | None = None
    repair_levels: IndexArray = field(default_factory=_NO_LEVELS.copy)
    test_levels: IndexArray = field(default_factory=_NO_LEVELS.copy)
    level_prices: FloatArray = field(default_factory=lambda: np.zeros(1))
    _tables: dict[tuple[frozenset[int], int], PlanTable] = field(
        default_factory=dict, init=False, repr=False
    )
    _weights: dict[TabularState, FloatArray] = field(default_factory=dict, init=False, repr=False)
    _useful: dict[bytes, frozenset[str]] = field(default_factory=dict, init=False, repr=False)

    def __post_init__(self) -> None:
        causes, repairs = self.priors.size, self.repair_prices.size
        if self._stops.shape[1] != causes or self._cures.shape != (repairs, causes):
            raise MisuseError("stop prices and cures need one column for each cause")
        if self._penalties.shape != (repairs, causes):
            raise MisuseError("penalties need one row for each repair, one column for each cause")
        if len(self.likelihoods) != self.test_prices.size:
            raise MisuseError("every test needs a price and likelihoods")
        for table in self.likelihoods:
            if table.shape[1:] != (causes,) or (abs(table.sum(axis=0) - 1.0) > 1e-9).any():
                raise MisuseError("likelihoods of a test must sum to one for each cause")
        for kind, count in (("repair", repairs), ("test", self.test_prices.size)):
            levels = self._levels[kind]
            if levels.shape != (count,) or not np.isin(levels, range(self.level_prices.size)).all():
                raise MisuseError(f"every {kind} needs one of the levels that have a price")

    @cached_property
    def _levels(self) -> Mapping[str, IndexArray]:
        given = {"repair": self.repair_levels, "test": self.test_levels}
        sizes = {"repair": self.repair_prices.size, "test": self.test_prices.size}
        return {
            kind: levels if levels.size else np.zeros(sizes[kind], dtype=np.intp)
            for kind, levels in given.items()
        }

    @cached_property
    def _stops(self) -> FloatArray:
        return np.atleast_2d(self.stop_prices)

    @cached_property
    def _cures(self) -> FloatArray:
        empty = np.empty((0, self.priors.size))
        return empty if self.cures is None else self.cures

    @cached_property
    def _penalties(self) -> FloatArray:
        return np.zeros(self._cures.shape) if self.penalties is None else self.penalties

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
        if state not in self._weights:
            weights = self.priors.astype(np.float64)
            for repair in sorted(state.repaired):
                weights = weights * (1.0 - self._cures[repair])
            for test, outcome in sorted(state.seen):
                weights = weights * self.likelihoods[test][outcome]
            self._weights[state] = weights
        return self._weights[state]

    def options(self, state: TabularState) -> Sequence[Option]:
        """Return what may still help: not done yet, not of certain outcome, within the limits."""
        return self._offered(state, self.weights(state) > 0.0)

    def key(self, state: TabularState) -> Hashable:
        """Return what is the same for states with the same future, up to rounding."""
        weights = self.weights(state)
        offered = tuple(option.id for option in self._offered(state, weights > 0.0))
        return offered, state.level, np.round(weights / weights.sum(), 12).tobytes()

    def price(self, state: TabularState, option: Option) -> float:
        """Return the price with what is missing of the preparation, or what giving up costs."""
        if option.kind == "stop":
            weights = self.weights(state)
            return float(self._stops[_index(option)] @ weights / weights.sum())
        missing = self.level_prices[self._level(option)] - self.level_prices[state.level]
        return self._all_options[option.id][1] + max(0.0, float(missing))

    def outcomes(self, state: TabularState, option: Option) -> Sequence[Branch[TabularState]]:
        """Return the possible outcomes; none for giving up."""
        if option.kind == "stop":
            return ()
        weights = self.weights(state)
        chances, index = self._outcome_weights(weights, option), _index(option)
        level, dues = max(state.level, self._level(option)), np.zeros(len(chances))
        if option.kind == "test":
            states: list[TabularState | None] = [
                TabularState(state.repaired, state.seen | {(index, outcome)}, level)
                for outcome in range(len(chances))
            ]
            labels = [f"outcome {outcome}" for outcome in range(len(chances))]
        else:
            states = [None, TabularState(state.repaired | {index}, state.seen, level)]
            labels = ["ended", "not ended"]
            dues[0] = self._penalties[index] @ chances[0]
        sums, total = chances.sum(axis=1), weights.sum()
        return [
            Branch(label, float(chance / total), after, float(due / chance))
            for label, chance, after, due in zip(labels, sums, states, dues, strict=True)
            if chance > 0.0
        ]

    def plan_table(self, state: TabularState) -> PlanTable:
        """Return the repairs that are left, and the final decisions as steps that end it."""
        return self._table(state.repaired, state.level).with_weights(self.weights(state))

    def leaf_batch(self, state: TabularState, option: Option) -> LeafBatch | None:
        """Return the outcomes of a repair or test as arrays."""
        if option.kind == "stop":
            return None
        repaired, weights, due = state.repaired, self.weights(state), 0.0
        chances, total = self._outcome_weights(weights, option), weights.sum()
        if option.kind == "repair":
            due = float(self._penalties[_index(option)] @ chances[0] / total)
            repaired, chances = repaired | {_index(option)}, chances[1:]
        table = self._table(repaired, max(state.level, self._level(option)))
        return LeafBatch(chances.sum(axis=1) / total, chances, table, due)

    def lower_bound(self, state: TabularState) -> float:
        """Return the expected cost if the cause were known."""
        return perfect_information(self.plan_table(state))

    def upper_bound(self, state: TabularState) -> float:
        """Return the expected cost of giving up now in the cheapest way."""
        weights = self.weights(state)
        return float((self._stops @ weights).min() / weights.sum())

    def _offered(self, state: TabularState, possible: NDArray[np.bool_]) -> list[Option]:
        pattern = possible.tobytes()
        if pattern not in self._useful:
            self._useful[pattern] = self._useful_for(possible)
        useful, tested = self._useful[pattern], {test for test, _ in state.seen}
        done = {"repair": state.repaired, "test": tested, "stop": frozenset[int]()}
        return [
            option
            for option, index in self._admitted_options
            if option.id in useful and index not in done[option.kind]
        ]

    def _useful_for(self, possible: NDArray[np.bool_]) -> frozenset[str]:
        """Return the ids of options that may help if only these causes are possible."""
        helps = np.any(self._cures[:, possible] > 0.0, axis=1).tolist()
        tells = [np.any(table[:, possible] > 0.0, axis=1).sum() > 1 for table in self.likelihoods]
        useful = {"repair": helps, "test": tells, "stop": [True] * len(self._stops)}
        return frozenset(
            option.id for option, index in self._admitted_options if useful[option.kind][index]
        )

    def _level(self, option: Option) -> int:
        return int(self._levels[option.kind][_index(option)])

    @cached_property
    def _admitted_options(self) -> Sequence[tuple[Option, int]]:
        return [
            (option, _index(option))
            for name, (option, _) in self._all_options.items()
            if self._admitted(name)
        ]

    def _outcome_weights(self, weights: FloatArray, option: Option) -> FloatArray:
        if option.kind == "test":
            return np.asarray(weights * self.likelihoods[_index(option)])
        cured = weights * self._cures[_index(option)]
        return np.stack((cured, weights - cured))

    def _admitted(self, name: str) -> bool:
        option, price = self._all_options[name]
        return self.limits.admits(option, 0.0 if option.kind == "stop" else price)

    def _table(self, repaired: frozenset[int], level: int) -> PlanTable:
        if (repaired, level) not in self._tables:
            self._tables[repaired, level] = self._made_table(repaired, level)
        return self._tables[repaired, level]

    def _made_table(self, repaired: frozenset[int], level: int) -> PlanTable:
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
            np.vstack((self._penalties[repairs], stops)),
            self._stops[0].astype(np.float64),
            np.concatenate((self._levels["repair"][repairs], np.zeros(len(stops), np.intp))),
            np.maximum(self.level_prices - self.level_prices[level], 0.0),
        )


def _index(option: Option) -> int:
    return int(option.id.rpartition(" ")[2])
