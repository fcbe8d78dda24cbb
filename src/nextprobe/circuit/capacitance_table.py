"""Filling a fault table in capacitance mode."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from nextprobe.board import Fault, FaultKind, OverRange, PartKind
from nextprobe.circuit.assemble import Shifts
from nextprobe.circuit.capacitance import CapacitanceNetwork, capacitors
from nextprobe.circuit.circuit import Circuit
from nextprobe.circuit.conditions import conditions_of
from nextprobe.circuit.effects import Effect, effect_of
from nextprobe.circuit.network import Bools, Floats

Shown = dict[str, float | OverRange]


def capacitance_shifts(circuit: Circuit, points: Sequence[str], faults: Sequence[Fault]) -> Shifts:
    """Return the readings of `points` under each of `faults`."""
    full_scale = circuit.meter_range.full_scale
    values, over = _as_arrays(circuit.readings(points), points, full_scale)
    shifts = Shifts(circuit.setup.mode, values, over)
    known: dict[object, tuple[Floats, Bools]] = {}
    for column, fault in enumerate(faults):
        effect = effect_of(circuit.site, circuit.setup.removed, fault)
        key = (effect.electrical, _capacitor_of(circuit, fault))
        if not _matters(circuit, effect) and key[1] is None:
            continue
        if key not in known:
            shown = _shown(circuit, fault, effect, points)
            known[key] = _as_arrays(shown, points, full_scale)
        new_values, new_over = known[key]
        for row in np.flatnonzero((new_values != values) | (new_over != over)):
            shifts.add([int(row)], [column], float(new_values[row]), bool(new_over[row]))
    return shifts


def _capacitor_of(circuit: Circuit, fault: Fault) -> tuple[FaultKind, str] | None:
    place = fault.place.rpartition("/")[2]
    part = circuit.board.by_reference.get(place.partition(".")[0])
    capacitor = part is not None and part.kind is PartKind.CAPACITOR
    return (fault.kind, place) if capacitor else None


def _matters(circuit: Circuit, effect: Effect) -> bool:
    branches = circuit.network.branches
    gone = [branches[circuit.network.position[name]] for name in effect.gone]
    return bool(effect.moved) or any(not each.saturation for each in (*gone, *effect.added))


def _shown(circuit: Circuit, fault: Fault, effect: Effect, points: Sequence[str]) -> Shown:
    site = circuit.site.under(conditions_of(circuit.board, [fault]))
    kept = tuple(each for each in circuit.network.branches if each.name not in effect.gone)
    links = tuple(capacitors(site, circuit.setup.removed))
    reference = site.conditions.touched(circuit.board, circuit.setup.clamped)
    network = CapacitanceNetwork((*kept, *effect.added), links, reference)
    nodes = {point: site.conditions.touched(circuit.board, point) for point in points}
    shown = network.readings(circuit.meter_range, set(nodes.values()))
    return {point: shown[node] for point, node in nodes.items()}


def _as_arrays(shown: Shown, points: Sequence[str], full_scale: float) -> tuple[Floats, Bools]:
    found = [shown[point] for point in points]
    over = np.array([isinstance(each, OverRange) for each in found], dtype=np.bool_)
    values = [full_scale if isinstance(each, OverRange) else each for each in found]
    return np.array(values, dtype=np.float64), over
