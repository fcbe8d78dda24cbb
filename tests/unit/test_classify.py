"""Kinds of parts from designators, values, footprints and pins."""

from __future__ import annotations

import pytest

from nextprobe.board import PartKind, classify

KINDS = [
    ("R1", "10k", "R_0402", 2, PartKind.RESISTOR),
    ("L3", "600R@100MHz", "L_0402", 2, PartKind.FERRITE),
    ("L3", "BLM18PG121SN1D", "L_0603", 2, PartKind.FERRITE),
    ("L3", "2u2", "L_0402", 2, PartKind.INDUCTOR),
    ("FB1", "BEAD", "R_1206", 2, PartKind.FERRITE),
    ("D4", "TVS", "D_0402", 2, PartKind.PROTECTION),
    ("D4", "PESD3V3S1UB", "SOD-323", 2, PartKind.PROTECTION),
    ("U9", "USBLC6-2SC6", "SOT-23-6", 6, PartKind.PROTECTION),
    ("D4", "1N4148", "SOD-123", 2, PartKind.DIODE),
    ("T1", "BSS138", "SOT-23", 3, PartKind.TRANSISTOR),
    ("X1", "26MHz", "Crystal_SMD_3225", 4, PartKind.CRYSTAL),
    ("X1", "26MHz", "Oscillator_SMD_2520", 4, PartKind.CHIP),
    ("Y1", "26MHz", "Oscillator_SMD_2520", 4, PartKind.CHIP),
    ("XTAL1", "32.768kHz", "", 2, PartKind.CRYSTAL),
    ("VR1", "3V3", "SOT-223-3", 3, PartKind.CHIP),
    ("RV1", "10k", "Potentiometer_SMD", 3, PartKind.RESISTOR),
    ("RV1", "14D471K", "RV_Disc_D7mm", 2, PartKind.PROTECTION),
    ("USB1", "", "USB_C_Receptacle", 24, PartKind.CONNECTOR),
    ("GND1", "CONN_1", "PinHeader_1x01", 1, PartKind.CONNECTOR),
    ("J1", "DB9", "DSUB-9_MountingHolesOffset9mm", 9, PartKind.CONNECTOR),
    ("P5", "", "MountingHole_3.2mm_Pad", 1, PartKind.OTHER),
    ("FID1", "", "Fiducial_1mm", 1, PartKind.OTHER),
    ("TP4", "", "TestPoint_Pad_D1.0mm", 1, PartKind.TEST_POINT),
    ("T100", "", "TestPoint_Pad_D1.0mm", 1, PartKind.TEST_POINT),
    ("RESET1", "", "SW_Push_SPST", 2, PartKind.SWITCH),
    ("PMIC", "", "QFN-32", 33, PartKind.CHIP),
    ("LEDABRT1", "RED", "LED_0603", 2, PartKind.DIODE),
    ("FOO", "BAR", "BAZ", 2, PartKind.OTHER),
    ("", "", "", 0, PartKind.OTHER),
]


@pytest.mark.parametrize(("reference", "value", "footprint", "pins", "kind"), KINDS)
def test_kinds(reference: str, value: str, footprint: str, pins: int, kind: PartKind) -> None:
    found = classify(reference, value, ["?"] * pins, f"Library:{footprint}")
    assert found.guess.kind is kind
    assert found.guess.reason and 0 < found.guess.confidence <= 1


def test_what_nothing_tells_has_little_confidence() -> None:
    assert classify("FOO", "BAR", ["1", "2"]).guess.confidence < 0.5


def test_two_witnesses_are_surer_than_one_and_a_quarrel_is_told() -> None:
    both = classify("R1", "10k", "12", "R_0402").guess
    one = classify("R1", "10k", "12", "0402").guess
    quarrel = classify("R1", "10k", "12", "C_0402").guess
    assert both.confidence > one.confidence > quarrel.confidence
    assert "capacitor" in quarrel.reason


@pytest.mark.parametrize(("pins", "kind"), [("AK", PartKind.DIODE), ("gds", PartKind.TRANSISTOR)])
def test_names_of_pins(pins: str, kind: PartKind) -> None:
    assert classify("V1", "", pins).guess.kind is kind


def test_a_ferrite_keeps_its_ohms_as_value() -> None:
    found = classify("L3", "600R@100MHz", "12")
    assert found.value == 600.0 and found.finding is None


def test_a_value_of_another_unit_is_not_taken() -> None:
    found = classify("L4", "22uF", "12")
    assert found.guess.kind is PartKind.INDUCTOR
    assert found.value is None and found.finding is not None


def test_a_chip_has_no_value_and_may_be_left_out() -> None:
    found = classify("U1", "CHIP DNP", "12345")
    assert found.value is None and found.not_fitted and found.finding is None
