"""A network of branches as arrays, and what the current at a probe can reach in it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from nextprobe.circuit.branch import Branch

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


def summed(places: Ints, values: Floats, count: int) -> Floats:
    """Return the sum of the values that fall on each of `count` places."""
    return np.bincount(places, values, count).astype(np.float64, copy=False)


@dataclass(frozen=True, eq=False)
class Elements:
    """Branches as arrays of equal length; nodes are numbers, −1 is the reference.

    Parameters
    ----------
    start, end : (B,) int arrays
        Nodes; junctions conduct from start to end.
    ohms : (B,) array
        Resistance or series resistance [ohm].
    saturation : (B,) array
        Saturation current [A]; 0 for resistors.
    emission : (B,) array
        Emission coefficient times thermal voltage [V]; 0 for resistors.
    """

    start: Ints
    end: Ints
    ohms: Floats
    saturation: Floats
    emission: Floats

    def take(self, chosen: Bools | Ints) -> Elements:
        """Return the chosen branches."""
        return Elements(
            self.start[chosen],
            self.end[chosen],
            self.ohms[chosen],
            self.saturation[chosen],
            self.emission[chosen],
        )

    def joined(self, other: Elements) -> Elements:
        """Return these branches followed by `other`."""
        return join([self, other])

    def renumbered(self, numbers: Ints) -> Elements:
        """Return the branches with nodes mapped by `numbers`, whose last entry is for −1."""
        return Elements(
            numbers[self.start], numbers[self.end], self.ohms, self.saturation, self.emission
        )


def join(pieces: Sequence[Elements]) -> Elements:
    """Return the branches of all pieces in one."""
    return Elements(
        np.concatenate([piece.start for piece in pieces]),
        np.concatenate([piece.end for piece in pieces]),
        np.concatenate([piece.ohms for piece in pieces]),
        np.concatenate([piece.saturation for piece in pieces]),
        np.concatenate([piece.emission for piece in pieces]),
    )


def elements_of(branches: Sequence[Branch], numbers: dict[str, int]) -> Elements:
    """Return branches as arrays, with nodes numbered by `numbers`."""
    return Elements(
        np.array([numbers[each.start] for each in branches], dtype=np.int64),
        np.array([numbers[each.end] for each in branches], dtype=np.int64),
        np.array([each.ohms for each in branches], dtype=np.float64),
        np.array([each.saturation for each in branches], dtype=np.float64),
        np.array([each.emission for each in branches], dtype=np.float64),
    )


@dataclass(frozen=True, eq=False)
class Network:
    """Branches between named nodes, seen from a reference node.

    Parameters
    ----------
    branches : tuple of Branch
        Names are unique.
    reference : str
        Node that the clamped lead is on.
    extra : tuple of str
        Nodes that no branch may touch.
    """

    branches: tuple[Branch, ...]
    reference: str
    extra: tuple[str, ...] = ()

    @cached_property
    def numbers(self) -> dict[str, int]:
        """Number of each node; the reference is −1."""
        ends = (node for each in self.branches for node in (each.start, each.end))
        names = dict.fromkeys((*ends, *self.extra))
        names.pop(self.reference, None)
        return {name: number for number, name in enumerate(names)} | {self.reference: -1}

    @property
    def size(self) -> int:
        """Number of nodes without the reference."""
        return len(self.numbers) - 1

    @cached_property
    def elements(self) -> Elements:
        """The branches as arrays, in their order."""
        return elements_of(self.branches, self.numbers)

    @cached_property
    def position(self) -> dict[str, int]:
        """Index of each branch by its name."""
        return {each.name: index for index, each in enumerate(self.branches)}

    def reach(self, towards_probe: bool) -> Reach:
        """Return what conducts to a probe (`towards_probe`), or from it."""
        return Reach(self.elements, self.size, towards_probe)


class Reach:
    """Nodes whose current can reach a probe.

    With the probe negative, every node lies between probe and reference, so that current flows
    only from nodes with a forward path to the probe; junctions that would lead it elsewhere are
    reverse biased and carry no more than their saturation current. With the probe positive it
    is the other way about. Paths end at the reference.
    """

    def __init__(self, elements: Elements, size: int, towards_probe: bool) -> None:
        self.towards_probe = towards_probe
        self.size = size
        start, end = elements.start, elements.end
        inner = (start >= 0) & (end >= 0)
        both = inner & (elements.saturation == 0)
        one = inner & (elements.saturation > 0)
        source, target = (end, start) if towards_probe else (start, end)
        rows = np.concatenate([start[both], end[both], source[one]])
        columns = np.concatenate([end[both], start[both], target[one]])
        ones = np.ones(len(rows), dtype=np.int8)
        self._graph = csr_array((ones, (rows, columns)), shape=(size, size))
        self._found: dict[int, Bools] = {}

    def of(self, node: int) -> Bools:
        """Return which nodes count for a probe on `node`, as a (size,) mask."""
        # Takes long to import, and whoever finds a table ready does not need it.
        from scipy.sparse.csgraph import breadth_first_order  # noqa: PLC0415

        if node not in self._found:
            mask = np.zeros(self.size, dtype=np.bool_)
            if node >= self.size:
                return mask
            mask[breadth_first_order(self._graph, node, return_predecessors=False)] = True
            self._found[node] = mask
        return self._found[node]

    def widened(self, mask: Bools, extras: Iterable[tuple[int, int, bool]], count: int) -> Bools:
        """Return `mask` grown over added branches, as a mask of the first `count` nodes.

        Parameters
        ----------
        mask : (size,) or longer bool array
            Nodes reached so far.
        extras : iterable of (int, int, bool)
            Start, end and whether it is a junction, of each added branch.
        count : int
            Number of nodes with those that only added branches touch.
        """
        grown = np.zeros(count, dtype=np.bool_)
        grown[: len(mask)] = mask
        steps = [step for extra in extras for step in self._steps(*extra)]
        waiting = True
        while waiting:
            waiting = False
            for source, target in steps:
                if grown[source] and not grown[target]:
                    grown[target] = waiting = True
                    grown[: self.size] |= self.of(target)
        return grown

    def _steps(self, start: int, end: int, junction: bool) -> list[tuple[int, int]]:
        if start < 0 or end < 0:
            return []
        if not junction:
            return [(start, end), (end, start)]
        return [(end, start)] if self.towards_probe else [(start, end)]
