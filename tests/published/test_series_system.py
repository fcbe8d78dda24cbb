"""Testing a series system until the first failure.

Sources: Johnson (1956) and Mitten (1960), "An analytic solution to the least cost testing
sequence problem", Journal of Industrial Engineering 11: rising cost per chance of failing is
optimal. Cited from memory; the instance is our own and is checked by brute force.
"""

from itertools import permutations

import pytest

from nextprobe.planning.order import series_system_cost, series_system_order

COSTS = [5.0, 3.0, 8.0, 2.0]
FAILS = [0.3, 0.1, 0.5, 0.05]


def cost_by_enumeration(order):
    """Sum over where the first failure lies, without the formula under test."""
    expected, reach, spent = 0.0, 1.0, 0.0
    for test in order:
        spent += COSTS[test]
        expected += reach * FAILS[test] * spent
        reach *= 1.0 - FAILS[test]
    return expected + reach * spent


def test_order_and_cost():
    order = series_system_order(COSTS, FAILS)
    assert order == (2, 0, 1, 3)
    assert series_system_cost(order, COSTS, FAILS) == pytest.approx(12.18, abs=1e-12)


def test_nothing_beats_it():
    costs = {order: cost_by_enumeration(order) for order in permutations(range(4))}
    assert min(costs, key=costs.get) == (2, 0, 1, 3)
    assert min(costs.values()) == pytest.approx(12.18, abs=1e-12)
