"""One board on the bench: the plain solve of what a meter would show."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from nextprobe.board import OVER_RANGE, BenchSetup, Board, Fault, MeterMode, MeterRange, OverRange
from nextprobe.circuit.capacitance import CapacitanceNetwork, capacitors
from nextprobe.circuit.cells import all_branches
from nextprobe.circuit.conditions import Conditions, conditions_of
from nextprobe.circuit.deviations import NOMINAL, Deviations
from nextprobe.circuit.meter import Drive, drive_of
from nextprobe.circuit.network import Network, Reach
from nextprobe.circuit.problem import Problem
from nextprobe.circuit.region import region_of
from nextprobe.circuit.site import Site
from nextprobe.circuit.solve import solve
from nextprobe.errors import SettingError, SolverError


@dataclass(frozen=True, eq=False)
class Circuit:
    """A board with faults, set up under a meter.

    Build it once to take many readings of one board.

    Parameters
    ----------
    board : Board
        Whose readings are predicted.
    setup : BenchSetup
        Polarity, clamped net, removed parts and temperature. Modules that are plugged in have no
        circuit of their own here.
    meter_range : MeterRange
        Of the set-up's mode.
    faults : tuple of Fault
        Present together; those that are not electrical change nothing.
    deviations : Deviations
        Of this board's parameters from nominal.

    Raises
    ------
    MisuseError
        If a fault or the clamped net is not of this board.
    SettingError
        If the range does not fit the set-up.
    """

    board: Board
    setup: BenchSetup
    meter_range: MeterRange
    faults: tuple[Fault, ...] = ()
    deviations: Deviations = NOMINAL

    def __post_init__(self) -> None:
        if self.setup.mode is not self.meter_range.mode:
            raise SettingError(f"set-up is {self.setup.mode}, range is {self.meter_range.mode}")
        self.board.net_of(self.setup.clamped)

    @cached_property
    def conditions(self) -> Conditions:
        """The faults by place."""
        return conditions_of(self.board, self.faults)

    @cached_property
    def site(self) -> Site:
        """What the models of the parts depend on."""
        return Site(self.board, self.conditions, self.deviations, self.setup.temperature)

    @cached_property
    def network(self) -> Network:
        """The DC network, seen from the clamped lead."""
        branches = all_branches(self.site, self.setup.removed)
        return Network(branches, self.node(self.setup.clamped), tuple(self.board.nets))

    @cached_property
    def drive(self) -> Drive:
        """The meter as a circuit; raises SettingError for modes that drive no current."""
        return drive_of(self.setup, self.meter_range)

    @cached_property
    def reach(self) -> Reach:
        """What conducts to a probe, or from it, by polarity."""
        return self.network.reach(towards_probe=not self.drive.positive_probe)

    @cached_property
    def capacitances(self) -> CapacitanceNetwork:
        """The network that a capacitance range sees."""
        links = tuple(capacitors(self.site, self.setup.removed))
        return CapacitanceNetwork(self.network.branches, links, self.network.reference)

    def node(self, point: str) -> str:
        """Return the node that a probe on `point` touches; raises MisuseError if unknown."""
        return self.conditions.touched(self.board, point)

    def problem(self, point: str) -> Problem | None:
        """Return the network that a probe on `point` drives, None on the clamped net itself."""
        number = self.network.numbers.get(self.node(point), self.network.size)
        if number < 0:
            return None
        mask = np.zeros(self.network.size + 1, dtype=np.bool_)
        mask[:-1] = self.reach.of(number)
        region = region_of(self.network.elements, number, mask)
        return region.problem(self.drive, np.zeros(len(region.nodes)))

    def readings(self, points: Iterable[str]) -> dict[str, float | OverRange]:
        """Return what the meter shows at each point [V, ohm or F], or over-range.

        Raises
        ------
        MisuseError
            If a point is not on the board.
        SolverError
            If a network could not be solved; the message names the point.
        """
        wanted = list(dict.fromkeys(points))
        if self.setup.mode is MeterMode.DC_VOLTS:
            return {point: 0.0 for point in wanted if self.board.net_of(point)}
        if self.setup.mode is MeterMode.CAPACITANCE:
            nodes = {point: self.node(point) for point in wanted}
            shown = self.capacitances.readings(self.meter_range, set(nodes.values()))
            return {point: shown[node] for point, node in nodes.items()}
        return self._driven(wanted)

    def _driven(self, points: Sequence[str]) -> dict[str, float | OverRange]:
        by_node = {self.node(point): point for point in points}
        problems = {node: self.problem(point) for node, point in by_node.items()}
        live = {node: problem for node, problem in problems.items() if problem is not None}
        volts = dict.fromkeys(by_node, 0.0)
        for node, answer in zip(live, solve(list(live.values())), strict=True):
            if answer is None:
                raise SolverError(f"no solution at {by_node[node]} on {self.board.name}")
            volts[node] = float(answer[0])
        shown = self._shown(volts)
        return {point: shown[self.node(point)] for point in points}

    def _shown(self, volts: Mapping[str, float]) -> dict[str, float | OverRange]:
        values, over = self.drive.shown(np.array(list(volts.values())))
        return {
            node: OVER_RANGE if over[index] else float(values[index])
            for index, node in enumerate(volts)
        }


def predict_many(
    board: Board,
    setup: BenchSetup,
    meter_range: MeterRange,
    points: Iterable[str],
    faults: tuple[Fault, ...] = (),
    *,
    deviations: Deviations = NOMINAL,
) -> dict[str, float | OverRange]:
    """Return what the meter shows at each point with all `faults` present together.

    See :class:`Circuit` for the parameters and :meth:`Circuit.readings` for what is raised.
    """
    return Circuit(board, setup, meter_range, faults, deviations).readings(points)


def predict(
    board: Board,
    setup: BenchSetup,
    meter_range: MeterRange,
    point: str,
    fault: Fault | None = None,
    *,
    deviations: Deviations = NOMINAL,
) -> float | OverRange:
    """Return what the meter shows at one point, healthy or with one fault."""
    faults = () if fault is None else (fault,)
    bench = board, setup, meter_range
    return predict_many(*bench, (point,), faults, deviations=deviations)[point]
