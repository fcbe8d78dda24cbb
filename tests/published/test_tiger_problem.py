"""The tiger problem: a discounted problem without an end, whose states recur.

Source: Kaelbling, Littman, Cassandra (1998), "Planning and acting in partially observable
stochastic domains", Artificial Intelligence 101, 99-134, section 5: a tiger behind one of two
doors, listening costs 1 and is right with a chance of .85, the right door is worth 10, the tiger
costs 100, and after a door has been opened all starts anew. Discount .95 and the value 19.3714 at
the uniform belief are from memory. The value is found again here in another way: by iterating
over the grid of beliefs that listening can lead to.
"""

import math

import pytest

from nextprobe.belief import Branch
from nextprobe.planning import Option, optimum

LISTEN, LEFT, RIGHT = (Option(name, name) for name in ("listen", "open left", "open right"))
HEARS, DISCOUNT, VALUE = 0.85, 0.95, 19.3714


class Tiger:
    """A state is the chance that the tiger is on the left; costs are what rewards are not."""

    def options(self, left):
        return [LISTEN, LEFT, RIGHT]

    def price(self, left, option):
        tiger = {LEFT.id: left, RIGHT.id: 1.0 - left}.get(option.id)
        return 1.0 if tiger is None else 100.0 * tiger - 10.0 * (1.0 - tiger)

    def outcomes(self, left, option):
        if option is not LISTEN:
            return [Branch("anew", 1.0, 0.5)]
        growls = left * HEARS + (1.0 - left) * (1.0 - HEARS)
        return [
            Branch("left", growls, left * HEARS / growls),
            Branch("right", 1.0 - growls, left * (1.0 - HEARS) / (1.0 - growls)),
        ]

    def key(self, left):
        return round(left, 12)

    def lower_bound(self, left):
        """Open the right door every time."""
        return -10.0 / (1.0 - DISCOUNT)

    def upper_bound(self, left):
        """Listen for ever."""
        return 1.0 / (1.0 - DISCOUNT)


def value_by_iteration(reach=40):
    """Return the value at the uniform belief; belief k has heard k more growls on the left."""
    beliefs = [1.0 / (1.0 + (0.15 / 0.85) ** k) for k in range(-reach, reach + 1)]
    values = [0.0] * len(beliefs)
    for _ in range(600):
        start = values[reach]
        doors = [max(10 - 110 * left, 110 * left - 100) + DISCOUNT * start for left in beliefs]
        more = [*values[1:], values[-1]]
        less = [values[0], *values[:-1]]
        heard = [left * HEARS + (1.0 - left) * (1.0 - HEARS) for left in beliefs]
        listen = [
            -1.0 + DISCOUNT * (growl * up + (1.0 - growl) * down)
            for growl, up, down in zip(heard, more, less, strict=True)
        ]
        values = [max(pair) for pair in zip(doors, listen, strict=True)]
    return values[reach]


def solved(tolerance=1e-6, expansions=10_000):
    return optimum(Tiger(), 0.5, discount=DISCOUNT, tolerance=tolerance, expansions=expansions)


def test_value_at_the_uniform_belief():
    found = solved()
    assert found.closed
    assert -found.upper == pytest.approx(VALUE, abs=5e-5)
    assert -found.upper == pytest.approx(value_by_iteration(), abs=2e-6)


def test_two_growls_more_on_one_side_open_the_other_door():
    policy = solved().policy
    assert policy.complete
    start = policy.steps[0]
    once = policy.steps[start.outcomes[0].step]
    twice = policy.steps[once.outcomes[0].step]
    assert [step.option for step in (start, once, twice)] == [LISTEN, LISTEN, RIGHT]
    assert policy.steps[once.outcomes[1].step] is start
    assert twice.outcomes[0].step == 0


@pytest.mark.parametrize("expansions", [1, 2, 5, 50])
def test_bounds_hold_at_any_moment(expansions):
    found = solved(expansions=expansions)
    assert found.lower <= -value_by_iteration() + 1e-9
    assert found.upper >= -value_by_iteration() - 1e-9
    assert found.closed == math.isclose(found.lower, found.upper, abs_tol=1e-6)
