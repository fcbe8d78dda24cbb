"""Random problems that others can make again."""

import numpy as np
import pytest

from nextprobe.errors import MisuseError
from nextprobe.planning import TabularState, evaluate, optimum, p_over_c_plan
from nextprobe.planning.random_problems import Size, is_marked, p_over_c_excess, random_problem

START = TabularState()


def test_the_same_seed_gives_the_same_problem_and_another_one_another():
    one, same, other = random_problem(7), random_problem(7), random_problem(8)
    assert np.array_equal(one.cures, same.cures)
    assert np.array_equal(one.stop_prices, same.stop_prices)
    assert not np.array_equal(one.priors, other.priors)


def test_what_is_drawn_lies_where_it_should():
    problems = [random_problem(seed) for seed in range(60)]
    for problem in problems:
        assert problem.priors.sum() == pytest.approx(1.0)
        helped = problem.cures > 0.0
        assert set(helped.sum(axis=1)) <= {1, 2, 3}
        assert problem.cures[helped].min() >= 0.7
        assert (problem.penalties[~helped] == 0.0).all()
        assert (np.diff(problem.level_prices) > 0.0).all()
    overlaps = [(problem.cures > 0.0).sum(axis=0).max() > 1 for problem in problems]
    assert np.mean(overlaps) > 0.9
    wrong = [np.minimum(table[0], table[1]) for each in problems for table in each.likelihoods]
    assert 0.0 < np.mean(wrong) < 0.15
    assert {0, 1, 2} == {int(level) for each in problems for level in each.repair_levels}


def test_size():
    problem = random_problem(0, Size(causes=2, repairs=1, questions=1))
    assert problem.cures.shape == (1, 2)
    assert len(problem.likelihoods) == 1
    with pytest.raises(MisuseError, match="at least one"):
        random_problem(0, Size(questions=0))


def test_marked_are_those_where_the_order_without_questions_loses_much():
    marks = []
    for seed in (0, 4, 14):
        problem = random_problem(seed)
        best = optimum(problem, START).cost
        table = problem.plan_table(START)
        plan = p_over_c_plan(table)
        assert plan.value == pytest.approx(evaluate(plan.order, table))
        assert p_over_c_excess(problem, best) == pytest.approx(plan.value / best - 1.0)
        assert plan.value >= best - 1e-9
        marks.append(is_marked(problem, best))
        assert marks[-1] == (plan.value >= 1.2 * best)
    assert any(marks)
    assert not all(marks)
