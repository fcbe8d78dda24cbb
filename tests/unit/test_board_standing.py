"""Pads of parts of which only the place is known."""

from __future__ import annotations

import numpy as np

from nextprobe.board import Board, Part, PartKind, Pin
from nextprobe.board.geometry import Pad
from nextprobe.board.standing import standing_pads
from nextprobe.job.shelf import shelf_from

PASSIVE = Part("R1", PartKind.RESISTOR, (Pin("1", "A"), Pin("2", "B")), position=(0.01, 0.02))


def part(reference: str, kind: PartKind, pins: list[str], place: tuple[float, float]) -> Part:
    return Part(reference, kind, tuple(Pin(pin, f"N{pin}") for pin in pins), position=place)


def places(board: Board) -> dict[str, np.ndarray]:
    return {name: np.array(pad.position) for name, pad in standing_pads(board).items()}


def test_two_pins_lie_beside_the_centre() -> None:
    found = places(Board("one", (PASSIVE,), {}))
    assert list(found) == ["R1.1", "R1.2"]
    assert np.allclose((found["R1.1"] + found["R1.2"]) / 2.0, (0.01, 0.02))
    assert found["R1.1"][0] < found["R1.2"][0]


def test_balls_lie_by_row_and_column() -> None:
    chip = part("U1", PartKind.CHIP, ["A1", "A2", "B1", "AA2"], (0.0, 0.0))
    found = places(Board("one", (chip,), {}))
    assert found["U1.A1"][1] == found["U1.A2"][1] < found["U1.B1"][1] < found["U1.AA2"][1]
    assert found["U1.A1"][0] == found["U1.B1"][0] < found["U1.A2"][0]


def test_a_connector_has_odd_and_even_pins_in_two_rows() -> None:
    pins = [str(number) for number in range(1, 7)]
    found = places(Board("one", (part("J1", PartKind.CONNECTOR, pins, (0.0, 0.0)),), {}))
    assert len({found[f"J1.{pin}"][1] for pin in ("1", "3", "5")}) == 1
    assert found["J1.1"][0] == found["J1.2"][0] < found["J1.3"][0]
    assert found["J1.1"][1] != found["J1.2"][1]


def test_what_is_known_stays_and_what_has_no_place_gets_none() -> None:
    nowhere = Part("R2", PartKind.RESISTOR, (Pin("1", "A"), Pin("2", "B")))
    known = Pin("1", "A", pads=(Pad((0.0, 0.0), (1e-3, 1e-3)),))
    measured = Part("R3", PartKind.RESISTOR, (known, Pin("2", "B")), position=(0.0, 0.0))
    assert standing_pads(Board("one", (nowhere, measured), {})) == {}


def test_no_pads_of_different_parts_cover_each_other_on_the_demo_boards() -> None:
    for name in ("courier-handheld", "ferry-terminal", "field-recorder"):
        board = shelf_from(name)[0].board
        assert board is not None
        pads = standing_pads(board)
        owner = np.array([pin.partition(".")[0] for pin in pads])
        at = np.array([pad.position for pad in pads.values()])
        half = np.array([pad.size for pad in pads.values()]) / 2.0
        apart = np.abs(at[:, None] - at[None]) - (half[:, None] + half[None])
        covered = (apart < 0.0).all(axis=-1) & (owner[:, None] != owner[None])
        pairs = sorted({(str(owner[i]), str(owner[j])) for i, j in np.argwhere(covered)})
        assert len(pads) == sum(len(part.pins) for part in board.parts)
        assert not pairs, pairs[:6]
