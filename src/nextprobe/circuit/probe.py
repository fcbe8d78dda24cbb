"""One probe's healthy solution, and the problems that faults make of it."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from nextprobe.circuit.circuit import Circuit
from nextprobe.circuit.network import Bools, Elements, Floats, Ints
from nextprobe.circuit.problem import Problem
from nextprobe.circuit.region import Region, region_of
from nextprobe.circuit.screen import EffectArrays, Operating
from nextprobe.circuit.sensitivities import Parameters

OVER_RANGE_MARGIN = 0.5
"""Share of the missing current that a fault must be able to draw to be solved."""


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
        self._regions: dict[bytes, Region] = {}
        self._mask = self._with_node(circuit.reach.of(node))
        region = self._region(self._mask)
        self.problem = region.problem(circuit.drive, self._volts[region.nodes])

    def _with_node(self, mask: Bools) -> Bools:
        full = np.zeros(self._arrays.node_count, dtype=np.bool_)
        full[: len(mask)] = mask
        full[self.node] = True
        return full

    def settle(self, solution: Floats, transfer: Floats) -> None:
        """Take the solution of `problem`, and its transfer resistances."""
        nodes = self._region(self._mask).nodes
        self._volts[nodes] = solution
        self._transfer[nodes] = transfer

    @property
    def volts(self) -> float:
        """Healthy voltage of the probe [V]."""
        return float(self._volts[self.node])

    @cached_property
    def operating(self) -> Operating:
        """The healthy operating point."""
        return Operating(
            self._circuit.network.elements,
            self.node,
            self._circuit.meter_range.test_current,
            self._circuit.network.size,
            self._volts,
            self._transfer,
        )

    def survivors(self, least: float) -> Ints:
        """Return the effects that may change what is shown.

        Parameters
        ----------
        least : float
            Movement of the probe that counts [V]. At a probe that reads over-range only a
            current that could bring it into range counts.
        """
        if not self._arrays.count:
            return np.zeros(0, dtype=np.int64)
        drive = self._circuit.drive
        volts = np.array([self.volts])
        if not drive.shown(volts)[1][0]:
            return np.flatnonzero(self.operating.movement(self._arrays) > least)
        drawn = self.operating.drawn(self._arrays)
        missing = drive.least_shown_current - drive.outside_current(np.abs(volts))[0]
        return np.flatnonzero(drawn > OVER_RANGE_MARGIN * missing)

    def gradient(self, parameters: Parameters) -> Floats:
        """Return the derivative of the probe's voltage to each ln(parameter), (K,) [V]."""
        elements = self._circuit.network.elements
        drop = self._volts[elements.start] - self._volts[elements.end]
        weight = self._transfer[elements.start] - self._transfer[elements.end]
        return parameters.gradient(elements, drop, weight)

    def under(self, effect: int) -> Problem:
        """Return the problem under an effect."""
        gone, added = self._arrays.of(effect)
        region = self._region(self._widened(added))
        guess = self._volts[region.nodes]
        return region.changed(self._circuit.drive, guess, gone, added)

    def _widened(self, added: Elements) -> Bools:
        """Return the region's mask, grown over branches that lead out of it."""
        inner = (added.start >= 0) & (added.end >= 0)
        crossing = inner & (self._mask[added.start] != self._mask[added.end])
        if not crossing.any():
            return self._mask
        extras = zip(added.start[inner], added.end[inner], added.saturation[inner] > 0, strict=True)
        steps = [(int(a), int(b), bool(junction)) for a, b, junction in extras]
        return self._circuit.reach.widened(self._mask, steps, self._arrays.node_count)

    def _region(self, mask: Bools) -> Region:
        key = mask.tobytes()
        if key not in self._regions:
            self._regions[key] = region_of(self._circuit.network.elements, self.node, mask)
        return self._regions[key]
