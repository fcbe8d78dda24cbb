"""What a reading that a fault has moved keeps of the deviation of its junctions."""

from __future__ import annotations

import numpy as np
import pytest

from nextprobe.board import BenchSetup, Board, Fault, FaultKind, Meter, MeterMode, OverRange
from nextprobe.circuit import Deviations, FaultTable, fault_table, predict_many
from nextprobe.diagnosis.inheritance import inherited, is_leak
from nextprobe.job.shelf import shelf_from

DIODE = Meter().range_for(MeterMode.DIODE)
LEAKS = (10e3, 3.3e3, 1e3, 560.0, 330.0, 220.0, 100.0, 33.0)
STEP = 1e-3


@pytest.fixture(scope="module")
def board() -> Board:
    shelf, _ = shelf_from("ferry-terminal")
    assert shelf.board is not None
    return shelf.board


@pytest.fixture(scope="module")
def table(board: Board) -> FaultTable:
    return fault_table(board, BenchSetup(), DIODE, faults=())[0]


def slope(board: Board, net: str, fault: Fault, parameter: str) -> tuple[float, float]:
    """Return the reading under a fault, and its slope against the junction of a good board."""
    found = []
    for sign in (1, -1):
        turned = Deviations({parameter: sign * STEP})
        value = predict_many(board, BenchSetup(), DIODE, [net], (fault,), deviations=turned)[net]
        assert not isinstance(value, OverRange)
        found.append(value)
    return sum(found) / 2.0, (found[0] - found[1]) / (2.0 * STEP)


@pytest.mark.parametrize(
    ("place", "kind", "net"),
    [
        ("C506", FaultKind.LEAKY, "VDD18"),
        ("C313", FaultKind.LEAKY, "VDD30"),
        ("U1.G2", FaultKind.LEAK_TO_GROUND, "TP_SCL"),
    ],
)
def test_what_is_kept_beside_a_leak_is_what_the_circuit_says(
    board: Board, table: FaultTable, place: str, kind: FaultKind, net: str
) -> None:
    row = table.index(net)
    slopes = np.abs(table.sensitivities[row])
    strongest = int(slopes.argmax())
    healthy = table.healthy(net)
    assert isinstance(healthy, float)
    under = [slope(board, net, Fault(kind, place, size), table.parameters[strongest])
             for size in LEAKS]  # fmt: skip
    mean = np.array([*(value for value, _ in under), healthy])
    kept = inherited(mean, np.array([True] * len(LEAKS) + [False]))
    by_circuit = np.array([abs(each) for _, each in under]) / slopes[strongest]
    # The law leaves the series resistance of a clamp out; in proportion to the reading it would be
    # wrong by 0.5 at 330 ohm.
    np.testing.assert_allclose(kept[:-1], by_circuit, atol=0.08)
    assert kept[-1] == 1.0
    in_proportion = inherited(mean, np.zeros(len(mean), dtype=bool))
    assert np.abs(in_proportion[:-1] - by_circuit).max() > 0.15


def test_what_no_leak_moves_keeps_deviation_in_proportion() -> None:
    mean = np.array([0.0, 0.25, 0.5, 0.75, 5.0, 0.5])
    kept = inherited(mean, np.array([False] * 6))
    np.testing.assert_allclose(kept, [0.0, 0.5, 1.0, 1.5, 2.0, 1.0])
    assert inherited(np.array([0.3, 0.0]), np.array([True, False])).tolist() == [1.0, 1.0]


def test_a_leak_goes_to_ground(board: Board) -> None:
    assert is_leak(board, Fault(FaultKind.LEAKY, "C506", 330.0))
    assert is_leak(board, Fault(FaultKind.SHORT, "U7.2"))
    assert is_leak(board, Fault(FaultKind.CLAMP_SHORT, "U1.G2"))
    assert not is_leak(board, Fault(FaultKind.OPEN, "C506"))
    across = next(part for part in board.fitted if len(part.pins) == 2
                  and "GND" not in {pin.net for pin in part.pins})  # fmt: skip
    assert not is_leak(board, Fault(FaultKind.SHORT, across.reference))
