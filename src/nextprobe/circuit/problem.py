"""One small network to solve for its node voltages."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nextprobe.circuit.network import Bools, Elements, Floats, Ints


@dataclass(frozen=True, eq=False)
class Problem:
    """N nodes and the branches between them and the reference (−1).

    Parameters
    ----------
    core : int
        The first so many nodes are general; the rest are leaves, whose branches lead to the
        reference and at most one core node. Node 0, the probe, is in the core.
    elements : Elements
        Branches, with those of the meter.
    injected : float
        Current into node 0 [A].
    guess : (N,) array
        Where to start [V].
    largest : float
        Voltages lie between 0 and this one [V].
    """

    core: int
    elements: Elements
    injected: float
    guess: Floats
    largest: float

    @property
    def size(self) -> int:
        """Number of nodes."""
        return len(self.guess)


def leaves_of(elements: Elements, size: int) -> Bools:
    """Return which of `size` nodes are leaves, as a mask; node 0 never is.

    A leaf has at most one neighbour, which is not a leaf itself.
    """
    inner = (elements.start >= 0) & (elements.end >= 0)
    low = np.minimum(elements.start[inner], elements.end[inner])
    high = np.maximum(elements.start[inner], elements.end[inner])
    pairs = np.unique(low * size + high)
    low, high = pairs // size, pairs % size
    neighbours = np.bincount(low, minlength=size) + np.bincount(high, minlength=size)
    leaf = neighbours <= 1
    leaf[0] = False
    leaf[low[leaf[low] & leaf[high]]] = False
    return leaf


def promoted(size: int, core: int, nodes: Ints) -> tuple[Ints, int]:
    """Return an order of nodes in which the leaves among `nodes` are in the core, and its size."""
    risen = np.unique(nodes[nodes >= core])
    rest = np.setdiff1d(np.arange(core, size), risen)
    return np.concatenate([np.arange(core), risen, rest]), core + len(risen)


def renumbering(order: Ints) -> Ints:
    """Return new numbers by old number for nodes put into `order`; the last entry is −1."""
    numbers = np.full(len(order) + 1, -1, dtype=np.int64)
    numbers[order] = np.arange(len(order))
    return numbers
