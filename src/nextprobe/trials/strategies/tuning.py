"""The best order of steps that can be found on devices kept for it.

A local search over orders: from each of several sensible ones a word is moved, dropped or put in
as long as that makes the training devices cheaper. An order that is clearly dearer is given up
before it has been played on all of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from nextprobe.trials.strategies.order_words import GROUPS, PROVES
from nextprobe.trials.strategies.static_order import PROBE_ALL, TRADE_ORDER

Order = tuple[str, ...]

STARTS: tuple[Order, ...] = (
    TRADE_ORDER,
    PROBE_ALL,
    (),
    ("look outside", "checks", "swap", "reseat", "clean", "probe", "swap and refresh"),
    (PROVES, *TRADE_ORDER),
    (PROVES, "outside", "look outside", "checks", "swap", "probe", "clean", "swap and refresh"),
)
"""Where the search begins; the empty order is the p/c order, as long as it pays."""

_LEAST_PLAYED = 6


@dataclass(frozen=True)
class Tuned:
    """An order and how it did on the devices that it was tuned on.

    Parameters
    ----------
    order : tuple of str
    mean_cost : float
        Over the training devices [currency]; too good, since the order was chosen by them.
    devices : int
        How many.
    tried : int
        How many orders were tried, the dearer ones not on all devices.
    """

    order: Order
    mean_cost: float
    devices: int
    tried: int


def tune(
    cost: Callable[[Order, int], float],
    devices: int,
    tries: int,
    seed: int = 0,
    starts: Sequence[Order] = STARTS,
) -> Tuned:
    """Search for the cheapest order.

    Parameters
    ----------
    cost : callable
        Price of the job that an order makes of a training device by number [currency].
    devices : int
        How many training devices, at least 1.
    tries : int
        How many orders to try at most; the starts are tried in any case.
    seed : int
        Of the order in which neighbours are tried.
    starts : sequence of tuple of str
    """
    search = _Search(cost, devices)
    for start in starts:
        search.consider(start)
    rng = np.random.default_rng(seed)
    improved = True
    while improved and search.tried < tries:
        improved = False
        around = list(neighbours(search.best))
        for place in rng.permutation(len(around)):
            if search.tried >= tries:
                break
            if search.consider(around[place]):
                improved = True
                break
    return Tuned(search.best, float(np.mean(search.costs)), devices, search.tried)


def neighbours(order: Order) -> Iterator[Order]:
    """Yield the orders that differ by one word moved, dropped or put in."""
    for place, word in enumerate(order):
        rest = (*order[:place], *order[place + 1 :])
        yield rest
        for target in range(len(order)):
            if target != place and word != PROVES:
                yield (*rest[:target], word, *rest[target:])
    for word in GROUPS:
        if word not in order:
            for target in range(len(order) + 1 if word != PROVES else 1):
                yield (*order[:target], word, *order[target:])


class _Search:
    """The best order so far, and what it costs on each device."""

    def __init__(self, cost: Callable[[Order, int], float], devices: int) -> None:
        self._cost = cost
        self._devices = devices
        self._seen: set[Order] = set()
        self.best: Order = ()
        self.costs: list[float] = []
        self.tried = 0

    def consider(self, order: Order) -> bool:
        """Try an order; tell whether it is the best so far."""
        if order in self._seen:
            return False
        self._seen.add(order)
        self.tried += 1
        costs: list[float] = []
        for device in range(self._devices):
            costs.append(self._cost(order, device))
            if self.costs and self._hopeless(costs):
                return False
        if self.costs and sum(costs) >= sum(self.costs):
            return False
        self.best, self.costs = order, costs
        return True

    def _hopeless(self, costs: Sequence[float]) -> bool:
        """Tell whether an order is dearer already, or by two standard errors on what it played."""
        if sum(costs) >= sum(self.costs):
            return True
        behind = np.array(costs) - np.array(self.costs[: len(costs)])
        if len(behind) < _LEAST_PLAYED:
            return False
        return bool(behind.mean() > 2.0 * behind.std(ddof=1) / len(behind) ** 0.5)
