"""Planning problems of the frozen benchmark: their costs by hand, and by solvers that are apart."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[2] / "benchmarks" / "frozen"))

from frozen_bench.brute import TooLargeError, brute_force
from frozen_bench.draw_problems import FAMILIES, drawn_problems, several_faults
from frozen_bench.files import OPTIMA, PROBLEMS, EntryError, read
from frozen_bench.planning_score import costed, planning_scores
from frozen_bench.policies import cost_of, graph_of, graph_of_histories
from frozen_bench.problems import problem_from
from frozen_bench.rules import by_chance_per_price, by_information
from frozen_bench.solver import PlannerProblem, everyday_planner

from nextprobe.planning import optimum

CAMERA: dict[str, Any] = {
    "id": "camera",
    "family": "one fault",
    "states": [{"faults": [0], "prior": 0.7}, {"faults": [1], "prior": 0.3}],
    "levels": [0.0, 6.0, 14.0],
    "tests": [
        {
            "id": "look",
            "price": 2.0,
            "level": 1,
            "outcomes": ["residue", "none"],
            "chances": [[0.04, 0.8], [0.96, 0.2]],
        }
    ],
    "repairs": [
        {"id": "swap", "price": 40.0, "level": 1, "leads_to": {"0": [[-1, 0.98], [0, 0.02]]}},
        {"id": "clean", "price": 5.0, "level": 2, "leads_to": {"1": [[-1, 0.9], [1, 0.1]]}},
    ],
    "stops": [{"id": "give up", "price": [90.0, 90.0]}],
}
"""The camera of docs/planning.md, whose optimum is 47.76."""

PAIR: dict[str, Any] = {
    "id": "pair",
    "family": "several faults",
    "states": [
        {"faults": [0], "prior": 0.0},
        {"faults": [1], "prior": 0.0},
        {"faults": [0, 1], "prior": 1.0},
    ],
    "levels": [0.0],
    "tests": [],
    "repairs": [
        {"id": "a", "price": 10.0, "level": 0,
         "leads_to": {"0": [[-1, 1.0]], "2": [[1, 1.0]]}, "due": {"0": 4.0, "2": 99.0}},
        {"id": "b", "price": 20.0, "level": 0,
         "leads_to": {"1": [[-1, 0.5], [1, 0.5]], "2": [[0, 0.5], [2, 0.5]]}},
    ],
    "stops": [{"id": "give up", "price": [100.0, 100.0, 100.0]}],
}  # fmt: skip


def test_the_cost_of_a_policy_is_summed_over_all_that_may_happen() -> None:
    swap_first = [
        {"do": "swap", "then": {"fails": 1}},
        {"do": "clean", "then": {"fails": 2}},
        {"do": "give up"},
    ]
    on = 0.7 * 0.02 + 0.3  # not ended by the swap
    after = on - 0.3 * 0.9
    expected = 46.0 + on * 13.0 + after * 90.0
    assert cost_of(problem_from(CAMERA), swap_first) == pytest.approx(expected)


def test_a_repair_takes_some_of_the_faults_away() -> None:
    policy = [
        {"do": "a", "then": {"fails": 1}},
        {"do": "b", "then": {"fails": 2}},
        {"do": "give up"},
    ]
    assert cost_of(problem_from(PAIR), policy) == pytest.approx(10.0 + 20.0 + 0.5 * 100.0)


def test_what_falls_due_counts_only_where_the_device_works() -> None:
    policy = [
        {"do": "b", "then": {"fails": 1}},
        {"do": "a", "then": {"fails": 2}},
        {"do": "give up"},
    ]
    # b takes its fault away in half of the cases; then a ends the job, and 4 falls due.
    expected = 20.0 + 10.0 + 0.5 * 4.0 + 0.5 * 100.0
    assert cost_of(problem_from(PAIR), policy) == pytest.approx(expected)


def test_the_camera_has_the_optimum_of_the_documentation() -> None:
    assert brute_force(CAMERA) == pytest.approx(47.76, abs=0.005)


@pytest.mark.parametrize(
    "nodes",
    [
        [],
        [{"do": "pray"}],
        [{"do": "look", "then": {"residue": 1}}, {"do": "give up"}],
        [{"do": "look", "then": {"residue": 0, "none": 0}}],
        [{"do": "look", "then": {"residue": -1, "none": -1}}],
        [{"do": "look", "then": {"residue": 7, "none": 7}}],
    ],
)
def test_policies_that_can_not_be_followed_are_refused(nodes: list[dict[str, Any]]) -> None:
    with pytest.raises(EntryError, match="camera"):
        cost_of(problem_from(CAMERA), nodes)


@pytest.mark.parametrize("family", [name for name in FAMILIES if name != "large"])
def test_two_solvers_agree_on_small_problems(family: str) -> None:
    random = np.random.default_rng(5)
    several = family == "several faults"
    data = several_faults(random, 3, 3, 2) if several else FAMILIES[family](random)
    data = json.loads(json.dumps({"id": family, "family": family, **data}))
    data["tests"] = data["tests"][:3]
    problem = problem_from(data)
    asked = PlannerProblem(problem)
    best = optimum(asked, problem.start())
    assert best.closed
    assert best.cost == pytest.approx(brute_force(data), abs=1e-8)
    for rule in (by_chance_per_price, by_information(problem), everyday_planner(problem, 8)):
        assert cost_of(problem, graph_of(problem, rule)) >= best.cost - 1e-8


def test_the_bound_with_the_state_known_is_below_and_that_of_giving_up_above() -> None:
    for data in (CAMERA, PAIR):
        problem = problem_from(data)
        asked, best = PlannerProblem(problem), brute_force(data)
        assert asked.lower_bound(problem.start()) <= best + 1e-9
        assert asked.upper_bound(problem.start()) >= best - 1e-9


def test_a_function_of_what_was_seen_is_the_same_policy() -> None:
    problem = problem_from(CAMERA)

    def choose(data: dict[str, Any], history: list[tuple[str, str]]) -> str:
        assert data is CAMERA
        order = ["look", "swap", "clean", "give up"]
        if history and history[0] == ("look", "residue"):
            order = ["look", "clean", "swap", "give up"]
        return order[len(history)]

    nodes = graph_of_histories(problem, CAMERA, choose)
    assert cost_of(problem, nodes) == pytest.approx(brute_force(CAMERA))
    with pytest.raises(EntryError, match="can not be done"):
        graph_of_histories(problem, CAMERA, lambda data, history: "look")


def test_brute_force_says_when_it_is_too_much() -> None:
    with pytest.raises(TooLargeError):
        brute_force(CAMERA, most=2)


def test_problems_are_drawn_again_alike() -> None:
    assert list(drawn_problems(3)) == list(drawn_problems(3))
    assert next(drawn_problems(3)) != next(drawn_problems(4))


def test_a_frozen_optimum_is_found_again() -> None:
    data = next(each for each in read(PROBLEMS) if each["family"] == "dependent tests")
    known = read(OPTIMA)[data["id"]]
    assert known["lower"] == known["upper"] == pytest.approx(brute_force(data), abs=1e-7)


def test_an_entry_has_a_policy_for_every_problem() -> None:
    with pytest.raises(EntryError, match="there is no policy"):
        costed({})


def test_giving_up_at_once_is_scored_as_what_it_costs() -> None:
    problems = read(PROBLEMS)
    found = costed({data["id"]: [{"do": "stop 0"}] for data in problems})
    for data, each in zip(problems, found, strict=True):
        prior = np.array([state["prior"] for state in data["states"]])
        given_up = float(np.array(data["stops"][0]["price"]) @ prior / prior.sum())
        assert each.cost == pytest.approx(given_up)
    assert planning_scores(found)["exact"]["mean"] > 0.2
