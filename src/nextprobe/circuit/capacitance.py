"""What a meter's capacitance range shows, at a voltage too low for junctions to conduct."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from nextprobe.board import OVER_RANGE, FaultKind, MeterRange, OverRange, PartKind
from nextprobe.circuit.branch import Branch
from nextprobe.circuit.network import Floats
from nextprobe.circuit.passives import pairs
from nextprobe.circuit.site import Site
from nextprobe.errors import SettingError

HIGHEST_VOLTAGE = 0.3
JOINED_BELOW = 100.0
"""Resistance below which two nets count as one to a capacitance range [ohm]."""
LEAST_PARALLEL = 1e3
"""Resistance across the leads below which the meter can not charge anything [ohm]: it shows
over-range."""
_LEAST_CONDUCTANCE = 1e-12
_LEAST_CAPACITANCE = 1e-18


@dataclass(frozen=True, slots=True)
class Link:
    """A capacitor between two nodes [F]."""

    start: str
    end: str
    farads: float


def capacitors(site: Site, removed: Collection[str] = ()) -> Iterator[Link]:
    """Yield the capacitors that are sound and of known value."""
    for part in site.board.fitted:
        sound = part.kind is PartKind.CAPACITOR and part.reference not in removed
        if not sound or part.value is None or site.has(FaultKind.OPEN, part.reference):
            continue
        farads = part.value * site.deviations.factor(f"C:{part.reference}")
        for a, b in pairs(part):
            yield Link(site.node(part, a), site.node(part, b), farads)


@dataclass(frozen=True, eq=False)
class CapacitanceNetwork:
    """Capacitors between nets that resistors join.

    Resistors below `JOINED_BELOW` join nets; capacitors between what remains are combined as a
    network, so that a series capacitor into a floating net counts for nothing. Junctions and
    the few picofarads of chip pins are left out, and so are capacitors of unknown value.

    Parameters
    ----------
    branches : tuple of Branch
        Of the DC network; its junctions are left out.
    links : tuple of Link
        Capacitors.
    reference : str
        Node that the clamped lead is on.
    """

    branches: tuple[Branch, ...]
    links: tuple[Link, ...]
    reference: str

    @cached_property
    def resistors(self) -> list[Branch]:
        """The branches that conduct at a low voltage."""
        return [each for each in self.branches if not each.saturation]

    def readings(
        self, meter_range: MeterRange, nodes: Collection[str]
    ) -> dict[str, float | OverRange]:
        """Return what the meter shows on each node [F], or over-range.

        Raises
        ------
        SettingError
            If the range tests above 0.3 V, where junctions conduct.
        """
        if meter_range.compliance > HIGHEST_VOLTAGE:
            raise SettingError(f"a capacitance range of {meter_range.compliance} V opens junctions")
        resistances, capacitances = self._resistances(nodes), self._capacitances(nodes)
        shown: dict[str, float | OverRange] = {}
        for node in nodes:
            farads = capacitances[node]
            blocked = resistances[node] < LEAST_PARALLEL or farads > meter_range.full_scale
            shown[node] = OVER_RANGE if blocked else farads
        return shown

    def _resistances(self, nodes: Collection[str]) -> dict[str, float]:
        """Return the resistance between each node and the clamped lead [ohm]."""
        links = [(each.start, each.end, 1.0 / each.ohms) for each in self.resistors]
        names = {name for a, b, _ in links for name in (a, b)} | {*nodes, self.reference}
        numbers = numbering(names, self.reference)
        inverse = driving_point(numbers, links, _LEAST_CONDUCTANCE)
        return {node: float(inverse[numbers[node]]) for node in nodes}

    def _capacitances(self, nodes: Collection[str]) -> dict[str, float]:
        """Return the capacitance between each node and the clamped lead [F]."""
        home = self._clusters(nodes)
        reference = home[self.reference]
        numbers = numbering(set(home.values()), reference)
        links = [(home[each.start], home[each.end], each.farads) for each in self.links]
        inverse = driving_point(numbers, links, _LEAST_CAPACITANCE)
        found = {node: float(inverse[numbers[home[node]]]) for node in nodes}
        floor = 1e3 * _LEAST_CAPACITANCE
        return {
            node: 1.0 / each if each and 1.0 / each > floor else 0.0 for node, each in found.items()
        }

    def _clusters(self, nodes: Collection[str]) -> dict[str, str]:
        """Return the name of the cluster of joined nodes that each node is in."""
        ends = [name for each in self.links for name in (each.start, each.end)]
        ends += [name for each in self.resistors for name in (each.start, each.end)]
        parent = {name: name for name in (*ends, *nodes, self.reference)}

        def root(name: str) -> str:
            while parent[name] != name:
                parent[name] = parent[parent[name]]
                name = parent[name]
            return name

        for each in self.resistors:
            if each.ohms < JOINED_BELOW:
                parent[root(each.start)] = root(each.end)
        return {name: root(name) for name in parent}


def numbering(names: Collection[str], reference: str) -> dict[str, int]:
    """Return numbers of nodes from 0 in the order of their names; the reference is −1."""
    inner = sorted(set(names) - {reference})
    return {name: number for number, name in enumerate(inner)} | {reference: -1}


def driving_point(
    numbers: dict[str, int], links: Sequence[tuple[str, str, float]], least: float
) -> Floats:
    """Return the inverse of the admittance between each node and the reference.

    Parameters
    ----------
    numbers : dict of str to int
        Number of each of N nodes, and −1 for the reference.
    links : sequence of (str, str, float)
        Two nodes and the admittance between them.
    least : float
        Admittance from every node to the reference.

    Returns
    -------
    (N + 1,) array
        The last entry is that of the reference itself, 0.
    """
    size = len(numbers) - 1
    laplacian = np.zeros((size + 1, size + 1))
    for start, end, weight in links:
        a, b = numbers[start], numbers[end]
        laplacian[a, a] += weight
        laplacian[b, b] += weight
        laplacian[a, b] -= weight
        laplacian[b, a] -= weight
    inner = laplacian[:size, :size] + least * np.eye(size)
    return np.append(np.diag(np.linalg.inv(inner)), 0.0)
