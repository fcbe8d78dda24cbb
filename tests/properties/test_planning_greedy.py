"""One belief alone is followed as it would be among many."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nextprobe.planning import PlanTable, evaluate
from nextprobe.planning.greedy import _follow_many, _follow_one, by_chance, cheapest_greedy


@st.composite
def tables(draw: st.DrawFn) -> PlanTable:
    """Return tables of steps at several levels; chances and prices are often 0 or equal."""
    steps, worlds = draw(st.integers(0, 7)), draw(st.integers(1, 6))
    random = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    ends = random.random((steps, worlds)) * (random.random((steps, worlds)) < 0.5)
    ends[random.random(ends.shape) < 0.2] = 1.0
    prices = random.uniform(0.0, 10.0, steps)
    if draw(st.booleans()):
        prices = np.round(prices / 5.0) * 5.0
        ends = np.round(ends * 2.0) / 2.0
    stop = random.uniform(0.0, 90.0, worlds)
    if draw(st.booleans()):
        stop[:] = stop[0]
    return PlanTable(
        tuple(f"step {number}" for number in range(steps)),
        random.uniform(0.0, 3.0, worlds) * (random.random(worlds) < 0.8),
        prices,
        ends,
        random.uniform(0.0, 8.0, (steps, worlds)),
        stop,
        random.integers(0, 3, steps),
        np.array([0.0, 3.0, draw(st.sampled_from([3.0, 8.0, 40.0]))]),
    )


@st.composite
def beliefs_over(draw: st.DrawFn) -> tuple[PlanTable, np.ndarray]:
    table = draw(tables())
    random = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    return table, random.random((4, table.grouped.stop_prices.size))


@settings(max_examples=200)
@given(tables(), st.booleans())
def test_following_one_belief_equals_following_many(table: PlanTable, savings: bool) -> None:
    grouped = table.grouped
    saved = grouped.stop_prices - grouped.penalties if savings else 1.0
    gains = grouped.ends * saved
    going = grouped.sums(table.weights[None, :])[0]
    one = _follow_one(going, table, gains)
    many = _follow_many(going[None, :], table, gains)
    assert one.values == pytest.approx(many.values, rel=1e-9, abs=1e-9)
    assert one.lengths.tolist() == many.lengths.tolist()
    assert one.order(0, table.names) == many.order(0, table.names)


@given(beliefs_over())
def test_each_of_many_beliefs_gets_the_plan_that_it_gets_alone(
    drawn: tuple[PlanTable, np.ndarray],
) -> None:
    table, beliefs = drawn
    for rule in (by_chance, cheapest_greedy):
        many = rule(beliefs, table)
        for number, belief in enumerate(beliefs):
            one = rule(belief[None, :], table)
            assert one.order(0, table.names) == many.order(number, table.names)
            assert one.values[0] == pytest.approx(many.values[number], rel=1e-9, abs=1e-9)


@settings(max_examples=200)
@given(tables())
def test_a_plan_followed_alone_costs_what_it_says(table: PlanTable) -> None:
    total = table.weights.sum()
    if total == 0.0:
        return
    going = table.grouped.sums(table.weights[None, :])[0]
    found = _follow_one(going, table, table.grouped.ends)
    cost = evaluate(found.order(0, table.names), table)
    assert found.values[0] / total == pytest.approx(cost, rel=1e-9, abs=1e-9)
