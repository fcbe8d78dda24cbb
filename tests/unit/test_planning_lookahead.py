"""The everyday planner on small tables."""

import numpy as np
import pytest

from nextprobe.belief import Branch
from nextprobe.errors import MisuseError
from nextprobe.planning import Batched, Limits, Option, PlanTable, recommend
from nextprobe.planning.exact import optimum
from nextprobe.planning.tabular import TabularProblem, TabularState

START = TabularState()
PERFECT = [np.array([[1.0, 0.0], [0.0, 1.0]])]


def two_repairs(**changes):
    values = {
        "priors": np.array([0.5, 0.5]),
        "stop_prices": np.full(2, 200.0),
        "repair_prices": np.array([40.0, 40.0]),
        "cures": np.eye(2),
        "test_prices": np.array([5.0]),
        "likelihoods": PERFECT,
    }
    return TabularProblem(**{**values, **changes})


def test_a_cheap_question_comes_first():
    found = recommend(two_repairs(), START)
    assert found.option.id == "test 0"
    assert found.cost == pytest.approx(45.0)
    assert found.lower_bound == pytest.approx(40.0)
    assert [branch.then for branch in found.branches] == ["repair 0", "repair 1"]
    assert sum(branch.probability for branch in found.branches) == pytest.approx(1.0)
    saved = next(reason for reason in found.reasons if reason.kind == "saves")
    assert saved.numbers["saved"] == pytest.approx(60.0 - 45.0)


def test_a_dear_question_does_not():
    found = recommend(two_repairs(test_prices=np.array([25.0])), START)
    assert found.option.id == "repair 0"
    assert found.cost == pytest.approx(60.0)
    assert found.near_tie
    assert found.runner_up is not None
    assert found.runner_up.option.id == "repair 1"
    assert any(reason.kind == "near tie" for reason in found.reasons)


def test_nothing_is_worth_doing():
    found = recommend(two_repairs(stop_prices=np.full(2, 3.0)), START)
    assert found.option.kind == "stop"
    assert found.cost == pytest.approx(3.0)
    assert found.branches == ()


@pytest.mark.parametrize(
    ("limits", "barred"),
    [
        (Limits(forbidden=frozenset({"wipe"})), "repair 0"),
        (Limits(ceiling=30.0), "repair 0"),
    ],
)
def test_limits_are_constraints_and_not_prices(limits, barred):
    problem = two_repairs(
        repair_prices=np.array([35.0, 20.0]),
        limits=limits,
        effects={"repair 0": frozenset({"wipe"})},
    )
    found = recommend(problem, START, budget=500, depth=3)
    assert barred not in [ranked.option.id for ranked in found.alternatives]
    assert all(barred not in (branch.then, *branch.plan) for branch in found.branches)
    assert found.cost >= optimum(problem, START, problem.key).cost - 1e-9
    assert barred not in problem.plan_table(START).names


def two_step_question(**changes):
    """Neither of two tests says anything alone; together they tell all."""
    halves = np.array([[1.0, 0.0, 1.0, 0.0], [0.0, 1.0, 0.0, 1.0]])
    pairs = np.array([[1.0, 1.0, 0.0, 0.0], [0.0, 0.0, 1.0, 1.0]])
    values = {
        "priors": np.full(4, 0.25),
        "stop_prices": np.full(4, 150.0),
        "repair_prices": np.array([100.0, 100.0]),
        "cures": np.array([[1.0, 0.0, 0.0, 1.0], [0.0, 1.0, 1.0, 0.0]]),
        "test_prices": np.array([5.0, 5.0]),
        "likelihoods": [halves, pairs],
    }
    return TabularProblem(**{**values, **changes})


def test_deepening_finds_questions_that_only_pay_together():
    problem = two_step_question()
    shallow = recommend(problem, START, depth=1)
    deep = recommend(problem, START, depth=2)
    assert shallow.cost == pytest.approx(150.0)
    assert deep.cost == pytest.approx(110.0)
    assert deep.option.kind == "test"
    assert deep.branches[0].then == "test 1"
    assert deep.cost == pytest.approx(optimum(problem, START, problem.key).cost)


def test_more_budget_is_never_worse_and_the_answer_is_always_the_same():
    problem = two_step_question()
    costs = [recommend(problem, START, budget=budget, depth=3).cost for budget in range(0, 40, 4)]
    assert costs == sorted(costs, reverse=True)
    assert recommend(problem, START, budget=7) == recommend(two_step_question(), START, budget=7)
    assert recommend(problem, START, budget=7).expansions <= 7


class Unbatched:
    """The same problem without the shortcut."""

    def __init__(self, inner):
        self.options, self.price, self.outcomes = inner.options, inner.price, inner.outcomes
        self.plan_table, self.lower_bound = inner.plan_table, inner.lower_bound


@pytest.mark.parametrize("problem", [two_repairs(), two_step_question()])
def test_the_batch_hook_changes_nothing_but_speed(problem):
    assert isinstance(problem, Batched)
    assert not isinstance(Unbatched(problem), Batched)
    fast, slow = recommend(problem, START), recommend(Unbatched(problem), START)
    assert fast.option == slow.option
    assert fast.cost == pytest.approx(slow.cost)
    for one, other in zip(fast.alternatives, slow.alternatives, strict=True):
        assert one.cost == pytest.approx(other.cost)


class Comeback:
    """One step that ends the job but may have to be paid for again later."""

    def options(self, state):
        return [Option("swap", "Swap"), Option("give up", "Give up")]

    def price(self, state, option):
        return 10.0 if option.id == "swap" else 30.0

    def outcomes(self, state, option):
        if option.id == "give up":
            return []
        return [Branch("passes", 0.8, None, cost=4.0), Branch("fails", 0.2, "failed", cost=1.0)]

    def plan_table(self, state):
        ends, penalties = np.array([[0.8]]), np.array([[4.0]])
        prices, stop = np.array([10.0]), np.array([30.0])
        return PlanTable(("swap",), np.ones(1), prices, ends, penalties, stop)

    def lower_bound(self, state):
        return 0.0


def test_costs_that_come_with_an_outcome_are_counted():
    once = 10.0 + 0.8 * 4.0 + 0.2 * 30.0
    twice = 10.0 + 0.8 * 4.0 + 0.2 * (1.0 + once)
    found = recommend(Comeback(), "start", budget=0)
    assert found.option.id == "swap"
    assert found.cost == pytest.approx(twice)
    assert [branch.cost for branch in found.branches] == pytest.approx([4.0, 1.0 + once])
    assert [branch.then for branch in found.branches] == ["", "swap"]
    deeper = recommend(Comeback(), "start", budget=10)
    assert deeper.cost == pytest.approx(10.0 + 0.8 * 4.0 + 0.2 * (1.0 + twice))


def test_misuse():
    with pytest.raises(MisuseError):
        recommend(two_repairs(), START, depth=0)
    with pytest.raises(MisuseError):
        recommend(two_repairs(), START, budget=-1)
    problem = Comeback()
    problem.options = lambda state: []
    with pytest.raises(MisuseError, match="no option"):
        recommend(problem, "start")
    with pytest.raises(MisuseError, match="no option"):
        optimum(problem, "start", hash)


def test_tables_that_do_not_fit_are_refused():
    with pytest.raises(MisuseError):
        two_repairs(cures=np.eye(3))
    with pytest.raises(MisuseError):
        two_repairs(likelihoods=[])
    with pytest.raises(MisuseError):
        two_repairs(likelihoods=[np.array([[1.0, 0.5], [0.0, 0.4]])])
    with pytest.raises(MisuseError, match="penalties"):
        two_repairs(penalties=np.ones((2, 3)))
    with pytest.raises(MisuseError, match="levels"):
        two_repairs(repair_levels=np.array([0, 1]))
