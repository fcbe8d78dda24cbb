"""Roles of nets from names, neighbours and pins; kinds of parts from designators."""

from __future__ import annotations

import pytest

from nextprobe.board import Role, infer_roles, kind_from_designator, with_inferred_roles
from nextprobe.board.kinds import PartKind
from nextprobe.board.net_names import partner_of, role_from_name
from nextprobe.readers import read_chains

NAMES = {
    Role.GROUND: "GND AGND DGND VSS 0V",
    Role.RAIL: "VDD_CAM 1V8 +3V3 3.3V VCC_MAIN VBAT VBUS VPH_PWR AVDD28 DVDD_1P2 IOVDD VDD1V8",
    Role.CORE_RAIL: "VDD_CPU VCORE VDD_CORE VDD_GPU",
    Role.OPEN_DRAIN: "CAM_SDA I2C1_SCL /cam/SDA",
    Role.CLOCK: "MCLK CAM_CLK XTAL_IN SPI_SCK",
    Role.LOGIC: "RESET_N CAM_RST VDD_EN PMIC_INT GPIO12 UART_TX XSHUTDOWN LCD_TE",
    Role.ANALOGUE: "VBAT_SENSE MIC_BIAS VREF BAT_NTC SPK_P",
    Role.RADIO: "ANT1 RF_IN",
    Role.NOT_CONNECTED: "NC N/C unconnected-(U1-Pad3)",
}


@pytest.mark.parametrize(
    ("name", "role"), [(name, role) for role, names in NAMES.items() for name in names.split()]
)
def test_names(name: str, role: Role) -> None:
    guess = role_from_name(name)
    assert guess is not None and guess.role is role


@pytest.mark.parametrize("name", ["N_J4_12", "Net-(C1-Pad1)", "FOO", "", "P12"])
def test_names_that_say_nothing(name: str) -> None:
    assert role_from_name(name) is None


@pytest.mark.parametrize(
    ("name", "partner"),
    [("CSI_D0_P", "CSI_D0_N"), ("USB_DM", "USB_DP"), ("lane_n", "lane_p"), ("D0+", "D0-")],
)
def test_partners(name: str, partner: str) -> None:
    assert partner_of(name) == partner
    assert partner_of(partner) == name


@pytest.mark.parametrize("name", ["VDD_CAM", "STEP", "RESET", "N_J4_12", ""])
def test_names_without_a_partner(name: str) -> None:
    assert partner_of(name) is None


def roles(text: str) -> dict[str, Role]:
    return {net: guess.role for net, guess in infer_roles(read_chains(text)[0]).items()}


def test_a_stated_role_is_certain() -> None:
    board, _ = read_chains("J4.1 > CAM_SDA > U3.A1\nrole CAM_SDA clock")
    guess = infer_roles(board)["CAM_SDA"]
    assert (guess.role, guess.confidence) == (Role.CLOCK, 1.0)


def test_a_pull_up_supports_an_open_drain() -> None:
    with_pull_up, _ = read_chains("J4.1 > CAM_SDA > U3.A1 | R1 2k2 > VDD_IO")
    without, _ = read_chains("J4.1 > CAM_SDA > U3.A1")
    first, second = (infer_roles(board)["CAM_SDA"] for board in (with_pull_up, without))
    assert first.role is second.role is Role.OPEN_DRAIN
    assert first.confidence > second.confidence


def test_a_pull_up_alone_suggests_one() -> None:
    assert roles("J4.1 > U3.A1 | R1 10k > VDD_IO")["N_J4_1"] is Role.OPEN_DRAIN


def test_a_pull_down_does_not() -> None:
    assert roles("J4.1 > U3.A1 | R1 10k")["N_J4_1"] is Role.UNKNOWN


def test_a_pair_is_a_lane_on_both_sides_of_its_capacitors() -> None:
    found = roles("CAM_D_P > C1 100n > U3.A1\nCAM_D_N > C2 100n > U3.A2\nJ4.1 > CAM_D_P")
    assert set(found.values()) == {Role.LANE}


def test_a_series_capacitor_alone_suggests_a_lane() -> None:
    found = roles("J4.1 > C1 100n > U3.A1")
    assert found == {"N_J4_1": Role.LANE, "N_U3_A1": Role.LANE}


def test_a_crystal_makes_a_clock() -> None:
    assert roles("U3.A1 > Y1 > U3.A2") == {"N_U3_A1": Role.CLOCK, "N_U3_A2": Role.CLOCK}


def test_capacitors_to_ground_make_a_rail() -> None:
    assert roles("U3.A1 | C1 1u | C2 1u | C3 100n")["N_U3_A1"] is Role.RAIL


def test_a_rail_passes_a_ferrite_but_no_resistor_of_a_divider() -> None:
    found = roles("VDD_IO > FB1 600R > U3.A1\nVDD_IO > R1 100k > U3.A2")
    assert found["N_U3_A1"] is Role.RAIL
    assert found["N_U3_A2"] is not Role.RAIL


def test_names_of_pins_are_asked_and_numbers_of_balls_are_not() -> None:
    found = roles("J4.1 > U3.RESET\nJ4.2 > U3.D5")
    assert found == {"N_J4_1": Role.LOGIC, "N_J4_2": Role.UNKNOWN}


def test_what_nothing_tells_is_listed_as_unknown() -> None:
    guess = infer_roles(read_chains("J4.1 > U3.A1")[0])["N_J4_1"]
    assert (guess.role, guess.confidence) == (Role.UNKNOWN, 0.0)


def test_inferred_roles_are_put_on_the_board() -> None:
    board = with_inferred_roles(read_chains("J4.1 > CAM_SDA > U3.A1\nJ4.2 > U3.A2\nJ4.3 > GND")[0])
    assert dict(board.roles) == {"CAM_SDA": Role.OPEN_DRAIN}


@pytest.mark.parametrize(
    ("reference", "note", "kind"),
    [
        ("D5", "esd", PartKind.PROTECTION),
        ("D5", "TVS 5V", PartKind.PROTECTION),
        ("D5", "led white", PartKind.DIODE),
        ("L3", "600R@100MHz", PartKind.FERRITE),
        ("L3", "ferrite", PartKind.FERRITE),
        ("L3", "2.2uH", PartKind.INDUCTOR),
        ("VR1", "ldo", PartKind.CHIP),
        ("R12A", "", PartKind.RESISTOR),
        ("U?J4", "", PartKind.CHIP),
        ("ZZ1", "", None),
        ("GND", "", None),
        ("r5", "", None),
    ],
)
def test_kinds_from_designators_and_words(reference: str, note: str, kind: PartKind) -> None:
    assert kind_from_designator(reference, note) is kind
