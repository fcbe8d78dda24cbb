"""Simple ways to choose, which anybody could write: p/c order, and what tells most per price."""

from __future__ import annotations

import numpy as np

from frozen_bench.policies import Rule
from frozen_bench.problems import Floats, Option, Place, Problem

LEAST_BITS = 0.4
"""Below this a test is not worth asking [bit]: the best of six on other random problems."""

# What only takes away some of the faults ends no job, and comes after all that may [1].
_HARDLY = 1e-9


def by_chance_per_price(place: Place) -> str:
    """Take the repair that ends the job with most chance per price; give up where that is cheaper.

    Giving up is cheaper where the repair costs more than it is expected to save: its chance times
    the price of giving up, what falls due taken off.
    """
    stop = min(place.left("stop"), key=place.price)
    best, most = stop, 0.0
    for each in place.left("repair"):
        price = place.price(each)
        chance = place.ends(each)[0] or _HARDLY
        helped = place.belief * (1.0 - np.diag(each.outcomes[0][1]))
        saved = float(helped @ (stop.price - each.due))
        if saved > price and chance / price > most:
            best, most = each, chance / price
    return best.id


def by_information(problem: Problem) -> Rule:
    """Ask what tells most of the state per price while it tells enough, then go by p/c."""
    del problem

    def choose(place: Place) -> str:
        told = {each.id: (gain(place, each), place.price(each)) for each in place.left("test")}
        enough = {name: bits / price for name, (bits, price) in told.items() if bits >= LEAST_BITS}
        if not enough:
            return by_chance_per_price(place)
        return max(enough, key=lambda name: enough[name])

    return choose


def gain(place: Place, test: Option) -> float:
    """Return what a test should tell of the state [bit]."""
    after = sum(chance * bits(then.belief) for _, chance, then in place.after(test))
    return bits(place.belief) - after


def bits(belief: Floats) -> float:
    """Return the entropy of a belief [bit]."""
    chances = belief[belief > 0.0]
    return float(-(chances * np.log2(chances)).sum())
