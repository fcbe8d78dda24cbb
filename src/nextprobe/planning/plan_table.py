"""Everything that a plan of unconditional steps needs to know, as arrays."""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from nextprobe.errors import MisuseError

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Grouped:
    """A plan table with worlds that no plan can tell apart put together.

    Parameters
    ----------
    group : ndarray of int, shape (R,)
        The group of each world.
    ends, penalties : ndarray, shape (A, G)
        As in :class:`PlanTable`; a penalty that can not fall due is zero.
    stop_prices : ndarray, shape (G,)
        As in :class:`PlanTable`.
    known_costs : ndarray, shape (G,)
        The least cost if the world were known and steps could be repeated [currency]. To
        repeat one step until it ends the job costs price / chance + penalty; mixing steps is
        not cheaper than the best of them, so this bounds every plan from below.
    """

    group: NDArray[np.intp]
    ends: FloatArray
    penalties: FloatArray
    stop_prices: FloatArray
    known_costs: FloatArray

    def sums(self, weights: FloatArray) -> FloatArray:
        """Return the weights of the groups, shape (B, G), from those of worlds, (B, R)."""
        if weights.shape[1] == 0:
            return weights
        order, starts = self._runs
        return np.add.reduceat(weights[:, order], starts, axis=1)

    @property
    def by_world(self) -> FloatArray:
        """The known costs of each world, shape (R,)."""
        return np.asarray(self.known_costs[self.group])

    @cached_property
    def _runs(self) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        order = np.argsort(self.group, kind="stable")
        return order, np.searchsorted(self.group[order], np.arange(self.stop_prices.size))


@dataclass(frozen=True, eq=False)
class PlanTable:
    """Steps that may end the job, world by world.

    A plan is an order of steps, each taken at most once while the job has not ended, and then
    giving up. In world ``r`` step ``a`` costs ``prices[a]``; it ends the job with probability
    ``ends[a, r]``, independently of other steps *given the world*, and then costs
    ``penalties[a, r]`` more. What is drawn once per device is therefore part of the world.

    Parameters
    ----------
    names : tuple of str, length A
        Ids of the steps, the same as those of options where there are such.
    weights : ndarray, shape (R,)
        Of the worlds, not negative; need not sum to one.
    prices : ndarray, shape (A,)
        [currency], not negative.
    ends : ndarray, shape (A, R)
        Probabilities.
    penalties : ndarray, shape (A, R)
        Expected extra cost if it ends there [currency], not negative.
    stop_prices : ndarray, shape (R,)
        Cost of giving up now [currency].
    levels : ndarray of int, shape (A,)
        How deep into a nested preparation each step reaches; all zero if left out. What has
        been prepared once stays so for the rest of the plan.
    level_prices : ndarray, shape (L,)
        Cost of preparing each level from where things stand, rising from 0 [currency].

    Raises
    ------
    MisuseError
        If shapes or ranges are wrong.
    """

    names: tuple[str, ...]
    weights: FloatArray
    prices: FloatArray
    ends: FloatArray
    penalties: FloatArray
    stop_prices: FloatArray
    levels: NDArray[np.intp] = field(default_factory=lambda: np.zeros(0, dtype=np.intp))
    level_prices: FloatArray = field(default_factory=lambda: np.zeros(1))

    def __post_init__(self) -> None:
        steps, worlds = len(self.names), len(self.weights)
        if self.levels.size == 0:
            object.__setattr__(self, "levels", np.zeros(steps, dtype=np.intp))
        shapes_wanted = {
            "prices": (steps,),
            "ends": (steps, worlds),
            "penalties": (steps, worlds),
            "stop_prices": (worlds,),
            "levels": (steps,),
        }
        for name, shape in shapes_wanted.items():
            if getattr(self, name).shape != shape:
                raise MisuseError(f"{name} should be of shape {shape}")
        if (self.weights < 0.0).any() or (self.prices < 0.0).any() or (self.penalties < 0.0).any():
            raise MisuseError("weights, prices and penalties must not be negative")
        if (self.ends < 0.0).any() or (self.ends > 1.0 + 1e-12).any():
            raise MisuseError("the chance that a step ends the job must be a probability")
        if steps and self.levels.max() >= self.level_prices.size:
            raise MisuseError("a step reaches a level that has no price")
        if self.level_prices[0] != 0.0 or (np.diff(self.level_prices) < 0.0).any():
            raise MisuseError("level prices must rise from 0")

    def with_weights(self, weights: FloatArray) -> PlanTable:
        """Return the same steps and worlds under another belief; the grouping is kept."""
        if weights.shape != self.weights.shape or (weights < 0.0).any():
            raise MisuseError(f"weights should be of shape {self.weights.shape}, not negative")
        grouped = self.grouped
        table = copy(self)
        object.__setattr__(table, "weights", weights)
        table.__dict__["grouped"] = grouped
        return table

    @cached_property
    def prices_from(self) -> FloatArray:
        """Price of each step when a level has been prepared already, shape (L, A)."""
        missing = self.level_prices[self.levels] - self.level_prices[:, None]
        return np.asarray(self.prices + np.maximum(missing, 0.0))

    @cached_property
    def grouped(self) -> Grouped:
        """The table by groups of worlds that are alike in every step."""
        penalties = np.where(self.ends > 0.0, self.penalties, 0.0)
        stacked = np.vstack((self.ends, penalties, self.stop_prices[None, :]))
        alike: dict[bytes, int] = {}
        rows = np.ascontiguousarray(stacked.T) + 0.0
        group = np.array([alike.setdefault(row.tobytes(), len(alike)) for row in rows], np.intp)
        first = np.unique(group, return_index=True)[1]
        ends, penalties, stop = self.ends[:, first], penalties[:, first], self.stop_prices[first]
        never = np.full(ends.shape, np.inf)
        repeated = np.divide(self.prices[:, None], ends, out=never, where=ends > 0.0)
        prepared = self.level_prices[self.levels][:, None]
        cheapest = (prepared + repeated + penalties).min(axis=0, initial=np.inf)
        return Grouped(group, ends, penalties, stop, np.minimum(stop, cheapest))
