"""Bounds that hold for every problem."""

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nextprobe.planning import (
    PlanTable,
    best_plan,
    best_values,
    evaluate,
    perfect_information,
    recommend,
)
from nextprobe.planning.exact import optimum
from nextprobe.planning.first_look import first_look
from nextprobe.planning.tabular import TabularProblem, TabularState

START = TabularState()
untimed = settings(deadline=None, max_examples=60)


@st.composite
def problems(draw):
    """Return random tables; chances are often 0 or 1, as in practice."""
    causes = draw(st.integers(1, 4))
    repairs, tests = draw(st.integers(0, 3)), draw(st.integers(0, 2))
    random = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    cures = random.random((repairs, causes)) * (random.random((repairs, causes)) < 0.6)
    cures[random.random(cures.shape) < 0.3] = 1.0
    likelihoods = [
        random.dirichlet(np.full(int(random.integers(2, 4)), 0.5), causes).T for _ in range(tests)
    ]
    return TabularProblem(
        priors=random.dirichlet(np.ones(causes)),
        stop_prices=random.uniform(0.0, 60.0, (int(random.integers(1, 3)), causes)),
        repair_prices=random.uniform(0.1, 20.0, repairs),
        cures=cures,
        test_prices=random.uniform(0.0, 5.0, tests),
        likelihoods=likelihoods,
    )


@untimed
@given(problems(), st.integers(0, 60), st.integers(1, 3))
def test_lower_bound_exact_cost_and_upper_bound_are_in_order(problem, budget, depth):
    exact = optimum(problem, START, problem.key).cost
    found = recommend(problem, START, budget=budget, depth=depth)
    assert problem.lower_bound(START) <= exact + 1e-9
    assert exact <= found.cost + 1e-9
    assert exact <= best_plan(problem.plan_table(START)).value + 1e-9


@untimed
@given(problems())
def test_looking_closer_never_costs_more(problem):
    plan = best_plan(problem.plan_table(START))
    costs = [recommend(problem, START, budget=10**4, depth=depth).cost for depth in (1, 2, 3)]
    assert costs[0] <= plan.value + 1e-9
    assert costs[1] <= costs[0] + 1e-9
    assert costs[2] <= costs[1] + 1e-9


@untimed
@given(problems())
def test_information_is_never_worth_less_than_nothing(problem):
    plan = best_plan(problem.plan_table(START))
    tests = [option for option in problem.options(START) if option.kind == "test"]
    for prospect in first_look(problem, START, tests, plan.order):
        assert prospect.cost - prospect.price <= plan.value + 1e-9
        assert prospect.promise - prospect.price >= problem.lower_bound(START) - 1e-9


@st.composite
def tables(draw):
    """Return tables of steps at several levels of preparation."""
    steps, worlds = draw(st.integers(0, 4)), draw(st.integers(1, 5))
    random = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    ends = random.random((steps, worlds)) * (random.random((steps, worlds)) < 0.5)
    ends[random.random(ends.shape) < 0.2] = 1.0
    return PlanTable(
        tuple("abcd"[:steps]),
        random.uniform(0.1, 3.0, worlds),
        random.uniform(0.0, 10.0, steps),
        ends,
        random.uniform(0.0, 8.0, (steps, worlds)),
        random.uniform(0.0, 90.0, worlds),
        random.integers(0, 3, steps),
        np.array([0.0, 4.0, 15.0]),
    )


def followed(order, table):
    """Return the expected cost of an order by walking through every world and outcome."""
    total = 0.0
    for world, weight in enumerate(table.weights / table.weights.sum()):
        going, level = 1.0, 0
        for name in order:
            step = table.names.index(name)
            if table.levels[step] > level:
                total += weight * going * table.level_prices[table.levels[step]]
                total -= weight * going * table.level_prices[level]
                level = table.levels[step]
            ended = going * table.ends[step, world]
            total += weight * (going * table.prices[step] + ended * table.penalties[step, world])
            going -= ended
        total += weight * going * table.stop_prices[world]
    return total


@untimed
@given(tables())
def test_a_plan_costs_what_following_it_costs(table):
    plan = best_plan(table)
    assert plan.value == pytest.approx(followed(plan.order, table), abs=1e-9)
    assert plan.value == pytest.approx(evaluate(plan.order, table), abs=1e-9)
    for stop in range(len(plan.order)):
        assert plan.value <= evaluate(plan.order[:stop], table) + 1e-9


@untimed
@given(tables())
def test_no_order_at_all_beats_perfect_information(table):
    known = perfect_information(table)
    for size in range(len(table.names) + 1):
        for order in permutations(table.names, size):
            assert known <= followed(order, table) + 1e-9


@untimed
@given(tables(), st.integers(0, 2**32 - 1))
def test_many_beliefs_at_once_are_worth_what_they_are_one_by_one(table, seed):
    beliefs = np.random.default_rng(seed).random((5, table.weights.size))
    values = best_values(beliefs, table)
    for belief, value in zip(beliefs, values, strict=True):
        assert best_plan(table.with_weights(belief)).value == pytest.approx(value, abs=1e-9)


def test_cost_of_a_plan_is_what_simulated_devices_cost():
    random = np.random.default_rng(20)
    problem = TabularProblem(
        priors=np.array([0.4, 0.35, 0.25]),
        stop_prices=np.array([90.0, 80.0, 70.0]),
        repair_prices=np.array([10.0, 15.0]),
        cures=np.array([[0.9, 0.0, 0.2], [0.0, 0.85, 0.3]]),
    )
    plan = best_plan(problem.plan_table(START))
    devices = 40_000
    causes = random.choice(3, devices, p=problem.priors)
    paid, going = np.zeros(devices), np.ones(devices, dtype=bool)
    for name in plan.order:
        step = int(name.split()[1])
        paid += going * problem.repair_prices[step]
        going &= random.random(devices) >= problem.cures[step, causes]
    paid += going * problem.stop_prices[causes]
    error = paid.std() / np.sqrt(devices)
    assert len(plan.order) == 2
    assert abs(paid.mean() - plan.value) < 4.0 * error
