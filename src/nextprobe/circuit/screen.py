"""Which faults can move a probe's reading at all, by branch current times transfer resistance.

To first order a change of the current in a branch moves the probe by that current times the
branch's transfer resistance. What stays far below the threshold of the table is left out; a
short or an opening that matters changes a current by far more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nextprobe.circuit.effects import Effect
from nextprobe.circuit.network import Elements, Floats, Ints, Network, elements_of
from nextprobe.circuit.sensitivities import branch_currents


@dataclass(frozen=True, eq=False)
class EffectArrays:
    """All effects as flat arrays.

    Parameters
    ----------
    count : int
        Number of effects.
    node_count : int
        Number of nodes with those that only effects have.
    numbers : dict of str to int
        Number of every node.
    gone, gone_owner : (G,) int arrays
        Branches of the network that go, and the effect in which they do.
    added : Elements
        A branches that are added, in the network's numbers.
    added_owner : (A,) int array
        The effect in which they are.
    """

    count: int
    node_count: int
    numbers: dict[str, int]
    gone: Ints
    gone_owner: Ints
    added: Elements
    added_owner: Ints

    def survivors(self, network: Network, volts: Floats, transfer: Floats, least: float) -> Ints:
        """Return the effects that may move the probe noticeably.

        Parameters
        ----------
        network : Network
            Healthy, with B branches.
        volts : (node_count + 1,) array
            Healthy voltages for one probe, zero outside its region and at the reference [V].
        transfer : (node_count + 1,) array
            Volts at the probe per ampere into each node [ohm], zero likewise.
        least : float
            Estimated movement of the probe from which on an effect counts [V].
        """
        estimate = np.zeros(self.count)
        pieces = (network.elements.take(self.gone), self.gone_owner), (self.added, self.added_owner)
        for elements, owner in pieces:
            drop = volts[elements.start] - volts[elements.end]
            weight = transfer[elements.start] - transfer[elements.end]
            moved = np.abs(weight * branch_currents(elements, drop))
            estimate += np.bincount(owner, moved, minlength=self.count)
        return np.flatnonzero(estimate > least)

    def of(self, effect: int) -> tuple[Ints, Elements]:
        """Return the branches that go and those that are added in one effect."""
        first, last = np.searchsorted(self.gone_owner, [effect, effect + 1])
        start, end = np.searchsorted(self.added_owner, [effect, effect + 1])
        return self.gone[first:last], self.added.take(np.arange(start, end))


def arrays_of(network: Network, effects: Sequence[Effect]) -> EffectArrays:
    """Return effects on a network as arrays."""
    numbers = dict(network.numbers)
    fresh = [node for each in effects for node in _nodes(each)]
    for node in fresh:
        numbers.setdefault(node, len(numbers) - 1)
    gone = [(network.position[name], i) for i, e in enumerate(effects) for name in sorted(e.gone)]
    owners = [index for index, each in enumerate(effects) for _ in each.added]
    pairs = np.array(gone, dtype=np.int64).reshape(-1, 2)
    added = elements_of([branch for each in effects for branch in each.added], numbers)
    owner = np.array(owners, dtype=np.int64)
    return EffectArrays(
        len(effects), len(numbers) - 1, numbers, pairs[:, 0], pairs[:, 1], added, owner
    )


def _nodes(effect: Effect) -> list[str]:
    ends = [node for branch in effect.added for node in (branch.start, branch.end)]
    return ends + [node for _, node in effect.moved]
