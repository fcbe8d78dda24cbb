"""Cutting the part of a network out that matters to one probe."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nextprobe.circuit.meter import Drive
from nextprobe.circuit.network import Bools, Elements, Floats, Ints
from nextprobe.circuit.solve import Problem


@dataclass(frozen=True, eq=False)
class Region:
    """The nodes that count for one probe, numbered anew with the probe first.

    Parameters
    ----------
    nodes : (n,) int array
        Numbers in the network; the first is the probe's.
    numbers : (N + 1,) int array
        From the network's numbers to those of the region; −1 for what is outside, which stays
        at the reference (the last entry is the reference itself).
    """

    nodes: Ints
    numbers: Ints

    def touching(self, elements: Elements) -> Bools:
        """Return which branches have an end in the region."""
        return np.asarray((self.numbers[elements.start] >= 0) | (self.numbers[elements.end] >= 0))


def region_of(probe: int, mask: Bools) -> Region:
    """Return the region of the nodes in `mask` for a probe on node `probe`."""
    others = np.flatnonzero(mask)
    nodes = np.concatenate([[probe], others[others != probe]])
    numbers = np.full(len(mask) + 1, -1, dtype=np.int64)
    numbers[nodes] = np.arange(len(nodes))
    return Region(nodes, numbers)


def problem_of(region: Region, inside: Elements, drive: Drive, guess: Floats) -> Problem:
    """Return the problem of a region.

    Parameters
    ----------
    region : Region
        With n nodes.
    inside : Elements
        Branches with at least one end in the region, in the region's numbers.
    drive : Drive
        The meter.
    guess : (n,) array
        Where to start [V].
    """
    elements = inside.joined(drive.elements())
    return Problem(len(region.nodes), elements, drive.injected, guess, drive.largest)
