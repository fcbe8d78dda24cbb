"""The optimum of small problems, by dynamic programming over all reachable states."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass
from typing import TypeVar

from nextprobe.errors import MisuseError
from nextprobe.planning.option import Option
from nextprobe.planning.problem import Problem

S = TypeVar("S")


@dataclass(frozen=True)
class Optimum:
    """The best that any policy can do.

    Parameters
    ----------
    cost : float
        Expected cost of the whole job [currency].
    option : Option
        What to do first.
    states : int
        How many states were solved.
    """

    cost: float
    option: Option
    states: int


def optimum(
    problem: Problem[S],
    state: S,
    key: Callable[[S], Hashable],
    largest: int = 100_000,
) -> Optimum:
    """Return the optimal expected cost and first step.

    Parameters
    ----------
    problem : Problem
        None of its states may recur along a path.
    state : S
        Where to start.
    key : callable
        States with the same key have the same future.
    largest : int
        Number of states beyond which to give up.

    Raises
    ------
    MisuseError
        If there are too many states, a state recurs or one has no options.
    """
    solved: dict[Hashable, tuple[float, Option] | None] = {}

    def solve(here: S) -> tuple[float, Option]:
        name = key(here)
        if name in solved:
            known = solved[name]
            if known is None:
                raise MisuseError("a state leads back to itself: no order to solve them in")
            return known
        if len(solved) >= largest:
            raise MisuseError(f"more than {largest} states: too many for an exact solution")
        solved[name] = None
        options = problem.options(here)
        if not options:
            raise MisuseError("a state offers no option, not even to give up")
        values = [cost_of(here, option) for option in options]
        best = min(range(len(options)), key=values.__getitem__)
        solved[name] = (values[best], options[best])
        return values[best], options[best]

    def cost_of(here: S, option: Option) -> float:
        cost = problem.price(here, option)
        for branch in problem.outcomes(here, option):
            after = 0.0 if branch.state is None else solve(branch.state)[0]
            cost += branch.probability * (branch.cost + after)
        return cost

    cost, option = solve(state)
    return Optimum(cost, option, len(solved))
