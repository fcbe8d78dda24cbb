"""What each fault does to the readings of one small board, by hand."""

from __future__ import annotations

import pytest
from circuit_small import BOARD, part

from nextprobe.board import (
    OVER_RANGE,
    BenchSetup,
    Board,
    Fault,
    FaultKind,
    Meter,
    MeterMode,
    Part,
    PartKind,
)
from nextprobe.circuit import enumerate_faults, predict, predict_many
from nextprobe.errors import MisuseError

KIND = FaultKind
DIODE = Meter().range_for(MeterMode.DIODE)


def read(point: str, kind: FaultKind | None = None, place: str = "", size: float | None = None):
    fault = None if kind is None else Fault(kind, place, size)
    return predict(BOARD, BenchSetup(), DIODE, point, fault)


def test_healthy_readings() -> None:
    assert read("U1.1") == pytest.approx(0.50, abs=1e-4)
    assert read("J1.1") is OVER_RANGE
    assert 0.4 < read("V18") < 0.5
    assert 0.005 < read("VC") < 0.06
    assert read("LONE") == pytest.approx(0.470, abs=1e-4)
    assert read("GND") == 0.0


@pytest.mark.parametrize(
    ("fault", "point", "expected"),
    [
        ((KIND.SHORT, "C1"), "J1.1", 0.5001),
        ((KIND.LEAKY, "C1", 1000.0), "J1.1", 1.500),
        ((KIND.SHORT, "C2"), "V18", 0.0001),
        ((KIND.SHORT, "U1.4"), "V18", 0.0001),
        ((KIND.LEAKY, "U1.4", 33.0), "V18", 0.033),
        ((KIND.CLAMP_SHORT, "U1.3"), "IO", 0.001),
        ((KIND.LEAK_TO_GROUND, "U1.3", 100.0), "IO", 0.100),
        ((KIND.SHORT, "D1"), "SDA", 0.0001),
        ((KIND.DRIFTED, "R2", 0.5), "LONE", 0.235),
        ((KIND.SHORT, "R2"), "LONE", 0.0001),
        ((KIND.BRIDGE, "J1.3~J1.4"), "OUT", 0.0001),
    ],
)
def test_readings_by_ohms_law(fault: tuple, point: str, expected: float) -> None:
    assert read(point, *fault) == pytest.approx(expected, abs=1.5e-3)


@pytest.mark.parametrize(
    ("fault", "point"),
    [
        ((KIND.JOINT_OPEN, "U1.3"), "IO"),
        ((KIND.CLAMP_OPEN, "U1.1"), "LANE_C"),
        ((KIND.OPEN, "R2"), "LONE"),
        ((KIND.OPEN, "FB1"), "OUT"),
        ((KIND.JOINT_OPEN, "J1.2"), "J1.2"),
        ((KIND.JOINT_OPEN, "J1.4"), "J1.4"),
        ((KIND.BROKEN_NET, "SDA/J1.2"), "J1.2"),
    ],
)
def test_openings_read_over_range(fault: tuple, point: str) -> None:
    assert read(point, *fault) is OVER_RANGE


def test_a_contact_that_is_open_leaves_the_net_alone() -> None:
    assert read("SDA", KIND.JOINT_OPEN, "J1.2") == read("SDA")
    assert read("U1.2", KIND.BROKEN_NET, "SDA/J1.2") == read("SDA")


def test_one_of_two_supply_joints_does_not_show() -> None:
    assert read("V18", KIND.JOINT_OPEN, "U1.4") == read("V18")
    both = (Fault(KIND.JOINT_OPEN, "U1.4"), Fault(KIND.JOINT_OPEN, "U1.5"))
    shown = predict_many(BOARD, BenchSetup(), DIODE, ("V18", "IO"), both)
    assert shown["V18"] is OVER_RANGE  # 2.2 kohm is all that is left
    assert shown["IO"] == pytest.approx(0.60, abs=1e-3)


def test_an_open_capacitor_does_not_show() -> None:
    assert read("V18", KIND.OPEN, "C2") == read("V18")


def test_a_leak_to_the_rail_pulls_towards_the_rail() -> None:
    rail, pin = read("V18"), read("IO")
    assert rail < read("IO", KIND.LEAK_TO_RAIL, "U1.3", 100.0) < pin


def test_a_high_resistance_joint_adds_to_the_reading() -> None:
    assert read("J1.5", KIND.HIGH_RESISTANCE, "J1.5", 100.0) == pytest.approx(
        read("IO") + 0.1, abs=1e-4
    )


def test_faults_that_are_not_electrical_change_nothing() -> None:
    assert read("IO", KIND.CHIP_DEAD, "U1") == read("IO")


@pytest.mark.parametrize(
    "fault",
    [
        Fault(KIND.SHORT, "C99"),
        Fault(KIND.JOINT_OPEN, "U1.99"),
        Fault(KIND.LEAKY, "C1"),
        Fault(KIND.BRIDGE, "J1.1"),
        Fault(KIND.BROKEN_NET, "IO/J1.1"),
    ],
)
def test_faults_that_make_no_sense_raise(fault: Fault) -> None:
    with pytest.raises(MisuseError):
        predict(BOARD, BenchSetup(), DIODE, "IO", fault)


def test_enumeration_names_the_faults_of_every_part() -> None:
    keys = {fault.key for fault in enumerate_faults(BOARD)}
    for key in (
        "open:R1",
        "short:R1",
        "drifted:R1@0.5",
        "high-resistance:FB1@5",
        "leaky:C1@3300",
        "open:C2",
        "short:D1",
        "joint-open:U1.1",
        "clamp-short:U1.2",
        "clamp-open:U1.3",
        "leak-to-ground:U1.1@330",
        "leak-to-rail:U1.1@1000",
        "short:U1.4",
        "joint-open:U1.5",
        "joint-open:J1.4",
        "bridge:J1.2~J1.3",
        "bridge:U1.1~U1.2",
        "broken-net:SDA/J1.2",
    ):
        assert key in keys
    assert "bridge:U1.4~U1.5" not in keys
    assert "short:U1.5" not in keys
    assert len(keys) == len(enumerate_faults(BOARD))


def test_every_enumerated_fault_can_be_predicted() -> None:
    for fault in enumerate_faults(BOARD):
        predict(BOARD, BenchSetup(), DIODE, "SDA", fault)


def test_a_stand_in_chip_gets_only_what_any_chip_has() -> None:
    chip = Part("U1", PartKind.CHIP, BOARD.part("U1").pins, implied=True)
    found = {f.kind for f in enumerate_faults(Board("b", (chip,), BOARD.roles))}
    assert found == {
        KIND.JOINT_OPEN,
        KIND.LEAK_TO_GROUND,
        KIND.CLAMP_SHORT,
        KIND.SHORT,
        KIND.LEAKY,
    }


def test_pins_are_neighbours_in_natural_order() -> None:
    connector = part("J1", PartKind.CONNECTOR, *(f"N{n}" for n in range(11)))
    places = [f.place for f in enumerate_faults(Board("b", (connector,))) if f.kind is KIND.BRIDGE]
    assert "J1.9~J1.10" in places
    assert "J1.1~J1.10" not in places
