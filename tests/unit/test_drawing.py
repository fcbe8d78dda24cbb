"""What stands on a map, and where."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from nextprobe.board import Board, Pad, Part, PartKind, Pin, Role, Side
from nextprobe.drawing import board_map
from nextprobe.drawing.frame import Box, Frame
from nextprobe.drawing.marks import MARKS
from nextprobe.errors import MisuseError

NAMESPACE = {"s": "http://www.w3.org/2000/svg"}
BOX = Box(0.0, 0.0, 0.04, 0.03)


def pad(x: float, y: float, side: Side = Side.FRONT) -> Pad:
    return Pad((x, y), (1e-3, 1e-3), side)


def board() -> Board:
    front = Part(
        "R1", PartKind.RESISTOR,
        (Pin("1", "VDD", pads=(pad(0.01, 0.01),)), Pin("2", "SIG<1>", pads=(pad(0.016, 0.01),))),
        side=Side.FRONT,
    )  # fmt: skip
    back = Part("U9", PartKind.CHIP, (Pin("1", "SIG<1>", pads=(pad(0.03, 0.02, Side.BACK),)),))
    hole = Part("J1", PartKind.CONNECTOR, (Pin("1", "GND", pads=(pad(0.02, 0.02, Side.BOTH),)),))
    edge = ((0.0, 0.0), (0.04, 0.0), (0.04, 0.03), (0.0, 0.03), (0.0, 0.0))
    return Board("b", (front, back, hole), {"VDD": Role.RAIL, "SIG<1>": Role.LOGIC}, (edge,))


def side(picture: str, name: str) -> ElementTree.Element:
    found = ElementTree.fromstring(picture).find(f"s:g[@id='side-{name}']", NAMESPACE)
    assert found is not None
    return found


def titles(group: ElementTree.Element) -> set[str]:
    pads = group.findall("s:g/s:rect/s:title", NAMESPACE)
    return {title.text or "" for title in pads}


def test_each_side_has_the_pads_that_can_be_touched_from_there() -> None:
    picture = board_map(board())
    assert titles(side(picture, "front")) == {
        "R1.1: VDD, rail", "R1.2: SIG<1>, logic", "J1.1: GND, ground"
    }  # fmt: skip
    assert titles(side(picture, "back")) == {"U9.1: SIG<1>, logic", "J1.1: GND, ground"}


def test_the_back_is_mirrored() -> None:
    front, back = Frame(Side.FRONT, BOX, 5.0, 7.0), Frame(Side.BACK, BOX, 5.0, 7.0)
    assert front.place((0.01, 0.02)) == pytest.approx((15.0, 27.0))
    assert back.place((0.01, 0.02)) == pytest.approx((35.0, 27.0))
    assert front.turn(30.0) == -30.0 and back.turn(30.0) == 30.0


def test_every_role_has_a_sign_of_its_own() -> None:
    assert set(MARKS) == set(Role)
    assert len({mark.sign for mark in MARKS.values()}) == len(MARKS)
    assert len({mark.name for mark in MARKS.values()}) == len(MARKS)


def luminance(colour: str) -> float:
    """Relative luminance of a colour: WCAG 2.2, "relative luminance"."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_signs_stand_out_from_their_copper() -> None:
    """WCAG 2.2, success criterion 1.4.11: 3 to 1 for graphical objects."""
    for mark in MARKS.values():
        if mark.fill != "none":
            first, second = sorted((luminance(mark.fill), luminance(mark.ink)))
            assert (second + 0.05) / (first + 0.05) >= 3.0, mark.name


def test_a_highlighted_net_stands_out_and_the_rest_is_faint() -> None:
    picture = board_map(board(), "SIG<1>")
    front = side(picture, "front")
    assert len(front.findall("s:circle[@class='ring']", NAMESPACE)) == 1
    faint = [g for g in front.findall("s:g", NAMESPACE) if "faint" in g.attrib["class"]]
    assert len(faint) == 2
    assert "shown: net SIG&lt;1&gt;, logic" in picture


def test_a_part_can_be_highlighted_and_an_unknown_name_is_misuse() -> None:
    assert "shown: part R1, resistor" in board_map(board(), "R1")
    with pytest.raises(MisuseError, match="no pin or net NIL"):
        board_map(board(), "NIL")


def test_the_legend_counts_the_nets_of_each_role() -> None:
    picture = board_map(board())
    assert re.findall(r">([a-z ]+)<tspan[^>]*>  (\d+) net", picture) == [
        ("ground", "1"), ("rail", "1"), ("logic", "1")
    ]  # fmt: skip
    assert " mm</text>" in picture
    assert "prefers-color-scheme:dark" in picture


def test_designators_stand_where_they_fit_and_hide_no_pad() -> None:
    def words(group: ElementTree.Element) -> list[str]:
        return [text.text or "" for text in group.findall("s:text[@class='name']", NAMESPACE)]

    assert words(side(board_map(board()), "front")) == ["R1", "J1"]


def test_a_part_that_is_not_fitted_is_dashed() -> None:
    bare = board()
    absent = bare.with_parts([Part("R1", PartKind.RESISTOR, bare.part("R1").pins, fitted=False)])
    assert 'class="body absent"' in board_map(absent)
    assert 'class="body absent"' not in board_map(bare)


def test_without_an_edge_the_board_is_dashed() -> None:
    bare = board()
    assert 'class="board unsure"' in board_map(Board("b", bare.parts, bare.roles))
