"""Which faults can move a probe's reading at all.

A branch that goes throws its current onto its two nodes, which must find another way: where it
is a noticeable share of the test current, no bound is tried. A branch that is added draws no more
than its conductance times the voltage that it finds, and no more than its nodes can supply. A
node supplies at most the current that its other branches give when the node moves all the way
to the other end of the new branch while its neighbours stand still. Either current moves the
probe by no more than itself times the transfer resistance of the nodes. None of this is linear
in the fault, so that shorts at nodes of high impedance are not missed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nextprobe.circuit.effects import Effect
from nextprobe.circuit.network import Elements, Floats, Ints, Network, elements_of, summed
from nextprobe.circuit.sensitivities import branch_currents

LARGEST_SHARE = 0.02
"""Share of the test current that may lose its way without changing transfer resistances much."""
LEVELS = 6
"""Steps between reference and probe at which the supply of a node is tabulated."""


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

    def of(self, effect: int) -> tuple[Ints, Elements]:
        """Return the branches that go and those that are added in one effect."""
        first, last = np.searchsorted(self.gone_owner, [effect, effect + 1])
        start, end = np.searchsorted(self.added_owner, [effect, effect + 1])
        return self.gone[first:last], self.added.take(np.arange(start, end))


@dataclass(frozen=True, eq=False)
class Operating:
    """The healthy operating point of one probe.

    Parameters
    ----------
    elements : Elements
        All branches of the healthy network.
    probe : int
        Its node.
    driven : float
        Test current [A].
    unknown : int
        Nodes from this number on are not in the healthy network.
    volts : (N + 1,) array
        Voltages of all nodes and, last, the reference; zero outside the region [V].
    transfer : (N + 1,) array
        Volts at the probe per ampere into each node [ohm], zero likewise.
    """

    elements: Elements
    probe: int
    driven: float
    unknown: int
    volts: Floats
    transfer: Floats

    def movement(self, effects: EffectArrays) -> Floats:
        """Return a bound on how far each effect moves the probe [V], (E,)."""
        reach = self._reach()
        gone = self.elements.take(effects.gone)
        current = np.abs(branch_currents(gone, self._drop(gone)))
        weight = reach[gone.start] + reach[gone.end]
        total = summed(effects.gone_owner, current * weight, effects.count)
        lost = summed(effects.gone_owner, current, effects.count)
        total[lost > LARGEST_SHARE * self.driven] = np.inf
        added = effects.added
        weight = reach[added.start] + reach[added.end]
        current = self._drawn(added) * weight
        return total + summed(effects.added_owner, current, effects.count)

    def drawn(self, effects: EffectArrays) -> Floats:
        """Return a bound on the current through what each effect adds [A], (E,)."""
        return summed(effects.added_owner, self._drawn(effects.added), effects.count).astype(
            np.float64
        )

    def _drop(self, elements: Elements) -> Floats:
        return np.asarray(self.volts[elements.start] - self.volts[elements.end])

    def _drawn(self, added: Elements) -> Floats:
        current = np.abs(branch_currents(added, self._drop(added)))
        supply = self._supply()
        for here, there in ((added.start, added.end), (added.end, added.start)):
            current = np.minimum(current, supply[self._level(here, there), here])
        return current

    def _level(self, here: Ints, there: Ints) -> Ints:
        """Return the level at or beyond the voltage of `there`, seen from `here`."""
        most = max(abs(self.volts[self.probe]), 1e-12)
        size = np.abs(self.volts)
        exact = size[there] / most * LEVELS
        beyond = np.where(size[there] <= size[here], np.floor(exact), np.ceil(exact))
        return np.asarray(np.clip(beyond, 0, LEVELS), dtype=np.int64)

    def _supply(self) -> Floats:
        """Return what each node gives at each level of its own voltage [A], (LEVELS + 1, N + 1)."""
        start, end, count = self.elements.start, self.elements.end, len(self.volts)
        supply = np.empty((LEVELS + 1, count))
        for level in range(LEVELS + 1):
            volts = self.volts[self.probe] * level / LEVELS
            forth = branch_currents(self.elements, volts - self.volts[end])
            back = branch_currents(self.elements, self.volts[start] - volts)
            flow = summed(start % count, forth, count) - summed(end % count, back, count)
            supply[level] = np.abs(flow)
        supply[:, self.probe] += self.driven
        supply[:, self.unknown :] = np.inf
        return supply

    def _reach(self) -> Floats:
        """Return the largest transfer resistance of each node and its neighbours [ohm]."""
        own = np.abs(self.transfer)
        start, end = self.elements.start, self.elements.end
        widest = own.copy()
        np.maximum.at(widest, start, own[end])
        np.maximum.at(widest, end, own[start])
        widest[-1] = 0.0
        return widest


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
