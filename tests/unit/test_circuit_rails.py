"""Live rails of a small power tree."""

from __future__ import annotations

import pytest

from nextprobe.board import Board, Fault, FaultKind, Part, PartKind, Pin, Role
from nextprobe.circuit import Feed, feed_of, live_voltage
from nextprobe.errors import MisuseError

KIND = FaultKind


def part(reference: str, kind: PartKind, *nets: str, value: float | None = None, note: str = ""):
    pins = tuple(Pin(str(place + 1), net) for place, net in enumerate(nets))
    return Part(reference, kind, pins, value, note)


BOARD = Board(
    "tree",
    (
        part("J1", PartKind.CONNECTOR, "VBAT", "GND", "CAM"),
        part("U1", PartKind.CHIP, "VBAT", "LX", "V18", "GND"),
        part("L1", PartKind.INDUCTOR, "LX", "V18", value=1e-6, note="DCR 50m"),
        part("U2", PartKind.CHIP, "V18", "V12", "GND", "EN"),
        part("FB1", PartKind.FERRITE, "V12", "CAM"),
        part("C1", PartKind.CAPACITOR, "CAM", "GND", value=1e-6),
        part("C2", PartKind.CAPACITOR, "V18", "GND", value=1e-6),
        part("U3", PartKind.CHIP, "V12", "GND", "SIG", "V18"),
    ),
    dict.fromkeys(("VBAT", "V18", "V12", "CAM"), Role.RAIL),
)


def camera(*faults: Fault, load: float = 0.05) -> float:
    return live_voltage(BOARD, "CAM", 1.2, faults, load_current=load)


def test_where_rails_come_from() -> None:
    assert feed_of(BOARD, "V18") == Feed("LX", "U1")
    assert feed_of(BOARD, "CAM") == Feed("V12", "U2")
    assert feed_of(BOARD, "VBAT") == Feed("VBAT", None)
    with pytest.raises(MisuseError):
        feed_of(BOARD, "NONE")


def test_a_sound_rail_is_up() -> None:
    assert camera() == pytest.approx(1.2, rel=0.01)


@pytest.mark.parametrize(
    "fault",
    [
        Fault(KIND.SHORT, "C1"),
        Fault(KIND.OPEN, "FB1"),
        Fault(KIND.NO_OUTPUT, "U2"),
        Fault(KIND.CHIP_DEAD, "U2"),
        Fault(KIND.JOINT_OPEN, "U2.1"),
        Fault(KIND.JOINT_OPEN, "U2.2"),
        Fault(KIND.SHORT, "C2"),
        Fault(KIND.OPEN, "L1"),
        Fault(KIND.NO_OUTPUT, "U1"),
    ],
)
def test_what_takes_the_camera_rail_down(fault: Fault) -> None:
    assert camera(fault) < 0.2


def test_a_fault_behind_the_bead_leaves_other_rails_up() -> None:
    open_bead = Fault(KIND.OPEN, "FB1")
    assert live_voltage(BOARD, "V12", 1.2, open_bead) == pytest.approx(1.2, rel=0.01)


def test_a_corroded_bead_drops_a_volt_under_load_only() -> None:
    """5 ohm times 200 mA is 1 V; the load is a resistance, so that it is a little less."""
    bead = Fault(KIND.HIGH_RESISTANCE, "FB1", 5.0)
    assert camera(bead, load=1e-3) == pytest.approx(1.2, rel=0.01)
    assert camera(bead, load=0.2) == pytest.approx(1.2 * 6 / 11.05, rel=0.02)


def test_the_caller_may_know_the_feed_better() -> None:
    feed = Feed("CAM", None)
    assert live_voltage(BOARD, "CAM", 1.2, Fault(KIND.NO_OUTPUT, "U2"), feed=feed) > 1.1


def test_numbers_that_make_no_sense_raise() -> None:
    with pytest.raises(MisuseError):
        live_voltage(BOARD, "CAM", 0.0)
