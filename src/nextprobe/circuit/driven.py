"""Filling a fault table in the modes that drive a current.

One healthy solve per node; faults with the same effect are solved once; those that can not move
the probe are screened out; the rest are exact nonlinear solves of the region that the current
can reach, all of a size together.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from functools import cached_property

import numpy as np

from nextprobe.board import OVER_RANGE, Fault, MeterMode, OverRange
from nextprobe.circuit.assemble import LEAST_RELATIVE_SHIFT, LEAST_SHIFT, Shifts
from nextprobe.circuit.circuit import Circuit, predict_many
from nextprobe.circuit.effects import Effect, distinct_effects
from nextprobe.circuit.network import Bools, Floats
from nextprobe.circuit.probe import HealthyProbe
from nextprobe.circuit.problem import Problem
from nextprobe.circuit.screen import EffectArrays, arrays_of
from nextprobe.circuit.sensitivities import Parameters, transfer_resistances
from nextprobe.circuit.solve import solve
from nextprobe.errors import Finding, SolverError, Where

SCREEN_VOLTS = 0.3 * LEAST_SHIFT
SCREEN_FRACTION = 0.3 * LEAST_RELATIVE_SHIFT
"""Movement below which a fault is not solved: well below what is stored."""
MOST_NODES = 1_000_000
"""Nodes of all problems that are held together, so that memory stays bounded."""


class DrivenReadings:
    """Readings of points under faults.

    Parameters
    ----------
    circuit : Circuit
        Healthy.
    points, faults : sequences
        Rows and columns of the table.
    """

    def __init__(self, circuit: Circuit, points: Sequence[str], faults: Sequence[Fault]) -> None:
        self.circuit = circuit
        self.points = points
        self.faults = faults
        self.findings: list[Finding] = []
        self.effects, self._effect_of = distinct_effects(
            circuit.site, circuit.setup.removed, faults
        )

    @cached_property
    def arrays(self) -> EffectArrays:
        """All effects as arrays."""
        return arrays_of(self.circuit.network, self.effects)

    @cached_property
    def rows_of(self) -> dict[int, list[int]]:
        """Rows of the table by the number of the node under them."""
        rows: dict[int, list[int]] = defaultdict(list)
        for row, point in enumerate(self.points):
            rows[self.arrays.numbers[self.circuit.node(point)]].append(row)
        return dict(rows)

    @cached_property
    def columns_of(self) -> dict[int, list[int]]:
        """Columns of the table by effect."""
        columns: dict[int, list[int]] = defaultdict(list)
        for column, effect in enumerate(self._effect_of):
            columns[effect].append(column)
        return dict(columns)

    @cached_property
    def probes(self) -> list[HealthyProbe]:
        """Healthy solutions, one per node other than the reference that could be solved."""
        nodes = [node for node in self.rows_of if node >= 0]
        probes = [HealthyProbe(self.circuit, self.arrays, node) for node in nodes]
        answers = solve([each.problem for each in probes])
        solved, found = [], []
        for probe, answer in zip(probes, answers, strict=True):
            if answer is None:
                self._unsolved(self.points[self.rows_of[probe.node][0]], "healthy")
            else:
                solved.append(probe)
                found.append(answer)
        transfers = transfer_resistances([each.problem for each in solved], found)
        for probe, answer, transfer in zip(solved, found, transfers, strict=True):
            probe.settle(answer, transfer)
        return solved

    def shifts(self) -> Shifts:
        """Return all readings."""
        values, over = self._healthy()
        shifts = Shifts(self.circuit.setup.mode, values, over)
        self._fill_moved(shifts)
        self._fill_probes(shifts)
        self._fill_slowly(shifts)
        return shifts

    def _healthy(self) -> tuple[Floats, Bools]:
        volts = np.zeros(len(self.points))
        for probe in self.probes:
            volts[self.rows_of[probe.node]] = probe.volts
        return self.circuit.drive.shown(volts)

    @property
    def _least(self) -> tuple[float, float]:
        diode = self.circuit.setup.mode is MeterMode.DIODE
        return (SCREEN_VOLTS, 0.0) if diode else (0.0, SCREEN_FRACTION)

    def _moves_reference(self, effect: Effect) -> bool:
        return self.circuit.setup.clamped in dict(effect.moved)

    def _fill_probes(self, shifts: Shifts) -> None:
        """Solve every probe under every effect that may move it."""
        pairs: list[tuple[HealthyProbe, int]] = []
        nodes = 0
        for probe in self.probes:
            added = [(probe, effect) for effect in self._moving(probe)]
            pairs += added
            nodes += len(added) * probe.problem.size
            if nodes > MOST_NODES:
                self._fill_pairs(shifts, pairs)
                pairs, nodes = [], 0
        self._fill_pairs(shifts, pairs)

    def _moving(self, probe: HealthyProbe) -> list[int]:
        """Return the effects that may move a probe."""
        absolute, relative = self._least
        found = probe.survivors(absolute + relative * abs(probe.volts)).tolist()
        return [effect for effect in found if not self._moves_reference(self.effects[effect])]

    def _fill_pairs(self, shifts: Shifts, pairs: Sequence[tuple[HealthyProbe, int]]) -> None:
        answers = solve([probe.under(effect) for probe, effect in pairs])
        solved = [place for place, answer in enumerate(answers) if answer is not None]
        volts = np.array([answer[0] for answer in answers if answer is not None])
        values, over = self.circuit.drive.shown(volts)
        for place, value, flag in zip(solved, values, over, strict=True):
            probe, effect = pairs[place]
            rows = self._rows_at(probe.node, self.effects[effect])
            shifts.add(rows, self.columns_of[effect], float(value), bool(flag))
        for (probe, effect), answer in zip(pairs, answers, strict=True):
            if answer is None:
                self._unsolved_effect(probe.node, effect)

    def _rows_at(self, node: int, effect: Effect) -> list[int]:
        moved = dict(effect.moved)
        return [row for row in self.rows_of[node] if self.points[row] not in moved]

    def _fill_moved(self, shifts: Shifts) -> None:
        """Solve the contacts that an effect cuts off, each on its new node."""
        row_of = {point: row for row, point in enumerate(self.points)}
        found: list[tuple[int, int, Problem]] = []
        for index, effect in enumerate(self.effects):
            if self._moves_reference(effect):
                continue
            for point, node in effect.moved:
                if point in row_of:
                    probe = HealthyProbe(self.circuit, self.arrays, self.arrays.numbers[node])
                    found.append((row_of[point], index, probe.under(index)))
        answers = solve([problem for _, _, problem in found])
        for (row, index, _), answer in zip(found, answers, strict=True):
            if answer is None:
                self._unsolved(self.points[row], self.faults[self.columns_of[index][0]].key)
                continue
            value, over = self.circuit.drive.shown(answer[:1])
            shifts.add([row], self.columns_of[index], float(value[0]), bool(over[0]))

    def _fill_slowly(self, shifts: Shifts) -> None:
        """Predict every point under faults that cut the clamped lead off."""
        for index, effect in enumerate(self.effects):
            if not self._moves_reference(effect):
                continue
            for column in self.columns_of[index]:
                for row, point in enumerate(self.points):
                    self._fill_one(shifts, row, column, point)

    def _fill_one(self, shifts: Shifts, row: int, column: int, point: str) -> None:
        circuit, fault = self.circuit, self.faults[column]
        bench = circuit.board, circuit.setup, circuit.meter_range
        try:
            shown = predict_many(*bench, (point,), (fault,), deviations=circuit.deviations)[point]
        except SolverError:
            self._unsolved(point, fault.key)
            return
        over = isinstance(shown, OverRange)
        value = circuit.meter_range.full_scale if shown is OVER_RANGE else shown
        shifts.add([row], [column], float(value), over)

    def sensitivities(self) -> tuple[Floats, tuple[str, ...]]:
        """Return dv/d ln(parameter) of the healthy readings, (P, K), and the K names."""
        parameters = Parameters(self.circuit.network.branches)
        matrix = np.zeros((len(self.points), len(parameters.names)))
        for probe in self.probes:
            volts = np.array([probe.volts])
            _, over = self.circuit.drive.shown(volts)
            if not over[0]:
                slope = float(self.circuit.drive.shown_slope(volts)[0])
                matrix[self.rows_of[probe.node]] = slope * probe.gradient(parameters)
        used = np.flatnonzero(np.abs(matrix).max(axis=0, initial=0.0) > 1e-9)
        return matrix[:, used], tuple(parameters.names[index] for index in used)

    def _unsolved_effect(self, node: int, effect: int) -> None:
        fault = self.faults[self.columns_of[effect][0]]
        self._unsolved(self.points[self.rows_of[node][0]], fault.key)

    def _unsolved(self, point: str, what: str) -> None:
        self.findings.append(
            Finding(
                f"no solution at {point} for {what}; its healthy reading stands in",
                Where(source=self.circuit.board.name, name=point),
                "leave this point out, or check the values of the parts around it",
            )
        )
