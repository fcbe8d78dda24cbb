"""Plans that can be carried out without further questions, and what they cost.

Every value here is an upper bound on the optimum, since a plan can simply be followed. Values
are per unit of weight: expected costs given the belief that the weights stand for.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nextprobe.errors import MisuseError
from nextprobe.planning.greedy import by_chance, cheapest_greedy
from nextprobe.planning.plan_table import FloatArray, PlanTable


@dataclass(frozen=True)
class Plan:
    """Steps to take until the job ends, then give up.

    Parameters
    ----------
    order : tuple of str
        Names of the steps.
    value : float
        Expected cost [currency].
    """

    order: tuple[str, ...]
    value: float


def option_of(step: str) -> str:
    """Return the id of the option that a step of a plan begins with.

    A table may hold an option in several forms, told apart by a plus sign and a word.
    """
    return step.partition("+")[0]


def prefix_costs(order: Sequence[str], table: PlanTable) -> FloatArray:
    """Return what each beginning of an order costs in each group of worlds.

    Parameters
    ----------
    order : sequence of str, length K
        Names of steps; those that the table does not know are skipped.
    table : PlanTable
        The steps.

    Returns
    -------
    ndarray, shape (K + 1, G)
        Row ``k``: take the first ``k`` steps, then give up [currency]. G counts the groups of
        ``table.grouped``.

    Raises
    ------
    MisuseError
        If a step occurs twice.
    """
    place = {name: index for index, name in enumerate(table.names)}
    steps = [place[name] for name in order if name in place]
    if len(set(steps)) < len(steps):
        raise MisuseError("a plan takes no step twice")
    grouped = table.grouped
    going = np.ones((len(steps) + 1, grouped.stop_prices.size))
    going[1:] = np.cumprod(1.0 - grouped.ends[steps], axis=0)
    reached = np.maximum.accumulate(np.append(0, table.levels[steps]))[:-1]
    prices = table.prices_from[reached, steps]
    each = prices[:, None] + grouped.ends[steps] * grouped.penalties[steps]
    spent = np.zeros_like(going)
    spent[1:] = np.cumsum(going[:-1] * each, axis=0)
    return np.asarray(spent + going * grouped.stop_prices)


def evaluate(order: Sequence[str], table: PlanTable) -> float:
    """Return the expected cost of taking all steps of an order, then giving up.

    Unlike :func:`best_values` this does not stop earlier where that would be cheaper. Raises
    as :func:`prefix_costs` does.
    """
    weights = table.grouped.sums(table.weights[None, :])
    return float(_per_weight(weights @ prefix_costs(order, table)[-1], weights)[0])


def best_plan(table: PlanTable, also: Iterable[Sequence[str]] = ()) -> Plan:
    """Return the cheapest of several plans, each stopped at its best point.

    Parameters
    ----------
    table : PlanTable
        Steps and belief.
    also : iterable of sequences of str
        Orders to consider besides the greedy ones of :mod:`nextprobe.planning.greedy`.
    """
    weights = table.grouped.sums(table.weights[None, :])
    greedy = cheapest_greedy(weights, table)
    best = Plan(greedy.order(0, table.names), float(_per_weight(greedy.values, weights)[0]))
    for order in also:
        known = tuple(name for name in order if name in table.names)
        values = _per_weight((prefix_costs(known, table) @ weights.T)[:, 0], weights)
        stop = int(np.argmin(values))
        if values[stop] < best.value:
            best = Plan(known[:stop], float(values[stop]))
    return best


def p_over_c_plan(table: PlanTable) -> Plan:
    """Return the updated p/c order alone (Jensen et al. 2001), stopped at its best point.

    After every step the one with the greatest chance of ending the job per price comes next.
    """
    weights = table.grouped.sums(table.weights[None, :])
    found = by_chance(weights, table)
    return Plan(found.order(0, table.names), float(_per_weight(found.values, weights)[0]))


def best_values(
    weights: FloatArray, table: PlanTable, also: Iterable[Sequence[str]] = ()
) -> FloatArray:
    """Return the value of :func:`best_plan` for many beliefs over the same worlds.

    Parameters
    ----------
    weights : ndarray, shape (B, R)
        Beliefs, of any positive scale; a belief without weight has the value 0.
    table : PlanTable
        Steps; its own weights are not used.
    also : iterable of sequences of str
        Orders that every belief may follow as well, as far as it likes.

    Returns
    -------
    ndarray, shape (B,)
        Expected costs [currency].
    """
    return best_starts(weights, table, also)[0]


def best_starts(
    weights: FloatArray, table: PlanTable, also: Iterable[Sequence[str]] = ()
) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return, with :func:`best_values`, the place of the step that each best plan starts with.

    Parameters
    ----------
    weights, table, also
        As for :func:`best_values`.

    Returns
    -------
    (ndarray, ndarray of int), shape (B,) each
        Expected costs [currency]; places in ``table.names``, -1 for giving up at once.
    """
    grouped = table.grouped.sums(weights)
    greedy = cheapest_greedy(grouped, table)
    best, starts = greedy.values, np.where(greedy.lengths > 0, greedy.firsts, -1)
    for order in also:
        known = [name for name in order if name in table.names]
        costs = grouped @ prefix_costs(known, table).T
        stop = costs.argmin(axis=1)
        better = costs[np.arange(len(costs)), stop] < best
        best = np.where(better, costs.min(axis=1), best)
        first = table.names.index(known[0]) if known else -1
        starts = np.where(better, np.where(stop > 0, first, -1), starts)
    return _per_weight(best, grouped), starts


def known_values(weights: FloatArray, table: PlanTable) -> FloatArray:
    """Return the expected cost if the world were known, for many beliefs, shape (B,).

    No plan beats it; parameters are those of :func:`best_values`.
    """
    grouped = table.grouped.sums(weights)
    return _per_weight(grouped @ table.grouped.known_costs, grouped)


def perfect_information(table: PlanTable) -> float:
    """Return the expected cost if the world were known: a bound that no plan beats."""
    return float(known_values(table.weights[None, :], table)[0])


def _per_weight(costs: NDArray[np.float64], weights: FloatArray) -> FloatArray:
    total = weights.sum(axis=1)
    values: FloatArray = np.divide(costs, total, out=np.zeros_like(costs), where=total > 0.0)
    return values
