"""Many problems of like size as one set of arrays, and a Newton step on all of them.

The M problems have C core nodes and L leaves each, padded. Leaves are eliminated before the
linear solve (the Schur complement of a diagonal block), which leaves small dense matrices.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from nextprobe.circuit.junction import current_and_slope
from nextprobe.circuit.network import Bools, Elements, Floats, Ints, join, summed
from nextprobe.circuit.problem import Problem

LARGEST_STEP = 0.4
"""Limit of a Newton step [V]."""
LAST_STEP = 1e-6
"""A Newton step below this [V] is the last one: the error left is of the order of its square."""


class Stack:
    """M problems as arrays.

    Parameters
    ----------
    problems : sequence of Problem
        M of them.
    conductance : float
        From every node to the reference [S].
    """

    def __init__(self, problems: Sequence[Problem], conductance: float) -> None:
        self.problems = problems
        self.count = len(problems)
        self.core = max(each.core for each in problems)
        self.size = self.core + max(each.size - each.core for each in problems)
        self.injected = np.array([each.injected for each in problems])
        self.low, self.high = self._box()
        elements, owner = self._joined()
        resistor = elements.saturation == 0
        self.resistors, self.junctions = elements.take(resistor), elements.take(~resistor)
        self._linear = Stamps(self, self.resistors, owner[resistor])
        self._curved = Stamps(self, self.junctions, owner[~resistor])
        self._parent = self._parents()
        self._conductance = conductance
        self._base = self._linear.slopes(1.0 / self.resistors.ohms)
        self._base[0][:] += np.where(self.used(), conductance, 1.0)

    def _box(self) -> tuple[Floats, Floats]:
        largest = np.array([each.largest for each in self.problems])[:, None]
        return np.minimum(largest, 0.0), np.maximum(largest, 0.0)

    def _joined(self) -> tuple[Elements, Ints]:
        """Return all branches with nodes moved to their padded places, and whose they are."""
        lengths = [len(each.elements.start) for each in self.problems]
        owner = np.repeat(np.arange(self.count), lengths)
        elements = join([each.elements for each in self.problems])
        core = np.array([each.core for each in self.problems])[owner]
        start, end = (
            np.where(node >= core, node + self.core - core, node)
            for node in (elements.start, elements.end)
        )
        return Elements(start, end, elements.ohms, elements.saturation, elements.emission), owner

    def _parents(self) -> Ints:
        """Return the flat core node that each leaf hangs on, (M, L); M·C where none."""
        parent = np.full(self.count * (self.size - self.core) + 1, self.count * self.core)
        for stamps in (self._linear, self._curved):
            parent[stamps.leaf] = stamps.parent
        return parent[:-1].reshape(self.count, -1)

    def used(self) -> Bools:
        """Return which places hold a node, (M, C + L)."""
        places = np.arange(self.size)
        core = np.array([each.core for each in self.problems])[:, None]
        last = self.core + np.array([each.size - each.core for each in self.problems])[:, None]
        return np.asarray((places < core) | ((places >= self.core) & (places < last)))

    def padded(self, vectors: Sequence[Floats]) -> Floats:
        """Return one vector per problem as rows of a padded array, (M, C + L)."""
        rows = np.zeros((self.count, self.size))
        rows[self.used()] = np.concatenate(list(vectors))
        return rows

    def guess(self) -> Floats:
        """Return the starting voltages, (M, C + L) [V]."""
        rows = self.padded([each.guess for each in self.problems])
        return np.asarray(np.clip(rows, self.low, self.high), dtype=np.float64)

    def unpadded(self, row: Floats, place: int) -> Floats:
        """Return a problem's own nodes from its row of a padded array."""
        problem = self.problems[place]
        leaves = row[self.core : self.core + problem.size - problem.core]
        return np.concatenate([row[: problem.core], leaves])

    def equations(self, voltages: Floats) -> tuple[Floats, tuple[Floats, Floats, Floats]]:
        """Return the currents that do not balance, (M, C + L) [A], and their Jacobian [S]."""
        each = self.junctions
        drop = self._curved.drop(voltages)
        current, slope = current_and_slope(drop, each.saturation, each.emission, each.ohms)
        residual = self._curved.flow(current) + self._conductance * voltages
        residual += self._linear.flow(self._linear.drop(voltages) / self.resistors.ohms)
        residual[:, 0] -= self.injected
        diagonal, links, arms = self._curved.slopes(slope)
        base = self._base
        return residual, (diagonal + base[0], links + base[1], arms + base[2])

    def linear_solution(self, jacobian: tuple[Floats, Floats, Floats], right: Floats) -> Floats:
        """Return the solution of the linear system, (M, C + L), leaves eliminated first."""
        diagonal, links, arms = jacobian
        leaf, total = diagonal[:, self.core :], self.count * self.core
        share = arms / leaf

        def on_parents(values: Floats) -> Floats:
            sums = summed(self._parent.ravel(), values.ravel(), total + 1)
            return sums[:-1].reshape(self.count, self.core)

        matrix = links.copy()
        at = np.arange(self.core)
        matrix[:, at, at] += diagonal[:, : self.core] - on_parents(share * arms)
        side = right[:, : self.core] + on_parents(share * right[:, self.core :])
        core = np.linalg.solve(matrix, side[..., None])[..., 0]
        above = np.append(core.ravel(), 0.0)[self._parent]
        return np.concatenate([core, (right[:, self.core :] + arms * above) / leaf], axis=1)

    def step(self, voltages: Floats) -> tuple[Floats, Bools]:
        """Return the voltages after one limited Newton step, and which problems are done."""
        residual, jacobian = self.equations(voltages)
        try:
            full = self.linear_solution(jacobian, residual)
        except np.linalg.LinAlgError:
            return voltages, np.zeros(self.count, dtype=np.bool_)
        change = np.clip(full, -LARGEST_STEP, LARGEST_STEP)
        moved = np.clip(voltages - change, self.low, self.high)
        return moved, np.abs(full).max(axis=1) < LAST_STEP


class Stamps:
    """Where the currents and slopes of some branches go.

    Parameters
    ----------
    stack : Stack
        Whose nodes the branches join.
    elements : Elements
        B branches, in padded places.
    owner : (B,) int array
        The problem that each belongs to.
    """

    def __init__(self, stack: Stack, elements: Elements, owner: Ints) -> None:
        self.count, self.core, self.size = stack.count, stack.core, stack.size
        a, b = elements.start, elements.end
        waste = self.count * self.size
        self._start = np.where(a >= 0, owner * self.size + a, waste)
        self._end = np.where(b >= 0, owner * self.size + b, waste)
        low, high = np.minimum(a, b), np.maximum(a, b)
        self._inner = np.flatnonzero((low >= 0) & (high < self.core))
        row, column = (owner * self.core + low)[self._inner], high[self._inner]
        self._upper = row * self.core + column
        self._lower = (owner * self.core + high)[self._inner] * self.core + low[self._inner]
        self._arm = np.flatnonzero((low >= 0) & (high >= self.core))
        leaves = self.size - self.core
        self.leaf = (owner * leaves + high - self.core)[self._arm]
        self.parent = (owner * self.core + low)[self._arm]

    def drop(self, voltages: Floats) -> Floats:
        """Return the voltage across each branch, (B,) [V]."""
        flat = np.append(voltages.ravel(), 0.0)
        return np.asarray(flat[self._start] - flat[self._end], dtype=np.float64)

    def flow(self, current: Floats) -> Floats:
        """Return the current that leaves each node through the branches, (M, C + L) [A]."""
        count = self.count * self.size + 1
        flow = summed(self._start, current, count) - summed(self._end, current, count)
        return flow[:-1].reshape(self.count, self.size)

    def slopes(self, slope: Floats) -> tuple[Floats, Floats, Floats]:
        """Return what the branches add to the Jacobian.

        Returns
        -------
        diagonal : (M, C + L) array
            At every node [S].
        links : (M, C, C) array
            Between core nodes [S], negative.
        arms : (M, L) array
            Between a leaf and its core node [S], positive.
        """
        count = self.count * self.size + 1
        diagonal = summed(self._start, slope, count) + summed(self._end, slope, count)
        square = self.count * self.core * self.core
        inner = slope[self._inner]
        links = summed(self._upper, inner, square) + summed(self._lower, inner, square)
        arms = summed(self.leaf, slope[self._arm], self.count * (self.size - self.core))
        return (
            diagonal[:-1].reshape(self.count, self.size),
            -links.reshape(self.count, self.core, self.core),
            arms.reshape(self.count, -1),
        )
