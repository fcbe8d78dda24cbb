"""The device of the other worlds against our circuit, given the same junctions and the same meter.

The one is solved by ngspice (Debian package `ngspice`; https://ngspice.sourceforge.io) from a
netlist written from the board on its own, the other by our own solver. Agreement is asked to 1 mV
in diode mode and 0.5 % in resistance modes, with over-range the same.
"""

from __future__ import annotations

import numpy as np
import pytest
from circuit_spice import require_ngspice
from diagnosis_cases import small_board

from nextprobe.board import BenchSetup, Fault, Meter, MeterMode, OverRange
from nextprobe.circuit import Circuit, default_points, enumerate_faults
from nextprobe.readers.ngspice import run_ngspice
from nextprobe.trials.independent.deck import MeterOnBoard
from nextprobe.trials.independent.netlist import Netlist
from nextprobe.trials.independent.parts import UsualParts

BOARD = small_board()
WARM = 308.15


def sampled_faults() -> list[tuple[Fault, ...]]:
    """Return one fault of every kind that the board can have, none, and some pairs."""
    rng = np.random.default_rng(20240229)
    kinds: dict[str, list[Fault]] = {}
    for fault in enumerate_faults(BOARD):
        kinds.setdefault(fault.kind.value, []).append(fault)
    single = [found[int(rng.integers(len(found)))] for found in kinds.values()]
    return [(), *((fault,) for fault in single), (single[0], single[-1]), (single[1], single[2])]


def wrong_readings(setup: BenchSetup, faults: tuple[Fault, ...], points: list[str]) -> list[object]:
    meter = Meter().range_for(setup.mode)
    ours = Circuit(BOARD, setup, meter, faults).readings(points)
    bench = MeterOnBoard(Netlist(BOARD, faults, UsualParts()), setup, meter, setup.temperature)
    wrong: list[object] = []
    for point, theirs in zip(points, bench.readings(points, run_ngspice), strict=True):
        own = ours[point]
        if isinstance(own, OverRange) or isinstance(theirs, OverRange):
            agrees = own is theirs
        else:
            allowed = 1e-3 if setup.mode is MeterMode.DIODE else max(0.005 * theirs, 2e-3)
            agrees = abs(own - theirs) <= allowed
        if not agrees:
            wrong.append((point, [fault.key for fault in faults], own, theirs))
    return wrong


@pytest.mark.parametrize("faults", sampled_faults(), ids=lambda found: "+".join(
    fault.key for fault in found) or "healthy")  # fmt: skip
def test_diode_mode_agrees_within_a_millivolt(faults: tuple[Fault, ...]) -> None:
    require_ngspice()
    points = [point for point in default_points(BOARD) if BOARD.net_of(point) != "GND"][:14]
    assert len(points) >= 12
    assert wrong_readings(BenchSetup(), faults, points) == []


@pytest.mark.parametrize("setup", [
    BenchSetup(temperature=WARM),
    BenchSetup(clamped_is_positive=False),
    BenchSetup(MeterMode.LOW_OHMS),
    BenchSetup(MeterMode.OHMS),
], ids=["warm", "other polarity", "low ohms", "ohms"])  # fmt: skip
def test_other_set_ups_agree(setup: BenchSetup) -> None:
    require_ngspice()
    points = [point for point in default_points(BOARD) if BOARD.net_of(point) != "GND"][:14]
    assert wrong_readings(setup, (), points) == []
