"""Building a fault table for one board under one meter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nextprobe.board import BenchSetup, Board, Fault, MeterMode, MeterRange, PartKind
from nextprobe.circuit.assemble import Shifts, alike
from nextprobe.circuit.capacitance_table import capacitance_shifts
from nextprobe.circuit.circuit import Circuit
from nextprobe.circuit.defaults import UNKNOWN_RESISTOR
from nextprobe.circuit.deviations import NOMINAL, Deviations
from nextprobe.circuit.driven import DrivenReadings
from nextprobe.circuit.enumerate import enumerate_faults
from nextprobe.circuit.key import content_key
from nextprobe.circuit.network import Floats
from nextprobe.circuit.table import FaultTable
from nextprobe.errors import Finding, Severity, Where


def default_points(board: Board) -> tuple[str, ...]:
    """Return every connector pin, test point and net of a board."""
    touchable = (PartKind.CONNECTOR, PartKind.TEST_POINT)
    pins = [
        f"{part.reference}.{pin.number}"
        for part in board.parts
        if part.kind in touchable
        for pin in part.pins
    ]
    return tuple(dict.fromkeys((*pins, *board.nets)))


def fault_table(
    board: Board,
    setup: BenchSetup,
    meter_range: MeterRange,
    points: Sequence[str] | None = None,
    faults: Sequence[Fault] | None = None,
    *,
    deviations: Deviations = NOMINAL,
) -> tuple[FaultTable, tuple[Finding, ...]]:
    """Return the readings of a board at `points` under each of `faults` alone.

    A connector pin is touched at its contact: an open contact joint or a net broken at the
    contact reads over-range there and changes nothing elsewhere.

    Parameters
    ----------
    board, setup, meter_range, deviations
        As in :class:`Circuit`.
    points : sequence of str, optional
        Pins and nets; every connector pin, test point and net by default.
    faults : sequence of Fault, optional
        Every single electrical fault of the board by default.

    Returns
    -------
    table : FaultTable
        Points whose network could not be solved keep the healthy value, and have a finding.
    findings : tuple of Finding
        What could not be solved, and values that had to be assumed.

    Raises
    ------
    MisuseError
        If a point or a fault's place is not on the board.
    SettingError
        If the range does not fit the set-up.
    """
    rows = tuple(dict.fromkeys(default_points(board) if points is None else points))
    columns = tuple(enumerate_faults(board) if faults is None else dict.fromkeys(faults))
    circuit = Circuit(board, setup, meter_range, (), deviations)
    filled, findings = _filled(circuit, rows, columns)
    shifts, changes = filled.shifts.matrices(len(columns))
    table = FaultTable(
        points=rows,
        faults=columns,
        classes=alike(columns, shifts, changes),
        healthy_values=filled.shifts.values,
        healthy_over_range=filled.shifts.over,
        shifts=shifts,
        over_range_changes=changes,
        sensitivities=filled.sensitivities,
        parameters=filled.parameters,
        key=content_key(board, setup, meter_range, deviations),
    )
    return table, (*assumptions(board, setup), *findings)


@dataclass(frozen=True)
class _Filled:
    shifts: Shifts
    sensitivities: Floats
    parameters: tuple[str, ...]


def _filled(
    circuit: Circuit, rows: tuple[str, ...], columns: tuple[Fault, ...]
) -> tuple[_Filled, tuple[Finding, ...]]:
    mode = circuit.setup.mode
    none = np.zeros((len(rows), 0))
    if mode is MeterMode.DC_VOLTS:
        nothing = Shifts(mode, np.zeros(len(rows)), np.zeros(len(rows), dtype=np.bool_))
        return _Filled(nothing, none, ()), ()
    if mode is MeterMode.CAPACITANCE:
        return _Filled(capacitance_shifts(circuit, rows, columns), none, ()), ()
    driven = DrivenReadings(circuit, rows, columns)
    shifts = driven.shifts()
    return _Filled(shifts, *driven.sensitivities()), tuple(driven.findings)


def assumptions(board: Board, setup: BenchSetup) -> tuple[Finding, ...]:
    """Return findings about what had to be assumed to predict readings of a board."""
    found = [
        Finding(
            f"value of {part.reference} is not known, taken as {UNKNOWN_RESISTOR:g} ohm",
            Where(name=part.reference),
            "measure it or add its value",
            Severity.WARNING,
        )
        for part in board.fitted
        if part.kind is PartKind.RESISTOR and part.value is None
    ]
    if setup.plugged:
        names = ", ".join(sorted(setup.plugged))
        what = f"readings are predicted as if nothing were plugged in, but these are: {names}"
        remedy = "unplug them before probing"
        found.append(Finding(what, Where(name=names), remedy, Severity.WARNING))
    return tuple(found)
