"""Costs, limits, configurations and tables."""

import numpy as np
import pytest

from nextprobe.errors import MisuseError
from nextprobe.planning import Configuration, Cost, Limits, Option, PlanTable, Tariff


def test_costs_add_scale_and_have_a_price():
    cost = Cost(attended=60.0, parts=2.0) + 0.5 * Cost(attended=60.0, elapsed=600.0, harms=4.0)
    assert cost == Cost(attended=90.0, elapsed=300.0, parts=2.0, harms=2.0)
    assert Tariff(0.02, 0.001).price(cost) == pytest.approx(1.8 + 0.3 + 2.0 + 2.0)


def test_limits_forbid_effects_and_cap_the_charge():
    wipe = Option("restore", "Restore", effects=frozenset({"wipe"}))
    assert not Limits(forbidden=frozenset({"wipe"})).admits(wipe)
    assert Limits(forbidden=frozenset({"unpair"})).admits(wipe)
    assert Limits(ceiling=50.0).admits(wipe, charge=50.0)
    assert not Limits(ceiling=50.0).admits(wipe, charge=50.01)
    with pytest.raises(MisuseError):
        Limits(ceiling=-1.0)


def test_configurations_are_values():
    first = Configuration(fitted={"a": "own", "b": "own"})
    same = Configuration(fitted={"b": "own", "a": "own"})
    assert first == same
    assert hash(first) == hash(same)
    swapped = first.with_(fitted={"a": "donor"}, recognised=[("a", "own")], opened="open")
    assert swapped.fitted == {"a": "donor", "b": "own"}
    assert swapped.opened == "open"
    assert first.fitted["a"] == "own"
    assert swapped.without(recognised=[("a", "own"), ("b", "own")]).recognised == frozenset()
    assert swapped.with_(backed_up=True).with_(removed=["x"]).backed_up
    assert len({first, same, swapped}) == 2


def table(**changes):
    values = {
        "names": ("a", "b"),
        "weights": np.ones(3),
        "prices": np.ones(2),
        "ends": np.zeros((2, 3)),
        "penalties": np.zeros((2, 3)),
        "stop_prices": np.ones(3),
    }
    return PlanTable(**{**values, **changes})


@pytest.mark.parametrize(
    "changes",
    [
        {"prices": np.ones(3)},
        {"stop_prices": np.ones(2)},
        {"weights": np.array([1.0, -1.0, 1.0])},
        {"ends": np.full((2, 3), 1.5)},
        {"penalties": np.full((2, 3), -1.0)},
        {"levels": np.array([0, 1])},
        {"level_prices": np.array([1.0])},
        {"level_prices": np.array([0.0, 2.0, 1.0])},
    ],
)
def test_tables_are_checked(changes):
    with pytest.raises(MisuseError):
        table(**changes)


def test_worlds_that_no_plan_tells_apart_are_grouped():
    ends = np.array([[0.5, 0.5, 0.0], [0.0, 0.0, 0.0]])
    grouped = table(ends=ends, penalties=np.array([[1.0, 1.0, 7.0], [3.0, 0.0, 0.0]])).grouped
    assert grouped.group.tolist() == [0, 0, 1]
    assert grouped.sums(np.array([[1.0, 2.0, 4.0]])).tolist() == [[3.0, 4.0]]
    # Repeating the first step costs 1 / .5 + 1 = 3, giving up costs 1.
    assert grouped.known_costs.tolist() == [1.0, 1.0]


def test_another_belief_keeps_the_grouping():
    first = table()
    second = first.with_weights(np.array([0.0, 0.0, 1.0]))
    assert second.grouped is first.grouped
    assert first.weights.tolist() == [1.0, 1.0, 1.0]
    assert second.weights.tolist() == [0.0, 0.0, 1.0]
    with pytest.raises(MisuseError):
        first.with_weights(np.ones(2))
