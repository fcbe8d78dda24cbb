"""How much of the gap between a static order and perfect knowledge can be closed at all.

Perfect knowledge is a bound that nobody reaches: what is wrong has to be found out, and that costs.
On the small planning problems of the frozen benchmark the optimum is known, so that it can be said
what share of the gap the best of all policies closes, and what share our planner does with the
budget of a job. The static order is the p/c order, which never asks. As in a rehearsal, prices are
those of tests, work and preparation; what giving up and comebacks cost stays.

Exit code 1 if a policy costs less than the optimum, or if the planner closes less than 85 % of what
can be closed.

Usage: ``python benchmarks/bench_attainable_gap.py``
"""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any, NamedTuple

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).parent / "frozen"))

import numpy as np
from frozen_bench.files import PROBLEMS, read
from frozen_bench.optima import EXPANSIONS, LARGE
from frozen_bench.policies import Rule, cost_of, graph_of
from frozen_bench.problems import problem_from
from frozen_bench.rules import by_chance_per_price
from frozen_bench.solver import PlannerProblem, everyday_planner

from nextprobe.diagnosis.case import LOOK_AHEADS
from nextprobe.planning import optimum

PRICES = (0.5, 1.0, 2.0)
LEAST_SHARE = 0.85
ROUNDING = 1e-7


class Costs(NamedTuple):
    """Expected costs of one problem [currency]."""

    static: float
    ours: float
    best: float
    known: float


def at_prices(data: Mapping[str, Any], factor: float) -> dict[str, Any]:
    """Return a problem whose tests, work and preparation cost a multiple."""
    scaled = {
        kind: [{**each, "price": factor * each["price"]} for each in data[kind]]
        for kind in ("tests", "repairs")
    }
    return {**data, **scaled, "levels": [factor * price for price in data["levels"]]}


def costs(data: Mapping[str, Any], factor: float) -> Costs | None:
    """Return what a problem costs by each policy; None if its optimum was not found."""
    problem = problem_from(at_prices(data, factor))
    asked = PlannerProblem(problem)
    best = optimum(asked, problem.start(), expansions=EXPANSIONS)
    if best.upper - best.lower > ROUNDING:
        return None

    def by(rule: Rule) -> float:
        return cost_of(problem, graph_of(problem, rule))

    ours = by(everyday_planner(problem, LOOK_AHEADS))
    static = by(by_chance_per_price)
    return Costs(static, ours, best.upper, asked.lower_bound(problem.start()))


def show(factor: float, rows: list[Costs]) -> bool:
    """Print what all problems cost at some prices, and return whether the goal is met."""
    table = np.array(rows)
    static, ours, best, known = table.mean(axis=0)
    can, does = (static - best) / (static - known), (static - ours) / (static - known)
    print(f"{factor:<8g}{len(table):9}{static:9.1f}{ours:9.1f}{best:9.1f}{known:9.1f}"
          f"{can:16.1%}{does:9.1%}")  # fmt: skip
    never_below = (table[:, 1] > table[:, 2] - ROUNDING).all()
    return bool(never_below and does >= LEAST_SHARE * can)


def main() -> int:
    every = [data for data in read(PROBLEMS) if data["family"] != LARGE]
    tasks = [(data, factor) for factor in PRICES for data in every]
    with ProcessPoolExecutor() as pool:
        found = list(pool.map(costs, *zip(*tasks, strict=True), chunksize=2))
    print(f"{'prices':8}{'problems':>9}{'static':>9}{'planner':>9}{'optimum':>9}{'known':>9}"
          f"{'optimum closes':>16}{'planner':>9}")  # fmt: skip
    pairs = list(zip(found, tasks, strict=True))
    met = [
        show(factor, [each for each, task in pairs if each is not None and task[1] == factor])
        for factor in PRICES
    ]
    return 0 if all(met) else 1


if __name__ == "__main__":
    sys.exit(main())
