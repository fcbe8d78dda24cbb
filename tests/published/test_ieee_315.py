"""Class letters of designators.

IEEE Std 315-1975 (reaffirmed 1993), clause 22.4, Class designation letters: alphabetical list. The
letters below were checked against two lists that quote the clause (techexplorations.com, Reference
designators, appendices B and C; pcblibraries.com, forum topic 728); the rest is from memory.
Letters of the trade that the standard lacks are common practice, no published source.
"""

from __future__ import annotations

import pytest

from nextprobe.board import PartKind, kind_from_designator

STANDARD = {
    "C": PartKind.CAPACITOR,
    "CR": PartKind.DIODE,
    "D": PartKind.DIODE,
    "J": PartKind.CONNECTOR,
    "L": PartKind.INDUCTOR,
    "P": PartKind.CONNECTOR,
    "Q": PartKind.TRANSISTOR,
    "R": PartKind.RESISTOR,
    "RT": PartKind.RESISTOR,
    "RV": PartKind.PROTECTION,
    "S": PartKind.SWITCH,
    "U": PartKind.CHIP,
    "Y": PartKind.CRYSTAL,
    "BT": PartKind.OTHER,
    "E": PartKind.OTHER,
    "FL": PartKind.OTHER,
    "LS": PartKind.OTHER,
    "MK": PartKind.OTHER,
}
COMMON_PRACTICE = {
    "CN": PartKind.CONNECTOR,
    "FB": PartKind.FERRITE,
    "IC": PartKind.CHIP,
    "JP": PartKind.CONNECTOR,
    "RN": PartKind.RESISTOR,
    "SW": PartKind.SWITCH,
    "TP": PartKind.TEST_POINT,
    "TVS": PartKind.PROTECTION,
    "ZD": PartKind.DIODE,
}


@pytest.mark.parametrize(("letters", "kind"), (STANDARD | COMMON_PRACTICE).items())
def test_letters(letters: str, kind: PartKind) -> None:
    assert kind_from_designator(f"{letters}87") is kind


def test_the_standards_letter_for_a_ferrite_bead_needs_the_word() -> None:
    assert kind_from_designator("E3", "ferrite bead") is PartKind.FERRITE


def test_a_light_emitting_diode_is_a_display_to_the_standard() -> None:
    assert kind_from_designator("DS1", "LED green") is PartKind.DIODE
