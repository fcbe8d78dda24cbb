"""Troubleshooting with overlapping repairs: the updated p/c order is not optimal.

Source: Jensen, Kjærulff, Kristiansen, Langseth, Skaanning, Vomlel, Vomlelová (2001), "The SACSO
methodology for troubleshooting complex systems", AI EDAM 15(4), Fig. 1: four causes with
probabilities .20, .25, .40, .15, of which one is present; A1 repairs causes 1 and 2, A2 repairs
2 and 3, A3 repairs 3 and 4; unit costs. Printed: order A2, A1, A3 costs 1.50, A3, A1 costs 1.45.
"""

import numpy as np
import pytest

from nextprobe.planning import best_plan, evaluate, recommend
from nextprobe.planning.exact import optimum
from nextprobe.planning.tabular import TabularProblem, TabularState

A1, A2, A3 = "repair 0", "repair 1", "repair 2"
START = TabularState()


def figure_1():
    return TabularProblem(
        priors=np.array([0.20, 0.25, 0.40, 0.15]),
        stop_prices=np.full(4, 100.0),
        repair_prices=np.ones(3),
        cures=np.array([[1.0, 1.0, 0.0, 0.0], [0.0, 1.0, 1.0, 0.0], [0.0, 0.0, 1.0, 1.0]]),
    )


def test_updated_p_over_c_order_costs_1_50():
    plan = best_plan(figure_1().plan_table(START))
    assert plan.order == (A2, A1, A3)
    assert plan.value == pytest.approx(1.50, abs=1e-12)


def test_printed_orders_cost_what_is_printed():
    table = figure_1().plan_table(START)
    assert evaluate((A2, A1, A3), table) == pytest.approx(1.50, abs=1e-12)
    assert evaluate((A3, A1), table) == pytest.approx(1.45, abs=1e-12)


def test_dynamic_programming_finds_the_optimum():
    problem = figure_1()
    best = optimum(problem, START, problem.key)
    assert best.cost == pytest.approx(1.45, abs=1e-12)
    assert best.option.id == A3


@pytest.mark.parametrize("budget", [0, 100])
def test_everyday_planner_finds_it_too(budget):
    found = recommend(figure_1(), START, budget=budget)
    assert found.option.id == A3
    assert found.cost == pytest.approx(1.45, abs=1e-12)
    assert [branch.then for branch in found.branches] == ["", A1]
    assert found.lower_bound == pytest.approx(1.0)
