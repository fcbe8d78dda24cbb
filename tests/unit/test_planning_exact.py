"""The exact planner, policies as data and the cost of following a rule."""

import math

import numpy as np
import pytest

from nextprobe.belief import Branch
from nextprobe.errors import MisuseError
from nextprobe.planning import (
    Option,
    TabularProblem,
    TabularState,
    expected_cost,
    optimum,
    recommend,
)

START = TabularState()
TRY, STOP = Option("try", "Try"), Option("stop", "Stop")


def opening():
    """Half the time the fault is inside; asking from outside may spare the opening."""
    return TabularProblem(
        priors=np.array([0.5, 0.5]),
        stop_prices=np.full(2, 100.0),
        repair_prices=np.array([4.0, 6.0]),
        cures=np.eye(2),
        penalties=np.array([[0.0, 0.0], [0.0, 3.0]]),
        repair_levels=np.array([0, 1]),
        test_prices=np.array([1.0]),
        test_levels=np.array([1]),
        likelihoods=[np.eye(2)],
        level_prices=np.array([0.0, 10.0]),
    )


def test_preparation_is_paid_once_and_penalties_when_the_job_ends():
    problem = opening()
    repair = next(option for option in problem.options(START) if option.id == "repair 1")
    assert problem.price(START, repair) == 16.0
    ended, failed = problem.outcomes(START, repair)
    assert (ended.probability, ended.cost, ended.state) == (0.5, 3.0, None)
    assert failed.state == TabularState(frozenset({1}), level=1)
    assert problem.price(TabularState(level=1), repair) == 6.0
    # The outer repair first; half the time open, and the other repair with its penalty.
    assert optimum(problem, START).cost == pytest.approx(4.0 + 0.5 * (10.0 + 6.0 + 3.0))
    assert recommend(problem, START).cost == pytest.approx(13.5)


class Retry:
    """Try until it works, or give up: the same state comes again."""

    def __init__(self, chance, give_up=30.0):
        self.chance, self.give_up = chance, give_up

    def options(self, tries):
        return [TRY, STOP]

    def price(self, tries, option):
        return 1.0 if option is TRY else self.give_up

    def outcomes(self, tries, option):
        if option is STOP:
            return []
        return [Branch("works", self.chance, None), Branch("fails", 1.0 - self.chance, "again")]

    def lower_bound(self, tries):
        return 0.0


def test_states_may_recur():
    assert optimum(Retry(0.25), "again").cost == pytest.approx(4.0)
    best = optimum(Retry(0.25, give_up=3.0), "again")
    assert best.cost == pytest.approx(3.0)
    assert best.option is STOP


def test_a_circle_without_a_way_out_is_an_open_bound_and_not_a_value():
    problem = Retry(0.0, give_up=math.inf)
    found = optimum(problem, "again", expansions=50)
    assert not found.closed
    assert found.upper == math.inf
    assert found.lower >= 10.0
    with pytest.raises(MisuseError, match="not known"):
        _ = found.cost


def test_discount():
    # Trying for ever costs 1 / (1 - .9).
    found = optimum(Retry(0.0, give_up=30.0), "again", discount=0.9, tolerance=1e-6)
    assert found.cost == pytest.approx(10.0, abs=1e-6)
    assert found.lower <= 10.0 + 1e-9 <= found.upper + 2e-9


class Detour:
    """Mostly around in a circle; what matters lies where one seldom gets."""

    def options(self, place):
        return [TRY]

    def price(self, place, option):
        return 3.0 if place == "out" else 0.0

    def outcomes(self, place, option):
        return {
            "start": [Branch("around", 0.9, "back"), Branch("on", 0.1, "out")],
            "back": [Branch("again", 1.0, "start")],
            "out": [Branch("done", 1.0, None)],
        }[place]

    def lower_bound(self, place):
        return 0.0

    def upper_bound(self, place):
        return 5.0


@pytest.mark.parametrize("discount", [1.0, 0.9])
def test_a_rare_way_out_of_a_circle_is_found(discount):
    found = optimum(Detour(), "start", discount=discount)
    # V = .9 d² V + .1 d · 3
    assert found.cost == pytest.approx(0.3 * discount / (1.0 - 0.9 * discount**2), abs=1e-8)
    assert found.states == 3


def test_too_few_expansions_still_give_a_policy_as_far_as_it_goes():
    problem = opening()
    found = optimum(problem, START, expansions=1)
    assert found.states == 1
    assert not found.closed
    assert found.lower <= optimum(problem, START).cost <= found.upper
    assert not found.policy.complete
    assert "not looked into" in found.policy.text()


def test_policy_as_data():
    policy = optimum(opening(), START).policy
    assert policy.complete
    assert policy.text().splitlines() == [
        "repair 0 (13.50)",
        "  ended (50%): the end",
        "  not ended (50%):",
        "    repair 1 (19.00)",
        "      ended (100%): the end",
    ]
    assert policy.text(depth=1).splitlines()[-1] == "  not ended (50%): …"


def test_following_the_policy_costs_the_optimum():
    problem = opening()
    best = optimum(problem, START)
    costs = expected_cost(problem, START, lambda state: optimum(problem, state).option)
    assert costs == pytest.approx(best.cost)
    with pytest.raises(MisuseError, match="itself"):
        expected_cost(Retry(0.5), "again", lambda _: TRY)


def test_misuse():
    for wrong in ({"discount": 0.0}, {"discount": 1.1}, {"tolerance": 0.0}, {"expansions": 0}):
        with pytest.raises(MisuseError, match="discount"):
            optimum(opening(), START, **wrong)
    problem = Retry(0.5)
    problem.options = lambda state: []
    with pytest.raises(MisuseError, match="no option"):
        optimum(problem, "again")
