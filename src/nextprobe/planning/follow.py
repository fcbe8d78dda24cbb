"""What a way of choosing costs, exactly: every outcome is gone through, none is drawn."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import TypeVar

from nextprobe.errors import MisuseError
from nextprobe.planning.keys import key_of
from nextprobe.planning.option import Option
from nextprobe.planning.problem import Process

S = TypeVar("S")


def expected_cost(
    problem: Process[S],
    state: S,
    choose: Callable[[S], Option],
    key: Callable[[S], Hashable] | None = None,
) -> float:
    """Return the expected cost of a job in which the same rule chooses every step.

    Parameters
    ----------
    problem : Process
        None of its states may recur along a path.
    state : S
        Where to start.
    choose : callable
        The rule; it is asked once for each state that can be reached.
    key : callable or None
        As for :func:`~nextprobe.planning.exact.optimum`.

    Returns
    -------
    float
        Sum over all courses of the job of probability times cost [currency].

    Raises
    ------
    MisuseError
        If a state recurs.
    """
    name_of = key or key_of(problem)
    costs: dict[Hashable, float | None] = {}

    def cost_from(here: S) -> float:
        name = name_of(here)
        if name in costs:
            known = costs[name]
            if known is None:
                raise MisuseError("the rule leads from a state back to itself")
            return known
        costs[name] = None
        option = choose(here)
        cost = problem.price(here, option)
        for branch in problem.outcomes(here, option):
            after = 0.0 if branch.state is None else cost_from(branch.state)
            cost += branch.probability * (branch.cost + after)
        costs[name] = cost
        return cost

    return cost_from(state)
