"""Pinouts as people type and paste them."""

from __future__ import annotations

import pytest

from nextprobe.board import OVER_RANGE, Role
from nextprobe.errors import Severity
from nextprobe.readers import read_pins
from nextprobe.readers.spreadsheet import separator_of


def rows(text: str, connector: str = "J4") -> list[tuple[object, ...]]:
    pinout, findings = read_pins(text, connector)
    assert not findings, list(map(str, findings))
    return [(row.point, row.name, row.good, row.role) for row in pinout.rows]


@pytest.mark.parametrize(
    ("line", "row"),
    [
        ("12 452", ("J4.12", "", 0.452, None)),
        ("12 .452", ("J4.12", "", 0.452, None)),
        ("12 OL", ("J4.12", "", OVER_RANGE, None)),
        ("12 gnd", ("J4.12", "", None, Role.GROUND)),
        ("12 nc", ("J4.12", "", None, Role.NOT_CONNECTED)),
        ("J5.12 452", ("J5.12", "", 0.452, None)),
        ("12 CAM_SDA 452", ("J4.12", "CAM_SDA", 0.452, None)),
        ("12 452 CAM_SDA", ("J4.12", "CAM_SDA", 0.452, None)),
        ("12 CAM_SDA", ("J4.12", "CAM_SDA", None, None)),
        ("12 0,452 V", ("J4.12", "", 0.452, None)),
        ("12 452 mV  # shaky", ("J4.12", "", 0.452, None)),
        ("12\tCAM CLK\t452", ("J4.12", "CAM CLK", 0.452, None)),
        ("12;CAM_SDA;0,452 V", ("J4.12", "CAM_SDA", 0.452, None)),
        ("12,CAM_SDA,0.452", ("J4.12", "CAM_SDA", 0.452, None)),
        ('12,"CAM, SDA",0.452', ("J4.12", "CAM, SDA", 0.452, None)),
        ("A1 452", ("J4.A1", "", 0.452, None)),
        ("pin 12 452", ("J4.12", "", 0.452, None)),
        ("12", ("J4.12", "", None, None)),
    ],
)
def test_lines_as_people_type_them(line: str, row: tuple[object, ...]) -> None:
    assert rows(line) == [row]


@pytest.mark.parametrize(
    "text",
    [
        "pin;name;reading\n2;CAM_SDA;0,452 V",
        "reading,name,pin\n.452,CAM_SDA,2",
        "pin\tname\treading [mV]\n2\tCAM_SDA\t452",
        "Pin,Signal,Diode mode (V)\n2,CAM_SDA,0.452",
        "pin name mV\n2 CAM_SDA 452",
        "pin name reading mV\n2 CAM_SDA 452",
        "\ufeffpin,name,reading,note\r\n2,CAM_SDA,452,shaky\r\n",
        "connector,pin,name,good\nJ4,2,CAM_SDA,452",
    ],
)
def test_headings(text: str) -> None:
    assert rows(text) == [("J4.2", "CAM_SDA", 0.452, None)]


def test_a_column_of_roles() -> None:
    pinout, findings = read_pins("pin,name,role\n1,X,open drain\n2,Y,opn drain")
    assert [row.role for row in pinout.rows] == [Role.OPEN_DRAIN, None]
    assert findings[0].remedy == "write open drain"


@pytest.mark.parametrize(
    ("lines", "separator"),
    [
        (["1 0,452", "2 0,389"], " "),
        (["1,452", "2,389"], ","),
        (["1, 452", "2, 389"], ","),
        (["1;0,452", "2;OL"], ";"),
        (["1\t0,452", "2\tOL"], "\t"),
        ([], " "),
    ],
)
def test_separators(lines: list[str], separator: str) -> None:
    assert separator_of(lines) == separator


@pytest.mark.parametrize(
    ("line", "what"),
    [
        ("12 452 V", "too much"),
        ("12 452 ohm", "ohms"),
        ("12 -0.3", "negative"),
        ("12 1.", "lone 1"),
        ("hello 452", "not a pin"),
    ],
)
def test_trouble_has_a_line_and_a_remedy(line: str, what: str) -> None:
    _, findings = read_pins(f"1 450\n{line}\n2 451", "J4")
    assert len(findings) == 1
    assert what in findings[0].what
    assert findings[0].where.line == 2 and findings[0].remedy


def test_a_pin_with_a_reading_that_can_not_be_is_still_a_pin() -> None:
    pinout, _ = read_pins("12 CAM_SDA 452 V", "J4")
    assert pinout.by_point["J4.12"].good is None


def test_pins_that_are_there_twice() -> None:
    pinout, findings = read_pins("12 452\n12 500\n12 452", "J4")
    assert pinout.by_point["J4.12"].good == 0.452
    assert [finding.severity for finding in findings] == [Severity.ERROR, Severity.NOTE]
    assert [finding.where.line for finding in findings] == [2, 3]
