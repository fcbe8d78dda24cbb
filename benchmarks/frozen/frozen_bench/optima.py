"""The optimum of a problem, agreed on by two solvers, or bounds on it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from frozen_bench.brute import brute_force
from frozen_bench.policies import cost_of, graph_of
from frozen_bench.problems import problem_from
from frozen_bench.rules import by_information
from frozen_bench.solver import PlannerProblem, everyday_planner
from nextprobe.planning import optimum

LARGE = "large"
EXPANSIONS = 20_000
_AGREE = 1e-7


def known_optimum(data: Mapping[str, Any]) -> dict[str, float]:
    """Return between which costs the optimum of a problem lies, both the same where it is known.

    The upper bound is the cost of a policy that can be carried out: the exact planner's where
    that is complete, or the cheapest of the everyday planner and greedy information gain.

    Raises
    ------
    AssertionError
        If two solvers do not agree.
    """
    problem = problem_from(data)
    asked = PlannerProblem(problem)
    best = optimum(asked, problem.start(), expansions=EXPANSIONS)
    if data["family"] != LARGE:
        other = brute_force(data)
        if not best.closed or abs(best.cost - other) > _AGREE:
            raise AssertionError(f"{data['id']}: {best.lower} to {best.upper}, {other}")
        return {"lower": _rounded(other), "upper": _rounded(other)}
    rules = everyday_planner(problem, 100), by_information(problem)
    costs = [cost_of(problem, graph_of(problem, rule)) for rule in rules]
    return {"lower": _rounded(best.lower), "upper": _rounded(min(best.upper, *costs))}


def _rounded(cost: float) -> float:
    return round(cost, 8)
