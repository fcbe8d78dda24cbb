"""Newton's method on many small networks at once.

Modified nodal analysis without voltage sources: every unknown is a node voltage against the
reference, every equation Kirchhoff's current law at a node. Junctions are closed-form branches
(:mod:`nextprobe.circuit.junction`), so that steps are limited in volts only; a conductance of
1 pS from every node to the reference keeps isolated nodes regular, and where plain steps fail a
larger one is lowered decade by decade.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from nextprobe.circuit.network import Floats
from nextprobe.circuit.problem import Problem
from nextprobe.circuit.stack import Stack

LEAST_CONDUCTANCE = 1e-12
MOST_STEPS = 60
_CHUNK = 500_000
_SIZES = (0, 1, 2, 3, 4, 6, 8, 12, 16, 20, 24, 28, 32, 40, 48, 56, 64, 80, 96, 112, 128)


def solve(problems: Sequence[Problem]) -> list[Floats | None]:
    """Return the node voltages of each problem [V], or None where Newton did not converge."""
    answers: list[Floats | None] = [None] * len(problems)
    for group in groups(problems):
        for index, voltages in zip(group, _solve_group([problems[i] for i in group]), strict=True):
            answers[index] = voltages
    for index, voltages in enumerate(answers):
        if voltages is None:
            answers[index] = _by_continuation(problems[index])
    return answers


def _rounded(size: int) -> int:
    return next((each for each in _SIZES if each >= size), -(-size // 32) * 32)


def groups(problems: Sequence[Problem]) -> Iterator[list[int]]:
    """Yield problems of like size, as many together as fit well into memory."""
    alike: dict[tuple[int, int], list[int]] = {}
    for index, problem in enumerate(problems):
        leaves = problem.size - problem.core
        alike.setdefault((_rounded(problem.core), _rounded(leaves)), []).append(index)
    for (core, leaves), members in sorted(alike.items()):
        most = max(1, _CHUNK // (core * core + 4 * leaves))
        for first in range(0, len(members), most):
            yield members[first : first + most]


def _solve_group(problems: list[Problem], extra: float = 0.0) -> list[Floats | None]:
    """Solve problems of like size together, dropping those that are done."""
    answers: list[Floats | None] = [None] * len(problems)
    left = list(range(len(problems)))
    stack = Stack(problems, LEAST_CONDUCTANCE + extra)
    voltages = stack.guess()
    for _ in range(MOST_STEPS):
        voltages, done = stack.step(voltages)
        if not done.any() or not (done.all() or 2 * done.sum() >= len(left)):
            continue
        for place in np.flatnonzero(done).tolist():
            answers[left[place]] = stack.unpadded(voltages[place], place)
        waiting = np.flatnonzero(~done)
        if not len(waiting):
            break
        restart = [
            replace(stack.problems[place], guess=stack.unpadded(voltages[place], place))
            for place in waiting.tolist()
        ]
        left = [left[place] for place in waiting]
        stack = Stack(restart, LEAST_CONDUCTANCE + extra)
        voltages = stack.guess()
    return answers


def _by_continuation(problem: Problem) -> Floats | None:
    for exponent in range(3, 13):
        found = _solve_group([problem], extra=10.0**-exponent)[0]
        if found is None:
            return None
        problem = replace(problem, guess=found)
    return _solve_group([problem])[0]
