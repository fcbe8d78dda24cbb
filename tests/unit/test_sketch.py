"""Boards made of nothing but a pinout."""

from __future__ import annotations

import pytest

from nextprobe.board import (
    GROUND,
    OVER_RANGE,
    PartKind,
    PinRow,
    PinTable,
    Role,
    sketch_from_pinout,
)
from nextprobe.errors import MisuseError
from nextprobe.readers import read_pins

PINOUT = """\
1 GND
2 CAM_SDA 452
3 VDD_CAM 389
4 D0_P
5 D0_N
6 nc
7 OL
8 gnd
9 520
10 CAM_RST OL
11 VDD_CAM
12 0
"""


def sketch():
    pinout, findings = read_pins(PINOUT, "J4")
    assert not findings
    return sketch_from_pinout(pinout, "sketch")


def test_every_pin_is_on_the_connector() -> None:
    connector = sketch().part("J4")
    assert connector.kind is PartKind.CONNECTOR
    assert [pin.number for pin in connector.pins] == [str(number) for number in range(1, 13)]


def test_ground_pins_join_ground() -> None:
    assert set(sketch().nets[GROUND].pins) == {"J4.1", "J4.8", "J4.12"}


def test_a_stand_in_is_behind_what_conducts() -> None:
    stand_in = sketch().part("U?J4")
    assert stand_in.implied and stand_in.kind is PartKind.CHIP
    assert {pin.net: pin.supply for pin in stand_in.pins} == {
        "CAM_SDA": "VDD_CAM",
        "VDD_CAM": None,
        "D0_P": "VDD_CAM",
        "D0_N": "VDD_CAM",
        "N_J4_9": "VDD_CAM",
    }


def test_nothing_is_behind_a_good_over_range() -> None:
    board = sketch()
    assert board.nets["N_J4_7"].pins == ("J4.7",)
    assert board.nets["CAM_RST"].pins == ("J4.10",)
    assert board.role("N_J4_7") is Role.UNKNOWN


def test_roles_come_from_names_and_states() -> None:
    board = sketch()
    expected = {
        "CAM_SDA": Role.OPEN_DRAIN,
        "VDD_CAM": Role.RAIL,
        "D0_P": Role.LANE,
        "D0_N": Role.LANE,
        "N_J4_6": Role.NOT_CONNECTED,
        "CAM_RST": Role.LOGIC,
    }
    assert dict(board.roles) == expected
    assert board.role("N_J4_9") is Role.UNKNOWN


def test_two_connectors_share_nets_and_not_their_stand_in() -> None:
    rows = (PinRow("J4", "1", "CAM_SDA"), PinRow("J5", "7", "CAM_SDA"), PinRow("J5", "8", "1V8"))
    board = sketch_from_pinout(PinTable(rows), "two")
    assert board.nets["CAM_SDA"].pins == ("J4.1", "J5.7", "U?J4.1")
    assert board.part("U?J4").pin("1").supply == "1V8"
    assert [pin.net for pin in board.part("U?J5").pins] == ["1V8"]


def test_without_anything_that_conducts_there_is_no_stand_in() -> None:
    board = sketch_from_pinout(PinTable((PinRow("J4", "1", good=OVER_RANGE),)), "none")
    assert list(board.by_reference) == ["J4"]


def test_a_pin_table_names_each_pin_once() -> None:
    with pytest.raises(MisuseError):
        PinTable((PinRow("J4", "1"), PinRow("J4", "1")))
