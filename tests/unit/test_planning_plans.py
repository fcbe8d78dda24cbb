"""Plans that can be carried out, by hand."""

import numpy as np
import pytest

from nextprobe.errors import MisuseError
from nextprobe.planning import PlanTable, best_plan, best_values, evaluate, perfect_information
from nextprobe.planning.order import p_over_c_order, single_fault_cost
from nextprobe.planning.plans import prefix_costs


def table(weights=(0.5, 0.3, 0.2), stop=(50.0, 50.0, 80.0)):
    return PlanTable(
        ("swap", "solder"),
        np.array(weights),
        np.array([10.0, 20.0]),
        np.array([[0.9, 0.0, 0.0], [0.0, 0.8, 0.0]]),
        np.array([[5.0, 0.0, 0.0], [0.0, 0.0, 0.0]]),
        np.array(stop),
    )


def test_cost_of_an_order_by_hand():
    # Half the worlds: swap ends nine times in ten and costs 5 more then.
    swap = 10.0 + 0.5 * 0.9 * 5.0
    solder = (0.05 + 0.3 + 0.2) * 20.0
    stop = 0.05 * 50.0 + 0.06 * 50.0 + 0.2 * 80.0
    assert evaluate(("swap", "solder"), table()) == pytest.approx(swap + solder + stop)
    assert evaluate((), table()) == pytest.approx(0.8 * 50.0 + 0.2 * 80.0)


def test_a_plan_stops_where_the_next_step_does_not_pay():
    # After the swap, soldering would cost 11 and save .3 × .8 × 50 = 12.
    assert best_plan(table()).order == ("swap", "solder")
    # With the second cause rarer it costs 11 and saves .15 × .8 × 50 = 6.
    assert best_plan(table(weights=(0.5, 0.15, 0.35))).order == ("swap",)
    assert best_plan(table(weights=(0.0, 0.0, 1.0))).order == ()


def test_a_penalty_can_make_a_step_not_worth_its_end():
    steps = PlanTable(
        ("reflow", "replace"),
        np.ones(1),
        np.array([1.0, 10.0]),
        np.array([[1.0], [1.0]]),
        np.array([[60.0], [0.0]]),
        np.array([50.0]),
    )
    plan = best_plan(steps)
    assert plan.order == ("replace",)
    assert plan.value == pytest.approx(10.0)


def test_weights_of_any_scale():
    assert best_plan(table(weights=(5e-300, 3e-300, 2e-300))).value == pytest.approx(
        best_plan(table()).value
    )
    assert best_values(np.zeros((1, 3)), table()).tolist() == [0.0]


def test_a_known_order_may_be_followed_as_far_as_it_pays():
    weights = np.array([[0.5, 0.15, 0.35], [0.1, 0.85, 0.05]])
    values = best_values(weights, table(), [("solder", "swap", "unheard of")])
    costs = weights @ prefix_costs(("solder", "swap"), table())[:, table().grouped.group].T
    assert (values <= costs.min(axis=1) + 1e-12).all()
    assert best_plan(table(), [("solder",)]).value <= evaluate(("solder",), table())


def test_perfect_information_by_hand():
    # Known worlds: 10 / .9 + 5, 20 / .8, 80.
    known = 0.5 * (10 / 0.9 + 5.0) + 0.3 * 25.0 + 0.2 * 80.0
    assert perfect_information(table()) == pytest.approx(known)


def test_without_steps_only_giving_up_is_left():
    bare = PlanTable(
        (), np.ones(2), np.empty(0), np.empty((0, 2)), np.empty((0, 2)), np.array([1.0, 3.0])
    )
    assert best_plan(bare).value == pytest.approx(2.0)
    assert best_values(np.array([[1.0, 0.0]]), bare, [("a",)]).tolist() == [1.0]


def test_no_step_twice():
    with pytest.raises(MisuseError):
        evaluate(("swap", "swap"), table())


def test_orders_are_checked():
    with pytest.raises(MisuseError):
        p_over_c_order([0.5], [1.0, 2.0])
    with pytest.raises(MisuseError):
        p_over_c_order([1.5], [1.0])
    assert single_fault_cost((), [0.5], [1.0], stop_price=7.0) == 7.0


def test_preparation_is_paid_once_and_only_when_reached():
    steps = PlanTable(
        ("outside", "inside", "deeper"),
        np.array([0.4, 0.4, 0.2]),
        np.array([2.0, 3.0, 4.0]),
        np.eye(3),
        np.zeros((3, 3)),
        np.full(3, 100.0),
        levels=np.array([0, 1, 2]),
        level_prices=np.array([0.0, 10.0, 25.0]),
    )
    upwards = 2.0 + 0.6 * (10.0 + 3.0) + 0.2 * (15.0 + 4.0)
    downwards = (25.0 + 4.0) + 0.8 * 3.0 + 0.4 * 2.0
    assert evaluate(("outside", "inside", "deeper"), steps) == pytest.approx(upwards)
    assert evaluate(("deeper", "inside", "outside"), steps) == pytest.approx(downwards)
    in_between = 13.0 + 0.6 * 2.0 + 0.2 * (15.0 + 4.0)
    assert evaluate(("inside", "outside", "deeper"), steps) == pytest.approx(in_between)
    assert best_plan(steps).value == pytest.approx(upwards)
    assert perfect_information(steps) == pytest.approx(0.4 * 2.0 + 0.4 * 13.0 + 0.2 * 29.0)
