"""The made board of 3,000 parts as a pack: a file of an EDA tool, and the least description."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any

from made_board import made_board

DEVICE = """
device: {name: Trestle 9}
functions: {touch: {class: touch}}
"""
_LAYERS = {"front": ("F.Cu", "F.SilkS"), "back": ("B.Cu", "B.SilkS")}


def big_pack(folder: Path) -> dict[str, Any]:
    """Write the pack, and return the board as the interface would send it."""
    board = _tamed(made_board())
    folder.mkdir(parents=True)
    (folder / "device.yaml").write_text(DEVICE)
    (folder / "board.kicad_pcb").write_text(board_file(board))
    return board


def board_file(board: dict[str, Any]) -> str:
    """Return a board in the format of KiCad."""
    nets = [f'(net {place + 1} "{net["name"]}")' for place, net in enumerate(board["nets"])]
    pads: dict[int, list[str]] = {}
    for place, part in enumerate(board["pads"]["part"]):
        pads.setdefault(part, []).append(_pad(board, place))
    parts = [_part(part, pads[place]) for place, part in enumerate(board["parts"])]
    edges = [
        f"(gr_line (start {_mm(a)}) (end {_mm(b)}) (layer Edge.Cuts) (width 0.1))"
        for path in board["outline"]
        for a, b in pairwise(path)
    ]
    head = '(kicad_pcb (version 20221018) (generator pcbnew) (net 0 "")'
    return "\n".join([head, *nets, *parts, *edges, ")"])


def _tamed(board: dict[str, Any]) -> dict[str, Any]:
    """Let each resistor pull one net to a supply: on a real board few nets hang on each other."""
    board["nets"][1] |= {"name": "VDD_IO", "role": "rail"}
    nets, ends = board["pads"]["net"], board["pads"]["part"]
    for place, part in enumerate(ends):
        if board["parts"][part]["kind"] != "resistor":
            continue
        is_second = place > 0 and ends[place - 1] == part
        nets[place] = 1 if is_second else 2 + part % (len(board["nets"]) - 2)
    return board


def _part(part: dict[str, Any], pads: list[str]) -> str:
    copper, silk = _LAYERS[part["side"]]
    attributes = "(attr smd)" if part["fitted"] else "(attr smd dnp)"
    value = part["shown"].removesuffix("Ω").replace(" ", "") or part["reference"]
    return "\n".join(
        [
            f'(footprint "Made:{part["kind"]}" (layer "{copper}") (at {_mm(part["position"])})',
            f'(fp_text reference "{part["reference"]}" (at 0 0) (layer "{silk}"))',
            f'(fp_text value "{value}" (at 0 1) (layer "{silk}")) {attributes}',
            *pads,
            ")",
        ]
    )


def _pad(board: dict[str, Any], place: int) -> str:
    pads = {name: column[place] for name, column in board["pads"].items()}
    part, net = board["parts"][pads["part"]], board["nets"][pads["net"]]
    x, y = pads["x"] - part["position"][0], pads["y"] - part["position"][1]
    shape = "circle" if pads["is_round"] else "rect"
    number = pads["pin"].rpartition(".")[2]
    return (
        f'(pad "{number}" smd {shape} (at {_mm((x, y))} {pads["rotation"]:g})'
        f" (size {_mm((pads['width'], pads['height']))})"
        f' (layers "{_LAYERS[part["side"]][0]}") (net {pads["net"] + 1} "{net["name"]}"))'
    )


def _mm(place: Any) -> str:
    return " ".join(f"{1e3 * each:.4f}" for each in place)
