"""The p/c order is optimal under a single fault, independent actions and fixed costs.

Source: Heckerman, Breese, Rommelse (1995), "Decision-theoretic troubleshooting",
Communications of the ACM 38(3), 49-57. Checked on random instances against brute force.
"""

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nextprobe.planning import best_plan
from nextprobe.planning.order import p_over_c_order, single_fault_cost
from nextprobe.planning.tabular import TabularProblem, TabularState


@st.composite
def instances(draw):
    size = draw(st.integers(1, 5))
    shares = draw(st.lists(st.floats(0.01, 1.0), min_size=size, max_size=size))
    costs = draw(st.lists(st.floats(0.1, 10.0), min_size=size, max_size=size))
    return np.array(shares) / sum(shares), np.array(costs)


def cheapest(chances, costs):
    return min(
        sum(
            chances[cause] * costs[list(order[: place + 1])].sum()
            for place, cause in enumerate(order)
        )
        for order in permutations(range(len(costs)))
    )


@settings(deadline=None)
@given(instances())
def test_no_order_is_cheaper(instance):
    chances, costs = instance
    found = single_fault_cost(p_over_c_order(chances, costs), chances, costs)
    assert found == pytest.approx(cheapest(chances, costs), rel=1e-9)


@settings(deadline=None)
@given(instances())
def test_plans_on_a_table_are_as_good(instance):
    chances, costs = instance
    problem = TabularProblem(
        priors=chances,
        stop_prices=np.full(len(costs), 1e6),
        repair_prices=costs,
        cures=np.eye(len(costs)),
    )
    plan = best_plan(problem.plan_table(TabularState()))
    assert plan.value == pytest.approx(cheapest(chances, costs), rel=1e-9)
