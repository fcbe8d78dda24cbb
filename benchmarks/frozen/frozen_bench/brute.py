"""The optimum by going through everything, without bounds: a second opinion on the first solver.

It shares nothing with the rest but the file: it reads the plain data, and follows beliefs as plain
lists of weights that are not normalised.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

Weights = tuple[float, ...]
Left = tuple[tuple[int, ...], tuple[int, ...], int]


class TooLargeError(Exception):
    """There are more places than were to be gone through."""


def brute_force(data: Mapping[str, Any], most: int = 2_000_000) -> float:
    """Return the optimal expected cost of a problem, given as plain data.

    Raises
    ------
    TooLargeError
        If more than `most` places would have to be looked into.
    """
    weights = [state["prior"] for state in data["states"]]
    total = sum(weights)
    everything = tuple(range(len(data["tests"]))), tuple(range(len(data["repairs"])))
    return _Search(data, most).best(tuple(w / total for w in weights), *everything, 0)


class _Search:
    """The least expected costs that are known, by what is left to do and how likely what is."""

    def __init__(self, data: Mapping[str, Any], most: int) -> None:
        self._data = data
        self._most = most
        self._known: dict[tuple[object, ...], float] = {}

    def best(
        self, weights: Weights, tests: tuple[int, ...], repairs: tuple[int, ...], level: int
    ) -> float:
        """Return the least expected cost times the whole weight."""
        key = tests, repairs, level, tuple(round(w, 14) for w in weights)
        if key not in self._known:
            if len(self._known) >= self._most:
                raise TooLargeError
            stops = self._data["stops"]
            best = min(_times(weights, stop["price"]) for stop in stops)
            for test in tests:
                best = min(best, self._by_test(test, best, weights, tests, repairs, level))
            for repair in repairs:
                best = min(best, self._by_repair(repair, best, weights, tests, repairs, level))
            self._known[key] = best
        return self._known[key]

    def _opened(self, step: Mapping[str, Any], weights: Weights, level: int) -> tuple[float, int]:
        """Return the price of a step with what is missing of the preparation, and the level."""
        levels, higher = self._data["levels"], max(level, step["level"])
        return sum(weights) * (step["price"] + levels[higher] - levels[level]), higher

    def _by_test(self, number: int, best: float, weights: Weights, *left: *Left) -> float:
        tests, repairs, level = left
        test = self._data["tests"][number]
        rest = tuple(other for other in tests if other != number)
        cost, higher = self._opened(test, weights, level)
        for row in test["chances"]:
            seen = tuple(w * c for w, c in zip(weights, row, strict=True))
            if cost < best and sum(seen) > 0.0:
                cost += self.best(seen, rest, repairs, higher)
        return cost

    def _by_repair(self, number: int, best: float, weights: Weights, *left: *Left) -> float:
        tests, repairs, level = left
        repair = self._data["repairs"][number]
        rest = tuple(other for other in repairs if other != number)
        cost, higher = self._opened(repair, weights, level)
        after = [0.0] * len(weights)
        for state, weight in enumerate(weights):
            for target, chance in repair["leads_to"].get(str(state), [[state, 1.0]]):
                if target < 0:
                    cost += weight * chance * repair.get("due", {}).get(str(state), 0.0)
                else:
                    after[target] += weight * chance
        if cost < best and sum(after) > 0.0:
            cost += self.best(tuple(after), tests, rest, higher)
        return cost


def _times(weights: Weights, prices: Sequence[float]) -> float:
    return sum(weight * price for weight, price in zip(weights, prices, strict=True))
