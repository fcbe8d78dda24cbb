"""Boards written in any version of KiCad's format read back; no text makes the reader raise."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nextprobe.board import Board, Side
from nextprobe.errors import Finding
from nextprobe.readers import read_kicad_board, read_kicad_netlist
from nextprobe.workbench.board_json import board_from_json, board_to_json

VERSIONS = {4: 4, 5: 20171130, 6: 20211014, 7: 20221018, 8: 20240108, 9: 20241229, 10: 20260206}
NAMES = st.text('ABCxyz019_+-/ ~()."\\{}é', min_size=1, max_size=8).filter(
    lambda name: name.strip() == name
)
PLACES = st.integers(-200_000, 200_000).map(lambda steps: steps / 1000)


@dataclass(frozen=True)
class ToyPad:
    number: str
    net: str
    x: float
    y: float


@dataclass(frozen=True)
class ToyPart:
    reference: str
    value: str
    x: float
    y: float
    angle: int
    on_back: bool
    pads: tuple[ToyPad, ...]


PADS = st.lists(
    st.builds(ToyPad, st.sampled_from(["1", "2", "3", "A1", "B12"]), NAMES, PLACES, PLACES),
    min_size=1,
    max_size=4,
    unique_by=lambda pad: pad.number,
).map(tuple)
PARTS = st.lists(
    st.builds(
        ToyPart,
        st.sampled_from([f"{letters}{n}" for letters in "RCLUJ" for n in range(1, 5)]),
        st.sampled_from(["4k7", "100n", "2u2", "CHIP", "", "a b"]),
        PLACES,
        PLACES,
        st.sampled_from([0, 45, 90, 180, 270]),
        st.booleans(),
        PADS,
    ),
    min_size=1,
    max_size=6,
    unique_by=lambda part: part.reference,
)


def quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def written(parts: list[ToyPart], version: int) -> str:
    """Write a board as the given version of KiCad would."""
    names = list(dict.fromkeys(pad.net for part in parts for pad in part.pads))
    codes = {name: code for code, name in enumerate(names, start=1)}
    lines = [f"(kicad_pcb (version {VERSIONS[version]}) (host pcbnew x)"]
    for name, code in codes.items():
        lines.append(f"  (net {'' if version == 10 else code} {quoted(name)})")
    for part in parts:
        lines.extend(_footprint(part, version, codes))
    return "\n".join([*lines, ")"])


def _footprint(part: ToyPart, version: int, codes: dict[str, int]) -> list[str]:
    side = "B" if part.on_back else "F"
    lines = [f'  ({"module" if version < 6 else "footprint"} "L:X" (layer {side}.Cu)']
    lines.append(f"    (at {part.x} {part.y} {part.angle})")
    for name, text in (("Reference", part.reference), ("Value", part.value)):
        word = f"property {quoted(name)}" if version >= 8 else f"fp_text {name.lower()}"
        lines.append(f"    ({word} {quoted(text)} (at 0 0) (layer {side}.SilkS))")
    for pad in part.pads:
        code = "" if version == 10 else codes[pad.net]
        lines.append(f"    (pad {quoted(pad.number)} smd rect (at {pad.x} {pad.y} {part.angle})")
        lines.append(f"      (size 1 2) (layers {side}.Cu) (net {code} {quoted(pad.net)}))")
    return [*lines, "  )"]


def shown(name: str) -> str:
    return name.replace("{slash}", "/")


@given(PARTS, st.sampled_from(list(VERSIONS)))
@settings(max_examples=70, deadline=None)
def test_what_was_written_is_read(parts: list[ToyPart], version: int) -> None:
    board, findings = read_kicad_board(written(parts, version))
    assert board is not None
    assert not any("parenthes" in finding.what or "end" in finding.what for finding in findings)
    assert set(board.by_reference) == {part.reference for part in parts}
    for part in parts:
        read = board.part(part.reference)
        assert read.note == part.value and read.side is (Side.BACK if part.on_back else Side.FRONT)
        for pad in part.pads:
            pin = read.pin(pad.number)
            assert pin.net == shown(pad.net)
            assert pin.position == pytest.approx(_on_board(part, pad), abs=1e-9)
    assert board_from_json(board_to_json(board)) == board


def _on_board(part: ToyPart, pad: ToyPad) -> tuple[float, float]:
    c, s = cos(radians(part.angle)), sin(radians(part.angle))
    return (
        (part.x + pad.x * c + pad.y * s) * 1e-3,
        (part.y - pad.x * s + pad.y * c) * 1e-3,
    )


PIECES = st.sampled_from(
    ["(", ")", '"', "\\", "kicad_pcb", "(kicad_pcb", "footprint", "(footprint", "module", "(pad",
     '"1"', "smd", "rect", "(at", "1e999", "nan", "-5", "90", "(net", "1", '"GND"', "(layers",
     "F.Cu", "*.Cu", "(size", "(fp_text", "reference", "R1", "value", "(property", '"Reference"',
     "(attr", "dnp", "(gr_arc", "(start", "(mid", "(end", "(layer", "Edge.Cuts", "(pts", "(xy",
     "(export", "(components", "(comp", "(ref", "(nets", "(node", "(pin", ")word", "\n", "\t", " ",
     "(gr_line", "(gr_poly", "(version", "(fp_poly", "\x00", "é", "(libparts"]
)  # fmt: skip
TEXTS = st.one_of(
    st.text(),
    st.lists(PIECES, max_size=80).map(" ".join),
    st.lists(PIECES, max_size=80).map("".join),
    st.lists(PIECES, max_size=80).map(lambda pieces: "(kicad_pcb " + " ".join(pieces)),
    st.lists(PIECES, max_size=80).map(lambda pieces: "(export " + " ".join(pieces)),
)


def is_sound(text: str, board: Board | None, findings: tuple[Finding, ...]) -> bool:
    lines = text.count("\n") + 1
    assert all(f.what and f.remedy for f in findings)
    assert all(f.where.line is None or 1 <= f.where.line <= lines for f in findings)
    assert board is not None or findings
    assert board is None or all(board.has_point(net) for net in board.nets)
    return True


@given(TEXTS)
@settings(max_examples=250, deadline=None)
def test_any_text_is_taken(text: str) -> None:
    assert is_sound(text, *read_kicad_board(text))
    assert is_sound(text, *read_kicad_netlist(text))


CHANGES = st.lists(
    st.tuples(st.floats(0, 1), st.integers(0, 60), st.one_of(st.text(max_size=3), PIECES)),
    min_size=1,
    max_size=4,
)


@given(PARTS, st.sampled_from(list(VERSIONS)), CHANGES)
@settings(max_examples=80, deadline=None)
def test_a_damaged_board_is_taken(
    parts: list[ToyPart], version: int, changes: list[tuple[float, int, str]]
) -> None:
    text = written(parts, version)
    for share, length, word in changes:
        at = int(share * len(text))
        text = text[:at] + word + text[at + length :]
    assert is_sound(text, *read_kicad_board(text))


@given(PARTS, st.sampled_from(list(VERSIONS)), st.floats(0, 0.999))
@settings(max_examples=60, deadline=None)
def test_a_board_that_was_cut_off_says_so(parts: list[ToyPart], version: int, share: float) -> None:
    whole = written(parts, version)
    text = whole[: int(share * (len(whole) - 2))]
    board, findings = read_kicad_board(text)
    assert is_sound(text, board, findings)
    assert findings
    full, _ = read_kicad_board(whole)
    assert full is not None
    if board is not None:
        assert set(board.by_reference) <= set(full.by_reference)
