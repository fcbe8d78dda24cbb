"""Readings of a simulated device are those of its circuit, through a meter."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import nextprobe
from nextprobe.board import (
    BenchSetup,
    Board,
    Fault,
    FaultKind,
    Meter,
    MeterMode,
    OverRange,
    PartKind,
)
from nextprobe.circuit import Circuit, predict
from nextprobe.diagnosis.acts import DONOR, PATIENT, Probe
from nextprobe.diagnosis.candidates import candidates
from nextprobe.diagnosis.predicted import Reference
from nextprobe.packs.schema import Pack
from nextprobe.readers.pack_folder import read_pack_folder
from nextprobe.trials.device import SimulatedDevice
from nextprobe.trials.truth import Truth, draw_truth

DEMO = Path(nextprobe.__file__).parent / "packs" / "demo" / "courier-handheld"
SETUP = BenchSetup()
DIODE = Meter().range_for(MeterMode.DIODE)
COUNTS = DIODE.counts * DIODE.resolution + DIODE.resolution / 2


@pytest.fixture(scope="module")
def demo() -> tuple[Pack, Board]:
    folder, _ = read_pack_folder(DEMO)
    assert folder is not None
    assert folder.board is not None
    return folder.pack, folder.board


def truth_with(pack: Pack, board: Board, fault: Fault) -> Truth:
    rng = np.random.default_rng(3)
    complaint = next(iter(pack.functions))
    listed = candidates(pack, board, complaint)
    drawn = draw_truth(pack, board, complaint, listed[0], rng)
    return replace(drawn, hidden=(replace(drawn.hidden[0], fault=fault),), slip=0.0)


def leak_on(board: Board) -> tuple[str, Fault]:
    """Return a connector pin of a chip's signal, and a leak to ground at the chip."""
    for part in board.parts:
        for pin in part.pins if part.kind is PartKind.CONNECTOR else ():
            for chip, terminal in board.parts_on(pin.net):
                signal = chip.kind is PartKind.CHIP and not board.role(pin.net).is_supply
                if signal and pin.net != "GND":
                    place = f"{chip.reference}.{terminal.number}"
                    return f"{part.reference}.{pin.number}", Fault(
                        FaultKind.LEAK_TO_GROUND, place, 150.0
                    )
    raise AssertionError("no such pin")


def shown(device: SimulatedDevice, point: str, where: str) -> float | OverRange:
    reading = device.answer(Probe(point, where)).reading
    assert reading is not None
    return reading.value


def test_patient_and_donor_read_as_their_circuits(demo: tuple[Pack, Board]) -> None:
    pack, board = demo
    point, fault = leak_on(board)
    truth = truth_with(pack, board, fault)
    device = SimulatedDevice(pack, board, truth, np.random.default_rng(1))
    ill = predict(board, SETUP, DIODE, point, fault, deviations=truth.deviations)
    good = predict(board, SETUP, DIODE, point)
    well = predict(board, SETUP, DIODE, point, deviations=truth.deviations)
    assert not isinstance(ill, OverRange)
    assert not isinstance(good, OverRange)
    assert not isinstance(well, OverRange)
    assert abs(ill - well) > 10 * COUNTS
    for _ in range(3):
        assert shown(device, point, PATIENT) == pytest.approx(ill * truth.meter_gain, abs=COUNTS)
        assert shown(device, point, DONOR) == pytest.approx(good * truth.meter_gain, abs=COUNTS)
    device._left.clear()
    assert shown(device, point, PATIENT) == pytest.approx(well * truth.meter_gain, abs=COUNTS)


def test_a_reference_moves_readings_in_proportion(demo: tuple[Pack, Board]) -> None:
    pack, board = demo
    point, fault = leak_on(board)
    truth = truth_with(pack, board, fault)
    known = {(point, MeterMode.DIODE): Reference(0.5, 3, "good boards")}
    device = SimulatedDevice(pack, board, truth, np.random.default_rng(1), known)
    ill = predict(board, SETUP, DIODE, point, fault, deviations=truth.deviations)
    good = predict(board, SETUP, DIODE, point)
    assert not isinstance(ill, OverRange)
    assert not isinstance(good, OverRange)
    expected = ill * 0.5 / good * truth.meter_gain
    assert shown(device, point, PATIENT) == pytest.approx(expected, abs=COUNTS)
    assert shown(device, point, DONOR) == pytest.approx(0.5 * truth.meter_gain, abs=COUNTS)


def test_a_network_is_built_once_for_each_state_of_a_board(
    demo: tuple[Pack, Board], monkeypatch: pytest.MonkeyPatch
) -> None:
    pack, board = demo
    point, fault = leak_on(board)
    device = SimulatedDevice(pack, board, truth_with(pack, board, fault), np.random.default_rng(1))
    built: list[tuple[Fault, ...]] = []
    whole = Circuit.__post_init__

    def counted(circuit: Circuit) -> None:
        built.append(circuit.faults)
        whole(circuit)

    monkeypatch.setattr(Circuit, "__post_init__", counted)
    for name in (point, *list(board.nets)[:5], point):
        shown(device, name, PATIENT)
        shown(device, name, DONOR)
    assert sorted(built) == [(), (fault,)]
