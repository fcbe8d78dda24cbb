"""Chains: what they join, what their mistakes say, and what they add to a sketch."""

from __future__ import annotations

from pathlib import Path

import pytest

from nextprobe.board import GROUND, Board, PartKind, PinRow, PinTable, Role, sketch_from_pinout
from nextprobe.errors import Finding, Severity
from nextprobe.readers import read_chains, write_chains

CAMERA = """\
board Courier handheld
J4.12 > C87 100n > U3.AB4          # lane
J4.30 > FB2 600R > VDD_CAM > U7.OUT
U3.AB4 | D5 esd > GND | R9 10k > VDD_IO | C12 1u
part U3 chip main processor
net VDD_IO rail
role VDD_CAM rail
supply U3.AB4 VDD_IO
at C87 12.1 3.4
"""


def board_of(text: str) -> Board:
    board, findings = read_chains(text)
    assert not [f for f in findings if f.severity is not Severity.NOTE], list(map(str, findings))
    return board


def only_finding(text: str) -> Finding:
    _, findings = read_chains(text)
    assert len(findings) == 1, list(map(str, findings))
    return findings[0]


def nets(board: Board) -> dict[str, set[str]]:
    return {name: set(net.pins) for name, net in board.nets.items()}


def test_a_chain_joins_pins_and_parts() -> None:
    board = board_of(CAMERA)
    assert board.name == "Courier handheld"
    assert nets(board) == {
        "N_J4_12": {"J4.12", "C87.1"},
        "N_U3_AB4": {"C87.2", "U3.AB4", "D5.1", "R9.1", "C12.1"},
        "N_J4_30": {"J4.30", "FB2.1"},
        "VDD_CAM": {"FB2.2", "U7.OUT"},
        "VDD_IO": {"R9.2"},
        GROUND: {"D5.2", "C12.2"},
    }


def test_parts_get_kind_value_note_and_place() -> None:
    board = board_of(CAMERA)
    assert board.part("C87").value == pytest.approx(100e-9)
    assert board.part("C87").position == pytest.approx((12.1e-3, 3.4e-3))
    assert board.part("FB2").kind is PartKind.FERRITE
    assert board.part("D5").kind is PartKind.PROTECTION
    assert board.part("U3").note == "main processor"
    assert board.part("U3").pin("AB4").supply == "VDD_IO"
    assert board.role("VDD_IO") is board.role("VDD_CAM") is Role.RAIL


def test_writing_is_short_and_reads_back() -> None:
    board = board_of(CAMERA)
    text = write_chains(board)
    assert "J4.12 > C87 100n > U3.AB4\n" in text
    assert "U3.AB4 | D5 esd\n" in text
    assert "U3.AB4 | R9 10k > VDD_IO\n" in text
    assert write_chains(board_of(text)) == text


@pytest.mark.parametrize("arrow", [">", "->", "→", " > "])
def test_arrows(arrow: str) -> None:
    assert nets(board_of(f"J4.12{arrow}U3.AB4")) == {"N_J4_12": {"J4.12", "U3.AB4"}}


def test_people_type_in_lower_case() -> None:
    assert nets(board_of("j4.12 > c87 100n > gnd")) == {
        "N_J4_12": {"J4.12", "C87.1"},
        GROUND: {"C87.2"},
    }


def test_a_hanging_chain_of_several_parts_ends_on_ground() -> None:
    board = board_of("U3.A1 | R1 10k > C1 1n")
    assert nets(board)["N_R1_2"] == {"R1.2", "C1.1"}
    assert nets(board)[GROUND] == {"C1.2"}


def test_a_chain_ends_in_a_part_to_hang_on() -> None:
    assert nets(board_of("J4.1 > FB2 600R | C1 1u"))["N_FB2_2"] == {"FB2.2", "C1.1"}


def test_test_points_have_one_pin() -> None:
    assert nets(board_of("J4.1 > TP3 > U3.A1 | TP4")) == {
        "N_J4_1": {"J4.1", "TP3.1", "U3.A1", "TP4.1"}
    }


def test_a_part_may_be_passed_again_from_either_side() -> None:
    board = board_of("J4.12 > C87 100n\nC87 > U3.AB4\nU3.AB4 > C87 > J4.12")
    assert nets(board) == {"N_J4_12": {"J4.12", "C87.1"}, "N_U3_AB4": {"C87.2", "U3.AB4"}}


def test_quotes_hold_any_name() -> None:
    board = board_of('J4.1 > "D0" > U3.A1\nJ4.2 > "a > b | #c" > U3."x y"')
    assert set(board.nets) == {"D0", "a > b | #c"}
    assert board.part("U3").pin("x y").net == "a > b | #c"


def test_declared_nets_may_look_like_parts() -> None:
    assert set(board_of("J4.1 > D0 > U3.A1\nnet D0").nets) == {"D0"}


def test_a_part_that_is_not_fitted_joins_nothing() -> None:
    board, findings = read_chains("J4.44 > R50 NA(2k/1%) > U3.B1")
    assert "R50" not in board.by_reference
    assert set(board.nets) == {"N_J4_44", "N_U3_B1"}
    assert [f.severity for f in findings] == [Severity.NOTE]


def test_pins_are_in_the_order_of_their_numbers_unless_stated() -> None:
    board = board_of("RN1.10 > J4.1\nRN1.2 > J4.2\nQ3.3 > J4.3\nQ3.1 > J4.4\npins Q3 3 1")
    assert [pin.number for pin in board.part("RN1").pins] == ["2", "10"]
    assert [pin.number for pin in board.part("Q3").pins] == ["3", "1"]


def test_a_made_up_name_evades_a_given_one() -> None:
    board = board_of("J4.1 > R1 1k > N_J4_1 > U3.A1")
    assert nets(board) == {"N_J4_1_": {"J4.1", "R1.1"}, "N_J4_1": {"R1.2", "U3.A1"}}


MISTAKES = [
    ("J4.13 > > U3.A1", 9, "missing next to", "delete"),
    ("J4.13 >", 7, "missing next to", "delete"),
    ("> U3.A1", 1, "nothing stands before", "start with"),
    ("U3 > J4.1", 1, "U3 has many pins", "U3.1"),
    ("J4.12 U3.AB4", 7, "can not describe a pin", "put a >"),
    ("rol VDD_CAM rail", 1, "no part", "did you mean role?"),
    ("net VDD_CAM rial", 13, "no role", "did you mean rail?"),
    ("part U9 chp", 9, "no kind of part", "did you mean chip?"),
    ('J4.30 > "abc', 9, "never closed", 'add a "'),
    ("part U9", 1, "too little", "part U3 chip"),
    ("at C87 12 3", 4, "no chain has a part C87", "chain first"),
    ("C1 1n > GND\nat C1 12 x", 10, "no position", "at C87"),
    ("J4.1 > C87 1n > GND\nvalue C78 1n", 7, "no chain has a part C78", "did you mean C87?"),
    ("J4.1 > C1 1n > GND\nvalue C1 1k", 10, "farad", "write one value"),
    ("J4.1 > VDD_IO > GND", 17, "would join VDD_IO and GND", "correct"),
    ("J4.1 > C1 1n > U3.A1\nJ4.2 > C1 > U3.A1", 8, "stands between other", "C1.1"),
    ("U3.A1 | J4.1", 9, "only parts hang", "write >"),
    ('J4.1 > "a.b".2', 8, "without a dot", "quote a net"),
    ("part U3.A1 chip", 6, "without a dot", "part U3 chip"),
    ("J4. > U3.A1", 1, "pin of J4 is missing", "J4.1"),
    ("J4.1 > ZZ3.4", 8, "any kind of part", "part ZZ3 chip"),
    ("J4.1 > U3.A1 > VIO\nsupply U3.A2 VIO", 8, "no chain has a pin U3.A2", "did you mean U3.A1?"),
    ("J4.1 > U3.A1\npins U3 A1 B1", 12, "no chain has a pin U3.B1", "chain first"),
    ("J4.1 > R1 472 > U3.A1", 11, "marking", "write one value"),
    ("J4.1 > R1 1k > U3.A1\nJ4.1 > R1 2k > U3.A1", 11, "was '1k' before", "delete one"),
    ("J4.1 > U3.A1\nrole VDD_CAN rail", 6, "no chain has a net", "declare it"),
]


@pytest.mark.parametrize(("text", "column", "what", "remedy"), MISTAKES)
def test_mistakes_are_pointed_at(text: str, column: int, what: str, remedy: str) -> None:
    finding = only_finding(text)
    assert (finding.where.line, finding.where.column) == (text.count("\n") + 1, column)
    assert what in finding.what
    assert remedy in finding.remedy


def test_a_slip_in_a_net_name_is_pointed_out() -> None:
    finding = only_finding("J4.1 > VDD_CAM > U3.A1\nJ4.2 > VDD_CAN")
    assert finding.severity is Severity.WARNING
    assert (finding.where.line, finding.where.column) == (2, 8)
    assert finding.remedy == "did you mean VDD_CAM?"


@pytest.mark.parametrize("other", ["CAM_D1", "CAM_DP", "CAM_X0_LONG"])
def test_names_that_differ_on_purpose_are_left_alone(other: str) -> None:
    read = read_chains(f"J4.1 > CAM_D0 > U3.A1\nJ4.2 > CAM_DN > U3.A2\nJ4.3 > {other}")
    assert not read[1]


def test_the_rest_is_read_after_a_mistake() -> None:
    board, findings = read_chains("J4.1 > > U3.A1\nJ4.2 > U3.A2")
    assert len(findings) == 1
    assert nets(board) == {"N_J4_2": {"J4.2", "U3.A2"}}


def pinout() -> PinTable:
    names = {"1": "GND", "11": "", "12": "", "13": "CAM_SDA", "30": "VDD_CAM"}
    return PinTable(tuple(PinRow("J4", pin, name, 0.45) for pin, name in names.items()))


def test_chains_are_added_to_a_sketch() -> None:
    sketch = sketch_from_pinout(pinout(), "sketch")
    board, findings = read_chains("J4.12 > C87 100n > U3.AB4\nJ4.13 > U3.B1", onto=sketch)
    assert not findings
    assert board.name == "sketch"
    assert nets(board) == {
        GROUND: {"J4.1"},
        "N_J4_11": {"J4.11", "U?J4.11"},
        "N_J4_12": {"J4.12", "C87.1"},
        "N_U3_AB4": {"C87.2", "U3.AB4"},
        "CAM_SDA": {"J4.13", "U3.B1"},
        "VDD_CAM": {"J4.30", "U?J4.30"},
    }
    assert board.role("CAM_SDA") is Role.OPEN_DRAIN


def test_a_stand_in_keeps_its_rail_behind_a_ferrite() -> None:
    sketch = sketch_from_pinout(pinout(), "sketch")
    board, _ = read_chains("J4.30 > FB2 600R > U7.OUT", onto=sketch)
    assert nets(board)["VDD_CAM"] == {"J4.30", "U?J4.30", "FB2.1"}


def test_a_stand_in_goes_with_its_last_pin() -> None:
    sketch = sketch_from_pinout(PinTable((PinRow("J4", "1"), PinRow("J4", "2"))), "sketch")
    board, _ = read_chains("J4.1 > U3.A1\nJ4.2 > U3.A2", onto=sketch)
    assert "U?J4" not in board.by_reference


def test_a_given_name_takes_over_from_one_that_was_made_up() -> None:
    sketch = sketch_from_pinout(pinout(), "sketch").with_roles({"N_J4_11": Role.CLOCK})
    board, _ = read_chains("J4.11 > CAM_CLK", onto=sketch)
    assert "N_J4_11" not in board.nets
    assert board.role("CAM_CLK") is Role.CLOCK


def test_a_sketch_survives_as_chains() -> None:
    sketch = sketch_from_pinout(pinout(), "sketch")
    again = board_of(write_chains(sketch))
    assert nets(again) == nets(sketch)
    assert again.part("U?J4") == sketch.part("U?J4")
    assert dict(again.roles) == dict(sketch.roles)


def test_several_chain_texts_add_up() -> None:
    first = board_of("J4.12 > C87 100n > U3.AB4")
    board, findings = read_chains("N_U3_AB4 | D5 esd\nC87 > U3.AB4", onto=first)
    assert not findings
    assert nets(board)["N_U3_AB4"] == {"C87.2", "U3.AB4", "D5.1"}


def test_the_example_of_the_manual_is_read_without_a_finding() -> None:
    manual = (Path(__file__).parents[2] / "docs" / "chains.md").read_text(encoding="utf-8")
    board = board_of(manual.split("```")[1])
    assert board.nets["VDD_CAM"].pins == ("FB2.2", "U7.OUT", "C12.1")


def test_a_point_that_was_only_looked_at_is_no_pin() -> None:
    board, findings = read_chains("X > C87\nJ4.12 > C87 > U3.AB4\n")
    assert "U3" not in board.by_reference
    assert any("between other points" in finding.what for finding in findings)
