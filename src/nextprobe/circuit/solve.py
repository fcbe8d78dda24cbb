"""Newton's method on many small networks at once.

Modified nodal analysis without voltage sources: every unknown is a node voltage against the
reference, every equation Kirchhoff's current law at a node. Junctions are closed-form branches
(:mod:`nextprobe.circuit.junction`), so that steps are limited in volts only; a conductance of
1 pS from every node to the reference keeps isolated nodes regular, and where plain steps fail a
larger one is lowered decade by decade.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from nextprobe.circuit.junction import current_and_slope
from nextprobe.circuit.network import Bools, Elements, Floats, Ints, join

LEAST_CONDUCTANCE = 1e-12
LARGEST_STEP = 0.4
LAST_STEP = 1e-6
"""A Newton step below this [V] is the last one: the error left is of the order of its square."""
MOST_STEPS = 60
_CHUNK = 4_000_000
_SIZES = (1, 2, 3, 4, 6, 8, 12, 16, 20, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128)


@dataclass(frozen=True, eq=False)
class Problem:
    """One network to solve.

    Parameters
    ----------
    size : int
        Number of nodes N; the probe is node 0.
    elements : Elements
        Branches, with those of the meter.
    injected : float
        Current into node 0 [A].
    guess : (N,) array
        Where to start [V].
    largest : float
        Voltages lie between 0 and this one [V].
    """

    size: int
    elements: Elements
    injected: float
    guess: Floats
    largest: float


def solve(problems: Sequence[Problem]) -> list[Floats | None]:
    """Return the node voltages of each problem [V], or None where Newton did not converge."""
    answers: list[Floats | None] = [None] * len(problems)
    for group in _groups(problems):
        for index, voltages in zip(group, _solve_group([problems[i] for i in group]), strict=True):
            answers[index] = voltages
    for index, voltages in enumerate(answers):
        if voltages is None:
            answers[index] = _by_continuation(problems[index])
    return answers


def _padded(size: int) -> int:
    return next((each for each in _SIZES if each >= size), -(-size // 32) * 32)


def _groups(problems: Sequence[Problem]) -> Iterator[list[int]]:
    by_size: dict[int, list[int]] = {}
    for index, problem in enumerate(problems):
        by_size.setdefault(_padded(problem.size), []).append(index)
    for size, members in sorted(by_size.items()):
        most = max(1, _CHUNK // (size * size))
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
        for place in np.flatnonzero(done):
            answers[left[place]] = voltages[place, : problems[left[place]].size].copy()
        keep = np.flatnonzero(~done)
        left = [left[place] for place in keep]
        if not left:
            break
        voltages = voltages[keep]
        stack = Stack([problems[index] for index in left], LEAST_CONDUCTANCE + extra)
    return answers


def _by_continuation(problem: Problem) -> Floats | None:
    for exponent in range(3, 13):
        found = _solve_group([problem], extra=10.0**-exponent)[0]
        if found is None:
            return None
        problem = replace(problem, guess=found)
    return _solve_group([problem])[0]


class Stack:
    """Problems of like size as one set of arrays.

    Parameters
    ----------
    problems : list of Problem
        M problems.
    conductance : float
        From every node to the reference [S].
    """

    def __init__(self, problems: list[Problem], conductance: float) -> None:
        self.problems = problems
        self.count = len(problems)
        self.size = _padded(max(problem.size for problem in problems))
        elements, owner = self._joined()
        junction = elements.saturation > 0
        self.low, self.high = self._box()
        self.junctions = elements.take(junction)
        self._start, self._end = self._flat(self.junctions, owner[junction])
        self._places, self._signs = self._stamp(self.junctions, owner[junction])
        resistors = elements.take(~junction)
        places, signs = self._stamp(resistors, owner[~junction])
        self.linear = self._matrix(places, signs, 1.0 / resistors.ohms)
        diagonal = np.arange(self.size)
        self.linear[:, diagonal, diagonal] += conductance
        for place, problem in enumerate(problems):
            unused = diagonal[problem.size :]
            self.linear[place, unused, unused] = 1.0

    def _joined(self) -> tuple[Elements, Ints]:
        lengths = [len(problem.elements.start) for problem in self.problems]
        owner = np.repeat(np.arange(self.count), lengths)
        return join([problem.elements for problem in self.problems]), owner

    def _box(self) -> tuple[Floats, Floats]:
        largest = np.array([problem.largest for problem in self.problems])[:, None]
        return np.minimum(largest, 0.0), np.maximum(largest, 0.0)

    def _flat(self, elements: Elements, owner: Ints) -> tuple[Ints, Ints]:
        waste = self.count * self.size
        offset = owner * self.size
        return (
            np.where(elements.start >= 0, elements.start + offset, waste),
            np.where(elements.end >= 0, elements.end + offset, waste),
        )

    def _stamp(self, elements: Elements, owner: Ints) -> tuple[Ints, Floats]:
        """Return where in the flat Jacobians each branch's slope goes, and with what sign."""
        a, b = elements.start, elements.end
        square = self.size * self.size
        places, signs = [], []
        for row, column, sign in ((a, a, 1.0), (b, b, 1.0), (a, b, -1.0), (b, a, -1.0)):
            inside = (row >= 0) & (column >= 0)
            flat = owner * square + row * self.size + column
            places.append(np.where(inside, flat, self.count * square))
            signs.append(np.full(len(a), sign))
        return np.concatenate(places), np.concatenate(signs)

    def _matrix(self, places: Ints, signs: Floats, slopes: Floats) -> Floats:
        square = self.count * self.size * self.size
        flat = np.bincount(places, signs * np.tile(slopes, 4), minlength=square + 1)[:square]
        return flat.reshape(self.count, self.size, self.size)

    def guess(self) -> Floats:
        """Return the starting voltages, (M, N) [V]."""
        voltages = np.zeros((self.count, self.size))
        for place, problem in enumerate(self.problems):
            voltages[place, : problem.size] = problem.guess
        return np.asarray(np.clip(voltages, self.low, self.high), dtype=np.float64)

    def equations(self, voltages: Floats) -> tuple[Floats, Floats]:
        """Return the currents that do not balance, (M, N) [A], and their Jacobian [S]."""
        residual = np.einsum("mij,mj->mi", self.linear, voltages)
        residual[:, 0] -= np.array([problem.injected for problem in self.problems])
        across = np.append(voltages.ravel(), 0.0)
        drop = across[self._start] - across[self._end]
        each = self.junctions
        current, slope = current_and_slope(drop, each.saturation, each.emission, each.ohms)
        count = self.count * self.size + 1
        flow = np.bincount(self._start, current, minlength=count)
        flow -= np.bincount(self._end, current, minlength=count)
        residual += flow[:-1].reshape(self.count, self.size)
        return residual, self.linear + self._matrix(self._places, self._signs, slope)

    def step(self, voltages: Floats) -> tuple[Floats, Bools]:
        """Return the voltages after one limited Newton step, and which problems are done."""
        residual, jacobian = self.equations(voltages)
        try:
            full = np.linalg.solve(jacobian, residual[..., None])[..., 0]
        except np.linalg.LinAlgError:
            return voltages, np.zeros(self.count, dtype=np.bool_)
        change = np.clip(full, -LARGEST_STEP, LARGEST_STEP)
        moved = np.clip(voltages - change, self.low, self.high)
        return moved, np.abs(full).max(axis=1) < LAST_STEP
