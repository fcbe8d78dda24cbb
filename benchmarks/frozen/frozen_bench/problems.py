"""Planning problems of the benchmark: what may be done, what it costs, what comes of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
WORKS, FAILS = "works", "fails"
HEALTHY = -1


@dataclass(frozen=True, eq=False)
class Option:
    """A test, a repair or a way to give up.

    Parameters
    ----------
    id, kind : str
        The kind is ``test``, ``repair`` or ``stop``.
    price : ndarray, shape (S,)
        By state; the same for all but for a stop [currency].
    level : int
        How far the device must be prepared.
    outcomes : tuple of (str, ndarray), shapes (S, S)
        What may be seen, and the chance of it from each state together with the state after it.
        Missing from a row is what ends the job.
    ends : ndarray, shape (S,)
        The chance that the job ends by it.
    due : ndarray, shape (S,)
        What falls due if it does [currency].
    """

    id: str
    kind: str
    price: Floats
    level: int
    outcomes: tuple[tuple[str, Floats], ...]
    ends: Floats
    due: Floats


@dataclass(frozen=True, eq=False)
class Problem:
    """A problem; see the documentation for the file that it comes from.

    Parameters
    ----------
    id : str
    prior : ndarray, shape (S,)
        Chance of each state of the device; sums to one.
    levels : ndarray, shape (L,)
        Price of preparing each level from the start [currency].
    options : mapping of str to Option
    """

    id: str
    prior: Floats
    levels: Floats
    options: Mapping[str, Option]

    def start(self) -> Place:
        """Return where the job stands at its start."""
        return Place(self, self.prior, 0, frozenset())


@dataclass(frozen=True, eq=False)
class Place:
    """Where a job stands: what is believed, what is prepared, what has been done.

    Parameters
    ----------
    problem : Problem
    belief : ndarray, shape (S,)
    level : int
    done : frozenset of str
        Options, each of which may be taken once.
    """

    problem: Problem
    belief: Floats
    level: int
    done: frozenset[str]

    @cached_property
    def name(self) -> tuple[object, ...]:
        """The same for places with the same future, up to rounding."""
        possible = (self.belief > 0.0).tobytes()
        return self.done, self.level, possible, (np.round(self.belief, 12) + 0.0).tobytes()

    def left(self, kind: str) -> list[Option]:
        """Return the options of a kind that have not been taken."""
        every = self.problem.options.values()
        return [each for each in every if each.kind == kind and each.id not in self.done]

    def price(self, option: Option) -> float:
        """Return the price with what is missing of the preparation, or what giving up costs."""
        levels = self.problem.levels
        missing = max(0.0, float(levels[option.level] - levels[self.level]))
        return float(option.price @ self.belief) + missing

    def ends(self, option: Option) -> tuple[float, float]:
        """Return the chance that the job ends by an option, and what then falls due on average."""
        weights = self.belief * option.ends
        chance = float(weights.sum())
        return chance, float(weights @ option.due) / chance if chance > 0.0 else 0.0

    def after(self, option: Option) -> Iterator[tuple[str, float, Place]]:
        """Yield what may be seen, its chance, and where the job then stands, if it goes on."""
        level = max(self.level, option.level)
        for label, chances in option.outcomes:
            weights = self.belief @ chances
            chance = float(weights.sum())
            if chance > 0.0:
                done = self.done | {option.id}
                yield label, chance, Place(self.problem, weights / chance, level, done)


def problem_from(data: Mapping[str, Any]) -> Problem:
    """Return a problem from plain data."""
    prior = np.array([state["prior"] for state in data["states"]], dtype=np.float64)
    size = prior.size
    options = [
        *(_test(each, size) for each in data["tests"]),
        *(_repair(each, size) for each in data["repairs"]),
        *(_stop(each, size) for each in data["stops"]),
    ]
    by_id = {option.id: option for option in options}
    return Problem(data["id"], prior / prior.sum(), np.array(data["levels"], dtype=float), by_id)


def _test(data: Mapping[str, Any], size: int) -> Option:
    chances = np.array(data["chances"], dtype=np.float64)
    pairs = zip(data["outcomes"], chances, strict=True)
    outcomes = tuple((label, np.diag(row)) for label, row in pairs)
    none = np.zeros(size)
    return Option(
        data["id"], "test", np.full(size, data["price"]), data["level"], outcomes, none, none
    )


def _repair(data: Mapping[str, Any], size: int) -> Option:
    stays, ends, due = np.eye(size), np.zeros(size), np.zeros(size)
    for state, leads in data["leads_to"].items():
        stays[int(state)] = 0.0
        for target, chance in leads:
            if target == HEALTHY:
                ends[int(state)] += chance
            else:
                stays[int(state), target] += chance
    for state, amount in data.get("due", {}).items():
        due[int(state)] = amount
    price = np.full(size, data["price"])
    return Option(data["id"], "repair", price, data["level"], ((FAILS, stays),), ends, due)


def _stop(data: Mapping[str, Any], size: int) -> Option:
    price, all_of_it = np.array(data["price"], dtype=np.float64), np.ones(size)
    return Option(data["id"], "stop", price, 0, (), all_of_it, np.zeros(size))
