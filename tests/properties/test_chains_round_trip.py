"""Boards written as chains read back as the same boards, whatever they are called."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from nextprobe.board import Board, Part, PartKind, Pin, Role, kind_from_designator
from nextprobe.readers import read_chains, write_chains

PASSIVES = ("R", "C", "L", "FB", "D", "F", "Y", "TP", "SW")
OTHERS = ("U", "J", "Q", "RN", "FL", "U?J", "XQ", "r", "Part ")
NOTES = (
    *("", "100n", "4k7", "600R@100MHz", "esd", "DNP", "NA(2k/1%)", "22pF 50V C0G", "mystery 7"),
    *("led", "a > b | c", 'say "so"', "# no comment", "two  blanks", " x ", "none", "a.b.c"),
)
ODD_TEXT = st.text(st.characters(blacklist_categories=("Cs",)), min_size=1, max_size=8)
USUAL_NETS = ["GND", "gnd", "VDD_CAM", "VDD_IO", "N_J1_1", "N_R1_2", "N_U1_1", "3.3V", "/cam/SDA"]
ODD_NETS = ["D0", "net", "R1", "a b", "->", "#x", "J1.1", "U1", "board", ""]
NET_NAMES = st.one_of(st.sampled_from(USUAL_NETS + ODD_NETS), ODD_TEXT)
PIN_NUMBERS = st.one_of(st.sampled_from(["1", "2", "3", "A", "K", "AB4", "a", "1.2"]), ODD_TEXT)
MAGNITUDES = st.floats(1e-5, 1e10)
PLACES = st.floats(-1.0, 1.0, allow_nan=False)


@st.composite
def boards(draw: st.DrawFn) -> Board:
    nets = draw(st.lists(NET_NAMES, min_size=2, max_size=8, unique=True))
    parts = []
    for number in range(1, draw(st.integers(1, 8)) + 1):
        reference = draw(st.sampled_from(PASSIVES + OTHERS)) + str(number)
        parts.append(_part(draw, reference, nets))
    roles = draw(st.dictionaries(st.sampled_from(nets), st.sampled_from(list(Role)), max_size=4))
    return Board(draw(ODD_TEXT), tuple(parts), roles)


def _part(draw: st.DrawFn, reference: str, nets: list[str]) -> Part:
    note = draw(st.sampled_from(NOTES))
    kind = kind_from_designator(reference, note) or PartKind.OTHER
    kind = draw(st.sampled_from([kind, kind, kind, *PartKind]))
    numbers = ["1", "2"]
    if draw(st.booleans()) or kind in (PartKind.CHIP, PartKind.CONNECTOR):
        numbers = draw(st.lists(PIN_NUMBERS, max_size=5, unique=True))
    rails = st.one_of(st.none(), st.none(), st.sampled_from([*nets, "VDD_ELSEWHERE"]))
    pins = tuple(Pin(number, draw(st.sampled_from(nets)), draw(rails)) for number in numbers)
    value = None
    if kind in (PartKind.RESISTOR, PartKind.FERRITE):
        value = draw(st.one_of(st.none(), st.sampled_from([4700.0, 600.0, 0.0]), MAGNITUDES))
    if kind in (PartKind.SWITCH, PartKind.OTHER):
        value = draw(st.one_of(st.none(), st.just(120.0)))
    if kind in (PartKind.CAPACITOR, PartKind.INDUCTOR):
        value = draw(st.one_of(st.none(), st.just(1e-7), st.floats(1e-11, 1.0)))
    position = draw(st.one_of(st.none(), st.tuples(PLACES, PLACES)))
    return Part(reference, kind, pins, value, note, position)


def content(board: Board) -> object:
    """Everything that a board holds, whatever the order of its parts and pins."""
    parts = {
        part.reference: (
            part.kind, part.pins, part.value, part.note, part.position, part.implied
        )
        for part in board.parts
    }  # fmt: skip
    return board.name, parts, {net: role for net, role in board.roles.items() if role != "unknown"}


@given(boards())
@settings(max_examples=300, deadline=None)
def test_a_board_reads_back_as_itself(board: Board) -> None:
    again, findings = read_chains(write_chains(board))
    assert content(again) == content(board), [str(finding) for finding in findings]


@given(boards())
@settings(max_examples=100, deadline=None)
def test_writing_settles(board: Board) -> None:
    once, _ = read_chains(write_chains(board))
    text = write_chains(once)
    assert write_chains(read_chains(text)[0]) == text
