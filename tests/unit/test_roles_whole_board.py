"""Roles on boards that came with places: ground by other names, pins, pairs, buses, dividers."""

from __future__ import annotations

import pytest

from nextprobe.board import (
    GROUND,
    Board,
    Pad,
    Part,
    PartKind,
    Pin,
    Role,
    infer_roles,
    main_ground,
    understand,
    with_named_ground,
)
from nextprobe.board.net_names import role_from_name, role_of_pair
from nextprobe.readers import read_chains

PAD = Pad((0.0, 0.0), (1e-3, 1e-3))


def part(
    reference: str,
    kind: PartKind,
    *pins: str,
    value: float | None = None,
    note: str = "",
) -> Part:
    """Return a part of pins written as ``number=net`` or ``number:function=net``."""
    made = []
    for text in pins:
        pin, _, net = text.partition("=")
        number, _, function = pin.partition(":")
        made.append(Pin(number, net, None, function, (PAD,)))
    return Part(reference, kind, tuple(made), value, note)


def chip(reference: str, *pins: str) -> Part:
    return part(reference, PartKind.CHIP, *pins)


def connector(reference: str, *pins: str) -> Part:
    return part(reference, PartKind.CONNECTOR, *pins)


def resistor(reference: str, first: str, second: str, ohms: float) -> Part:
    return part(reference, PartKind.RESISTOR, f"1={first}", f"2={second}", value=ohms)


def capacitor(reference: str, first: str, second: str, farads: float = 1e-7) -> Part:
    return part(reference, PartKind.CAPACITOR, f"1={first}", f"2={second}", value=farads)


def roles(*parts: Part) -> dict[str, Role]:
    return {net: guess.role for net, guess in infer_roles(Board("b", parts)).items()}


@pytest.mark.parametrize("name", ["GNDA", "VSS", "AGND", "GNDREF", "0", "/power/DGND", "EARTH"])
def test_ground_by_another_name_becomes_ground(name: str) -> None:
    board = Board("b", (chip("U1", f"1={name}", "2=A"), capacitor("C1", name, "A")))
    assert main_ground(board) == name
    named = with_named_ground(board)
    assert GROUND in named.nets and name not in named.nets
    assert named.role(GROUND) is Role.GROUND


def test_a_board_with_ground_keeps_its_names() -> None:
    board = Board("b", (chip("U1", "1=GND", "2=AGND"),))
    assert with_named_ground(board) is board


def test_ground_by_what_chips_call_their_pins() -> None:
    parts = [chip(f"U{i}", "1:GND=N$7", f"2:OUT=S{i}") for i in range(4)]
    assert main_ground(Board("b", tuple(parts))) == "N$7"


def test_ground_by_size_where_nothing_names_it() -> None:
    parts = [capacitor(f"C{i}", "N$1", f"S{i}") for i in range(5)]
    assert main_ground(Board("b", tuple(parts))) == "N$1"


def test_no_ground_where_nothing_tells() -> None:
    board = Board("b", (resistor("R1", "A", "B", 1e3),))
    assert main_ground(board) is None
    assert with_named_ground(board) is board
    assert understand(board).ground is None


def test_a_net_tie_joins_grounds_and_a_bead_to_a_rail_does_not() -> None:
    tie = part("NT1", PartKind.OTHER, "1=GND", "2=QUIET", note="NetTie_2")
    bead = part("FB1", PartKind.FERRITE, "1=GND", "2=VDDA")
    found = roles(tie, bead, chip("U1", "1=QUIET", "2=VDDA", "3=GND"))
    assert found["QUIET"] is Role.GROUND
    assert found["VDDA"] is Role.RAIL


def test_names_of_pins_are_asked_where_the_net_has_none() -> None:
    found = roles(
        chip("U1", "1:VDD=Net-(U1-Pad1)", "2:SDA=Net-(U1-Pad2)", "3:PA5/SPI1_SCK=Net-(U1-Pad3)"),
        connector("J1", "1=Net-(U1-Pad1)", "2=Net-(U1-Pad2)", "3=Net-(U1-Pad3)"),
    )
    expected = {"1": Role.RAIL, "2": Role.OPEN_DRAIN, "3": Role.CLOCK}
    assert found == {f"Net-(U1-Pad{number})": role for number, role in expected.items()}


def test_a_supply_pin_outweighs_an_enable_tied_to_it() -> None:
    found = roles(chip("U1", "1:EN=X", "2:VIN=X", "3=GND"), chip("U2", "1:CE=X", "2=GND"))
    assert found["X"] is Role.RAIL


def test_pins_called_a_pair_are_lanes_and_those_of_an_amplifier_are_not() -> None:
    found = roles(
        connector("J1", "1:D+=A", "2:D-=B", "3:IN+=C", "4:IN-=D"),
        chip("U1", "1=A", "2=B", "3=C", "4=D"),
    )
    assert found == {"A": Role.LANE, "B": Role.LANE, "C": Role.ANALOGUE, "D": Role.ANALOGUE}


@pytest.mark.parametrize(
    ("name", "role"),
    [("USB_DP", Role.LANE), ("/CSI_D0_N", Role.LANE), ("SPK+", Role.ANALOGUE), ("BAT+", None)],
)
def test_what_a_pair_is(name: str, role: Role | None) -> None:
    assert role_of_pair(name) is role


def test_series_capacitors_alike_make_a_pair() -> None:
    found = infer_roles(
        Board(
            "b",
            (
                connector("J1", "1=A", "2=B"),
                capacitor("C1", "A", "X"),
                capacitor("C2", "B", "Y"),
                chip("U1", "1=X", "2=Y"),
            ),
        )
    )
    assert {guess.role for guess in found.values()} == {Role.LANE}
    assert all("C1, C2 are alike" in guess.reason for guess in found.values())


def test_a_large_series_capacitor_couples_sound() -> None:
    found = roles(connector("J1", "1=A", "2=Q"), capacitor("C1", "A", "X", 1e-5), chip("U1", "1=X"))
    assert found["A"] is found["X"] is Role.ANALOGUE


def test_a_capacitor_between_two_pins_of_a_chip_is_no_lane() -> None:
    found = roles(chip("U1", "1=A", "2=B"), capacitor("C1", "A", "B"))
    assert found == {"A": Role.ANALOGUE, "B": Role.ANALOGUE}


def test_a_net_with_one_part_is_not_connected_on_a_whole_board_only() -> None:
    whole = Board("b", (chip("U1", "1=SIG", "2=GND"), resistor("R1", "GND", "X", 1e3)))
    assert infer_roles(whole)["SIG"].role is Role.NOT_CONNECTED
    notes, _ = read_chains("J4.1 > SIG")
    assert infer_roles(notes)["SIG"].role is not Role.NOT_CONNECTED


def test_numbered_lines_between_chips_are_a_bus() -> None:
    names = [f"MA{i}" for i in range(5)]
    pins = [f"{i}={name}" for i, name in enumerate(names)]
    assert set(roles(chip("U1", *pins), chip("U2", *pins)).values()) == {Role.LOGIC}


def test_a_divider_a_led_and_a_switching_node() -> None:
    found = roles(
        resistor("R1", "VCC", "FB_IN", 1e5),
        resistor("R2", "FB_IN", "GND", 1e4),
        chip("U1", "1=FB_IN", "2:SW=COIL_END", "3=GND"),
        part("L1", PartKind.INDUCTOR, "1=COIL_END", "2=VCC"),
        resistor("R3", "VCC", "ANODE", 1e3),
        part("D1", PartKind.DIODE, "1=GND", "2=ANODE"),
    )
    assert found["FB_IN"] is found["COIL_END"] is found["ANODE"] is Role.ANALOGUE


def test_a_rail_does_not_pass_the_resistor_of_a_led() -> None:
    found = roles(
        resistor("R3", "VCC", "Net-(D1-A)", 100.0),
        part("D1", PartKind.DIODE, "1=GND", "2=Net-(D1-A)"),
    )
    assert found["Net-(D1-A)"] is not Role.RAIL


@pytest.mark.parametrize(
    ("name", "role"),
    [
        ("TP_SCL_1V8", Role.OPEN_DRAIN),
        ("SYS_3V3", Role.RAIL),
        ("VDD_CAM_1V8", Role.RAIL),
        ("12Vext", Role.RAIL),
        ("/io/CTS2{slash}CANH", Role.LOGIC),
        ("BATT+", Role.RAIL),
    ],
)
def test_names_of_real_boards(name: str, role: Role) -> None:
    guess = role_from_name(name)
    assert guess is not None and guess.role is role


def test_what_was_understood_and_what_was_not() -> None:
    board = Board(
        "b",
        (
            chip("U1", "1=VSS", "2=Q", "3=P"),
            part("R1", PartKind.RESISTOR, "1=Q", "2=VSS", note="??"),
            part("XX1", PartKind.OTHER, "1=Q", "2=P"),
            Part("C9", PartKind.CAPACITOR, (Pin("1", "Q"), Pin("2", "P")), fitted=False),
        ),
    )
    found = understand(board)
    assert found.ground == "VSS" and found.board.role("GND") is Role.GROUND
    assert found.unread == ("R1",)
    assert found.not_fitted == ("C9",)
    assert set(found.doubtful) == {"XX1"}
    assert found.kinds[PartKind.CHIP] == 1 and found.kinds[PartKind.CAPACITOR] == 0
    assert sum(found.roles.values()) == len(found.board.nets)
