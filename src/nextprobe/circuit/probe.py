"""One probe's healthy solution, and the problems that faults make of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nextprobe.circuit.circuit import Circuit
from nextprobe.circuit.network import Bools, Elements, Floats, Ints
from nextprobe.circuit.region import Region, problem_of, region_of
from nextprobe.circuit.screen import EffectArrays
from nextprobe.circuit.sensitivities import Parameters, transfer_resistances
from nextprobe.circuit.solve import Problem


@dataclass(frozen=True, eq=False)
class _Cut:
    """A region with the healthy branches in it."""

    region: Region
    positions: Ints
    inside: Elements
    guess: Floats


class HealthyProbe:
    """A probe on one node.

    Parameters
    ----------
    circuit : Circuit
        Healthy.
    arrays : EffectArrays
        The faults' effects, which number all nodes.
    node : int
        Where the probe is.
    """

    def __init__(self, circuit: Circuit, arrays: EffectArrays, node: int) -> None:
        self.node = node
        self._circuit = circuit
        self._arrays = arrays
        self._volts = np.zeros(arrays.node_count + 1)
        self._transfer = np.zeros(arrays.node_count + 1)
        self._cuts: dict[bytes, _Cut] = {}
        self._mask = self._with_node(circuit.reach.of(node))
        cut = self._cut(self._mask)
        self.problem = problem_of(cut.region, cut.inside, circuit.drive, cut.guess)

    def _with_node(self, mask: Bools) -> Bools:
        full = np.zeros(self._arrays.node_count, dtype=np.bool_)
        full[: len(mask)] = mask
        full[self.node] = True
        return full

    def settle(self, solution: Floats) -> None:
        """Take the solution of `problem`."""
        nodes = self._cut(self._mask).region.nodes
        self._volts[nodes] = solution
        self._transfer[nodes] = transfer_resistances(self.problem, solution)
        self._cuts.clear()

    @property
    def volts(self) -> float:
        """Healthy voltage of the probe [V]."""
        return float(self._volts[self.node])

    def survivors(self, least: float) -> Ints:
        """Return the effects that may move the probe by more than `least` [V]."""
        return self._arrays.survivors(self._circuit.network, self._volts, self._transfer, least)

    def gradient(self, parameters: Parameters) -> Floats:
        """Return the derivative of the probe's voltage to each ln(parameter), (K,) [V]."""
        elements = self._circuit.network.elements
        drop = self._volts[elements.start] - self._volts[elements.end]
        weight = self._transfer[elements.start] - self._transfer[elements.end]
        return parameters.gradient(elements, drop, weight)

    def under(self, effect: int) -> Problem:
        """Return the problem under an effect."""
        gone, added = self._arrays.of(effect)
        cut = self._cut(self._widened(added))
        keep = ~np.isin(cut.positions, gone)
        new = added.take(cut.region.touching(added)).renumbered(cut.region.numbers)
        elements = cut.inside.take(keep).joined(new)
        return problem_of(cut.region, elements, self._circuit.drive, cut.guess)

    def _widened(self, added: Elements) -> Bools:
        """Return the region's mask, grown over branches that lead out of it."""
        inner = (added.start >= 0) & (added.end >= 0)
        crossing = inner & (self._mask[added.start] != self._mask[added.end])
        if not crossing.any():
            return self._mask
        extras = zip(added.start[inner], added.end[inner], added.saturation[inner] > 0, strict=True)
        steps = [(int(a), int(b), bool(junction)) for a, b, junction in extras]
        return self._circuit.reach.widened(self._mask, steps, self._arrays.node_count)

    def _cut(self, mask: Bools) -> _Cut:
        key = mask.tobytes()
        if key not in self._cuts:
            region = region_of(self.node, mask)
            elements = self._circuit.network.elements
            positions = np.flatnonzero(region.touching(elements))
            inside = elements.take(positions).renumbered(region.numbers)
            self._cuts[key] = _Cut(region, positions, inside, self._volts[region.nodes])
        return self._cuts[key]
