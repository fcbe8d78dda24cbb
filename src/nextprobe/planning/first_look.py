"""The value of every option one step ahead, its leaves taken as plans."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from nextprobe.planning.option import Option
from nextprobe.planning.plan_table import FloatArray, PlanTable
from nextprobe.planning.plans import best_starts, known_values, option_of
from nextprobe.planning.problem import Batched, LeafBatch, Problem

S = TypeVar("S")


@dataclass
class Prospect(Generic[S]):
    """An option in a state with what it is found to be worth so far.

    Parameters
    ----------
    option : Option
        What is done.
    price : float
        Of the option alone [currency].
    cost : float
        Expected cost of the whole job from here on if it is done now [currency].
    promise : float
        Expected cost if all were known after it, at the prices of the plans there: tells where
        a closer look can not pay [currency].
    rank : int
        Place among the options of the state, to break ties.
    looked_into : int
        How many options deep.
    deferred : float
        Chance that the best plan afterwards starts with the very step that the best plan before
        starts with: the option then only puts it off.
    """

    option: Option
    price: float
    cost: float
    promise: float
    rank: int
    looked_into: int = 1
    deferred: float = 0.0

    @property
    def order(self) -> tuple[float, int]:
        """What prospects are sorted by; rounding decides nothing."""
        return float(f"{self.cost:.9g}"), self.rank


@dataclass(frozen=True, eq=False)
class _Valued:
    """Leaves by plan, by perfect information, and whether the plan starts as the one before."""

    plans: FloatArray
    known: FloatArray
    same_start: NDArray[np.bool_]


def first_look(
    problem: Problem[S], state: S, options: Sequence[Option], plan: tuple[str, ...]
) -> list[Prospect[S]]:
    """Return a prospect for each option, in the order given.

    A leaf is worth the least of the plans that its own belief suggests and of `plan`, the best
    one before the option was done. Over all outcomes the latter costs what it cost before, so
    that information by itself never makes things worse (its price aside).

    Parameters
    ----------
    problem, state
        What is asked.
    options : sequence of Option
        Those to value.
    plan : tuple of str
        Order of steps that every leaf may follow as far as it likes.
    """
    outlooks = [_outlook(problem, state, option) for option in options]
    found = iter(_leaf_values([leaf for _, leaves in outlooks for leaf in leaves], plan))
    prospects: list[Prospect[S]] = []
    for rank, (option, (due, leaves)) in enumerate(zip(options, outlooks, strict=True)):
        price = problem.price(state, option)
        valued = [(leaf.probabilities, next(found)) for leaf in leaves]
        prospects.append(
            Prospect(
                option,
                price,
                price + due + sum(float(chance @ leaf.plans) for chance, leaf in valued),
                price + due + sum(float(chance @ leaf.known) for chance, leaf in valued),
                rank,
                deferred=sum(float(chance @ leaf.same_start) for chance, leaf in valued),
            )
        )
    return prospects


def _outlook(problem: Problem[S], state: S, option: Option) -> tuple[float, list[LeafBatch]]:
    """Return the expected extra cost of all outcomes, and those that do not end the job."""
    batch = problem.leaf_batch(state, option) if isinstance(problem, Batched) else None
    if batch is not None:
        return batch.ending_cost, [batch]
    branches = problem.outcomes(state, option)
    due = sum(branch.probability * branch.cost for branch in branches)
    leaves = []
    for branch in branches:
        if branch.state is not None:
            table = problem.plan_table(branch.state)
            chance = np.array([branch.probability])
            leaves.append(LeafBatch(chance, table.weights[None, :], table))
    return due, leaves


def _leaf_values(leaves: Sequence[LeafBatch], plan: tuple[str, ...]) -> list[_Valued]:
    """Value leaves; those of one table go together."""
    shared: dict[int, list[int]] = {}
    for place, leaf in enumerate(leaves):
        shared.setdefault(id(leaf.table), []).append(place)
    values: dict[int, _Valued] = {}
    for places in shared.values():
        table = leaves[places[0]].table
        together = np.vstack([leaves[place].weights for place in places])
        plans, starts = best_starts(together, table, (plan,))
        same = np.isin(starts, _starting_alike(table, plan))
        columns = (plans, known_values(together, table), same)
        ends = np.cumsum([len(leaves[place].weights) for place in places])[:-1]
        parts = zip(*(np.split(column, ends) for column in columns), strict=True)
        values |= {place: _Valued(*part) for place, part in zip(places, parts, strict=True)}
    return [values[place] for place in range(len(leaves))]


def _starting_alike(table: PlanTable, plan: tuple[str, ...]) -> list[int]:
    """Return the places of the steps that begin with the option that the plan begins with."""
    options = {option_of(name) for name in plan[:1]}
    return [place for place, name in enumerate(table.names) if option_of(name) in options]
