"""Policies as graphs of what to do next, and what they cost: exactly, by state."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frozen_bench.files import EntryError
from frozen_bench.problems import Option, Place, Problem

Floats = NDArray[np.float64]
Possible = NDArray[np.bool_]
History = list[tuple[str, str]]
Rule = Callable[[Place], str]
Node = dict[str, Any]
MOST_NODES = 200_000


def cost_of(problem: Problem, nodes: list[Node]) -> float:
    """Return the expected cost of a policy [currency].

    Parameters
    ----------
    problem : Problem
    nodes : list of mapping
        The first is where to start; each has what to ``do``, and for each outcome after which
        the job goes on the place of the node that follows, under ``then``.

    Raises
    ------
    EntryError
        If it does what can not be done, does something twice, or does not say what follows.
    """
    known: dict[tuple[object, ...], Floats] = {}

    def by_state(number: int, level: int, done: frozenset[str], possible: Possible) -> Floats:
        key = number, level, done, possible.tobytes()
        if key not in known:
            known[key] = step(number, level, done, possible)
        return known[key]

    def step(number: int, level: int, done: frozenset[str], possible: Possible) -> Floats:
        node, option = _option(problem, nodes, number, done)
        higher = max(level, option.level)
        missing = problem.levels[higher] - problem.levels[level]
        cost: Floats = option.price + missing + option.ends * option.due
        for label, chances in option.outcomes:
            left = np.asarray((chances[possible] > 0.0).any(axis=0))
            if left.any():
                after = _follows(problem, node, number, label)
                rest = by_state(after, higher, done | {option.id}, left)
                cost = cost + np.asarray(chances @ rest)
        return cost

    return float(problem.prior @ by_state(0, 0, frozenset(), problem.prior > 0.0))


def _option(
    problem: Problem, nodes: list[Node], number: int, done: frozenset[str]
) -> tuple[Node, Option]:
    try:
        node = nodes[number]
        option = problem.options[node["do"]]
    except (IndexError, KeyError, TypeError):
        raise EntryError(f"{problem.id}, node {number}: there is nothing to do") from None
    if option.id in done:
        raise EntryError(f"{problem.id}, node {number}: {option.id} has been done already")
    return node, option


def _follows(problem: Problem, node: Node, number: int, label: str) -> int:
    try:
        after = int(node["then"][label])
    except (KeyError, TypeError, ValueError):
        raise EntryError(f"{problem.id}, node {number}: what follows '{label}'?") from None
    if after < 0:
        raise EntryError(f"{problem.id}, node {number}: there is no node {after}")
    return after


def graph_of(problem: Problem, rule: Rule) -> list[Node]:
    """Return the policy of a rule that looks at where the job stands, equal places once."""
    nodes: list[Node] = []
    numbers: dict[tuple[object, ...], int] = {}

    def visit(place: Place) -> int:
        if place.name in numbers:
            return numbers[place.name]
        numbers[place.name] = number = len(nodes)
        option = problem.options[rule(place)]
        nodes.append(node := _new(problem, nodes, option))
        for label, _, after in place.after(option):
            node["then"][label] = visit(after)
        return number

    visit(problem.start())
    return nodes


def graph_of_histories(
    problem: Problem, data: Mapping[str, Any], choose: Callable[[Any, History], str]
) -> list[Node]:
    """Return the policy of a function that is given the problem and what was done and seen.

    Raises
    ------
    EntryError
        If it chooses what is not there, or what has been done.
    """
    nodes: list[Node] = []

    def visit(place: Place, history: History) -> int:
        chosen = choose(data, list(history))
        if chosen not in problem.options or chosen in place.done:
            raise EntryError(f"{problem.id}, after {history}: '{chosen}' can not be done")
        number, option = len(nodes), problem.options[chosen]
        nodes.append(node := _new(problem, nodes, option))
        for label, _, after in place.after(option):
            node["then"][label] = visit(after, [*history, (chosen, label)])
        return number

    visit(problem.start(), [])
    return nodes


def _new(problem: Problem, nodes: list[Node], option: Option) -> Node:
    if len(nodes) >= MOST_NODES:
        raise EntryError(f"{problem.id}: the policy has more than {MOST_NODES} nodes")
    return {"do": option.id} if not option.outcomes else {"do": option.id, "then": {}}
