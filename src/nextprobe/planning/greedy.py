"""Greedy orders for many beliefs at once, each stopped at its best point.

Two rules, both renewed after every step for the worlds that are still open: the chance of
ending the job per price (the updated p/c order of Jensen et al. 2001, which is also the greedy
rule for a weighted cover), and the expected cost saved per price. Equals are taken in the order
of the table, so that rounding decides nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nextprobe.planning.plan_table import FloatArray, PlanTable

_NEGLIGIBLE = 1e-12


@dataclass(frozen=True, eq=False)
class GreedyPlans:
    """One stopped order for each belief.

    Parameters
    ----------
    steps : ndarray of int, shape (B, K)
        Indices of steps in the order taken; -1 where there is none.
    lengths : ndarray of int, shape (B,)
        How many of them to take before giving up.
    values : ndarray, shape (B,)
        Expected cost times the total weight of the belief.
    """

    steps: NDArray[np.intp]
    lengths: NDArray[np.intp]
    values: FloatArray

    @property
    def firsts(self) -> NDArray[np.intp]:
        """The first step taken under each belief, shape (B,); -1 where there is none."""
        return self.steps[:, 0] if self.steps.shape[1] else np.full(len(self.steps), -1, np.intp)

    def order(self, belief: int, names: tuple[str, ...]) -> tuple[str, ...]:
        """Return the names of the steps to take under one belief."""
        return tuple(names[step] for step in self.steps[belief, : self.lengths[belief]])


def cheapest_greedy(weights: FloatArray, table: PlanTable) -> GreedyPlans:
    """Return the cheaper of the two greedy plans for each belief.

    Parameters
    ----------
    weights : ndarray, shape (B, G)
        Beliefs over the groups of ``table.grouped``.
    table : PlanTable
        The steps.
    """
    grouped = table.grouped
    saved = grouped.stop_prices - grouped.penalties
    chances = by_chance(weights, table)
    possible = saved[grouped.ends > 0.0]
    if possible.size == 0 or possible.min() == possible.max():
        return chances
    savings = _follow(weights, table, grouped.ends * saved)
    better = savings.values < chances.values
    columns = max(chances.steps.shape[1], savings.steps.shape[1])
    return GreedyPlans(
        np.where(better[:, None], _widened(savings, columns), _widened(chances, columns)),
        np.where(better, savings.lengths, chances.lengths),
        np.where(better, savings.values, chances.values),
    )


def by_chance(weights: FloatArray, table: PlanTable) -> GreedyPlans:
    """Return the updated p/c order for each belief; parameters as :func:`cheapest_greedy`."""
    return _follow(weights, table, table.grouped.ends)


def _widened(plans: GreedyPlans, columns: int) -> NDArray[np.intp]:
    missing = columns - plans.steps.shape[1]
    return np.pad(plans.steps, ((0, 0), (0, missing)), constant_values=-1)


def _follow(weights: FloatArray, table: PlanTable, gains: FloatArray) -> GreedyPlans:
    """Take the step with the greatest gain per price, again and again."""
    if len(weights) == 1:
        return _follow_one(weights[0], table, gains)
    return _follow_many(weights, table, gains)


def _follow_one(going: FloatArray, table: PlanTable, gains: FloatArray) -> GreedyPlans:
    """Do as `_follow_many` for one belief: most are asked for alone, and this takes a third."""
    grouped = table.grouped
    prices, levels = table.prices_from.tolist(), table.levels.tolist()
    per_price = 1.0 / np.maximum(table.prices_from, _NEGLIGIBLE)
    losses, goes_on = grouped.ends * grouped.penalties, 1.0 - grouped.ends
    summing = np.stack((grouped.stop_prices, grouped.known_costs, np.ones(going.size)))
    stop, known, weight = (summing @ going).tolist()
    best, length, level, spent = stop, 0, 0, 0.0
    negligible, unused = best * _NEGLIGIBLE, np.zeros(len(levels))
    taken: list[int] = []
    while len(taken) < len(levels):
        index = (gains @ going) * per_price[level] + unused
        top = float(index.max())
        if top <= 0.0 or spent + known + negligible >= best:
            break
        chosen = int((index >= top - top * _NEGLIGIBLE).argmax())
        taken.append(chosen)
        unused[chosen] = -np.inf
        spent += weight * prices[level][chosen] + float(losses[chosen] @ going)
        level = max(level, levels[chosen])
        going = going * goes_on[chosen]
        stop, known, weight = (summing @ going).tolist()
        if spent + stop < best:
            best, length = spent + stop, len(taken)
    steps = np.array(taken, dtype=np.intp)[None, :]
    return GreedyPlans(steps, np.array([length], dtype=np.intp), np.array([best]))


def _follow_many(weights: FloatArray, table: PlanTable, gains: FloatArray) -> GreedyPlans:
    grouped = table.grouped
    prices = np.maximum(table.prices_from, _NEGLIGIBLE)
    level = np.zeros(len(weights), dtype=np.intp)
    losses = grouped.ends * grouped.penalties
    beliefs = np.arange(len(weights))
    best = weights @ grouped.stop_prices
    lengths = np.zeros(len(weights), dtype=np.intp)
    taken: list[NDArray[np.intp]] = []
    going, spent = weights, np.zeros(len(weights))
    negligible = best * _NEGLIGIBLE
    used = np.zeros((len(weights), len(table.names)), dtype=bool)
    while beliefs.size and len(taken) < len(table.names):
        index = np.where(used, -np.inf, (going @ gains.T) / prices[level])
        top = index.max(axis=1)
        chosen = (index >= (top - abs(top) * _NEGLIGIBLE)[:, None]).argmax(axis=1)
        promise = spent + going @ grouped.known_costs + negligible[beliefs]
        worth = (top > 0.0) & (promise < best[beliefs])
        beliefs, going, chosen = beliefs[worth], going[worth], chosen[worth]
        used, level = used[worth], level[worth]
        spent = spent[worth] + going.sum(axis=1) * table.prices_from[level, chosen]
        level = np.maximum(level, table.levels[chosen])
        used[np.arange(beliefs.size), chosen] = True
        step = np.full(len(weights), -1, dtype=np.intp)
        step[beliefs] = chosen
        taken.append(step)
        spent += np.einsum("bg,bg->b", going, losses[chosen])
        going = going * (1.0 - grouped.ends[chosen])
        total = spent + going @ grouped.stop_prices
        improved = total < best[beliefs]
        best[beliefs[improved]] = total[improved]
        lengths[beliefs[improved]] = len(taken)
    steps = np.stack(taken, axis=1) if taken else np.empty((len(weights), 0), dtype=np.intp)
    return GreedyPlans(steps, lengths, best)
