"""The problems of the benchmark for Nextprobe's planners: the optimum or bounds, and the advice."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from functools import cached_property

import numpy as np

from frozen_bench.policies import Rule
from frozen_bench.problems import Floats, Place, Problem
from frozen_bench.problems import Option as Choice
from nextprobe.planning import Branch, Option, PlanTable, recommend


class PlannerProblem:
    """A problem with the methods that both planners ask for.

    Parameters
    ----------
    problem : Problem
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self._options = {each.id: Option(each.id, each.id, each.kind) for each in
                         problem.options.values()}  # fmt: skip
        self._known: dict[tuple[int, int, frozenset[str]], float] = {}
        self._tables: dict[tuple[frozenset[str], int], PlanTable] = {}

    def options(self, place: Place) -> Sequence[Option]:
        """Return what may still help: tests that tell, repairs that change something, stops."""
        possible = place.belief > 0.0
        found = [each for each in place.left("test") if _tells(each, possible)]
        found += [each for each in place.left("repair") if _changes(each, possible)]
        return [self._options[each.id] for each in (*found, *place.left("stop"))]

    def price(self, place: Place, option: Option) -> float:
        """Return the expected price."""
        return place.price(self.problem.options[option.id])

    def outcomes(self, place: Place, option: Option) -> Sequence[Branch[Place]]:
        """Return what may come of an option; nothing where it ends the job for certain."""
        chosen = self.problem.options[option.id]
        if chosen.kind == "stop":
            return ()
        ends, due = place.ends(chosen)
        found: list[Branch[Place]] = [Branch("ended", ends, None, due)] if ends > 0.0 else []
        return [*found, *(Branch(*branch) for branch in place.after(chosen))]

    def key(self, place: Place) -> Hashable:
        """Return what is the same for places with the same future."""
        return place.name

    def lower_bound(self, place: Place) -> float:
        """Return the expected cost if the state were known."""
        left = frozenset(each.id for each in place.left("repair"))
        return float(
            sum(
                chance * self._known_cost(state, place.level, left & self._acting[state])
                for state, chance in enumerate(place.belief.tolist())
                if chance > 0.0
            )
        )

    def upper_bound(self, place: Place) -> float:
        """Return the expected cost of giving up now in the cheapest way."""
        return min(place.price(each) for each in place.left("stop"))

    @cached_property
    def _acting(self) -> list[frozenset[str]]:
        """Return the repairs that change a state or one that it may lead to."""
        size = self.problem.prior.size
        reach = np.eye(size, dtype=bool)
        for _ in range(size):
            for each in self._repairs:
                reach = reach | ((reach @ (each.outcomes[0][1] > 0.0)) > 0)
        acting = {each.id: np.diag(each.outcomes[0][1]) < 1.0 for each in self._repairs}
        return [
            frozenset(name for name, acts in acting.items() if acts[reach[state]].any())
            for state in range(size)
        ]

    @cached_property
    def _repairs(self) -> list[Choice]:
        return [each for each in self.problem.options.values() if each.kind == "repair"]

    @cached_property
    def _stop_prices(self) -> Floats:
        stops = [each.price for each in self.problem.options.values() if each.kind == "stop"]
        return np.asarray(np.min(stops, axis=0))

    def _known_cost(self, state: int, level: int, left: frozenset[str]) -> float:
        key = state, level, left
        if key not in self._known:
            ways = [self._by_repair(state, level, left, name) for name in sorted(left)]
            self._known[key] = min([float(self._stop_prices[state]), *ways])
        return self._known[key]

    def _by_repair(self, state: int, level: int, left: frozenset[str], name: str) -> float:
        option, levels = self.problem.options[name], self.problem.levels
        higher = max(level, option.level)
        cost = float(option.price[state] + levels[higher] - levels[level])
        cost += float(option.ends[state] * option.due[state])
        chances = option.outcomes[0][1][state]
        for after in np.flatnonzero(chances).tolist():
            rest = (left - {name}) & self._acting[after]
            cost += float(chances[after]) * self._known_cost(after, higher, rest)
        return cost

    def plan_table(self, place: Place) -> PlanTable:
        """Return the repairs that are left; one that only takes away some of the faults ends none.

        The other ways to give up are steps that end the job.
        """
        key = place.done, place.level
        if key not in self._tables:
            self._tables[key] = self._made_table(place)
        return self._tables[key].with_weights(place.belief)

    def _made_table(self, place: Place) -> PlanTable:
        stops = place.left("stop")
        steps = [*place.left("repair"), *stops[1:]]
        size, levels = self.problem.prior.size, self.problem.levels
        shape = len(steps), size
        return PlanTable(
            tuple(each.id for each in steps),
            self.problem.prior,
            np.array([0.0 if each.kind == "stop" else each.price[0] for each in steps]),
            np.array([each.ends for each in steps]).reshape(shape),
            np.array([each.price if each.kind == "stop" else each.due for each in steps]).reshape(
                shape
            ),
            stops[0].price,
            np.array([each.level for each in steps], dtype=np.intp),
            np.maximum(levels - levels[place.level], 0.0),
        )


def _tells(option: Choice, possible: np.ndarray) -> bool:
    """Tell whether a test may come out in more than one way."""
    return sum(bool(np.diag(chances)[possible].any()) for _, chances in option.outcomes) > 1


def _changes(option: Choice, possible: np.ndarray) -> bool:
    return bool((np.diag(option.outcomes[0][1])[possible] < 1.0).any())


def everyday_planner(problem: Problem, budget: int) -> Rule:
    """Return the rule that follows Nextprobe's everyday planner."""
    asked = PlannerProblem(problem)
    return lambda place: recommend(asked, place, budget=budget).option.id
