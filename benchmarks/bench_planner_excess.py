"""How far the everyday planner stays from the optimum on random troubleshooting problems.

Each way of choosing is played to the end and its expected cost is summed over all outcomes, so
that nothing but the choice of problems is random. The problems are those of
``nextprobe.planning.random_problems`` with seeds 0, 1, 2 …; marked ones are those where the p/c
order loses at least 20 %. Goal: a mean excess of the everyday planner of at most 2 %, and nothing
below the optimum.

Usage: ``python benchmarks/bench_planner_excess.py [PROBLEMS]``
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from nextprobe.planning import (
    Option,
    TabularProblem,
    TabularState,
    expected_cost,
    optimum,
    p_over_c_plan,
    recommend,
)
from nextprobe.planning.random_problems import is_marked, random_problem

START = TabularState()
PLANNER = "everyday planner"
BUDGETS = (200, 30, 8)
LEAST_BITS = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6)
TUNING_SEEDS = range(10_000, 10_040)
ROUNDING = 1e-7
Rule = Callable[[TabularState], Option]


@dataclass(frozen=True)
class Scored:
    """The optimum of one problem, and the excess of each way of choosing over it, as a share."""

    seed: int
    closed: bool
    states: int
    marked: bool
    excess: dict[str, float]


def by_p_over_c(problem: TabularProblem) -> Rule:
    """Take the best step per price without ever asking; give up where that is cheaper."""

    def choose(state: TabularState) -> Option:
        order = p_over_c_plan(problem.plan_table(state)).order
        wanted = order[0] if order else "stop 0"
        return next(option for option in problem.options(state) if option.id == wanted)

    return choose


def bits(weights: np.ndarray) -> float:
    """Return the entropy of a belief [bit]."""
    chances = weights[weights > 0.0] / weights.sum()
    return float(-(chances * np.log2(chances)).sum())


def gain(problem: TabularProblem, state: TabularState, option: Option) -> float:
    """Return what a question should tell about the cause [bit]."""
    after = sum(
        branch.probability * bits(problem.weights(branch.state))
        for branch in problem.outcomes(state, option)
        if branch.state is not None
    )
    return bits(problem.weights(state)) - after


def by_information(problem: TabularProblem, least: float) -> Rule:
    """Ask what tells most per price while it tells enough, then go by p/c."""
    act = by_p_over_c(problem)

    def choose(state: TabularState) -> Option:
        gains = {
            option: gain(problem, state, option)
            for option in problem.options(state)
            if option.kind == "test"
        }
        telling = [option for option, told in gains.items() if told >= least]
        if not telling:
            return act(state)
        return max(telling, key=lambda option: gains[option] / problem.price(state, option))

    return choose


def by_planner(problem: TabularProblem, budget: int) -> Rule:
    return lambda state: recommend(problem, state, budget=budget).option


def information_costs(seed: int) -> list[float]:
    problem = random_problem(seed)
    return [expected_cost(problem, START, by_information(problem, least)) for least in LEAST_BITS]


def scored(seed: int, least: float) -> Scored:
    problem = random_problem(seed)
    best = optimum(problem, START)
    rules = {f"{PLANNER}, budget {budget}": by_planner(problem, budget) for budget in BUDGETS}
    rules["greedy information gain"] = by_information(problem, least)
    rules["p/c order"] = by_p_over_c(problem)
    costs = {name: expected_cost(problem, START, rule) for name, rule in rules.items()}
    return Scored(
        seed,
        best.closed,
        best.states,
        is_marked(problem, best.upper),
        {name: cost / best.upper - 1.0 for name, cost in costs.items()},
    )


def table(title: str, problems: list[Scored]) -> None:
    print(f"\n{title}: {len(problems)} problems, excess over the optimum")
    print(f"{'':32}{'mean':>8}{'median':>8}{'95 %':>8}{'worst':>8}{'≥ 20 %':>8}")
    for name in problems[0].excess:
        excess = np.array([each.excess[name] for each in problems])
        figures = (
            excess.mean(),
            *np.quantile(excess, (0.5, 0.95)),
            excess.max(),
            (excess >= 0.2).mean(),
        )
        print(f"{name:32}" + "".join(f"{100 * figure:7.2f}%" for figure in figures))


def main(count: int) -> int:
    with ProcessPoolExecutor() as pool:
        tuning = np.mean(list(pool.map(information_costs, TUNING_SEEDS)), axis=0)
        least = LEAST_BITS[int(tuning.argmin())]
        problems = list(pool.map(scored, range(count), [least] * count))
    print(f"information gain asks for at least {least} bit, best of {LEAST_BITS} on other seeds")
    states = [each.states for each in problems]
    print(f"optimum: {np.mean(states):.0f} states looked into on average, {max(states)} at most")
    table("All", problems)
    table("Marked", [each for each in problems if each.marked])
    first = f"{PLANNER}, budget {BUDGETS[0]}"
    worst = max(problems, key=lambda each: each.excess[first])
    mean = np.mean([each.excess[first] for each in problems])
    below = [each.seed for each in problems if min(each.excess.values()) < -ROUNDING]
    unclosed = [each.seed for each in problems if not each.closed]
    print(f"\nworst of the {first}: seed {worst.seed}, {100 * worst.excess[first]:.2f} %")
    print(f"below the optimum: {below or 'none'}; bounds not closed: {unclosed or 'none'}")
    print(f"goal of 2 % on average: {'met' if mean <= 0.02 else 'MISSED'} ({100 * mean:.2f} %)")
    return int(bool(below or unclosed) or mean > 0.02)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 200))
