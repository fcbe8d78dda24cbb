"""Cutting the part of a network out that matters to one probe."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nextprobe.circuit.meter import Drive
from nextprobe.circuit.network import Bools, Elements, Floats, Ints, join
from nextprobe.circuit.problem import Problem, leaves_of, promoted, renumbering


@dataclass(frozen=True, eq=False)
class Region:
    """The n nodes that count for one probe, numbered anew: probe first, leaves last.

    Parameters
    ----------
    nodes : (n,) int array
        Numbers in the network.
    numbers : (N + 1,) int array
        From the network's numbers to those of the region; −1 for what is outside, which stays
        at the reference (the last entry is the reference itself).
    core : int
        Number of nodes that are not leaves.
    positions : (B,) int array
        Branches of the network with an end in the region.
    inside : Elements
        The same branches in the region's numbers.
    """

    nodes: Ints
    numbers: Ints
    core: int
    positions: Ints
    inside: Elements

    def problem(self, drive: Drive, guess: Floats) -> Problem:
        """Return the region's problem, with the meter; `guess` is in the region's numbers."""
        elements = self.inside.joined(drive.elements())
        return Problem(self.core, elements, drive.injected, guess, drive.largest)

    def changed(self, drive: Drive, guess: Floats, gone: Ints, added: Elements) -> Problem:
        """Return the problem without the branches `gone` and with those `added`.

        Both are in the network's numbers. Leaves between which a branch is added join the core.
        """
        new = added.renumbered(self.numbers)
        new = new.take((new.start >= 0) | (new.end >= 0))
        kept = self.inside.take(~np.isin(self.positions, gone)) if len(gone) else self.inside
        elements = join([kept, new, drive.elements()])
        inner = (new.start >= 0) & (new.end >= 0)
        touched = np.concatenate([new.start[inner], new.end[inner]])
        core = self.core
        if (touched >= core).any():
            order, core = promoted(len(guess), core, touched)
            elements, guess = elements.renumbered(renumbering(order)), guess[order]
        return Problem(core, elements, drive.injected, guess, drive.largest)


def region_of(elements: Elements, probe: int, mask: Bools) -> Region:
    """Return the region of the nodes in `mask` for a probe on node `probe`."""
    others = np.flatnonzero(mask)
    nodes = np.concatenate([[probe], others[others != probe]])
    numbers = _numbers(nodes, len(mask))
    positions = np.flatnonzero((numbers[elements.start] >= 0) | (numbers[elements.end] >= 0))
    leaf = leaves_of(elements.take(positions).renumbered(numbers), len(nodes))
    nodes = np.concatenate([nodes[~leaf], nodes[leaf]])
    numbers = _numbers(nodes, len(mask))
    inside = elements.take(positions).renumbered(numbers)
    return Region(nodes, numbers, int((~leaf).sum()), positions, inside)


def _numbers(nodes: Ints, count: int) -> Ints:
    numbers = np.full(count + 1, -1, dtype=np.int64)
    numbers[nodes] = np.arange(len(nodes))
    return numbers
