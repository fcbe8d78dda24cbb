"""Every board of Debian's kicad-demos, counted by KiCad itself.

Source: the packages kicad-demos 6.0.11 and 9.0.8 of Debian (GPL-2+), and
``handheld-160.kicad_pcb``; what they hold was counted with pcbnew 9.0.8 by
``tools/count_kicad_boards.py``. Looked for in ``/usr/share/kicad/demos`` and in the folders that
``NEXTPROBE_KICAD_DEMOS`` names, parted by colons.
"""

from __future__ import annotations

import hashlib
import json
import os
import random
from functools import cache
from pathlib import Path

import pytest

from nextprobe.board import Pad, Side
from nextprobe.readers import read_board_file, read_kicad_board
from nextprobe.readers.kicad import Layout, read_layout

COUNTS = json.loads((Path(__file__).parent / "kicad_counts.json").read_text("utf-8"))["boards"]
ROUNDING_MM = 0.002
"""Sums of the counted file are rounded to 0.001 mm."""
LINE_MM = 0.5
"""The extent that KiCad gives includes the width of the line, ours runs along its middle."""
QUICK_BYTES = 3_000_000


def demo_boards() -> list[Path]:
    folders = ["/usr/share/kicad/demos", *os.environ.get("NEXTPROBE_KICAD_DEMOS", "").split(":")]
    return sorted(file for name in folders if name for file in Path(name).rglob("*.kicad_pcb"))


BOARDS = demo_boards()
PARAMETERS = [
    pytest.param(
        file,
        id=f"{file.stem}-{number}",
        marks=[pytest.mark.slow] if file.stat().st_size > QUICK_BYTES else [],
    )
    for number, file in enumerate(BOARDS)
]


def test_there_are_boards_to_read() -> None:
    if not BOARDS and not os.environ.get("CI"):
        pytest.skip("kicad-demos is not installed (apt-get install kicad-demos)")
    assert BOARDS


def counted(file: Path) -> dict[str, object]:
    found = COUNTS.get(hashlib.sha256(file.read_bytes()).hexdigest())
    if found is None:
        pytest.skip(f"nobody has counted this version of {file.name}")
    return found


@cache
def layout_of(file: Path) -> Layout:
    layout = read_layout(file.read_text("utf-8"), file.name)
    assert layout is not None
    return layout


def copper(layout: Layout) -> list[tuple[str, str, str, str, Pad]]:
    return [
        (component.reference, terminal.number, terminal.net, terminal.function, terminal.pad)
        for component in layout.components
        for terminal in component.terminals
        if terminal.number and terminal.pad is not None
    ]


@pytest.mark.parametrize("file", PARAMETERS)
def test_the_same_as_kicad_counts(file: Path) -> None:
    expected = counted(file)
    layout = layout_of(file)
    pads = copper(layout)
    joined = [(reference, number, net) for reference, number, net, _, _ in pads if net]
    found = {
        "footprints": len(layout.components),
        "back": sum(component.side is Side.BACK for component in layout.components),
        "not_fitted": sum(not component.fitted for component in layout.components),
        "pads": sum(len(component.terminals) for component in layout.components),
        "copper_pads": len(pads),
        "pins": len({(reference, number) for reference, number, *_ in pads}),
        "joined_pins": len({(reference, number) for reference, number, _ in joined}),
        "functions": sum(bool(function) for _, _, _, function, _ in pads),
        "nets": len({net for _, _, net in joined}),
    }
    assert found == {name: expected[name] for name in found}


@pytest.mark.parametrize("file", PARAMETERS)
def test_places_are_those_of_kicad(file: Path) -> None:
    expected = counted(file)
    layout = layout_of(file)
    pads = copper(layout)
    sums = {
        "sum_x_mm": sum(pad.position[0] for *_, pad in pads) * 1e3,
        "sum_y_mm": sum(pad.position[1] for *_, pad in pads) * 1e3,
        "sum_x_by_net_mm": sum(pad.position[0] * len(net) for _, _, net, _, pad in pads) * 1e3,
    }
    for name, total in sums.items():
        assert total == pytest.approx(expected[name], abs=ROUNDING_MM), name
    edge = [point for path in layout.edges for point in path]
    for axis in (0, 1):
        extent = (max(p[axis] for p in edge) - min(p[axis] for p in edge)) * 1e3
        assert 0 <= expected["edge_mm"][axis] - extent <= LINE_MM


@pytest.mark.parametrize("file", PARAMETERS)
def test_a_board_comes_of_it(file: Path) -> None:
    expected = counted(file)
    board, findings = read_board_file(file)
    assert board is not None
    assert all(finding.remedy for finding in findings)
    pins = sum(len(part.pins) for part in board.parts)
    assert pins >= expected["pins"]
    named = {net for net in board.nets if not net.startswith("N_")}
    assert len(named) <= expected["nets"]
    missing = [part.reference for part in board.parts if part.position is None or not part.outline]
    assert not missing


def test_lost_parentheses_are_put_back() -> None:
    known = "RoyalBlue54L-Feather.kicad_pcb"
    file = next((board for board in BOARDS if board.name == known), None)
    if file is None:
        pytest.skip(f"{known} is part of kicad-demos 9.0.8 only")
    board, findings = read_board_file(file)
    assert board is not None and len(board.parts) > 60
    assert any("parentheses are missing" in finding.what for finding in findings)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(40))
def test_a_damaged_board_is_taken(seed: int) -> None:
    small = [board for board in BOARDS if board.stat().st_size < 400_000]
    if not small:
        pytest.skip("no small board is installed")
    rng = random.Random(seed)
    text = rng.choice(small).read_text("utf-8")
    for _ in range(rng.randint(1, 8)):
        start = rng.randrange(len(text))
        end = start + rng.choice([0, 1, 1, 10, 1000])
        text = text[:start] + rng.choice(["", "(", ")", '"', "\\", text[start:end]]) + text[end:]
    board, findings = read_kicad_board(text)
    lines = text.count("\n") + 1
    assert board is not None or findings
    for finding in findings:
        assert finding.what and finding.remedy
        assert finding.where.line is None or 1 <= finding.where.line <= lines


def test_a_netlist_of_a_laptop() -> None:
    """``laptop-481.net`` (mntmn/reform, CERN-OHL-S-2.0) is said to have these counts."""
    folders = os.environ.get("NEXTPROBE_KICAD_DEMOS", "").split(":")
    files = [Path(name) / "laptop-481.net" for name in folders if name]
    file = next((each for each in files if each.exists()), None)
    if file is None:
        pytest.skip("laptop-481.net is not in a folder that NEXTPROBE_KICAD_DEMOS names")
    board, findings = read_board_file(file)
    assert board is not None
    assert any("6 footprints have no pin" in finding.what for finding in findings)
    assert len(board.parts) + 6 == 481
    assert len(board.nets) == 631
    assert sum(len(part.pins) for part in board.parts) == 1895
    assert board.part("U1").pin("77").function
