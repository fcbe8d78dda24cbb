"""The board itself: points, places, parts that are not fitted, and what its hash depends on."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from nextprobe.board import Board, Pad, Part, PartKind, Pin, Role, Side
from nextprobe.circuit.enumerate import enumerate_faults
from nextprobe.errors import MisuseError
from nextprobe.readers import read_chains, write_chains
from nextprobe.workbench.board_json import board_from_json, board_to_json

EDGE = (((0.0, 0.0), (0.01, 0.0), (0.01, 0.02), (0.0, 0.0)),)


def placed() -> Board:
    pads = (Pad((1e-3, 2e-3), (1e-3, 5e-4), Side.FRONT, 90.0, True), Pad((0.0, 0.0), (1e-4, 1e-4)))
    resistor = Part(
        "R1", PartKind.RESISTOR, (Pin("1", "A", None, "in", pads), Pin("2", "GND")), 100.0, "100R",
        (1e-3, 2e-3), side=Side.BACK, rotation=90.0, outline=((0.0, 0.0), (1e-3, 1e-3)),
    )  # fmt: skip
    left_out = replace(resistor, reference="R2", fitted=False)
    chip = Part("U1", PartKind.CHIP, (Pin("1", "A", "VDD", "SDA"),))
    return Board("b", (resistor, left_out, chip), {"A": Role.LOGIC}, EDGE)


def test_a_board_with_places_survives_json() -> None:
    board = placed()
    assert board_from_json(json.loads(json.dumps(board_to_json(board)))) == board


def test_a_board_without_places_is_written_as_ever() -> None:
    board = Board("b", (Part("R1", PartKind.RESISTOR, (Pin("1", "A", "VDD"),)),))
    assert board_to_json(board) == {
        "name": "b",
        "parts": [
            {
                "reference": "R1", "kind": "resistor", "pins": [["1", "A", "VDD"]],
                "value": None, "note": "", "position": None, "implied": False,
            }
        ],
        "roles": [],
    }  # fmt: skip


def test_the_hash_of_kept_tables_is_what_it_was() -> None:
    one = Part("R1", PartKind.RESISTOR, (Pin("1", "A"),), 100.0, "100R")
    two = Part("U1", PartKind.CHIP, (Pin("1", "A", "VDD"), Pin("2", "GND")), implied=True)
    none = Part("TP1", PartKind.TEST_POINT, ())
    board = Board("b", (one, two, none), {"A": Role.LOGIC})
    assert board.content == "3a72f508e7ae58a7906a17dd9ac02d9e2a0c9ad039288b92e0853a2ad24fd894"


def test_places_do_not_change_the_hash_and_fitting_does() -> None:
    board = placed()
    bare = [
        replace(
            part, position=None, side=None, rotation=0.0, outline=(),
            pins=tuple(Pin(pin.number, pin.net, pin.supply) for pin in part.pins),
        )
        for part in board.parts
    ]  # fmt: skip
    assert Board("b", tuple(bare), board.roles).content == board.content
    fitted = replace(board, parts=tuple(replace(part, fitted=True) for part in board.parts))
    assert fitted.content != board.content


def test_a_part_that_is_not_fitted_has_pads_and_no_faults() -> None:
    board = placed()
    assert board.net_of("R2.1") == "A"
    assert "R2" not in {part.reference for part, _ in board.parts_on("A")}
    assert not any(fault.place.startswith("R2") for fault in enumerate_faults(board))
    assert "R2" not in write_chains(board)


def test_chains_added_to_a_board_keep_its_places() -> None:
    grown, findings = read_chains("U1.1 > R9 10k > VDD_X", onto=placed())
    assert not findings and grown.outline == EDGE
    assert grown.part("R1") == placed().part("R1")
    assert grown.part("U1").pin("1").function == "SDA"
    assert not grown.part("R2").fitted


def test_a_pin_is_where_its_largest_pad_is() -> None:
    pin = placed().part("R1").pin("1")
    assert (pin.position, pin.side) == ((1e-3, 2e-3), Side.FRONT)
    both = replace(pin, pads=(pin.pads[0], Pad((0.0, 0.0), (1e-4, 1e-4), Side.BACK)))
    assert both.side is Side.BOTH
    assert (Pin("1", "A").position, Pin("1", "A").side) == (None, None)


def test_parts_named_twice_are_misuse() -> None:
    part = Part("R1", PartKind.RESISTOR, ())
    with pytest.raises(MisuseError, match="R1"):
        Board("b", (part, part))


def test_a_point_that_is_not_there_is_misuse() -> None:
    with pytest.raises(MisuseError, match=r"no pin or net J9\.1"):
        placed().net_of("J9.1")
